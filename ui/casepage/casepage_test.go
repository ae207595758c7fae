package casepage_test

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/casebook"
	"lastroom/footwear"
	"lastroom/ui/casepage"
)

// desk plays the window: it does the jobs at once, and remembers what came to the desk.
type desk struct {
	t  *testing.T
	b  *casebook.Book
	s  casepage.State
	up []casepage.TakeUp
}

func open(t *testing.T, dir string) *desk {
	t.Helper()
	b, err := casebook.Open(t.Context(), filepath.Join(dir, "book.db"), casebook.Settings{})
	require.NoError(t, err)
	t.Cleanup(func() { _ = b.Close() })
	d := &desk{t: t, b: b}
	why, _ := b.ReadOnly()
	d.do(casepage.Opened{File: b.File(), ReadOnly: why, Notices: b.Notices()})
	return d
}

func (d *desk) do(a casepage.Action) {
	var es []casepage.Effect
	d.s, es = casepage.Reduce(d.s, a)
	for _, e := range es {
		switch e := e.(type) {
		case casepage.Job:
			d.do(casepage.Work(context.Background(), d.b, e))
		case casepage.TakeUp:
			d.up = append(d.up, e)
		}
	}
}

func (d *desk) ok(a casepage.Action) {
	d.t.Helper()
	d.do(a)
	require.Empty(d.t, d.s.Failure)
}

func (d *desk) refused(a casepage.Action, why string) {
	d.t.Helper()
	d.do(a)
	assert.Contains(d.t, d.s.Failure, why)
	assert.True(d.t, casepage.WordsView(&d.s).Warn)
}

func stand(t *testing.T) casebook.Stand {
	t.Helper()
	sheet, err := footwear.Demo().Find("lace-dress")
	require.NoError(t, err)
	p, err := device.FindPreset("everyday-block")
	require.NoError(t, err)
	return casebook.Stand{
		Shoe: sheet, Ordered: p.Options, Now: p.Options, Label: p.ID,
		Result: &fit.Result{Status: fit.Converged, Verdict: fit.Verdict{State: fit.Snug, Sentence: "It goes in.", Limits: fit.Caution, Odds: 0.8}},
	}
}

func TestEveryChangeOnTheDeskIsKeptInItsCase(t *testing.T) {
	dir := t.TempDir()
	d := open(t, dir)
	assert.Contains(t, casepage.WordsView(&d.s).Notice, "no case")
	d.do(casepage.Stands{Stand: stand(t)})
	assert.Empty(t, d.s.Rows, "no case is open: nothing is kept")
	d.ok(casepage.Do{What: casepage.New, Text: "A-1"})
	assert.Equal(t, "A-1", d.s.OnCode)
	d.refused(casepage.Do{What: casepage.New, Text: "A-1"}, "another case has this code")
	d.refused(casepage.Do{What: casepage.New, Text: "Jane Doe"}, "Jane Doe")
	s := stand(t)
	d.ok(casepage.Stands{Stand: s})
	s.Now.BevelMedialDeg = 12
	d.ok(casepage.Stands{Stand: s})
	d.ok(casepage.Do{What: casepage.Note, Text: "heel narrow"})
	d.refused(casepage.Do{What: casepage.Note, Text: "  "}, "empty")
	w := casepage.WordsView(&d.s)
	for _, want := range []string{"case A-1", "heel narrow", "bevel_medial_deg 30 → 12", "qualified practitioner"} {
		assert.Contains(t, w.About+w.Remarks, want)
	}
	assert.Contains(t, w.Undo, "note added")

	d.ok(casepage.Do{What: casepage.Undo})
	d.ok(casepage.Do{What: casepage.Undo})
	require.NotEmpty(t, d.up, "the desk goes back with the case")
	assert.InDelta(t, 30, d.up[len(d.up)-1].Stand.Now.BevelMedialDeg, 0)
	d.ok(casepage.Do{What: casepage.Redo})
	assert.InDelta(t, 12, d.up[len(d.up)-1].Stand.Now.BevelMedialDeg, 0)
	require.NoError(t, d.b.Close())

	next := open(t, dir) // over a restart
	require.Len(t, next.s.Rows, 1)
	next.ok(casepage.PickBy{N: 1})
	next.refused(casepage.Do{What: casepage.Came}, "on the desk first")
	next.ok(casepage.Do{What: casepage.Take})
	assert.Equal(t, "A-1", next.s.OnCode)
	assert.InDelta(t, 12, next.up[0].Stand.Now.BevelMedialDeg, 0)
	next.ok(casepage.Do{What: casepage.Redo})
	assert.Contains(t, casepage.WordsView(&next.s).Remarks, "heel narrow")
	next.refused(casepage.Do{What: casepage.Redo}, "Nothing is left")
	next.ok(casepage.Do{What: casepage.Came, Outcome: fit.Outcome{
		Date: "2026-11-27", Shoe: "lace-dress", Size: "EU 42", Closure: "lace", Options: s.Now, Program: fit.Version, Odds: 0.8, Happened: fit.WentIn,
		Places: []fit.OutcomePlace{},
	}})
	assert.Contains(t, casepage.WordsView(&next.s).Remarks, "went in")
	next.ok(casepage.Search{Text: "nothing such"})
	assert.Empty(t, next.s.Rows)
	next.ok(casepage.Search{Text: "lace"})
	assert.Len(t, next.s.Rows, 1)
	next.ok(casepage.Leave{})
	before := next.s.Case.Rev
	next.do(casepage.Stands{Stand: stand(t)})
	assert.Equal(t, before, next.s.Case.Rev)
	next.ok(casepage.Do{What: casepage.Delete})
	assert.Empty(t, next.s.Rows)
	assert.Empty(t, next.s.Picked)
}

// The lab's proposal comes back as the same kind of file; side by side it is told what differs; accepted it is one step.
func TestALabsProposalIsLookedAtAndAccepted(t *testing.T) {
	clinic, lab := open(t, t.TempDir()), open(t, t.TempDir())
	dir := t.TempDir()
	sent, back := filepath.Join(dir, "sent.zip"), filepath.Join(dir, "back.zip")
	clinic.ok(casepage.Do{What: casepage.New, Text: "A-1"})
	s := stand(t)
	clinic.ok(casepage.Stands{Stand: s})
	clinic.ok(casepage.Do{What: casepage.Export, Path: sent})
	clinic.refused(casepage.Do{What: casepage.Export, Path: sent}, sent)

	lab.ok(casepage.Do{What: casepage.Import, Path: sent})
	assert.Contains(t, lab.s.Notice, "taken in")
	lab.ok(casepage.Do{What: casepage.Take})
	s = lab.up[0].Stand
	s.Now.CupDepthMM, s.Now.WidthTrimMM = 11, 28
	s.Result = stand(t).Result
	lab.ok(casepage.Stands{Stand: s})
	lab.ok(casepage.Do{What: casepage.Export, Path: back})

	clinic.ok(casepage.Do{What: casepage.Import, Path: sent})
	assert.Contains(t, clinic.s.Notice, "nothing in it differs")
	clinic.ok(casepage.Do{What: casepage.Import, Path: back})
	p := clinic.s.Proposal
	require.NotNil(t, p)
	assert.NotEmpty(t, p.Differences)
	assert.Contains(t, p.Changes[0]+p.Changes[1], "lower the rim of the cup by 3 mm")
	assert.Contains(t, p.Here.Limits, "qualified practitioner")
	assert.NotEqual(t, p.Here.Tightest, p.There.Tightest)
	assert.Contains(t, p.Kept, "support")
	clinic.ok(casepage.Decline{})
	assert.Nil(t, clinic.s.Proposal)
	clinic.refused(casepage.Do{What: casepage.Accept}, "no proposal")
	clinic.ok(casepage.Do{What: casepage.Import, Path: back})
	clinic.ok(casepage.Do{What: casepage.Accept})
	require.NotEmpty(t, clinic.up)
	assert.InDelta(t, 11, clinic.up[len(clinic.up)-1].Stand.Now.CupDepthMM, 0)
	clinic.ok(casepage.Do{What: casepage.Undo})
	assert.InDelta(t, 14, clinic.up[len(clinic.up)-1].Stand.Now.CupDepthMM, 0, "one step back")
}

func TestABookThatCanOnlyBeReadSaysSo(t *testing.T) {
	dir := t.TempDir()
	first := open(t, dir)
	first.ok(casepage.Do{What: casepage.Invited})
	assert.Contains(t, first.s.Notice, "12 invented cases")
	second := open(t, dir)
	assert.NotEmpty(t, second.s.ReadOnly)
	assert.Len(t, second.s.Rows, 12)
	second.refused(casepage.Do{What: casepage.New, Text: "B"}, "only be read")
	second.ok(casepage.Pick{ID: second.s.Rows[0].ID})
	second.ok(casepage.Do{What: casepage.Take})
	var none casepage.State
	none, es := casepage.Reduce(none, casepage.Opened{Err: assert.AnError})
	assert.Empty(t, es)
	assert.NotEmpty(t, none.Failure)
	_, es = casepage.Reduce(none, casepage.Search{Text: "x"})
	assert.Empty(t, es)
}

// A button has no room for a long step; the history has it whole.
func TestALongStepIsCutOnItsButton(t *testing.T) {
	d := open(t, t.TempDir())
	d.ok(casepage.Do{What: casepage.New, Text: "A-1"})
	d.ok(casepage.Do{What: casepage.Note, Text: "a note that is too long for any button"})
	w := casepage.WordsView(&d.s)
	assert.Less(t, len([]rune(w.Undo)), 45)
	assert.Contains(t, w.History, "too long for any button")
}
