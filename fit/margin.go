package fit

import (
	"fmt"
	"math"
)

// MarginMM is how far the tightest of what decides is from its limit, mm: gap over the give of a wall, ride-up below what is
// blocked, room for the foot over the least. Where the device is meant to bear, and for rocking, only what is past the limit
// counts. Below zero the device does not fit; −Inf when it did not come to rest.
func (r *Result) MarginMM() float64 {
	mm, _ := r.Tightest()
	return mm
}

// Tightest is MarginMM with what sets it, in words.
func (r *Result) Tightest() (marginMM float64, words string) {
	switch r.Status {
	case Converged:
	case OutOfPlace:
		return math.Inf(-1), "it does not stay where it belongs"
	default:
		return math.Inf(-1), "it does not come to rest"
	}
	marginMM, words = rideUpBlockedMM-r.RideUpMM, fmt.Sprintf("it rides up %.1f mm", r.RideUpMM)
	take := func(mm float64, say string) {
		if mm < marginMM {
			marginMM, words = mm, say
		}
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		if mm := f.marginMM(); f.decides() && mm < marginMM && (!f.Bearing || mm < 0 && f.State != Clear) {
			take(mm, f.Words())
		}
	}
	if over := rockMM - r.Base.RockGapMM; over < 0 {
		take(over, fmt.Sprintf("it rocks: a corner of its base hangs %.1f mm above the seat", r.Base.RockGapMM))
	}
	for i := range r.FootRoom {
		if c := &r.FootRoom[i]; c.decides {
			take(c.LeftMM-c.leastMM, c.Words())
		}
	}
	return marginMM, words
}

// marginMM is how far a finding is from what blocks.
func (f *Finding) marginMM() float64 { return f.GapMM + f.GiveMM }
