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
func MeasureRoom(m *mesh.Mesh) (map[MeasureID]float64, error) {
	if len(m.F) == 0 || m.Tag == nil {
		return nil, fmt.Errorf("a room without faces or zones cannot be measured")
	}
	r := reader{m: m, got: map[MeasureID]float64{}}
	box := m.Bounds()
	r.back, r.last = box.Min.X, box.Max.X-box.Min.X
	r.got[LastLength] = r.last
	for _, part := range []func() error{r.bottom, r.heelSection, r.backSection, r.frontSections} {
		if err := part(); err != nil {
			return nil, err
		}
	}
	return r.got, nil
}

type reader struct {
	m          *mesh.Mesh
	back, last float64
	got        map[MeasureID]float64
	seat       [2]float64 // height at the back and slope of the seat's line
}

func (r *reader) at(share float64) contour { return crossSection(r.m, r.back+share*r.last) }

// middle is half way between the sides of a section, and the height of the floor there.
func (c *contour) middle() (u, floor float64) {
	lo, hi := extent(c.u)
	u = (lo + hi) / 2
	floor, _ = c.heights(u)
	return u, floor
}

// floorLine are the floor vertices on the room's middle, by X from the back.
func (r *reader) floorLine() []point2 {
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
	for i, f := range r.m.F {
		if !Zone(r.m.Tag[i]).Floor() {
			continue
		}
		for _, v := range f {
			p := r.m.V[v]
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
func (r *reader) bottom() error {
	line := r.floorLine()
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
func (r *reader) heelSection() error {
	c := r.at(heelShare)
	if len(c.u) == 0 {
		return fmt.Errorf("no closed section at the heel")
	}
	mid, floor := c.middle()
	radius, width := 0.0, 0.0
	for _, side := range []float64{1, -1} {
		k, ok := readCorner(c.run(mid, side))
		if !ok {
			return fmt.Errorf("no rounded corner between seat and counter")
		}
		radius += k.radius / 2
		width += k.foot(floor, 0)
	}
	r.got[FeatherHeel], r.got[SeatWidth] = radius, width
	a, b, open := c.toplines()
	if !open {
		return fmt.Errorf("no topline at the heel")
	}
	r.got[CounterWidthTop] = b[0] - a[0]
	for _, w := range []struct {
		id MeasureID
		h  float64
	}{{CounterWidth10, 10}, {CounterWidth20, 20}, {CounterWidth40, 40}} {
		if w.h > math.Min(a[1], b[1])-floor-1 {
			continue
		}
		lo, hi := extent(c.crossings(floor + w.h))
		r.got[w.id] = hi - lo
	}
	// The hollow: the circle through the floor's middle, s = κ/2·(u² + s²), by least squares for its curvature κ.
	var num, den float64
	for i, z := range c.zone {
		if !z.Floor() {
			continue
		}
		for _, j := range []int{i, i + 1} {
			u, v := c.at(j)
			s, q := v-floor, (u-mid)*(u-mid)+(v-floor)*(v-floor)
			num, den = num+s*q, den+q*q
		}
	}
	if curvature := 2 * num / den; curvature > 1e-9 {
		r.got[SeatCupping] = hollow(30, 1/curvature)
	} else {
		r.got[SeatCupping] = 0
	}
	return nil
}

// backSection reads the long section behind the heel.
func (r *reader) backSection() error {
	c := longSection(r.m, 0)
	if len(c.u) == 0 {
		return fmt.Errorf("no closed long section")
	}
	heel := r.back + heelShare*r.last
	k, ok := readCorner(c.run(heel, -1))
	if !ok {
		return fmt.Errorf("no rounded corner between seat and back")
	}
	z := r.seat[0] + r.seat[1]*(heel-r.back)
	r.got[BackCurveSeat] = heel - k.foot(z, -r.seat[1]) - r.back
	top, _, open := c.toplines()
	if !open {
		return fmt.Errorf("no topline at the back")
	}
	r.got[BackCurveTop] = top[0] - r.back
	r.got[ToplineBack] = top[1] - r.seat[0]
	return nil
}

// frontSections reads the cross sections from the ankle to the toes.
func (r *reader) frontSections() error {
	c := r.at(ankleShare)
	a, b, open := c.toplines()
	if !open {
		return fmt.Errorf("no topline below the ankle")
	}
	_, floor := c.middle()
	r.got[ToplineLateral], r.got[ToplineMedial] = a[1]-floor, b[1]-floor

	c = r.at(waistShare)
	lo, hi := extent(c.u)
	r.got[WaistWidth] = hi - lo

	depth := func(c contour) float64 {
		_, floor := c.middle()
		_, top := extent(c.v)
		return top - floor
	}
	c = r.at(instepShare)
	r.got[InstepGirth], r.got[DepthInstep] = c.girth(), depth(c)

	c = r.at(treadShare)
	lo, hi = extent(c.u)
	r.got[BallWidth], r.got[BallGirth], r.got[DepthBall] = hi-lo, c.girth(), depth(c)
	mid, _ := c.middle()
	for _, side := range []float64{1, -1} {
		k, ok := readCorner(c.run(mid, side))
		if !ok {
			return fmt.Errorf("no rounded corner at the ball")
		}
		r.got[FeatherForefoot] += k.radius / 2
	}
	r.got[DepthToe] = depth(crossSection(r.m, r.back+r.last-toeDepthBackMM))
	return nil
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
