package photopage

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear/trace"
)

// done takes an action, and what it asks to be traced is traced.
func done(s State, a Action) State {
	s, e := Reduce(s, a)
	for _, e := range e {
		if tr, ok := e.(Trace); ok {
			s, _ = Reduce(s, WasTraced{tr.Job, tracing()})
		}
	}
	return s
}

func TestEveryCorrectionIsTakenBackAndDoneAgain(t *testing.T) {
	s := read(t)
	require.False(t, s.CanUndo())
	states := []lain{s.lain()}
	for _, step := range [][]Action{
		{MoveCorner{0, trace.Point{X: 30, Y: 30}}, MoveCorner{0, trace.Point{X: 40, Y: 40}}, LetGo{}},
		{SetSide{trace.Left}},
		{SetSheet{trace.Letter}},
		{Enter{"2"}},
		{Drag{3}, Drag{4}, LetGo{}},
		{Drag{5}, LetGo{}},
		{NudgeCorner{DX: 1}, NudgeCorner{DX: 1}, LetGo{}},
		{FindCorners{}},
		{SetWhat{trace.Pencil}},
	} {
		for _, a := range append(step, HoldCorner{2}) {
			s = done(s, a)
		}
		states = append(states, s.lain())
	}
	for i := len(states) - 2; i >= 0; i-- {
		s = done(s, Undo{})
		require.Equal(t, states[i], s.lain(), "step %d, and what was read then is known still", i)
		assert.Equal(t, Idle, s.Stage)
	}
	assert.False(t, s.CanUndo())
	for _, want := range states[1:] {
		s = done(s, Redo{})
		require.Equal(t, want, s.lain())
	}
	same, e := run(s, Redo{})
	assert.Equal(t, s, same)
	assert.Empty(t, e)
}

func TestWhatWasNotReadYetIsReadAfterUndo(t *testing.T) {
	s := read(t)
	s, e := run(s, SetSide{trace.Left})
	late := e[0].(Trace).Job
	s, _ = run(s, SetSheet{trace.Letter})
	s, e = run(s, Undo{})
	tr, ok := e[0].(Trace)
	require.True(t, ok)
	assert.Equal(t, trace.Options{Side: trace.Left, What: trace.Insole}, tr.Options)
	dropped, _ := run(s, WasTraced{late, tracing()})
	assert.Equal(t, s, dropped)
	s, _ = run(s, Failed{tr.Job, errors.New("no insole")})
	assert.True(t, s.CanUndo())
	s, e = run(s, Undo{})
	assert.Equal(t, []Effect{Stop{}}, e)
	assert.Equal(t, tracing(), s.Read)

	s, _ = run(s, Open{"/d/q.jpg", "q.jpg"})
	assert.False(t, s.CanRedo(), "another photo is on its way")
	s, _ = run(s, WasLoaded{s.Job, &trace.Picture{Wide: 2000, High: 1500}})
	assert.False(t, s.CanRedo(), "and has no steps")
}
