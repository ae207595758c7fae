package device

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// The flat and the open build have no block: the underside of the shell is ground to the plane Z = 0, from the heel
// forward until the underside rises off that plane, at the latest to this share of foot length.
const groundShare = 0.34

// A groundStop is the front end of the ground flat; cut says that the underside still lies below the plane there.
type groundStop struct {
	x   float64
	cut bool
}

func (l *layout) groundStops() groundStop {
	low := func(x float64) float64 {
		r := l.sh.along(place{u: x, side: 1})
		return r.under(0).Z
	}
	// In front of the heel of a high shoe the shell falls below the plane of the seat: grinding stops before it would
	// thin the shell more than under the heel.
	most := groundShare * l.o.FootLengthMM
	last := l.sh.level
	for last+1 < most && l.sh.deepest(last+1) > 0.8*l.sh.leastGround() {
		last++
	}
	if low(last) <= 0 {
		return groundStop{last, true}
	}
	return groundStop{root(l.sh.c, last, low), false}
}

// leastGround is the thickness that grinding leaves on the bisection, where it does not go through.
func (sh *shell) leastGround() float64 { return math.Min(sh.rest(), sh.deepest(sh.level)) }

// groundStations are the places of half profiles on the flat, crowded towards its pointed front end and that of the
// hole of an open build.
func (l *layout) groundStations(stop float64) []float64 {
	ends := []float64{stop}
	if l.o.WedgeBuild == Open {
		if hole := root(l.sh.c, stop, l.sh.deepest); hole < stop-0.5 {
			ends = []float64{hole, stop}
		}
	}
	xs := []float64{l.sh.c}
	for _, end := range ends {
		from := xs[len(xs)-1]
		n := max(4, int(math.Ceil((end-from)/alongMM)))
		for i := 1; i <= n; i++ {
			t := 1 - float64(i)/float64(n)
			xs = append(xs, end+(from-end)*t*t)
		}
		xs[len(xs)-1] = end
	}
	return xs
}

// groundFrom is where the underside of a half profile meets the base plane: 0 when it nowhere lies below.
func (l *layout) groundFrom(at place) float64 {
	r := l.sh.along(at)
	z := func(s float64) float64 { return r.under(s).Z }
	if z(0) >= -1e-9 {
		return 0
	}
	return root(0, 1, z)
}

// holeTo is where the foot side of a half profile meets the base plane: 0 when it nowhere lies below.
func (l *layout) holeTo(at place) float64 {
	if l.o.WedgeBuild != Open {
		return 0
	}
	r := l.sh.along(at)
	z := func(s float64) float64 { p, _, _ := r.foot(s); return p.Z }
	if z(0) >= -1e-9 {
		return 0
	}
	return root(0, 1, z)
}

func (l *layout) groundColumn(at place, kind columnKind) column {
	c := column{at: at, kind: kind}
	r := l.sh.along(at)
	hole, s := l.holeTo(at), l.groundFrom(at)
	l.upper(&c, &r, hole)
	p := r.under(s)
	if s > 0 {
		p.Z = 0
	}
	l.lower(&c, spot{at, s, p})
	if kind == groundEnd {
		c.inner = make([]r3.Vec, innerSteps+1)
		for k := range c.inner {
			c.inner[k] = r.under(s * float64(innerSteps-k) / innerSteps)
		}
		c.inner[0] = p
		return c
	}
	middle := r3.Vec{X: at.u}
	switch {
	case hole > 0:
		c.foot[0].Z = 0
		middle = c.foot[0]
	case at.fan:
		middle.X = l.sh.c
	case s == 0:
		middle = p
	}
	c.inner = line(p, middle, innerSteps)
	return c
}

// root of f between a (f < 0) and b (f > 0), by halving with the secant's help, to the last digits.
func root(a, b float64, f func(float64) float64) float64 {
	fa, fb := f(a), f(b)
	if fa >= 0 {
		return a
	}
	if fb <= 0 {
		return b
	}
	for range 60 {
		m := (a*fb - b*fa) / (fb - fa)
		if !(m > a && m < b) {
			m = (a + b) / 2
		}
		fm := f(m)
		if math.Abs(fm) < 1e-12 || b-a < 1e-13 {
			return m
		}
		// Illinois: halve the value at the end that stays.
		if fm < 0 {
			a, fa = m, fm
			fb /= 2
		} else {
			b, fb = m, fm
			fa /= 2
		}
	}
	return (a + b) / 2
}
