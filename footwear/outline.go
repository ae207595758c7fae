package footwear

import (
	"math"

	"gonum.org/v1/gonum/interp"
)

// A ray is the plan of a half profile: it starts on the spine and runs outward. Behind the widest place of the heel
// rays fan out about that place, before the tread line about the middle of the tread line; between the two they stand
// square to the spine.
type ray struct {
	x0     float64 // X of its start
	dx, dy float64 // unit direction; dy > 0 is medial
	fan    fan
}

type fan uint8

const (
	noFan fan = iota
	heelFan
	toeFan
)

func sideRay(x float64, side float64) ray { return ray{x0: x, dy: side} }

// heelRay turns from medial (0) over the back (π/2) to lateral (π).
func (o *outline) heelRay(angle float64) ray {
	return ray{x0: o.heel, dx: -math.Sin(angle), dy: math.Cos(angle), fan: heelFan}
}

// toeRay turns from medial (0) over the toe tip (π/2) to lateral (π).
func (o *outline) toeRay(angle float64) ray {
	return ray{x0: o.tread, dx: math.Sin(angle), dy: math.Cos(angle), fan: toeFan}
}

// An outline is the plan of the room: where its stations lie, how its middle swings, how wide it is in front of the
// heel, and how heel and toe are rounded.
type outline struct {
	last                              float64
	heel, ankle, waist, instep, tread float64 // X of the stations
	spine                             *interp.PiecewiseCubic
	width                             *interp.PiecewiseCubic // half width at its widest height, from the waist to the tread line
	toeExponent                       float64
}

// heelExponent rounds the heel a little fuller than an ellipse. Common practice, no source.
const heelExponent = 2.15

// A toeShape is a pair of superellipse exponents: of the plan from the tread line to the toe tip, and of the roof over
// the toes from side to side. Common practice, no source.
type toeShape struct{ plan, roof float64 }

func toeShapeOf(s *Sheet) toeShape {
	switch s.ToeShape {
	case "oval":
		return toeShape{1.95, 2.2}
	case "square":
		return toeShape{2.9, 2.8}
	case "pointed":
		return toeShape{1.55, 2}
	}
	return toeShape{2.2, 2.3} // round
}

func newOutline(s *Sheet) *outline {
	l := s.V(LastLength)
	o := &outline{
		last: l, heel: heelShare * l, ankle: ankleShare * l, waist: waistShare * l, instep: instepShare * l, tread: treadShare * l,
		toeExponent: toeShapeOf(s).plan,
	}
	o.width = newCurve([]float64{o.waist, o.tread}, []float64{s.V(WaistWidth) / 2, s.V(BallWidth) / 2}, 0, 0)
	// Swing: how far the room's middle leaves the heel-seat centre line, as shares of the ball width: a little to the
	// lateral side at the waist, where the medial line is hollow, and medially at the ball and toe. Common practice, no
	// source.
	waist, ball, toe := 0.0, 0.0, 0.0
	if s.Outline == Swung {
		b := s.V(BallWidth)
		waist, ball, toe = -0.015*b, 0.03*b, 0.075*b
	}
	o.spine = newCurve([]float64{o.heel, o.waist, o.tread, l}, []float64{0, waist, ball, toe}, 0, free)
	return o
}

// superellipse is the distance from the middle of |x/a|^n + |y/b|^n = 1 in the direction (cx, cy).
func superellipse(a, b, n, cx, cy float64) float64 {
	return math.Pow(math.Pow(math.Abs(cx)/a, n)+math.Pow(math.Abs(cy)/b, n), -1/n)
}
