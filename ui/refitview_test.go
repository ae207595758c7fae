package ui

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/fit"
	"lastroom/ui/desk"
	"lastroom/ui/refitpage"
	"lastroom/ui/screenpage"
)

// The page of refits by keyboard and mouse: it searches when it is turned to, shows what is found, lets a choice be picked on
// the list and on the plot, and takes it over on the desk in one step that is taken back there.
func TestARefitIsPickedAndTakenOver(t *testing.T) {
	w, _ := open(t)
	var asked []refitpage.Run
	halted := 0
	w.refits = newRefitView(w, func(r refitpage.Run) { asked = append(asked, r) }, func() { halted++ }, func(f func()) { f() })
	v := w.refits
	w.showRefits()
	require.Len(t, asked, 1)
	assert.Equal(t, "Stop (F9)", v.search.Text)
	assert.True(t, w.pages.key(fyne.KeyEscape), "Escape ends the search first")
	assert.Equal(t, 1, halted)
	require.NotNil(t, w.pages.over)
	test.Tap(&v.search.Button)
	require.Len(t, asked, 2)

	a := asked[1].Case
	choice := func(work fit.Work, cup, margin, kept float64) fit.Choice {
		o := a.Inputs.Device
		o.CupDepthMM = cup
		return fit.Choice{
			Changes: []fit.Change{{Key: "cup_depth_mm", Words: "lower the rim of the cup"}}, Options: o, Device: a.Device, Room: a.Room, Result: a.Result, Work: work,
			MarginMM: margin, SupportKept: kept, Why: "the least work",
		}
	}
	asIs := choice(fit.NoWork, a.Inputs.Device.CupDepthMM, -1, 1)
	asIs.Changes = nil
	v.do(refitpage.Found{Serial: asked[1].Serial, Refit: &fit.Refit{
		AsIs: asIs, Choices: []fit.Choice{choice(fit.Grind, 12, 0.2, 0.95), choice(fit.Lab, 11, 0.8, 0.9)}, Sentence: "The least …", Limits: fit.Caution,
	}})
	assert.Equal(t, "The least …", v.sentence.Text)
	assert.Contains(t, v.limits.Text, "qualified practitioner")
	assert.Len(t, v.list.rows, 3)
	assert.NotNil(t, v.sections[0].picture.Image)
	assert.NotNil(t, v.thumbs[2])
	assert.False(t, v.apply.Disabled())

	press(v.list, fyne.KeyDown)
	assert.Equal(t, 1, v.state.Picked)
	require.NotNil(t, v.plot.plot)
	at := v.plot.plot.At[1]
	v.plot.Tapped(&fyne.PointEvent{Position: fyne.NewPos(float32(at[0]/v.plot.pixels), float32(at[1]/v.plot.pixels))})
	assert.Equal(t, 0, v.state.Picked, "picked on the plot")
	press(v.plot, fyne.KeyRight)
	assert.Equal(t, 1, v.state.Picked)
	press(v.plot, fyne.KeyReturn)
	assert.Nil(t, w.pages.over, "back on the desk")
	assert.Equal(t, 11.0, w.state.Device.CupDepthMM)
	assert.Equal(t, desk.Demo().Ordered, w.state.Ordered)
	w.undo()
	assert.Equal(t, desk.Demo(), w.state.Inputs)
}

// The page of screening by keyboard: rows come, are sorted, narrowed and opened.
func TestAScreenedPairIsOpened(t *testing.T) {
	w, _ := open(t)
	var asked []screenpage.Run
	w.screens = newScreenView(w, func(r screenpage.Run) { asked = append(asked, r) }, func() {})
	v := w.screens
	w.showScreens()
	require.Len(t, asked, 1)
	require.NotEmpty(t, asked[0].Shoes)
	for i, s := range asked[0].Shoes[:3] {
		v.do(screenpage.Came{Serial: 1, Pair: fit.Screened{
			Pair: fit.Pair{Shoe: s, Device: w.state.Shown.Device, DeviceName: "this device"}, Index: i, State: fit.Snug, Alone: 0.9 - float64(i)/10, MarginMM: 0.5, Reason: "cup rim",
		}})
	}
	assert.Len(t, v.list.rows, 3)
	test.Tap(&v.heads[screenpage.ByShoe].Button)
	assert.Contains(t, v.heads[screenpage.ByShoe].Text, "▼")
	press(v.list, fyne.KeyDown, fyne.KeySpace)
	assert.True(t, v.list.rows[1].Ticked)
	v.filter.SetText(asked[0].Shoes[2].Name)
	require.Len(t, v.list.rows, 1)
	press(v.list, fyne.KeyReturn)
	assert.Nil(t, w.pages.over)
	assert.Equal(t, asked[0].Shoes[2].ID, w.state.ShoeID)
}
