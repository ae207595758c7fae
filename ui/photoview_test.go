package ui

import (
	"context"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/footwear/trace"
	"lastroom/ui/desk"
	"lastroom/ui/photopage"
)

// openPhotoPage makes the window with the page of photos, all work done at once.
func openPhotoPage(t *testing.T) *Window {
	t.Helper()
	w, _ := openPages(t)
	ctx := context.Background()
	work := &photoWorker{report: func(a photopage.Action) { w.photos.do(a) }, fill: w.fillSheet}
	w.photos = newPhotoView(w, func(e photopage.Effect) {
		base := fillBase{size: w.state.Size}
		base.shoe, _ = w.shoeInUse()
		w.photos.do(work.work(ctx, e, base))
	}, func() {})
	return w
}

// insoleMM is the half width of a made-up insole at a place along its 250 mm; medial is the side above the middle.
func insoleMM(x float64, medial bool) float64 {
	const long = 250
	if x <= 0 || x >= long {
		return 0
	}
	t := x / long
	side, out := 30.0, 0.0
	if t < 0.12 {
		return 30 * math.Sqrt(1-math.Pow(1-t/0.12, 2))
	}
	if t > 0.72 {
		return 43 * math.Sqrt(1-math.Pow((t-0.72)/0.28, 2))
	}
	out = 13 * math.Pow(math.Sin((t-0.12)/0.6*math.Pi/2), 4)
	hollow := 3.0
	if medial {
		hollow = 8
	}
	return side + out - hollow*math.Pow(math.Sin((t-0.12)/0.6*math.Pi), 2)
}

// photoFile renders an A4 sheet with the insole on a dark table, from straight above, 5 px to a mm.
func photoFile(t *testing.T) string {
	t.Helper()
	const k, edge = 5, 30.0
	m := image.NewGray(image.Rect(0, 0, int(k*(297+2*edge)), int(k*(210+2*edge))))
	for y := range m.Rect.Dy() {
		for x := range m.Rect.Dx() {
			px, py := (float64(x)+0.5)/k-edge, (float64(y)+0.5)/k-edge
			c := uint8(60)
			if px > 0 && px < 297 && py > 0 && py < 210 {
				c = 235
				if up := 105 - py; math.Abs(up) < insoleMM(px-24, up > 0) {
					c = 90
				}
			}
			m.SetGray(x, y, color.Gray{c})
		}
	}
	path := filepath.Join(t.TempDir(), "left by mail.png")
	f, err := os.Create(path)
	require.NoError(t, err)
	require.NoError(t, png.Encode(f, m))
	require.NoError(t, f.Close())
	return path
}

func TestAPhotoIsReadAndFillsASheet(t *testing.T) {
	w := openPhotoPage(t)
	w.Open(photoFile(t))
	v := w.photos
	require.Equal(t, page(v), w.pages.over)
	if v.state.Read == nil {
		v.do(photopage.SetSheet{Paper: trace.A4})
	}
	require.NotNil(t, v.state.Read, v.state.Problem)
	assert.InDelta(t, 250, v.state.Read.Length.Value, 0.5)
	assert.InDelta(t, 86, v.state.Read.BallWidth.Value, 0.7)
	assert.Contains(t, v.names.Text, "seat width")
	assert.NotNil(t, v.flat.Image)
	assert.NotNil(t, v.outline.picture.Image)
	if v.state.Read.Side == trace.AnySide {
		v.do(photopage.SetSide{Side: trace.Right})
	}
	require.False(t, v.fresh.Disabled())

	// A corner is dragged away and found again.
	p := v.pane
	was := v.state.Corners
	at := p.onPane(was[1])
	assert.Equal(t, 1, p.cornerNear(at.AddXY(3, -3)))
	p.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: at}})
	p.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: at.AddXY(-6, 5)}, Dragged: fyne.NewDelta(-6, 5)})
	assert.True(t, v.state.Set)
	moved := p.onPane(v.state.Corners[1])
	assert.InDelta(t, at.X-6, moved.X, 0.1)
	assert.InDelta(t, at.Y+5, moved.Y, 0.1)
	p.DragEnd()
	assert.False(t, v.find.Disabled())
	test.Tap(v.find)
	assert.InDelta(t, was[1].X, v.state.Corners[1].X, 1e-6)
	w.menus.undo.Action()
	assert.InDelta(t, moved.X, p.onPane(v.state.Corners[1]).X, 1e-3, "where it was dragged to")
	w.menus.undo.Action()
	assert.Equal(t, was, v.state.Corners)
	w.shortcut(t, fyne.KeyZ, ctrlShift)
	w.shortcut(t, fyne.KeyZ, ctrlShift)
	assert.InDelta(t, was[1].X, v.state.Corners[1].X, 1e-6, "found again")
	press(p, fyne.KeyN, fyne.KeyRight)
	assert.InDelta(t, was[v.state.Held].X+1, v.state.Corners[v.state.Held].X, 1e-6)
	p.KeyUp(&fyne.KeyEvent{Name: fyne.KeyRight})
	v.do(photopage.FindCorners{})

	test.Tap(v.fresh)
	require.Empty(t, v.state.Problem)
	require.True(t, shelf.Own(w.state.ShoeID))
	shoe, err := w.state.Shoes.Find(w.state.ShoeID)
	require.NoError(t, err)
	assert.Equal(t, "left by mail", shoe.Sheet.Name)
	assert.Equal(t, footwear.Photo, shoe.Sheet.M[footwear.BallWidth].Instrument)
	assert.InDelta(t, v.state.Read.BallWidth.Value, shoe.Sheet.V(footwear.BallWidth), 1e-9)
	assert.True(t, shoe.Sheet.M[footwear.DepthToe].Assumed)
	assert.Contains(t, v.fill.Text, "Fill the sheet of left by mail")
	test.Tap(v.fill)
	require.Empty(t, v.state.Problem)
	assert.Equal(t, "my-left-by-mail", w.state.ShoeID, "the same shoe")
}

// hugePNG is the head of a picture of 60 000 × 60 000 pixels.
func hugePNG() []byte {
	head := []byte("\x00\x00\x00\x0dIHDR\x00\x00\xea\x60\x00\x00\xea\x60\x08\x02\x00\x00\x00")
	out := append([]byte("\x89PNG\r\n\x1a\n"), head...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(head[4:]))
}

func TestABadPhotoIsToldAndNothingIsLost(t *testing.T) {
	w := openPhotoPage(t)
	good := photoFile(t)
	for name, c := range map[string]struct {
		data []byte
		says string
	}{
		"empty.jpg":      {nil, "empty.jpg: photo = 0 bytes: the file is empty; save the picture again"},
		"notes.png":      {[]byte("not a picture"), "notes.png: photo: neither PNG nor JPEG"},
		"wide as a wall": {hugePNG(), "60000 × 60000 px: at most 50 megapixels; save the picture smaller"},
	} {
		path := filepath.Join(t.TempDir(), name+".png")
		if filepath.Ext(name) != "" {
			path = filepath.Join(t.TempDir(), name)
		}
		require.NoError(t, os.WriteFile(path, c.data, 0o600))
		w.Open(path)
		assert.Contains(t, w.photos.band.problem.Text, c.says)
		assert.Equal(t, desk.BlockedMark, w.photos.band.mark.is)
		if w.photos.state.Picture == nil {
			assert.True(t, w.photos.fresh.Disabled())
			w.Open(good)
			continue
		}
		assert.Contains(t, w.photos.band.problem.Text, "left by mail.png stays")
		assert.NotNil(t, w.photos.state.Read)
	}
	assert.True(t, w.functionKey(fyne.KeyEscape))
	assert.Nil(t, w.pages.over)
}
