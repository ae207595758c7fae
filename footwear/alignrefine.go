package footwear

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// Shares of the last's length from the back within which the frame is read.
const (
	seatFromShare, seatToShare = 0.09, 0.16 // the seat's line, at least
	heelFromShare, heelToShare = 0.05, 0.18 // the middle between the walls over the seat
	soleFromShare, soleToShare = 0.52, 0.92 // the floor about the tread line
	rearBelowShare             = 0.3        // height, as a share of the length, below which the rearmost point is looked for
)

// An aligner makes rough axes exact, in rounds.
type aligner struct {
	ctx   context.Context
	m     *mesh.Mesh // smoothed, faces looking outward
	noisy bool
	pose  mesh.Pose // roomFromScan
	level bool      // pitch and roll are kept
	notes []string

	last   float64
	change float64
	st     []station // of the last round
	now    *mesh.Mesh
}

const (
	mostRounds    = 25
	stillMM       = 0.002 // a round that changes less over the length is the last
	alignedDeg    = 35.0  // rough axes are never farther off
	alignSections = 70    // across the shape, in each round
)

// refine runs the rounds.
func (a *aligner) refine() error {
	start := a.pose
	if err := a.rounds(); err != nil {
		return err
	}
	if a.level {
		return nil
	}
	if why := a.noShoeBottom(); why != "" {
		a.notes = append(a.notes, why+"; the level is that of the body's long axis")
		a.pose, a.level = start, true
		if err := a.levelLongAxis(); err != nil {
			return err
		}
		return a.rounds()
	}
	return nil
}

func (a *aligner) rounds() error {
	for range mostRounds {
		if err := a.ctx.Err(); err != nil {
			return err
		}
		step, err := a.round()
		if err != nil {
			return err
		}
		a.pose = step.Compose(a.pose)
		w := step.RotationVectorDeg()
		if r3.Norm(w) > alignedDeg {
			return noFrame("no floor of a shoe was found under the shape")
		}
		a.change = r3.Norm(step.T) + r3.Norm(w)*math.Pi/180*a.last
		if a.change < stillMM {
			break
		}
	}
	return nil
}

// survey reads the sections of the shape as it lies now.
func (a *aligner) survey(sections int) error {
	a.now = a.m.Transformed(a.pose)
	b := a.now.Bounds()
	back, toe := b.Min.X, b.Max.X
	sl := newSlicer(a.now)
	read := func() {
		a.st = a.st[:0]
		a.last = toe - back
		for i := range sections {
			x := back + (float64(i)+0.5)/float64(sections)*a.last
			if st, ok := sl.stationAt(x); ok {
				a.st = append(a.st, st)
			}
		}
	}
	read()
	if len(a.st) < 20 {
		return noFrame("too few sections across the shape can be read")
	}
	// The rearmost and the foremost point of what a foot could be in: not of a shaft that leans back.
	back2 := a.farthest(-1)
	toe2 := a.farthest(1)
	if toe2-back2 < leastScanMM || toe2-back2 > mostScanMM {
		return noFrame(fmt.Sprintf("the shape is %.0f mm long; %.0f to %.0f mm can be a shoe", toe2-back2, leastScanMM, mostScanMM))
	}
	back, toe = back2, toe2
	a.last = toe - back
	if a.last < 0.98*(b.Max.X-b.Min.X) { // something leans beyond the shoe: cut anew
		if read(); len(a.st) < 20 {
			return noFrame("too few sections across the shape can be read")
		}
	}
	// All that follows counts X from the back.
	for i := range a.st {
		a.st[i].x -= back
	}
	shift := r3.Vec{X: -back}
	for i := range a.now.V {
		a.now.V[i] = r3.Add(a.now.V[i], shift)
	}
	return nil
}

// floorAt is the height of the floor at X by the stations, straight between them.
func floorAt(st []station, x float64) float64 {
	return stationValue(st, x, func(s *station) float64 { return s.floor })
}

// stationValue is a reading at X, straight between stations and from the two outermost beyond them.
func stationValue(st []station, x float64, f func(*station) float64) float64 {
	i := 0
	for i+2 < len(st) && st[i+1].x < x {
		i++
	}
	a, b := &st[i], &st[i+1]
	t := (x - a.x) / (b.x - a.x)
	return mix(f(a), f(b), math.Min(math.Max(t, -2), 3))
}

// farthest is the X of the rearmost (−1) or foremost (1) point below the height that counts. In a noisy scan it is the
// top of a quadric through the points about it.
func (a *aligner) farthest(sign float64) float64 {
	return farthestX(a.now, sign, func(v r3.Vec) bool { return v.Z < floorAt(a.st, v.X)+rearBelowShare*a.last }, a.noisy)
}

func farthestX(m *mesh.Mesh, sign float64, counts func(r3.Vec) bool, noisy bool) float64 {
	var tip r3.Vec
	far := math.Inf(-1)
	for _, v := range m.V {
		if sign*v.X > far && counts(v) {
			far, tip = sign*v.X, v
		}
	}
	if !noisy {
		return sign * far
	}
	const reach = 8.0
	var ls normalEquations
	basis := func(v r3.Vec) [6]float64 {
		y, z := (v.Y-tip.Y)/reach, (v.Z-tip.Z)/reach
		return [6]float64{1, y, z, y * y, y * z, z * z}
	}
	n := 0
	for _, v := range m.V {
		d2 := (v.Y-tip.Y)*(v.Y-tip.Y) + (v.Z-tip.Z)*(v.Z-tip.Z)
		if d2 < reach*reach && sign*v.X > far-reach {
			w := 1 - d2/(reach*reach)
			ls.add(basis(v), sign*v.X-far, w*w)
			n++
		}
	}
	if n < 12 {
		return sign * far
	}
	c, ok := ls.solve()
	if !ok {
		return sign * far
	}
	// The top of the quadric, no farther than half the reach from where the outermost point stands.
	top := math.Inf(-1)
	const steps = 20
	for i := -steps; i <= steps; i++ {
		for j := -steps; j <= steps; j++ {
			y, z := 0.5*float64(i)/steps, 0.5*float64(j)/steps
			top = math.Max(top, c[0]+c[1]*y+c[2]*z+c[3]*y*y+c[4]*y*z+c[5]*z*z)
		}
	}
	if math.Abs(top) > mostBumpMM {
		return sign * far
	}
	return sign * (far + top)
}

// mostBumpMM is more than noise makes of an outermost point; a quadric that stands farther off does not fit there.
const mostBumpMM = 1.5

// round measures how far the axes are off and is the motion that mends it.
func (a *aligner) round() (mesh.Pose, error) {
	if err := a.survey(alignSections); err != nil {
		return mesh.Pose{}, err
	}
	points := a.floorPoints()
	var roll, pitch float64
	if !a.level {
		r1, ok1 := across(points, seatFromShare*a.last, 0.22*a.last)
		r2, ok2 := across(points, 0.60*a.last, 0.85*a.last)
		if !ok1 || !ok2 {
			return mesh.Pose{}, noFrame("no floor was found at seat and tread")
		}
		s, ok := treadSlope(points, a.last)
		if !ok {
			return mesh.Pose{}, noFrame("no floor was found about the tread line")
		}
		roll, pitch = math.Atan((r1+r2)/2), math.Atan(s)
	}
	y0, yaw := a.heelLine()
	step := turnAbout(r3.Vec{Z: 1}, -math.Atan(yaw)).
		Compose(turnAbout(r3.Vec{Y: 1}, pitch)).
		Compose(turnAbout(r3.Vec{X: 1}, -roll))
	// The shape was moved along X while it was surveyed; the origin is the board under its rearmost point.
	back := a.now.V[0].X - a.pose.Apply(a.m.V[0]).X
	at := r3.Vec{X: -back, Y: y0, Z: a.seatHeight()}
	step.T = r3.Sub(step.T, step.Apply(at))
	return step, nil
}

// A floorPoint is a piece of the floor: X from the back, the distance to the left of the middle, height, area.
type floorPoint struct{ x, v, z, area float64 }

// floorPoints are points of the floor away from its edges: its vertices or, where a mesh has large faces and few of them
// there, points of the sections.
func (a *aligner) floorPoints() []floorPoint {
	p := a.floorVertices()
	seat, tread := 0, 0
	for _, q := range p {
		if q.x < 0.2*a.last {
			seat++
		}
		if q.x > 0.6*a.last && q.x < 0.85*a.last {
			tread++
		}
	}
	if min(seat, tread) >= 40 {
		return p
	}
	p = p[:0]
	for i := range a.st {
		s := &a.st[i]
		if s.x < 0.03*a.last || s.x > 0.95*a.last {
			continue
		}
		for k := -4; k <= 4; k++ {
			v := 0.3 * float64(k) / 4 * s.half()
			if z, _ := s.c.heights(s.middle + v); !math.IsInf(z, 1) {
				p = append(p, floorPoint{s.x, v, z, 1})
			}
		}
	}
	return p
}

// floorVertices are the vertices whose faces look down and that lie on the floor's line, away from its edges.
func (a *aligner) floorVertices() []floorPoint {
	// A clean scan needs no mean over the floor's whole width, which may be hollow or round.
	middlePart := 0.3
	if a.noisy {
		middlePart = 0.55
	}
	var out []floorPoint
	m := a.now
	sum := vertexArea(m)
	for i, p := range m.V {
		area := r3.Norm(sum[i])
		if sum[i].Z > -0.75*area || area == 0 || p.X < 0.03*a.last || p.X > 0.95*a.last {
			continue
		}
		v := p.Y - stationValue(a.st, p.X, func(s *station) float64 { return s.middle })
		half := stationValue(a.st, p.X, (*station).half)
		floor := floorAt(a.st, p.X) + stationValue(a.st, p.X, func(s *station) float64 { return s.across })*v
		if math.Abs(v) < middlePart*half && math.Abs(p.Z-floor) < 5 {
			out = append(out, floorPoint{p.X, v, p.Z, area})
		}
	}
	return out
}

// across is the slope of the floor to the left between two X.
func across(p []floorPoint, from, to float64) (float64, bool) {
	rows, heights, weights := [][]float64{}, []float64{}, []float64{}
	for _, q := range p {
		if q.x >= from && q.x <= to {
			t := (q.x - from) / (to - from)
			v := q.v / 20
			rows = append(rows, []float64{v, 1, t, t * t, t * t * t, v * v, t * v * v})
			heights, weights = append(heights, q.z), append(weights, q.area)
		}
	}
	c, ok := leastSquares(rows, heights, weights)
	if !ok {
		return 0, false
	}
	return c[0] / 20, true
}

// treadSlope is the slope of the floor along X at the tread line.
func treadSlope(p []floorPoint, last float64) (float64, bool) {
	c, ok := soleCurve(p, last)
	if !ok {
		return 0, false
	}
	return c[0] / (soleUnitShare * last), true
}

// soleUnitShare is the unit of X in soleCurve, as a share of the last's length.
const soleUnitShare = 0.1

// soleCurve fits the floor about the tread line: with t the distance in front of it in units, slope·t + height, on
// either side a curve of its own, and slope and hollow across. The first is the slope, the second the height at the tread
// line, the sixth the parabola in front.
func soleCurve(p []floorPoint, last float64) ([]float64, bool) {
	tread := treadShare * last
	unit := soleUnitShare * last
	rows, heights, weights := [][]float64{}, []float64{}, []float64{}
	for _, q := range p {
		if q.x < soleFromShare*last || q.x > soleToShare*last {
			continue
		}
		t, v := (q.x-tread)/unit, q.v/20
		back, front := math.Min(t, 0), math.Max(t, 0)
		rows = append(rows, []float64{
			t, 1, back * back, back * back * back, back * back * back * back, front * front,
			v, v * v * back * back, v * v, v * v * t,
		})
		heights, weights = append(heights, q.z), append(weights, q.area)
	}
	return leastSquares(rows, heights, weights)
}

// leastSquares solves a weighted linear least-squares problem by its normal equations, columns scaled.
func leastSquares(rows [][]float64, y, w []float64) ([]float64, bool) {
	if len(rows) == 0 || len(rows) < 2*len(rows[0]) {
		return nil, false
	}
	n := len(rows[0])
	a, b := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for k, r := range rows {
		for i := range n {
			for j := i; j < n; j++ {
				a.SetSym(i, j, a.At(i, j)+w[k]*r[i]*r[j])
			}
			b.SetVec(i, b.AtVec(i)+w[k]*r[i]*y[k])
		}
	}
	var c mat.Cholesky
	if !c.Factorize(a) {
		return nil, false
	}
	var v mat.VecDense
	if err := c.SolveVecTo(&v, b); err != nil {
		return nil, false
	}
	return v.RawVector().Data, true
}

// heelLine is the line y = y0 + slope·x half way between the walls over the seat: where walls look sideways, they tell
// more. A shape without such walls keeps its direction.
func (a *aligner) heelLine() (y0, slope float64) {
	rows, ys, weights := [][]float64{}, []float64{}, []float64{}
	for i := range a.st {
		s := &a.st[i]
		if s.x < heelFromShare*a.last || s.x > heelToShare*a.last {
			continue
		}
		for _, h := range []float64{8, 12, 16, 20} {
			lo, hi := extent(s.c.crossings(s.floor + h))
			if !(hi-lo > 0.4*(s.hi-s.lo)) {
				continue
			}
			// The walls of a heel close like an ellipse: their sideways share of the normal, squared.
			q := math.Min(s.x/(heelShare*a.last), 1)
			q = 1 - (1-q)*(1-q)
			rows, ys, weights = append(rows, []float64{1, s.x / 20}), append(ys, (lo+hi)/2), append(weights, q*q)
		}
	}
	c, ok := leastSquares(rows, ys, weights)
	if !ok {
		c = []float64{a.st[0].middle, 0}
	}
	return c[0], c[1] / 20
}

// seatHeight is the height at the back of the line through the seat's floor.
func (a *aligner) seatHeight() float64 {
	c, ok := a.seatLine()
	if !ok {
		return floorAt(a.st, 0.1*a.last)
	}
	return c[0]
}

// seatLine is height at the back and slope of the seat's floor on the middle. It starts from the share that is seat in
// every shoe and takes in what lies on the same line before and behind.
func (a *aligner) seatLine() ([]float64, bool) {
	return straightSeat(a.st, a.last, a.noisy)
}

func straightSeat(st []station, last float64, noisy bool) ([]float64, bool) {
	within := 0.02
	if noisy {
		within = 0.1
	}
	first, end := 0, 0
	for first < len(st) && st[first].x < seatFromShare*last {
		first++
	}
	for end = first; end < len(st) && st[end].x <= seatToShare*last; end++ {
	}
	var line []float64
	fit := func() bool {
		rows, z, w := [][]float64{}, []float64{}, []float64{}
		for _, s := range st[first:end] {
			rows, z, w = append(rows, []float64{1, s.x}), append(z, s.floor), append(w, 1)
		}
		c, ok := leastSquares(rows, z, w)
		line = c
		return ok
	}
	if end-first < 4 || !fit() {
		return nil, false
	}
	off := func(i int) float64 { return math.Abs(st[i].floor - line[0] - line[1]*st[i].x) }
	for grown := true; grown; {
		grown = false
		if first > 0 && st[first-1].x > 0.03*last && off(first-1) < within {
			first, grown = first-1, true
		}
		if end < len(st) && st[end].x < 0.3*last && off(end) < within {
			end, grown = end+1, true
		}
		if grown && !fit() {
			return nil, false
		}
	}
	return line, true
}

// noShoeBottom tells why the bottom, level at the tread line, is no shoe's: its seat falls much more steeply than the
// whole way to the tread line, as that of a boat or a ball does, or rises.
func (a *aligner) noShoeBottom() string {
	c, ok := a.seatLine()
	if !ok {
		return "no seat can be seen"
	}
	fall := c[0] - floorAt(a.st, treadShare*a.last)
	mean := fall / (treadShare * a.last)
	switch {
	case fall < -5:
		return "the bottom rises to the heel less than to the toe"
	case -c[1] > 2.2*math.Max(mean, 0)+0.06:
		return "the bottom is round like a boat's"
	}
	return ""
}

// levelLongAxis turns the pose so that the principal axis of the surface is level.
func (a *aligner) levelLongAxis() error {
	now := a.m.Transformed(a.pose)
	_, e, ok := principal(surfaceSamples(now, 30000))
	if !ok {
		return noFrame("the surface has no area")
	}
	x := e[0]
	if x.X < 0 {
		x = r3.Scale(-1, x)
	}
	a.pose = turnAbout(r3.Vec{Y: 1}, math.Atan2(x.Z, x.X)).Compose(a.pose)
	return nil
}

// side tells right from left in the frame found, whose Y points to the left of who wears the shoe.
func (a *aligner) side() (Side, float64, string) {
	at := func(share float64) float64 {
		return stationValue(a.st, share*a.last, func(s *station) float64 { return s.middle })
	}
	line, slope := a.heelLine()
	off := func(share float64) float64 { return at(share) - line - slope*share*a.last }
	toe, ball, waist := off(0.9), off(treadShare), off(waistShare)
	scale := 280 / a.last
	// Standard deviations from memory: what a straight shoe shows by chance.
	z := scale * toe / 2
	hollow := scale * (waistShare/treadShare*ball - waist)
	z += hollow / 2
	why := fmt.Sprintf("the toes swing %.1f mm and the waist is hollow by %.1f mm to one side", math.Abs(toe), math.Abs(hollow))
	if lateral, medial, ok := a.toplines(); ok {
		z += (medial - lateral) / 4
		why += fmt.Sprintf(", the topline differs by %.1f mm", math.Abs(medial-lateral))
	}
	odds := sidedOdds(z)
	switch {
	case odds < 0.9:
		return SideUnknown, odds, why + ": too little to tell"
	case z > 0:
		return RightSide, odds, why
	}
	return LeftSide, odds, why
}

// toplines are the heights of the topline below the ankle on the right (−Y) and on the left, where the shape is open.
func (a *aligner) toplines() (right, left float64, ok bool) {
	best := -1
	for i := range a.st {
		if best < 0 || math.Abs(a.st[i].x-ankleShare*a.last) < math.Abs(a.st[best].x-ankleShare*a.last) {
			best = i
		}
	}
	p, q, open := a.st[best].c.toplines()
	if !open {
		return 0, 0, false
	}
	return p[1], q[1], true
}
