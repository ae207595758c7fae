package ui

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/fit"
	"lastroom/internal/lengths"
	"lastroom/ui/desk"
	"lastroom/ui/measurepage"
	"lastroom/ui/refitpage"
	"lastroom/ui/screenpage"
)

// textsOf are all texts that an object shows, what is hidden left out.
func textsOf(o fyne.CanvasObject) []string {
	if !o.Visible() {
		return nil
	}
	var out []string
	below := func(os []fyne.CanvasObject) {
		for _, o := range os {
			out = append(out, textsOf(o)...)
		}
	}
	switch o := o.(type) {
	case *widget.Label:
		out = append(out, o.Text)
	case *canvas.Text:
		out = append(out, o.Text)
	case *fyne.Container:
		below(o.Objects)
	case fyne.Widget:
		below(test.WidgetRenderer(o).Objects())
	}
	return out
}

// inMM is a length in mm in a text. What is per mm stays so.
var inMM = regexp.MustCompile(`\d ?mm[²³]?($|[^/·\w])`)

// With the preference of inches no length is told in mm, on any page, in no help and in no preference but where the unit is chosen.
func TestInInchesNothingIsToldInMM(t *testing.T) {
	w, _, _ := openShoes(t)
	w.measures = newMeasureView(w, func(wish takingWish) { wish.done(wish.draw()) }, func(e measurepage.Effect) {
		if b, ok := e.(measurepage.Build); ok {
			w.measures.do(measurepage.Built{Made: b.Work()})
		}
	})
	w.do(desk.SetLengths{Unit: lengths.Inch})
	seen := 0
	look := func(what string, o fyne.CanvasObject) {
		t.Helper()
		for _, text := range textsOf(o) {
			if strings.TrimSpace(text) == "mm" || inMM.MatchString(text) {
				t.Errorf("%s: %q", what, text)
			}
			if strings.Contains(text, " in") {
				seen++
			}
		}
	}
	whole := func(what string) {
		t.Helper()
		look(what, w.win.Canvas().Content())
	}
	whole("desk")
	for i := range w.lists.tabs.Items {
		w.lists.tabs.SelectIndex(i)
		whole("list")
	}
	for _, item := range w.inputs.fold.Items {
		look("fold "+item.Title, item.Detail)
	}
	w.showMeasures()
	assert.Equal(t, "11.024", w.measures.rows[w.measures.state.List()[0]].field.entry.PlaceHolder, "280 mm, assumed")
	w.typeIn(t, "11")
	whole("measures")
	first := w.measures.state.List()[0]
	assert.InDelta(t, 279.4, w.measures.state.Draft.M[first].Value, 1e-9, "typed as 11 inches: %s", first)
	w.showShoes()
	whole("shoes")
	w.pages.turnTo(nil)
	w.win.Canvas().Focus(w.number(t, "cup_depth_mm").entry)
	press(w.win.Canvas().Focused(), fyne.KeyF1)
	require.Len(t, w.open, 1)
	look("help", w.win.Canvas().Overlays().Top())
	w.functionKey(fyne.KeyEscape)
	assert.Greater(t, seen, 40, "inches are told")

	w.shortcut(t, fyne.KeyH, ctrl)
	require.NotNil(t, w.explain.shown)
	whole("patient")
	assert.Contains(t, w.explain.text(), "inch")
	w.pages.turnTo(nil)
	w.functionKey(fyne.KeyEscape)

	var asked refitpage.Run
	w.refits = newRefitView(w, func(r refitpage.Run) { asked = r }, func() {}, func(f func()) { f() })
	w.showRefits()
	a := asked.Case
	as := func(words string, margin float64) fit.Choice {
		return fit.Choice{Changes: []fit.Change{{Key: "cup_depth_mm", Words: words}}, Options: a.Inputs.Device, Device: a.Device, Room: a.Room, Result: a.Result, Work: fit.Grind, MarginMM: margin, SupportKept: 0.9}
	}
	w.refits.do(refitpage.Found{Serial: asked.Serial, Refit: &fit.Refit{AsIs: as("", -1), Choices: []fit.Choice{as("lower the rim of the cup by 2 mm, to 12 mm", 0.2)}, Sentence: "It has 0.2 mm to the limit.", Limits: fit.Caution}})
	whole("refits")
	w.pages.turnTo(nil)
	w.screens = newScreenView(w, func(screenpage.Run) {}, func() {})
	w.showScreens()
	w.screens.do(screenpage.Came{Serial: 1, Pair: fit.Screened{
		Pair: fit.Pair{Shoe: w.state.Shoes.Search("")[0], Device: a.Device, DeviceName: "this device"}, State: fit.Snug, Alone: 0.9, MarginMM: 0.5, Reason: "cup rim: gap 0.5 mm",
	}})
	whole("screen")
}

// What is typed without a unit is inches, with one it is that; the number that is shown, typed again, changes nothing.
func TestNumbersAreTypedInInches(t *testing.T) {
	w, _ := open(t)
	w.do(desk.SetLengths{Unit: lengths.Inch})
	f := w.number(t, "cup_depth_mm")
	enter := func(text string) float64 {
		f.entry.SetText(text)
		f.entry.commit()
		return w.state.Device.CupDepthMM
	}
	assert.InDelta(t, 12.7, enter("1/2"), 1e-9)
	assert.Equal(t, "0.50", f.entry.Text)
	assert.Equal(t, "in", f.unit.Text)
	assert.InDelta(t, 14, enter("14 mm"), 1e-9)
	assert.Equal(t, "0.551", f.entry.Text)
	before := w.state.Generation
	f.entry.commit()
	assert.Equal(t, before, w.state.Generation)
	assert.InDelta(t, 14, enter("0.551 in"), 1e-9)
	enter("9")
	assert.Contains(t, f.problem.text.Text, "0.197 to 1.378 in")
	assert.NotContains(t, f.problem.text.Text, "mm")
	enter("0.5")
	press(f.entry, fyne.KeyUp)
	assert.Equal(t, "0.55", f.entry.Text)
	w.do(desk.SetLengths{Unit: lengths.MM})
	assert.Equal(t, "mm", f.unit.Text)
	assert.True(t, slices.Contains([]string{"13.97", "13.970"}, f.entry.Text), f.entry.Text)
}
