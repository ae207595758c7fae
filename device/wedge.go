package device

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// planExponent is the squareness of the wedge's plan at the back: |x/back|^n + |y/half|^n = 1. From memory, soft.
const planExponent = 2.5

// A wedge is the block or the fore bar. Its top outline, where its sides leave the shell's underside, is in plan a
// half superellipse about the fan's axis, followed by two lines y = ±half; it ends in planes that meet the base at
// X = toe (and X = heel of a bar). The base has two facets that meet on the bisection.
type wedge struct {
	o          Options
	c          float64
	half, back float64 // plan of the top: half width, and length behind the fan's axis
	toe        float64 // X of the base's front end
	bar        bool
	heel       float64 // X of the back end of a bar's base
	riseM      float64 // of the base per mm away from the bisection: medial facet
	riseL      float64
}

func newWedge(o Options, sh *shell) *wedge {
	w := &wedge{
		o: o, c: sh.c, half: o.WedgeWidthMM / 2, back: sh.c - o.WedgeStartMM, toe: o.WedgeLengthMM,
		riseM: math.Tan((o.MotionDeg - o.ContactAngleDeg) * math.Pi / 180),
		riseL: math.Tan(o.ContactAngleDeg * math.Pi / 180),
	}
	if o.WedgeBuild == ForeBar {
		w.bar, w.heel = true, o.WedgeLengthMM-o.WedgeBarMM
	}
	return w
}

// baseZ is the height of the base at y.
func (w *wedge) baseZ(y float64) float64 {
	if y >= 0 {
		return y * w.riseM
	}
	return -y * w.riseL
}

// planAt is the point of the top outline that belongs to a place, and the outline's normal there, inward.
func (w *wedge) planAt(at place) (x, y, nx, ny float64) {
	if !at.fan {
		return at.u, at.side * w.half, 0, -at.side
	}
	sin, cos := math.Sincos(at.u)
	a, b := math.Abs(cos)/w.back, math.Abs(sin)/w.half
	r := math.Pow(math.Pow(a, planExponent)+math.Pow(b, planExponent), -1/planExponent)
	gx := math.Copysign(math.Pow(a, planExponent-1)/w.back, cos)
	gy := math.Copysign(math.Pow(b, planExponent-1)/w.half, sin)
	n := math.Hypot(gx, gy)
	return w.c + r*cos, r * sin, -gx / n, -gy / n
}

// bevel is the tangent of the bevel where the outline's inward normal is (nx, ny): it goes over from the sides' to the
// back's round the corner.
func (w *wedge) bevel(nx, ny float64) float64 {
	side := w.o.BevelMedialDeg
	if ny > 0 {
		side = w.o.BevelLateralDeg
	}
	return math.Tan((side*ny*ny + w.o.BevelBackDeg*nx*nx) * math.Pi / 180)
}

// foot is the base point of the side that leaves the underside at top, inward normal (nx, ny).
func (w *wedge) foot(top r3.Vec, nx, ny float64) r3.Vec {
	tan := w.bevel(nx, ny)
	rise := w.riseM
	if top.Y < 0 {
		rise = -w.riseL
	}
	h := (top.Z - w.baseZ(top.Y)) / (1 + rise*ny*tan)
	e := r3.Vec{X: top.X + nx*h*tan, Y: top.Y + ny*h*tan}
	e.Z = w.baseZ(e.Y)
	return e
}

// A spot is a point of the shell's underside: the half profile, the place on it and the point.
type spot struct {
	at place
	s  float64
	p  r3.Vec
}

// seek finds the spot of the underside where miss is zero, by Newton's method from the half profile and share given;
// miss gives how far a point is off along X and Y. ok is false when the shell does not reach there.
func (sh *shell) seek(at place, s float64, miss func(p r3.Vec) (x, y float64)) (spot, bool) {
	const du, ds, enough = 1e-5, 1e-6, 1e-11
	u := at.u
	var p r3.Vec
	var x, y float64
	for range 20 {
		r := sh.along(place{at.fan, u, at.side})
		p = r.under(s)
		if x, y = miss(p); math.Abs(x) < enough && math.Abs(y) < enough {
			break
		}
		ru := sh.along(place{at.fan, u + du, at.side})
		xu, yu := miss(ru.under(s))
		xs, ys := miss(r.under(s + ds))
		ax, ay, bx, by := (xu-x)/du, (yu-y)/du, (xs-x)/ds, (ys-y)/ds
		det := ax*by - ay*bx
		if det == 0 {
			return spot{}, false
		}
		u -= (x*by - y*bx) / det
		s = math.Min(math.Max(s-(ax*y-ay*x)/det, 0), 1.2)
	}
	ok := math.Abs(x) < 1e-7 && math.Abs(y) < 1e-7 && s <= 1
	return spot{place{at.fan, u, at.side}, s, p}, ok
}

// underAt finds the spot of the underside at plan (x, y) near the half profile given.
func (sh *shell) underAt(at place, x, y float64) (spot, bool) {
	// First along the half profile, by distance from the bisection (or from the fan's axis).
	r := sh.along(at)
	far := func(p r3.Vec) float64 {
		if at.fan {
			return math.Hypot(p.X-sh.c, p.Y)
		}
		return at.side * p.Y
	}
	want := far(r3.Vec{X: x, Y: y})
	lo, hi := 0.0, 1.0
	for range 5 {
		mid := (lo + hi) / 2
		if far(r.under(mid)) < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	sp, ok := sh.seek(at, (lo+hi)/2, func(p r3.Vec) (float64, float64) { return p.X - x, p.Y - y })
	sp.p.X, sp.p.Y = x, y
	return sp, ok
}

// onBisection finds the spot of the underside on the deepest line at x.
func (sh *shell) onBisection(x, side float64) spot {
	u := x
	var p r3.Vec
	for range 30 {
		r := sh.along(place{u: u, side: side})
		p = r.under(0)
		if math.Abs(x-p.X) < 1e-12 {
			break
		}
		u += x - p.X
	}
	p.X = x
	return spot{place{u: u, side: side}, 0, p}
}

// endSpots is the curve in which an end plane of the wedge (meeting the base at X = foot, leaning out by the bevel:
// outward +1 at the front, −1 at the back of a bar) leaves the underside, on one half, from the side to the bisection.
func (w *wedge) endSpots(sh *shell, foot, tan, outward, side float64, n int) ([]spot, bool) {
	spots := make([]spot, n+1)
	mid := spot{}
	x := foot
	for range 40 {
		mid = sh.onBisection(x, side)
		next := foot + outward*tan*(mid.p.Z-w.baseZ(mid.p.Y))
		if math.Abs(next-x) < 1e-11 {
			break
		}
		x = next
	}
	spots[n] = mid
	last := spot{}
	for k := range n {
		y := side*w.half + (mid.p.Y-side*w.half)*float64(k)/float64(n)
		if k == 0 {
			var ok bool
			if last, ok = sh.underAt(place{u: foot, side: side}, foot, y); !ok {
				return nil, false
			}
		}
		sp, ok := sh.seek(last.at, last.s, func(p r3.Vec) (float64, float64) {
			return p.X - foot - outward*tan*(p.Z-w.baseZ(y)), p.Y - y
		})
		if !ok {
			return nil, false
		}
		sp.p.Y = y
		spots[k], last = sp, sp
	}
	return spots, true
}
