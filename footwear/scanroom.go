package footwear

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A ScanBody is what was scanned.
type ScanBody string

// The bodies. The zero value decides by whether the scan is open over the heel.
const (
	ScanAny    ScanBody = ""
	ScanLast   ScanBody = "last"   // the last, closed: the topline is guessed and cut
	ScanInside ScanBody = "inside" // the inside of the shoe, or a cast of it: its border is the topline
)

// ScanOptions settle how a scan becomes a room. The zero value takes the surface as the room.
type ScanOptions struct {
	Body ScanBody

	// What lies between the scanned surface and the room and was not scanned, mm; a negative value takes away what was
	// scanned and is not there: a sock over everything, lining on walls and roof, the shoe's own insole on the floor.
	SockMM, LiningMM, InsoleMM float64

	// PlusMinusMM is how well the scanner itself holds, 95 of a hundred; 0 is 0.5 mm.
	PlusMinusMM float64

	ID, Name string // of the sheet; "" are "scan" and "Scanned shoe"
	ShoeKind string // one of Kinds, for what the scan does not tell; "" is that of the nearest demo shoe
	Size     Size   // the zero value is the EU size of the length read
}

func (o *ScanOptions) check() error {
	var ps problem.Problems
	thick := func(field string, mm float64) {
		if !(math.Abs(mm) <= thickestMM) {
			ps = append(ps, problem.Problem{Field: field, Value: fmt.Sprintf("%g mm", mm), Limit: fmt.Sprintf("%g to %g mm", -thickestMM, thickestMM), Mend: "measure the thickness"})
		}
	}
	thick("sock_mm", o.SockMM)
	thick("lining_mm", o.LiningMM)
	thick("insole_mm", o.InsoleMM)
	if !(o.PlusMinusMM >= 0 && o.PlusMinusMM <= 5) {
		ps = append(ps, problem.Problem{Field: "plus_minus_mm", Value: fmt.Sprintf("%g mm", o.PlusMinusMM), Limit: "0 to 5 mm", Mend: "take the figure of the scanner's sheet"})
	}
	if o.Body != ScanAny && o.Body != ScanLast && o.Body != ScanInside {
		ps = append(ps, problem.Problem{Field: "body", Value: fmt.Sprintf("%q", clipped(string(o.Body))), Limit: "last or inside", Mend: "say what was scanned"})
	}
	return ps.Err()
}

// thickestMM is more than any sock, lining or insole has.
const thickestMM = 15.0

// A ScanReport tells how a room came from a scan.
type ScanReport struct {
	Reading ScanReading
	Body    ScanBody
	Notes   []string
	// SigmaMM is one standard deviation of a wall's place across the wall: noise left after a finding has looked at a few
	// vertices (one), the scanner, and a tenth of what was added or taken away.
	SigmaMM float64
}

// RoomFromScan makes a room of a scan that Alignment.Apply has brought into the frame. The walls are the scan's own
// faces, moved along their normals by what is added or taken away and not fitted to any form; each gets its zone by place
// and slope. An open scan ends at its border; a closed last is cut at a topline that is guessed from the nearest kind of
// shoe. The room's sheet is read off it, so that it can be graded to other sizes; the room of the graded sheet is then
// built from measures. Errors are problem.Problem or problem.Problems, or the context's.
func RoomFromScan(ctx context.Context, m *mesh.Mesh, o ScanOptions) (*Room, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	if err := scanSize(m); err != nil {
		return nil, err
	}
	smooth, noise, err := smoothed(ctx, m)
	if err != nil {
		return nil, err
	}
	sv, err := surveyOf(wallsOnly(smooth, false), noise)
	if err != nil {
		return nil, err
	}
	rep := &ScanReport{Reading: sv.reading(), Body: o.Body}
	loop, open := openTop(m, sv)
	switch {
	case o.Body == ScanInside && !open:
		rep.Notes = append(rep.Notes, "the scan is closed over the heel: the topline is guessed")
	case o.Body == ScanAny && open:
		rep.Body = ScanInside
	case o.Body == ScanAny:
		rep.Body = ScanLast
	}
	sheet, notes := sheetFromReading(sv, &rep.Reading, o)
	rep.Notes = append(rep.Notes, notes...)
	if err := ctx.Err(); err != nil {
		return nil, err
	}

	walls := &mesh.Mesh{V: slices.Clone(m.V), F: slices.Clone(m.F)}
	z := newZoner(sv, &sheet)
	lid := make([]bool, len(m.F))
	if open {
		z.throat = throatOfLoop(m, loop) - sv.back
		z.edgesFrom(func(st *station) (lateral, medial float64, ok bool) {
			a, b, ok := st.c.toplines()
			return a[1] - st.floor, b[1] - st.floor, ok
		})
	} else {
		g := guessTopline(sv, &sheet)
		z.throat = g.throat
		z.edgesFrom(func(*station) (float64, float64, bool) { return g.atLateral, g.atMedial, true })
		over := make([]float64, len(m.V))
		for i, v := range smooth.V {
			over[i] = g.over(sv, v)
		}
		faces, side, cuts := splitWhere(m.F, len(m.V), over)
		walls = &mesh.Mesh{V: withCuts(m.V, cuts), F: faces}
		smooth = &mesh.Mesh{V: withCuts(smooth.V, cuts), F: faces}
		lid = make([]bool, len(faces))
		for i, s := range side {
			lid[i] = s > 0
		}
		rep.Notes = append(rep.Notes, fmt.Sprintf("a closed last has no topline: it is guessed from the %s, %.0f mm high at the back and %.0f mm below the ankle",
			sheet.Kind, g.back, g.medial))
	}
	walls.Tag = make([]uint8, len(walls.F))
	for i, f := range walls.F {
		if lid[i] {
			continue
		}
		p := r3.Scale(1.0/3, r3.Add(smooth.V[f[0]], r3.Add(smooth.V[f[1]], smooth.V[f[2]])))
		walls.Tag[i] = uint8(z.zone(p, smooth.FaceNormal(i)))
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}

	r := &Room{Scan: rep}
	after := sv
	if o.SockMM != 0 || o.LiningMM != 0 || o.InsoleMM != 0 {
		thin := &mesh.Mesh{V: smooth.V, F: walls.F}
		moved := inward(thin, func(face int) float64 { return o.SockMM + o.onFace(Zone(walls.Tag[face]), thin.FaceNormal(face)) })
		for i, v := range moved {
			walls.V[i] = r3.Add(walls.V[i], r3.Sub(v, smooth.V[i]))
		}
		walls = withoutFlat(walls)
		if after, err = surveyOf(wallsOnly(withoutFlat(&mesh.Mesh{V: moved, F: thin.F}), false), noise); err != nil {
			return nil, err
		}
		rep.Reading = after.reading()
		sheet, notes = sheetFromReading(after, &rep.Reading, o)
		rep.Notes = append(rep.Notes, notes...)
		if loop, open = openTop(walls, after); !open && rep.Body == ScanInside {
			rep.Notes = append(rep.Notes, "the opening was lost when the thickness was added")
		}
		r.InsoleIn = o.InsoleMM > 0
	}
	r.Sheet = sheet
	r.Closed = walls
	if open {
		r.Closed = lidded(walls, loop)
	}
	r.Walls = r.Closed.Subset(func(face int) bool { return Zone(r.Closed.Tag[face]) != Open })
	added := math.Abs(o.SockMM) + math.Max(math.Abs(o.LiningMM), math.Abs(o.InsoleMM))
	scanner := o.PlusMinusMM
	if scanner == 0 {
		scanner = scannerPlusMinusMM
	}
	rep.SigmaMM = math.Hypot(math.Hypot(scanner/1.96, 0.1*added), noise)
	r.shape = newScanShape(after, &sheet, z.throat, r.InsoleIn)
	return r, nil
}

// onFace is what lies on a face besides the sock: the insole on floors, the lining on walls, on the corner between them
// each by how it looks.
func (o *ScanOptions) onFace(z Zone, n r3.Vec) float64 {
	switch {
	case z.Floor():
		return o.InsoleMM
	case z == Feather:
		down := math.Min(n.Z*n.Z, 1)
		return mix(o.LiningMM, o.InsoleMM, down)
	}
	return o.LiningMM
}

// withoutFlat drops the faces whose corners came to lie together.
func withoutFlat(m *mesh.Mesh) *mesh.Mesh { return m.Welded(1e-6) }

// throatOfLoop is the foremost X of a topline.
func throatOfLoop(m *mesh.Mesh, loop []int32) float64 {
	x := math.Inf(-1)
	for _, v := range loop {
		x = math.Max(x, m.V[v].X)
	}
	return x
}

func newZoner(sv *survey, s *Sheet) *zoner {
	return &zoner{
		footprint: newFootprint(sv, s.V(FeatherForefoot)), breast: s.V(SeatLength), ankle: ankleShare * sv.last, waist: waistShare * sv.last,
		shoulder: shoulders(sv.st),
	}
}

// edgesFrom reads, just behind the throat, how far up from the widest place to the crest the topline stands.
func (z *zoner) edgesFrom(heights func(*station) (lateral, medial float64, ok bool)) {
	i, _ := stationPlace(z.sv.st, z.throat-5)
	lateral, medial, ok := heights(&z.sv.st[i])
	j, _ := stationPlace(z.sv.st, z.throat+4)
	s, top := z.shoulder[j], z.sv.st[j].top-z.sv.st[j].floor
	if !ok || top-s < 1 {
		return
	}
	share := func(h float64) float64 { return math.Min(math.Max((h-s)/(top-s), 0), 1) }
	z.medialEdge, z.lateralEdge = share(medial), share(lateral)
}

// A scanShape answers for a scanned room.
type scanShape struct {
	at                     places
	floor, middle, top     interp.PiecewiseLinear // by X; top over the floor
	lo, hi                 float64                // X where the floor was read
	medialTop, lateralTop  float64
	insoleHeel, insoleFore float64
}

func newScanShape(sv *survey, s *Sheet, throat float64, insoleIn bool) *scanShape {
	n := len(sv.st)
	xs, floor, middle, top := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range sv.st {
		st := &sv.st[i]
		xs[i], floor[i], middle[i], top[i] = st.x+sv.back, st.floor, st.middle, st.top-st.floor
	}
	l := sv.last
	c := &scanShape{
		lo: xs[0], hi: xs[n-1],
		at: places{
			heel: heelShare * l, breast: s.V(SeatLength), ankle: ankleShare * l, waist: waistShare * l, instep: instepShare * l,
			tread: treadShare * l, toe: l, throat: throat,
		}.shifted(sv.back),
		medialTop: s.V(ToplineMedial), lateralTop: s.V(ToplineLateral),
	}
	if insoleIn {
		c.insoleHeel, c.insoleFore = s.V(InsoleHeel), s.V(InsoleForefoot)
	}
	for _, f := range []struct {
		line *interp.PiecewiseLinear
		y    []float64
	}{{&c.floor, floor}, {&c.middle, middle}, {&c.top, top}} {
		if err := f.line.Fit(xs, f.y); err != nil {
			panic("footwear: stations out of order: " + err.Error())
		}
	}
	return c
}

func (c *scanShape) places() places { return c.at }

// floorZ goes on with the slope of the ends beyond them.
func (c *scanShape) floorZ(x float64) float64 {
	const d = 4.0
	switch {
	case x < c.lo:
		return c.floor.Predict(c.lo) + (x-c.lo)*(c.floor.Predict(c.lo+d)-c.floor.Predict(c.lo))/d
	case x > c.hi:
		return c.floor.Predict(c.hi) + (x-c.hi)*(c.floor.Predict(c.hi)-c.floor.Predict(c.hi-d))/d
	}
	return c.floor.Predict(x)
}

// floorSlope is taken over 6 mm, as far as noise needs.
func (c *scanShape) floorSlope(x float64) float64 {
	const d = 3.0
	return (c.floorZ(x+d) - c.floorZ(x-d)) / (2 * d)
}

func (c *scanShape) middleY(x float64) float64 { return c.middle.Predict(x) }

func (c *scanShape) insole(x float64) float64 {
	t := math.Min(math.Max((x-c.at.heel)/(c.at.tread-c.at.heel), 0), 1)
	return mix(c.insoleHeel, c.insoleFore, t)
}

func (c *scanShape) depth(x float64) float64 {
	if x <= c.at.back || x >= c.at.toe {
		return 0
	}
	return c.top.Predict(x)
}

func (c *scanShape) toplineOver(medial bool) float64 {
	if medial {
		return c.medialTop
	}
	return c.lateralTop
}
