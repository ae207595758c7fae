// Package help has the texts that explain the program: each field (what it is, how it is measured, why it matters), the glossary, and the
// walk of the first minutes. The same texts are shown in the window and written to docs/.
package help

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"lastroom/assets"
	"lastroom/footwear"
	"lastroom/ui/desk"
)

// A Topic explains one field.
type Topic struct {
	Key, Group, Name string
	What             string // what it is
	How              string // how it is measured or found
	Why              string // why it matters
	Limits           string // what can be entered; "" for a choice
	Measure          footwear.MeasureID
	IsMeasure        bool // of the shoe: fit/drawing has a picture of how it is taken
}

// Lines are the topic as it is read.
func (t *Topic) Lines() []string {
	var out []string
	for _, l := range [][2]string{{"", t.What}, {"How: ", t.How}, {"Why: ", t.Why}, {"Limits: ", t.Limits}} {
		if l[1] != "" {
			out = append(out, l[0]+l[1])
		}
	}
	return out
}

// A Term is a word of ours beside that of the trade.
type Term struct {
	Word  string `json:"word"`
	Trade string `json:"trade"`
	Is    string `json:"is"`
}

// A Step is one of the walk.
type Step struct {
	Title string `json:"title"`
	Text  string `json:"text"`
}

// read reads one of the files; they are part of the program, so one that can't be read is a programmer's mistake.
func read[T any](name string) T {
	var v T
	data, err := assets.Help.ReadFile("help/" + name)
	if err == nil {
		err = json.Unmarshal(data, &v)
	}
	if err != nil {
		panic("help: " + name + ": " + err.Error())
	}
	return v
}

type extra struct{ How, Why string }

// Topics are all fields, in the order of the window and then of the measures of a shoe.
func Topics() []Topic {
	texts := read[map[string]extra]("fields.json")
	var out []Topic
	s := desk.Start(desk.Demo())
	for _, g := range desk.FieldGroups(&s) {
		for _, f := range g.Fields {
			t := Topic{Key: f.Key, Group: g.Title, Name: f.Name, What: sentence(f.Help)}
			if f.Choices == nil {
				t.Limits = f.Spec.Limits()
			}
			e := texts[f.Key]
			t.How, t.Why = e.How, e.Why
			out = append(out, t)
		}
	}
	for id := range footwear.NumMeasures {
		i := id.Info()
		t := Topic{
			Key: "measure." + i.Key, Group: "Measures of a shoe", Name: i.Name, What: i.What, Why: texts["measure."+i.Key].Why, Measure: id, IsMeasure: true,
			Limits: fmt.Sprintf("%g to %g %s; usual %g to %g %s (%s)", i.Lo, i.Hi, unit(i.Unit), i.BandLo, i.BandHi, unit(i.Unit), i.Source),
			How:    fmt.Sprintf("%s, ±%g %s.", i.Instrument, i.PlusMinus, unit(i.Unit)),
		}
		out = append(out, t)
	}
	return out
}

func unit(u string) string {
	if u == "deg" {
		return "°"
	}
	return u
}

// sentence begins a text with a capital and ends it with a stop.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	s = strings.ToUpper(s[:1]) + s[1:]
	if !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}

// Find is the topic of a field; ok is false for an unknown key.
func Find(key string) (t Topic, ok bool) {
	for _, t := range Topics() {
		if t.Key == key {
			return t, true
		}
	}
	return t, false
}

// Glossary has all terms in order; with words, only those that have each of them somewhere.
func Glossary(words string) []Term {
	var out []Term
	for _, t := range read[[]Term]("glossary.json") {
		all := strings.ToLower(t.Word + " " + t.Trade + " " + t.Is)
		found := true
		for _, w := range strings.Fields(strings.ToLower(words)) {
			found = found && strings.Contains(all, w)
		}
		if found {
			out = append(out, t)
		}
	}
	return out
}

// Walk are the steps of the first minutes.
func Walk() []Step { return read[[]Step]("walk.json") }

// WriteFields writes the reference of all fields as Markdown.
func WriteFields(w io.Writer) error {
	var b strings.Builder
	b.WriteString("# Every field\n\nThe same texts are in the window: F1 on a field.\n")
	group := ""
	for _, t := range Topics() {
		if t.Group != group {
			group = t.Group
			fmt.Fprintf(&b, "\n## %s\n", group)
		}
		fmt.Fprintf(&b, "\n### %s\n\n`%s`\n\n", t.Name, t.Key)
		for _, l := range t.Lines() {
			fmt.Fprintf(&b, "%s\n\n", l)
		}
	}
	_, err := io.WriteString(w, strings.TrimRight(b.String(), "\n")+"\n")
	return err
}

// WriteGlossary writes the glossary as Markdown.
func WriteGlossary(w io.Writer) error {
	var b strings.Builder
	b.WriteString("# Words\n\nOur words, what the trade also says, and what they are. In the window: menu Help.\n\n| here | the trade also says | what it is |\n|---|---|---|\n")
	for _, t := range Glossary("") {
		fmt.Fprintf(&b, "| %s | %s | %s |\n", t.Word, t.Trade, t.Is)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
