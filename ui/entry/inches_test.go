package entry_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"lastroom/internal/lengths"
	"lastroom/ui/entry"
)

var thick = entry.Spec{Key: "shell_thickness_mm", Name: "Thickness", Unit: "mm", Min: 1, Max: 6, Step: 0.1}

func TestInchesAreRead(t *testing.T) {
	for text, want := range map[string]float64{
		"0.157 in": 4, "1/8\"": 3.175, "0.125in": 3.175, "0,2 inch": 5.08, "0.236 in": 6, "0.040 in": 1.016, "3 mm": 3, "3": 3, "0.1 inches": 2.54, "1/8″": 3.175,
	} {
		got, p := thick.Parse(text)
		assert.Nil(t, p, text)
		assert.InDelta(t, want, got, 1e-9, text)
	}
	for _, text := range []string{"0.24 in", "1 in", "0.03 in", "in", "x in", "1..2 in"} {
		_, p := thick.Parse(text)
		if assert.NotNil(t, p, text) && text != "in" && text != "x in" && text != "1..2 in" {
			assert.Contains(t, p.Limit, "0.039 to 0.236 in")
		}
	}
	_, p := entry.Spec{Name: "Lateral", Unit: "°", Max: 40}.Parse("3 in")
	assert.NotNil(t, p, "an angle is no length")
}

// What is shown in inches and typed again is the length that was shown, for every length on the steps, and the limits.
func TestInchesComeBack(t *testing.T) {
	for _, s := range []entry.Spec{thick, {Name: "a", Unit: "mm", Min: 90, Max: 340, Step: 1}, {Name: "b", Unit: "mm", Min: 0, Max: 20, Step: 0.5}, {Name: "c", Unit: "mm", Min: -5, Max: 47.3, Step: 5}} {
		in := s.In(lengths.Inch)
		assert.Equal(t, "in", in.Unit)
		for v := s.Min; v <= s.Max+1e-9; v += s.Step {
			v = s.Nearest(v)
			back, p := s.Parse(in.Format(s.Shown(lengths.Inch, v)) + " in")
			assert.Nil(t, p, "%v of %s", v, s.Name)
			assert.LessOrEqual(t, math.Abs(back-v), 0.0127+1e-9, "%v", v)
		}
		for end, want := range map[float64]float64{in.Min: s.Min, in.Max: s.Max} {
			v, p := s.Parse(in.Format(end) + " in")
			assert.Nil(t, p, "the limits that are told are allowed")
			assert.InDelta(t, want, v, 0.0127)
			assert.Equal(t, v, s.Clamp(v), "and within those in mm")
		}
	}
	got, _ := thick.Parse(thick.In(lengths.Inch).Format(thick.Shown(lengths.Inch, 3.2)) + " in")
	assert.Equal(t, 3.2, got)
}

// Stepping in inches never stands still within the limits.
func TestInchesAreStepped(t *testing.T) {
	for _, s := range []entry.Spec{thick, {Name: "b", Unit: "mm", Min: 0, Max: 20, Step: 0.5}, {Name: "a", Unit: "mm", Min: 90, Max: 340, Step: 1}} {
		in := s.In(lengths.Inch)
		v := s.Min
		for s.Shown(lengths.Inch, v) < in.Max-in.Step {
			next, p := s.Parse(in.Format(in.Stepped(s.Shown(lengths.Inch, v), 1)) + " in")
			assert.Nil(t, p)
			if !assert.Greater(t, next, v) {
				return
			}
			v = next
		}
	}
}

func TestBareNumbersGetTheUnit(t *testing.T) {
	assert.Equal(t, "0.2 in", thick.Typed(lengths.Inch, " 0.2 "))
	assert.Equal(t, "1/8 in", thick.Typed(lengths.Inch, "1/8"))
	assert.Equal(t, "3 mm", thick.Typed(lengths.Inch, "3 mm"))
	assert.Equal(t, "3", thick.Typed(lengths.MM, "3"))
	assert.Equal(t, "x", thick.Typed(lengths.Inch, "x"))
	assert.Equal(t, "10", entry.Spec{Unit: "°", Max: 40}.Typed(lengths.Inch, "10"))
}
