package desk

import (
	"fmt"
	"math"
	"strings"

	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/footwear/shelf"
	"lastroom/internal/problem"
)

// A Mark is the sign of a state beside its word and colour: each has another shape.
type Mark string

// The marks.
const (
	ClearMark   Mark = "clear"   // a ring
	SnugMark    Mark = "snug"    // two bars close together
	UnsureMark  Mark = "unsure"  // a question mark
	BlockedMark Mark = "blocked" // a cross
	WaitMark    Mark = "wait"    // three dots
)

func markOf(s fit.State) Mark { return Mark(s) }

// A Reading is one number with its name.
type Reading struct{ Name, Text string }

// Verdict is the band over the drawings.
type Verdict struct {
	Mark     Mark
	Word     string // the state in a word
	Sentence string
	Limits   string // what it does not know, and what it is for
	Odds     string // how sure it is, all measures drawn together; empty before the first draws
	Readings []Reading
	Notice   string // that what is shown is not the answer to what is entered, and why
	Stale    bool
}

// VerdictView is the band over the drawings.
func VerdictView(s *State) Verdict {
	v := Verdict{Mark: WaitMark, Word: "wait", Limits: fit.Caution, Stale: s.Stale()}
	if s.Shown != nil {
		r := s.Shown.Result
		v.Mark, v.Word = markOf(r.Verdict.State), string(r.Verdict.State)
		v.Sentence = r.Verdict.Sentence
		if r.Verdict.Limits != "" {
			v.Limits = r.Verdict.Limits
		}
		if s.Shown.Inputs.Learnt != nil {
			v.Limits = "The give of walls is as the outcomes of the casebook taught it. " + v.Limits
		}
		v.Odds = oddsLine(s.Depth.Odds, s.Depth.Done)
		v.Readings = []Reading{
			{"ride-up", sided(r.RideUpMM, 1, " mm", "", "lower")},
			{"tilt", sided(r.TiltFrontalDeg, 1, "°", "inverted", "everted")},
			{"pitch", sided(r.PitchDeg, 1, "°", "heel up", "heel down")},
			{"slip", sided(r.SlipForwardMM, 1, " mm", "forward", "back")},
		}
	}
	switch {
	case len(s.Refused) > 0:
		v.Notice = "Not taken over: " + s.firstProblem() + ". What is shown answers the last good entry."
	case s.Bad():
		v.Notice = "Still the last good answer; what is entered now has none: " + s.firstProblem()
	case s.Progress != "":
		v.Notice = s.Progress
	case s.Stale():
		v.Notice = "Working out the change …"
	}
	if s.Shown == nil {
		v.Sentence = "No answer yet."
		if s.Bad() {
			v.Notice = "What is entered has no answer: " + s.firstProblem()
		}
	}
	return v
}

// firstProblem is the first thing that stands against the inputs, in words.
func (s *State) firstProblem() string {
	for _, f := range Fields() {
		if p, ok := s.Refused[f.Key]; ok {
			return p.Error()
		}
	}
	if len(s.Rules) > 0 {
		return plainProblem(s.Rules[0])
	}
	return strings.Join(strings.Fields(s.Failure), " ")
}

// plainProblem is the problem's sentence with the field's name in place of its key.
func plainProblem(p problem.Problem) string {
	if f, ok := FieldByKey(fieldOf(p)); ok {
		p.Field = f.Name
	}
	return p.Error()
}

// fieldOf is the key of the field that a problem is about.
func fieldOf(p problem.Problem) string {
	if strings.HasPrefix(p.Field, "size") {
		return sizeKey
	}
	if _, ok := FieldByKey(p.Field); ok {
		return p.Field
	}
	return "foot." + p.Field
}

// zeroed rounds to d decimals and mends the sign of a zero.
func zeroed(v float64, d int) float64 {
	k := math.Pow(10, float64(d))
	return math.Round(v*k)/k + 0
}

// sided writes a signed number as a number and a word.
func sided(v float64, d int, unit, plus, minus string) string {
	v = zeroed(v, d)
	switch {
	case v > 0:
		return strings.TrimSpace(fmt.Sprintf("%.*f%s %s", d, v, unit, plus))
	case v < 0:
		return fmt.Sprintf("%.*f%s %s", d, -v, unit, minus)
	default:
		return fmt.Sprintf("%.*f%s", d, math.Abs(v), unit)
	}
}

// SceneOf is what the drawings show; nil before the first answer.
func SceneOf(s *State) *drawing.Scene {
	a := s.Shown
	if a == nil {
		return nil
	}
	sc := drawing.NewScene(a.Room, a.Device, a.Result, s.Pose).Using(a.Walls)
	sc.Cuts, sc.Selected = s.Cuts, -1
	for i, f := range a.Result.Findings {
		if f.Pose != s.Pose {
			continue
		}
		sc.Numbers = append(sc.Numbers, i+1)
		if i == s.Selected {
			sc.Selected = len(sc.Numbers) - 1
		}
	}
	return sc
}

// SceneStale says whether the drawings show another room than the one that is entered, or what is entered has no answer.
func SceneStale(s *State) bool {
	return s.Shown == nil || s.Shown.Inputs.Room() != s.Inputs.Room() || len(s.Rules) > 0 || s.Failure != ""
}

// A ShoeRow is a shoe in the list.
type ShoeRow struct {
	ID, Name, Kind string
	Chosen         bool
}

// ShoesView is the list of shoes that the search leaves.
func ShoesView(s *State) []ShoeRow {
	var out []ShoeRow
	for _, sheet := range s.Shoes.Search(s.Query) {
		kind := sheet.Kind
		if shelf.Own(sheet.ID) {
			kind += ", your own"
		}
		out = append(out, ShoeRow{sheet.ID, sheet.Name, kind, sheet.ID == s.ShoeID})
	}
	return out
}

// ShoeLine says which shoe it is: name, size, insole, and the sheet's own words.
func ShoeLine(s *State) string {
	shoe, err := s.Shoes.Find(s.ShoeID)
	if err != nil {
		return "no shoe"
	}
	insole := "insole out"
	if s.InsoleIn {
		insole = "insole in"
	}
	line := fmt.Sprintf("%s · %s · %s", shoe.Sheet.Name, s.Size, insole)
	if s.Scanned != nil {
		line += " · device: " + s.Scanned.Name + ", scanned"
	}
	return line
}

// PoseLine says which pose is shown.
func PoseLine(s *State) string {
	if s.Pose == fit.Intended {
		return "shown as intended: flat on the seat, back against the counter, sides ignored"
	}
	return "shown settled: where it comes to rest among the walls"
}

// OtherPoseLine is what the button to the other pose says.
func OtherPoseLine(s *State) string { return "Show " + string(other(s.Pose)) + " (F6)" }
