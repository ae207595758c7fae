package ui

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/fit"
	"lastroom/fit/casebook"
	"lastroom/internal/lengths"
	"lastroom/ui/casepage"
	"lastroom/ui/desk"
)

// openCases is a window with the page of cases on a book; jobs are done at once.
func openCases(t *testing.T, dir string) *Window {
	t.Helper()
	w, _, _ := openShoes(t)
	b, opened := openBook(filepath.Join(dir, "book.db"))
	require.NoError(t, opened.Err)
	t.Cleanup(func() { _ = b.Close() })
	w.cases = newCaseView(w, func(j casepage.Job) { w.cases.do(casepage.Work(context.Background(), b, j)) })
	w.cases.do(opened)
	return w
}

func TestACaseIsBegunKeptAndOpenedAgainByKeyboard(t *testing.T) {
	dir := t.TempDir()
	w := openCases(t, dir)
	w.shortcut(t, fyne.KeyD, ctrl)
	v := w.cases
	require.Equal(t, page(v), w.pages.over)
	w.win.Canvas().Focus(v.code)
	test.Type(v.code, "A-17")
	press(v.code, fyne.KeyReturn)
	require.Equal(t, "A-17", v.state.OnCode, v.band.sentence.Text)
	assert.Equal(t, "Lastroom · case A-17", w.win.Title())
	assert.Contains(t, v.about.Text, "everyday-block")
	assert.Contains(t, v.about.Text, "qualified practitioner")

	w.pages.turnTo(nil)
	w.do(desk.StepBevels{N: 2}) // kept as it is made
	s, err := v.state.Case, error(nil)
	require.NoError(t, err)
	require.Len(t, s.Case.Devices, 2)
	before := w.state.Device.BevelMedialDeg
	w.do(desk.StepBevels{N: 1})
	assert.Len(t, v.state.Case.Case.Devices, 2, "the same device as changed")

	w.shortcut(t, fyne.KeyD, ctrl)
	w.win.Canvas().Focus(v.note)
	test.Type(v.note, "heel narrow")
	press(v.note, fyne.KeyReturn)
	assert.Contains(t, v.about.Text, "heel narrow")
	assert.Empty(t, v.note.Text)
	w.undo() // the note
	w.undo() // the last step of the bevels, on the desk too
	assert.InDelta(t, before, w.state.Device.BevelMedialDeg, 0)
	w.redo()
	assert.NotContains(t, v.about.Text, "heel narrow")
	w.redo()
	assert.Contains(t, v.about.Text, "heel narrow")

	// What came of it: a form by keyboard.
	require.True(t, v.key(fyne.KeyF4))
	require.Len(t, w.open, 1)
	form := newOutcomeForm(w.state.Shown.Result)
	o := w.state.Shown.Bench.NewOutcome("", s.Changed, w.state.Shown.Device, w.state.Shown.Result, nil)
	form.happened.SetSelectedIndex(2)
	form.ground.SetText("much")
	assert.ErrorContains(t, form.fill(&o), "much")
	form.ground.SetText("1.5")
	assert.Error(t, form.fill(&o), "where is needed")
	form.place.SetSelectedIndex(0)
	require.NoError(t, form.fill(&o))
	assert.Equal(t, fit.Ground, o.Happened)
	assert.InDelta(t, 1.5, o.GroundMM, 0)
	w.open[0]()
	v.do(casepage.Do{What: casepage.Came, Outcome: o})
	assert.Contains(t, v.about.Text, "came of it")

	photo := filepath.Join(dir, "heel.jpg")
	require.NoError(t, os.WriteFile(photo, []byte("a photograph"), 0o600))
	v.do(casepage.Do{What: casepage.Attach, Path: photo})
	assert.Contains(t, v.about.Text, "photograph heel.jpg")

	// The next start, as it is on the disk.
	left := w.state.Device
	size := w.state.Size
	next := openCases(t, dir)
	next.shortcut(t, fyne.KeyD, ctrl)
	assert.NotEmpty(t, next.cases.state.ReadOnly, "the first window has the book still")
	press(next.cases.list, fyne.KeyDown)
	press(next.cases.list, fyne.KeyReturn)
	require.Nil(t, next.pages.over, next.cases.state.Failure)
	assert.Equal(t, left, next.state.Device)
	assert.Equal(t, size, next.state.Size)
	next.undo()
	assert.NotEqual(t, left, next.state.Device, "opening a case is a step of the desk")
}

func TestAFileThatWasSentOpensAndAProposalIsShown(t *testing.T) {
	dir := t.TempDir()
	clinic := openCases(t, filepath.Join(dir, "clinic"))
	clinic.cases.do(casepage.Do{What: casepage.New, Text: "B-2"})
	sent := filepath.Join(dir, "sent.zip")
	require.NoError(t, os.WriteFile(sent, nil, 0o600)) // as the dialog leaves it
	clinic.cases.export(sent)
	require.Empty(t, clinic.cases.state.Failure)

	lab := openCases(t, filepath.Join(dir, "lab"))
	lab.Open(sent)
	require.Equal(t, page(lab.cases), lab.pages.over)
	press(lab.cases.list, fyne.KeyReturn)
	require.Equal(t, "B-2", lab.cases.state.OnCode, lab.cases.state.Failure)
	lab.do(desk.StepBevels{N: 3})
	back := filepath.Join(dir, "back.zip")
	lab.cases.export(back)

	clinic.Open(back)
	require.Len(t, clinic.open, 1, "what differs is shown")
	require.IsType(t, &keyButton{}, clinic.win.Canvas().Focused())
	before := clinic.state.Device
	tap(t, clinic, "Leave the case as it is")
	assert.Empty(t, clinic.open)
	assert.Equal(t, before, clinic.state.Device)
	clinic.Open(back)
	tap(t, clinic, "Accept it: one step, which can be undone")
	assert.Equal(t, lab.state.Device, clinic.state.Device)
	clinic.undo()
	assert.Equal(t, before, clinic.state.Device)

	// A file that comes before the book is open waits for it.
	early, _, _ := openShoes(t)
	b, opened := openBook(filepath.Join(dir, "early", "book.db"))
	require.NoError(t, opened.Err)
	t.Cleanup(func() { _ = b.Close() })
	early.cases = newCaseView(early, func(j casepage.Job) { early.cases.do(casepage.Work(context.Background(), b, j)) })
	early.Open(sent)
	assert.Empty(t, early.cases.state.Rows)
	early.cases.do(opened)
	assert.Len(t, early.cases.state.Rows, 1, early.cases.state.Failure)

	bad := filepath.Join(dir, "bad.lastroom")
	require.NoError(t, os.WriteFile(bad, []byte("no zip"), 0o600))
	clinic.Open(bad)
	assert.Contains(t, clinic.cases.band.sentence.Text, "bad.lastroom")

	press(clinic.cases.list, fyne.KeyDelete)
	require.Len(t, clinic.open, 1, "it asks first")
	clinic.open[0]()
	assert.NotEmpty(t, clinic.cases.state.Rows)
}

func TestTheSheetForTheLabIsWritten(t *testing.T) {
	w := openCases(t, t.TempDir())
	for _, c := range []struct{ name, want string }{{"order.pdf", "order of the device"}, {"change.txt", "to be changed"}} {
		path := filepath.Join(t.TempDir(), c.name)
		if c.name == "change.txt" {
			w.do(desk.StepBevels{N: 3})
		}
		told, err := makeSheet(context.Background(), w.state.Shown, "A-1", path, w.sheetPaper(), lengths.MM)
		require.NoError(t, err)
		assert.Contains(t, told, c.want)
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Greater(t, len(data), 2000)
	}
	w.writeSheet(w.state.Shown, "", filepath.Join(t.TempDir(), "no", "folder.pdf"))
	require.Len(t, w.open, 1)
}

// Jobs are done in order; of what stands on the desk only the newest is kept; closing waits for all.
func TestTheWorkOnTheCasebookIsDoneInOrder(t *testing.T) {
	b, opened := openBook(filepath.Join(t.TempDir(), "book.db"))
	require.NoError(t, opened.Err)
	done := make(chan casepage.Done, 100)
	k := newCaseWork(func(a casepage.Action) { done <- a.(casepage.Done) })
	k.book = b
	k.put(casepage.Job{Do: casepage.New, Text: "A-1"})
	first := <-done
	require.NoError(t, first.Err)
	for i := range 20 {
		k.put(casepage.Job{Do: casepage.Note, ID: first.ID, Text: string(rune('a' + i))})
	}
	k.close()
	assert.Len(t, done, 20)
	again, err := casebook.Open(context.Background(), opened.File, casebook.Settings{})
	require.NoError(t, err)
	defer again.Close()
	s, err := again.Get(context.Background(), "A-1")
	require.NoError(t, err)
	require.Len(t, s.Case.Notes, 20)
	assert.Equal(t, "t", s.Case.Notes[19].Text)
}

// What came of devices is held against the odds; what it teaches is switched on as one step, and taken back.
func TestOutcomesTeachWhenTheUserSwitchesItOn(t *testing.T) {
	w := openCases(t, t.TempDir())
	w.showCases()
	require.True(t, w.cases.key(fyne.KeyF7))
	require.Len(t, w.open, 1)
	assert.Contains(t, said(w), "No outcome is kept yet")
	w.open[0]()
	w.cases.do(casepage.Do{What: casepage.New, Text: "C-1"})
	o := w.state.Shown.Bench.NewOutcome("", w.cases.state.Case.Changed, w.state.Shown.Device, w.state.Shown.Result, nil)
	for range 5 {
		w.cases.do(casepage.Do{What: casepage.Came, Outcome: o})
		require.Empty(t, w.cases.state.Failure)
	}
	before := w.state.Shown.Result.Verdict.Odds
	require.True(t, w.cases.key(fyne.KeyF7))
	assert.Contains(t, said(w), "5 outcomes")
	assert.Contains(t, said(w), "from 5 outcomes")
	tap(t, w, "Use what they teach from now on")
	require.NotNil(t, w.state.Learnt)
	assert.Greater(t, w.state.Shown.Result.Verdict.Odds, before, "the device went in five times against its odds")
	assert.Contains(t, desk.VerdictView(&w.state).Limits, "taught")
	w.pages.turnTo(nil)
	w.undo()
	assert.Nil(t, w.state.Learnt)
	assert.InDelta(t, before, w.state.Shown.Result.Verdict.Odds, 0)
	w.redo()
	w.showCases()
	require.True(t, w.cases.key(fyne.KeyF7))
	tap(t, w, "Use the gives of the sheets")
	assert.Nil(t, w.state.Learnt)
}
