package desk_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/ui/desk"
)

// run reduces actions one after the other and gives the last state and the effects of all.
func run(s desk.State, as ...desk.Action) (desk.State, []desk.Effect) {
	var all []desk.Effect
	for _, a := range as {
		var es []desk.Effect
		s, es = desk.Reduce(s, a)
		all = append(all, es...)
	}
	return s, all
}

func room(t *testing.T, in desk.Inputs) *footwear.Room {
	t.Helper()
	sheet, err := footwear.Demo().Find(in.ShoeID)
	require.NoError(t, err)
	r, err := footwear.NewRoom(sheet, in.InsoleIn)
	require.NoError(t, err)
	return r
}

// answer is an answer to a state's inputs with two findings made up for the purpose.
func answer(t *testing.T, s desk.State) *desk.Answer {
	t.Helper()
	return &desk.Answer{
		Generation: s.Generation, Inputs: s.Inputs, Room: room(t, s.Inputs), Device: &device.Device{MassG: 41.3},
		Result: &fit.Result{
			Status: fit.Converged, RideUpMM: 1.607, TiltFrontalDeg: -0.54, PitchDeg: 0, SlipForwardMM: 0.31,
			Findings: []fit.Finding{
				{
					Feature: device.WedgeBase, Zone: footwear.Feather, Side: "medial", Pose: fit.Intended, GapMM: -1.61, PlusMinusMM: 0.8,
					State: fit.Blocked, At: r3.Vec{X: 22, Y: 21, Z: 4}, AreaMM2: 33, GrindDepthMM: 1.2, GrindDirection: r3.Vec{Y: -1},
				},
				{
					Feature: device.CupWall, Zone: footwear.CounterLateral, Pose: fit.Settled, GapMM: 0.42, PlusMinusMM: 0.6,
					GiveMM: 0.5, State: fit.Snug, At: r3.Vec{X: 30, Y: -27, Z: 14},
				},
			},
			FootRoom: []fit.RoomCheck{
				{Key: "toe_gap_mm", Name: "length left in front of the toes", LeftMM: 4.2, NeedMM: 10, State: fit.Blocked, Known: true, Note: "n"},
				{Key: "instep_mm", Name: "height at the instep", LeftMM: 51, Note: "enter it"},
			},
			Base:    fit.Stability{WidthMM: 52, MedialMM: 26, LateralMM: 26, AreaMM2: 2400, RotationalNMMPerRad: 640000, RockGapMM: 0.7},
			Verdict: fit.Verdict{State: fit.Blocked, Sentence: "It does not fit.", Limits: fit.Caution, Worst: 0},
		},
	}
}

func start() desk.State { return desk.Start(desk.Demo()) }

func TestTheDemoCaseBreaksNoRule(t *testing.T) {
	assert.Empty(t, desk.Demo().Problems(nil))
	s, es := run(start(), desk.Begin{})
	assert.Equal(t, []desk.Effect{desk.Check{Generation: 0, Inputs: desk.Demo()}}, es)
	assert.Nil(t, s.Shown)
}

func TestInputActions(t *testing.T) {
	bevel := func(s desk.State) float64 { return s.Device.BevelMedialDeg }
	for name, c := range map[string]struct {
		as    []desk.Action
		check func(*testing.T, desk.State)
		asks  int
	}{
		"enter a number": {
			[]desk.Action{desk.Enter{Key: "bevel_medial_deg", Text: "12,5 °"}},
			func(t *testing.T, s desk.State) { assert.InDelta(t, 12.5, bevel(s), 1e-12) }, 1,
		},
		"enter the same number": {
			[]desk.Action{desk.Enter{Key: "bevel_medial_deg", Text: "30"}},
			func(t *testing.T, s desk.State) { assert.False(t, s.CanUndo()) }, 0,
		},
		"enter nonsense": {
			[]desk.Action{desk.Enter{Key: "bevel_medial_deg", Text: "steep"}},
			func(t *testing.T, s desk.State) {
				assert.InDelta(t, 30, bevel(s), 1e-12)
				assert.Equal(t, "steep", s.Typed["bevel_medial_deg"])
				assert.True(t, s.Bad())
			}, 0,
		},
		"mend it": {
			[]desk.Action{desk.Enter{Key: "bevel_medial_deg", Text: "steep"}, desk.Enter{Key: "bevel_medial_deg", Text: "20"}},
			func(t *testing.T, s desk.State) {
				assert.Empty(t, s.Refused)
				assert.InDelta(t, 20, bevel(s), 1e-12)
			}, 1,
		},
		"step": {
			[]desk.Action{desk.Step{Key: "bevel_medial_deg", N: -10}},
			func(t *testing.T, s desk.State) { assert.Less(t, bevel(s), 30.0) }, 1,
		},
		"step up to the limit and no further": {
			[]desk.Action{desk.Step{Key: "bevel_medial_deg", N: 1000}, desk.Step{Key: "bevel_medial_deg", N: 1}},
			func(t *testing.T, s desk.State) {
				k, ok := device.FindKey("bevel_medial_deg")
				require.True(t, ok)
				assert.InDelta(t, k.Max, bevel(s), 1e-12)
			}, -1, // the rules may say that the bevels leave no base
		},
		"both bevels": {
			[]desk.Action{desk.StepBevels{N: -1}},
			func(t *testing.T, s desk.State) {
				assert.InDelta(t, bevel(s), s.Device.BevelLateralDeg, 1e-12)
				assert.Less(t, bevel(s), 30.0)
				back, _ := run(s, desk.Undo{})
				assert.Equal(t, desk.Demo(), back.Inputs, "one step of undo")
			}, 1,
		},
		"next build": {
			[]desk.Action{desk.NextBuild{}},
			func(t *testing.T, s desk.State) { assert.Equal(t, device.Flat, s.Device.WedgeBuild) }, 1,
		},
		"all builds come round": {
			[]desk.Action{desk.NextBuild{}, desk.NextBuild{}, desk.NextBuild{}, desk.NextBuild{}},
			func(t *testing.T, s desk.State) { assert.Equal(t, device.Block, s.Device.WedgeBuild) }, -1,
		},
		"a choice that is none": {
			[]desk.Action{desk.Choose{Key: "wedge_build", Value: "feathers"}},
			func(t *testing.T, s desk.State) { assert.Equal(t, desk.Demo(), s.Inputs) }, 0,
		},
		"a field that is none": {
			[]desk.Action{desk.Enter{Key: "x", Text: "1"}, desk.Step{Key: "x", N: 1}, desk.Drag{Key: "x"}, desk.Choose{Key: "x"}},
			func(t *testing.T, s desk.State) { assert.Equal(t, desk.Demo(), s.Inputs) }, 0,
		},
		"a text for a choice, a choice for a number": {
			[]desk.Action{desk.Enter{Key: "wedge_build", Text: "flat"}, desk.Choose{Key: "size", Value: "42"}},
			func(t *testing.T, s desk.State) { assert.Equal(t, desk.Demo(), s.Inputs) }, 0,
		},
		"insole": {
			[]desk.Action{desk.ChooseShoe{ID: "knit-trainer"}, desk.ToggleInsole{}},
			func(t *testing.T, s desk.State) {
				assert.False(t, s.InsoleIn)
				assert.Empty(t, s.Rules)
			}, 2,
		},
		"an insole that is fixed": {
			[]desk.Action{desk.ToggleInsole{}},
			func(t *testing.T, s desk.State) {
				require.Len(t, s.Rules, 1)
				assert.Contains(t, s.Rules[0].Error(), "can't be taken out")
			}, 0,
		},
		"half size": {
			[]desk.Action{desk.Enter{Key: "size", Text: "41 1/2"}},
			func(t *testing.T, s desk.State) { assert.InDelta(t, 41.5, s.Size.Value, 1e-12) }, 1,
		},
		"another size system": {
			[]desk.Action{desk.Choose{Key: "size_system", Value: "uk"}},
			func(t *testing.T, s desk.State) {
				assert.Equal(t, footwear.UK, s.Size.System)
				assert.InDelta(t, 8, s.Size.Value, 1, "EU 42 is about UK 8")
			}, 1,
		},
		"an optional measure left empty": {
			[]desk.Action{desk.Enter{Key: "foot.instep_height_mm", Text: "62"}, desk.Enter{Key: "foot.instep_height_mm", Text: " "}},
			func(t *testing.T, s desk.State) { assert.Zero(t, s.Foot.InstepHeightMM) }, 2,
		},
		"a shoe that is none": {
			[]desk.Action{desk.ChooseShoe{ID: "glass-slipper"}},
			func(t *testing.T, s desk.State) { assert.Equal(t, desk.Demo(), s.Inputs) }, 0,
		},
		"a shoe for a child comes in its own size": {
			[]desk.Action{desk.ChooseShoe{ID: "toddler-shoe"}},
			func(t *testing.T, s desk.State) {
				assert.Equal(t, "toddler-shoe", s.ShoeID)
				assert.Empty(t, s.Rules)
			}, 1,
		},
		"a size that the shoe is not made in": {
			[]desk.Action{desk.Enter{Key: "size", Text: "18"}},
			func(t *testing.T, s desk.State) {
				assert.NotEmpty(t, s.Rules)
				assert.InDelta(t, 18, s.Size.Value, 0, "what was entered stays")
			}, 0,
		},
		"a preset": {
			[]desk.Action{desk.Choose{Key: "preset", Value: "slim-dress"}},
			func(t *testing.T, s desk.State) {
				assert.Equal(t, "slim-dress", s.PresetID)
				assert.NotEqual(t, desk.Demo().Device, s.Device)
			}, 1,
		},
	} {
		t.Run(name, func(t *testing.T) {
			s, es := run(start(), c.as...)
			c.check(t, s)
			asks := 0
			for _, e := range es {
				if q, ok := e.(desk.Check); ok {
					asks++
					assert.LessOrEqual(t, q.Generation, s.Generation)
				}
			}
			if c.asks >= 0 {
				assert.Equal(t, c.asks, asks, "questions asked")
			}
		})
	}
}

func TestUndoGoesBackAndForth(t *testing.T) {
	s, _ := run(start(), desk.Step{Key: "cup_depth_mm", N: 1}, desk.StepBevels{N: -1}, desk.NextBuild{})
	last := s.Inputs
	s, es := run(s, desk.Undo{}, desk.Undo{}, desk.Undo{})
	assert.Equal(t, desk.Demo(), s.Inputs)
	assert.False(t, s.CanUndo())
	require.Len(t, es, 3, "each step asks anew")
	s, _ = run(s, desk.Undo{}, desk.Redo{}, desk.Redo{}, desk.Redo{}, desk.Redo{})
	assert.Equal(t, last, s.Inputs)
	assert.False(t, s.CanRedo())
	s, _ = run(s, desk.Undo{}, desk.StepBevels{N: -1})
	assert.False(t, s.CanRedo(), "a new change ends what could be redone")
}

func TestADragIsOneStepOfUndo(t *testing.T) {
	s, es := run(start(), desk.Drag{Key: "cup_depth_mm", Value: 12.04}, desk.Drag{Key: "cup_depth_mm", Value: 11},
		desk.Drag{Key: "cup_depth_mm", Value: 10}, desk.DragEnd{})
	assert.InDelta(t, 10, s.Device.CupDepthMM, 1e-12)
	assert.Len(t, es, 3, "the verdict follows")
	undone, _ := run(s, desk.Undo{})
	assert.Equal(t, desk.Demo(), undone.Inputs)
	s, _ = run(s, desk.Drag{Key: "cup_depth_mm", Value: 9}, desk.DragEnd{}, desk.Undo{})
	assert.InDelta(t, 10, s.Device.CupDepthMM, 1e-12, "the next drag is a step of its own")
}

func TestUndoKeepsTheOldStatesApart(t *testing.T) {
	s, _ := run(start(), desk.ToggleInsole{})
	a, _ := run(s, desk.NextBuild{})
	b, _ := run(s, desk.Step{Key: "cup_depth_mm", N: 1})
	a, _ = run(a, desk.Undo{})
	b, _ = run(b, desk.Undo{})
	assert.Equal(t, s.Inputs, a.Inputs)
	assert.Equal(t, s.Inputs, b.Inputs)
}

func TestAnswers(t *testing.T) {
	s, _ := run(start(), desk.Begin{})
	first := answer(t, s)
	s, es := run(s, desk.Progressed{Generation: 0, Text: "measuring"}, desk.Answered{Answer: first})
	assert.Equal(t, []desk.Effect{desk.Log{
		Line: `verdict state=blocked ride_up_mm=1.61 worst="wedge base / feather line" generation=0`,
	}}, es)
	assert.Empty(t, s.Progress)
	assert.Equal(t, 0, s.Selected)
	assert.Equal(t, fit.Intended, s.Pose, "the worst finding's pose")
	assert.Equal(t, drawing.Cuts{XMM: 22, YMM: 0, ZMM: 4}, s.Cuts, "through it, but for the side view, which begins on the centre line")
	assert.False(t, s.Stale())

	// Two changes later the answer to the first of them comes: it is shown, as stale; it never goes back.
	s, _ = run(s, desk.Step{Key: "cup_depth_mm", N: -1})
	one := answer(t, s)
	s, _ = run(s, desk.Step{Key: "cup_depth_mm", N: -1})
	two := answer(t, s)
	s, _ = run(s, desk.MoveCut{View: drawing.Behind, MM: 40}, desk.Answered{Answer: one})
	assert.Same(t, one, s.Shown)
	assert.True(t, s.Stale())
	assert.InDelta(t, 40, s.Cuts.XMM, 0, "cuts stay where they were put")
	s, _ = run(s, desk.Answered{Answer: two}, desk.Answered{Answer: one}, desk.Answered{Answer: first})
	assert.Same(t, two, s.Shown)
	assert.False(t, s.Stale())
	assert.Equal(t, 0, s.Selected, "the same finding stays selected")
}

func TestAFailureKeepsTheLastGoodAnswer(t *testing.T) {
	s, _ := run(start(), desk.Begin{})
	good := answer(t, s)
	s, _ = run(s, desk.Answered{Answer: good}, desk.Step{Key: "cup_depth_mm", N: 1})
	s, _ = run(s, desk.Failed{Generation: s.Generation - 1, Err: errors.New("late")})
	assert.Empty(t, s.Failure, "a failure of inputs gone by is no matter")
	s, _ = run(s, desk.Failed{Generation: s.Generation, Err: errors.New("no such solid")})
	assert.Same(t, good, s.Shown)
	assert.True(t, s.Bad())
	v := desk.VerdictView(&s)
	assert.Equal(t, "It does not fit.", v.Sentence)
	assert.Equal(t, "Still the last good answer; what is entered now has none: no such solid", v.Notice)
	assert.True(t, v.Stale)
	s, _ = run(s, desk.Step{Key: "cup_depth_mm", N: -1})
	assert.False(t, s.Bad())
}

func TestLookingAround(t *testing.T) {
	s, _ := run(start(), desk.Begin{})
	s, _ = run(s, desk.Answered{Answer: answer(t, s)}, desk.Select{Index: 0})
	for name, c := range map[string]struct {
		as       []desk.Action
		selected int
		pose     fit.PoseName
		cuts     drawing.Cuts
	}{
		"next":            {[]desk.Action{desk.SelectBy{N: 1}}, 1, fit.Settled, drawing.Cuts{XMM: 30, YMM: -27, ZMM: 14}},
		"past the end":    {[]desk.Action{desk.SelectBy{N: 1}, desk.SelectBy{N: 1}}, 1, fit.Settled, drawing.Cuts{XMM: 30, YMM: -27, ZMM: 14}},
		"and back":        {[]desk.Action{desk.SelectBy{N: 1}, desk.SelectBy{N: -1}}, 0, fit.Intended, drawing.Cuts{XMM: 22, YMM: 21, ZMM: 4}},
		"none such":       {[]desk.Action{desk.Select{Index: 7}, desk.Select{Index: -1}}, 0, fit.Intended, drawing.Cuts{XMM: 22, YMM: 21, ZMM: 4}},
		"other pose":      {[]desk.Action{desk.TogglePose{}}, -1, fit.Settled, drawing.Cuts{XMM: 22, YMM: 21, ZMM: 4}},
		"and first again": {[]desk.Action{desk.TogglePose{}, desk.SelectBy{N: 1}}, 0, fit.Intended, drawing.Cuts{XMM: 22, YMM: 21, ZMM: 4}},
		"step a cut":      {[]desk.Action{desk.StepCut{View: drawing.Above, MM: 5}}, 0, fit.Intended, drawing.Cuts{XMM: 22, YMM: 21, ZMM: 9}},
	} {
		t.Run(name, func(t *testing.T) {
			got, es := run(s, c.as...)
			assert.Empty(t, es, "looking asks for nothing")
			assert.Equal(t, c.selected, got.Selected)
			assert.Equal(t, c.pose, got.Pose)
			assert.Equal(t, c.cuts, got.Cuts)
			assert.Equal(t, s.Generation, got.Generation)
		})
	}
	far, _ := run(s, desk.MoveCut{View: drawing.Behind, MM: 1e6})
	_, hi := drawing.CutRange(drawing.Behind, s.Shown.Room)
	assert.InDelta(t, hi, far.Cuts.XMM, 1e-9, "a cut stays in the shoe")
}

func TestLookAndScaleAreKept(t *testing.T) {
	s, es := run(start(), desk.SetLook{Look: desk.DarkLook}, desk.SetScale{Text: "1,25"}, desk.SetScale{Text: "9"})
	assert.Equal(t, []desk.Effect{desk.Keep{Look: desk.DarkLook, Scale: 1}, desk.Keep{Look: desk.DarkLook, Scale: 1.25}}, es)
	assert.InDelta(t, 1.25, s.Scale, 1e-12)
	assert.Contains(t, s.Refused["scale"].Error(), "0.7 to 3")
}

func TestReduceLeavesItsArgumentBe(t *testing.T) {
	s, _ := run(start(), desk.Enter{Key: "size", Text: "big"})
	typed := s.Typed["size"]
	_, _ = run(s, desk.Enter{Key: "size", Text: "bigger"}, desk.Enter{Key: "size", Text: "42.5"}, desk.Undo{})
	assert.Equal(t, typed, s.Typed["size"])
	assert.Len(t, s.Refused, 1)
}
