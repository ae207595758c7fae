package history_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"lastroom/ui/history"
)

func TestThereAndBackAgain(t *testing.T) {
	var h history.Steps[int]
	assert.False(t, h.CanUndo() || h.CanRedo(), "the zero value has no steps")
	_, same, ok := h.Undo(7)
	assert.False(t, ok)
	assert.Equal(t, h, same)

	now := 0
	for next := 1; next <= 3; next++ {
		h, now = h.After(now), next
	}
	for want := 2; want >= 0; want-- {
		now, h, ok = h.Undo(now)
		assert.True(t, ok)
		assert.Equal(t, want, now)
	}
	assert.False(t, h.CanUndo())
	kept := h
	for want := 1; want <= 3; want++ {
		now, h, ok = h.Redo(now)
		assert.True(t, ok)
		assert.Equal(t, want, now)
	}
	assert.False(t, h.CanRedo())

	// What branched off an older value does not write into it.
	other := kept.After(40)
	assert.False(t, other.CanRedo(), "a change forgets what was undone")
	next, _, _ := kept.Redo(0)
	assert.Equal(t, 1, next)
}

func TestADragIsOneStep(t *testing.T) {
	h, now := history.Steps[int]{}, 0
	for range 5 {
		h, now = h.Holding("slider", now), now+1
	}
	h, now = h.Holding("other", now), now+1
	h = h.LetGo()
	h, now = h.Holding("other", now), now+1
	h, now = h.After(now), now+1
	h, now = h.After(now), now+1
	for _, want := range []int{8, 7, 6, 5, 0} {
		var ok bool
		now, h, ok = h.Undo(now)
		assert.True(t, ok)
		assert.Equal(t, want, now)
	}
	assert.False(t, h.CanUndo())
	h = h.Holding("slider", now)
	assert.True(t, h.CanUndo(), "undo let go")
}

func TestTheOldestStepsAreForgotten(t *testing.T) {
	var h history.Steps[int]
	for was := range 1000 {
		h = h.After(was)
	}
	now, steps, ok := 1000, 0, true
	for ; ok; steps++ {
		var was int
		if was, h, ok = h.Undo(now); ok {
			now = was
		}
	}
	assert.Equal(t, 800, now)
	assert.Equal(t, 201, steps)
}
