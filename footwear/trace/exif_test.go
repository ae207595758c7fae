package trace

import (
	"bytes"
	"context"
	"encoding/binary"
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// exifBlock writes a block with an orientation and, when it is not 0, a focal length on 35 mm film.
func exifBlock(order binary.AppendByteOrder, orientation, focal35 uint16) []byte {
	b := []byte("II*\x00")
	if order.String() == "BigEndian" {
		b = []byte("MM\x00*")
	}
	entry := func(tag, kind uint16, value uint32) {
		b = order.AppendUint16(b, tag)
		b = order.AppendUint16(b, kind)
		b = order.AppendUint32(b, 1)
		if kind == 3 {
			b = order.AppendUint16(b, uint16(value))
			b = order.AppendUint16(b, 0)
		} else {
			b = order.AppendUint32(b, value)
		}
	}
	b = order.AppendUint32(b, 8)
	b = order.AppendUint16(b, 2)
	entry(0x0112, 3, uint32(orientation))
	entry(0x8769, 4, 8+2+24+4)
	b = order.AppendUint32(b, 0)
	b = order.AppendUint16(b, 1)
	entry(0xA405, 3, uint32(focal35))
	return order.AppendUint32(b, 0)
}

// inJPEG puts a block into a JPEG file.
func inJPEG(file, block []byte) []byte {
	body := append([]byte("Exif\x00\x00"), block...)
	seg := binary.BigEndian.AppendUint16([]byte{0xFF, 0xE1}, uint16(len(body)+2))
	return append(append(append(bytes.Clone(file[:2]), seg...), body...), file[2:]...)
}

// inPNG puts a block into a PNG file.
func inPNG(file, block []byte) []byte {
	const afterHeader = 8 + 25
	return append(append(bytes.Clone(file[:afterHeader]), chunk("eXIf", block)...), file[afterHeader:]...)
}

func TestParseEXIF(t *testing.T) {
	for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
		got, ok := parseEXIF(exifBlock(order, 6, 27))
		assert.True(t, ok)
		assert.Equal(t, exifTags{orientation: 6, focal35: 27}, got)
	}
	sound := exifBlock(binary.LittleEndian, 6, 27)
	with := func(at int, v byte) []byte { b := bytes.Clone(sound); b[at] = v; return b }
	for name, b := range map[string][]byte{
		"empty":                 nil,
		"no byte order":         with(0, 'X'),
		"directory outside":     with(5, 0xFF),
		"more entries than fit": with(8, 200),
		"orientation 9":         with(18, 9),
		"orientation 0":         with(18, 0),
		"two orientations":      with(14, 2),
		"a text as orientation": with(12, 2),
		"cut short":             sound[:20],
		"sub directory outside": with(32, 0xFF),
	} {
		got, ok := parseEXIF(b)
		assert.False(t, ok, name)
		assert.Contains(t, []int{1, 6}, got.orientation, name)
	}
}

// Where each stored orientation has the upright picture's corner marks, by the EXIF standard's table of rows and columns
// (from memory): 1 top left, 2 top right, 3 bottom right, 4 bottom left, 5 left top, 6 right top, 7 right bottom, 8 left
// bottom, naming where the stored first row and first column lie in the upright picture.
func TestOrientationsComeUpright(t *testing.T) {
	const w, h = 96, 70
	upright := image.NewGray(image.Rect(0, 0, w, h))
	for i := range upright.Pix {
		upright.Pix[i] = uint8(i*7 + i/w*3)
	}
	// Of the stored pixel in row r and column c: its place in the upright picture.
	places := map[int]func(r, c int) (x, y int){
		1: func(r, c int) (int, int) { return c, r },
		2: func(r, c int) (int, int) { return w - 1 - c, r },
		3: func(r, c int) (int, int) { return w - 1 - c, h - 1 - r },
		4: func(r, c int) (int, int) { return c, h - 1 - r },
		5: func(r, c int) (int, int) { return r, c },
		6: func(r, c int) (int, int) { return w - 1 - r, c },
		7: func(r, c int) (int, int) { return w - 1 - r, h - 1 - c },
		8: func(r, c int) (int, int) { return r, h - 1 - c },
	}
	want, err := readPhoto(context.Background(), bytes.NewReader(asPNG(t, upright)), "x")
	require.NoError(t, err)
	for o, place := range places {
		sw, sh := w, h
		if o >= 5 {
			sw, sh = h, w
		}
		stored := image.NewGray(image.Rect(0, 0, sw, sh))
		for r := range sh {
			for c := range sw {
				x, y := place(r, c)
				stored.Pix[r*sw+c] = upright.Pix[y*w+x]
			}
		}
		got, err := readPhoto(context.Background(), bytes.NewReader(inPNG(asPNG(t, stored), exifBlock(binary.BigEndian, uint16(o), 0))), "x")
		require.NoError(t, err)
		assert.Equal(t, want.grey, got.grey, "orientation %d", o)
		assert.Equal(t, [2]int{w, h}, [2]int{got.wide, got.high}, "orientation %d", o)
	}
}

func TestAPhotoStoredOnItsSide(t *testing.T) {
	o := sole()
	m := plain(o).from(17, 30, 330, 4).with(o, 2, Point{}).shot(t)
	b := m.Bounds()
	// Orientation 6: the stored picture is the upright one turned to the left.
	side := image.NewGray(image.Rect(0, 0, b.Dy(), b.Dx()))
	for i, v := range m.Pix {
		x, y := i%b.Dx(), i/b.Dx()
		side.Pix[(b.Dx()-1-x)*b.Dy()+y] = v
	}
	tr := read(t, inJPEG(asJPEG(t, side, 90), exifBlock(binary.LittleEndian, 6, 27)), Options{})
	comesBack(t, o, tr)
	assert.Equal(t, Right, tr.Side)
	for _, c := range tr.Corners {
		assert.Less(t, c.Y, float64(b.Dy()), "corners are those of the upright picture")
	}
	assert.InDelta(t, 330*math.Cos(17*math.Pi/180), tr.EyeHeightMM, 6)
}

func TestDamagedEXIFIsSaid(t *testing.T) {
	o := soleOutline(240, 62, 55, 88, 2.2, 3)
	file := asJPEG(t, plain(o).with(o, 2, Point{}).shot(t), 90)
	tr := read(t, inJPEG(file, []byte("II*\x00\xff\xff\xff\x7fgarbage")), Options{})
	comesBack(t, o, tr)
	assert.Contains(t, tr.Notes[0], "EXIF")
}

func FuzzEXIF(f *testing.F) {
	small := image.NewGray(image.Rect(0, 0, 2, 2))
	f.Add(exifBlock(binary.LittleEndian, 6, 27))
	f.Add(exifBlock(binary.BigEndian, 3, 0))
	f.Add(inJPEG(asJPEG(f, small, 50), exifBlock(binary.LittleEndian, 8, 50)))
	f.Add(inPNG(asPNG(f, small), exifBlock(binary.BigEndian, 5, 24)))
	f.Fuzz(func(t *testing.T, b []byte) {
		for _, block := range [][]byte{b, exifOf(b, "jpeg"), exifOf(b, "png")} {
			tags, _ := parseEXIF(block)
			require.True(t, tags.orientation >= 1 && tags.orientation <= 8)
			require.True(t, tags.focal35 == 0 || tags.focal35 >= 8 && tags.focal35 <= 2000)
		}
	})
}
