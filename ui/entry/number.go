// Package entry reads and writes numbers as people type them: with a point or a comma, with or without their unit, with
// a half written as a fraction. It knows no window. A Spec says what a number may be; a text that does not hold is
// answered with a problem that names the field, the value, the limit and the mend.
package entry

import (
	"math"
	"strconv"
	"strings"

	"lastroom/internal/lengths"
	"lastroom/internal/problem"
)

// A Spec is a number's name, unit, limits and step. The zero value allows 0 only; Step 0 means 1.
type Spec struct {
	Key      string // field key, for example "wedge_length_mm"
	Name     string // in words
	Unit     string // "mm", "°" or nothing
	Min, Max float64
	Step     float64
}

// maxLength is the longest text that is looked at: no number a person means is longer.
const maxLength = 40

// Parse reads text. The problem is nil when the number is finite and within the limits. A length in mm may be typed in inches,
// with the sign of inches behind it.
func (s Spec) Parse(text string) (float64, *problem.Problem) {
	if in := s.In(lengths.Inch); in.Unit != s.Unit && hasUnit(text, in.Unit) {
		v, p := in.Parse(text)
		if p != nil {
			return v * lengths.InchMM, p
		}
		return s.fromInches(v, text), nil
	}
	v, ok := ParseNumber(text, s.Unit)
	if !ok {
		shown := strings.TrimSpace(text)
		mend := "type a number such as " + withUnit(s.Format(s.Clamp((s.Min+s.Max)/2)), s.Unit)
		if shown == "" {
			return 0, &problem.Problem{Field: s.Name, Value: "nothing", Limit: s.Limits(), Mend: mend}
		}
		return 0, &problem.Problem{Field: s.Name, Value: strconv.Quote(clip(shown)), Limit: "not a number", Mend: mend}
	}
	if v < s.Min || v > s.Max {
		near := s.Min
		if v > s.Max {
			near = s.Max
		}
		return v, &problem.Problem{
			Field: s.Name, Value: withUnit(trimmed(v), s.Unit), Limit: s.Limits(),
			Mend: "the nearest allowed value is " + withUnit(s.Format(near), s.Unit),
		}
	}
	return v, nil
}

// Limits are the limits in words: "2 to 6 mm".
func (s Spec) Limits() string {
	return withUnit(trimmed(s.Min)+" to "+trimmed(s.Max), s.Unit)
}

// Format writes v with the decimals of the step, more only where v has them.
func (s Spec) Format(v float64) string {
	d := decimals(s.step())
	for d < 3 && math.Abs(v-roundTo(v, d)) > 1e-9 {
		d++
	}
	return plain(strconv.FormatFloat(v, 'f', d, 64))
}

// Stepped is v after n steps, on the step's grid and within the limits: up from 4.3 by steps of 0.5 comes to 4.5.
func (s Spec) Stepped(v float64, n int) float64 {
	step := s.step()
	at := v / step
	const onGrid = 1e-6 // a value this near a grid line, in steps, stands on it
	switch {
	case math.Abs(at-math.Round(at)) < onGrid:
		at = math.Round(at) + float64(n)
	case n > 0:
		at = math.Floor(at) + float64(n)
	case n < 0:
		at = math.Ceil(at) + float64(n)
	default:
		return s.Clamp(v)
	}
	return s.Clamp(roundTo(at*step, 6))
}

// Nearest is v brought to the nearest step and within the limits.
func (s Spec) Nearest(v float64) float64 {
	step := s.step()
	return s.Clamp(roundTo(math.Round(v/step)*step, 6))
}

// Clamp is v brought within the limits.
func (s Spec) Clamp(v float64) float64 { return math.Max(s.Min, math.Min(s.Max, v)) }

func (s Spec) step() float64 {
	if s.Step > 0 {
		return s.Step
	}
	return 1
}

// ParseNumber reads a finite number with an optional sign, a decimal point or comma, an optional fraction ("8 1/2",
// "8½") and an optional unit after it; ok says whether it is one.
func ParseNumber(text, unit string) (v float64, ok bool) {
	t := strings.TrimSpace(text)
	if len(t) > maxLength {
		return 0, false
	}
	for _, word := range unitWords(unit) {
		if rest, found := strings.CutSuffix(t, word); found {
			t = strings.TrimSpace(rest)
			break
		}
	}
	t = strings.ReplaceAll(t, "\u2212", "-")
	negative := strings.HasPrefix(t, "-")
	t = strings.TrimPrefix(strings.TrimPrefix(t, "-"), "+")
	whole, part, ok := splitFraction(t)
	if !ok {
		return 0, false
	}
	if whole != "" {
		v, ok = digits(whole)
		if !ok {
			return 0, false
		}
	}
	v += part
	if negative && v != 0 {
		v = -v
	}
	return v, true
}

// digits reads plain decimal digits with at most one point or comma, and nothing else.
func digits(t string) (float64, bool) {
	points := 0
	for _, r := range t {
		switch {
		case r == '.' || r == ',':
			points++
		case r < '0' || r > '9':
			return 0, false
		}
	}
	if points > 1 {
		return 0, false
	}
	v, err := strconv.ParseFloat(strings.ReplaceAll(t, ",", "."), 64)
	return v, err == nil && !math.IsInf(v, 0)
}

var vulgar = map[string]float64{"½": 0.5, "⅓": 1.0 / 3, "⅔": 2.0 / 3, "¼": 0.25, "¾": 0.75}

// splitFraction takes a fraction off the end of a number: what is left, the fraction's value, and whether the whole
// is well formed as far as the fraction goes.
func splitFraction(t string) (whole string, part float64, ok bool) {
	for sign, value := range vulgar {
		if rest, found := strings.CutSuffix(t, sign); found {
			rest = strings.TrimSpace(rest)
			return rest, value, !strings.ContainsAny(rest, ".,")
		}
	}
	num, den, found := strings.Cut(t, "/")
	if !found {
		return t, 0, t != ""
	}
	whole, num, spaced := strings.Cut(strings.TrimSpace(num), " ")
	if !spaced {
		whole, num = "", whole
	}
	n, err1 := strconv.Atoi(strings.TrimSpace(num))
	d, err2 := strconv.Atoi(strings.TrimSpace(den))
	if err1 != nil || err2 != nil || n < 0 || d < 1 || d > 64 || strings.ContainsAny(whole, ".,") {
		return "", 0, false
	}
	return whole, float64(n) / float64(d), true
}

// unitWords are the ways in which a unit is written after a number.
func unitWords(unit string) []string {
	switch unit {
	case "°", "deg":
		return []string{"°", "deg"}
	case "in":
		return []string{"inches", "inch", "in", "″", "\"", "''"}
	}
	return []string{unit}
}

func decimals(step float64) int {
	for d := range 3 {
		if math.Abs(step-roundTo(step, d)) < 1e-9 {
			return d
		}
	}
	return 3
}

func roundTo(v float64, d int) float64 {
	k := math.Pow(10, float64(d))
	return math.Round(v*k) / k
}

func trimmed(v float64) string { return plain(strconv.FormatFloat(roundTo(v, 3), 'f', -1, 64)) }

// plain mends the sign of a zero.
func plain(t string) string {
	if strings.Trim(t, "-0.") == "" {
		return strings.TrimPrefix(t, "-")
	}
	return t
}

func withUnit(t, unit string) string {
	switch unit {
	case "":
		return t
	case "°", "deg":
		return t + "°"
	default:
		return t + " " + unit
	}
}

func clip(t string) string {
	r := []rune(t)
	if len(r) > 24 {
		return string(r[:24]) + "…"
	}
	return t
}
