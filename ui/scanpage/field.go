package scanpage

import (
	"maps"
	"strings"

	"lastroom/internal/problem"
	"lastroom/ui/entry"
)

// A Field is a thickness that is added to or taken from what was scanned.
type Field struct {
	Key  string
	Help string
	Spec entry.Spec
	at   func(*Allowances) *float64
}

// Fields are the thicknesses, in the order in which they are shown.
var Fields = []Field{
	thickness("insole_mm", "insole, on the floor", func(a *Allowances) *float64 { return &a.InsoleMM }),
	thickness("lining_mm", "lining, on walls and roof", func(a *Allowances) *float64 { return &a.LiningMM }),
	thickness("sock_mm", "a sock, over everything", func(a *Allowances) *float64 { return &a.SockMM }),
}

// thickestMM bounds what is added or taken away; it is the limit of footwear.RoomFromScan.
const thickestMM = 15

func thickness(key, name string, at func(*Allowances) *float64) Field {
	const help = "what takes room in the shoe and was not in what was scanned; below zero: it was, and is not in the shoe"
	return Field{Key: key, Help: help, Spec: entry.Spec{Key: key, Name: name, Unit: "mm", Min: -thickestMM, Max: thickestMM, Step: 0.5}, at: at}
}

// FieldByKey finds a field.
func FieldByKey(key string) (Field, bool) {
	for _, f := range Fields {
		if f.Key == key {
			return f, true
		}
	}
	return Field{}, false
}

// number takes what is done to a field.
func number(s State, a Action) State {
	switch a := a.(type) {
	case Enter:
		f, ok := FieldByKey(a.Key)
		if !ok {
			return s
		}
		if strings.TrimSpace(a.Text) == "" {
			return s.put(f, 0)
		}
		v, p := f.Spec.Parse(a.Text)
		if p != nil {
			s.Typed, s.Refused = cloned(s.Typed), cloned(s.Refused)
			s.Typed[a.Key], s.Refused[a.Key] = a.Text, *p
			return s
		}
		return s.put(f, v)
	case Step:
		if f, ok := FieldByKey(a.Key); ok {
			return s.put(f, f.Spec.Stepped(*f.at(&s.Allow), a.N))
		}
	case Drag:
		if f, ok := FieldByKey(a.Key); ok {
			return s.put(f, f.Spec.Nearest(a.Value))
		}
	}
	return s
}

func (s State) put(f Field, v float64) State {
	*f.at(&s.Allow) = v
	if _, refused := s.Refused[f.Key]; refused {
		s.Typed, s.Refused = cloned(s.Typed), cloned(s.Refused)
		delete(s.Typed, f.Key)
		delete(s.Refused, f.Key)
	}
	return s
}

func cloned[V any](m map[string]V) map[string]V {
	if m == nil {
		return map[string]V{}
	}
	return maps.Clone(m)
}

// A FieldShow is a field as it is shown.
type FieldShow struct {
	Key, Name, Help string
	Spec            entry.Spec
	Text, Problem   string
	Number          float64
}

// FieldsView are the thicknesses as they are shown; none for a device.
func FieldsView(s *State) []FieldShow {
	if s.Purpose == Device {
		return nil
	}
	var out []FieldShow
	for _, f := range Fields {
		v := *f.at(&s.Allow)
		show := FieldShow{Key: f.Key, Name: f.Spec.Name, Help: f.Help, Spec: f.Spec, Text: f.Spec.Format(v), Number: v}
		if p, ok := s.Refused[f.Key]; ok {
			show.Text, show.Problem = s.Typed[f.Key], asSentence(p)
		}
		out = append(out, show)
	}
	return out
}

func asSentence(p problem.Problem) string { return p.Error() }
