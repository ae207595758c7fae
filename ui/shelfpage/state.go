// Package shelfpage is the page of all shoes, without the page: which are shown, which is chosen, what may be done to it,
// and the words for it. State goes in, State and effects come out (Reduce). Nothing here waits or touches the shelf.
package shelfpage

import (
	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/internal/problem"
)

// State is everything that the page shows. It is a value: Reduce returns a new one and leaves the old one be.
type State struct {
	Shoes    *shelf.View
	Folder   string
	Problems problem.Problems // what of the folder can't be read
	Last     shelf.Step       // what undo takes back
	CanUndo  bool

	Query   string
	OwnOnly bool
	Chosen  string // identifier
	InUse   string
	Size    string // what is typed as the size to grade to
	Fault   string
	Done    string
}

// Start is a page on which one's own shoes are shown, before the shelf was looked at.
func Start() State { return State{OwnOnly: true} }

// An Action is an intention of the person or a report of the work.
type Action interface{ action() }

// Intentions.
type (
	// Search narrows the list.
	Search struct{ Text string }
	// ToggleOwn shows one's own shoes only, or the program's too.
	ToggleOwn struct{}
	// Choose picks a shoe of the list.
	Choose struct{ ID string }
	// TypeSize is a size to grade to.
	TypeSize struct{ Text string }
	// Do does something to the chosen shoe, or takes the last thing back.
	Do struct{ What Deed }
	// Import takes in a file.
	Import struct{ Path string }
	// Export writes the chosen shoe to a file; the person agreed to write over it.
	Export struct{ Path string }
)

// Reports.
type (
	// Shelved brings the shelf as it is now.
	Shelved struct {
		Shoes    *shelf.View
		Folder   string
		Problems problem.Problems
		Last     shelf.Step
		CanUndo  bool
	}
	// Using says which shoe is in use.
	Using struct{ ID string }
	// Did says what was done, and to which shoe, which is chosen then; "" keeps the choice.
	Did struct{ Text, ID string }
	// CouldNot says why something was not done.
	CouldNot struct{ Err error }
)

// A Deed is something to do.
type Deed string

// The deeds.
const (
	Use    Deed = "use"
	Edit   Deed = "edit"
	Copy   Deed = "copy"
	Grade  Deed = "grade"
	Delete Deed = "delete"
	Undo   Deed = "undo"
)

func (Search) action()    {}
func (ToggleOwn) action() {}
func (Choose) action()    {}
func (TypeSize) action()  {}
func (Do) action()        {}
func (Import) action()    {}
func (Export) action()    {}
func (Shelved) action()   {}
func (Using) action()     {}
func (Did) action()       {}
func (CouldNot) action()  {}

// A Job is an effect: what is to be done on the shelf or in the window, to a shoe, with a size or a file.
type Job struct {
	Do   Deed
	ID   string
	Size footwear.Size
	Path string
}

// Deeds that only come as jobs: with a file.
const (
	ImportFile Deed = "import"
	ExportFile Deed = "export"
)
