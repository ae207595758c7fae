// Package measurepage is the page on which a shoe is measured by hand, without the page: what was entered, what follows
// from it, and the words that are shown for it. State goes in, State and effects come out (Reduce). Nothing here draws,
// waits or reads a file.
//
// # Order of work
//
// Each change of the draft is a new generation. Build fills in what was not measured and makes the room (Built); Rank then
// finds which missing measure matters most (Ranked). What comes back for another generation than the present one is
// shown no more, but an older room stays until the newer one is there.
package measurepage

import (
	"maps"
	"reflect"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/internal/problem"
	"lastroom/ui/history"
)

// State is everything that the page shows. It is a value: Reduce returns a new one and leaves the old one be.
type State struct {
	Draft      footwear.Sheet // measures that were taken; the others are empty or assumed
	Stamp      uint64         // of the shoe that is edited; 0: a new one
	Scanned    bool           // a scan lies beside the shoe that is edited, and its room is the scan's
	Generation uint64         // counts the changes of Draft

	Now MeasureID // the measure that is explained and drawn
	All bool      // all measures are listed, not the ten

	Typed   map[string]string          // field → what was entered and refused
	Refused map[string]problem.Problem // field → why

	Shown  *Made // the last room that could be made
	Failed *Made // what the present draft has come to, when it made no room
	Next   Advice
	Saved  string // what was done last, in words
	Fault  string // why the last thing could not be done

	kept  footwear.Sheet // Draft as it was begun with, or as it was saved
	steps history.Steps[footwear.Sheet]
}

// MeasureID is footwear's.
type MeasureID = footwear.MeasureID

// A Made is what follows from a draft.
type Made struct {
	Generation uint64
	Sheet      footwear.Sheet // complete
	Assumed    []MeasureID
	Room       *footwear.Room // without the insole; nil when the measures make none
	Broken     problem.Problems
}

// An Advice is which missing measure matters most, and by how much. The zero value is none.
type Advice struct {
	Generation uint64
	ID         MeasureID
	MM         float64
}

// Start is a new shoe of a common kind and size.
func Start() State {
	s := State{Now: footwear.Essentials[0].ID}
	s.Draft.Kind, s.Draft.Size = "trainer", footwear.Size{System: footwear.EU, Value: 42}
	s.kept = s.Draft
	return s
}

// Dirty says whether there is something to lose.
func (s *State) Dirty() bool { return !reflect.DeepEqual(s.Draft, s.kept) }

// Editing says whether a shoe of the shelf is being edited.
func (s *State) Editing() bool { return s.Stamp != 0 }

// current is what the present draft has come to, nil while it is being worked on.
func (s *State) current() *Made {
	for _, m := range []*Made{s.Failed, s.Shown} {
		if m != nil && m.Generation == s.Generation {
			return m
		}
	}
	return nil
}

// latest is the newest complete sheet there is, nil before the first.
func (s *State) latest() *Made {
	if s.Failed != nil && (s.Shown == nil || s.Failed.Generation > s.Shown.Generation) {
		return s.Failed
	}
	return s.Shown
}

func (s *State) refuse(key, text string, p problem.Problem) {
	s.Typed, s.Refused = cloneOrNew(s.Typed), cloneOrNew(s.Refused)
	s.Typed[key], s.Refused[key] = text, p
}

func (s *State) accept(key string) {
	if _, refused := s.Refused[key]; refused {
		s.Typed, s.Refused = cloneOrNew(s.Typed), cloneOrNew(s.Refused)
		delete(s.Typed, key)
		delete(s.Refused, key)
	}
}

func cloneOrNew[V any](m map[string]V) map[string]V {
	if m == nil {
		return map[string]V{}
	}
	return maps.Clone(m)
}

// List are the measures that are listed, in order: the ten, and behind them the others when all are.
func (s *State) List() []MeasureID {
	out := make([]MeasureID, 0, footwear.NumMeasures)
	ten := map[MeasureID]bool{}
	for _, e := range footwear.Essentials {
		out, ten[e.ID] = append(out, e.ID), true
	}
	for id := range footwear.NumMeasures {
		if s.All && !ten[id] {
			out = append(out, id)
		}
	}
	return out
}

// An Action is an intention of the person or a report of the work in the background.
type Action interface{ action() }

// Intentions.
type (
	// New begins a new shoe of a kind and size.
	New struct {
		Kind string
		Size footwear.Size
	}
	// Edit takes up a shoe of the shelf.
	Edit struct{ Shoe shelf.Shoe }
	// Resume takes up what was being measured when the program ended.
	Resume struct{ Draft shelf.Draft }
	// Enter is a text entered in a field: a measure's key, or one of the fields of the shoe. An empty text of a measure
	// means: not measured.
	Enter struct{ Key, Text string }
	// Step moves a number by N of its steps, from what is assumed when it was not measured.
	Step struct {
		Key string
		N   int
	}
	// Choose picks one of a field's choices.
	Choose struct{ Key, Value string }
	// Explain shows a measure: where and with what it is taken.
	Explain struct{ ID MeasureID }
	// Go goes on by so many measures in the list.
	Go struct{ N int }
	// ToggleAll lists all measures, or the ten.
	ToggleAll struct{}
	// Save puts the shoe on the shelf.
	Save struct{}
	// Use has the shoe tried as it is.
	Use struct{}
	// Undo takes the last change of the draft back.
	Undo struct{}
	// Redo does again what was taken back last.
	Redo struct{}
)

// Reports of the work.
type (
	// Built brings what follows from a draft.
	Built struct{ Made *Made }
	// Ranked brings which missing measure matters most.
	Ranked struct{ Advice Advice }
	// WasSaved says that the shoe is on the shelf, and of which draft it was made.
	WasSaved struct {
		Shoe  shelf.Shoe
		Draft footwear.Sheet
	}
	// WasUsed says that the shoe is tried now.
	WasUsed struct{ Text string }
	// CouldNot says why something was not done.
	CouldNot struct{ Err error }
)

func (New) action()       {}
func (Edit) action()      {}
func (Resume) action()    {}
func (Enter) action()     {}
func (Step) action()      {}
func (Choose) action()    {}
func (Explain) action()   {}
func (Go) action()        {}
func (ToggleAll) action() {}
func (Save) action()      {}
func (Use) action()       {}
func (Undo) action()      {}
func (Redo) action()      {}
func (Built) action()     {}
func (Ranked) action()    {}
func (WasSaved) action()  {}
func (WasUsed) action()   {}
func (CouldNot) action()  {}

// An Effect is what has to be done outside: Reduce asks for it, the window does it.
type Effect interface{ effect() }

// Effects.
type (
	// Build asks for what follows from a draft. A later one overtakes an earlier one.
	Build struct {
		Generation uint64
		Draft      footwear.Sheet
	}
	// Rank asks which missing measure matters most. A later one overtakes an earlier one.
	Rank struct {
		Generation uint64
		Sheet      footwear.Sheet
	}
	// Put asks to put a complete sheet, made of a draft, on the shelf: in the place of the one with the stamp, or as a new
	// one.
	Put struct {
		Sheet, Draft footwear.Sheet
		Stamp        uint64
	}
	// Keep asks to keep the draft for the next start.
	Keep struct{ Draft shelf.Draft }
	// Forget asks to keep no draft any more: it is saved, or given up.
	Forget struct{}
	// Try asks to have a complete sheet tried.
	Try struct{ Sheet footwear.Sheet }
)

func (Build) effect()  {}
func (Rank) effect()   {}
func (Put) effect()    {}
func (Try) effect()    {}
func (Keep) effect()   {}
func (Forget) effect() {}
