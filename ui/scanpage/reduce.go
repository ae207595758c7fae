package scanpage

import (
	"fmt"
	"path/filepath"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/ui/history"
)

// Reduce is what an action makes of a state, and what has to be done for it. It is pure: equal arguments, equal results.
func Reduce(s State, a Action) (State, []Effect) {
	switch a.(type) {
	case Undo:
		return goBack(s, false)
	case Redo:
		return goBack(s, true)
	}
	next, effects := reduce(s, a)
	return remember(s, next, a), effects
}

func reduce(s State, a Action) (State, []Effect) {
	switch a := a.(type) {
	case Open:
		return open(s, a)
	case PickUnit:
		return pickUnit(s, a.MM)
	case Cancel:
		return cancel(s)
	case SetPurpose:
		return setPurpose(s, a.Purpose)
	case SetSide:
		return setSide(s, a.Side)
	case Restore:
		if !s.Corrected() {
			return s, nil
		}
		s.Correction, s.Problem, s.Done = mesh.Pose{}, "", ""
		return measure(s)
	case HalfTurn:
		if s.Shape == nil || s.Busy() {
			return s, nil
		}
		s = turned(s, a.View, 180)
		return measure(s)
	case LetGo:
		if s.Shape == nil || !s.Stale || s.Busy() {
			return s, nil
		}
		return measure(s)
	case PickPoint:
		return pickPoint(s, a.At)
	case NamePatch:
		return namePatch(s, a.Feature)
	case Enter, Step, Drag:
		return number(s, a), nil
	case Use:
		return use(s)
	case Progressed, WasRead, WasMended, WasFound, WasMeasured, WasUsed, Failed:
		return report(s, a)
	default:
		return look(s, a), nil
	}
}

// look is what an action changes in how the scan is looked at, and in where it lies while it is being moved.
func look(s State, a Action) State {
	switch a := a.(type) {
	case SetTool:
		s.Tool = a.Tool
	case ToggleFar:
		s.Far = !s.Far
	case MoveCut:
		s.Cuts = s.within(s.Cuts.Moved(a.View, a.MM))
	case StepCut:
		s.Cuts = s.within(s.Cuts.Moved(a.View, s.Cuts.At(a.View)+a.MM))
	case Move:
		if s.Shape == nil || s.Busy() {
			return s
		}
		u, v := axes(a.View)
		by := r3.Add(r3.Scale(a.By.U, u), r3.Scale(a.By.V, v))
		s = corrected(s, mesh.Pose{T: by})
	case Turn:
		if s.Shape == nil || s.Busy() {
			return s
		}
		s = turned(s, a.View, a.Deg)
	case DropPoints:
		s.Points = nil
	case PickPatch:
		s = pickPatch(s, a.Face)
	}
	return s
}

// axes are the directions of a drawing's U and V in space.
func axes(v drawing.View) (u, w r3.Vec) {
	o := v.Lift(drawing.Pt{}, drawing.Cuts{})
	return r3.Sub(v.Lift(drawing.Pt{U: 1}, drawing.Cuts{}), o), r3.Sub(v.Lift(drawing.Pt{V: 1}, drawing.Cuts{}), o)
}

// turned turns the scan in a drawing about the crossing of the cuts.
func turned(s State, v drawing.View, deg float64) State {
	u, w := axes(v)
	const rad = 3.14159265358979323846 / 180
	centre := r3.Vec{X: s.Cuts.XMM, Y: s.Cuts.YMM, Z: s.Cuts.ZMM}
	return corrected(s, mesh.PoseAbout(centre, r3.Scale(deg*rad, r3.Cross(u, w)), r3.Vec{}))
}

// corrected adds a motion in the drawings' frame to the correction.
func corrected(s State, p mesh.Pose) State {
	if s.Mirrored() {
		p = mirrored(p)
	}
	s.Correction = p.Compose(s.Correction)
	s.Stale, s.Done = true, ""
	return s
}

// mirrored is the motion as it is seen in the mirror Y → −Y.
func mirrored(p mesh.Pose) mesh.Pose {
	p.Q.Imag, p.Q.Kmag = -p.Q.Imag, -p.Q.Kmag
	p.T.Y = -p.T.Y
	return p
}

// within keeps the cuts near the scan.
func (s *State) within(c drawing.Cuts) drawing.Cuts {
	d := s.Drawn()
	if d == nil {
		return c
	}
	b := d.Bounds()
	const marginMM = 5
	lo, hi := drawing.CutsThrough(b.Min), drawing.CutsThrough(b.Max)
	for _, v := range drawing.Views {
		c = c.Moved(v, max(lo.At(v)-marginMM, min(hi.At(v)+marginMM, c.At(v))))
	}
	return c
}

// began counts a new job.
func began(s State, stage Stage, doing string) State {
	s.Job++
	s.Stage, s.Progress, s.Doing, s.Problem, s.Done = stage, 0, doing, "", ""
	return s
}

func open(s State, a Open) (State, []Effect) {
	name := filepath.Base(a.Path)
	s = began(s, Reading, "Reading "+name)
	s.opening, s.raw = Opening{Path: a.Path, Name: name, Purpose: a.Purpose}, nil
	return s, []Effect{ReadFile{s.Job, a.Path}}
}

// mend goes on with the file on its way in a unit.
func mend(s State, mm float64, guessed bool) (State, []Effect) {
	o, raw := s.opening, s.raw
	s = began(s, Mending, "Repairing "+o.Name)
	s.opening, s.raw = o, raw
	return s, []Effect{Mend{s.Job, Shape{Name: o.Name, Path: o.Path, Raw: raw, UnitMM: mm, Guessed: guessed}}}
}

func pickUnit(s State, mm float64) (State, []Effect) {
	switch {
	case mm <= 0 || s.Busy():
		return s, nil
	case s.Stage == AskUnit:
		return mend(s, mm, false)
	case s.Shape == nil || mm == s.Shape.UnitMM:
		return s, nil
	}
	// The open file, in another unit.
	s.opening, s.raw = Opening{Path: s.Shape.Path, Name: s.Shape.Name, Purpose: s.Purpose, again: true}, s.Shape.Raw
	if f := s.raw.Info.UnitMM; f > 0 && f != mm {
		raw := *s.raw
		raw.Mesh, raw.Info.UnitMM = raw.Mesh.Scaled(1/f), 0
		s.raw = &raw
	}
	return mend(s, mm, false)
}

func cancel(s State) (State, []Effect) {
	if s.Stage == Idle {
		return s, nil
	}
	s.Job++ // what is still on its way is dropped
	s.Stage, s.Doing, s.Progress, s.raw = Idle, "", 0, nil
	s.Done = "Stopped."
	if s.Shape != nil && s.Stale {
		s.Done = "Stopped; what was read off is of another frame than the one shown."
	}
	return s, []Effect{Stop{}}
}

// find asks for the frame.
func find(s State, points *[3]r3.Vec) (State, []Effect) {
	if s.Shape == nil {
		return s, nil
	}
	s = began(s, Finding, "Finding the frame of "+s.Shape.Name)
	side := footwear.SideUnknown
	if s.SideGiven {
		side = s.Side
	}
	return s, []Effect{Find{s.Job, s.Shape, s.Purpose, side, points}}
}

// measure asks for what can be read off where the scan lies.
func measure(s State) (State, []Effect) {
	s.Stale = true
	if s.Shape == nil || s.Found.Rough && !s.Corrected() {
		return s, nil
	}
	done := s.Done
	s = began(s, Finding, "Reading measures off "+s.Shape.Name)
	s.Done = done
	return s, []Effect{Measure{s.Job, s.placed()}}
}

func (s *State) placed() Placed {
	return Placed{Shape: s.Shape, Purpose: s.Purpose, Found: s.Found, Pose: s.Pose(), Moved: s.Correction, Side: s.Side}
}

func setPurpose(s State, p Purpose) (State, []Effect) {
	if s.Stage == Reading || s.Stage == AskUnit || s.Stage == Mending {
		s.opening.Purpose = p
		return s, nil
	}
	if s.Shape == nil || p == s.Purpose {
		s.Purpose = p
		return s, nil
	}
	again := (p == Device) != (s.Purpose == Device)
	s.Purpose = p
	if again {
		s = fresh(s)
		return find(s, nil)
	}
	return measure(s)
}

// fresh forgets what is known of the frame.
func fresh(s State) State {
	s.Found, s.Correction, s.Read, s.Points, s.Patch = Found{Rough: true}, mesh.Pose{}, nil, nil, -1
	s.Stale = true
	if !s.SideGiven {
		s.Side = footwear.SideUnknown
	}
	if s.Purpose != Device && s.Tool == PatchTool {
		s.Tool = MoveTool
	}
	return s
}

func setSide(s State, side footwear.Side) (State, []Effect) {
	if s.Side == side && s.SideGiven {
		return s, nil
	}
	was := s.Mirrored()
	s.Side, s.SideGiven = side, side != footwear.SideUnknown
	if s.Shape == nil || s.Found.Rough {
		return s, nil
	}
	if s.Mirrored() != was {
		s.Cuts.YMM = -s.Cuts.YMM
	}
	return measure(s)
}

func pickPoint(s State, at r3.Vec) (State, []Effect) {
	d := s.Drawn()
	if d == nil || s.Busy() {
		return s, nil
	}
	if len(s.Points) == pointCount {
		s.Points = nil
	}
	s.Points = append(s.Points[:len(s.Points):len(s.Points)], d.Unplace(at))
	if len(s.Points) < pointCount {
		return s, nil
	}
	s.SideGiven = false // the points tell it
	points := [3]r3.Vec(s.Points)
	return find(s, &points)
}

func pickPatch(s State, face int32) State {
	s.Patch = -1
	if s.Read != nil && s.Read.Skin != nil && face >= 0 && int(face) < len(s.Read.Skin.Tag) {
		s.Patch, s.PatchIs = face, device.Feature(s.Read.Skin.Tag[face])
	}
	return s
}

// namePatch gives the picked patch to a feature.
func namePatch(s State, f device.Feature) (State, []Effect) {
	if s.Read == nil || s.Read.Skin == nil || s.Read.Device == nil || s.Patch < 0 || s.Busy() || f >= device.NumFeatures {
		return s, nil
	}
	was := device.Feature(s.Read.Skin.Tag[s.Patch])
	if was == f {
		return s, nil
	}
	s = began(s, Finding, "Naming the patch")
	s.Done = fmt.Sprintf("The patch is %s now, no longer %s.", f, was)
	return s, []Effect{Rename{s.Job, s.Read, s.Patch, f}}
}

// pointCount is how many points tell a frame.
const pointCount = 3

func use(s State) (State, []Effect) {
	if why := s.NotYet(); why != "" {
		s.Problem = why
		return s, nil
	}
	s = began(s, Using, "Making the room of "+s.Shape.Name)
	if s.Purpose == Device {
		s.Doing = "Making a device of " + s.Shape.Name
	}
	return s, []Effect{Make{Job: s.Job, Placed: s.placed(), Allow: s.Allow, Read: s.Read}}
}

// NotYet says why the scan can't be used yet, empty when it can.
func (s *State) NotYet() string {
	switch {
	case s.Shape == nil:
		return "Open a file first."
	case s.Stage == AskUnit:
		return "Answer which unit the file is in first."
	case s.Busy():
		return "Wait until the work is done."
	case s.Found.Rough && !s.Corrected():
		return "The scan has no frame yet: pick three points, or move and turn it into place."
	case s.Side == footwear.SideUnknown:
		return "Say first whether it is a right or a left one."
	case s.Read == nil || s.Stale:
		return "Nothing could be read off the scan where it lies now."
	case len(s.Refused) > 0:
		return "A thickness is not taken over; mend it first."
	}
	return ""
}

// report takes what comes back from the work.
func report(s State, a Action) (State, []Effect) {
	switch a := a.(type) {
	case Progressed:
		if a.Job == s.Job {
			s.Progress = a.Share
			if a.Doing != "" {
				s.Doing = a.Doing
			}
		}
	case WasRead:
		if a.Job == s.Job {
			return wasRead(s, a.Raw)
		}
	case WasMended:
		if a.Job == s.Job {
			return wasMended(s, a.Shape)
		}
	case WasFound:
		if a.Job == s.Job {
			return wasFound(s, a.Found)
		}
	case WasMeasured:
		if a.Job == s.Job {
			s.Stage, s.Doing, s.Read, s.Stale, s.Patch = Idle, "", a.Read, false, -1
			return s, []Effect{Log{s.logLine()}}
		}
	case WasUsed:
		if a.Job == s.Job {
			s.Stage, s.Doing, s.Done = Idle, "", a.Text
		}
	case Failed:
		if a.Job == s.Job {
			return failed(s, a.Err)
		}
	}
	return s, nil
}

func wasRead(s State, raw *Raw) (State, []Effect) {
	s.raw = raw
	switch {
	case raw.Info.UnitMM > 0:
		return mend(s, raw.Info.UnitMM, false)
	case raw.Doubted > 0:
		s.Stage, s.Doing = AskUnit, ""
		s.Problem = fmt.Sprintf("The file says %s, but then %s is %.4g mm across.", unitName(raw.Doubted), s.opening.Name, raw.Mesh.LengthAcross()*raw.Doubted)
		return s, []Effect{Log{fmt.Sprintf("scan asks units of %q", s.opening.Name)}}
	case raw.Ambiguous:
		s.Stage, s.Doing = AskUnit, ""
		return s, []Effect{Log{fmt.Sprintf("scan asks units of %q", s.opening.Name)}}
	case len(raw.Guesses) == 0:
		// Of no size a shoe has: the person may know better.
		s.Stage, s.Doing = AskUnit, ""
		s.Problem = fmt.Sprintf("In no unit is %s as long as a shoe: %.4g across in the file's numbers.", s.opening.Name, raw.Mesh.LengthAcross())
		return s, []Effect{Log{fmt.Sprintf("scan asks units of %q", s.opening.Name)}}
	}
	return mend(s, raw.Guesses[0].Unit.MM, true)
}

func wasMended(s State, shape *Shape) (State, []Effect) {
	s.Shape, s.raw, s.Purpose = shape, nil, s.opening.Purpose
	if !s.opening.again {
		s.steps = history.Steps[lain]{}
	}
	s.SideGiven, s.Side = false, footwear.SideUnknown
	s.Tool = MoveTool
	s = fresh(s)
	s = rough(s)
	return find(s, nil)
}

// rough lays the scan with its middle in the origin, as long as it has no frame.
func rough(s State) State {
	b := s.Shape.Mesh.Bounds()
	s.Found = Found{Rough: true, Pose: mesh.Pose{T: r3.Scale(-0.5, r3.Add(b.Min, b.Max))}}
	s.Cuts = drawing.Cuts{}
	return s
}

func wasFound(s State, f Found) (State, []Effect) {
	s.Found, s.Correction, s.Stale = f, mesh.Pose{}, true
	if !s.SideGiven {
		s.Side = f.Side
	}
	s.Points, s.Patch = nil, -1
	if f.Read == nil {
		s.Cuts = s.within(restingCuts(f))
		return measure(s)
	}
	s.Stage, s.Doing, s.Read, s.Stale = Idle, "", f.Read, false
	s.Cuts = s.within(restingCuts(f))
	return s, []Effect{Log{s.logLine()}}
}

// restingCuts stand where the heel is widest, on the centre line, low over the seat.
func restingCuts(f Found) drawing.Cuts {
	const heelShare, lowMM = 0.14, 8 // of the length, usual
	return drawing.Cuts{XMM: heelShare * f.LengthMM, ZMM: lowMM}
}

func failed(s State, err error) (State, []Effect) {
	stage := s.Stage
	s.Done = ""
	s.Stage, s.Doing, s.Progress, s.Problem = Idle, "", 0, err.Error()
	if stage == Reading || stage == Mending {
		s.raw = nil
		if s.Shape != nil {
			s.Problem += ". " + s.Shape.Name + " stays."
		}
		return s, []Effect{Log{fmt.Sprintf("scan failed stage=%s: %v", stage, err)}}
	}
	if stage == Finding && s.Found.Rough {
		s.Tool = PointTool
	}
	return s, []Effect{Log{fmt.Sprintf("scan failed stage=%s: %v", stage, err)}}
}

// logLine is what the event log says of a scan in its frame.
func (s *State) logLine() string {
	w := s.Correction.RotationVectorDeg()
	return fmt.Sprintf("scan ready name=%q purpose=%s side=%q length_mm=%.2f triangles=%d moved_mm=%.2f turned_deg=%.2f job=%d",
		s.Shape.Name, s.Purpose, s.Side, s.Found.LengthMM, len(s.Shape.Mesh.F), r3.Norm(s.Correction.T), r3.Norm(w), s.Job)
}
