// Package refitpage is the page of refits without the window: what is wished, what is being searched, what was found and which
// of it is picked. State goes in, State and effects come out (Reduce).
package refitpage

import (
	"lastroom/fit"
	"lastroom/ui/desk"
)

// A Wish is something that the user may ask to keep.
type Wish struct {
	Text string
	Pin  string // as fit.ParsePin takes it
}

// Wishes are those that are asked for most; any other is typed.
var Wishes = []Wish{
	{"the lateral side as it is", "bevel_lateral_deg=same"},
	{"the medial side as it is", "bevel_medial_deg=same"},
	{"the depth of the cup", "cup_depth_mm=same"},
	{"the height at the arch", "arch_flange_mm=same"},
	{"the width of the base", "base_width_mm=same"},
	{"the wedge's build", "wedge_build=same"},
	{"the cover", "cover_extent=same"},
}

// Weights are what "what matters more" offers: nothing, or one term of support.
func Weights() []string {
	out := []string{"all alike"}
	for _, t := range fit.SupportTerms {
		out = append(out, t.Name)
	}
	return out
}

// moreWeight is what a term counts that matters more.
const moreWeight = 3

// State is everything that the page shows. It is a value.
type State struct {
	Case *desk.Answer // what refits are searched for; nil: nothing is judged yet

	Off    map[fit.Work]bool // kinds of work that are not allowed
	Kept   map[string]bool   // wishes that hold, by Pin
	Typed  string            // a pin of one's own
	Refuse string            // why it is refused
	More   string            // name of the term that matters more, "" for none

	Serial   int // counts the searches
	Running  bool
	Progress fit.RefitProgress
	Found    *fit.Refit
	Failure  string
	Picked   int // index into choices; −1 the device as it is
}

// Start is the page before it is turned to.
func Start() State { return State{Picked: -1} }

// An Action is an intention or a report.
type Action interface{ action() }

// Intentions and reports.
type (
	// Open shows the page for a case; another case than before clears what was found.
	Open struct{ Case *desk.Answer }
	// AllowWork lets a kind of work be done, or not.
	AllowWork struct {
		Work fit.Work
		On   bool
	}
	// Keep holds a wish, or not.
	Keep struct {
		Pin string
		On  bool
	}
	// TypePin is a pin of one's own; empty for none.
	TypePin struct{ Text string }
	// Matters picks what matters more.
	Matters struct{ Term string }
	// Search begins a search.
	Search struct{}
	// Stop ends it.
	Stop struct{}
	// Progressed says how far it is.
	Progressed struct {
		Serial   int
		Progress fit.RefitProgress
	}
	// Found brings what was found.
	Found struct {
		Serial int
		Refit  *fit.Refit
	}
	// Failed says that there is nothing, and why.
	Failed struct {
		Serial int
		Err    error
	}
	// Pick picks a choice; −1 the device as it is.
	Pick struct{ Index int }
	// PickBy goes on by so many choices.
	PickBy struct{ N int }
	// Apply takes the picked choice over on the desk.
	Apply struct{}
)

func (Open) action()       {}
func (AllowWork) action()  {}
func (Keep) action()       {}
func (TypePin) action()    {}
func (Matters) action()    {}
func (Search) action()     {}
func (Stop) action()       {}
func (Progressed) action() {}
func (Found) action()      {}
func (Failed) action()     {}
func (Pick) action()       {}
func (PickBy) action()     {}
func (Apply) action()      {}

// An Effect is what has to be done outside.
type Effect interface{ effect() }

// Effects.
type (
	// Run asks for a search; it ends any before.
	Run struct {
		Serial  int
		Case    *desk.Answer
		Options fit.RefitOptions
	}
	// Halt asks to stop the search.
	Halt struct{}
	// Take asks the desk to take a choice over.
	Take struct{ Choice *fit.Choice }
)

func (Run) effect()  {}
func (Halt) effect() {}
func (Take) effect() {}
