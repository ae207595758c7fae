package casebook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"lastroom/device"
	"lastroom/footwear"
)

// Differences says in words what is different in after, a line each, in the order of the case's parts. It is what the
// history keeps and what shows how another's proposal differs.
func Differences(before, after *Case) []string {
	var w lines
	if before.Code != after.Code {
		w.say("code %s became %s", before.Code, after.Code)
	}
	for _, side := range sides {
		footDifference(&w, side, before.Feet, after.Feet)
	}
	parts(&w, "shoe", before.Shoes, after.Shoes, func(s *Shoe) string { return s.Key }, Shoe.Name, shoeDifference)
	parts(&w, "device", before.Devices, after.Devices, func(d *Device) string { return d.Key }, deviceTitle, deviceDifference)
	parts(&w, "result", before.Results, after.Results, func(r *Result) string { return r.Key },
		func(r Result) string { return fmt.Sprintf("%s in %s: %s", r.Device, r.Shoe, r.State) }, changed[Result])
	parts(&w, "note", before.Notes, after.Notes, func(n *Note) string { return n.Key },
		func(n Note) string { return "“" + short(n.Text) + "”" }, changed[Note])
	parts(&w, "file", before.Files, after.Files, func(f *File) string { return f.Key },
		func(f File) string { return f.Kind + " " + f.Name }, changed[File])
	parts(&w, "outcome", before.Outcomes, after.Outcomes, func(o *Outcome) string { return o.Key },
		func(o Outcome) string {
			return strings.TrimSpace(string(o.Outcome.Happened) + " " + o.Outcome.Zone + " " + short(o.Outcome.Note))
		}, changed[Outcome])
	return w
}

type lines []string

func (w *lines) say(format string, args ...any) { *w = append(*w, fmt.Sprintf(format, args...)) }

// parts tells what was added, removed and changed in one list.
func parts[T any](w *lines, what string, before, after []T, key func(*T) string, name func(T) string, differ func(a, b *T) []string) {
	for i := range before {
		if find(after, key(&before[i]), key) == nil {
			w.say("%s removed: %s", what, name(before[i]))
		}
	}
	for i := range after {
		old := find(before, key(&after[i]), key)
		if old == nil {
			w.say("%s added: %s", what, name(after[i]))
			continue
		}
		if how := differ(old, &after[i]); len(how) > 0 {
			w.say("%s %s: %s", what, name(after[i]), strings.Join(how, ", "))
		}
	}
}

// changed only says that a part is not the same any more.
func changed[T any](a, b *T) []string {
	if same(a, b) {
		return nil
	}
	return []string{"changed"}
}

func same(a, b any) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && bytes.Equal(x, y)
}

func footDifference(w *lines, side string, before, after []Foot) {
	of := func(f *Foot) string { return f.Side }
	a, b := find(before, side, of), find(after, side, of)
	switch {
	case a == nil && b == nil:
	case a == nil:
		w.say("%s foot added%s", side, footWords(*b))
	case b == nil:
		w.say("%s foot removed", side)
	case *a != *b:
		w.say("%s foot changed%s", side, footWords(*b))
	}
}

func footWords(f Foot) string {
	var out []string
	add := func(name string, v float64, unit string) {
		if v != 0 {
			out = append(out, fmt.Sprintf("%s %.4g %s", name, v, unit))
		}
	}
	add("length", f.LengthMM, "mm")
	add("ankle", f.AnkleHeightMM, "mm")
	add("instep", f.InstepHeightMM, "mm")
	add("ball", f.BallHeightMM, "mm")
	add("toe", f.ToeHeightMM, "mm")
	add("mass", f.BodyMassKG, "kg")
	if len(out) == 0 {
		return ""
	}
	return ": " + strings.Join(out, ", ")
}

func shoeDifference(a, b *Shoe) []string {
	var w lines
	if a.InsoleOut != b.InsoleOut {
		w.say("insole %s", map[bool]string{true: "out", false: "in"}[b.InsoleOut])
	}
	x, errX := a.Measures()
	y, errY := b.Measures()
	if errX == nil && errY == nil {
		for id, m := range footwear.Infos {
			if p, q := x.M[id].Value, y.M[id].Value; p != q {
				w.say("%s %g → %g", m.Key, p, q)
			}
		}
	}
	if len(w) == 0 {
		return changed(a, b)
	}
	return w
}

func deviceTitle(d Device) string {
	made := "as ordered"
	if d.From != "" {
		made = "changed from " + d.From
	}
	if d.Label == "" {
		return fmt.Sprintf("%s (%s, %s)", d.Key, d.Side, made)
	}
	return fmt.Sprintf("%s %s (%s, %s)", d.Key, d.Label, d.Side, made)
}

func deviceDifference(a, b *Device) []string {
	w := lines(OptionDifferences(a, b))
	if len(w) == 0 {
		return changed(a, b)
	}
	return w
}

// OptionDifferences lists the options in which two devices differ, as "key before → after"; none when one of them has
// no options.
func OptionDifferences(a, b *Device) []string {
	x, errX := a.Prescription()
	y, errY := b.Prescription()
	if errX != nil || errY != nil {
		return nil
	}
	var w lines
	for _, k := range device.Keys() {
		if p, q := x.Get(k.Key), y.Get(k.Key); p != q {
			w.say("%s %s → %s", k.Key, p, q)
		}
	}
	return slices.Clip(w)
}

// short is the beginning of a text, on one line.
func short(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// Lines tell all that a case has.
func (c *Case) Lines() []string { return append(c.Facts(), c.Remarks()...) }

func lineTime(t time.Time) string { return t.Local().Format("2006-01-02 15:04") }

func with(text string) string {
	if text == "" {
		return ""
	}
	return ", " + text
}

// Facts tell what the program knows of a case, in its own words.
func (c *Case) Facts() []string {
	var w lines
	w.say("case %s, begun %s", c.Code, lineTime(c.Started))
	for _, f := range c.Feet {
		text := fmt.Sprintf("foot %s: %.0f mm long", f.Side, f.LengthMM)
		if f.BodyMassKG > 0 {
			text += fmt.Sprintf(", %.0f kg", f.BodyMassKG)
		}
		w.say("%s", text)
	}
	for _, s := range c.Shoes {
		insole := ""
		if s.InsoleOut {
			insole = ", its insole out"
		}
		w.say("shoe %s: %s%s", s.Key, s.Name(), insole)
	}
	for i := range c.Devices {
		d := &c.Devices[i]
		what := "as ordered"
		if from := c.Device(d.From); from != nil {
			what = "changed from " + d.From
			if diff := OptionDifferences(from, d); len(diff) > 0 {
				what += ": " + strings.Join(diff, ", ")
			}
		}
		w.say("device %s, %s%s: %s", d.Key, d.Side, with(d.Label), what)
	}
	for _, r := range c.Results {
		w.say("result of %s: %s in %s: %s %s", lineTime(r.At), r.Device, r.Shoe, r.Sentence, r.Limits)
	}
	return w
}

// Remarks tell what people wrote and attached.
func (c *Case) Remarks() []string {
	var w lines
	for _, n := range c.Notes {
		w.say("note of %s: %s", lineTime(n.At), n.Text)
	}
	for _, f := range c.Files {
		w.say("%s %s, %d bytes%s", f.Kind, f.Name, f.Bytes, with(f.Note))
	}
	for _, o := range c.Outcomes {
		w.say("came of it on %s: %s%s%s", o.Outcome.Date, strings.ReplaceAll(string(o.Outcome.Happened), "-", " "), with(strings.TrimSpace(o.Outcome.Feature+" "+o.Outcome.Zone)), with(o.Outcome.Note))
	}
	return w
}
