package scanpage

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// settled answers what a page asks for, as long as it asks.
func settled(t *testing.T, s State, e []Effect) State {
	t.Helper()
	for len(e) > 0 {
		switch a := e[0].(type) {
		case Mend:
			a.Shape.Mesh = wedge()
			s, e = Reduce(s, WasMended{a.Job, &a.Shape})
		case Find:
			s, e = Reduce(s, WasFound{a.Job, Found{LengthMM: 200, Side: footwear.LeftSide, Pose: mesh.Pose{T: r3.Vec{X: 7}}}})
		case Measure:
			s, e = Reduce(s, WasMeasured{a.Job, readOf(a.Purpose)})
		case Rename:
			s, e = Reduce(s, WasMeasured{a.Job, readOf(Device)})
		default:
			return s
		}
	}
	return s
}

func TestEveryCorrectionIsTakenBackAndDoneAgain(t *testing.T) {
	for name, c := range map[string]struct {
		of      Purpose
		correct []Action
	}{
		"a drag":             {Inside, []Action{Move{drawing.Side, drawing.Pt{U: 1}}, Move{drawing.Side, drawing.Pt{U: 2}}, LetGo{}}},
		"a turn":             {Last, []Action{Turn{drawing.Above, 1}, Turn{drawing.Above, 3}, LetGo{}}},
		"a half turn":        {Inside, []Action{HalfTurn{drawing.Behind}}},
		"a side":             {Inside, []Action{SetSide{footwear.LeftSide}}},
		"a unit":             {Last, []Action{PickUnit{10}}},
		"a purpose":          {Last, []Action{SetPurpose{Device}}},
		"a patch":            {Device, []Action{PickPatch{0}, NamePatch{device.WedgeBase}}},
		"a lining":           {Last, []Action{Enter{"lining_mm", "3"}}},
		"a step of a sock":   {Last, []Action{Step{"sock_mm", 2}}},
		"a dragged insole":   {Last, []Action{Drag{"insole_mm", 1}, Drag{"insole_mm", 2}, Drag{"insole_mm", 4}, LetGo{}}},
		"the first of three": {Inside, []Action{PickPoint{r3.Vec{X: 1}}}},
	} {
		t.Run(name, func(t *testing.T) {
			first := ready(t, c.of, footwear.RightSide)
			require.False(t, first.CanUndo(), "a file that was opened is no correction")
			s := first
			var e []Effect
			for _, a := range c.correct {
				s, e = Reduce(s, a)
				s = settled(t, s, e)
			}
			done, was := s.lain(), first.lain()
			require.False(t, done.sameAs(&was), "it is corrected")
			require.True(t, s.CanUndo())
			require.False(t, s.CanRedo())

			s, e = Reduce(s, Undo{})
			assert.Equal(t, was, s.lain(), "all of it in one step")
			assert.Equal(t, []Effect{Stop{}}, e, "what was read off is known still")
			assert.Empty(t, s.NotYet())
			assert.False(t, s.CanUndo())
			require.True(t, s.CanRedo())
			s, _ = Reduce(s, Redo{})
			assert.Equal(t, done, s.lain())
			assert.False(t, s.CanRedo())
		})
	}
}

func TestUndoGoesStepByStep(t *testing.T) {
	s := ready(t, Inside, footwear.RightSide)
	var all []lain
	for _, a := range []Action{
		HalfTurn{drawing.Side},
		SetSide{footwear.LeftSide},
		Enter{"sock_mm", "1"},
		PickPoint{r3.Vec{X: 1}},
		PickPoint{r3.Vec{X: 140, Y: 30}},
		PickPoint{r3.Vec{X: 130, Y: -35}},
		Restore{},
		Move{drawing.Side, drawing.Pt{V: 2}},
		LetGo{},
		Restore{},
	} {
		before := s.lain()
		next, e := Reduce(s, a)
		s = settled(t, next, e)
		if after := s.lain(); a != (LetGo{}) && !before.sameAs(&after) {
			all = append(all, before)
		}
	}
	assert.Len(t, all, 8, "there was nothing for the first Restore to do")
	for i := len(all) - 1; i >= 0; i-- {
		var e []Effect
		s, e = Reduce(s, Undo{})
		s = settled(t, s, e)
		now := s.lain()
		assert.True(t, now.sameAs(&all[i]), "step %d", i)
	}
	same, e := Reduce(s, Undo{})
	assert.Equal(t, s, same)
	assert.Empty(t, e)
}

func TestUndoWhileItWorks(t *testing.T) {
	s := ready(t, Last, footwear.RightSide)
	was := s.lain()
	s, e := run(t, s, HalfTurn{drawing.Side})
	job := e[0].(Measure).Job
	s, e = run(t, s, Undo{})
	assert.Equal(t, []Effect{Stop{}}, e)
	assert.Equal(t, was, s.lain())
	late, _ := run(t, s, WasMeasured{job, readOf(Last)})
	assert.Equal(t, s, late, "what was on its way is dropped")
	s, e = run(t, s, Redo{})
	require.IsType(t, Measure{}, e[0], "it had not been read off")
	assert.Equal(t, "Done again.", s.Done)

	s, _ = run(t, s, Open{"/d/other.stl", Inside})
	assert.False(t, s.CanUndo(), "not while another file is on its way")
	s, _ = run(t, s, Failed{s.Job, errors.New("no faces")})
	assert.True(t, s.CanUndo(), "the file that stays keeps its steps")
	s, _ = run(t, s, Open{"/d/other.stl", Inside})
	s, _ = run(t, s, WasRead{s.Job, &Raw{Mesh: wedge(), Info: mesh.FileInfo{UnitMM: 1}}})
	s, e = run(t, s, WasMended{s.Job, &Shape{Name: "other.stl", Mesh: wedge(), UnitMM: 1}})
	s = settled(t, s, e)
	assert.False(t, s.CanUndo(), "another file has none")
}

func TestWhatCameToNothingIsNoStep(t *testing.T) {
	s := ready(t, Device, footwear.RightSide)
	was := s.lain()
	s, _ = run(t, s, SetSide{footwear.LeftSide})
	s = settled(t, s, []Effect{Measure{s.Job, s.placed()}})
	s, _ = run(t, s, PickPatch{0}, NamePatch{device.WedgeBase})
	s, _ = run(t, s, Failed{s.Job, errors.New("no foot side would be left")})
	s, _ = run(t, s, Undo{})
	assert.Equal(t, was, s.lain(), "the side is taken back")
}
