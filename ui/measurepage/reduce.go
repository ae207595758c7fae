package measurepage

import (
	"fmt"
	"reflect"
	"slices"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/ui/history"
)

// Reduce is what an action makes of a state, and what has to be done for it. It is pure: equal arguments, equal results.
func Reduce(s State, a Action) (State, []Effect) {
	next, effects := reduce(s, a)
	changed := !reflect.DeepEqual(s.Draft, next.Draft)
	switch a.(type) {
	case Enter, Step, Choose:
		if changed {
			next.steps = s.steps.After(s.Draft)
		}
	}
	switch dirty := next.Dirty(); {
	case dirty && (changed || !s.Dirty()):
		effects = append(effects, Keep{shelf.Draft{Sheet: next.Draft, Stamp: next.Stamp, Scanned: next.Scanned}})
	case !dirty && s.Dirty():
		effects = append(effects, Forget{})
	}
	return next, effects
}

func reduce(s State, a Action) (State, []Effect) {
	switch a := a.(type) {
	case New:
		return begin(s, a)
	case Edit:
		return edit(s, a)
	case Resume:
		return resume(s, a.Draft)
	case Undo:
		return back(s, s.steps.Undo, "Taken back.")
	case Redo:
		return back(s, s.steps.Redo, "Done again.")
	case Enter:
		return entered(s, a)
	case Step:
		before := s.Draft
		step(&s, a.Key, a.N)
		return s.changed(a.Key, !same(&before, &s.Draft))
	case Choose:
		return choose(s, a)
	case Explain:
		if a.ID >= 0 && a.ID < footwear.NumMeasures {
			s.Now = a.ID
		}
		return s, nil
	case Go:
		list := s.List()
		at := max(slices.Index(list, s.Now), 0)
		s.Now = list[min(max(at+a.N, 0), len(list)-1)]
		return s, nil
	case ToggleAll:
		s.All = !s.All
		if !slices.Contains(s.List(), s.Now) {
			s.Now = s.List()[0]
		}
		return s, nil
	case Save:
		return save(s)
	case Use:
		return use(s)
	}
	return report(s, a)
}

func begin(old State, a New) (State, []Effect) {
	s := Start()
	s.All = old.All
	s.Generation = old.Generation
	if a.Kind != "" {
		s.Draft.Kind = a.Kind
	}
	if a.Size != (footwear.Size{}) {
		s.Draft.Size = a.Size
	}
	words(&s.Draft)
	s.kept = s.Draft
	return s.changed("", true)
}

func edit(old State, a Edit) (State, []Effect) {
	s := Start()
	s.All = old.All
	s.Generation = old.Generation
	s.Draft, s.Stamp, s.Scanned = a.Shoe.Sheet, a.Shoe.Stamp, a.Shoe.Scan != ""
	s.kept = s.Draft
	return s.changed("", true)
}

// resume takes up a draft that is neither saved nor given up.
func resume(old State, d shelf.Draft) (State, []Effect) {
	s := Start()
	s.All = old.All
	s.Generation = old.Generation
	s.Draft, s.Stamp, s.Scanned, s.kept = d.Sheet, d.Stamp, d.Scanned, footwear.Sheet{}
	s, effects := s.changed("", true)
	s.Saved = "This shoe was not saved when the program ended. It is here as it was."
	return s, effects
}

// back goes a step of undo or redo. The measure that becomes another is shown.
func back(s State, step func(footwear.Sheet) (footwear.Sheet, history.Steps[footwear.Sheet], bool), done string) (State, []Effect) {
	to, steps, ok := step(s.Draft)
	if !ok {
		return s, nil
	}
	to.ID = s.Draft.ID // it may have been saved since
	for id := range footwear.NumMeasures {
		if to.M[id] != s.Draft.M[id] {
			s.Now = id
		}
	}
	s.All = s.All || !slices.Contains(s.List(), s.Now)
	s.Draft, s.steps, s.Typed, s.Refused = to, steps, nil, nil
	s, effects := s.changed("", true)
	s.Saved = done
	return s, effects
}

// CanUndo says whether there is a change to take back.
func (s *State) CanUndo() bool { return s.steps.CanUndo() }

// CanRedo says whether there is one to do again.
func (s *State) CanRedo() bool { return s.steps.CanRedo() }

// changed takes a change of the draft over: it is a new generation, and is built.
func (s State) changed(key string, really bool) (State, []Effect) {
	s.accept(key)
	if !really {
		return s, nil
	}
	s.Generation++
	s.Saved, s.Fault = "", ""
	return s, []Effect{Build{s.Generation, s.Draft}}
}

func same(a, b *footwear.Sheet) bool { return a.M == b.M && a.Size == b.Size }

func entered(s State, a Enter) (State, []Effect) {
	before := s.Draft
	if p := enter(&s, a.Key, a.Text); p != nil {
		s.refuse(a.Key, a.Text, *p)
		return s, nil
	}
	if id, ok := footwear.MeasureByKey(a.Key); ok {
		s.Now = id
	}
	switch a.Key {
	case NameKey, NoteKey, ReasonKey: // words that change no room
		s.accept(a.Key)
		if !reflect.DeepEqual(s.Draft, before) {
			s.Saved, s.Fault = "", ""
		}
		return s, nil
	}
	return s.changed(a.Key, !same(&before, &s.Draft))
}

func choose(s State, a Choose) (State, []Effect) {
	if to := footwear.Instrument(a.Value); a.Key == InstrumentKey {
		if !s.Draft.Taken(s.Now) || !slices.Contains(footwear.Instruments, to) || s.Draft.M[s.Now].Instrument == to {
			return s, nil
		}
		setInstrument(&s, to)
		return s.changed(SureKey, true)
	}
	for _, c := range choices() {
		if c.key == a.Key && slices.Contains(c.values, a.Value) && c.get(&s.Draft) != a.Value {
			c.set(&s.Draft, a.Value)
			return s.changed(a.Key, true)
		}
	}
	return s, nil
}

// complete is the sheet to save or use, and why there is none.
func (s *State) complete() (footwear.Sheet, string) {
	switch m := s.current(); {
	case len(s.Refused) > 0:
		return footwear.Sheet{}, "something that was entered is not taken over"
	case m == nil:
		return footwear.Sheet{}, "the room is still being made"
	case m.Room == nil:
		return footwear.Sheet{}, "the measures make no room yet"
	default:
		sheet := m.Sheet
		sheet.ID, sheet.Name, sheet.Note, sheet.Reasons = s.Draft.ID, s.Draft.Name, s.Draft.Note, s.Draft.Reasons
		return sheet, ""
	}
}

// WhyNotSave is empty when the shoe can be saved.
func (s *State) WhyNotSave() string {
	if _, why := s.complete(); why != "" {
		return why
	}
	if s.Draft.Name == "" {
		return "the shoe has no name"
	}
	return ""
}

// WhyNotUse is empty when the shoe can be tried.
func (s *State) WhyNotUse() string {
	_, why := s.complete()
	return why
}

func save(s State) (State, []Effect) {
	if why := s.WhyNotSave(); why != "" {
		s.Fault, s.Saved = "Not saved: "+why+".", ""
		return s, nil
	}
	sheet, _ := s.complete()
	return s, []Effect{Put{sheet, s.Draft, s.Stamp}}
}

func use(s State) (State, []Effect) {
	sheet, why := s.complete()
	if why != "" {
		s.Fault, s.Saved = "Not used: "+why+".", ""
		return s, nil
	}
	if sheet.Name == "" {
		sheet.Name = "Shoe in hand"
	}
	return s, []Effect{Try{sheet}}
}

func report(s State, a Action) (State, []Effect) {
	switch a := a.(type) {
	case Built:
		return built(s, a.Made)
	case Ranked:
		if a.Advice.Generation == s.Generation {
			s.Next = a.Advice
		}
	case WasSaved:
		s.Draft.ID, s.Stamp = a.Shoe.Sheet.ID, a.Shoe.Stamp
		s.kept = a.Draft
		s.kept.ID = s.Draft.ID
		s.Saved = fmt.Sprintf("%s, %s, is on your shelf.", a.Shoe.Sheet.Name, a.Shoe.Sheet.Size)
		s.Fault = ""
	case WasUsed:
		s.Saved, s.Fault = a.Text, ""
	case CouldNot:
		s.Fault, s.Saved = a.Err.Error(), ""
	}
	return s, nil
}

func built(s State, m *Made) (State, []Effect) {
	if newest := s.latest(); newest != nil && m.Generation < newest.Generation {
		return s, nil
	}
	if m.Room == nil {
		s.Failed = m
		return s, nil
	}
	s.Shown = m
	if s.Failed != nil && s.Failed.Generation <= m.Generation {
		s.Failed = nil
	}
	if m.Generation != s.Generation {
		return s, nil
	}
	return s, []Effect{Rank{m.Generation, m.Sheet}}
}
