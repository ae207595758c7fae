package ui

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// In a window of a quarter of the usual, as at scale 2, Tab leads to nothing that is not seen.
func TestTheViewFollowsTheFocus(t *testing.T) {
	w, _, _ := openShoes(t)
	for name, turn := range map[string]func(){"the desk": func() {}, "measuring": w.showMeasures} {
		turn()
		w.win.Resize(fyne.NewSize(640, 400))
		c := w.win.Canvas()
		outer := w.pages.all.Objects[0].(*container.Scroll)
		require.Greater(t, outer.Content.Size().Height, outer.Size().Height, "%s: it is too large for the window", name)
		scrolled := false
		seen := map[fyne.Focusable]bool{}
		for range 60 {
			c.FocusNext()
			f := c.Focused()
			if seen[f] {
				break
			}
			seen[f] = true
			w.follow()
			scrolled = scrolled || outer.Offset != fyne.Position{}
			o := f.(fyne.CanvasObject)
			p, size := fyne.CurrentApp().Driver().AbsolutePositionForObject(o), c.Size()
			inSight := func(at, length, view float32) bool {
				return at >= -1 && (at+length <= view+1 || length > view-16 && at < view/2)
			}
			assert.True(t, inSight(p.X, o.Size().Width, size.Width) && inSight(p.Y, o.Size().Height, size.Height), "%s: %T at %v, %v large", name, f, p, o.Size())
		}
		assert.Greater(t, len(seen), 8)
		assert.True(t, scrolled, name)
		w.pages.turnTo(nil)
	}
}

func TestAnotherWindowOnTheSameFolderKeepsNothing(t *testing.T) {
	first, _, _ := openShoes(t)
	first.resume()
	require.Empty(t, first.open)
	first.showMeasures()
	first.typeIn(t, "281")
	second, _, _ := openShoes(t)
	second.shoesDir = first.shoesDir
	second.resume()
	require.Len(t, second.open, 1, "it is told")
	assert.True(t, second.functionKey(fyne.KeyEscape))
	second.showMeasures()
	second.typeIn(t, "260")
	second.stopped()
	third := again(t, first)
	require.Len(t, third.open, 1)
	press(third.win.Canvas().Focused(), fyne.KeySpace)
	assert.Equal(t, "281", third.measures.rows[0].field.entry.Text[:3], "that of the first is there")
}
