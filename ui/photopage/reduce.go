package photopage

import (
	"fmt"
	"strings"

	"lastroom/footwear"
	"lastroom/footwear/trace"
	"lastroom/ui/entry"
	"lastroom/ui/history"
)

// HeightSpec is the height of the insole's edge.
var HeightSpec = entry.Spec{Key: "edge_height_mm", Name: "height of the edge", Unit: "mm", Min: 0, Max: trace.MaxEdgeHeightMM, Step: 0.5}

// Reduce is what an action makes of a state, and what has to be done for it. It is pure: equal arguments, equal results.
func Reduce(s State, a Action) (State, []Effect) {
	switch a.(type) {
	case Undo:
		return goBack(s, s.steps.Undo, "Taken back.")
	case Redo:
		return goBack(s, s.steps.Redo, "Done again.")
	}
	next, effects := reduce(s, a)
	return remember(s, next, a), effects
}

func reduce(s State, a Action) (State, []Effect) {
	switch a := a.(type) {
	case Open:
		s = began(s, Loading)
		s.opening = [2]string{a.Path, a.Name}
		return s, []Effect{Load{s.Job, a.Path, a.Name}}
	case Cancel:
		if !s.Busy() {
			return s, nil
		}
		s.Job++
		s.Stage, s.Done = Idle, "Stopped."
		return s, []Effect{Stop{}}
	case SetSheet:
		if a.Paper == s.Sheet {
			return s, nil
		}
		s.Sheet = a.Paper
		return again(s)
	case SetWhat:
		if a.What == s.What {
			return s, nil
		}
		s.What = a.What
		return again(s)
	case SetSide:
		if a.Side == s.Side {
			return s, nil
		}
		s.Side = a.Side
		return again(s)
	case Enter, Step, Drag:
		return height(s, a)
	case MoveCorner, NudgeCorner, HoldCorner:
		return corner(s, a), nil
	case LetGo:
		if !s.Moved || s.Stage == Loading {
			return s, nil
		}
		return again(s)
	case FindCorners:
		if !s.Set {
			return s, nil
		}
		s.Set = false
		return again(s)
	case Apply:
		return apply(s, a.New)
	default:
		return report(s, a)
	}
}

func began(s State, stage Stage) State {
	s.Job++
	s.Stage, s.Problem, s.Done = stage, "", ""
	return s
}

// again reads the outline anew.
func again(s State) (State, []Effect) {
	if s.Picture == nil || s.Stage == Loading {
		return s, nil
	}
	s = began(s, Tracing)
	s.Moved = false
	return s, []Effect{Trace{s.Job, s.Path, s.Name, s.Options()}}
}

func height(s State, a Action) (State, []Effect) {
	v := s.EdgeHeightMM
	switch a := a.(type) {
	case Enter:
		v = 0
		if strings.TrimSpace(a.Text) != "" {
			got, refused := HeightSpec.Parse(a.Text)
			if refused != nil {
				s.Typed, s.Refused = a.Text, refused
				return s, nil
			}
			v = got
		}
	case Step:
		v = HeightSpec.Stepped(v, a.N)
	case Drag:
		v = HeightSpec.Nearest(a.Value)
	}
	s.Typed, s.Refused = "", nil
	if v == s.EdgeHeightMM {
		return s, nil
	}
	s.EdgeHeightMM = v
	return again(s)
}

// corner moves a corner, within the picture.
func corner(s State, a Action) State {
	if s.Picture == nil || s.Stage == Loading || !s.Known {
		return s
	}
	at := s.Corners[s.Held]
	switch a := a.(type) {
	case HoldCorner:
		if a.Corner >= 0 && a.Corner < 4 {
			s.Held = a.Corner
		}
		return s
	case MoveCorner:
		if a.Corner < 0 || a.Corner > 3 {
			return s
		}
		s.Held, at = a.Corner, a.At
	case NudgeCorner:
		at.X, at.Y = at.X+a.DX, at.Y+a.DY
	}
	at.X = max(0, min(float64(s.Picture.Wide), at.X))
	at.Y = max(0, min(float64(s.Picture.High), at.Y))
	s.Corners[s.Held], s.Set, s.Moved = at, true, true
	return s
}

func apply(s State, fresh bool) (State, []Effect) {
	if why := s.NotYet(); why != "" {
		s.Problem = why
		return s, nil
	}
	s = began(s, Filling)
	return s, []Effect{Fill{Job: s.Job, Name: s.Name, Read: s.Read, New: fresh, Changes: s.Changes()}}
}

// NotYet says why nothing can be filled in yet, empty when it can.
func (s *State) NotYet() string {
	switch {
	case s.Picture == nil:
		return "Open a photo first."
	case s.Busy():
		return "Wait until the work is done."
	case s.Read == nil:
		return "No outline is read yet."
	case s.Read.Side == trace.AnySide:
		return "Say first which foot it is for."
	}
	return ""
}

// Changes are the measures that a sheet gets from what was read.
func (s *State) Changes() []Change {
	if s.Read == nil {
		return nil
	}
	var out []Change
	for _, c := range []Change{
		{footwear.LastLength, s.Read.Length},
		{footwear.SeatWidth, s.Read.SeatWidth},
		{footwear.WaistWidth, s.Read.WaistWidth},
		{footwear.BallWidth, s.Read.BallWidth},
	} {
		if c.M.Value > 0 {
			out = append(out, c)
		}
	}
	return out
}

func report(s State, a Action) (State, []Effect) {
	switch a := a.(type) {
	case WasLoaded:
		if a.Job != s.Job {
			return s, nil
		}
		s.Path, s.Name, s.Picture = s.opening[0], s.opening[1], a.Picture
		s.Read, s.Set, s.Known, s.Side, s.Stage = nil, false, false, trace.AnySide, Idle
		s.steps = history.Steps[lain]{}
		return again(s)
	case WasTraced:
		if a.Job != s.Job {
			return s, nil
		}
		s.Stage, s.Read = Idle, a.Read
		if !s.Set {
			s.Corners = a.Read.Corners
		}
		s.Known = true
		return s, []Effect{Log{fmt.Sprintf("photo read name=%q side=%q length_mm=%.2f seat_mm=%.2f ball_mm=%.2f job=%d",
			s.Name, a.Read.Side, a.Read.Length.Value, a.Read.SeatWidth.Value, a.Read.BallWidth.Value, s.Job)}}
	case WasFilled:
		if a.Job == s.Job {
			s.Stage, s.Done = Idle, a.Text
		}
	case Failed:
		if a.Job == s.Job {
			return failed(s, a.Err)
		}
	}
	return s, nil
}

func failed(s State, err error) (State, []Effect) {
	was := s.Stage
	s.Stage, s.Problem = Idle, err.Error()
	switch {
	case was == Loading && s.Picture != nil:
		s.Problem += ". " + s.Name + " stays."
	case was == Tracing:
		s.Read = nil
		if !s.Known {
			s.Corners, s.Known = inset(s.Picture), true
		}
	}
	return s, []Effect{Log{fmt.Sprintf("photo failed stage=%s: %v", was, err)}}
}

// inset are corners to begin with, a little within the picture, clockwise.
func inset(p *trace.Picture) [4]trace.Point {
	w, h := float64(p.Wide), float64(p.High)
	const in = 0.12
	return [4]trace.Point{{X: in * w, Y: in * h}, {X: (1 - in) * w, Y: in * h}, {X: (1 - in) * w, Y: (1 - in) * h}, {X: in * w, Y: (1 - in) * h}}
}
