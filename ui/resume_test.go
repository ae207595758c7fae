package ui

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/ui/desk"
)

// again ends a window and makes that of the next start, with the same folder.
func again(t *testing.T, before *Window) *Window {
	t.Helper()
	before.stopped()
	w, _, _ := openShoes(t)
	w.shoesDir = before.shoesDir
	w.resume()
	return w
}

func TestAShoeThatIsBeingMeasuredIsThereAtTheNextStart(t *testing.T) {
	w, _, _ := openShoes(t)
	w.resume()
	assert.Empty(t, w.open, "nothing is left of an earlier run")
	w.showMeasures()
	w.typeIn(t, "281")
	w.typeIn(t, "97")
	w.measures.rows[footwear.SeatWidth].field.entry.SetText("66") // not taken over yet

	w = again(t, w)
	require.Len(t, w.open, 1, "it is offered")
	first := w.win.Canvas().Focused()
	require.IsType(t, &keyButton{}, first)
	assert.Nil(t, w.pages.over)
	press(first, fyne.KeySpace)
	assert.Empty(t, w.open)
	v := w.measures
	require.Equal(t, page(v), w.pages.over)
	assert.Equal(t, "281", v.rows[footwear.LastLength].field.entry.Text[:3])
	assert.Equal(t, "66.0", v.rows[footwear.SeatWidth].field.entry.Text)
	assert.Contains(t, v.band.sentence.Text, "not saved when the program ended")

	// Put off, it is there still; saved, it is not.
	w = again(t, w)
	assert.True(t, w.functionKey(fyne.KeyEscape))
	assert.Empty(t, w.open)
	w.showMeasures()
	assert.InDelta(t, 97, w.measures.state.Draft.V(footwear.BallWidth), 0)
	w.measures.name.SetText("Walker")
	w.shortcut(t, fyne.KeyS, ctrl)
	require.Contains(t, w.measures.band.sentence.Text, "on your shelf")
	assert.Empty(t, again(t, w).open)
}

func TestTheScannedDeviceInUseIsOfferedAtTheNextStart(t *testing.T) {
	w, _, _ := openShoes(t)
	built, err := device.Build(desk.Demo().Device)
	require.NoError(t, err)
	w.do(desk.UseScanned{Device: &desk.ScannedDevice{Name: "old pair", Device: built}})

	w = again(t, w)
	require.Len(t, w.open, 1)
	assert.Nil(t, w.state.Scanned)
	press(w.win.Canvas().Focused(), fyne.KeySpace)
	require.NotNil(t, w.state.Scanned)
	assert.Equal(t, "old pair", w.state.Scanned.Name)
	assert.Equal(t, built, w.state.Scanned.Device)
	assert.Same(t, w.state.Scanned.Device, w.state.Shown.Device)
	w.undo()
	next := again(t, w)
	assert.Empty(t, next.open, "it is no more in use")
	next.stopped()

	w.redo()
	w = again(t, w)
	require.Len(t, w.open, 1)
	tap(t, w, "Forget it")
	assert.Nil(t, w.state.Scanned)
	assert.Empty(t, again(t, w).open)
}

// tap presses a button of the dialog that is shown.
func tap(t *testing.T, w *Window, text string) {
	t.Helper()
	for _, o := range test.LaidOutObjects(w.win.Canvas().Overlays().Top()) {
		if b, ok := o.(*keyButton); ok && b.Text == text {
			test.Tap(b)
			return
		}
		if b, ok := o.(*widget.Button); ok && b.Text == text {
			test.Tap(b)
			return
		}
	}
	t.Fatalf("no button %q", text)
}

func TestWhatCantBeTakenUpIsToldAndLeft(t *testing.T) {
	dir := t.TempDir()
	s, err := shelf.Open(dir)
	require.NoError(t, err)
	for _, name := range []string{".unfinished.json", "." + keptDevice} {
		require.NoError(t, os.WriteFile(filepath.Join(s.Dir(), name), []byte("{"), 0o600))
	}
	w, _, _ := openShoes(t)
	w.shoesDir = dir
	w.resume()
	assert.Len(t, w.open, 2)
	assert.FileExists(t, filepath.Join(dir, ".unfinished-unreadable.json"))
	assert.FileExists(t, filepath.Join(dir, "."+keptDevice))
}

func TestThatNothingIsKeptIsToldOnce(t *testing.T) {
	w, log, _ := openShoes(t)
	w.shoesDir = filepath.Join(t.TempDir(), "a file")
	require.NoError(t, os.WriteFile(w.shoesDir, nil, 0o600))
	w.showMeasures()
	w.typeIn(t, "281")
	assert.Len(t, w.open, 1)
	assert.Contains(t, log.String(), "not kept: ")
	assert.True(t, w.functionKey(fyne.KeyEscape))
	w.win.Canvas().Focus(w.measures.rows[footwear.BallWidth].field.entry)
	w.typeIn(t, "97")
	assert.Empty(t, w.open)
	assert.InDelta(t, 97, w.measures.state.Draft.V(footwear.BallWidth), 0, "the work goes on")
}

func TestHowSureAMeasureIsIsEnteredByKeyboard(t *testing.T) {
	w, _, _ := openShoes(t)
	w.showMeasures()
	v := w.measures
	assert.False(t, v.taken.Visible(), "it is assumed")
	w.typeIn(t, "281")
	press(w.win.Canvas().Focused(), fyne.KeyF5)
	require.True(t, v.taken.Visible())
	assert.Equal(t, "1.5", v.sure.entry.Text)
	w.win.Canvas().Focus(v.sure.entry)
	v.sure.entry.SetText("2,2")
	press(v.sure.entry, fyne.KeyF7)
	assert.InDelta(t, 2.2, v.state.Draft.M[footwear.LastLength].PlusMinus, 0, "of the measure that was left")
	assert.Equal(t, v.rows[footwear.BallWidth].field.entry, w.win.Canvas().Focused())
	press(w.win.Canvas().Focused(), fyne.KeyF5)
	press(v.sure.entry, fyne.KeyUp)
	assert.InDelta(t, 2.3, v.state.Draft.M[footwear.LastLength].PlusMinus, 1e-9)
	v.tool.pick.SetSelected(string(footwear.Tape))
	assert.Equal(t, footwear.Tape, v.state.Draft.M[footwear.LastLength].Instrument)
	assert.Contains(t, v.rows[footwear.LastLength].about.Text, "measured ±2.3")
	for range 3 {
		require.False(t, w.menus.undo.Disabled)
		w.menus.undo.Action()
	}
	assert.Equal(t, "1.5", v.sure.entry.Text)
	assert.Equal(t, string(footwear.InsideRule), v.tool.pick.Selected)
	w.shortcut(t, fyne.KeyZ, ctrlShift)
	assert.Equal(t, "2.2", v.sure.entry.Text)
	v.name.SetText(strings.Repeat("long ", 20))
	w.menus.undo.Action()
	assert.Equal(t, "1.5", v.sure.entry.Text)
	assert.Empty(t, v.name.Text, "a name that was refused goes too")
	assert.Empty(t, v.state.Refused)
}
