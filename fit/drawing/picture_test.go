package drawing

import (
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"lastroom/fit"
	"lastroom/footwear"
)

func TestFrameRoundTrip(t *testing.T) {
	for _, size := range [][2]int{{300, 200}, {640, 180}, {200, 600}} {
		for _, scale := range []float64{1, 1.5, 2} {
			for _, v := range Views {
				pic, err := Render(v, boxScene(0, 1), Options{Words: true, Shown: &boxExtent}, size[0], size[1], scale)
				require.NoError(t, err)
				f := pic.Frame
				assert.Equal(t, size[0], pic.Image.Bounds().Dx())
				for _, p := range []Pt{{0, 0}, {12.5, -3}, {-40, 61}} {
					x, y := f.Pixel(p)
					q := f.Paper(x, y)
					assert.InDelta(t, p.U, q.U, 1e-9)
					assert.InDelta(t, p.V, q.V, 1e-9)
				}
				high := (f.LowPx - f.TopPx) / (f.Shown.Hi.V - f.Shown.Lo.V)
				assert.InDelta(t, f.PxPerMM(), high, 1e-6*high, "a millimetre is as long up as across")
				assert.LessOrEqual(t, f.Shown.Lo.U, boxExtent.Lo.U+1e-9, "all that was asked for is shown")
				assert.GreaterOrEqual(t, f.Shown.Hi.V, boxExtent.Hi.V-1e-9)
			}
		}
	}
}

// disc fills a circle of 20 mm radius.
type disc struct{ ink color.Color }

func (d disc) Plot(c draw.Canvas, p *plot.Plot) {
	l := circle(Pt{5, 5}, 20, 720)
	inkOn(c, p).fill(l.P, d.ink)
}

func TestACircleIsRound(t *testing.T) {
	ink := color.NRGBA{0xFF, 0, 0xFF, 0xFF}
	for _, size := range [][2]vg.Length{{300, 300}, {700, 220}, {240, 620}} {
		p := plot.New()
		p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = -30, 40, -25, 35
		p.Add(disc{ink})
		c := vgimg.NewWith(vgimg.UseWH(size[0], size[1]), vgimg.UseDPI(72))
		dc := draw.New(c)
		equalise(p, dc)
		p.Draw(dc)
		f := frameOf(Side, p, dc, dc, 1)
		box := inkedBox(c.Image(), ink)
		assert.InDelta(t, box.Dx(), box.Dy(), 1, "%v", size)
		assert.InDelta(t, 40*f.PxPerMM(), box.Dx(), 1.5)
		x, y := f.Pixel(Pt{5, 5})
		assert.InDelta(t, x, float64(box.Min.X+box.Max.X)/2, 1, "the frame tells where the middle is")
		assert.InDelta(t, y, float64(box.Min.Y+box.Max.Y)/2, 1)
	}
}

func inkedBox(img image.Image, ink color.NRGBA) image.Rectangle {
	var box image.Rectangle
	r, g, b, _ := ink.RGBA()
	for y := img.Bounds().Min.Y; y < img.Bounds().Max.Y; y++ {
		for x := img.Bounds().Min.X; x < img.Bounds().Max.X; x++ {
			if pr, pg, pb, _ := img.At(x, y).RGBA(); pr == r && pg == g && pb == b {
				box = box.Union(image.Rect(x, y, x+1, y+1))
			}
		}
	}
	return box
}

var boxExtent = Extent{Pt{-40, -40}, Pt{110, 60}}

// Pictures without words, so that no font decides. UPDATE_GOLDEN=1 writes them anew.
func TestPictures(t *testing.T) {
	shown := map[View]Extent{
		Behind: {Pt{-36, -4}, Pt{36, 56}}, Side: {Pt{-6, -4}, Pt{106, 56}}, Above: {Pt{-6, -36}, Pt{106, 36}},
	}
	for _, v := range Views {
		for _, dark := range []bool{false, true} {
			name := v.Slug() + "-light.png"
			if dark {
				name = v.Slug() + "-dark.png"
			}
			e := shown[v]
			pic, err := Render(v, boxScene(7, 1), Options{Look: Look{Dark: dark}, CutLines: true, Shown: &e}, 220, 140, 1)
			require.NoError(t, err)
			comparePicture(t, filepath.Join("testdata", name), pic.Image)
		}
	}
}

// comparePicture allows for rounding in a rasteriser: a few pixels that differ a little.
func comparePicture(t *testing.T, name string, got *image.RGBA) {
	t.Helper()
	if os.Getenv("UPDATE_GOLDEN") == "1" {
		require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o755))
		f, err := os.Create(name)
		require.NoError(t, err)
		require.NoError(t, png.Encode(f, got))
		require.NoError(t, f.Close())
	}
	f, err := os.Open(name)
	require.NoError(t, err, "UPDATE_GOLDEN=1 makes it")
	defer func() { _ = f.Close() }()
	want, err := png.Decode(f)
	require.NoError(t, err)
	require.Equal(t, want.Bounds().Size(), got.Bounds().Size())
	differ := 0
	for y := range got.Bounds().Dy() {
		for x := range got.Bounds().Dx() {
			wr, wg, wb, _ := want.At(want.Bounds().Min.X+x, want.Bounds().Min.Y+y).RGBA()
			gr, gg, gb, _ := got.At(x, y).RGBA()
			if off(wr, gr)+off(wg, gg)+off(wb, gb) > 24 {
				differ++
			}
		}
	}
	assert.LessOrEqual(t, differ, 30, "%s: pixels that differ", name)
}

func off(a, b uint32) int {
	d := int(a>>8) - int(b>>8)
	if d < 0 {
		return -d
	}
	return d
}

func TestOverlapIsSeenWithoutColour(t *testing.T) {
	// The crosswise hatch changes lightness: within the overlap, pixels are neither all alike nor like the shell's.
	e := Extent{Pt{-36, -4}, Pt{36, 56}}
	pic, err := Render(Behind, boxScene(7, 1), Options{Shown: &e}, 720, 600, 1)
	require.NoError(t, err)
	f := pic.Frame
	shadesIn := func(lo, hi Pt) map[uint8]bool {
		seen := map[uint8]bool{}
		x0, y1 := f.Pixel(lo)
		x1, y0 := f.Pixel(hi)
		for y := int(y0); y < int(y1); y++ {
			for x := int(x0); x < int(x1); x++ {
				g, ok := color.GrayModel.Convert(pic.Image.At(x, y)).(color.Gray)
				require.True(t, ok)
				seen[g.Y/16] = true
			}
		}
		return seen
	}
	assert.Greater(t, len(shadesIn(Pt{-31.8, 5.3}, Pt{-30.2, 7.7})), 2, "overlap of the shell")
	assert.Len(t, shadesIn(Pt{0, 5.5}, Pt{10, 7.5}), 1, "shell inside the room")
}

// A mark is a ring round its place, on the pixels where the frame says that the place lies.
func TestMarksStandAtTheirPlaces(t *testing.T) {
	sheet, err := footwear.Demo().Find("lace-dress")
	require.NoError(t, err)
	room, err := footwear.NewRoom(sheet, true)
	require.NoError(t, err)
	s := NewScene(room, nil, nil, fit.Settled)
	at := r3.Vec{X: s.Cuts.XMM, Y: -20, Z: 15}
	plain, err := Render(Behind, s, Options{}, 600, 400, 1)
	require.NoError(t, err)
	marked, err := Render(Behind, s, Options{Marks: []Mark{{Number: 1, At: at}}}, 600, 400, 1)
	require.NoError(t, err)
	x, y := marked.Frame.Pixel(Behind.Project(at))
	changed, near := 0, 0
	for py := range 400 {
		for px := range 600 {
			if plain.Image.RGBAAt(px, py) != marked.Image.RGBAAt(px, py) {
				changed++
				if math.Hypot(float64(px)-x, float64(py)-y) < 45 {
					near++
				}
			}
		}
	}
	assert.Greater(t, changed, 100)
	assert.Equal(t, changed, near)
}
