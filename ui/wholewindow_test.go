package ui

import (
	"image"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/ui/desk"
)

// The whole window, light and dark, at scale 1 and 2: something is drawn in each of its parts. With
// LASTROOM_CAPTURES=DIR the pictures are kept, to be looked at.
func TestWholeWindow(t *testing.T) {
	for name, c := range map[string]struct {
		look  desk.Look
		scale float32
	}{"light": {desk.LightLook, 1}, "dark": {desk.DarkLook, 1}, "double": {desk.LightLook, 2}} {
		t.Run(name, func(t *testing.T) {
			w, _ := open(t)
			cv, ok := w.win.Canvas().(test.WindowlessCanvas)
			require.True(t, ok)
			cv.SetScale(c.scale)
			w.do(desk.SetLook{Look: c.look})
			img := w.win.Canvas().Capture()
			assert.InDelta(t, float64(1280*c.scale), img.Bounds().Dx(), 2)
			for _, p := range w.panes {
				pos := fyne.CurrentApp().Driver().AbsolutePositionForObject(p)
				part := image.Rect(int(pos.X*c.scale), int(pos.Y*c.scale),
					int((pos.X+p.Size().Width)*c.scale), int((pos.Y+p.Size().Height)*c.scale))
				assert.Greater(t, tones(img, part), 20, "a drawing")
				assert.InDelta(t, part.Dx(), p.shown.Image.Bounds().Dx(), 2, "a picture pixel for each of the window's")
			}
			dark := luminance(img, image.Rect(5, 300, 8, 303)) < 0.5
			assert.Equal(t, c.look == desk.DarkLook, dark)
			if dir := os.Getenv("LASTROOM_CAPTURES"); dir != "" {
				f, err := os.Create(filepath.Join(dir, name+".png"))
				require.NoError(t, err)
				require.NoError(t, png.Encode(f, img))
				require.NoError(t, f.Close())
			}
		})
	}
}

func tones(img image.Image, part image.Rectangle) int {
	seen := map[[3]uint32]bool{}
	for y := part.Min.Y; y < part.Max.Y; y++ {
		for x := part.Min.X; x < part.Max.X; x++ {
			r, g, b, _ := img.At(x, y).RGBA()
			seen[[3]uint32{r, g, b}] = true
		}
	}
	return len(seen)
}

func luminance(img image.Image, part image.Rectangle) float64 {
	r, g, b, _ := img.At(part.Min.X, part.Min.Y).RGBA()
	return (0.2126*float64(r) + 0.7152*float64(g) + 0.0722*float64(b)) / 0xFFFF
}

// Every state and every text pair of the theme keeps a contrast of 4.5 to 1 on its ground (WCAG 2.1, 1.4.3; memory).
func TestContrast(t *testing.T) {
	test.NewTempApp(t)
	for _, look := range []desk.Look{desk.LightLook, desk.DarkLook} {
		p := paper{look: look}
		ground := map[fyne.ThemeColorName]bool{colorBand: true, "background": true}
		for g := range ground {
			for _, ink := range []fyne.ThemeColorName{
				"foreground", "placeholder", "primary", "error", colorClear, colorSnug, colorUnsure, colorBlocked, colorWait,
			} {
				ratio := contrast(p.Color(ink, 0), p.Color(g, 0))
				assert.GreaterOrEqual(t, ratio, 4.5, "%s: %s on %s", look, ink, g)
			}
		}
	}
}
