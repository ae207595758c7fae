package trace

import (
	"bytes"
	"context"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/internal/problem"
)

// refused reads a file that can't be traced and returns what is said.
func refused(t *testing.T, r io.Reader, o Options) problem.Problem {
	t.Helper()
	_, err := ReadPhoto(context.Background(), r, "photo.jpg", o)
	var p problem.Problem
	require.ErrorAs(t, err, &p)
	assert.Equal(t, "photo.jpg", p.File)
	assert.NotEmpty(t, p.Field)
	assert.NotEmpty(t, p.Limit)
	assert.NotEmpty(t, p.Mend)
	return p
}

func TestScenesThatCannotBeRead(t *testing.T) {
	for _, c := range []struct {
		name  string
		scene func(s scene, o made) scene
		opt   Options
		says  string
	}{
		{"no sheet", func(s scene, _ made) scene {
			s.paper, s.aim, s.eye = A4, Point{900, 900}, [3]float64{900, 900, 280}
			return s
		}, Options{}, "no A4 or Letter sheet is found"},
		{"no ground to tell it from", func(s scene, _ made) scene { s.table, s.texture = 0.85, 0; return s }, Options{}, "no A4 or Letter sheet is found"},
		{"sheet cut off", func(s scene, _ made) scene { s.aim, s.eye = Point{70, 105}, [3]float64{70, 105, 280}; return s }, Options{}, "cut off"},
		{"outline over the sheet's edge", func(s scene, o made) scene { return s.with(o, 0, Point{25, 0}) }, Options{}, "reaches the edge"},
		{"outline at the sheet's edge", func(s scene, o made) scene { return s.with(o, 0, Point{0, 60.5}) }, Options{}, "reaches the edge"},
		{"nothing on it", func(s scene, _ made) scene { s.outline = []Point{{1, 1}, {1, 2}, {2, 2}}; return s }, Options{}, "nothing of an insole's shape"},
		{"too far", func(s scene, _ made) scene { s.eye[2] = 720; return s }, Options{}, "at least 1.5 px/mm"},
		{"told another sheet", func(s scene, _ made) scene { return s }, Options{Sheet: Letter}, "proportion of a4"},
		{"told pencil", func(s scene, _ made) scene { return s }, Options{What: Pencil}, "no closed pencil line"},
		{"told insole", func(s scene, _ made) scene { s.pencil, s.faint = 0.7, 0.4; return s }, Options{}, "nothing of an insole's shape"},
		{"no insole's shape", func(s scene, _ made) scene { return s.with(superellipseOutline(60, 55, 2), 0, Point{}) }, Options{}, "nothing of an insole's shape"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			p := refused(t, bytes.NewReader(asPNG(t, c.scene(plain(sole()), sole()).shot(t))), c.opt)
			assert.Contains(t, p.Error(), c.says)
		})
	}
}

// hugePNG is a file of a few bytes whose header claims a size.
func hugePNG(w, h uint32, depth, kind byte) []byte {
	b := []byte("\x89PNG\r\n\x1a\n")
	head := binary.BigEndian.AppendUint32(nil, w)
	head = binary.BigEndian.AppendUint32(head, h)
	return append(b, chunk("IHDR", append(head, depth, kind, 0, 0, 0))...)
}

func chunk(name string, body []byte) []byte {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	b = append(append(b, name...), body...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
}

// endless never ends.
type endless struct{}

func (endless) Read(p []byte) (int, error) { return len(p), nil }

func TestHostileFiles(t *testing.T) {
	small := image.NewGray(image.Rect(0, 0, 200, 150))
	good, goodJPEG := asPNG(t, small), asJPEG(t, small, 80)
	hugeJPEG := bytes.Clone(goodJPEG)
	at := bytes.Index(hugeJPEG, []byte{0xFF, 0xC0})
	binary.BigEndian.PutUint16(hugeJPEG[at+5:], 7750)
	binary.BigEndian.PutUint16(hugeJPEG[at+7:], 7750)
	for _, c := range []struct {
		name string
		file io.Reader
		says string
	}{
		{"empty", bytes.NewReader(nil), "0 bytes: the file is empty"},
		{"text", bytes.NewReader([]byte("no picture")), "neither PNG nor JPEG"},
		{"60 megapixels in a PNG header", bytes.NewReader(hugePNG(7750, 7750, 8, 2)), "at most 50 megapixels"},
		{"60 megapixels in a JPEG header", bytes.NewReader(hugeJPEG), "at most 50 megapixels"},
		{"26 megapixels of 16 bits", bytes.NewReader(hugePNG(6500, 4000, 16, 6)), "at most 25 megapixels"},
		{"four thousand million px", bytes.NewReader(hugePNG(1<<31-1, 2, 8, 0)), "at most 50 megapixels"},
		{"too small", bytes.NewReader(asPNG(t, image.NewGray(image.Rect(0, 0, 50, 500)))), "at least 64 px"},
		{"PNG cut short", bytes.NewReader(good[:len(good)/2]), "damaged"},
		{"JPEG cut short", bytes.NewReader(goodJPEG[:len(goodJPEG)*3/4]), "damaged"},
		{"header alone", bytes.NewReader(hugePNG(3000, 2000, 8, 2)), "damaged"},
		{"no end", endless{}, "at most 64 MiB"},
		{"broken reader", io.MultiReader(bytes.NewReader(good[:20]), brokenReader{}), "can't be read"},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Contains(t, refused(t, c.file, Options{}).Error(), c.says)
		})
	}
}

type brokenReader struct{}

func (brokenReader) Read([]byte) (int, error) { return 0, io.ErrClosedPipe }

func TestOptionsThatCannotBe(t *testing.T) {
	file := asPNG(t, image.NewGray(image.Rect(0, 0, 200, 150)))
	corners := func(p ...float64) *[4]Point {
		return &[4]Point{{p[0], p[1]}, {p[2], p[3]}, {p[4], p[5]}, {p[6], p[7]}}
	}
	for _, c := range []struct {
		name, field string
		o           Options
	}{
		{"sheet", "sheet", Options{Sheet: "a3"}},
		{"what", "what", Options{What: "shoe"}},
		{"side", "side", Options{Side: "both"}},
		{"height below 0", "edge_height_mm", Options{EdgeHeightMM: -1}},
		{"height no number", "edge_height_mm", Options{EdgeHeightMM: math.NaN()}},
		{"height too large", "edge_height_mm", Options{EdgeHeightMM: 31}},
		{"corner outside", "corners", Options{Corners: corners(0, 0, 201, 0, 200, 150, 0, 150)}},
		{"corner no number", "corners", Options{Corners: corners(0, 0, math.Inf(1), 0, 200, 150, 0, 150)}},
		{"corners on a line", "corners", Options{Corners: corners(0, 0, 50, 50, 100, 100, 150, 150)}},
		{"corners in one place", "corners", Options{Corners: corners(9, 9, 9, 9, 9, 9, 9, 9)}},
		{"a dart", "corners", Options{Corners: corners(0, 0, 200, 0, 60, 50, 0, 150)}},
		{"a long strip", "corners", Options{Corners: corners(0, 0, 200, 0, 200, 20, 0, 20)}},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, c.field, refused(t, bytes.NewReader(file), c.o).Field)
		})
	}
}

func FuzzReadPhoto(f *testing.F) {
	var b bytes.Buffer
	sheet := image.NewNRGBA(image.Rect(0, 0, 140, 100))
	for i := range 140 * 100 {
		x, y := i%140, i/140
		v := uint8(40)
		if x > 15 && x < 125 && y > 10 && y < 88 {
			v = 230
		}
		if x > 40 && x < 100 && y > 35 && y < 60 {
			v = 60
		}
		sheet.SetNRGBA(x, y, color.NRGBA{v, v, v / 2, 255})
	}
	require.NoError(f, png.Encode(&b, sheet))
	f.Add(b.Bytes(), "", 10.0, 90.0)
	f.Add(asJPEG(f, sheet, 70), "pencil", 0.0, 0.0)
	f.Add(hugePNG(7750, 7750, 8, 2), "", 0.0, 0.0)
	f.Fuzz(func(t *testing.T, file []byte, what string, left, right float64) {
		if head, _, err := image.DecodeConfig(bytes.NewReader(file)); err == nil && head.Width*head.Height > 200*200 && head.Width*head.Height <= MaxPixels {
			return // large pictures only take longer
		}
		o := Options{What: What(what)}
		if left != right {
			o.Corners = &[4]Point{{left, left}, {right, left}, {right, right}, {left, right}}
		}
		tr, err := ReadPhoto(context.Background(), bytes.NewReader(file), "fuzz", o)
		if err != nil {
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			return
		}
		for _, p := range tr.Polygon {
			require.True(t, p.finite())
		}
		require.Positive(t, tr.Length.Value)
	})
}
