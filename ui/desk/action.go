package desk

import (
	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/internal/lengths"
)

// An Action is an intention of the person or a report of the work in the background.
type Action interface{ action() }

// Intentions.
type (
	// Begin asks for the first answer.
	Begin struct{}
	// Enter is a text entered in a field; it is kept even when it is refused.
	Enter struct{ Key, Text string }
	// Step moves a number by N of its steps.
	Step struct {
		Key string
		N   int
	}
	// Drag moves a number while a slider is held. All of it is one step of undo.
	Drag struct {
		Key   string
		Value float64
	}
	// DragEnd lets the slider go.
	DragEnd struct{}
	// Choose picks one of a field's choices.
	Choose struct{ Key, Value string }
	// Search narrows the list of shoes.
	Search struct{ Text string }
	// ChooseShoe picks a shoe; the size stays when the shoe is made in it.
	ChooseShoe struct {
		ID      string
		OwnSize bool // the size is to be the shoe's own
	}
	// UseScanned tries a scanned device in place of the one built of the options; nil goes back to that.
	UseScanned struct{ Device *ScannedDevice }
	// NextBuild goes to the next wedge build.
	NextBuild struct{}
	// StepBevels moves the bevels of both sides by N of their steps.
	StepBevels struct{ N int }
	// ToggleInsole takes the shoe's insole out or puts it in.
	ToggleInsole struct{}
	// TakeAsOrdered makes the device as it is the one that support is compared to.
	TakeAsOrdered struct{}
	// Refitted takes over the options of a refit; what was ordered stays.
	Refitted struct {
		Options   device.Options
		InsoleOut bool // and takes the insole out
		Size      *footwear.Size
	}
	// Learn takes over what outcomes taught about the give of walls; nil: the gives of the sheets again.
	Learn struct{ Gives *fit.Gives }
	// TakeUp goes on where a case stands.
	TakeUp struct {
		ShoeID       string
		Size         footwear.Size
		InsoleIn     bool
		Foot         fit.Foot
		Ordered, Now device.Options
		Label        string // what the device as ordered is called: a preset's, if it is one
	}
	// Try opens a pair that was screened: the shoe in the size, and the prescription when Options is not nil.
	Try struct {
		ShoeID    string
		Size      footwear.Size
		InsoleOut bool
		PresetID  string
		Options   *device.Options
	}
	// Undo goes one step back.
	Undo struct{}
	// Redo goes one step forward again.
	Redo struct{}
	// TogglePose shows the other pose.
	TogglePose struct{}
	// MoveCut puts a view's cut to a place, mm.
	MoveCut struct {
		View drawing.View
		MM   float64
	}
	// StepCut moves a view's cut, mm.
	StepCut struct {
		View drawing.View
		MM   float64
	}
	// Select picks a finding, by its place in the result's list, and moves the cuts to it.
	Select struct{ Index int }
	// SelectBy goes on by so many findings in the list.
	SelectBy struct{ N int }
	// SetLook picks light or dark.
	SetLook struct{ Look Look }
	// SetLengths picks the unit that lengths are entered and told in.
	SetLengths struct{ Unit lengths.Unit }
	// SetUnsure picks the odds between which a state is unsure, in per cent.
	SetUnsure struct{ Lo, Hi string }
	// SetScale picks the interface's scale for the next start.
	SetScale struct{ Text string }
)

// Reports of the work.
type (
	// Progressed says what is being worked on.
	Progressed struct {
		Generation uint64
		Text       string
	}
	// Answered brings an answer.
	Answered struct{ Answer *Answer }
	// Deepened brings what comes after an answer.
	Deepened struct {
		Generation uint64
		Depth      Depth
	}
	// Shelved brings the shoes as they are now: at the start, and when one's own have changed.
	Shelved struct{ Shoes *shelf.View }
	// Failed says that there is none, and why.
	Failed struct {
		Generation uint64
		Err        error
	}
)

func (Begin) action()         {}
func (Enter) action()         {}
func (Step) action()          {}
func (Drag) action()          {}
func (DragEnd) action()       {}
func (Choose) action()        {}
func (Search) action()        {}
func (ChooseShoe) action()    {}
func (UseScanned) action()    {}
func (NextBuild) action()     {}
func (StepBevels) action()    {}
func (ToggleInsole) action()  {}
func (TakeAsOrdered) action() {}
func (Refitted) action()      {}
func (TakeUp) action()        {}
func (Learn) action()         {}
func (Try) action()           {}
func (Deepened) action()      {}
func (Undo) action()          {}
func (Redo) action()          {}
func (TogglePose) action()    {}
func (MoveCut) action()       {}
func (StepCut) action()       {}
func (Select) action()        {}
func (SelectBy) action()      {}
func (SetLook) action()       {}
func (SetLengths) action()    {}
func (SetScale) action()      {}
func (SetUnsure) action()     {}
func (Progressed) action()    {}
func (Answered) action()      {}
func (Failed) action()        {}
func (Shelved) action()       {}

// An Effect is what has to be done outside: Reduce asks for it, the window does it.
type Effect interface{ effect() }

// Effects.
type (
	// Check asks for the answer to inputs, whose shoe is one of Shoes. A later Check overtakes an earlier one.
	Check struct {
		Generation uint64
		Inputs     Inputs
		Shoes      *shelf.View
	}
	// Log asks for a line in the event log.
	Log struct{ Line string }
	// Keep asks to keep look, unit and scale for the next start.
	Keep struct {
		Look    Look
		Lengths lengths.Unit
		Scale   float64
	}
	// KeepUnsure asks to keep the limits of unsure for the next start.
	KeepUnsure struct{ Limits fit.Unsureness }
)

func (Check) effect() {}
func (Log) effect()   {}
func (Keep) effect()  {}

func (KeepUnsure) effect() {}

// other is the pose that is not p.
func other(p fit.PoseName) fit.PoseName {
	if p == fit.Intended {
		return fit.Settled
	}
	return fit.Intended
}
