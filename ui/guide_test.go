package ui

import (
	"context"
	"image"
	"image/color"
	"image/png"
	"os"
	"testing"

	"fyne.io/fyne/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/fit"
	"lastroom/ui/desk"
	"lastroom/ui/measurepage"
)

// The pictures of the user's guide are those of the window as it is. UPDATE_GOLDEN=1 makes them anew; then look at them.
func TestThePicturesOfTheGuideAreThoseOfTheWindow(t *testing.T) {
	w, _, _ := openShoes(t)
	w.measures = newMeasureView(w, func(wish takingWish) { wish.done(wish.draw()) }, func(e measurepage.Effect) {
		if b, ok := e.(measurepage.Build); ok {
			w.measures.do(measurepage.Built{Made: b.Work()})
		}
	})
	w.do(desk.SetLook{Look: desk.LightLook})
	a := w.state.Shown
	support, err := a.Bench.Support(context.Background(), a.Device, a.Device, a.Inputs.Foot, a.Inputs.Axis())
	require.NoError(t, err)
	odds, err := a.Bench.Odds(context.Background(), a.Device, a.Inputs.Foot, fit.OddsOptions{Draws: 500})
	require.NoError(t, err)
	w.do(desk.Deepened{Generation: a.Generation, Depth: desk.Depth{Support: support, Odds: odds, Done: true}})
	picture := func(name string) {
		t.Helper()
		for _, wide := range []float32{1279, 1280, 1279, 1280} { // texts that have changed are laid out anew, as the next frame does
			w.win.Resize(fyne.NewSize(wide, 800))
		}
		img := w.win.Canvas().Capture()
		file := "../docs/pictures/" + name + ".png"
		if os.Getenv("UPDATE_GOLDEN") != "" {
			f, err := os.Create(file)
			require.NoError(t, err)
			require.NoError(t, png.Encode(f, img))
			require.NoError(t, f.Close())
		}
		f, err := os.Open(file)
		require.NoError(t, err)
		defer f.Close()
		have, err := png.Decode(f)
		require.NoError(t, err)
		assert.Less(t, unlike(have, img), 0.01, "%s: make it anew with UPDATE_GOLDEN=1", name)
	}
	picture("desk")
	w.win.Canvas().Focus(w.number(t, "bevel_medial_deg").entry)
	press(w.win.Canvas().Focused(), fyne.KeyF1)
	picture("help")
	w.functionKey(fyne.KeyEscape)
	w.showMeasures()
	w.typeIn(t, "281")
	w.typeIn(t, "99")
	picture("measure")
	w.pages.turnTo(nil)
	w.do(desk.StepBevels{N: 2})
	w.explain = w.newExplain(w.win, func() { w.pages.turnTo(nil) })
	w.explain.speak("en")
	w.pages.turnTo(w.explain)
	require.NotNil(t, w.explain.shown)
	picture("patient")
}

// unlike is the share of the pixels that differ to the eye.
func unlike(a, b image.Image) float64 {
	if a.Bounds().Size() != b.Bounds().Size() {
		return 1
	}
	n, r := 0, a.Bounds()
	for y := range r.Dy() {
		for x := range r.Dx() {
			p := color.NRGBAModel.Convert(a.At(r.Min.X+x, r.Min.Y+y)).(color.NRGBA)
			q := color.NRGBAModel.Convert(b.At(b.Bounds().Min.X+x, b.Bounds().Min.Y+y)).(color.NRGBA)
			if far(p.R, q.R) || far(p.G, q.G) || far(p.B, q.B) {
				n++
			}
		}
	}
	return float64(n) / float64(r.Dx()*r.Dy())
}

func far(a, b uint8) bool { return max(a, b)-min(a, b) > 40 }
