package footwear

import (
	"math"

	"gonum.org/v1/gonum/interp"
)

// A heelWall is one wall of the counter at the widest place of the heel: half widths (mm) by the height (mm) over the
// middle of the seat. From the board up past the feather line it is a straight line, so that "the walls taken straight
// down to the board" has one meaning; above, a smooth curve through the widths measured at 20 and 40 mm and at the
// topline, over which it turns upright. The width at 10 mm lies on the line or, with a large radius, on the feather line.
//
// Where seat width, width at 10 mm and radius do not go together with a wall that leans by no more than a counter does,
// the wall leaves the feather line early and passes through all the widths with a bend at 10 mm.
type heelWall struct {
	foot, lean float64 // of the line: half width at the board, and growth of it per mm of height
	leaves     float64 // height up to which the wall is the line
	upper      *interp.PiecewiseCubic
	end        float64 // height of the topline there
	endLean    float64
}

const (
	leastLean = -0.2 // of a counter at its foot, 11° inward
	mostLean  = 0.3  // 17° outward
	// A wall that leaves the feather line early does so where that has turned so far from level, or so high.
	earlyTurnDeg = 65.0
	earlyMM      = 8.7
)

// newHeelWall makes the wall; topline is the height of the topline at the widest place of the heel.
func newHeelWall(s *Sheet, topline float64) heelWall {
	w := heelWall{foot: s.V(SeatWidth) / 2, end: topline}
	radius, cup := s.V(FeatherHeel), cupRadius(s.V(SeatCupping))
	at10 := s.V(CounterWidth10) / 2
	arc := func(lean float64) fillet {
		return newFillet(func(r float64) float64 { return hollow(r, cup) }, func(h float64) point2 { return point2{w.foot + lean*h, h} }, 0, radius)
	}
	w.lean = math.Min(math.Max((at10-w.foot)/10, leastLean), mostLean)
	f := arc(w.lean)
	out10 := w.tangent(10)
	if f.head > 10 {
		onArc := func(lean float64) float64 {
			f = arc(lean)
			up := 10 - f.centre.z
			out10 = f.centre.r + math.Sqrt(math.Max(radius*radius-up*up, 0))
			return out10 - at10
		}
		w.lean = root(leastLean, mostLean, onArc)
		onArc(w.lean)
	}
	var hs, ys []float64
	if math.Abs(out10-at10) < 1e-6 && f.head < 18 {
		w.leaves = math.Max(10, math.Min(f.head+2, math.Max(f.head+0.5, 16)))
		hs, ys = []float64{w.leaves}, []float64{w.tangent(w.leaves)}
	} else {
		down := (90 - earlyTurnDeg) * math.Pi / 180
		if f.centre.z-radius*math.Sin(down) > earlyMM {
			down = math.Asin(math.Min((f.centre.z-earlyMM)/radius, 1))
		}
		out := f.centre.r + radius*math.Cos(down)
		w.leaves, w.lean = f.centre.z-radius*math.Sin(down), math.Tan(down)
		w.foot = out - w.lean*w.leaves
		hs, ys = []float64{w.leaves, 10}, []float64{out, at10}
	}
	hs, ys = append(hs, 20), append(ys, s.V(CounterWidth20)/2)
	if topline > 41 {
		hs, ys = append(hs, 40), append(ys, s.V(CounterWidth40)/2)
	}
	hs, ys = append(hs, topline), append(ys, s.V(CounterWidthTop)/2)
	w.upper = newCurve(hs, ys, w.lean, free)
	w.endLean = w.upper.PredictDerivative(topline)
	return w
}

// tangent is the half width of the line at a height.
func (w *heelWall) tangent(h float64) float64 { return w.foot + w.lean*h }

// half is the half width at a height.
func (w *heelWall) half(h float64) float64 {
	if h <= w.leaves {
		return w.tangent(h)
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
	back := topline
	if s.boot() {
		back = math.Min(back, s.V(LastLength)/5+11.5)
	}
	b := backCurve{seat: s.V(BackCurveSeat), top: s.V(BackCurveTop), rearmost: 0.4 * back, end: topline}
	b.straight = math.Min(math.Max(8, 0.9*s.V(FeatherHeel)+1), 0.8*b.rearmost)
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
