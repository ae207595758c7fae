package device

import (
	"math"
	"strconv"
	"strings"

	"lastroom/internal/lengths"
	"lastroom/internal/problem"
)

// A Key describes one option: how it is called in files and on the command line, its unit and limits, and what it is
// for. Exactly one of number and word is set.
type Key struct {
	Key, Name, Unit string
	Min, Max, Step  float64  // of a number; hard limits
	Automatic       bool     // 0 means that the device chooses, whatever Min is
	Choices         []string // of a word
	Group, Help     string

	number func(*Options) *float64
	word   func(*Options) *string
}

// Keys lists every option in the order in which a prescription is written. The slice is the caller's own.
func Keys() []Key { return append([]Key(nil), keys...) }

// FindKey is the option called key; ok is false when there is none.
func FindKey(key string) (k Key, ok bool) {
	for _, k := range keys {
		if k.Key == key {
			return k, true
		}
	}
	return Key{}, false
}

// IsNumber says whether the option is a number (else it is one of Choices).
func (k *Key) IsNumber() bool { return k.number != nil }

// Set gives the option called key the value written in text; a number may carry its unit, a length "in" for inches as well. The
// value must be within the option's own limits; how options go together is for Validate. On an error nothing is changed.
func (o *Options) Set(key, text string) error {
	k, ok := FindKey(key)
	if !ok {
		p := problem.Problem{Field: key, Limit: "no such option of a device", Mend: "take it out, or write an option such as cup_depth_mm"}
		if near := nearestKey(key); near != "" {
			p.Mend = "did you mean " + near + "?"
		}
		return p
	}
	text = strings.TrimSpace(text)
	if !k.IsNumber() {
		word := strings.ToLower(text)
		if p, bad := k.wrongWord(word); bad {
			return p
		}
		*k.word(o) = word
		return nil
	}
	times := 1.0
	if k.Unit == lengths.MM.String() {
		text, times = lengths.CutUnit(text)
	} else {
		text = strings.TrimSpace(strings.TrimSuffix(text, k.Unit))
		if k.Unit == "°" {
			text = strings.TrimSpace(strings.TrimSuffix(text, "deg"))
		}
	}
	v, err := strconv.ParseFloat(text, 64)
	v *= times
	if err != nil {
		return problem.Problem{Field: key, Value: strconv.Quote(text), Limit: "not a number", Mend: "give a number such as " + k.example()}
	}
	if p, bad := k.outside(v); bad {
		return p
	}
	*k.number(o) = v
	return nil
}

// Get is the value of the option called key as Set takes it; empty for an unknown key.
func (o Options) Get(key string) string {
	k, ok := FindKey(key)
	if !ok {
		return ""
	}
	if !k.IsNumber() {
		return *k.word(&o)
	}
	return strconv.FormatFloat(*k.number(&o), 'g', -1, 64)
}

// Number is the value of a numeric option; 0 for an unknown key or a word.
func (o Options) Number(key string) float64 {
	if k, ok := FindKey(key); ok && k.IsNumber() {
		return *k.number(&o)
	}
	return 0
}

// Limits says the limits in words: "2 to 12 mm", "0 (automatic) or 20 to 90 mm", "one of block, flat".
func (k *Key) Limits() string {
	if !k.IsNumber() {
		return "one of " + strings.Join(k.Choices, ", ")
	}
	f := func(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
	s := f(k.Min) + " to " + f(k.Max)
	if k.Unit != "" {
		s += " " + k.Unit
	}
	if k.Automatic {
		s = "0 (automatic) or " + s
	}
	return s
}

// bad is the problem of the option's present value, if it has one.
func (k *Key) bad(o *Options) (problem.Problem, bool) {
	if k.IsNumber() {
		return k.outside(*k.number(o))
	}
	return k.wrongWord(*k.word(o))
}

func (k *Key) example() string {
	return strings.TrimSpace(strconv.FormatFloat(k.Min, 'g', 6, 64) + " " + k.Unit)
}

func (k *Key) outside(v float64) (problem.Problem, bool) {
	if v >= k.Min && v <= k.Max || k.Automatic && v == 0 {
		return problem.Problem{}, false
	}
	p := problem.Problem{
		Field: k.Key, Value: strings.TrimSpace(strconv.FormatFloat(v, 'g', 6, 64) + " " + k.Unit), Limit: k.Limits(),
		Mend: "choose a value inside the limits",
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		p.Mend = "give a finite number"
	}
	return p, true
}

func (k *Key) wrongWord(word string) (problem.Problem, bool) {
	for _, c := range k.Choices {
		if word == c {
			return problem.Problem{}, false
		}
	}
	return problem.Problem{Field: k.Key, Value: strconv.Quote(word), Limit: k.Limits(), Mend: "choose one of them"}, true
}

// nearestKey is the option whose name differs least from text, if it is anywhere near.
func nearestKey(text string) string {
	var names []string
	for _, k := range keys {
		names = append(names, k.Key)
	}
	return nearest(text, names)
}

// nearest is the name that differs least from text, the first of equals; empty when none is anywhere near.
func nearest(text string, names []string) string {
	if len(text) > 64 {
		return ""
	}
	best, least := "", 2+len(text)/3
	for _, n := range names {
		if d := editDistance(text, n); d < least {
			best, least = n, d
		}
	}
	return best
}

// editDistance counts insertions, deletions and exchanges of bytes (Levenshtein).
func editDistance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, diagonal+1)
		}
	}
	return row[len(b)]
}
