// Package screenpage is the page of screening without the window: one device on the whole shelf, one shoe with every preset,
// or one device for several shoes. State goes in, State and effects come out (Reduce).
package screenpage

import (
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/ui/desk"
)

// A Mode is what is screened.
type Mode string

// The modes.
const (
	Shelf   Mode = "shelf"
	Presets Mode = "presets"
	Several Mode = "several"
)

// A Column is one of the table's, by which it can be sorted.
type Column int

// The columns.
const (
	ByRank Column = iota // as ranked: odds, then margin
	ByShoe
	BySize
	ByDevice
	ByMargin
)

// Columns are the heads of the table, in order.
var Columns = []string{"state, odds", "shoe", "size", "device", "to the limit"}

// State is everything that the page shows. It is a value.
type State struct {
	Case *desk.Answer // whose device, shoe and foot are screened

	Mode     Mode
	Rows     []fit.Screened // in order of rank, as far as they have come
	Ticked   map[string]bool
	Together []fit.ForAll // what fits most of the ticked shoes, best first

	Sort    Column
	Back    bool // the other way round
	Filter  string
	Serial  int
	Running bool
	Done    int
	Of      int
	Doing   string
	Failure string
	Picked  int // index into what Table shows, or into Together
}

// Start is the page before it is turned to.
func Start() State { return State{Mode: Shelf} }

// An Action is an intention or a report.
type Action interface{ action() }

// Intentions and reports.
type (
	// Open shows the page for a case.
	Open struct{ Case *desk.Answer }
	// SetMode picks what is screened, and begins.
	SetMode struct{ Mode Mode }
	// Begin screens again.
	Begin struct{}
	// Stop ends it.
	Stop struct{}
	// SortBy sorts by a column; by the same again, the other way round.
	SortBy struct{ Column Column }
	// Narrow keeps the rows that have all the words.
	Narrow struct{ Text string }
	// Tick marks the picked row's shoe for "several", or takes the mark away.
	Tick struct{}
	// Pick picks a row of the table.
	Pick struct{ Index int }
	// PickBy goes on by so many rows.
	PickBy struct{ N int }
	// Try opens the picked pair on the desk.
	Try struct{}
	// Came brings one pair.
	Came struct {
		Serial int
		Pair   fit.Screened
	}
	// Progressed says how far it is.
	Progressed struct {
		Serial   int
		Done, Of int
		Doing    string
	}
	// Ended brings all, ranked.
	Ended struct {
		Serial   int
		Rows     []fit.Screened
		Together []fit.ForAll
	}
	// Failed says why there is nothing.
	Failed struct {
		Serial int
		Err    error
	}
)

func (Open) action()       {}
func (SetMode) action()    {}
func (Begin) action()      {}
func (Stop) action()       {}
func (SortBy) action()     {}
func (Narrow) action()     {}
func (Tick) action()       {}
func (Pick) action()       {}
func (PickBy) action()     {}
func (Try) action()        {}
func (Came) action()       {}
func (Progressed) action() {}
func (Ended) action()      {}
func (Failed) action()     {}

// An Effect is what has to be done outside.
type Effect interface{ effect() }

// Effects.
type (
	// Run asks for a screening; it ends any before. Shoes are those of "several".
	Run struct {
		Serial int
		Mode   Mode
		Case   *desk.Answer
		Shoes  []footwear.Sheet
	}
	// Halt asks to stop it.
	Halt struct{}
	// Take asks the desk to open a pair.
	Take struct{ Action desk.Action }
)

func (Run) effect()  {}
func (Halt) effect() {}
func (Take) effect() {}
