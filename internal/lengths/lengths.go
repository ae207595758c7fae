// Package lengths tells the program's lengths in the unit that a person works in. Everything is worked out, kept and written to
// files in millimetres; sentences say "1.6 mm". Tell turns the lengths of such a sentence into inches where it is shown or
// printed, so that no part of the program but the last needs to know of the unit. An inch is 25.4 mm exactly (International
// Yard and Pound Agreement, 1959).
package lengths

import (
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A Unit is what lengths are told and entered in. The zero value is MM.
type Unit int

// The units.
const (
	MM Unit = iota
	Inch
)

// InchMM is an inch in mm.
const InchMM = 25.4

// Of is the unit of that name, "mm" or "in".
func Of(name string) (u Unit, ok bool) {
	switch name {
	case "mm", "":
		return MM, true
	case "in":
		return Inch, true
	}
	return MM, false
}

// String is the unit's sign, "mm" or "in".
func (u Unit) String() string {
	if u == Inch {
		return "in"
	}
	return "mm"
}

// From is so many mm in the unit.
func (u Unit) From(mm float64) float64 {
	if u == Inch {
		return mm / InchMM
	}
	return mm
}

// CutUnit takes "mm" or "in" off the end of a length, and says how many mm its number counts by; without a unit that is 1.
func CutUnit(text string) (number string, mm float64) {
	for _, u := range []Unit{MM, Inch} {
		if rest, ok := strings.CutSuffix(text, u.String()); ok {
			return strings.TrimSpace(rest), 1 / u.From(1)
		}
	}
	return text, 1
}

// Instead is the unit that Tell puts in the place of one: "in²" of "mm²"; any but mm, mm² and mm³ stays.
func (u Unit) Instead(unit string) string {
	switch power, found := strings.CutPrefix(unit, "mm"); {
	case found && (power == "" || power == "²" || power == "³"):
		return u.String() + power
	}
	return unit
}

const number = `[-+\x{2212}]?\d+(?:\.\d+)?`

// A quantity is a number, or some that are joined, with mm, mm² or mm³ behind the last.
var (
	quantity = regexp.MustCompile(`(` + number + `(?:(?: to | and | or | by | against | ?± ?| ?× ?|–| \(automatic\) or )` + number + `)*) ?mm([²³]?)`)
	plusPart = regexp.MustCompile(`^ ?± ?` + number)
	numbers  = regexp.MustCompile(number)
	quoted   = regexp.MustCompile(`"(?:[^"\\]|\\.)*"`)
)

// Tell is the sentence with its lengths, areas and volumes in the unit. They are told to the thousandth, which is
// 0.025 mm, or two digits further than in mm where those are more: "1.6 mm" is "0.063 in". What is per mm, and what holds no number,
// stays as it is; so does a number without a unit, so a sentence has to give one to each of its lengths. What stands between
// quotation marks are somebody's own words and stays too.
func (u Unit) Tell(text string) string {
	if u == MM || !strings.Contains(text, "mm") {
		return text
	}
	var b strings.Builder
	from := 0
	for _, at := range quoted.FindAllStringIndex(text, -1) {
		b.WriteString(tell(text[from:at[0]]))
		b.WriteString(text[at[0]:at[1]])
		from = at[1]
	}
	b.WriteString(tell(text[from:]))
	return b.String()
}

// tell tells a text without quotations in inches.
func tell(text string) string {
	var b strings.Builder
	for {
		at := quantity.FindStringSubmatchIndex(text)
		if at == nil {
			b.WriteString(text)
			return b.String()
		}
		before, _ := utf8.DecodeLastRuneInString(text[:at[0]])
		after, _ := utf8.DecodeRuneInString(text[at[1]:])
		if partOfWord(before) || before == '.' || partOfWord(after) || after == '/' || after == '·' {
			b.WriteString(text[:at[1]])
			text = text[at[1]:]
			continue
		}
		power := 1
		switch text[at[4]:at[5]] {
		case "²":
			power = 2
		case "³":
			power = 3
		}
		b.WriteString(text[:at[0]])
		b.WriteString(inches(text[at[2]:at[3]], power))
		b.WriteString(" in" + text[at[4]:at[5]])
		text = text[at[1]:]
		if plus := plusPart.FindString(text); plus != "" && endsThere(text[len(plus):]) {
			b.WriteString(inches(plus, power))
			text = text[len(plus):]
		}
	}
}

func partOfWord(r rune) bool {
	return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsDigit(r) || r == '_')
}

// endsThere says whether the ± before it has no unit of its own.
func endsThere(rest string) bool {
	r, _ := utf8.DecodeRuneInString(rest)
	return r != '°' && r != '.' && !partOfWord(r) && !strings.HasPrefix(rest, " mm") && !strings.HasPrefix(rest, " %")
}

// inches turns each number of a text.
func inches(text string, power int) string {
	return numbers.ReplaceAllStringFunc(text, func(n string) string {
		v, err := strconv.ParseFloat(strings.ReplaceAll(n, "\u2212", "-"), 64)
		if err != nil {
			return n
		}
		_, part, _ := strings.Cut(n, ".")
		digits := max(len(part)+2, 3)
		if power == 3 {
			digits = 4
		}
		for range power {
			v /= InchMM
		}
		s := strconv.FormatFloat(v, 'f', digits, 64)
		if strings.Trim(s, "-0.") == "" {
			s = strings.TrimPrefix(s, "-")
		} else if strings.HasPrefix(n, "+") {
			s = "+" + s
		}
		return s
	})
}
