package footwear

import "math"

// fill brings the measures of s that were not taken to those that were; before, they are those of the like shoe. With r
// the ratio of this shoe to the like one:
//
//	ball width       r of the ball girth, else of the last's length
//	waist, seat      r of the ball width; the seat r of the nearest counter width that was taken
//	counter widths   r of the nearest width of the heel that was taken, else of the seat; at 10 mm less what the feather
//	                 line takes
//	seat length      r of the last's length
//	heel rise        from the seat angle that was taken, by the line of RatedSeatAngleDeg; the angle from the rise so too
//	depths           r of the nearest depth that was taken, else of the girth there
//	girths           as full as the like shoe's between the tape round the width and depth there
//	toplines         as much higher as the one that was taken; the stiff counter in proportion to the back
//	insole           forefoot and heel in the like shoe's proportion
//	others           as the like shoe's
func fill(s, like *Sheet) {
	put := func(id MeasureID, v float64) {
		if !s.Taken(id) {
			s.M[id].Value = v
		}
	}
	ratio := func(id MeasureID) float64 {
		if like.V(id) == 0 {
			return 1
		}
		return s.V(id) / like.V(id)
	}
	scaled := func(id MeasureID, r float64) { put(id, like.V(id)*r) }
	nearest := func(of ...MeasureID) (MeasureID, bool) {
		for _, id := range of {
			if s.Taken(id) {
				return id, true
			}
		}
		return NumMeasures, false
	}
	follow := func(id, otherwise MeasureID, of ...MeasureID) {
		if lead, ok := nearest(of...); ok {
			scaled(id, ratio(lead))
		} else {
			scaled(id, ratio(otherwise))
		}
	}

	follow(BallWidth, LastLength, BallGirth)
	follow(WaistWidth, BallWidth)
	follow(SeatWidth, BallWidth, CounterWidth10, CounterWidth20, CounterWidth40)
	follow(CounterWidth20, SeatWidth, CounterWidth10, CounterWidth40)
	follow(CounterWidth40, CounterWidth20, CounterWidthTop)
	follow(CounterWidthTop, CounterWidth40)
	lead, ok := nearest(SeatWidth, CounterWidth20)
	if !ok {
		lead = SeatWidth
	}
	inset := func(of *Sheet) float64 { return 2 * featherInsetMM(of.V(FeatherHeel), 10) }
	put(CounterWidth10, like.V(CounterWidth10)*ratio(lead)-inset(s)+inset(like))

	follow(SeatLength, LastLength)
	middle := func(of *Sheet) float64 { lo, hi := RatedSeatAngleDeg(of.V(HeelRise)); return (lo + hi) / 2 }
	if s.Taken(SeatAngle) {
		// 6 to 7 degrees each 25 mm of rise: the line's own slope between 25 and 50 mm.
		const mmPerDeg = 25 / 6.0
		put(HeelRise, math.Max(0, like.V(HeelRise)+mmPerDeg*(s.V(SeatAngle)-like.V(SeatAngle))))
	}
	put(SeatAngle, math.Max(0, like.V(SeatAngle)+middle(s)-middle(like)))

	// The tape round width and depth: between the diamond and the box the like shoe's share of the way.
	around := func(of *Sheet, w float64, depth MeasureID) float64 { return 2 * (w + of.V(depth)) }
	girthOf := func(girth, depth MeasureID, width func(*Sheet) float64) float64 {
		return like.V(girth) * around(s, width(s), depth) / around(like, width(like), depth)
	}
	depthOf := func(girth, depth MeasureID, width func(*Sheet) float64) float64 {
		return s.V(girth)/like.V(girth)*around(like, width(like), depth)/2 - width(s)
	}
	ball := func(of *Sheet) float64 { return of.V(BallWidth) }
	instep := func(of *Sheet) float64 { return (of.V(WaistWidth) + of.V(BallWidth)) / 2 }
	switch {
	case s.Taken(BallGirth):
		put(DepthBall, depthOf(BallGirth, DepthBall, ball))
	default:
		follow(DepthBall, BallWidth, DepthToe, DepthInstep)
	}
	put(BallGirth, girthOf(BallGirth, DepthBall, ball))
	switch {
	case s.Taken(InstepGirth):
		put(DepthInstep, depthOf(InstepGirth, DepthInstep, instep))
	default:
		follow(DepthInstep, BallGirth, DepthBall)
	}
	put(InstepGirth, girthOf(InstepGirth, DepthInstep, instep))
	follow(DepthToe, DepthBall)

	if lead, ok := nearest(ToplineBack, ToplineLateral, ToplineMedial); ok {
		for _, id := range []MeasureID{ToplineBack, ToplineLateral, ToplineMedial} {
			scaled(id, ratio(lead))
		}
	}
	follow(CounterHeight, ToplineBack)
	if like.V(InsoleHeel) > 0 {
		follow(InsoleForefoot, InsoleHeel)
	}
	if like.V(InsoleForefoot) > 0 && s.Taken(InsoleForefoot) {
		follow(InsoleHeel, InsoleForefoot)
	}
}
