package desk

import (
	"fmt"
	"strings"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/internal/problem"
	"lastroom/ui/entry"
)

// undoSteps is how far back undo goes.
const undoSteps = 200

// Reduce is what an action makes of a state, and what has to be done for it. It is pure: equal arguments, equal results.
func Reduce(s State, a Action) (State, []Effect) {
	switch a := a.(type) {
	case Begin:
		return s, s.ask()
	case Enter:
		return enter(s, a)
	case Step:
		return step(s, a)
	case Drag:
		return drag(s, a)
	case DragEnd:
		s.dragged = ""
		return s, nil
	case Choose:
		return choose(s, a)
	case Search:
		s.Query = a.Text
		return s, nil
	case ChooseShoe:
		in := s.Inputs
		if !in.putShoe(s.Shoes, a.ID) {
			return s, nil
		}
		if shoe, err := s.Shoes.Find(a.ID); err == nil && a.OwnSize {
			in.Size = shoe.Sheet.Size
		}
		return changed(s, in, "shoe")
	case UseScanned:
		in := s.Inputs
		in.Scanned = a.Device
		return changed(s, in, "device")
	case NextBuild:
		return nextBuild(s)
	case StepBevels:
		in := s.Inputs
		for _, key := range []string{"bevel_medial_deg", "bevel_lateral_deg"} {
			if f, ok := FieldByKey(key); ok {
				spec := f.Spec(in)
				f.put(&in, spec.Stepped(f.start(in, spec), a.N))
			}
		}
		return changed(s, in, "bevels")
	case ToggleInsole:
		in := s.Inputs
		in.InsoleIn = !in.InsoleIn
		return changed(s, in, "insole")
	case TakeAsOrdered:
		in := s.Inputs
		in.Ordered = in.Device
		return changed(s, in, "ordered")
	case Refitted:
		in := s.Inputs
		in.Device = a.Options
		in.Device.Side = s.Device.Side
		if a.InsoleOut {
			in.InsoleIn = false
		}
		if a.Size != nil {
			in.Size = *a.Size
		}
		return changed(s, in, "refit")
	case Learn:
		in := s.Inputs
		in.Learnt = a.Gives
		return changed(s, in, "learnt")
	case TakeUp:
		in := s.Inputs
		if !in.putShoe(s.Shoes, a.ShoeID) {
			return s, nil
		}
		in.Size, in.InsoleIn, in.Foot, in.Ordered, in.Device, in.Scanned = a.Size, a.InsoleIn, a.Foot, a.Ordered, a.Now, nil
		if p, err := device.FindPreset(a.Label); err == nil {
			in.PresetID = p.ID
		}
		return changed(s, in, "case")
	case Try:
		in := s.Inputs
		if !in.putShoe(s.Shoes, a.ShoeID) {
			return s, nil
		}
		in.Size, in.InsoleIn = a.Size, !a.InsoleOut
		if a.Options != nil {
			in.PresetID, in.Device, in.Ordered = a.PresetID, *a.Options, *a.Options
			in.Device.Side, in.Ordered.Side = s.Device.Side, s.Device.Side
		}
		return changed(s, in, "pair")
	case Deepened:
		if s.Shown != nil && s.Shown.Generation == a.Generation {
			s.Depth = a.Depth
		}
		return s, nil
	case Undo:
		return undo(s)
	case Redo:
		return redo(s)
	case SetLook:
		s.Look = a.Look
		return s, []Effect{Keep{s.Look, s.Lengths, s.Scale}}
	case SetLengths:
		s.Lengths = a.Unit
		return s, []Effect{Keep{s.Look, s.Lengths, s.Scale}}
	case SetScale:
		return setScale(s, a.Text)
	case SetUnsure:
		return setUnsure(s, a)
	case Shelved:
		s.Shoes = a.Shoes
		if s.Inputs.stamped(s.Shoes) == s.Inputs {
			return s, nil
		}
		return s.with(s.Inputs)
	case Progressed:
		if a.Generation == s.Generation {
			s.Progress = a.Text
		}
		return s, nil
	case Answered:
		return answered(s, a.Answer)
	case Failed:
		if a.Generation == s.Generation {
			s.Progress, s.Failure = "", a.Err.Error()
		}
		return s, nil
	default:
		return look(s, a), nil
	}
}

// look is what an action changes in how the answer is looked at.
func look(s State, a Action) State {
	switch a := a.(type) {
	case TogglePose:
		s.Pose = other(s.Pose)
		if f := s.finding(); f != nil && f.Pose != s.Pose {
			s.Selected = -1
		}
	case MoveCut:
		s.Cuts = s.within(s.Cuts.Moved(a.View, a.MM))
	case StepCut:
		s.Cuts = s.within(s.Cuts.Moved(a.View, s.Cuts.At(a.View)+a.MM))
	case Select:
		return sel(s, a.Index)
	case SelectBy:
		n := s.Selected + a.N
		if s.Selected < 0 && a.N > 0 {
			n = a.N - 1
		}
		return sel(s, n)
	}
	return s
}

// sel picks a finding; the cuts meet at it, and its pose is shown.
func sel(s State, index int) State {
	if s.Shown == nil || index < 0 || index >= len(s.Shown.Result.Findings) {
		return s
	}
	s.Selected = index
	f := s.finding()
	s.Pose = f.Pose
	s.Cuts = s.within(drawing.CutsThrough(f.At))
	return s
}

// within keeps the cuts near the room that is shown.
func (s *State) within(c drawing.Cuts) drawing.Cuts {
	if s.Shown == nil {
		return c
	}
	for _, v := range drawing.Views {
		lo, hi := drawing.CutRange(v, s.Shown.Room)
		c = c.Moved(v, max(lo, min(hi, c.At(v))))
	}
	return c
}

// changed takes new inputs over: a step of undo, the rules, and a question when no rule is broken.
func changed(s State, in Inputs, key string) (State, []Effect) {
	s.accept(key)
	if in.Device != s.Device || in.PresetID != s.PresetID { // a prescription is built, not scanned
		in.Scanned = nil
	}
	if in == s.Inputs {
		return s, nil
	}
	if s.dragged == "" || s.dragged != key {
		s.past = append(s.past[:len(s.past):len(s.past)], s.Inputs)
		if len(s.past) > undoSteps {
			s.past = s.past[len(s.past)-undoSteps:]
		}
	}
	s.future = nil
	return s.with(in)
}

// with sets the inputs, counts the change and asks.
func (s State) with(in Inputs) (State, []Effect) {
	in = in.stamped(s.Shoes) // what undo goes back to may have been edited since
	s.Inputs = in
	s.Generation++
	s.Failure, s.Progress = "", ""
	s.Rules = in.Problems(s.Shoes)
	return s, s.ask()
}

// ask asks for the answer to the inputs, unless a rule is broken.
func (s *State) ask() []Effect {
	if len(s.Rules) > 0 {
		return nil
	}
	return []Effect{Check{s.Generation, s.Inputs, s.Shoes}}
}

func undo(s State) (State, []Effect) {
	if !s.CanUndo() {
		return s, nil
	}
	last := len(s.past) - 1
	in := s.past[last]
	s.future = append(s.future[:len(s.future):len(s.future)], s.Inputs)
	s.past = s.past[:last:last]
	s.Typed, s.Refused, s.dragged = nil, nil, ""
	return s.with(in)
}

func redo(s State) (State, []Effect) {
	if !s.CanRedo() {
		return s, nil
	}
	last := len(s.future) - 1
	in := s.future[last]
	s.past = append(s.past[:len(s.past):len(s.past)], s.Inputs)
	s.future = s.future[:last:last]
	s.Typed, s.Refused, s.dragged = nil, nil, ""
	return s.with(in)
}

func enter(s State, a Enter) (State, []Effect) {
	f, ok := FieldByKey(a.Key)
	if !ok || f.Choices != nil {
		return s, nil
	}
	in := s.Inputs
	if f.Optional && strings.TrimSpace(a.Text) == "" {
		f.put(&in, 0)
		return changed(s, in, a.Key)
	}
	v, p := f.Spec(in).Parse(a.Text)
	if p != nil {
		s.refuse(a.Key, a.Text, *p)
		return s, nil
	}
	f.put(&in, v)
	return changed(s, in, a.Key)
}

func step(s State, a Step) (State, []Effect) {
	f, ok := FieldByKey(a.Key)
	if !ok || f.Choices != nil {
		return s, nil
	}
	in := s.Inputs
	spec := f.Spec(in)
	f.put(&in, spec.Stepped(f.start(in, spec), a.N))
	return changed(s, in, a.Key)
}

func drag(s State, a Drag) (State, []Effect) {
	f, ok := FieldByKey(a.Key)
	if !ok || f.Choices != nil {
		return s, nil
	}
	in := s.Inputs
	spec := f.Spec(in)
	f.put(&in, spec.Nearest(a.Value))
	before := s.Inputs
	s, effects := changed(s, in, a.Key)
	if before != s.Inputs {
		s.dragged = a.Key
	}
	return s, effects
}

func choose(s State, a Choose) (State, []Effect) {
	f, ok := FieldByKey(a.Key)
	if !ok {
		return s, nil
	}
	for _, c := range f.Choices {
		if c.Value == a.Value {
			in := s.Inputs
			f.choose(&in, a.Value)
			if a.Key == presetKey {
				in.madeFor(s.Shoes)
				in.Device.Side = s.Device.Side
				in.Ordered = in.Device
			}
			return changed(s, in, a.Key)
		}
	}
	return s, nil
}

// madeFor makes a preset for the shoe, and for the foot when its length is entered.
func (in *Inputs) madeFor(shoes *shelf.View) {
	shoe, err := shoes.Find(in.ShoeID)
	if err != nil {
		return
	}
	sheet, err := shoe.Sheet.Graded(in.Size, footwear.GradeOptions{})
	if err != nil {
		return
	}
	if made, err := fit.MadeFor(in.Device, sheet); err == nil {
		in.Device = made
	}
	if in.Foot.LengthMM > 0 {
		in.Device.FootLengthMM = in.Foot.LengthMM
	}
}

func nextBuild(s State) (State, []Effect) {
	f, ok := FieldByKey(buildKey)
	if !ok {
		return s, nil
	}
	now := f.Choice(s.Inputs)
	for i, c := range f.Choices {
		if c.Value == now {
			return choose(s, Choose{buildKey, f.Choices[(i+1)%len(f.Choices)].Value})
		}
	}
	return s, nil
}

// ScaleSpec is the interface's scale: a factor.
var ScaleSpec = entry.Spec{Key: "scale", Name: "interface scale", Min: 0.7, Max: 3, Step: 0.05}

// UnsureSpecs are the two odds between which a state is unsure, in per cent.
var UnsureSpecs = [2]entry.Spec{
	{Key: "unsure_lo", Name: "blocked up to", Unit: "%", Min: 1, Max: 49, Step: 1}, {Key: "unsure_hi", Name: "sure from", Unit: "%", Min: 51, Max: 99, Step: 1},
}

func setUnsure(s State, a SetUnsure) (State, []Effect) {
	var v [2]float64
	for i, text := range []string{a.Lo, a.Hi} {
		var p *problem.Problem
		if v[i], p = UnsureSpecs[i].Parse(text); p != nil {
			s.refuse(UnsureSpecs[i].Key, text, *p)
			return s, nil
		}
		s.accept(UnsureSpecs[i].Key)
	}
	in := s.Inputs
	in.Unsure = fit.Unsureness{Lo: v[0] / 100, Hi: v[1] / 100}
	s, effects := changed(s, in, "unsure")
	return s, append(effects, KeepUnsure{in.Unsure})
}

func setScale(s State, text string) (State, []Effect) {
	v, p := ScaleSpec.Parse(text)
	if p != nil {
		s.refuse(ScaleSpec.Key, text, *p)
		return s, nil
	}
	s.accept(ScaleSpec.Key)
	s.Scale = v
	return s, []Effect{Keep{s.Look, s.Lengths, s.Scale}}
}

// answered shows an answer, unless a later one is shown already. While a slider is held, answers to inputs that have
// gone by are shown too: that is how the verdict follows it.
func answered(s State, a *Answer) (State, []Effect) {
	if s.Shown != nil && a.Generation < s.Shown.Generation {
		return s, nil
	}
	first := s.Shown == nil
	otherRoom := !first && s.Shown.Inputs.Room() != a.Inputs.Room()
	old := s.finding()
	s.Shown, s.Selected, s.Depth = a, -1, Depth{}
	if a.Generation == s.Generation {
		s.Progress, s.Failure = "", ""
	}
	switch w := a.Result.Verdict.Worst; {
	case (first || otherRoom) && w >= 0 && w < len(a.Result.Findings):
		s = sel(s, w)
		s.Cuts.YMM = 0 // the side view begins on the centre line, where the whole device is seen
	case first || otherRoom:
		s.Cuts = drawing.NewScene(a.Room, a.Device, nil, s.Pose).Cuts
	case old != nil:
		s.Selected = same(a.Result.Findings, old)
	}
	return s, []Effect{Log{logLine(a)}}
}

// same is the place of the finding about the same pair at the same pose, -1 when there is none.
func same(list []fit.Finding, old *fit.Finding) int {
	for i, f := range list {
		if f.Feature == old.Feature && f.Zone == old.Zone && f.Pose == old.Pose && f.Side == old.Side {
			return i
		}
	}
	return -1
}

// logLine is what the event log says of an answer.
func logLine(a *Answer) string {
	worst := "none"
	if w := a.Result.Verdict.Worst; w >= 0 && w < len(a.Result.Findings) {
		f := a.Result.Findings[w]
		worst = f.Feature.String() + " / " + f.Zone.String()
	}
	return fmt.Sprintf("verdict state=%s ride_up_mm=%.2f worst=%q generation=%d",
		a.Result.Verdict.State, a.Result.RideUpMM, worst, a.Generation)
}

// Problems are the rules that the inputs break; their shoe is one of shoes.
func (in Inputs) Problems(shoes *shelf.View) problem.Problems {
	var ps problem.Problems
	if in.Scanned == nil {
		ps = in.Device.Validate()
	}
	ps = append(ps, in.Foot.Validate()...)
	shoe, err := shoes.Find(in.ShoeID)
	sheet := shoe.Sheet
	if err == nil {
		_, err = sheet.Graded(in.Size, footwear.GradeOptions{})
		if !in.InsoleIn && !sheet.InsoleRemovable {
			ps = append(ps, problem.Problem{
				Field: insoleKey, Value: "taken out", Limit: "the insole of this shoe can't be taken out", Mend: "leave it in",
			})
		}
	}
	return append(ps, asProblems(err)...)
}

// asProblems brings an error into the one form.
func asProblems(err error) problem.Problems {
	switch e := err.(type) {
	case nil:
		return nil
	case problem.Problems:
		return e
	case problem.Problem:
		return problem.Problems{e}
	default:
		return problem.Problems{{Value: err.Error()}}
	}
}
