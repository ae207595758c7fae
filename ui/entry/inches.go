package entry

import (
	"math"
	"slices"
	"strings"

	"lastroom/internal/lengths"
)

// thousandth is the finest that inches are shown to: 0.025 mm.
const thousandth = 3

// inchSteps are the steps in inches, each for steps of so many mm and less.
var inchSteps = []struct{ mm, inch float64 }{{0.1, 0.005}, {0.5, 0.02}, {1, 0.05}, {math.Inf(1), 0.2}}

// In is the spec of a length in another unit, its limits to the thousandth; of anything else, and in mm, it is the spec itself.
func (s Spec) In(u lengths.Unit) Spec {
	if u != lengths.Inch || s.Unit != lengths.MM.String() {
		return s
	}
	for _, step := range inchSteps {
		if s.step() <= step.mm {
			s.Min, s.Max = roundTo(u.From(s.Min), thousandth), roundTo(u.From(s.Max), thousandth)
			s.Unit, s.Step = u.String(), step.inch
			break
		}
	}
	return s
}

// Shown is a number of the spec in another unit.
func (s Spec) Shown(u lengths.Unit, v float64) float64 {
	if s.In(u).Unit == s.Unit {
		return v
	}
	return roundTo(u.From(v), thousandth)
}

// Typed is a text as Parse takes it when it was typed by one who works in another unit: a bare number gets that unit.
func (s Spec) Typed(u lengths.Unit, text string) string {
	in := s.In(u)
	if _, bare := ParseNumber(text, ""); in.Unit == s.Unit || !bare {
		return text
	}
	return strings.TrimSpace(text) + " " + in.Unit
}

// fromInches is a length typed in inches, in mm, within the limits. One typed to the thousandth is what was shown so: it means
// the length on the spec's steps that is shown so too.
func (s Spec) fromInches(v float64, text string) float64 {
	mm := v * lengths.InchMM
	_, part, _ := strings.Cut(strings.ReplaceAll(text, ",", "."), ".")
	if c := s.Nearest(mm); strings.IndexFunc(part+" ", notDigit) == thousandth && s.Shown(lengths.Inch, c) == roundTo(v, thousandth) {
		return c
	}
	return roundTo(s.Clamp(mm), 6)
}

func notDigit(r rune) bool { return r < '0' || r > '9' }

// hasUnit says whether one of a unit's words stands behind the number.
func hasUnit(text, unit string) bool {
	t := strings.TrimSpace(text)
	return slices.ContainsFunc(unitWords(unit), func(w string) bool {
		rest, found := strings.CutSuffix(t, w)
		return found && strings.TrimSpace(rest) != ""
	})
}
