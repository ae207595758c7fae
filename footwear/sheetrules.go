package footwear

import (
	"math"

	"lastroom/internal/problem"
)

// A sheetRule is a rule between measures: the value of one lies between two bounds that follow from others. Bounds
// are geometry where the comment says so, and else wide enough for every shoe (common practice, no source).
type sheetRule struct {
	about  MeasureID
	lo, hi func(s *Sheet) float64 // nil: no bound on this side
	why    string
	mend   string
}

func (c *sheetRule) check(s *Sheet) (problem.Problem, bool) {
	v, info := s.V(c.about), &Infos[c.about]
	p := problem.Problem{Field: info.Key, Value: quantity(v, info.Unit), Mend: c.mend}
	if c.lo != nil {
		if lo := c.lo(s); v < lo-1e-9 {
			p.Limit = "at least " + quantity(lo, info.Unit) + ", as " + c.why
			return p, true
		}
	}
	if c.hi != nil {
		if hi := c.hi(s); v > hi+1e-9 {
			p.Limit = "at most " + quantity(hi, info.Unit) + ", as " + c.why
			return p, true
		}
	}
	return problem.Problem{}, false
}

func share(f float64, of MeasureID) func(*Sheet) float64 {
	return func(s *Sheet) float64 { return f * s.V(of) }
}

func plus(of MeasureID, mm float64) func(*Sheet) float64 {
	return func(s *Sheet) float64 { return s.V(of) + mm }
}

// featherInsetMM is how far the feather line's fillet of radius r stands inside the wall, a side, at height h above the
// board: r − √(r² − (r−h)²) below r, 0 above.
func featherInsetMM(r, h float64) float64 {
	if h >= r {
		return 0
	}
	return r - math.Sqrt(r*r-(r-h)*(r-h))
}

var sheetRules = []sheetRule{
	{about: SeatLength, lo: share(0.15, LastLength), hi: share(0.45, LastLength), why: "the seat is 15 to 45 % of the last's length", mend: "measure seat length from the back to the breast"},
	{about: BallWidth, lo: share(0.22, LastLength), hi: share(0.50, LastLength), why: "the ball is 22 to 50 % of the last's length wide", mend: "check ball width and last length"},
	{about: WaistWidth, lo: share(0.40, BallWidth), hi: plus(BallWidth, -1), why: "the waist is narrower than the ball, and more than 40 % of it", mend: "measure the waist at the narrowest place between seat and ball"},
	{about: SeatWidth, lo: share(0.50, BallWidth), hi: share(0.95, BallWidth), why: "the seat is 50 to 95 % of ball width", mend: "check seat width and ball width"},
	{
		about: CounterWidth10, why: "the wall at 10 mm stands over the seat's edge, less the feather line's inset",
		lo:   func(s *Sheet) float64 { return s.V(SeatWidth) - 2*featherInsetMM(s.V(FeatherHeel), 10) - 5 },
		hi:   func(s *Sheet) float64 { return s.V(SeatWidth) - 2*featherInsetMM(s.V(FeatherHeel), 10) + 6 },
		mend: "check seat width, feather-line radius and counter width at 10 mm",
	},
	{about: CounterWidth20, lo: plus(CounterWidth10, -6), hi: plus(CounterWidth10, 8), why: "a counter changes by less than that between 10 and 20 mm", mend: "check the counter widths"},
	{about: CounterWidth40, lo: plus(CounterWidth20, -16), hi: plus(CounterWidth20, 6), why: "a counter narrows upwards, or hardly widens", mend: "check the counter widths"},
	{about: CounterWidthTop, lo: share(0.55, CounterWidth20), hi: plus(CounterWidth20, 15), why: "a topline holds the heel", mend: "check the counter widths"},
	{about: FeatherHeel, hi: share(0.45, SeatWidth), why: "two feather lines and a seat share the width", mend: "check the radius with gauges"},
	{about: FeatherForefoot, hi: func(s *Sheet) float64 { return min(0.25*s.V(BallWidth), 0.7*s.V(DepthToe)) }, why: "the radius fits into ball and toe box", mend: "check the radius with gauges"},
	{about: CounterHeight, hi: share(1, ToplineBack), why: "the counter ends at the topline", mend: "check counter and topline height"},
	{about: BackCurveSeat, hi: share(0.30, SeatLength), why: "the back wall is a small part of the seat", mend: "check the back curve"},
	{about: BackCurveTop, hi: share(0.35, ToplineBack), why: "the back leans forward by less than a third of its height", mend: "check the back curve"},
	// The seat's own fall is no more than the whole fall to the tread line, with 1 mm for measuring.
	{
		about: SeatAngle, why: "the seat can't fall further than the heel rise",
		hi:   func(s *Sheet) float64 { return math.Atan2(s.V(HeelRise)+1, s.V(SeatLength)) * 180 / math.Pi },
		mend: "check seat angle, seat length and heel rise",
	},
	// From the breast to a tread line at 0.70 of the last no bottom is steeper than 45°.
	{
		about: HeelRise, why: "the shank would be steeper than 45°",
		hi: func(s *Sheet) float64 {
			return s.V(SeatLength)*math.Tan(s.V(SeatAngle)*math.Pi/180) + max(0, 0.70*s.V(LastLength)-s.V(SeatLength))
		},
		mend: "check heel rise, seat length and last length",
	},
	{about: ShankSagitta, hi: func(s *Sheet) float64 { return 0.25 * max(0, 0.70*s.V(LastLength)-s.V(SeatLength)) }, why: "the sagitta is at most a quarter of breast to tread", mend: "check the shank"},
	{about: ToeSpring, hi: share(0.20, LastLength), why: "the toe rises by at most a fifth of the last's length", mend: "measure toe spring with the shoe unloaded"},
	// A tape is longer than round the diamond and shorter than round the box of width and depth.
	{about: BallGirth, lo: func(s *Sheet) float64 { return 2 * math.Hypot(s.V(BallWidth), s.V(DepthBall)) }, hi: func(s *Sheet) float64 { return 2 * (s.V(BallWidth) + s.V(DepthBall)) }, why: "a tape lies between the diamond and the box of ball width and depth", mend: "check ball girth, width and depth"},
	{about: InstepGirth, lo: func(s *Sheet) float64 { return 2 * math.Hypot(s.V(WaistWidth), s.V(DepthInstep)) }, hi: func(s *Sheet) float64 { return 2 * (s.V(BallWidth) + s.V(DepthInstep)) }, why: "a tape lies between the diamond of waist and depth and the box of ball and depth", mend: "check instep girth, waist width and depth"},
	{about: DepthBall, lo: share(1, DepthToe), hi: share(1, DepthInstep), why: "depth falls from instep to toes", mend: "check the three depths"},
	{about: DepthToe, lo: func(s *Sheet) float64 { return s.V(InsoleForefoot) + 8 }, why: "the insole leaves room for toes", mend: "check toe depth, over the board, and the insole"},
	{about: ToplineBack, lo: func(s *Sheet) float64 { return max(s.V(InsoleHeel)+25, 42) }, why: "the counter is measured at 40 mm, and the insole leaves a wall", mend: "check topline and insole"},
	{about: ToplineMedial, lo: plus(InsoleHeel, 15), why: "the insole leaves a wall", mend: "check topline and insole"},
	{about: ToplineLateral, lo: plus(InsoleHeel, 15), why: "the insole leaves a wall", mend: "check topline and insole"},
	// Hollow of the seat against its width: a circle of more than half the seat's width.
	{about: SeatCupping, hi: func(s *Sheet) float64 { return 0.15 * s.V(SeatWidth) }, why: "a seat is no bowl", mend: "measure cupping under a straight edge"},
}
