package scanpage

import (
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// What can be taken back on the page: every correction, until another file is open.

// lain is how a scan lies and what is known of it: what undo goes back to.
type lain struct {
	shape      *Shape
	purpose    Purpose
	found      Found
	correction mesh.Pose
	read       *Read
	stale      bool
	side       footwear.Side
	sideGiven  bool
	points     []r3.Vec
	cuts       drawing.Cuts
	allow      Allowances
}

func (s *State) lain() lain {
	return lain{s.Shape, s.Purpose, s.Found, s.Correction, s.Read, s.Stale, s.Side, s.SideGiven, s.Points, s.Cuts, s.Allow}
}

// sameAs says whether nothing that the person corrected, or that came of it, is another.
func (l *lain) sameAs(o *lain) bool {
	return l.shape == o.shape && l.purpose == o.purpose && l.found.Pose == o.found.Pose && l.found.Rough == o.found.Rough &&
		l.correction == o.correction && l.read == o.read && l.side == o.side && l.sideGiven == o.sideGiven &&
		len(l.points) == len(o.points) && l.allow == o.allow
}

// remember notes what was before an action, if the action corrected something. A movement that is not let go of yet, and a
// number that is still dragged, are one step.
func remember(was, s State, a Action) State {
	held := ""
	switch a := a.(type) {
	case Move, Turn:
		held = "pose"
	case Drag:
		held = a.Key
	case PickUnit:
		if was.Stage == AskUnit { // of a file that is not open yet
			return s
		}
	case SetPurpose, SetSide, HalfTurn, Restore, PickPoint, DropPoints, NamePatch, Enter, Step:
	case LetGo:
		s.steps = s.steps.LetGo()
		return s
	default:
		return s
	}
	before, now := was.lain(), s.lain()
	if before.sameAs(&now) && s.Job == was.Job {
		return s
	}
	s.steps = s.steps.Holding(held, before)
	return s
}

// mayGoBack says whether the page is in a state from which it can go to another: not while another file is on its way.
func (s *State) mayGoBack() bool { return s.Shape != nil && (s.Stage == Idle || s.Stage == Finding) }

// CanUndo says whether a correction can be taken back.
func (s *State) CanUndo() bool { return s.mayGoBack() && s.steps.CanUndo() }

// CanRedo says whether what was taken back can be done again.
func (s *State) CanRedo() bool { return s.mayGoBack() && s.steps.CanRedo() }

// goBack takes the last correction back, or does it again.
func goBack(s State, again bool) (State, []Effect) {
	if !s.mayGoBack() {
		return s, nil
	}
	step, done := s.steps.Undo, "Taken back."
	if again {
		step, done = s.steps.Redo, "Done again."
	}
	now := s.lain()
	to, steps, ok := step(now)
	for ok && to.sameAs(&now) { // what came to nothing is no step
		s.steps = steps
		if step = s.steps.Undo; again {
			step = s.steps.Redo
		}
		to, steps, ok = step(now)
	}
	if !ok {
		return s, nil
	}
	s.steps, s.Typed, s.Refused = steps, nil, nil
	s.Shape, s.Purpose, s.Found, s.Correction = to.shape, to.purpose, to.found, to.correction
	s.Read, s.Stale, s.Side, s.SideGiven = to.read, to.stale, to.side, to.sideGiven
	s.Points, s.Cuts, s.Allow, s.Patch = to.points, to.cuts, to.allow, -1
	if s.Purpose != Device && s.Tool == PatchTool {
		s.Tool = MoveTool
	}
	s.Job++ // what is still on its way is dropped
	s.Stage, s.Doing, s.Progress, s.Problem, s.Done = Idle, "", 0, "", done
	if s.Stale {
		if next, effects := measure(s); len(effects) > 0 {
			return next, effects
		}
	}
	return s, []Effect{Stop{}}
}
