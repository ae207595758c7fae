package drawing

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// A Taking is where on a room a measure is taken, and in which of the three views that is best seen. The room is one
// without its insole. The cuts meet where the measure is taken.
type Taking struct {
	ID   footwear.MeasureID
	Best View
	Cuts Cuts

	room  *footwear.Room
	part  [2]float64 // the stretch of X that the side view shows; equal: the whole shoe
	marks [len(Views)]*mark
}

// A mark shows a measure in one view. Parts that are not there are left out.
type mark struct {
	a, b   Pt      // the distance that is measured; equal: none
	help   [][2]Pt // lines that carry it out of the shoe
	tape   []Pt    // a tape, once round
	centre Pt      // of a radius gauge
	radius float64
	legs   [][2]Pt // both legs of an angle, from its apex
	edge   [][2]Pt // a straight edge or the level
	label  Pt      // where its value stands; zero: at the middle of a and b
}

// TakingOf finds where a measure of the room's sheet is taken. Widths are drawn as the sheet has them, at the height at
// which they are taken.
func TakingOf(room *footwear.Room, id footwear.MeasureID) *Taking {
	t := &Taking{ID: id, room: room}
	heel, tread := room.HeelStationMM(), room.TreadStationMM()
	v := func(id footwear.MeasureID) float64 { return room.Sheet.V(id) }
	at := func(x float64) { t.Cuts = Cuts{XMM: x, YMM: room.MiddleY(x), ZMM: room.FloorZ(x) + 20} }
	at(heel)
	switch id {
	case footwear.LastLength:
		t.Best = Side
		at(tread)
		t.Cuts.YMM = 0
		t.lengthwise(0, v(id))
	case footwear.BallWidth:
		at(tread)
		t.widest(Above)
	case footwear.WaistWidth:
		at(room.WaistStationMM())
		t.widest(Above)
	case footwear.SeatWidth:
		t.across(v(id), 0)
	case footwear.CounterWidth10:
		t.across(v(id), 10)
	case footwear.CounterWidth20:
		t.across(v(id), 20)
	case footwear.CounterWidth40:
		t.across(v(id), 40)
	case footwear.CounterWidthTop:
		_, top := t.topline(-1)
		t.across(v(id), top-room.FloorZ(heel))
	case footwear.BallGirth:
		at(tread)
		t.round()
	case footwear.InstepGirth:
		at(room.InstepStationMM())
		t.round()
	case footwear.CounterHeight:
		t.upright(Side, 0, 0, v(id), -9)
	case footwear.ToplineBack:
		t.upright(Side, v(footwear.BackCurveTop), 0, v(id), -9-v(footwear.BackCurveTop))
	case footwear.BackCurveSeat:
		t.behindTheBack(v(id), 0)
	case footwear.BackCurveTop:
		t.behindTheBack(v(id), v(footwear.ToplineBack))
	case footwear.SeatCupping:
		t.hollow(v(id))
	case footwear.FeatherHeel:
		t.corner(v(id), v(footwear.SeatWidth)/2)
	case footwear.FeatherForefoot:
		at(tread)
		t.corner(v(id), v(footwear.BallWidth)/2)
	case footwear.SeatAngle:
		t.slope(v(id))
	case footwear.SeatLength:
		t.Best = Side
		at(v(id))
		t.lengthwise(0, v(id))
	case footwear.HeelRise:
		t.rise(0, tread, 0)
	case footwear.ToeSpring:
		t.rise(v(footwear.LastLength), tread, v(footwear.LastLength))
	case footwear.ShankSagitta:
		t.sagitta()
	case footwear.DepthInstep:
		at(room.InstepStationMM())
		t.depth()
	case footwear.DepthBall:
		at(tread)
		t.depth()
	case footwear.DepthToe:
		at(room.ToeDepthStationMM())
		t.depth()
	case footwear.ToplineMedial:
		at(room.AnkleStationMM())
		t.quarterHeight(-1)
	case footwear.ToplineLateral:
		at(room.AnkleStationMM())
		t.quarterHeight(1)
	case footwear.InsoleHeel:
		t.thickness(v(id))
	case footwear.InsoleForefoot:
		at(tread)
		t.thickness(v(id))
	case footwear.GiveCounter:
		t.press(v(id))
	case footwear.GiveQuarter:
		at(room.WaistStationMM())
		t.press(v(id))
	case footwear.GiveVamp:
		at(tread)
		t.press(v(id))
	}
	switch id {
	case footwear.CounterHeight, footwear.ToplineBack, footwear.BackCurveSeat, footwear.BackCurveTop:
		t.part = [2]float64{-25, 2.2 * heel}
	case footwear.SeatAngle, footwear.SeatLength, footwear.InsoleHeel:
		t.part = [2]float64{-15, room.BreastMM() + 60}
	case footwear.ToeSpring, footwear.InsoleForefoot, footwear.DepthToe:
		t.part = [2]float64{tread - 40, v(footwear.LastLength) + 15}
	}
	return t
}

// at is a point of a view's cut.
func (t *Taking) at(view View, x, y, z float64) Pt { return view.Project(r3.Vec{X: x, Y: y, Z: z}) }

// lengthwise is a distance along X, drawn below the shoe and above it.
func (t *Taking) lengthwise(from, to float64) {
	low := math.Min(t.room.FloorZ(t.room.TreadStationMM()), 0) - 12
	a, b := t.at(Side, from, 0, low), t.at(Side, to, 0, low)
	t.marks[Side] = &mark{a: a, b: b, help: [][2]Pt{
		{a, t.at(Side, from, 0, t.room.FloorZ(from)+12)}, {b, t.at(Side, to, 0, t.room.FloorZ(to)+6)},
	}}
	t.marks[Above] = &mark{a: t.at(Above, from, 0, 0), b: t.at(Above, to, 0, 0)}
}

// across is a width at a height over the board at the cut, as the sheet has it.
func (t *Taking) across(width, height float64) {
	t.Best = Behind
	z := t.room.FloorZ(t.Cuts.XMM) + height
	t.Cuts.ZMM = math.Max(z, t.room.FloorZ(t.Cuts.XMM)+5) // the outline just above the board is the one to see
	for _, view := range []View{Behind, Above} {
		t.marks[view] = &mark{
			a: t.at(view, t.Cuts.XMM, t.Cuts.YMM+width/2, z), b: t.at(view, t.Cuts.XMM, t.Cuts.YMM-width/2, z),
		}
	}
	if height < 5 { // the walls are taken straight down
		for _, side := range []float64{1, -1} {
			y := t.Cuts.YMM + side*width/2
			t.marks[Behind].help = append(t.marks[Behind].help, [2]Pt{t.at(Behind, 0, y, z-4), t.at(Behind, 0, y, z+16)})
		}
	}
	t.marks[Side] = &mark{label: t.at(Side, t.Cuts.XMM, 0, z)}
}

// widest is the width of the cut where it is widest.
func (t *Taking) widest(best View) {
	t.Best = best
	lo, hi := Pt{U: math.Inf(1)}, Pt{U: math.Inf(-1)}
	for _, l := range t.section(Behind) {
		for _, p := range l.P {
			if p.U < lo.U {
				lo = p
			}
			if p.U > hi.U {
				hi = p
			}
		}
	}
	if hi.U < lo.U {
		return
	}
	z := (lo.V + hi.V) / 2
	t.Cuts.ZMM = z
	t.marks[Behind] = &mark{a: Pt{lo.U, z}, b: Pt{hi.U, z}}
	t.marks[Above] = &mark{a: Pt{t.Cuts.XMM, -lo.U}, b: Pt{t.Cuts.XMM, -hi.U}}
	t.marks[Side] = &mark{label: Pt{t.Cuts.XMM, z}}
}

// round is a tape round the cut.
func (t *Taking) round() {
	t.Best = Behind
	var pts [][2]float64
	for _, l := range t.section(Behind) {
		for _, p := range l.P {
			pts = append(pts, [2]float64{p.U, p.V})
		}
	}
	m := &mark{}
	lo, hi := Pt{math.Inf(1), math.Inf(1)}, Pt{math.Inf(-1), math.Inf(-1)}
	for _, p := range mesh.ConvexHull2(pts) {
		m.tape = append(m.tape, Pt{p[0], p[1]})
		lo, hi = Pt{math.Min(lo.U, p[0]), math.Min(lo.V, p[1])}, Pt{math.Max(hi.U, p[0]), math.Max(hi.V, p[1])}
	}
	if len(m.tape) == 0 {
		return
	}
	m.label = Pt{(lo.U + hi.U) / 2, hi.V}
	t.marks[Behind] = m
	x := t.Cuts.XMM
	t.marks[Side] = &mark{tape: []Pt{{x, lo.V}, {x, hi.V}}, label: Pt{x, hi.V}}
	t.marks[Above] = &mark{tape: []Pt{{x, -lo.U}, {x, -hi.U}}, label: Pt{x, -lo.U}}
}

// upright is a height over the seat, drawn off units behind the shoe in the side view.
func (t *Taking) upright(best View, x, from, to, off float64) {
	t.Best = best
	t.Cuts.YMM = 0
	t.Cuts.XMM = math.Max(x, 1)
	t.Cuts.ZMM = to
	a, b := Pt{x + off, from}, Pt{x + off, to}
	t.marks[Side] = &mark{a: a, b: b, help: [][2]Pt{{a, {8, from}}, {b, {x + 3, to}}}}
	t.marks[Above] = &mark{label: Pt{x, 0}}
}

// behindTheBack is how far the back stands in front of the rearmost point, at a height over the seat.
func (t *Taking) behindTheBack(mm, z float64) {
	t.Best = Side
	t.Cuts.YMM = 0
	t.Cuts.ZMM = math.Max(z, 5)
	a, b := Pt{0, z}, Pt{mm, z}
	t.marks[Side] = &mark{a: a, b: b, help: [][2]Pt{{{0, -6}, {0, t.room.Sheet.V(footwear.ToplineBack) + 6}}}, label: Pt{mm + 4, z}}
	t.marks[Above] = &mark{a: Pt{0, 0}, b: Pt{mm, 0}}
}

// hollow is the depth of the seat under a straight edge of 60 mm.
func (t *Taking) hollow(mm float64) {
	t.Best = Behind
	z := t.room.FloorZ(t.Cuts.XMM)
	half := math.Min(30, t.room.Sheet.V(footwear.SeatWidth)/2-2)
	top := mm * half * half / 900
	t.marks[Behind] = &mark{
		a: Pt{0, z}, b: Pt{0, z + top}, edge: [][2]Pt{{{-half, z + top}, {half, z + top}}}, label: Pt{0, z + top},
	}
}

// corner is the radius of the feather line, medially.
func (t *Taking) corner(radius, half float64) {
	t.Best = Behind
	// The gauge lies where the arc is: it touches floor and wall.
	var best Pt
	nearest := math.Inf(1)
	for _, l := range t.section(Behind) {
		l.segments(func(a, b Pt, tag uint8) {
			mid := a.lerp(b, 0.5)
			if footwear.Zone(tag) != footwear.Feather || mid.U > -t.Cuts.YMM {
				return
			}
			d := b.sub(a)
			if n := math.Hypot(d.U, d.V); n > 0 {
				// The arc's middle is where it lies at 45°.
				if turn := math.Abs(math.Abs(d.U/n) - math.Sqrt2/2); turn < nearest {
					nearest, best = turn, mid
				}
			}
		})
	}
	if math.IsInf(nearest, 1) {
		best = Pt{-t.Cuts.YMM - half + radius*(1-math.Sqrt2/2), t.room.FloorZ(t.Cuts.XMM) + radius*(1-math.Sqrt2/2)}
	}
	diagonal := radius * math.Sqrt2 / 2
	centre := best.add(Pt{diagonal, diagonal})
	t.Cuts.ZMM = best.V
	t.marks[Behind] = &mark{centre: centre, radius: radius, a: centre, b: best}
}

// slope is the seat's angle against the level.
func (t *Taking) slope(deg float64) {
	t.Best = Side
	t.Cuts.YMM = 0
	length := t.room.BreastMM() + 20
	tan := math.Tan(deg * math.Pi / 180)
	t.marks[Side] = &mark{
		legs: [][2]Pt{{{0, 0}, {length, 0}}, {{0, 0}, {length, -length * tan}}}, label: Pt{length, -length * tan / 2},
	}
}

// rise is the height of the board at X over that at the tread line, drawn at a place along X.
func (t *Taking) rise(x, tread, drawn float64) {
	t.Best = Side
	t.Cuts = Cuts{XMM: tread, ZMM: t.room.FloorZ(tread) + 20}
	off := -14.0
	if drawn > tread {
		off = 12
	}
	z, low := t.room.FloorZ(x), t.room.FloorZ(tread)
	if x > tread { // the tip itself is no longer floor
		z = low + t.room.Sheet.V(footwear.ToeSpring)
	}
	a, b := Pt{drawn + off, low}, Pt{drawn + off, z}
	t.marks[Side] = &mark{a: a, b: b, edge: [][2]Pt{{{math.Min(tread, drawn+off) - 4, low}, {math.Max(tread, drawn+off) + 4, low}}}, help: [][2]Pt{{b, {x, z}}}}
}

// sagitta is the largest distance of the bottom from the chord between breast and tread line.
func (t *Taking) sagitta() {
	t.Best = Side
	a := Pt{t.room.BreastMM(), t.room.FloorZ(t.room.BreastMM())}
	b := Pt{t.room.TreadStationMM(), t.room.FloorZ(t.room.TreadStationMM())}
	chord := b.sub(a)
	length := math.Hypot(chord.U, chord.V)
	var foot, far Pt
	most := -1.0
	const steps = 200
	for i := range steps + 1 {
		x := a.U + chord.U*float64(i)/steps
		p := Pt{x, t.room.FloorZ(x)}
		if d := chord.cross(p.sub(a)) / length; math.Abs(d) > most {
			most = math.Abs(d)
			far, foot = p, p.sub(chord.left().scale(d/length))
		}
	}
	t.Cuts = Cuts{XMM: far.U, ZMM: far.V + 10}
	t.marks[Side] = &mark{a: foot, b: far, edge: [][2]Pt{{a, b}}}
}

// depth is the height of the room over the board at the cut.
func (t *Taking) depth() {
	t.Best = Side
	x, y := t.Cuts.XMM, t.Cuts.YMM
	z := t.room.FloorZ(x)
	d := t.room.DepthMM(x)
	t.Cuts.ZMM = z + d/2
	t.marks[Side] = &mark{a: Pt{x, z}, b: Pt{x, z + d}}
	t.marks[Behind] = &mark{a: Pt{-y, z}, b: Pt{-y, z + d}}
	t.marks[Above] = &mark{label: t.at(Above, x, y, 0)}
}

// topline is the end of the wall in the cut from behind, medially (−1) or laterally (1): its U and V.
func (t *Taking) topline(side float64) (u, v float64) {
	z := t.room.FloorZ(t.Cuts.XMM)
	u, v = 0, z
	for _, l := range t.section(Behind) {
		l.segments(func(a, b Pt, tag uint8) {
			if footwear.Zone(tag) == footwear.Open {
				return
			}
			for _, p := range []Pt{a, b} {
				if p.U*side > -t.Cuts.YMM*side && p.V > v {
					u, v = p.U, p.V
				}
			}
		})
	}
	return u, v
}

// quarterHeight is the height of the topline over the board below an ankle bone.
func (t *Taking) quarterHeight(side float64) {
	t.Best = Behind
	u, v := t.topline(side)
	z := t.room.FloorZ(t.Cuts.XMM)
	out := u + side*10
	t.Cuts.ZMM = v
	t.marks[Behind] = &mark{a: Pt{out, z}, b: Pt{out, v}, help: [][2]Pt{{{u - side*6, z}, {out, z}}, {{u, v}, {out, v}}}}
	t.marks[Side] = &mark{a: Pt{t.Cuts.XMM, z}, b: Pt{t.Cuts.XMM, v}}
}

// thickness is the shoe's own insole over the board.
func (t *Taking) thickness(mm float64) {
	t.Best = Side
	x := t.Cuts.XMM
	z := t.room.FloorZ(x)
	t.Cuts.YMM = t.room.MiddleY(x)
	m := &mark{a: Pt{x, z}, b: Pt{x, z + mm}, label: Pt{x, z + mm}}
	const steps = 40
	var last Pt
	for i := range steps + 1 {
		x := 6 + (t.room.TreadStationMM()-6)*float64(i)/steps
		over := t.room.Sheet.V(footwear.InsoleHeel)
		if s := (x - t.room.HeelStationMM()) / (t.room.TreadStationMM() - t.room.HeelStationMM()); s > 0 {
			over += (t.room.Sheet.V(footwear.InsoleForefoot) - over) * s
		}
		p := Pt{x, t.room.FloorZ(x) + over}
		if i > 0 {
			m.edge = append(m.edge, [2]Pt{last, p})
		}
		last = p
	}
	t.marks[Side] = m
}

// press is a thumb against the lateral wall.
func (t *Taking) press(mm float64) {
	t.Best = Above
	z := t.room.FloorZ(t.Cuts.XMM) + 15
	t.Cuts.ZMM = z
	out := math.Inf(-1)
	var wall Pt
	for _, l := range t.section(Above) {
		l.segments(func(a, b Pt, _ uint8) {
			for _, p := range []Pt{a, b} {
				if math.Abs(p.U-t.Cuts.XMM) < 4 && -p.V > out {
					out, wall = -p.V, p
				}
			}
		})
	}
	if math.IsInf(out, -1) {
		return
	}
	from := wall.add(Pt{0, 16})
	t.marks[Above] = &mark{a: from, b: wall.sub(Pt{0, mm}), label: from}
}

// section is the room's cut in a view.
func (t *Taking) section(v View) []loop { return loopsOf(v, t.room.Closed.Section(v.plane(t.Cuts))) }

// Shown is the part of the paper that a view shows: the cut and what is drawn on it, with a margin.
func (t *Taking) Shown(v View) Extent {
	const marginMM = 14
	clipped := v == Side && t.part[0] < t.part[1]
	var pts []Pt
	for _, l := range t.section(v) {
		for _, p := range l.P {
			if !clipped || p.U >= t.part[0] && p.U <= t.part[1] {
				pts = append(pts, p)
			}
		}
	}
	if v == Above {
		pts = append(pts, t.plan()...)
	}
	if m := t.marks[v]; m != nil {
		if m.a != m.b {
			pts = append(pts, m.a, m.b)
		}
		if v == Behind && footwear.Infos[t.ID].Instrument == footwear.InsideCalliper {
			pts = append(pts, m.a.lerp(m.b, 0.5).add(Pt{0, 0.4 * (m.b.U - m.a.U)})) // its hinge
		}
		for _, e := range [][][2]Pt{m.help, m.edge, m.legs} {
			for _, l := range e {
				if !clipped || l[0].U >= t.part[0]-30 && l[1].U <= t.part[1]+30 {
					pts = append(pts, l[0], l[1])
				}
			}
		}
	}
	if len(pts) == 0 {
		return ExtentOf(v, t.room)
	}
	lo, hi, _ := bounds([]loop{{P: pts}})
	m := Pt{marginMM, marginMM}
	return Extent{lo.sub(m), hi.add(m)}
}

// plan is the outline of the whole room seen from above, as far as its vertices show it.
func (t *Taking) plan() []Pt {
	const stepMM = 4.0
	type span struct{ lo, hi float64 }
	spans := map[int]span{}
	first, last := math.MaxInt, math.MinInt
	for i, f := range t.room.Walls.F {
		if footwear.Zone(t.room.Walls.Tag[i]) == footwear.Open {
			continue
		}
		for _, v := range f {
			p := t.room.Walls.V[v]
			n := int(math.Round(p.X / stepMM))
			s, ok := spans[n]
			if !ok {
				s = span{p.Y, p.Y}
			}
			spans[n] = span{math.Min(s.lo, p.Y), math.Max(s.hi, p.Y)}
			first, last = min(first, n), max(last, n)
		}
	}
	// Vertices do not lie on every line across: the widest of three lines tells where the wall is.
	wide := map[int]span{}
	for n := range spans {
		w := span{math.Inf(1), math.Inf(-1)}
		for k := n - 1; k <= n+1; k++ {
			if s, ok := spans[k]; ok {
				w = span{math.Min(w.lo, s.lo), math.Max(w.hi, s.hi)}
			}
		}
		wide[n] = w
	}
	var there, back []Pt
	for n := first; n <= last; n++ {
		if s, ok := wide[n]; ok {
			there = append(there, Pt{float64(n) * stepMM, s.hi})
			back = append(back, Pt{float64(n) * stepMM, s.lo})
		}
	}
	for i := len(back) - 1; i >= 0; i-- {
		there = append(there, back[i])
	}
	return there
}
