package casebook

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func bytesOf(s string) io.Reader { return strings.NewReader(s) }

func TestACaseComesBackAsItWasKept(t *testing.T) {
	dir := t.TempDir()
	b := bookIn(t, dir)
	kept := full(t, b, "A-17")
	require.NoError(t, b.Close())

	b = bookIn(t, dir)
	got, err := b.Get(t.Context(), "a-17") // capitals do not count
	require.NoError(t, err)
	assert.Equal(t, kept, got)
	c := got.Case
	require.Empty(t, c.Validate())
	assert.Equal(t, 262.0, c.Feet[0].Measured().LengthMM)
	sheet, err := c.Shoes[0].Measures()
	require.NoError(t, err)
	assert.Equal(t, "lace-dress", sheet.ID)
	assert.Equal(t, c.Devices[0].Key, c.Devices[1].From)
	assert.Equal(t, []string{"contact_angle_deg 0 → 1"}, OptionDifferences(&c.Devices[0], &c.Devices[1]))
	assert.Equal(t, "A-17", c.LearnFrom()[0].Case)
	assert.Empty(t, c.LearnFrom()[0].Validate())
	var file bytes.Buffer
	require.NoError(t, b.WriteFile(t.Context(), c.Files[0], &file))
	assert.Equal(t, "a photograph of A-17", file.String())
	rep := requireSound(t, b)
	assert.Equal(t, Report{Cases: 1, Changes: 3, Files: 1, Bytes: int64(file.Len())}, rep)
}

// Undo and redo against a plain list of states: 40 random walks, each on a case of its own, all in one book that is opened anew
// now and then.
func TestUndoAndRedoAgainstAListOfStates(t *testing.T) {
	dir := t.TempDir()
	b := bookIn(t, dir)
	undone, redone, reopened := 0, 0, 0
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(5, seed))
		s := started(t, b, fmt.Sprint("walk-", seed))
		id := s.Case.ID
		states, at := [][]Note{nil}, 0
		keys := map[string]bool{}
		for step := range 30 {
			switch n := r.IntN(40); {
			case n < 16:
				s = noted(t, b, id, fmt.Sprint("note ", step))
				last := s.Case.Notes[len(s.Case.Notes)-1]
				assert.False(t, keys[last.Key], "%s is given twice", last.Key)
				keys[last.Key] = true
				at++
				states = append(states[:at:at], s.Case.Notes)
			case n < 28:
				got, err := b.Undo(t.Context(), id)
				if at == 0 {
					assert.Equal(t, "there is nothing to undo", limitOf(t, err))
					continue
				}
				require.NoError(t, err)
				s, at = got, at-1
				undone++
			case n < 38:
				got, err := b.Redo(t.Context(), id)
				if at == len(states)-1 {
					assert.Equal(t, "there is nothing to redo", limitOf(t, err))
					continue
				}
				require.NoError(t, err)
				s, at = got, at+1
				redone++
			default:
				require.NoError(t, b.Close())
				b = bookIn(t, dir)
				s = mustGet(t, b, id)
				reopened++
			}
			require.Equal(t, states[at], s.Case.Notes, "seed %d, step %d", seed, step)
			assert.Equal(t, at > 0, s.Undo != "", "seed %d, step %d", seed, step)
			assert.Equal(t, at < len(states)-1, s.Redo != "", "seed %d, step %d", seed, step)
		}
	}
	assert.Greater(t, min(undone, redone, reopened), 30, "each was done often")
	assert.Equal(t, 40, requireSound(t, b).Cases)
}

func TestTheHistoryTellsWhatWasDoneAndWhen(t *testing.T) {
	b := bookIn(t, t.TempDir())
	s := full(t, b, "H")
	id := s.Case.ID
	s, err := b.Change(t.Context(), id, s.Rev, func(c *Case) error {
		c.Code = "H2"
		c.Feet[0].LengthMM = 264
		c.Shoes[0].InsoleOut = false
		c.Devices = c.Devices[:1]
		c.Results, c.Outcomes = nil, nil
		return nil
	})
	require.NoError(t, err)
	assert.Equal(t, "code H became H2; right foot changed: length 264 mm, mass 81 kg; shoe Lace-up dress shoe, EU 42: insole in; "+
		"device removed: d4 (right, changed from d3); result removed: d4 in s2: snug; outcome removed: went-in", strings.ReplaceAll(s.Undo, "  ", " "))
	_, err = b.Undo(t.Context(), id)
	require.NoError(t, err)
	list, err := b.History(t.Context(), id)
	require.NoError(t, err)
	var said []string
	for i, c := range list {
		said = append(said, c.Kind+": "+c.Said)
		assert.Equal(t, int64(i+1), c.Rev)
		if i > 0 {
			assert.True(t, c.At.After(list[i-1].At))
		}
		assert.Equal(t, i == 2, c.Holds, "after undoing, what holds is the third")
	}
	assert.Equal(t, "new: case started", said[0])
	assert.Equal(t, "edit: file added: photograph heel.jpg", said[1])
	assert.Equal(t, "undo: "+s.Undo, said[4])

	back, err := b.At(t.Context(), id, 1)
	require.NoError(t, err)
	assert.Empty(t, back.Shoes)
	restored, err := b.Restore(t.Context(), id, 2)
	require.NoError(t, err)
	assert.Len(t, restored.Case.Files, 1)
	assert.Empty(t, restored.Case.Shoes)
	again, err := b.Undo(t.Context(), id)
	require.NoError(t, err)
	assert.Len(t, again.Case.Shoes, 1)
	_, err = b.At(t.Context(), id, 99)
	assert.Equal(t, "there is no such change in its history", limitOf(t, err))
}

func TestAChangeIsWholeOrNotAtAll(t *testing.T) {
	b := bookIn(t, t.TempDir())
	s := full(t, b, "one")
	started(t, b, "two")
	id := s.Case.ID
	var told []Event
	stop := b.Watch(func(e Event) { told = append(told, e) })
	bad := map[string]func(*Case){
		"code":     func(c *Case) { c.Code = "TWO" },
		"name":     func(c *Case) { c.Code = "Maria Muster" },
		"key":      func(c *Case) { c.Notes[0].Key = "n99" },
		"side":     func(c *Case) { c.Devices[0].Side = "left" },
		"no scan":  func(c *Case) { c.Shoes[0].Scan = "f88" },
		"no bytes": func(c *Case) { c.Files[0].SHA256 = strings.Repeat("0", 64) },
		"path":     func(c *Case) { c.Files[0].Name = "../heel.jpg" },
		"sheet":    func(c *Case) { c.Shoes[0].Sheet = []byte(`{}`) },
		"limits":   func(c *Case) { c.Results[0].Limits = "" },
		"odds":     func(c *Case) { c.Results[0].Odds = 1.01 },
		"long":     func(c *Case) { c.Notes[0].Text = strings.Repeat("x", maxText+1) },
		"outcome":  func(c *Case) { c.Outcomes[0].Outcome.Happened = "perhaps" },
	}
	for name, spoil := range bad {
		_, err := b.Change(t.Context(), id, 0, func(c *Case) error { spoil(c); return nil })
		require.Error(t, err, name)
		now, err := b.Get(t.Context(), id)
		require.NoError(t, err)
		require.Equal(t, s, now, name)
	}
	_, err := b.Change(t.Context(), id, s.Rev-1, func(c *Case) error { c.Notes = nil; return nil })
	assert.Equal(t, "it was changed meanwhile by another window or program", limitOf(t, err))
	assert.Empty(t, told)

	same, err := b.Change(t.Context(), id, 0, func(c *Case) error { c.ID = strings.Repeat("ab", 16); return nil })
	require.NoError(t, err)
	assert.Equal(t, s, same, "what changes nothing is not kept")
	noted(t, b, id, "x")
	assert.Contains(t, told, Event{ID: id})
	told = nil
	stop()
	noted(t, b, id, "y")
	assert.Empty(t, told)
	requireSound(t, b)
}

// Whoever was given a case can do with it what he likes: the book's own is another.
func TestTheZeroCaseIsRefusedAndCopiesShareNothing(t *testing.T) {
	assert.NotEmpty(t, new(Case).Validate())
	b := bookIn(t, t.TempDir())
	s := full(t, b, "c")
	s.Case.Notes[0].Text = "changed outside"
	now, err := b.Get(t.Context(), "c")
	require.NoError(t, err)
	assert.NotEqual(t, s.Case.Notes[0].Text, now.Case.Notes[0].Text)
	_, err = b.Get(t.Context(), "nobody")
	assert.Equal(t, "not in this casebook", limitOf(t, err))
}
