package device

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// How finely half profiles are cut: steps of the foot side, of the underside from rim to wedge, of the wedge's sides,
// and from there to the bisection.
const (
	downSteps  = 8
	sideSteps  = 3
	innerSteps = 8
	footSteps  = downSteps + innerSteps
	fanSteps   = 48 // half profiles round the heel
	alongMM    = 4.0
)

type columnKind uint8

const (
	bare      columnKind = iota // underside only
	onWedge                     // a side and the base
	atEnd                       // where an end plane of the wedge leaves the underside
	ground                      // underside ground to the base plane
	groundEnd                   // where grinding stops
)

// A column is one half profile as the points of the solid, from the bisection along the foot side to the rim, down
// the underside, down the wedge's side and along the base (or the underside) back to the bisection.
type column struct {
	at    place
	kind  columnKind
	foot  []r3.Vec
	rim   [2]r3.Vec
	down  []r3.Vec // rim to where wedge or ground begins
	side  []r3.Vec // from there to the base; nil without wedge
	inner []r3.Vec // on to the bisection
	normX float64  // inward normal of the wedge's outline along X, 0 to 1: the back's share
}

// columns lays all half profiles in order: lateral from the front edge back, round the heel, medial to the front edge.
func (l *layout) columns() []column {
	lateral, medial := l.straight(-1), l.straight(+1)
	cols := make([]column, 0, len(lateral)+len(medial)+fanSteps)
	for i := len(lateral) - 1; i >= 0; i-- {
		cols = append(cols, lateral[i])
	}
	for i := 1; i < fanSteps; i++ {
		cols = append(cols, l.fan(i))
	}
	return append(cols, medial...)
}

// fan is half profile i of the heel; 0 is lateral, fanSteps medial.
func (l *layout) fan(i int) column {
	at := l.fanPlace(i)
	switch {
	case l.o.grounded():
		return l.groundColumn(at, ground)
	case l.w.bar:
		t := smooth(float64(i) / fanSteps)
		return l.bareColumn(at, l.behind[0]*(1-t)+l.behind[1]*t)
	default:
		return l.wedgeColumn(at)
	}
}

func (l *layout) fanPlace(i int) place {
	return place{fan: true, u: -math.Pi/2 - math.Pi*float64(i)/fanSteps}
}

// straight lays the half profiles of one side from the fan's axis to the front edge.
func (l *layout) straight(side float64) []column {
	k := sideIndex(side)
	var cols []column
	add := func(c column) { cols = append(cols, c) }
	place := func(x float64) place { return place{u: x, side: side} }
	end := l.sh.front
	switch {
	case l.o.grounded():
		stop := l.groundStops()
		for _, x := range l.groundStations(stop.x) {
			add(l.groundColumn(place(x), ground))
		}
		s := 0.0
		if stop.cut {
			c := l.groundColumn(place(stop.x), groundEnd)
			add(c)
			s = l.groundFrom(place(stop.x))
		}
		l.bareColumns(&cols, side, stop.x, end, s)
	case l.w.bar:
		lo := math.Inf(1)
		for j := range 2 {
			for _, sp := range l.backEnd[j] {
				lo = math.Min(lo, math.Min(sp.p.X, sp.at.u))
			}
		}
		for _, x := range steps(l.sh.c, lo, alongMM)[:max(1, len(steps(l.sh.c, lo, alongMM))-1)] {
			add(l.bareColumn(place(x), l.behind[k]))
		}
		add(l.endColumn(&l.backEnd, k, l.w.heel))
		for _, x := range steps(l.w.heel, l.w.toe, alongMM) {
			add(l.wedgeColumn(place(x)))
		}
		add(l.endColumn(&l.frontEnd, k, l.w.toe))
		l.bareColumns(&cols, side, l.frontMost(), end, l.frontEnd[k][0].s)
	default:
		for _, x := range steps(l.sh.c, l.w.toe, alongMM) {
			add(l.wedgeColumn(place(x)))
		}
		add(l.endColumn(&l.frontEnd, k, l.w.toe))
		l.bareColumns(&cols, side, l.frontMost(), end, l.frontEnd[k][0].s)
	}
	return cols
}

// frontMost is the foremost X that the wedge's front end reaches on the underside.
func (l *layout) frontMost() float64 {
	x := l.w.toe
	for k := range 2 {
		for _, sp := range l.frontEnd[k] {
			x = math.Max(x, math.Max(sp.p.X, sp.at.u))
		}
	}
	return x
}

// bareColumns adds half profiles without wedge from just in front of x to the front edge. The place where the
// underside is divided goes over from s to the middle, so that the last one is divided evenly.
func (l *layout) bareColumns(cols *[]column, side, x, end, s float64) {
	for _, u := range steps(x, end, alongMM)[1:] {
		t := smooth((u - x) / min(40, end-x))
		*cols = append(*cols, l.bareColumn(place{u: u, side: side}, s+(float64(innerSteps)/footSteps-s)*t))
	}
}

// steps divides a to b evenly into pieces of at most about step; both ends are in it exactly.
func steps(a, b, step float64) []float64 {
	n := max(1, int(math.Ceil((b-a)/step)))
	xs := make([]float64, n+1)
	for i := range xs {
		xs[i] = a + (b-a)*float64(i)/float64(n)
	}
	xs[n] = b
	return xs
}

// upper fills in the foot side, from s0 to the rim, and the rounded rim.
func (l *layout) upper(c *column, r *runner, s0 float64) {
	c.foot = make([]r3.Vec, footSteps+1)
	for k := range c.foot {
		c.foot[k], _, _ = r.foot(s0 + (1-s0)*float64(k)/footSteps)
	}
	top, normal, tangent := r.foot(1)
	t := l.sh.cupT
	if !r.at.fan {
		t = r.mid.thicknessMM
	}
	out := r3.Scale(rimBulge*t, tangent)
	c.rim[0] = r3.Add(r3.Sub(top, r3.Scale(rimRound*t, normal)), out)
	c.rim[1] = r3.Add(r3.Sub(top, r3.Scale((1-rimRound)*t, normal)), out)
}

// lower fills in the underside from the rim to a spot.
func (l *layout) lower(c *column, to spot) {
	c.down = make([]r3.Vec, downSteps+1)
	for i := range downSteps {
		t := float64(i) / downSteps
		r := l.sh.along(place{c.at.fan, c.at.u + (to.at.u-c.at.u)*t, c.at.side})
		c.down[i] = r.under(1 + (to.s-1)*t)
	}
	c.down[downSteps] = to.p
}

func (l *layout) bareColumn(at place, s float64) column {
	c := column{at: at, kind: bare}
	r := l.sh.along(at)
	l.upper(&c, &r, 0)
	l.lower(&c, spot{at, s, r.under(s)})
	c.inner = make([]r3.Vec, innerSteps+1)
	for k := range c.inner {
		c.inner[k] = r.under(s * float64(innerSteps-k) / innerSteps)
	}
	return c
}

func (l *layout) wedgeColumn(at place) column {
	c := column{at: at, kind: onWedge}
	r := l.sh.along(at)
	l.upper(&c, &r, 0)
	top := l.tops[at]
	l.lower(&c, top.spot)
	c.side = l.sidePoints(top.p, top.base)
	c.normX = top.nx * top.nx
	middle := r3.Vec{X: at.u}
	if at.fan {
		middle.X = l.sh.c
	}
	c.inner = line(top.base, middle, innerSteps)
	return c
}

// endColumn is where an end plane leaves the underside; its side runs down the corner to the base's corner. Both halves
// keep the same X on the foot side, so that they meet on the bisection.
func (l *layout) endColumn(both *[2][]spot, k int, foot float64) column {
	spots := both[k]
	x := math.Max(both[0][0].p.X, both[1][0].p.X)
	if x < foot {
		x = math.Min(both[0][0].p.X, both[1][0].p.X)
	}
	at := place{u: x, side: spots[0].at.side}
	c := column{at: at, kind: atEnd}
	r := l.sh.along(at)
	l.upper(&c, &r, 0)
	l.lower(&c, spots[0])
	c.side = l.sidePoints(spots[0].p, l.tops[place{u: foot, side: at.side}].base)
	for _, sp := range spots {
		c.inner = append(c.inner, sp.p)
	}
	return c
}

// sidePoints runs from the top of a side to its base; the last step is the cap when there is one.
func (l *layout) sidePoints(top, base r3.Vec) []r3.Vec {
	p := make([]r3.Vec, sideSteps+1)
	for i := range p {
		p[i] = r3.Add(top, r3.Scale(l.sideShare(i, top.Z-base.Z), r3.Sub(base, top)))
	}
	p[0], p[sideSteps] = top, base
	return p
}

func (l *layout) sideShare(i int, height float64) float64 {
	if i == sideSteps {
		return 1
	}
	if l.o.CapMM == 0 || height <= 0 {
		return float64(i) / sideSteps
	}
	return (1 - l.o.CapMM/height) * float64(i) / (sideSteps - 1)
}

func line(a, b r3.Vec, n int) []r3.Vec {
	p := make([]r3.Vec, n+1)
	for i := range p {
		p[i] = r3.Add(a, r3.Scale(float64(i)/float64(n), r3.Sub(b, a)))
	}
	p[0], p[n] = a, b
	return p
}

func sideIndex(side float64) int {
	if side > 0 {
		return 0
	}
	return 1
}
