package footwear

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
)

// A heelWall is one wall of the counter at the widest place of the heel: half widths (mm) by the height (mm) over the
// middle of the seat. From the board up past the feather line it is a straight line, so that "the walls taken straight
// down to the board" has one meaning; above, a smooth curve through the widths measured at 10, 20 and 40 mm and at the
// topline, turning upright over that.
type heelWall struct {
	foot, lean float64 // half width at the board, and growth of it per mm of height
	straight   float64 // height up to which the line runs
	upper      *interp.PiecewiseCubic
	end        float64 // height of the topline there
	endLean    float64
}

// newHeelWall makes the wall on which a feather line of the given radius can be measured with the rest of the sheet;
// topline is the height of the topline at the widest place of the heel.
func newHeelWall(s *Sheet, topline float64) (heelWall, error) {
	w := heelWall{foot: s.V(SeatWidth) / 2}
	radius, cup := s.V(FeatherHeel), cupRadius(s.V(SeatCupping))
	floor := func(r float64) float64 { return hollow(r, cup) }
	arc := func(lean float64) fillet {
		return newFillet(floor, func(h float64) point2 { return point2{w.foot + lean*h, h} }, 0, radius)
	}
	at10 := s.V(CounterWidth10) / 2
	w.lean = (at10 - w.foot) / 10
	f := arc(w.lean)
	if f.head > 10 {
		// 10 mm lies on the feather line: lean the wall until the arc passes there.
		w.lean = bisect(-0.5, 0.7, func(lean float64) float64 {
			f = arc(lean)
			up := 10 - f.centre.z
			return f.centre.r + math.Sqrt(math.Max(radius*radius-up*up, 0)) - at10
		})
		f = arc(w.lean)
	}
	if math.Abs(w.lean) > math.Tan(25*math.Pi/180) {
		return w, contradiction(CounterWidth10, s, fmt.Sprintf("with a seat of %.4g mm and a feather line of %.4g mm the counter would lean %.0f° at its foot; at most 25°",
			s.V(SeatWidth), radius, math.Atan(w.lean)*180/math.Pi), "check the seat width, the width at 10 mm and the feather line's radius")
	}
	w.straight = math.Max(10, math.Min(f.head+2, math.Max(f.head, 16)))
	hs, ys := []float64{w.straight}, []float64{w.foot + w.lean*w.straight}
	add := func(h, width float64) {
		if h > hs[len(hs)-1]+1 {
			hs, ys = append(hs, h), append(ys, width/2)
		}
	}
	add(20, s.V(CounterWidth20))
	if topline > 41 {
		add(40, s.V(CounterWidth40))
	}
	add(topline, s.V(CounterWidthTop))
	w.upper = newCurve(hs, ys, w.lean, free)
	w.end = topline
	w.endLean = w.upper.PredictDerivative(topline)
	return w, nil
}

// half is the half width at a height.
func (w *heelWall) half(h float64) float64 {
	if h <= w.straight {
		return w.foot + w.lean*h
	}
	if h > w.end {
		const reach = 10.0 // mm in which the wall turns upright, to a third
		return w.upper.Predict(w.end) + w.endLean*reach*(1-math.Exp((w.end-h)/reach))
	}
	return w.upper.Predict(h)
}

// cupRadius is the radius of a seat hollowed by a sagitta over 60 mm: w²/8s + s/2; infinite for a flat seat.
func cupRadius(sagittaMM float64) float64 {
	if sagittaMM <= 0 {
		return math.Inf(1)
	}
	const across = 60.0
	return across*across/(8*sagittaMM) + sagittaMM/2
}

// hollow is the rise of a hollowed floor at a distance from its middle.
func hollow(r, radius float64) float64 {
	if math.IsInf(radius, 1) {
		return 0
	}
	return radius - math.Sqrt(math.Max(radius*radius-r*r, 0))
}

// A backCurve is how far the back wall stands in front of the rearmost point (mm), by height over the board (mm): a
// straight line up past the feather line, then a parabola to the rearmost point, then another to the topline.
type backCurve struct {
	seat, top               float64
	straight, rearmost, end float64 // heights
}

// newBackCurve: the rearmost point lies at two fifths of the back's height (read in a last maker's text). In a boot
// that is the height a shoe's back would have: the counter point at a fifth of the last's length + 3 mm, and 8.5 mm
// more (read, 7 to 10).
func newBackCurve(s *Sheet, topline float64) backCurve {
	back := math.Min(topline, s.V(LastLength)/5+11.5)
	b := backCurve{seat: s.V(BackCurveSeat), top: s.V(BackCurveTop), rearmost: 0.4 * back, end: topline}
	b.straight = math.Min(math.Max(10, s.V(FeatherHeel)+3), 0.8*b.rearmost)
	return b
}

// inFront is the distance in front of the rearmost point at a height.
func (b *backCurve) inFront(h float64) float64 {
	if h >= b.rearmost {
		t := math.Min((h-b.rearmost)/(b.end-b.rearmost), 1)
		return b.top * t * t
	}
	k := b.seat / (b.rearmost*b.rearmost - b.straight*b.straight)
	if h >= b.straight {
		return k * (b.rearmost - h) * (b.rearmost - h)
	}
	return b.seat - 2*k*(b.rearmost-b.straight)*h
}
