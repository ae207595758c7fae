package photopage

import (
	"lastroom/footwear/trace"
	"lastroom/ui/history"
)

// lain is what was said of a photo and what was read of it: what undo goes back to.
type lain struct {
	corners      [4]trace.Point
	known, set   bool
	sheet        trace.Paper
	what         trace.What
	side         trace.Side
	edgeHeightMM float64
	read         *trace.Tracing // nil: it is to be read anew
}

func (s *State) lain() lain {
	l := lain{s.Corners, s.Known, s.Set, s.Sheet, s.What, s.Side, s.EdgeHeightMM, s.Read}
	if s.Stage == Tracing || s.Moved {
		l.read = nil
	}
	return l
}

// remember notes what was before an action, if the action corrected something.
func remember(was, s State, a Action) State {
	held := ""
	switch a.(type) {
	case MoveCorner, NudgeCorner:
		held = "corner"
	case Drag:
		held = "height"
	case SetSheet, SetWhat, SetSide, FindCorners, Enter, Step:
	case LetGo:
		s.steps = s.steps.LetGo()
		return s
	default:
		return s
	}
	if before, now := was.lain(), s.lain(); before != now && s.Picture != nil {
		s.steps = s.steps.Holding(held, before)
	}
	return s
}

func (s *State) mayGoBack() bool { return s.Picture != nil && (s.Stage == Idle || s.Stage == Tracing) }

// CanUndo says whether a correction can be taken back.
func (s *State) CanUndo() bool { return s.mayGoBack() && s.steps.CanUndo() }

// CanRedo says whether what was taken back can be done again.
func (s *State) CanRedo() bool { return s.mayGoBack() && s.steps.CanRedo() }

// goBack goes a step of undo or redo.
func goBack(s State, step func(lain) (lain, history.Steps[lain], bool), done string) (State, []Effect) {
	if !s.mayGoBack() {
		return s, nil
	}
	to, steps, ok := step(s.lain())
	if !ok {
		return s, nil
	}
	s.steps, s.Typed, s.Refused = steps, "", nil
	s.Corners, s.Known, s.Set, s.Sheet, s.What, s.Side, s.EdgeHeightMM = to.corners, to.known, to.set, to.sheet, to.what, to.side, to.edgeHeightMM
	if to.read == nil {
		s, effects := again(s)
		s.Done = done
		return s, effects
	}
	s = began(s, Idle) // what is still on its way is dropped
	s.Read, s.Moved, s.Done = to.read, false, done
	return s, []Effect{Stop{}}
}
