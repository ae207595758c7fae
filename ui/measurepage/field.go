package measurepage

import (
	"math"
	"strings"

	"lastroom/footwear"
	"lastroom/internal/problem"
	"lastroom/ui/entry"
)

// Keys of the fields that are no measures.
const (
	NameKey   = "name"
	KindKey   = "kind"
	SystemKey = "size_system"
	SizeKey   = "size"
	NoteKey   = "note"

	// Of the measure that is explained.
	ReasonKey     = "reason"
	SureKey       = "plus_minus"
	InstrumentKey = "instrument"
)

// A choice is a field of one of some words.
type choice struct {
	key, name string
	values    []string
	get       func(*footwear.Sheet) string
	set       func(*footwear.Sheet, string)
}

const (
	fixed     = "stays in"
	removable = "can be taken out"
)

func choices() []choice {
	outlines := make([]string, len(footwear.Outlines))
	for i, o := range footwear.Outlines {
		outlines[i] = string(o)
	}
	systems := make([]string, len(footwear.Systems))
	for i, sy := range footwear.Systems {
		systems[i] = string(sy)
	}
	return []choice{
		{KindKey, "kind of shoe", footwear.Kinds, func(s *footwear.Sheet) string { return s.Kind }, setKind},
		{SystemKey, "size system", systems, func(s *footwear.Sheet) string { return string(s.Size.System) }, setSystem},
		{"closure", "closes by", footwear.Closures, func(s *footwear.Sheet) string { return s.Closure }, func(s *footwear.Sheet, v string) { s.Closure = v }},
		{"insole", "its own insole", []string{fixed, removable}, func(s *footwear.Sheet) string {
			if s.InsoleRemovable {
				return removable
			}
			return fixed
		}, func(s *footwear.Sheet, v string) { s.InsoleRemovable = v == removable }},
		{"outline", "outline", outlines, func(s *footwear.Sheet) string { return string(s.Outline) }, func(s *footwear.Sheet, v string) { s.Outline = footwear.Outline(v) }},
		{"toe_shape", "toe", footwear.ToeShapes, func(s *footwear.Sheet) string { return s.ToeShape }, func(s *footwear.Sheet, v string) { s.ToeShape = v }},
		{"sole_stiffness", "sole", footwear.SoleStiffness, func(s *footwear.Sheet) string { return s.SoleStiffness }, func(s *footwear.Sheet, v string) { s.SoleStiffness = v }},
	}
}

// setKind takes the words of the kind's usual shoe with it.
func setKind(s *footwear.Sheet, kind string) {
	s.Kind = kind
	words(s)
}

// words takes over the words of the nearest shoe of the kind.
func words(s *footwear.Sheet) {
	like, err := footwear.Nearest(s.Kind, s.Size)
	if err != nil {
		return // the size is told where it stands
	}
	s.Closure, s.InsoleRemovable, s.Rocker = like.Closure, like.InsoleRemovable, like.Rocker
	s.Outline, s.ToeShape, s.SoleStiffness = like.Outline, like.ToeShape, like.SoleStiffness
}

// setSystem keeps the foot that the size stands for, to the nearest size that is sold.
func setSystem(s *footwear.Sheet, system string) {
	if to, err := footwear.Convert(s.Size, footwear.System(system), footwear.SizeOptions{}); err == nil {
		s.Size = to.Rounded()
	}
}

func sizeSpec(s *footwear.Sheet) entry.Spec {
	lo, hi := footwear.SizeLimits(s.Size.System, footwear.SizeOptions{})
	step := 0.5
	if s.Size.System == footwear.Mondopoint {
		step = 5
	}
	return entry.Spec{Key: SizeKey, Name: "size", Min: lo, Max: hi, Step: step}
}

// SpecOf is a measure's limits and step.
func SpecOf(id MeasureID) entry.Spec {
	info := id.Info()
	unit := info.Unit
	if unit == "deg" {
		unit = "°"
	}
	return entry.Spec{Key: info.Key, Name: info.Name, Unit: unit, Min: info.Lo, Max: info.Hi, Step: 0.5}
}

// enter puts a text into the draft; the problem says why it is not taken over.
func enter(s *State, key, text string) *problem.Problem {
	d := &s.Draft
	trimmed := strings.TrimSpace(text)
	switch key {
	case NameKey:
		if len(trimmed) > 80 {
			return &problem.Problem{Field: "name", Limit: "at most 80 letters", Mend: "shorten it"}
		}
		d.Name = trimmed
		return nil
	case NoteKey:
		if len(trimmed) > 2000 {
			return &problem.Problem{Field: "note", Limit: "at most 2000 letters", Mend: "shorten it"}
		}
		d.Note = trimmed
		return nil
	case ReasonKey:
		reasons := cloneOrNew(d.Reasons)
		if delete(reasons, s.Now.String()); trimmed != "" {
			if r := []rune(trimmed); len(r) > 400 {
				trimmed = string(r[:400])
			}
			reasons[s.Now.String()] = trimmed
		}
		if d.Reasons = reasons; len(reasons) == 0 {
			d.Reasons = nil
		}
		return nil
	case SureKey:
		return enterSure(s, text)
	case SizeKey:
		v, p := sizeSpec(d).Parse(text)
		if p == nil {
			d.Size.Value = v
		}
		return p
	}
	id, ok := footwear.MeasureByKey(key)
	if !ok {
		return nil
	}
	if trimmed == "" {
		d.M[id] = footwear.Measure{}
		return nil
	}
	v, p := SpecOf(id).Parse(text)
	if p == nil {
		take(d, id, v)
	}
	return p
}

// mostTimesUsual is how many times the usual ± a measure may have at most; it is the limit of footwear.Sheet.
const mostTimesUsual = 10

// SureSpec is how sure a measure may be: its ±.
func SureSpec(id MeasureID) entry.Spec {
	const least = 0.1 // nothing is measured without a ±
	spec := SpecOf(id)
	return entry.Spec{Key: SureKey, Name: "± of " + spec.Name, Unit: spec.Unit, Min: least, Max: mostTimesUsual * id.Info().PlusMinus, Step: 0.1}
}

// enterSure takes over how sure the measure is that is explained; an empty text is its usual ±.
func enterSure(s *State, text string) *problem.Problem {
	m, spec := &s.Draft.M[s.Now], SureSpec(s.Now)
	if !s.Draft.Taken(s.Now) {
		return &problem.Problem{Field: spec.Name, Limit: "the measure is assumed, and its ± with it", Mend: "enter the measure first"}
	}
	if strings.TrimSpace(text) == "" {
		m.PlusMinus = s.Now.Info().PlusMinus
		return nil
	}
	v, p := spec.Parse(text)
	if p == nil {
		m.PlusMinus = v
	}
	return p
}

// setInstrument says what the measure that is explained was taken with. What was guessed is no surer than what is assumed.
func setInstrument(s *State, to footwear.Instrument) {
	m := &s.Draft.M[s.Now]
	m.Instrument = to
	if made := s.latest(); to == footwear.Guess && made != nil {
		m.PlusMinus = max(m.PlusMinus, footwear.AssumedPlusMinus(&made.Sheet, s.Now))
	}
}

// take notes a value as measured: with the usual instrument and its ±, or with those that stand there already.
func take(d *footwear.Sheet, id MeasureID, v float64) {
	info := id.Info()
	m := d.M[id]
	if !d.Taken(id) {
		m = footwear.Measure{PlusMinus: info.PlusMinus, Instrument: info.Instrument}
	}
	m.Value = v
	d.M[id] = m
}

// step moves a number; a measure that was not taken starts from what is assumed.
func step(s *State, key string, n int) {
	d := &s.Draft
	if key == SizeKey {
		d.Size.Value = sizeSpec(d).Stepped(d.Size.Value, n)
		return
	}
	if key == SureKey {
		if m := &d.M[s.Now]; d.Taken(s.Now) {
			m.PlusMinus = SureSpec(s.Now).Stepped(m.PlusMinus, n)
		}
		return
	}
	id, ok := footwear.MeasureByKey(key)
	if !ok {
		return
	}
	spec := SpecOf(id)
	from := d.V(id)
	if !d.Taken(id) {
		m := s.latest()
		if m == nil {
			return
		}
		from = math.Round(2*m.Sheet.V(id)) / 2
	}
	take(d, id, spec.Stepped(from, n))
}
