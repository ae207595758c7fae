package explainpage

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"strconv"
	"strings"

	"lastroom/assets"
	"lastroom/internal/lengths"
)

// Codes are the languages, in the order in which they are offered.
var Codes = []string{"en", "de", "fr", "es"}

// Texts are the words of one language.
type Texts struct {
	Code    string
	Lengths lengths.Unit // that lengths are told in
	by      map[string]string
}

// all has every language; the files are part of the program, so one that can't be read is a programmer's mistake.
var all = func() map[string]Texts {
	out := map[string]Texts{}
	for _, code := range Codes {
		raw, err := fs.ReadFile(assets.Texts, "texts/"+code+".json")
		t := Texts{Code: code}
		if err == nil {
			err = json.Unmarshal(raw, &t.by)
		}
		if err != nil {
			panic(fmt.Sprintf("explainpage: the texts of %s: %v", code, err))
		}
		out[code] = t
	}
	return out
}()

// TextsOf is the language of a code, English for one that there is not. A code may go on with a country: "de-CH".
func TextsOf(code string) Texts {
	short, _, _ := strings.Cut(strings.ToLower(strings.ReplaceAll(code, "_", "-")), "-")
	if t, ok := all[short]; ok {
		return t
	}
	return all[Codes[0]]
}

// In is the language with its lengths in a unit.
func (t Texts) In(u lengths.Unit) Texts {
	t.Lengths = u
	return t
}

// Has says whether there is a text of that key.
func (t Texts) Has(key string) bool { return t.by[key] != "" }

// Say is the text of a key. A key that there is not is a programmer's mistake.
func (t Texts) Say(key string) string {
	s := t.by[key]
	if s == "" {
		panic("explainpage: no text " + key + " in " + t.Code)
	}
	return s
}

// length is the text with a length in it, to half a millimetre, or to a sixteenth of an inch, and at least that.
func (t Texts) length(key string, mm float64) string {
	text := ""
	if t.Lengths == lengths.Inch {
		text = t.inches(mm)
	} else {
		text = strconv.FormatFloat(math.Max(0.5, math.Round(2*math.Abs(mm))/2), 'f', -1, 64) + " mm"
		if t.Code != "en" {
			text = strings.ReplaceAll(text, ".", ",")
		}
	}
	return strings.ReplaceAll(t.Say(key), "{length}", text)
}

// inches are inches and sixteenths in words, "3/16 inch".
func (t Texts) inches(mm float64) string {
	n := max(1, int(math.Round(16*lengths.Inch.From(math.Abs(mm)))))
	whole, part, of := n/16, n%16, 16
	for part > 0 && part%2 == 0 {
		part, of = part/2, of/2
	}
	word := " " + t.Say("unit.inch")
	if n > 16 {
		word = " " + t.Say("unit.inches")
	}
	switch {
	case part == 0:
		return strconv.Itoa(whole) + word
	case whole == 0:
		return fmt.Sprintf("%d/%d%s", part, of, word)
	}
	return fmt.Sprintf("%d %d/%d%s", whole, part, of, word)
}

// share is the text with a share of a hundred in it. What is not sure is never told as sure.
func (t Texts) share(key string, share float64) string {
	n := int(math.Round(100 * share))
	if share < 1 {
		n = min(n, 99)
	}
	if share > 0 {
		n = max(n, 1)
	}
	return strings.ReplaceAll(t.Say(key), "{n}", strconv.Itoa(n))
}
