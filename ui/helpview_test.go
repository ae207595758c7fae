package ui

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/internal/lengths"
	"lastroom/ui/casepage"
	"lastroom/ui/desk"
	"lastroom/ui/help"
)

// said is all that the dialog on top says.
func said(w *Window) string {
	text := ""
	for _, o := range test.LaidOutObjects(w.win.Canvas().Overlays().Top()) {
		if l, ok := o.(*widget.Label); ok {
			text += l.Text + "\n"
		}
	}
	return text
}

func TestOneKeyExplainsTheFieldThatHasTheFocus(t *testing.T) {
	w, _, _ := openShoes(t)
	for _, key := range []string{"bevel_medial_deg", "wedge_length_mm", "bevel_back_deg"} {
		w.win.Canvas().Focus(w.number(t, key).entry)
		press(w.win.Canvas().Focused(), fyne.KeyF1)
		require.Len(t, w.open, 1, key)
		topic, ok := help.Find(key)
		require.True(t, ok)
		for _, want := range []string{topic.What, "How: " + topic.How, "Why: " + topic.Why} {
			assert.Contains(t, said(w), want)
		}
		assert.NotNil(t, w.topicPicture(&topic, 400, 300), "with a drawing")
		assert.True(t, w.functionKey(fyne.KeyEscape))
	}
	w.win.Canvas().Focus(w.panes[0])
	press(w.panes[0], fyne.KeyF1)
	require.Len(t, w.open, 1)
	assert.Contains(t, said(w), "F7 F5")
	w.functionKey(fyne.KeyEscape)

	w.showMeasures()
	press(w.win.Canvas().Focused(), fyne.KeyF1)
	require.Len(t, w.open, 1)
	topic, _ := help.Find("measure." + footwear.LastLength.Info().Key)
	assert.Contains(t, said(w), topic.Why)
	assert.NotNil(t, w.topicPicture(&topic, 400, 300))
	tap(t, w, "Words")
	require.Len(t, w.open, 1)
	search, ok := w.win.Canvas().Focused().(*widget.Entry)
	require.True(t, ok)
	test.Type(search, "rearfoot")
	assert.Contains(t, said(w), "heel wedge")
	assert.NotContains(t, said(w), "tread line")
	for _, topic := range help.Topics() { // whatever is asked for is shown
		w.showTopic(&topic, "")
		w.open[len(w.open)-1]()
	}
}

func TestTheWalkIsShownOnceAndCanBeHadAgain(t *testing.T) {
	w := openCases(t, t.TempDir())
	w.refits, w.screens = nil, nil
	w.comeBack()
	require.Len(t, w.open, 1)
	steps := help.Walk()
	assert.Contains(t, said(w), steps[0].Text)
	for i := 1; i < len(steps); i++ {
		press(w.win.Canvas().Focused(), fyne.KeyReturn)
		require.Len(t, w.open, 1)
		assert.Contains(t, said(w), steps[i].Text)
	}
	tap(t, w, "Back")
	assert.Contains(t, said(w), steps[len(steps)-2].Text)
	assert.True(t, w.functionKey(fyne.KeyEscape), "it can be skipped")
	assert.Empty(t, w.open)
	w.comeBack()
	assert.Empty(t, w.open, "once is enough")
	w.walk(0)
	assert.Len(t, w.open, 1)
}

func TestTheWindowComesBackAsItWasLeft(t *testing.T) {
	dir := t.TempDir()
	w := openCases(t, dir)
	w.cases.do(casepage.Do{What: casepage.New, Text: "A-1"})
	w.do(desk.StepBevels{N: 2})
	w.showCases()
	w.win.Resize(fyne.NewSize(1000, 700))
	w.remember(filepath.Join(dir, "one.stl"))
	w.remember(filepath.Join(dir, "two.zip"))
	w.remember(filepath.Join(dir, "one.stl"))
	require.Len(t, w.menus.recent.ChildMenu.Items, 2)
	assert.Equal(t, "one.stl", w.menus.recent.ChildMenu.Items[0].Label)
	w.app.Preferences().SetBool(walkPreference, true)
	w.leave()
	left := w.state.Device

	var next *Window
	next = newWindow(w.app, desk.Demo(), nil, func(q desk.Check) {
		a, err := answerTo(q)
		require.NoError(t, err)
		next.do(desk.Answered{Answer: a})
	}, w.want)
	assert.InDelta(t, 1000, next.win.Canvas().Size().Width, 1)
	assert.InDelta(t, 700, next.win.Canvas().Size().Height, 1)
	next.shoesDir, next.aside = w.shoesDir, w.aside
	b, opened := openBook(filepath.Join(dir, "book.db")) // the first window has it still: it is read
	require.NoError(t, opened.Err)
	t.Cleanup(func() { _ = b.Close() })
	next.cases = newCaseView(next, func(j casepage.Job) { next.cases.do(casepage.Work(context.Background(), b, j)) })
	next.cases.do(opened)
	next.comeBack()
	assert.Equal(t, left, next.state.Device, "the desk goes on in the case")
	assert.Equal(t, page(next.cases), next.pages.over, "on the page that was left")
	w.app.Preferences().SetFloat(widthPreference, -5)
	assert.Equal(t, fyne.NewSize(1280, 800), next.leftSize())
}

func TestPreferencesAreKept(t *testing.T) {
	w := openCases(t, t.TempDir())
	w.shortcut(t, fyne.KeySlash, ctrl)
	require.Len(t, w.open, 1)
	var selects []*widget.Select
	var entries []*widget.Entry
	for _, o := range test.LaidOutObjects(w.win.Canvas().Overlays().Top()) {
		switch o := o.(type) {
		case *widget.Select:
			selects = append(selects, o)
		case *widget.Entry:
			entries = append(entries, o)
		}
	}
	require.Len(t, selects, 5)
	require.Len(t, entries, 5)
	selects[0].SetSelectedIndex(1)
	selects[1].SetSelectedIndex(1)
	selects[2].SetSelectedIndex(1)
	selects[3].SetSelectedIndex(2)
	entries[0].SetText("1.2")
	entries[1].SetText("20")
	entries[2].SetText("80")
	entries[3].SetText(filepath.Join(os.TempDir(), "book.db"))
	entries[4].SetText(os.TempDir())
	uk := slices.Index(selects[4].Options, "UK")
	require.GreaterOrEqual(t, uk, 0, "%v", selects[4].Options)
	selects[4].SetSelectedIndex(uk)
	for _, o := range test.LaidOutObjects(w.win.Canvas().Overlays().Top()) {
		if b, ok := o.(*widget.Button); ok && b.Text == "Keep" {
			test.Tap(b)
		}
	}
	p := w.app.Preferences()
	assert.Equal(t, desk.LightLook, w.state.Look)
	assert.Equal(t, lengths.Inch, w.state.Lengths)
	assert.Equal(t, "in", p.String(lengthsPreference))
	assert.Equal(t, "letter", p.String(paperPreference))
	assert.Equal(t, "fr", p.String(languagePreference))
	assert.InDelta(t, 0.2, p.Float(unsureLoPreference), 1e-9)
	assert.InDelta(t, 1.2, p.Float(scalePreference), 1e-9)
	assert.Equal(t, filepath.Join(os.TempDir(), "book.db"), p.String(casebookPreference))
	assert.Equal(t, os.TempDir(), p.String(shoesPreference))
	assert.Equal(t, footwear.UK, w.state.Size.System)
}
