package shelf

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/internal/problem"
)

func draft() Draft {
	d := Draft{Stamp: 1<<63 + 7, Scanned: true}
	d.Sheet.Kind, d.Sheet.Size = "trainer", footwear.Size{System: footwear.EU, Value: 42.5}
	d.Sheet.Name, d.Sheet.Note = "Half done", "„äußerst“ worn"
	d.Sheet.Reasons = map[string]string{"seat_width_mm": "broad"}
	d.Sheet.M[footwear.SeatWidth] = footwear.Measure{Value: 66.5, PlusMinus: 2.3, Instrument: footwear.Tape}
	return d
}

func TestADraftIsKeptForTheNextStart(t *testing.T) {
	s := open(t)
	_, ok, err := s.Draft()
	require.NoError(t, err)
	assert.False(t, ok)
	require.NoError(t, s.ForgetDraft(), "there is none")

	want := draft()
	require.NoError(t, s.KeepDraft(want))
	assumed := want
	assumed.Sheet.M[footwear.BallWidth] = footwear.Measure{Value: 100, PlusMinus: 5, Instrument: footwear.Calliper, Assumed: true}
	require.NoError(t, s.KeepDraft(assumed))
	again, err := Open(s.Dir())
	require.NoError(t, err)
	got, ok, err := again.Draft()
	require.NoError(t, err)
	require.True(t, ok)
	assert.Equal(t, want, got, "what was assumed is assumed anew")
	shoes, ps := again.All()
	assert.Empty(t, shoes, "it is no shoe of the shelf")
	assert.Empty(t, ps)

	require.NoError(t, again.ForgetDraft())
	_, ok, err = s.Draft()
	require.NoError(t, err)
	assert.False(t, ok)
}

func TestWhateverStepFailsTheDraftIsAsBeforeOrAsAfter(t *testing.T) {
	for _, once := range []bool{true, false} {
		for at := 1; ; at++ {
			s := open(t)
			before, after := draft(), draft()
			after.Sheet.Name = "More done"
			require.NoError(t, s.KeepDraft(before))
			disk := &failing{at: at, once: once, err: os.ErrPermission}
			s.disk = disk
			failed := s.KeepDraft(after) != nil
			s.disk = unsynced{}
			got, ok, err := s.Draft()
			require.NoError(t, err, "step %d", at)
			require.True(t, ok)
			assert.Contains(t, []string{before.Sheet.Name, after.Sheet.Name}, got.Sheet.Name, "step %d", at)
			if !failed {
				assert.Equal(t, after, got)
			}
			require.NoError(t, s.KeepDraft(after), "and it goes on")
			if disk.step < at {
				require.Greater(t, at, 3, "making the folder, writing, renaming")
				break
			}
		}
	}
}

func TestAnUnreadableDraftIsPutAside(t *testing.T) {
	good := open(t)
	require.NoError(t, good.KeepDraft(draft()))
	data, err := os.ReadFile(good.kept(draftFile))
	require.NoError(t, err)
	for name, text := range map[string]string{
		"empty":            "",
		"cut off":          string(data[:len(data)/2]),
		"another form":     strings.Replace(string(data), draftFormat, "lastroom-shoe", 1),
		"a later version":  strings.Replace(string(data), `"version": 1`, `"version": 2`, 1),
		"a word more":      strings.Replace(string(data), `"stamp"`, `"colour": 1, "stamp"`, 1),
		"no such measure":  strings.Replace(string(data), `"seat_width_mm": {`, `"seat_girth_mm": {`, 1),
		"no such number":   strings.Replace(string(data), "66.5", "6650", 1),
		"no such size":     strings.Replace(string(data), "42.5", "9000", 1),
		"no such tool":     strings.Replace(string(data), `"tape"`, `"eye"`, 1),
		"larger than ever": strings.Replace(string(data), "Half done", strings.Repeat("x", maxDraft), 1),
	} {
		t.Run(name, func(t *testing.T) {
			require.NotEqual(t, string(data), text)
			s := open(t)
			require.NoError(t, s.KeepDraft(draft()))
			write(t, s.kept(draftFile), text)
			_, ok, err := s.Draft()
			assert.False(t, ok)
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			left, err := os.ReadFile(p.File)
			require.NoError(t, err)
			assert.Equal(t, text, string(left), "nothing is thrown away")
			_, ok, err = s.Draft()
			require.NoError(t, err, "it is told once")
			assert.False(t, ok)
		})
	}
}
