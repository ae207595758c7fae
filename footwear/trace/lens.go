package trace

import "math"

// A lens bends straight lines by the division model about the picture's middle: an ideal place lies at d/(1 + k·|d|²/R²)
// of the middle when the picture shows it at d; R is half the picture's diagonal (Fitzgibbon 2001, from memory).
type lens struct {
	mid Point
	r   float64
	k   float64
}

func lensOf(g *grey) lens {
	m := Point{float64(g.w) / 2, float64(g.h) / 2}
	return lens{mid: m, r: m.norm()}
}

// ideal is where a lens without distortion would show what the picture shows at p.
func (l lens) ideal(p Point) Point {
	d := p.minus(l.mid)
	return l.mid.plus(d.times(1 / (1 + l.k*d.dot(d)/(l.r*l.r))))
}

func (l lens) ideals(p []Point) []Point {
	out := make([]Point, len(p))
	for i, q := range p {
		out[i] = l.ideal(q)
	}
	return out
}

// shown is the inverse of ideal.
func (l lens) shown(p Point) Point {
	d := p.minus(l.mid)
	u := d.norm() / l.r
	root := 1 - 4*l.k*u*u
	if math.Abs(l.k)*u*u < 1e-9 || root < 0 {
		return p
	}
	return l.mid.plus(d.times((1 - math.Sqrt(root)) / (2 * l.k * u * u)))
}

// maxBend bounds the lens: a phone's or a camera's usual lens bends less.
const maxBend = 0.12

// straightened is the lens under which the sheet's four sides are straightest.
func straightened(l lens, s [4]side) lens {
	cost := func(k float64) float64 {
		t := l
		t.k = k
		sum := 0.0
		for _, one := range s {
			pts := t.ideals(one.points)
			f := fitLine(pts)
			for _, p := range pts {
				sum += f.off(p) * f.off(p)
			}
		}
		return sum
	}
	l.k = least(cost, -maxBend, maxBend)
	return l
}

// least is where a function with one valley is least, by golden sections.
func least(f func(float64) float64, lo, hi float64) float64 {
	const golden = 0.6180339887498949
	a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
	fa, fb := f(a), f(b)
	for hi-lo > 1e-7 {
		if fa <= fb {
			hi, b, fb = b, a, fa
			a = hi - golden*(hi-lo)
			fa = f(a)
		} else {
			lo, a, fa = a, b, fb
			b = lo + golden*(hi-lo)
			fb = f(b)
		}
	}
	return (lo + hi) / 2
}
