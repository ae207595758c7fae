package measurepage

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"lastroom/footwear"
	"lastroom/ui/desk"
	"lastroom/ui/entry"
)

// A Row is one measure as it is listed.
type Row struct {
	desk.FieldShow
	ID      MeasureID
	Now     bool
	Mark    desk.Mark
	Word    string // measured, assumed, unusual, contradicts, not taken over
	Usually string // "usually 59 to 76 mm"
	Say     string // what stands against it, in words; also when it is taken over
}

// Text is the whole row in words.
func (r Row) Text() string {
	t := fmt.Sprintf("%s: %s, %s, %s", r.Name, r.withUnit(), r.Word, r.Usually)
	if r.Say != "" {
		t += ". " + r.Say
	}
	return t
}

// Text0 is what stands in the entry, or the value that is assumed.
func (r Row) Text0() string {
	if r.FieldShow.Text != "" {
		return r.FieldShow.Text
	}
	return r.Empty
}

// withUnit is Text0 with the unit, unless it is a text that was refused.
func (r Row) withUnit() string {
	t := r.Text0()
	if _, number := entry.ParseNumber(t, ""); !number {
		return t
	}
	return unitBehind(t, r.Unit)
}

// Rows are the measures that are listed.
func Rows(s *State) []Row {
	list := s.List()
	out := make([]Row, len(list))
	for i, id := range list {
		out[i] = rowOf(s, id)
	}
	return out
}

func rowOf(s *State, id MeasureID) Row {
	info := id.Info()
	spec := SpecOf(id)
	r := Row{ID: id, Now: id == s.Now, Mark: desk.WaitMark, Word: "assumed"}
	r.Key, r.Name, r.Unit, r.Spec, r.Help = info.Key, info.Name, spec.Unit, spec, info.What
	if s.Draft.Taken(id) {
		r.FieldShow.Text = spec.Format(s.Draft.V(id))
		m := s.Draft.M[id]
		r.Mark, r.Word = desk.ClearMark, "measured ±"+quantity(m.PlusMinus, spec.Unit)
		if m.Instrument == footwear.Guess {
			r.Mark, r.Word = desk.WaitMark, "guessed ±"+quantity(m.PlusMinus, spec.Unit)
		}
	}
	m := s.latest()
	if m != nil {
		lo, hi := footwear.Band(&m.Sheet, id)
		r.Usually = "usually " + span(lo, hi, spec.Unit)
		if !s.Draft.Taken(id) {
			r.Empty = spec.Format(math.Round(m.Sheet.V(id)*10) / 10)
			r.Word = "assumed ±" + quantity(m.Sheet.M[id].PlusMinus, spec.Unit)
		}
		judged(s, m, &r)
	}
	if p, refused := s.Refused[info.Key]; refused {
		r.FieldShow.Text, r.Say = s.Typed[info.Key], p.Error()
		r.Mark, r.Word = desk.BlockedMark, "not taken over"
	}
	return r
}

// judged says what stands against a measure that was taken: against others, or against what is usual.
func judged(s *State, m *Made, r *Row) {
	if !s.Draft.Taken(r.ID) {
		return
	}
	for _, p := range m.Broken {
		if p.Field == r.Key {
			p.Field = "" // it stands beside
			r.Mark, r.Word, r.Say = desk.BlockedMark, "contradicts", p.Error()
			return
		}
	}
	for _, n := range m.Sheet.BandNotes() {
		if n.ID != r.ID {
			continue
		}
		if reason := s.Draft.Reasons[r.Key]; reason != "" {
			r.Word, r.Say = "unusual, with a reason", reason
			return
		}
		r.Mark, r.Word = desk.UnsureMark, "unusual"
		r.Say = fmt.Sprintf("%s is unusual: usually %s. Measure it again; if it is so, write why.",
			quantity(n.Value, r.Unit), span(n.Lo, n.Hi, r.Unit))
		return
	}
}

func span(lo, hi float64, unit string) string { return trim(lo) + " to " + quantity(hi, unit) }

func quantity(v float64, unit string) string { return unitBehind(trim(v), unit) }

func unitBehind(number, unit string) string {
	if unit == "°" {
		return number + unit
	}
	return number + " " + unit
}

func trim(v float64) string {
	return strings.TrimSuffix(fmt.Sprintf("%.1f", math.Round(v*10)/10+0), ".0")
}

// Words is what the page says besides its fields.
type Words struct {
	Title    string
	Count    string // how much was measured
	Next     string // which missing measure matters most
	Notice   string // what stands against the whole, or what was done
	Mark     desk.Mark
	Stale    bool // the drawings show an earlier draft
	CanSave  bool
	CanUse   bool
	SaveText string
}

// WordsView is what the page says besides its fields.
func WordsView(s *State) Words {
	w := Words{Title: "Measure a shoe", SaveText: "Save to my shoes", Mark: desk.WaitMark}
	if s.Editing() {
		w.Title, w.SaveText = "Edit "+s.Draft.Name, "Save the changes"
	}
	taken, ten := 0, 0
	for id := range footwear.NumMeasures {
		if s.Draft.Taken(id) {
			taken++
			if slices.ContainsFunc(footwear.Essentials[:], func(e footwear.Essential) bool { return e.ID == id }) {
				ten++
			}
		}
	}
	w.Count = fmt.Sprintf("%d of the ten measured", ten)
	if taken > ten {
		w.Count += fmt.Sprintf(", and %d others", taken-ten)
	}
	if m := s.latest(); m != nil {
		w.Count += fmt.Sprintf("; %d assumed from a %s of this size", len(m.Assumed), s.Draft.Kind)
	}
	if s.Scanned {
		w.Count += "; in the scan's own size the room stays the scan's"
	}
	w.Next = next(s)
	w.CanSave, w.CanUse = s.WhyNotSave() == "", s.WhyNotUse() == ""
	w.Stale = s.Shown == nil || s.Shown.Generation != s.Generation
	w.Mark, w.Notice = notice(s, &w)
	return w
}

func next(s *State) string {
	if m := s.current(); m != nil && m.Room == nil {
		return "The drawings show the last room that could be made."
	}
	if s.Next.Generation != s.Generation || s.current() == nil {
		return "Finding which measure matters most …"
	}
	if s.Next.ID >= footwear.NumMeasures {
		return "Nothing that is still assumed matters to a device."
	}
	return fmt.Sprintf("Most worth measuring next (F8): %s. While it is assumed, a device may have up to %.1f mm less room.", s.Next.ID.Info().Name, s.Next.MM)
}

// notice is what the person should read first.
func notice(s *State, w *Words) (desk.Mark, string) {
	m := s.current()
	switch {
	case s.Fault != "":
		return desk.BlockedMark, s.Fault
	case s.Saved != "":
		return desk.ClearMark, s.Saved
	case len(s.Refused) > 0:
		first := slices.Min(slices.Collect(maps.Keys(s.Refused)))
		return desk.BlockedMark, "Not taken over: " + s.Refused[first].Error() + "."
	case m == nil:
		return desk.WaitMark, "Making the room …"
	case m.Room == nil:
		if len(m.Broken) == 0 {
			return desk.BlockedMark, "The measures make no room."
		}
		p := m.Broken[0]
		if id, ok := footwear.MeasureByKey(p.Field); ok {
			p.Field = id.Info().Name
		}
		return desk.BlockedMark, "The measures make no room: " + p.Error() + "."
	}
	for _, r := range Rows(s) {
		if r.Mark == desk.UnsureMark {
			return desk.UnsureMark, upperFirst(r.Name) + ": " + r.Say
		}
	}
	if s.Draft.Name == "" {
		return desk.SnugMark, "The room follows the measures. Give the shoe a name to save it."
	}
	return desk.ClearMark, "The room follows the measures."
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// Explained is how the present measure is taken.
type Explained struct {
	Row
	Title  string
	Where  string // what it is and how it is taken
	With   string // the usual instrument and its ±
	Why    string // what it is for
	Value  string // as it stands on the drawing
	Reason string // why it is unusual, as the person wrote it
	Asks   bool   // a reason is wanted or given

	Taken      bool           // the two below can be changed
	Sure       desk.FieldShow // its ±
	Instrument desk.FieldShow // what it was taken with
}

// ExplainedView is how the present measure is taken.
func ExplainedView(s *State) Explained {
	info := s.Now.Info()
	r := rowOf(s, s.Now)
	e := Explained{Row: r, Title: upperFirst(info.Name), Where: info.What, Reason: s.Draft.Reasons[info.Key]}
	e.With = fmt.Sprintf("Taken with: %s, as a rule to ±%s.", info.Instrument, quantity(info.PlusMinus, r.Unit))
	if r.Usually != "" {
		e.With += " " + upperFirst(r.Usually) + "."
	}
	e.Taken = s.Draft.Taken(s.Now)
	e.Sure, e.Instrument = sureView(s), instrumentView(s)
	for i, x := range footwear.Essentials {
		if x.ID == s.Now {
			e.Why = fmt.Sprintf("%d of the ten: %s.", i+1, x.Why)
		}
	}
	if r.Text0() != "" {
		e.Value = r.withUnit()
		if !s.Draft.Taken(s.Now) {
			e.Value += " assumed"
		}
	}
	e.Asks = e.Reason != "" || r.Word == "unusual"
	return e
}

func sureView(s *State) desk.FieldShow {
	spec, pm := SureSpec(s.Now), s.Draft.M[s.Now].PlusMinus
	f := desk.FieldShow{Key: SureKey, Name: "±", Unit: spec.Unit, Spec: spec, Text: spec.Format(pm), Number: pm, Help: "95 of 100 readings lie within it"}
	if p, refused := s.Refused[SureKey]; refused {
		f.Text, f.Problem = s.Typed[SureKey], p.Error()
	}
	return f
}

func instrumentView(s *State) desk.FieldShow {
	f := desk.FieldShow{Key: InstrumentKey, Name: "taken with", Choice: string(s.Draft.M[s.Now].Instrument)}
	for _, i := range footwear.Instruments {
		f.Choices = append(f.Choices, desk.Choice{Value: string(i), Text: string(i)})
	}
	return f
}

// ChoicesView are the fields of words, as the desk's fields are shown.
func ChoicesView(s *State) []desk.FieldShow {
	var out []desk.FieldShow
	for _, c := range choices() {
		f := desk.FieldShow{Key: c.key, Name: c.name, Choice: c.get(&s.Draft)}
		for _, v := range c.values {
			text := v
			if c.key == SystemKey {
				text = footwear.System(v).Name()
			}
			f.Choices = append(f.Choices, desk.Choice{Value: v, Text: text})
		}
		out = append(out, f)
	}
	return out
}

// SizeView is the field of the size.
func SizeView(s *State) desk.FieldShow {
	spec := sizeSpec(&s.Draft)
	f := desk.FieldShow{Key: SizeKey, Name: "size", Spec: spec, Text: spec.Format(s.Draft.Size.Value), Number: s.Draft.Size.Value}
	if p, refused := s.Refused[SizeKey]; refused {
		f.Text, f.Problem = s.Typed[SizeKey], p.Error()
	}
	return f
}
