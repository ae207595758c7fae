package explainpage

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"strconv"
	"strings"

	"lastroom/assets"
)

// Codes are the languages, in the order in which they are offered.
var Codes = []string{"en", "de", "fr", "es"}

// Texts are the words of one language.
type Texts struct {
	Code string
	by   map[string]string
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

// mm is the text with a length in it, to half a millimetre, at least a half.
func (t Texts) mm(key string, mm float64) string {
	n := math.Max(0.5, math.Round(2*math.Abs(mm))/2)
	text := strconv.FormatFloat(n, 'f', -1, 64)
	if t.Code != "en" {
		text = strings.ReplaceAll(text, ".", ",")
	}
	return strings.ReplaceAll(t.Say(key), "{mm}", text)
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
