package fit

import (
	"fmt"
	"math"
	"strings"
)

// Caution is shown with every verdict, on screen and on paper.
const Caution = "A calculation from measures, not a trial: an aid to the judgement of a qualified practitioner. " +
	"Local codes and licensed practice come first. Check in the shoe on the wearer."

const (
	rideUpSnugMM    = 0.5 // from here the ride-up is worth saying
	rideUpBlockedMM = 1.5 // from here the device no longer lies where it was meant to (both from memory)
	rockMM          = 0.5 // a gap over this under a corner of the base means that it rocks (common practice, no source)
)

// Place is the zone with the part of it: "feather line, medial".
func (f *Finding) Place() string {
	zone := f.Zone.String()
	if f.Side != "" && !strings.Contains(zone, f.Side) {
		zone += ", " + f.Side
	}
	return zone
}

// Words is the finding in plain words: "wedge lateral side overlaps feather line, lateral by 1.6 mm".
func (f *Finding) Words() string {
	zone := f.Place()
	switch {
	case math.Abs(f.GapMM) < 0.05:
		return fmt.Sprintf("%s touches %s", f.Feature, zone)
	case f.GapMM < 0:
		return fmt.Sprintf("%s overlaps %s by %.1f mm", f.Feature, zone, -f.GapMM)
	default:
		return fmt.Sprintf("%s stands %.1f mm off %s", f.Feature, f.GapMM, zone)
	}
}

// decides says whether a finding counts for the verdict: where the device is meant to lie on the floor, only the settled
// pose tells whether it does.
func (f *Finding) decides() bool { return !f.Bearing || f.Pose == Settled }

// judge makes the verdict from findings, ride-up, rocking and the room left for the foot.
func (r *Result) judge() Verdict {
	v := Verdict{State: Clear, Worst: -1, Odds: 1, Limits: Caution}
	if r.Status != Converged {
		v.State, v.Odds = Unsure, 0
		v.Sentence = "No answer: the device did not come to rest in this shoe, so whether it fits is not known."
		if r.Status == NoSupport {
			v.Sentence = "No answer: nothing in this shoe carries the device where it was put."
		}
		return v
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		if !f.decides() {
			continue
		}
		if v.Worst < 0 || f.State.Rank() > r.Findings[v.Worst].State.Rank() {
			v.Worst = i
		}
		v.Odds = math.Min(v.Odds, f.Odds)
	}
	worst := "nothing is near it"
	if v.Worst >= 0 {
		v.State = r.Findings[v.Worst].State
		worst = r.Findings[v.Worst].Words()
		v.Odds = r.Findings[v.Worst].Odds
	}
	var also []string
	if r.RideUpMM > rideUpSnugMM {
		also = append(also, fmt.Sprintf("it rides up %.1f mm", r.RideUpMM))
		if r.RideUpMM > rideUpBlockedMM {
			v.State = worse(v.State, Blocked)
		} else {
			v.State = worse(v.State, Snug)
		}
	}
	if r.Base.RockGapMM > rockMM {
		also = append(also, fmt.Sprintf("it rocks: a corner of its base hangs %.1f mm above the seat", r.Base.RockGapMM))
		v.State = worse(v.State, Unsure)
	}
	for _, c := range r.FootRoom {
		if c.State.Rank() >= Unsure.Rank() {
			if c.LeftMM < c.NeedMM {
				also = append(also, fmt.Sprintf("%s: %.1f mm, wanted %.0f", c.Name, c.LeftMM, c.NeedMM))
			}
			v.State = worse(v.State, c.State)
			v.Odds = math.Min(v.Odds, c.Odds)
		}
	}
	switch v.State {
	case Clear:
		v.Sentence = fmt.Sprintf("It fits: the tightest place is clear (%s)", worst)
	case Snug:
		v.Sentence = fmt.Sprintf("It goes in snugly: %s", worst)
	case Unsure:
		v.Sentence = fmt.Sprintf("Too close to call: %s", worst)
	default:
		v.Sentence = fmt.Sprintf("It does not fit as it is: %s", worst)
	}
	if len(also) > 0 {
		v.Sentence += "; " + strings.Join(also, "; ")
	}
	v.Sentence += "."
	v.Limits = fmt.Sprintf("Odds that the deciding place is good, taken alone: %.0f %%. %s", 100*v.Odds, Caution)
	return v
}

func worse(a, b State) State {
	if b.Rank() > a.Rank() {
		return b
	}
	return a
}
