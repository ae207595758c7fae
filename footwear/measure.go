package footwear

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"lastroom/internal/mesh"
)

// MeasureRoom takes the measures of a sheet off the closed mesh of a room as one would in the shoe, from sections and
// extreme points, with nothing but the mesh and its zones. It leaves out what no shape tells (the counter's stiff
// height, insole thickness, give) and what cannot be found: the seat's length where the board has no break, a width at
// 40 mm over a lower topline. The room is taken without its insole. The error says what kept it from being measured.
// MeasureScan measures what is less regular.
func MeasureRoom(m *mesh.Mesh) (map[MeasureID]float64, error) {
	if len(m.F) == 0 || m.Tag == nil {
		return nil, fmt.Errorf("a room without faces or zones cannot be measured")
	}
	r := newReader(func(x float64) contour { return crossSection(m, x) }, func(y float64) contour { return longSection(m, y) })
	box := m.Bounds()
	r.back, r.last = box.Min.X, box.Max.X-box.Min.X
	r.got[LastLength] = r.last
	if err := r.bottom(m); err != nil {
		return nil, err
	}
	r.sections()
	for id := range NumMeasures {
		if why, missed := r.missed[id]; missed && id != CounterWidth40 {
			return nil, fmt.Errorf("%v: %s", id, why)
		}
	}
	return r.got, nil
}

// A reader takes measures off the sections of a room.
type reader struct {
	cross, long func(float64) contour // the sections at X, at Y
	back, last  float64
	noisy       bool
	got         map[MeasureID]float64
	missed      map[MeasureID]string // why a measure is not there
	seat        [2]float64           // height at the back and slope of the seat's line
	heelWidth   float64              // at the widest place of the heel, at its widest height
}

func newReader(cross, long func(float64) contour) *reader {
	return &reader{cross: cross, long: long, got: map[MeasureID]float64{}, missed: map[MeasureID]string{}}
}

func (r *reader) sections() {
	r.heelSection()
	r.backSection()
	r.frontSections()
}

func (r *reader) miss(why string, ids ...MeasureID) {
	for _, id := range ids {
		r.missed[id] = why
	}
}

// about reads measures off the section at X; in a noisy mesh it is their median over five sections about X, which are all
// alike where a width is taken at its widest or narrowest. What one of the sections does not tell is missed.
func (r *reader) about(x float64, read func(c *contour, found func(MeasureID, float64), miss func(string, ...MeasureID))) {
	offsets := []float64{0}
	if r.noisy {
		offsets = []float64{-4, -2, 0, 2, 4}
	}
	values := map[MeasureID][]float64{}
	for _, off := range offsets {
		c := r.cross(x + off)
		read(&c, func(id MeasureID, v float64) {
			if !math.IsNaN(v) && !math.IsInf(v, 0) {
				values[id] = append(values[id], v)
			}
		}, r.miss)
	}
	for id, v := range values {
		switch {
		case len(v) == len(offsets):
			slices.Sort(v)
			r.got[id] = v[len(v)/2]
			delete(r.missed, id)
		case r.missed[id] == "":
			r.missed[id] = noSection
		}
	}
}

const noSection = "no whole section there"

// corner reads the feather line off a run.
func (r *reader) corner(run []point2) (corner, bool) {
	if !r.noisy {
		return readCorner(run, 0.02)
	}
	run = evenRun(run)
	k, ok := readCorner(run, 0.12)
	if !ok {
		return k, false
	}
	// Where a noisy run leaves the circle says little of the wall's lean: fit a line to the wall a little above.
	const fromMM, toMM = 2.0, 8.0
	var rows [][]float64
	var out, w []float64
	for _, p := range run {
		if h := p.z - k.end.z; h >= fromMM && h <= toMM && p.r > k.centre.r {
			rows, out, w = append(rows, []float64{1, h}), append(out, p.r), append(w, 1)
		}
	}
	if c, fitted := leastSquares(rows, out, w); fitted {
		k.end.r, k.lean = c[0], c[1]
	}
	return k, true
}

func (r *reader) at(share float64) contour { return r.cross(r.back + share*r.last) }

// middle is half way between the sides of a section, and the height of the floor there.
func (c *contour) middle() (u, floor float64) {
	lo, hi := extent(c.u)
	u = (lo + hi) / 2
	floor, _ = c.heights(u)
	return u, floor
}

// floorLine are the floor vertices on the room's middle, by X from the back.
func (r *reader) floorLine(m *mesh.Mesh) []point2 {
	const sections = 64
	xs, mid := make([]float64, sections), make([]float64, sections)
	for i := range xs {
		c := r.at((float64(i) + 0.5) / sections)
		xs[i] = (float64(i) + 0.5) / sections * r.last
		mid[i], _ = c.middle()
	}
	middle := newCurve(xs, mid, free, free)
	type best struct{ off, z float64 }
	near := map[float64]best{}
	for i, f := range m.F {
		if !Zone(m.Tag[i]).Floor() {
			continue
		}
		for _, v := range f {
			p := m.V[v]
			x := math.Round((p.X-r.back)*1e6) / 1e6
			off := math.Abs(p.Y - middle.Predict(x))
			if b, seen := near[x]; off < 0.3 && (!seen || off < b.off) {
				near[x] = best{off, p.Z}
			}
		}
	}
	line := make([]point2, 0, len(near))
	for x, b := range near {
		line = append(line, point2{x, b.z})
	}
	slices.SortFunc(line, func(a, b point2) int {
		if a.r < b.r {
			return -1
		}
		return 1
	})
	return line
}

// bottom reads seat angle, seat length, heel rise, sagitta and toe spring off the line of the floor.
func (r *reader) bottom(m *mesh.Mesh) error {
	line := r.floorLine(m)
	tread := treadShare * r.last
	between := func(lo, hi float64) []point2 {
		var out []point2
		for _, p := range line {
			if p.r >= lo && p.r <= hi {
				out = append(out, p)
			}
		}
		return out
	}
	// The seat is straight for the first 15 % of the last's length at least.
	seat, ok := fitPolynomial(between(0, 0.15*r.last), 1)
	front, ok2 := fitPolynomial(between(tread-0.01, r.last), 2)
	if !ok || !ok2 {
		return fmt.Errorf("the floor has too few points on its middle to read seat and toe")
	}
	r.seat = [2]float64{seat.at(0), seat.slopeAt(0)}
	zTread := front.at(tread)
	r.got[SeatAngle] = -math.Atan(r.seat[1]) * 180 / math.Pi
	r.got[HeelRise] = r.seat[0] - zTread
	r.got[ToeSpring] = front.at(r.last) - zTread

	// The breast is where the curve of the shank touches the line of the seat.
	const leaves = 0.005
	shank := between(0.15*r.last, tread)
	from := slices.IndexFunc(shank, func(p point2) bool { return math.Abs(p.z-seat.at(p.r)) > leaves })
	if from < 0 {
		return nil
	}
	curve, ok := fitSmooth(shank[from:])
	if !ok {
		return nil
	}
	// Going back from where the curve has left the line, the place where it runs along it and lies on it.
	along := func(x float64) float64 { return curve.slopeAt(x) - r.seat[1] }
	const step = 0.02
	breast, apart := 0.0, math.Inf(1)
	for x := shank[from].r; x > 0.1*r.last; x -= step {
		if along(x)*along(x-step) > 0 {
			continue
		}
		sign := math.Copysign(1, along(x))
		at := root(x-step, x, func(x float64) float64 { return sign * along(x) })
		if d := math.Abs(curve.at(at) - seat.at(at)); d < apart {
			breast, apart = at, d
		}
	}
	if apart > leaves {
		return nil
	}
	r.got[SeatLength] = breast
	zb := seat.at(breast)
	slope := (zTread - zb) / (tread - breast)
	most := 0.0
	for i := range 2001 {
		x := mix(breast, tread, float64(i)/2000)
		most = math.Max(most, math.Abs(curve.at(x)-zb-slope*(x-breast)))
	}
	r.got[ShankSagitta] = most / math.Hypot(1, slope)
	return nil
}

// heelSection reads the cross section at the widest place of the heel.
func (r *reader) heelSection() {
	widest := math.Inf(-1)
	r.about(r.back+heelShare*r.last, func(c *contour, found func(MeasureID, float64), miss func(string, ...MeasureID)) {
		if len(c.u) == 0 {
			miss("no closed section at the heel", FeatherHeel, SeatWidth, CounterWidth10, CounterWidth20, CounterWidth40, CounterWidthTop, SeatCupping)
			return
		}
		mid, floor := c.middle()
		lo, hi := extent(c.u)
		widest = math.Max(widest, hi-lo)
		radius, width, flat := 0.0, 0.0, math.Inf(1)
		ok := true
		for _, side := range []float64{1, -1} {
			k, found := r.corner(c.run(mid, side))
			ok = ok && found
			radius += k.radius / 2
			width += k.foot(floor, 0)
			flat = math.Min(flat, k.centre.r)
		}
		if ok {
			found(FeatherHeel, radius)
			found(SeatWidth, width)
		} else {
			miss("no rounded corner between seat and counter", FeatherHeel, SeatWidth)
			flat = 0.25 * (hi - lo)
		}
		_, top := extent(c.v)
		if a, b, open := c.toplines(); open {
			found(CounterWidthTop, b[0]-a[0])
			top = math.Min(a[1], b[1])
		} else {
			miss("no topline at the heel: the shape is closed there", CounterWidthTop)
		}
		for _, w := range []struct {
			id MeasureID
			h  float64
		}{{CounterWidth10, 10}, {CounterWidth20, 20}, {CounterWidth40, 40}} {
			if w.h > top-floor-1 {
				miss(fmt.Sprintf("the wall ends %.0f mm over the seat", top-floor), w.id)
				continue
			}
			lo, hi := extent(c.crossings(floor + w.h))
			found(w.id, hi-lo)
		}
		found(SeatCupping, c.cupping(mid, floor, 0.9*flat))
	})
	r.heelWidth = widest
}

// cupping is the hollow of the floor over 60 mm: of the circle through the floor's middle, s = κ/2·(u² + s²), by least
// squares for its curvature κ over the floor within a distance of the middle.
func (c *contour) cupping(mid, floor, within float64) float64 {
	var num, den float64
	for i := range c.u {
		u0, v0 := c.at(i)
		u1, v1 := c.at(i + 1)
		if math.Abs(u0-mid) > within || math.Abs(u1-mid) > within || v0 > floor+within || v1 > floor+within {
			continue
		}
		length := math.Hypot(u1-u0, v1-v0)
		for _, p := range [][2]float64{{u0, v0}, {u1, v1}} {
			s, q := p[1]-floor, (p[0]-mid)*(p[0]-mid)+(p[1]-floor)*(p[1]-floor)
			num, den = num+length*s*q, den+length*q*q
		}
	}
	if curvature := 2 * num / den; curvature > 1e-9 {
		return hollow(30, 1/curvature)
	}
	return 0
}

// backSection reads the long section behind the heel.
func (r *reader) backSection() {
	c := r.long(0)
	if len(c.u) == 0 {
		r.miss("no closed long section", BackCurveSeat, BackCurveTop, ToplineBack)
		return
	}
	heel := r.back + heelShare*r.last
	if k, ok := r.corner(c.run(heel, -1)); ok {
		z := r.seat[0] + r.seat[1]*(heel-r.back)
		r.got[BackCurveSeat] = math.Max(heel-k.foot(z, -r.seat[1])-r.back, 0)
	} else {
		r.miss("no rounded corner between seat and back", BackCurveSeat)
	}
	top, _, open := c.toplines()
	if !open || top[0] > heel {
		r.miss("no topline at the back: the shape is closed there", BackCurveTop, ToplineBack)
		return
	}
	r.got[BackCurveTop] = top[0] - r.back
	r.got[ToplineBack] = top[1] - r.seat[0]
}

// frontSections reads the cross sections from the ankle to the toes.
func (r *reader) frontSections() {
	r.about(r.back+ankleShare*r.last, func(c *contour, found func(MeasureID, float64), miss func(string, ...MeasureID)) {
		a, b, open := c.toplines()
		if !open {
			miss("no topline below the ankle: the shape is closed there", ToplineMedial, ToplineLateral)
			return
		}
		_, floor := c.middle()
		found(ToplineLateral, a[1]-floor)
		found(ToplineMedial, b[1]-floor)
	})
	type needs struct{ width, girth, depth MeasureID }
	at := func(x float64, want needs) {
		r.about(x, func(c *contour, found func(MeasureID, float64), miss func(string, ...MeasureID)) {
			if len(c.u) == 0 {
				miss(noSection, want.width, want.girth, want.depth)
				return
			}
			lo, hi := extent(c.u)
			found(want.width, hi-lo)
			if c.opening() > shutMM {
				miss("the shape is open there", want.girth, want.depth)
				return
			}
			_, floor := c.middle()
			_, top := extent(c.v)
			found(want.girth, c.girth())
			found(want.depth, top-floor)
		})
	}
	const none = NumMeasures
	at(r.back+waistShare*r.last, needs{WaistWidth, none, none})
	at(r.back+instepShare*r.last, needs{none, InstepGirth, DepthInstep})
	at(r.back+treadShare*r.last, needs{BallWidth, BallGirth, DepthBall})
	at(r.back+r.last-toeDepthBackMM, needs{none, none, DepthToe})
	delete(r.got, none)
	delete(r.missed, none)
	r.about(r.back+treadShare*r.last, func(c *contour, found func(MeasureID, float64), miss func(string, ...MeasureID)) {
		if len(c.u) == 0 {
			miss(noSection, FeatherForefoot)
			return
		}
		mid, _ := c.middle()
		sum := 0.0
		for _, side := range []float64{1, -1} {
			k, ok := r.corner(c.run(mid, side))
			if !ok {
				miss("no rounded corner at the ball", FeatherForefoot)
				return
			}
			sum += k.radius / 2
		}
		found(FeatherForefoot, sum)
	})
}

// A polynomial is given by its coefficients in t = (x − from)/scale, constant first.
type polynomial struct {
	from, scale float64
	c           []float64
}

// fitPolynomial is the least-squares polynomial of a degree; false with too few points.
func fitPolynomial(p []point2, degree int) (polynomial, bool) {
	if len(p) < degree+2 {
		return polynomial{}, false
	}
	q := polynomial{from: p[0].r, scale: p[len(p)-1].r - p[0].r}
	a, b := mat.NewDense(len(p), degree+1, nil), mat.NewVecDense(len(p), nil)
	for i, pt := range p {
		t := 1.0
		for j := range degree + 1 {
			a.Set(i, j, t)
			t *= (pt.r - q.from) / q.scale
		}
		b.SetVec(i, pt.z)
	}
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil {
		return polynomial{}, false
	}
	q.c = x.RawVector().Data
	return q, true
}

// fitSmooth is the polynomial of the lowest degree from 4 to 9 that runs through the points.
func fitSmooth(p []point2) (polynomial, bool) {
	const throughMM = 1e-4
	for degree := 4; ; degree++ {
		q, ok := fitPolynomial(p, degree)
		if !ok || degree == 9 {
			return q, ok
		}
		if !slices.ContainsFunc(p, func(pt point2) bool { return math.Abs(q.at(pt.r)-pt.z) > throughMM }) {
			return q, true
		}
	}
}

func (q *polynomial) at(x float64) float64 {
	t, sum := (x-q.from)/q.scale, 0.0
	for i := len(q.c) - 1; i >= 0; i-- {
		sum = sum*t + q.c[i]
	}
	return sum
}

func (q *polynomial) slopeAt(x float64) float64 {
	t, sum := (x-q.from)/q.scale, 0.0
	for i := len(q.c) - 1; i > 0; i-- {
		sum = sum*t + float64(i)*q.c[i]
	}
	return sum / q.scale
}
