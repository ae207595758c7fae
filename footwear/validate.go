package footwear

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"lastroom/internal/problem"
)

// The words a sheet may use.
var (
	Kinds = []string{
		"trainer", "running shoe", "court shoe", "ballet flat", "dress shoe", "studded boot", "indoor court shoe",
		"hiking boot", "safety boot", "clog", "school shoe", "toddler shoe", "extra-depth shoe", "rocker-soled shoe",
		"cycling shoe", "ankle boot", "other shoe",
	}
	Closures      = []string{"laces", "slip-on", "strap", "zip", "dial", "buckle"}
	Outlines      = []Outline{Straight, Swung}
	ToeShapes     = []string{"round", "oval", "square", "pointed"}
	SoleStiffness = []string{"soft", "medium", "stiff", "rigid"}
)

const (
	textMax = 2000 // letters in a name, note or reason
	nameMax = 80
)

var idPattern = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

// Validate checks words, limits and contradictions between measures, and lists every broken rule. What only shows once
// the cavity is drawn, NewRoom refuses. Measures outside the usual band are no problem; BandNotes lists those.
func (s *Sheet) Validate() problem.Problems {
	ps := s.wordProblems()
	if p := (problem.Problem{}); errors.As(s.Size.Check(SizeOptions{}), &p) {
		ps = append(ps, p)
	}
	if p := (problem.Problem{}); s.GradedFrom != (Size{}) && errors.As(s.GradedFrom.Check(SizeOptions{}), &p) {
		p.Field = "graded_from"
		ps = append(ps, p)
	}
	ranges := s.rangeProblems()
	ps = append(ps, ranges...)
	if len(ranges) > 0 {
		return ps // the rules between measures need sound numbers
	}
	for i := range sheetRules {
		if p, broken := sheetRules[i].check(s); broken {
			ps = append(ps, p)
		}
	}
	return ps
}

func (s *Sheet) wordProblems() problem.Problems {
	var ps problem.Problems
	if len(s.ID) > nameMax || !idPattern.MatchString(s.ID) {
		ps = append(ps, problem.Problem{
			Field: "id", Value: strconv.Quote(clipped(s.ID)),
			Limit: "small letters, digits and single hyphens, at most 80", Mend: `write an identifier such as "knit-trainer"`,
		})
	}
	if name := strings.TrimSpace(s.Name); name == "" || len(name) > nameMax {
		ps = append(ps, problem.Problem{Field: "name", Value: strconv.Quote(clipped(s.Name)), Limit: "1 to 80 letters", Mend: "name the shoe"})
	}
	words := func(field, value string, allowed []string) {
		if !slices.Contains(allowed, value) {
			ps = append(ps, problem.Problem{
				Field: field, Value: strconv.Quote(clipped(value)), Limit: "one of " + strings.Join(allowed, ", "), Mend: "choose one of these",
			})
		}
	}
	words("kind", s.Kind, Kinds)
	words("closure", s.Closure, Closures)
	words("outline", string(s.Outline), []string{string(Straight), string(Swung)})
	words("toe_shape", s.ToeShape, ToeShapes)
	words("sole_stiffness", s.SoleStiffness, SoleStiffness)
	if len(s.Note) > textMax {
		ps = append(ps, problem.Problem{Field: "note", Value: clipped(s.Note), Limit: "at most 2000 letters", Mend: "shorten the note"})
	}
	for _, key := range sortedKeys(s.Reasons) {
		if _, ok := MeasureByKey(key); !ok {
			ps = append(ps, problem.Problem{
				Field: "reasons", Value: strconv.Quote(clipped(key)), Limit: "no such measure", Mend: "use a measure's key",
			})
		} else if text := strings.TrimSpace(s.Reasons[key]); text == "" || len(text) > textMax {
			ps = append(ps, problem.Problem{Field: "reasons", Value: key, Limit: "1 to 2000 letters", Mend: "write the reason, or take the key out"})
		}
	}
	return ps
}

func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func (s *Sheet) rangeProblems() problem.Problems {
	var ps problem.Problems
	for id := range NumMeasures {
		info, m := &Infos[id], s.M[id]
		if p, out := s.outOfLimits(id); out {
			ps = append(ps, p)
		}
		if most := plusMinusMax(info); !(m.PlusMinus >= 0 && m.PlusMinus <= most) {
			ps = append(ps, problem.Problem{
				Field: info.Key + ".plus_minus", Value: quantity(m.PlusMinus, info.Unit),
				Limit: "0 to " + quantity(most, info.Unit), Mend: fmt.Sprintf("use %g, the usual ± of this measure", info.PlusMinus),
			})
		}
		if !slices.Contains(Instruments, m.Instrument) {
			ps = append(ps, problem.Problem{
				Field: info.Key + ".instrument", Value: strconv.Quote(clipped(string(m.Instrument))),
				Limit: "an instrument of the list", Mend: fmt.Sprintf("use %q, the usual one of this measure", info.Instrument),
			})
		}
	}
	return ps
}

// outOfLimits is the problem of a value that no shoe has.
func (s *Sheet) outOfLimits(id MeasureID) (problem.Problem, bool) {
	info, v := &Infos[id], s.V(id)
	if v >= info.Lo && v <= info.Hi { // NaN is not
		return problem.Problem{}, false
	}
	return problem.Problem{
		Field: info.Key, Value: quantity(v, info.Unit),
		Limit: fmt.Sprintf("%g to %s", info.Lo, quantity(info.Hi, info.Unit)), Mend: "measure it again: " + info.What,
	}, true
}

// plusMinusMax is the largest ± that is still a measure: ten times the usual one.
func plusMinusMax(info *Info) float64 { return 10 * info.PlusMinus }

// quantity prints a value with its unit.
func quantity(v float64, unit string) string {
	n := shortNumber(v)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		n = fmt.Sprint(v)
	}
	if unit == "deg" {
		return n + "°"
	}
	return n + " " + unit
}
