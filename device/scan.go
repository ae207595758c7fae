package device

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// ScanOptions say what is known about a scanned device beforehand. The zero value knows nothing.
type ScanOptions struct {
	// Start has what a scan can't tell: material, process, what the foot is like. Its measures are replaced by those
	// that are read off. The zero value is Default.
	Start Options
	// FootLengthMM is the length of the foot; 0: from where the device ends and Start's trim.
	FootLengthMM float64
	// Side is right or left; empty: from the shape.
	Side string

	// Pose moves the scan into the device's frame (before a left one is mirrored), and Marks are three points on it;
	// one of them may be given when the frame that is found is wrong.
	Pose  *mesh.Pose
	Marks *Marks
}

// Marks are three points on a scan, in its coordinates, mm.
type Marks struct {
	HeelBack    r3.Vec // the rearmost point of the cup's rim
	FrontMiddle r3.Vec // where the line that halves the heel meets the front edge
	Medial      r3.Vec // any point of the medial edge
}

// A ScanReport tells how a scan was read.
type ScanReport struct {
	Side         string    // right or left
	SideSure     bool      // false: neither arch nor front edge tells; ask
	From         mesh.Pose // device from scan; a left device is mirrored in Y after it
	TrianglesIn  int
	Triangles    int
	Repairs      []mesh.RepairStep
	NoiseMM      float64 // what was evened out: one standard deviation along the surface's normal
	MovedMM      float64 // farthest that evening out moved a point
	Measures     []ScanMeasure
	FeatureAreas [NumFeatures]float64 // mm²
	Notes        []string             // what the reader ought to know, in sentences
}

// A ScanMeasure is one size of a scanned device.
type ScanMeasure struct {
	Key       string // of the option that it stands for, or of its own
	Name      string
	Value     float64
	PlusMinus float64 // 95 of a hundred readings lie within
	Unit      string
	Measured  bool   // read off the scan; false: assumed
	Note      string // what it was taken from
}

// Measure is the measure called key; ok is false when there is none.
func (r *ScanReport) Measure(key string) (m ScanMeasure, ok bool) {
	for _, m := range r.Measures {
		if m.Key == key {
			return m, true
		}
	}
	return m, false
}

// refineMM is the longest edge that a scan keeps: features are named face by face.
const refineMM = 2.5

// FromScan makes a device of the scan of one, in millimetres, in any pose: it mends the surface, evens out its noise,
// finds the device's frame, names its features and measures it. m is not changed. The error is a problem.Problem that
// says why the scan can't serve, or ctx's.
//
// The solid keeps the scan's shape. What the scan can't tell (material, process, foot) is Start's; a soft cover on the
// device counts as shell.
func FromScan(ctx context.Context, m *mesh.Mesh, o ScanOptions) (*Device, ScanReport, error) {
	rep := ScanReport{TrianglesIn: len(m.F)}
	if err := o.check(); err != nil {
		return nil, rep, err
	}
	s, err := prepared(ctx, m, &rep)
	if err != nil {
		return nil, rep, err
	}
	f, err := findFrame(ctx, s, o, rep.NoiseMM)
	if err != nil {
		return nil, rep, err
	}
	rep.From = f.lie.pose()
	rep.Side, rep.SideSure = Right, f.sideSure
	if f.mirrored {
		rep.Side = Left
	}
	if !f.sideSure {
		rep.Notes = append(rep.Notes, "left and right can't be told from arch and front edge: say which it is")
	}
	s = f.placed(s)
	if err := ctx.Err(); err != nil {
		return nil, rep, err
	}
	fm := nameFaces(s, f.foot, f.facets, restOf(rep.NoiseMM), f.round.x, f.frontX)
	if err := ctx.Err(); err != nil {
		return nil, rep, err
	}
	d := fm.device(f, o, &rep)
	return d, rep, nil
}

func (o *ScanOptions) check() error {
	if o.Start == (Options{}) {
		o.Start = Default()
	}
	if o.Side != "" && o.Side != Right && o.Side != Left {
		return problem.Problem{Field: "side", Value: o.Side, Limit: "right or left", Mend: "leave it out to have it found"}
	}
	if !(o.FootLengthMM == 0 || o.FootLengthMM >= 100 && o.FootLengthMM <= 350) {
		return problem.Problem{Field: "foot_length_mm", Value: mm(o.FootLengthMM), Limit: "100 to 350 mm", Mend: "leave it out to have it estimated"}
	}
	if k := o.Marks; k != nil {
		along := r3.Sub(k.FrontMiddle, k.HeelBack)
		aside := r3.Cross(along, r3.Sub(k.Medial, k.HeelBack))
		if !(r3.Norm(along) > 50 && r3.Norm(along) < 400) || !(r3.Norm(aside)/r3.Norm(along) > 8) {
			return problem.Problem{
				Field: "three points", Limit: "back of the heel and middle of the front edge at least 50 mm apart, the medial point 8 mm aside of their line",
				Mend: "set the points again",
			}
		}
	}
	if p := o.Pose; p != nil {
		q := p.Apply(r3.Vec{X: 1, Y: 1, Z: 1})
		if s := q.X + q.Y + q.Z; math.IsNaN(s) || math.IsInf(s, 0) {
			return problem.Problem{Field: "pose", Limit: "finite numbers are needed", Mend: "set the pose again"}
		}
	}
	return nil
}

// prepared mends the surface, keeps its largest piece, divides long edges and evens out noise.
func prepared(ctx context.Context, m *mesh.Mesh, rep *ScanReport) (*skin, error) {
	if err := m.Validate(); err != nil {
		return nil, err
	}
	if len(m.F) < leastScanFaces {
		return nil, scanProblem("surface", fmt.Sprintf("%d triangles", len(m.F)), fmt.Sprintf("at least %d", leastScanFaces),
			"export the scan at full detail")
	}
	fixed, done, err := mesh.Repair(ctx, m, mesh.RepairOptions{}, nil)
	if err != nil {
		return nil, err
	}
	rep.Repairs = done.Repairs
	if len(done.Shells) > 1 {
		fixed = fixed.Subset(func(i int) bool { return done.ShellOf[i] == 0 })
		rep.Notes = append(rep.Notes, fmt.Sprintf("only the largest of %d separate pieces was taken", len(done.Shells)))
	}
	if !done.Closed() {
		rep.Notes = append(rep.Notes, "the surface has openings: volume and weight are estimates")
	}
	if across := fixed.LengthAcross(); across > 2*mostLengthMM { // before its edges are split: of one corner far away that makes millions
		return nil, scanProblem("length", mm(across), mm(leastLengthMM)+" to "+mm(mostLengthMM)+" for a device", "check the unit of the file, or cut off what does not belong to the device")
	}
	fixed.Tag = nil
	fixed = fixed.Refined(func(_, _ r3.Vec) float64 { return refineMM })
	rep.Triangles = len(fixed.F)
	s := newSkin(fixed)
	noise := s.noiseMM()
	if noise < quietMM {
		return s, nil
	}
	q, err := s.quieted(ctx, noise)
	if err != nil {
		return nil, err
	}
	rep.NoiseMM, rep.MovedMM = moved(s, q)
	return q, nil
}

// moved is the standard deviation, along the normals, and the largest of how far evening out moved the vertices.
func moved(from, to *skin) (sigma, most float64) {
	normals := to.m.VertexNormals()
	sum := 0.0
	for v := range from.m.V {
		d := r3.Sub(to.m.V[v], from.m.V[v])
		along := r3.Dot(d, normals[v])
		sum += along * along
		most = max(most, r3.Norm(d))
	}
	return math.Sqrt(sum / float64(max(len(from.m.V), 1))), most
}

// restOf is the noise left after noiseMM was evened out: from trials with known shapes (see the tests), about a fifth.
func restOf(noiseMM float64) float64 { return 0.22 * noiseMM }

// A framing is the frame of a device in its scan with all that was found on the way.
type framing struct {
	lie      lie
	foot     []bool  // a face: it carries the foot
	facets   []facet // in the frame, mirrored to the right
	round    cupRound
	lean     float64 // of the cup, radians, medial side up
	deepest  float64 // height of the cup's deepest point
	hollow   bool    // there is one: the heel is not ground through
	frontX   float64
	mirrored bool
	sideSure bool
}

var notRound = scanProblem("heel cup", "", "the narrow end is not round as a heel cup is",
	"check that the file holds one whole device, or give a pose")

// findFrame finds how the device lies in the scan.
func findFrame(ctx context.Context, s *skin, o ScanOptions, noiseMM float64) (*framing, error) {
	l, size, err := roughLie(s)
	switch {
	case o.Pose != nil:
		l, size = given(s, lieOf(*o.Pose))
	case o.Marks != nil && (err == nil || !isSize(err)):
		l, size = given(s, o.Marks.lie(s))
	case err != nil:
		return nil, err
	}
	f := &framing{foot: footSide(s, l, size)}
	if share := f.footShare(s); share < leastFootShare {
		return nil, scanProblem("foot side", fmt.Sprintf("%.0f %% of the surface", 100*share), fmt.Sprintf("at least %.0f %%", 100*leastFootShare),
			"scan the side that carries the foot too")
	}
	var ok bool
	if f.round, ok = findRound(s, l, size); !ok {
		return nil, notRound
	}
	if f.facets, err = findBase(s, l, f.round, size.X, restOf(noiseMM)); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	fixed := o.Pose != nil
	if !fixed {
		l = f.turn(l, l.moved(r3.Vec{}, r3.Vec{X: 1}, f.baseUp()))
	}
	medial, sure := medialSide(s, l, size)
	if o.Marks != nil {
		medial, sure = math.Copysign(1, l.in(o.Marks.Medial).Y), true
	}
	if o.Side == Right || o.Side == Left {
		medial, sure = 1, true
		if o.Side == Left {
			medial = -1
		}
	}
	for range 4 {
		if c, ok := findRound(s, l, size); ok {
			f.round = c
		}
		y, lean, deepest, hollow := symmetry(f.rearTree(s, l, size), f.round)
		f.lean, f.deepest, f.hollow = lean, deepest, hollow
		if !hollow {
			y, f.lean = f.round.y, 0
		}
		if fixed {
			break
		}
		up := r3.Vec{Z: 1}
		if len(f.facets) > 1 && hollow {
			up = r3.Vec{Y: -math.Sin(lean), Z: math.Cos(lean)}
		}
		forward := r3.Vec{X: 1}
		if o.Marks == nil {
			forward = r3.Vec{X: 0.9*size.X - f.round.x, Y: frontMiddle(s, l, size, medial) - y}
		} else {
			y = 0
		}
		l = f.turn(l, l.moved(r3.Vec{Y: y}, forward, up))
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	if !fixed {
		z := f.facets[0].c
		if len(f.facets) > 1 {
			z = (z + f.facets[1].c) / 2
		}
		l = f.turn(l, l.moved(r3.Vec{X: rearmost(s, l), Z: z}, r3.Vec{X: 1}, r3.Vec{Z: 1}))
	}
	f.lie, f.mirrored, f.sideSure = l, medial < 0, sure
	f.settle(s)
	return f, nil
}

// leastFootShare is the least share of the surface that the foot side has; of a whole device it has 40 to 48 %.
const leastFootShare = 0.25

func (f *framing) footShare(s *skin) float64 {
	var foot, all float64
	for i, a := range s.area {
		all += a
		if f.foot[i] {
			foot += a
		}
	}
	return foot / all
}

// isSize says whether err is about size or shape as a whole, which no points can mend.
func isSize(err error) bool {
	var p problem.Problem
	return errors.As(err, &p) && (p.Field == "length" || p.Field == "surface")
}

// given is a lie that was given, with the extent of the scan along its axes.
func given(s *skin, l lie) (lie, r3.Vec) {
	b := l.bounds(s.m)
	return l, r3.Sub(b.Max, b.Min)
}

// lie is the frame that three points stand for: X from heel to front, up where the hollow of the shell opens.
func (k *Marks) lie(s *skin) lie {
	forward := r3.Sub(k.FrontMiddle, k.HeelBack)
	l := newLie(k.HeelBack, forward, r3.Cross(forward, r3.Sub(k.Medial, k.HeelBack)))
	if hollow(s, l, l.bounds(s.m)) < 0 {
		l = l.moved(r3.Vec{}, r3.Vec{X: 1}, r3.Vec{Z: -1})
	}
	return l
}

// baseUp is the direction away from the base: between its facets when it has two.
func (f *framing) baseUp() r3.Vec {
	up := f.facets[0].up()
	if len(f.facets) > 1 {
		up = unit(r3.Add(up, f.facets[1].up()))
	}
	return up
}

// turn carries what was found over to a new lie, and returns that.
func (f *framing) turn(from, to lie) lie {
	for i, g := range f.facets {
		p := r3.Add(from.o, from.out(r3.Vec{Z: g.c}))
		n, q := to.along(from.out(g.up())), to.in(p)
		f.facets[i].a, f.facets[i].b = -n.X/n.Z, -n.Y/n.Z
		f.facets[i].c = q.Z - f.facets[i].a*q.X - f.facets[i].b*q.Y
	}
	return to
}

// rearTree is the nearest-point tree of the foot side of the cup in the frame of l.
func (f *framing) rearTree(s *skin, l lie, size r3.Vec) *mesh.Tree {
	m := s.m.Subset(func(i int) bool { return f.foot[i] && l.in(s.centre[i]).X < 0.3*size.X })
	for i, v := range m.V {
		m.V[i] = l.in(v)
	}
	return mesh.NewTree(m)
}

// settle measures what is left in the final frame, and turns a left device into the right one.
func (f *framing) settle(s *skin) {
	for _, v := range s.m.V {
		if p := f.lie.in(v); math.Abs(p.Y) < 5 {
			f.frontX = max(f.frontX, p.X)
		}
	}
	size := r3.Sub(f.lie.bounds(s.m).Max, f.lie.bounds(s.m).Min)
	if c, ok := findRound(s, f.lie, size); ok {
		f.round = c
	}
	_, lean, deepest, hollow := symmetry(f.rearTree(s, f.lie, size), f.round)
	f.lean, f.deepest, f.hollow = lean, deepest, hollow
	if f.mirrored {
		f.lean, f.round.y = -f.lean, -f.round.y
		for i := range f.facets {
			f.facets[i].b = -f.facets[i].b
		}
	}
}

// placed is the surface in the frame of its device, a left one mirrored.
func (f *framing) placed(s *skin) *skin {
	in := func(v r3.Vec) r3.Vec {
		if f.mirrored {
			v.Y = -v.Y
		}
		return v
	}
	m := &mesh.Mesh{V: make([]r3.Vec, len(s.m.V)), F: slices.Clone(s.m.F)}
	raw := make([]r3.Vec, len(s.m.V))
	for i, v := range s.m.V {
		m.V[i], raw[i] = in(f.lie.in(v)), in(f.lie.in(s.raw[i]))
	}
	if f.mirrored {
		for i, t := range m.F {
			m.F[i] = [3]int32{t[0], t[2], t[1]}
		}
	}
	p := newSkin(m)
	p.raw = raw
	for i, n := range s.normal {
		p.normal[i] = in(f.lie.along(n))
	}
	return p
}

// medialSide is +1 when the medial side lies towards +Y, −1 when towards −Y: where the edge stands higher under the
// arch and the front edge reaches farther forward (the metatarsal heads stand in an arc). sure is false when the two
// speak against each other or too softly.
func medialSide(s *skin, l lie, size r3.Vec) (side float64, sure bool) {
	const bins = 8
	var top [2][bins]float64
	var wide [2]float64
	for k := range top {
		for i := range top[k] {
			top[k][i] = math.Inf(-1)
		}
	}
	at := func(y float64) int {
		if y > 0 {
			return 1
		}
		return 0
	}
	for _, v := range s.m.V {
		p := l.in(v)
		k := at(p.Y)
		if u := (p.X/size.X - 0.35) / 0.3; u >= 0 && u < 1 {
			top[k][int(u*bins)] = max(top[k][int(u*bins)], p.Z)
		}
		if p.X > 0.8*size.X {
			wide[k] = max(wide[k], math.Abs(p.Y))
		}
	}
	var reach [2]float64
	for _, v := range s.m.V {
		p := l.in(v)
		k := at(p.Y)
		if u := math.Abs(p.Y) / wide[k]; u > 0.8 && u < 0.9 {
			reach[k] = max(reach[k], p.X)
		}
	}
	high := 0.0
	for i := range bins {
		high += (top[1][i] - top[0][i]) / bins
	}
	score := high/5 + (reach[1]-reach[0])/5
	return math.Copysign(1, score), math.Abs(score) > 0.8
}

// frontMiddle is where the line that halves the heel is taken to meet the front: the share of its width that lies
// medially is the one that devices are built with.
func frontMiddle(s *skin, l lie, size r3.Vec, medial float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range s.m.V {
		if p := l.in(v); p.X > 0.86*size.X {
			lo, hi = min(lo, p.Y), max(hi, p.Y)
		}
	}
	if medial > 0 {
		return hi - frontMedialShare*(hi-lo)
	}
	return lo + frontMedialShare*(hi-lo)
}
