package ui

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/test"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/internal/lengths"
	"lastroom/internal/mesh"
	"lastroom/ui/desk"
	"lastroom/ui/scanpage"
)

// openPages makes the window with its pages, and all work done at once on the test's goroutine.
func openPages(t *testing.T) (*Window, *bytes.Buffer) {
	t.Helper()
	w, log := open(t)
	ctx := context.Background()
	scans := &scanWorker{report: func(a scanpage.Action) { w.scans.do(a) }, make: w.makeOfScan}
	w.scans = newScanView(w, func(s sheet) { s.done(s.draw()) }, func(e scanpage.Effect) { w.scans.do(scans.work(ctx, e, w.state.Device)) }, func() {})
	return w, log
}

// scanFile writes a demo shoe's walls in a pose that says nothing, in the unit's numbers, as STL that names no unit.
func scanFile(t *testing.T, shoe string, unitMM float64) string {
	t.Helper()
	s, err := footwear.Demo().Find(shoe)
	require.NoError(t, err)
	room, err := footwear.NewRoom(s, false)
	require.NoError(t, err)
	m := room.Walls.Transformed(mesh.PoseAbout(r3.Vec{}, r3.Vec{X: 1.1, Y: -0.7, Z: 2.2}, r3.Vec{X: 40, Y: 300, Z: -90})).Scaled(1 / unitMM)
	var b bytes.Buffer
	require.NoError(t, mesh.WriteSTL(&b, m, ""))
	data := b.Bytes()
	copy(data[:80], bytes.Repeat([]byte{' '}, 80))
	path := filepath.Join(t.TempDir(), "found shoe.stl")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

func choice(t *testing.T, v *scanView, text string) {
	t.Helper()
	for _, c := range scanpage.BandView(&v.state).Choices {
		if c.Text == text {
			v.do(c.Action)
			return
		}
	}
	t.Fatalf("no choice %q", text)
}

// A scan is told in inches too.
func TestAScanInInches(t *testing.T) {
	w, _ := openPages(t)
	w.do(desk.SetLengths{Unit: lengths.Inch})
	w.openScan(scanFile(t, "lace-dress", 1), scanpage.Inside)
	require.NotNil(t, w.scans.state.Read, w.scans.state.Problem)
	seen := 0
	for _, text := range textsOf(w.win.Canvas().Content()) {
		assert.False(t, inMM.MatchString(text), "%q", text)
		if strings.Contains(text, " in") {
			seen++
		}
	}
	assert.Greater(t, seen, 5)
}

func TestAScanIsLaidInItsFrameAndUsed(t *testing.T) {
	w, log := openPages(t)
	w.openScan(scanFile(t, "lace-dress", 1), scanpage.Inside)
	v := w.scans
	require.Equal(t, page(v), w.pages.over)
	require.NotNil(t, v.state.Read, v.state.Problem)
	for _, p := range v.panes {
		require.NotNil(t, p.shown)
	}
	assert.Contains(t, v.facts.Text, "last length")
	assert.Len(t, v.state.Read.Lengths, 3, "heel, ball and length are drawn")
	assert.Contains(t, v.file.Text, "units: mm, guessed from its size")
	sheet, err := footwear.Demo().Find("lace-dress")
	require.NoError(t, err)
	assert.InDelta(t, sheet.V(footwear.LastLength), v.state.Found.LengthMM, 0.2)
	if v.state.Side == footwear.SideUnknown {
		assert.True(t, v.use.Disabled())
		choice(t, v, "It is a right one")
	}
	require.Empty(t, v.state.NotYet())
	was := verdicts(log)
	test.Tap(v.use)
	require.Empty(t, v.state.Problem)
	assert.True(t, shelf.Own(w.state.ShoeID), w.state.ShoeID)
	assert.Greater(t, verdicts(log), was)
	shoe, err := w.state.Shoes.Find(w.state.ShoeID)
	require.NoError(t, err)
	assert.Equal(t, "found shoe", shoe.Sheet.Name)
	assert.FileExists(t, shoe.Scan)
	assert.FileExists(t, shoe.Standing)
	require.NotNil(t, w.state.Shown)
	assert.NotNil(t, w.state.Shown.Room.Scan, "the room keeps the scan's own shape")
	assert.True(t, w.functionKey(fyne.KeyEscape))
	assert.Nil(t, w.pages.over)
}

func TestAScanIsMovedInADrawing(t *testing.T) {
	w, _ := openPages(t)
	w.openScan(scanFile(t, "knit-trainer", 10), scanpage.Last)
	v := w.scans
	if v.state.Stage == scanpage.AskUnit {
		v.do(scanpage.PickUnit{MM: 10})
	}
	require.NotNil(t, v.state.Read, v.state.Problem)
	assert.InDelta(t, 10, v.state.Shape.UnitMM, 0)
	p := v.panes[drawing.Side]
	mark := r3.Vec{X: 11, Y: 22, Z: 33}
	on := func() drawing.Pt { return drawing.Side.Project(v.state.Drawn().Place(mark)) }

	before, mid := on(), fyne.NewPos(p.Size().Width/2, p.Size().Height/2)
	k := p.shown.Frame.PxPerMM() / p.pxPerUnit()
	p.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: mid}})
	p.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: mid}, Dragged: fyne.NewDelta(20, -10)})
	assert.True(t, v.state.Stale)
	p.DragEnd()
	assert.False(t, v.state.Stale, "measured anew")
	assert.InDelta(t, before.U+20/k, on().U, 1e-3)
	assert.InDelta(t, before.V+10/k, on().V, 1e-3)

	w.win.Canvas().Focus(p)
	before = on()
	press(p, fyne.KeyRight, fyne.KeyUp)
	p.KeyUp(&fyne.KeyEvent{Name: fyne.KeyUp})
	assert.InDelta(t, before.U+1, on().U, 1e-9)
	assert.InDelta(t, before.V+1, on().V, 1e-9)
	v.do(scanpage.SetTool{Tool: scanpage.TurnTool})
	turned := v.state.Correction.RotationVectorDeg()
	p.KeyDown(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	press(p, fyne.KeyLeft)
	p.KeyUp(&fyne.KeyEvent{Name: fyne.KeyLeft})
	assert.InDelta(t, 0.1, r3.Norm(r3.Sub(v.state.Correction.RotationVectorDeg(), turned)), 1e-6)
	assert.False(t, v.restore.Disabled())
	test.Tap(v.restore)
	assert.False(t, v.state.Corrected())
	for range 2 { // the restoring, and the turn
		require.False(t, w.menus.undo.Disabled)
		w.menus.undo.Action()
	}
	assert.Equal(t, turned, v.state.Correction.RotationVectorDeg())
	assert.InDelta(t, before.U+1, on().U, 1e-9)
	w.shortcut(t, fyne.KeyZ, ctrlShift)
	w.shortcut(t, fyne.KeyZ, ctrlShift)
	assert.False(t, v.state.Corrected(), "the restoring is done again")
	assert.True(t, w.menus.redo.Disabled)
	v.fields["sock_mm"].entry.SetText("2") // typed, and not taken over yet
	w.menus.undo.Action()
	assert.Zero(t, v.state.Allow.SockMM)
	assert.Equal(t, "0.0", v.fields["sock_mm"].entry.Text)
	w.pages.turnTo(nil)
	assert.True(t, w.menus.undo.Disabled, "at the desk there is nothing to take back")
	w.pages.turnTo(v)
	assert.False(t, w.menus.undo.Disabled)
	press(p, fyne.KeySpace)
	assert.True(t, v.far.Checked)
}

func TestThreePointsAreClicked(t *testing.T) {
	w, _ := openPages(t)
	w.openScan(scanFile(t, "lace-dress", 1), scanpage.Inside)
	v := w.scans
	require.NotNil(t, v.state.Read, v.state.Problem)
	found := v.state.Found.Pose
	v.do(scanpage.SetTool{Tool: scanpage.PointTool})
	above := v.panes[drawing.Above]
	l := v.state.Found.LengthMM
	for _, at := range []drawing.Pt{{U: 8}, {U: 0.7 * l, V: 40}, {U: 0.68 * l, V: -40}} {
		x, y := above.shown.Frame.Pixel(at)
		k := above.pxPerUnit()
		above.Tapped(&fyne.PointEvent{Position: fyne.NewPos(float32(x/k), float32(y/k))})
	}
	assert.Empty(t, v.state.Problem)
	assert.Equal(t, footwear.RightSide, v.state.Side, "the points tell it")
	same := v.state.Found.Pose.Compose(found.Inverse())
	assert.Less(t, r3.Norm(same.RotationVectorDeg()), 1.0)
	assert.Less(t, r3.Norm(same.T), 1.5)
}

// deviceFile writes the demo device in a pose that says nothing.
func deviceFile(t *testing.T) string {
	t.Helper()
	d, err := device.Build(desk.Demo().Device)
	require.NoError(t, err)
	m := d.Rigid.Transformed(mesh.PoseAbout(r3.Vec{}, r3.Vec{X: -0.4, Y: 2, Z: 1}, r3.Vec{X: -60, Y: 10, Z: 400}))
	var b bytes.Buffer
	require.NoError(t, mesh.WriteSTL(&b, m, "lastroom"))
	path := filepath.Join(t.TempDir(), "old pair.stl")
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o600))
	return path
}

func TestAScannedDeviceIsReadPatchedAndUsed(t *testing.T) {
	w, log := openPages(t)
	w.openScan(deviceFile(t), scanpage.Device)
	v := w.scans
	require.NotNil(t, v.state.Read, v.state.Problem)
	require.NotNil(t, v.state.Read.Skin)
	d := v.state.Read.Device
	skin := v.state.Drawn()
	for i, q := range d.Rigid.V { // drawn where the device lies in its own frame
		require.InDelta(t, 0, r3.Norm(r3.Sub(q, skin.Place(skin.Mesh.V[i]))), 1e-6)
	}
	assert.Contains(t, v.facts.Text, "bevel of the medial side")
	assert.False(t, v.room.Visible(), "no thicknesses between scan and room")
	if v.state.Side == footwear.SideUnknown {
		choice(t, v, "It is a right one")
	}

	v.do(scanpage.SetTool{Tool: scanpage.PatchTool})
	above := v.panes[drawing.Above]
	x, y := above.shown.Frame.Pixel(drawing.Pt{U: 90})
	k := above.pxPerUnit()
	at := fyne.NewPos(float32(x/k), float32(y/k))
	above.Tapped(&fyne.PointEvent{Position: at})
	assert.Equal(t, device.FootSide, v.state.PatchIs)
	above.MouseMoved(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: at}})
	assert.Contains(t, v.over.Text, "foot side")
	v.do(scanpage.ToggleFar{})
	above.Tapped(&fyne.PointEvent{Position: at})
	assert.Equal(t, device.ShellBottom, v.state.PatchIs)
	require.True(t, v.patchRow.Visible())
	face := v.state.Patch
	v.patch.SetSelected(device.Arch.String())
	require.Empty(t, v.state.Problem)
	assert.Equal(t, device.Arch, device.Feature(v.state.Read.Skin.Tag[face]))
	assert.Equal(t, device.Arch, device.Feature(v.state.Read.Device.Rigid.Tag[face]))
	assert.Equal(t, device.ShellBottom, device.Feature(d.Rigid.Tag[face]), "what was read first is left be")
	x, y = above.shown.Frame.Pixel(drawing.Pt{U: 30})
	above.Tapped(&fyne.PointEvent{Position: fyne.NewPos(float32(x/k), float32(y/k))})
	require.Equal(t, device.WedgeBase, v.state.PatchIs)
	v.patch.SetSelected(device.Arch.String())
	assert.Contains(t, v.band.problem.Text, "no wedge base would be left")

	was := verdicts(log)
	test.Tap(v.use)
	require.Empty(t, v.state.Problem)
	require.NotNil(t, w.state.Scanned)
	assert.Equal(t, "old pair", w.state.Scanned.Name)
	assert.Greater(t, verdicts(log), was)
	assert.Same(t, w.state.Scanned.Device, w.state.Shown.Device)
	assert.Contains(t, w.shoe.Text, "old pair, scanned")
	w.do(desk.Undo{})
	assert.Nil(t, w.state.Scanned)
}

func TestABadScanIsToldAndTheOldOneStays(t *testing.T) {
	w, _ := openPages(t)
	w.openScan(scanFile(t, "lace-dress", 1), scanpage.Inside)
	was := w.scans.state.Shape
	require.NotNil(t, was)
	for name, c := range map[string]struct{ data, says string }{
		"broken.ply": {"ply\nformat ascii 1.0\nelement vertex 4000000000\n", "broken.ply: "},
		"letter.stl": {"Dear all, this is no scan.", "letter.stl: file = 26 bytes: a binary STL has at least 84 bytes"},
		"empty.stl":  {"", "empty.stl: file = 0 bytes"},
	} {
		bad := filepath.Join(t.TempDir(), name)
		require.NoError(t, os.WriteFile(bad, []byte(c.data), 0o600))
		w.openScan(bad, scanpage.Last)
		assert.Same(t, was, w.scans.state.Shape)
		assert.True(t, w.scans.band.problem.Visible())
		assert.Contains(t, w.scans.band.problem.Text, c.says)
		assert.Contains(t, w.scans.band.problem.Text, "found shoe.stl stays")
	}
	w.openScan(filepath.Join(t.TempDir(), "gone.stl"), scanpage.Last)
	assert.Contains(t, w.scans.band.problem.Text, "gone.stl: it can't be read")
}

func TestFilesAreDroppedOnTheWindow(t *testing.T) {
	w, _ := openPages(t)
	w.dropped(fyne.Position{}, []fyne.URI{storage.NewFileURI("/d/letter.txt")})
	require.Len(t, w.open, 1, "told")
	assert.True(t, w.functionKey(fyne.KeyEscape))
	w.dropped(fyne.Position{}, []fyne.URI{storage.NewFileURI(scanFile(t, "lace-dress", 1))})
	require.Len(t, w.open, 1, "asked what it shows")
	assert.Nil(t, w.pages.over)
	w.shortcut(t, fyne.KeyW, ctrl)
	assert.Empty(t, w.open)
	w.pages.turnTo(w.scans)
	w.shortcut(t, fyne.KeyO, ctrl)
	require.Len(t, w.open, 1)
	w.shortcut(t, fyne.KeyW, ctrl)
	assert.Empty(t, w.open)
	assert.Equal(t, page(w.scans), w.pages.over)
	w.shortcut(t, fyne.KeyW, ctrl)
	assert.Nil(t, w.pages.over)
}
