package fit

import (
	"fmt"
	"math"
	"sort"
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

// outOfPlace is the verdict on a device that leaves its place: what is in its way there tells why.
func (r *Result) outOfPlace(v Verdict) Verdict {
	v.State, v.Odds = Blocked, 0
	v.Sentence = "It does not fit as it is: let down into this shoe it does not stay where it belongs"
	for i := range r.Findings {
		if f := &r.Findings[i]; f.decides() && f.Pose == Intended && (v.Worst < 0 || f.Odds < r.Findings[v.Worst].Odds) {
			v.Worst = i
		}
	}
	if v.Worst >= 0 {
		v.Sentence += "; where it is meant to lie, " + r.Findings[v.Worst].Words()
	}
	v.Sentence += "."
	return v
}

// judge makes the verdict from findings, ride-up, rocking and the room left for the foot.
func (r *Result) judge() Verdict {
	v := Verdict{State: Clear, Worst: -1, Odds: 1, Limits: Caution}
	if r.Status == OutOfPlace {
		return r.outOfPlace(v)
	}
	if r.Status != Converged {
		v.State, v.Odds = Unsure, 0
		v.Sentence = "No answer: the device did not come to rest in this shoe, so whether it fits is not known."
		if r.Status == NoSupport {
			v.Sentence = "No answer: nothing in this shoe carries the device where it was put."
		}
		return v
	}
	say := []reason{{State: Clear, odds: 1, words: "nothing is near it"}}
	add := func(state State, odds float64, format string, args ...any) {
		say = append(say, reason{state, odds, fmt.Sprintf(format, args...)})
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		if !f.decides() {
			continue
		}
		if v.Worst < 0 || f.State.Rank() > r.Findings[v.Worst].State.Rank() {
			v.Worst = i
		}
	}
	if v.Worst >= 0 {
		f := &r.Findings[v.Worst]
		say[0] = reason{f.State, f.Odds, f.Words()}
	}
	switch {
	case r.RideUpMM > rideUpBlockedMM:
		add(Blocked, 0, "it rides up %.1f mm", r.RideUpMM)
	case r.RideUpMM > rideUpSnugMM:
		add(Snug, 1, "it rides up %.1f mm", r.RideUpMM)
	}
	if r.Base.RockGapMM > rockMM {
		add(Unsure, 0.5, "it rocks: a corner of its base hangs %.1f mm above the seat", r.Base.RockGapMM)
	}
	for _, c := range r.FootRoom {
		if c.State.Rank() >= Unsure.Rank() {
			add(c.State, c.Odds, "%s", c.Words())
		}
	}
	sort.SliceStable(say, func(i, j int) bool { // the worst leads, and of the equally bad the least likely to be good
		if a, b := say[i].State.Rank(), say[j].State.Rank(); a != b {
			return a > b
		}
		return say[i].odds < say[j].odds
	})
	v.State, v.Odds = say[0].State, say[0].odds
	lead := map[State]string{Clear: "It fits", Snug: "It goes in snugly", Unsure: "Too close to call", Blocked: "It does not fit as it is"}
	words := make([]string, 0, len(say))
	for _, s := range say {
		if s.State.Rank() > Clear.Rank() || len(words) == 0 {
			words = append(words, s.words)
		}
	}
	v.Sentence = fmt.Sprintf("%s: %s.", lead[v.State], strings.Join(words, "; "))
	v.Limits = fmt.Sprintf("Odds that what decides is good, taken alone: %.0f %%. %s", 100*v.Odds, Caution)
	return v
}

// A reason is one thing that speaks for a verdict.
type reason struct {
	State
	odds  float64
	words string
}

// Words is the question with its answer: "height at the ball joints: 2.1 mm too little".
func (c *RoomCheck) Words() string {
	if c.Key == heelLift && c.LeftMM < c.NeedMM {
		return fmt.Sprintf("the heel is lifted %.1f mm more than is usual", c.NeedMM-c.LeftMM)
	}
	if c.LeftMM < c.NeedMM {
		return fmt.Sprintf("%s: %.1f mm too little", c.Name, c.NeedMM-c.LeftMM)
	}
	return fmt.Sprintf("%s: %.1f mm to spare", c.Name, c.LeftMM-c.NeedMM)
}
