package ui

import (
	"image"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"github.com/stretchr/testify/assert"

	"lastroom/ui/desk"
)

// Where a sign has ink differs from sign to sign in a fifth of the ink or more: they are told apart without colour.
func TestSignsAreToldApartByShape(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(paper{look: desk.LightLook})
	const side = 32
	marks := []desk.Mark{desk.ClearMark, desk.SnugMark, desk.UnsureMark, desk.BlockedMark, desk.WaitMark}
	inks := make([][]bool, len(marks))
	for i, is := range marks {
		m := newMark(side)
		m.set(is)
		w := test.NewTempWindow(t, m)
		w.SetPadded(false)
		w.Resize(fyne.NewSquareSize(side))
		inks[i] = inked(w.Canvas().Capture(), side)
	}
	for i := range marks {
		for k := range i {
			differ, ink := 0, 0
			for p := range inks[i] {
				if inks[i][p] || inks[k][p] {
					ink++
				}
				if inks[i][p] != inks[k][p] {
					differ++
				}
			}
			assert.Greater(t, ink, 20)
			assert.Greater(t, 5*differ, ink, "%s and %s", marks[i], marks[k])
		}
	}
}

func inked(img image.Image, side int) []bool {
	out := make([]bool, 0, side*side)
	for y := range side {
		for x := range side {
			out = append(out, luminance(img, image.Rect(x, y, x+1, y+1)) < 0.6)
		}
	}
	return out
}
