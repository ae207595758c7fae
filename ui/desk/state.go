// Package desk is the window without the window: what has been chosen, what is shown, what each intention changes, and
// the words that are shown for it. State goes in, State and effects come out (Reduce); the view models say what to show.
// Nothing here draws, waits or reads a file.
package desk

import (
	"maps"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/internal/lengths"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// Inputs are what an answer depends on, and what undo goes back to. Two equal Inputs have equal answers.
type Inputs struct {
	ShoeID   string
	Stamp    uint64 // of a shoe of one's own: another one after it was edited; 0 for the program's
	Size     footwear.Size
	InsoleIn bool
	Foot     fit.Foot
	// The subtalar joint axis; 0 is the published average.
	AxisInclinationDeg, AxisDeviationDeg float64
	Unsure                               fit.Unsureness // between which odds a state is unsure; zero: as usual
	PresetID                             string         // the preset that the options started from
	Device                               device.Options
	Ordered                              device.Options // what support is compared to: the prescription as it was chosen
	Learnt                               *fit.Gives     // what outcomes taught about the give of walls; nil: the gives of the sheets
	Scanned                              *ScannedDevice // stands in for the one built of the options; nil: none
}

// A ScannedDevice is a device that was read from a scan. It is not changed once it is in use.
type ScannedDevice struct {
	Name   string
	Device *device.Device
}

// Limits are the odds between which a state is unsure.
func (in Inputs) Limits() fit.Unsureness {
	if in.Unsure == (fit.Unsureness{}) {
		return fit.DefaultUnsure
	}
	return in.Unsure
}

// Axis is the subtalar joint axis that levers are counted about.
func (in Inputs) Axis() fit.Axis {
	a := fit.DefaultAxis()
	if in.AxisInclinationDeg > 0 {
		a.InclinationDeg = in.AxisInclinationDeg
	}
	if in.AxisDeviationDeg > 0 {
		a.DeviationDeg = in.AxisDeviationDeg
	}
	return a
}

// Room is the part of the inputs that makes the room.
func (in Inputs) Room() RoomKey { return RoomKey{in.ShoeID, in.Stamp, in.Size, in.InsoleIn} }

// A RoomKey says which room it is.
type RoomKey struct {
	ShoeID   string
	Stamp    uint64
	Size     footwear.Size
	InsoleIn bool
}

// An Answer is a device judged in a room.
type Answer struct {
	Generation uint64 // of the inputs it answers
	Inputs     Inputs
	Room       *footwear.Room
	Walls      *mesh.Tree // of the room's walls
	Bench      *fit.Bench
	Device     *device.Device
	Result     *fit.Result
}

// Depth is what is worked out after the verdict: what the device gives, and how sure the answer is.
type Depth struct {
	Support []fit.Figure // nil: not yet, or the device does not come to rest
	Odds    *fit.Odds    // of the draws so far; nil: none yet
	Done    bool         // nothing more comes
}

// A Look is light, dark, or as the system has it.
type Look string

// The looks.
const (
	SystemLook Look = "system"
	LightLook  Look = "light"
	DarkLook   Look = "dark"
)

// State is everything that the window shows. It is a value: Reduce returns a new one and leaves the old one be.
type State struct {
	Inputs
	Generation uint64      // counts the changes of Inputs
	Shoes      *shelf.View // one's own and the program's; nil: the program's

	Typed    map[string]string          // field → what was entered and refused
	Refused  map[string]problem.Problem // field → why
	Rules    problem.Problems           // what the rules say against Inputs as a whole
	Query    string                     // what the shoe is searched by
	Shown    *Answer                    // the last good answer
	Depth    Depth                      // of Shown
	Progress string                     // what is being worked on, empty when nothing is
	Failure  string                     // why Inputs have no answer though no rule is broken

	Pose     fit.PoseName
	Cuts     drawing.Cuts
	Selected int // index into Shown's findings, -1 for none

	Look    Look
	Lengths lengths.Unit // that lengths are entered and told in
	Scale   float64      // of the interface, used at the next start

	past, future []Inputs
	dragged      string // field that is being dragged; its changes are one step of undo
}

// Start is the demo case: nothing is answered yet.
func Start(in Inputs) State {
	return State{Inputs: in, Pose: fit.Settled, Selected: -1, Look: SystemLook, Scale: 1}
}

// CanUndo and CanRedo say whether there is a step to go back or forward to.
func (s *State) CanUndo() bool { return len(s.past) > 0 }

// CanRedo says whether there is a step to go forward to.
func (s *State) CanRedo() bool { return len(s.future) > 0 }

// Stale says whether what is shown answers other inputs than those entered.
func (s *State) Stale() bool { return s.Shown == nil || s.Shown.Inputs != s.Inputs }

// Bad says whether what is entered cannot be answered.
func (s *State) Bad() bool { return len(s.Refused) > 0 || len(s.Rules) > 0 || s.Failure != "" }

// finding is the selected finding, nil when there is none.
func (s *State) finding() *fit.Finding {
	if s.Shown == nil || s.Selected < 0 || s.Selected >= len(s.Shown.Result.Findings) {
		return nil
	}
	return &s.Shown.Result.Findings[s.Selected]
}

// refuse keeps a text that was entered and why it was refused.
func (s *State) refuse(key, text string, p problem.Problem) {
	s.Typed, s.Refused = cloneOrNew(s.Typed), cloneOrNew(s.Refused)
	s.Typed[key], s.Refused[key] = text, p
}

// accept forgets what was refused in a field.
func (s *State) accept(key string) {
	if _, refused := s.Refused[key]; !refused {
		return
	}
	s.Typed, s.Refused = cloneOrNew(s.Typed), cloneOrNew(s.Refused)
	delete(s.Typed, key)
	delete(s.Refused, key)
}

func cloneOrNew[V any](m map[string]V) map[string]V {
	if m == nil {
		return map[string]V{}
	}
	return maps.Clone(m)
}
