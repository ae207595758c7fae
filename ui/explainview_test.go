package ui

import (
	"bytes"
	"image"
	"image/color"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	labsheet "lastroom/fit/sheet"
	"lastroom/ui/desk"
	"lastroom/ui/explainpage"
)

func openExplain(t *testing.T) *Window {
	t.Helper()
	w, _, _ := openShoes(t)
	w.shortcut(t, fyne.KeyH, ctrl)
	require.Equal(t, page(w.explain), w.pages.over)
	require.NotNil(t, w.explain.shown)
	return w
}

// words are all words of the page.
func (v *explainView) text() string {
	var out []string
	for _, o := range v.words.Objects {
		if l, ok := o.(*widget.Label); ok {
			out = append(out, l.Text)
		}
	}
	return strings.Join(append(out, v.mind.Text), "\n")
}

func TestThePageForThePatientTellsBeforeAndAfter(t *testing.T) {
	w := openExplain(t)
	v := w.explain
	assert.Contains(t, v.text(), "Your insert does not fit in this shoe as it is.")
	assert.Contains(t, v.text(), "stop and call us")
	assert.Contains(t, v.text(), "not a trial")
	assert.False(t, v.wipeSlider.Visible(), "there is nothing to compare with")
	w.pages.turnTo(nil)
	w.do(desk.StepBevels{N: 2})
	w.showExplain()
	require.NotNil(t, v.shown.after)
	assert.Contains(t, v.text(), "With the change")
	assert.True(t, v.wipeSlider.Visible())

	// The line between before and after goes with the slider: at its ends only one is shown.
	v.wipe.slide(1)
	before := pixels(v.wipe.picture.Image)
	v.wipe.slide(0)
	after := pixels(v.wipe.picture.Image)
	assert.NotEqual(t, before, after)
	w.win.Canvas().Focus(v.wipeSlider)
	v.wipeSlider.SetValue(0.5)
	press(v.wipeSlider, fyne.KeyRight)
	assert.InDelta(t, 0.55, v.wipe.share, 1e-9)

	// The solid turns by keys and by dragging.
	w.win.Canvas().Focus(v.solid)
	at := v.solid.eye
	first := pixels(v.solid.picture.Image)
	press(v.solid, fyne.KeyRight)
	assert.InDelta(t, at.TurnDeg+10, v.solid.eye.TurnDeg, 1e-9)
	assert.NotEqual(t, first, pixels(v.solid.picture.Image))
	v.solid.Dragged(&fyne.DragEvent{Dragged: fyne.Delta{DX: -20, DY: 500}})
	assert.InDelta(t, at.TurnDeg, v.solid.eye.TurnDeg, 1e-9)
	assert.InDelta(t, 80, v.solid.eye.TiltDeg, 1e-9)
	for _, k := range []fyne.KeyName{fyne.KeyF2, fyne.KeyF3, fyne.KeyF4} {
		was := pixels(v.solid.picture.Image) + pixels(v.wipe.picture.Image)
		press(v.solid, k)
		assert.NotEqual(t, was, pixels(v.solid.picture.Image)+pixels(v.wipe.picture.Image), k)
	}
	v.ownWindow()
	windows := w.app.Driver().AllWindows()
	own := windows[len(windows)-1]
	assert.NotEqual(t, w.win, own)
	own.Close()
	press(v.solid, fyne.KeyEscape)
	assert.Nil(t, w.pages.over)
}

func pixels(img image.Image) string {
	if rgba, ok := img.(*image.RGBA); ok {
		return string(rgba.Pix)
	}
	var b bytes.Buffer
	r := img.Bounds()
	for y := r.Min.Y; y < r.Max.Y; y += 3 {
		for x := r.Min.X; x < r.Max.X; x += 3 {
			c := color.NRGBAModel.Convert(img.At(x, y)).(color.NRGBA)
			b.Write([]byte{c.R, c.G, c.B})
		}
	}
	return b.String()
}

// In each language, at the size of the usual window and at that of scale 2, no button's words are cut off and every label has the height
// that its lines need.
func TestNoTextOfThePageIsCutOff(t *testing.T) {
	w := openExplain(t)
	v := w.explain
	for _, size := range []fyne.Size{{Width: 1280, Height: 800}, {Width: 640, Height: 400}} {
		w.win.Resize(size)
		for i := range explainpage.Codes {
			v.language.SetSelectedIndex(i)
			require.Equal(t, explainpage.Codes[i], v.texts.Code)
			for _, o := range test.LaidOutObjects(v.all) {
				if !o.Visible() {
					continue
				}
				switch o := o.(type) {
				case *keyButton:
					assert.GreaterOrEqual(t, o.Size().Width+0.5, o.MinSize().Width, "%s: %q", v.texts.Code, o.Text)
				case *widget.Label:
					assert.GreaterOrEqual(t, o.Size().Height+0.5, o.MinSize().Height, "%s: %q", v.texts.Code, o.Text)
					assert.True(t, o.Size().Width > 80 || len(o.Text) < 8, "%s: %q is %.0f wide", v.texts.Code, o.Text, o.Size().Width)
				}
			}
		}
	}
	assert.Equal(t, "es", w.app.Preferences().String(languagePreference), "the choice is kept")
	assert.Equal(t, "de_AT.UTF-8", systemLanguage(func(n string) string { return map[string]string{"LANG": "de_AT.UTF-8"}[n] }))
}

// The handout is one page in every language and on both papers, and carries the cautions.
func TestTheHandoutIsOnePage(t *testing.T) {
	w, _, _ := openShoes(t)
	w.do(desk.StepBevels{N: 2})
	w.showExplain()
	e := w.explain.shown
	require.NotNil(t, e.after)
	for _, code := range explainpage.Codes {
		for _, paper := range []labsheet.Paper{labsheet.A4, labsheet.Letter} {
			path := filepath.Join(t.TempDir(), "handout.pdf")
			require.NoError(t, writeHandout(path, e.handout(explainpage.TextsOf(code)), paper))
			out, err := exec.Command("pdftotext", "-layout", path, "-").Output()
			require.NoError(t, err)
			text := strings.Join(strings.Fields(string(out)), " ")
			assert.Equal(t, 1, strings.Count(string(out), "\f"), "%s, %s", code, paper)
			p := explainpage.PageOf(explainpage.TextsOf(code), &e.c)
			for _, want := range append([]string{p.Title, p.Mind}, p.Watch...) {
				assert.Contains(t, text, strings.Join(strings.Fields(want), " "), code)
			}
		}
	}
	assert.Error(t, writeHandout(filepath.Join(t.TempDir(), "no", "x.pdf"), e.handout(explainpage.TextsOf("en")), labsheet.A4))
	much := e.handout(explainpage.TextsOf("en"))
	much.Foot = strings.Repeat("more and more ", 2000)
	path := filepath.Join(t.TempDir(), "much.pdf")
	assert.Error(t, writeHandout(path, much, labsheet.A4))
	_, err := os.Stat(path)
	assert.Error(t, err, "nothing is left of it")
}
