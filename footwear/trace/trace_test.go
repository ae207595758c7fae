package trace

import (
	"bytes"
	"context"
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
)

// withinMM is how near a known outline has to come back.
const withinMM = 0.5

// read traces a picture.
func read(t testing.TB, file []byte, o Options) Tracing {
	t.Helper()
	tr, err := ReadPhoto(context.Background(), bytes.NewReader(file), "photo", o)
	require.NoError(t, err)
	return tr
}

// comesBack holds a tracing to the outline that was photographed: within the limit, and within its own ±.
func comesBack(t testing.TB, o made, tr Tracing) {
	t.Helper()
	for _, k := range []struct {
		name      string
		want      float64
		got       footwear.Measure
		smallerPM float64
	}{
		{"length", o.length, tr.Length, 0.8},
		{"seat", o.seat, tr.SeatWidth, 0.6},
		{"waist", o.waist, tr.WaistWidth, 0.6},
		{"ball", o.ball, tr.BallWidth, 0.6},
	} {
		t.Logf("%s %.1f: %+.2f ± %.2f", k.name, k.want, k.got.Value-k.want, k.got.PlusMinus)
		assert.InDelta(t, k.want, k.got.Value, withinMM, k.name)
		if k.want > 0 {
			assert.InDelta(t, k.want, k.got.Value, k.got.PlusMinus, "the ± of the %s", k.name)
			assert.Less(t, k.got.PlusMinus, k.smallerPM, "a ± that says something, %s", k.name)
			assert.Equal(t, footwear.Photo, k.got.Instrument)
		}
	}
}

// sole is the outline of most tests: 258 mm, swung.
func sole() made { return soleOutline(258, 66, 58, 92, 2.2, 5) }

func TestKnownOutlinesComeBack(t *testing.T) {
	slope := func(depth, dirDeg float64) func(Point) float64 {
		s, c := math.Sincos(dirDeg * math.Pi / 180)
		return func(p Point) float64 { return max(0.1, 1-depth*(0.5+((p.X-148)*c+(p.Y-105)*s)/320)) }
	}
	edge := func(at, soft, light float64) func(Point) float64 {
		return func(p Point) float64 { return 1 - (1-light)/(1+math.Exp(-(p.X+0.4*p.Y-at)/soft)) }
	}
	for _, c := range []struct {
		name  string
		o     made
		scene func(s scene, o made) scene
		opt   Options
		jpeg  int // quality; 0: PNG
		paper Paper

		swingMM float64 // by how much more the swing may be off
	}{
		{"straight above", sole(), func(s scene, _ made) scene { return s }, Options{}, 0, A4, 0},
		{"slanted, falling light", soleOutline(271, 68, 60, 97, 1.95, 8), func(s scene, o made) scene {
			s.insole, s.shadow, s.blur = 0.25, slope(0.6, 40), 1.1
			return s.from(24, 70, 365, 8).with(o, -4, Point{0, 4})
		}, Options{}, 88, A4, 0},
		{"letter, slanted the other way", soleOutline(246, 62, 55, 88, 2.5, -6), func(s scene, o made) scene {
			s.insole, s.noise, s.w, s.h = 0.45, 5, 1250, 920
			return s.on(Letter).from(28, 200, 370, 174).with(o, 5, Point{2, -5})
		}, Options{}, 90, Letter, 0},
		{"seen from a corner, light table", soleOutline(240, 60, 52, 86, 2.2, 0), func(s scene, o made) scene {
			s.table, s.texture, s.blurCoded, s.w, s.h = 0.45, 0.12, true, 1250, 920
			return s.from(26, 40, 375, -11).with(o, 183, Point{})
		}, Options{}, 92, A4, 0},
		{"soft shadow across", sole(), func(s scene, o made) scene {
			s.shadow, s.insole = edge(190, 6, 0.5), 0.35
			return s.from(12, -80, 320, 3).with(o, 1, Point{})
		}, Options{}, 90, A4, 0},
		{"hard shadow across", sole(), func(s scene, _ made) scene { s.shadow = edge(190, 0.2, 0.55); return s }, Options{}, 0, A4, 0},
		{"pale insole", sole(), func(s scene, _ made) scene { s.insole = 0.72; return s }, Options{}, 95, A4, 0},
		{"two shades", sole(), func(s scene, _ made) scene { s.front = 0.6; return s }, Options{}, 95, A4, 0},
		{"its own shadow beside it", sole(), func(s scene, _ made) scene { s.cast = Point{2.5, 3}; return s }, Options{}, 90, A4, 0.7},
		{"coarse and noisy", sole(), func(s scene, o made) scene {
			s.w, s.h, s.noise, s.blur = 860, 640, 9, 1
			return s.from(6, 0, 285, -2).with(o, 2, Point{})
		}, Options{}, 80, A4, 0},
		{"blurred", sole(), func(s scene, _ made) scene { s.blur = 1.6; return s }, Options{}, 0, A4, 0},
		{"blurred after the tone curve", sole(), func(s scene, _ made) scene { s.blur, s.blurCoded, s.insole = 1.6, true, 0.02; return s }, Options{}, 0, A4, 0},
		{"bent by the lens", sole(), func(s scene, o made) scene {
			s.lensK = -0.05
			return s.from(15, 120, 330, 5).with(o, 2, Point{})
		}, Options{}, 0, A4, 0},
		{"a child's, across the sheet", soleOutline(132, 43, 38, 54, 2.2, 2), func(s scene, o made) scene {
			return s.from(18, 10, 330, 3).with(o, 88, Point{-60, 10})
		}, Options{}, 0, A4, 0},
		{"ellipse", superellipseOutline(122, 44, 2), func(s scene, o made) scene { return s.from(20, 300, 335, 4).with(o, 9, Point{3, 3}) }, Options{}, 0, A4, 0},
		{"superellipse", superellipseOutline(118, 42, 2.6), func(s scene, o made) scene { return s.on(Letter).from(20, 160, 335, 4).with(o, -7, Point{}) }, Options{}, 0, Letter, 0},
		{"pencil", sole(), func(s scene, o made) scene {
			s.pencil, s.faint = 0.7, 0.35
			return s.from(20, 250, 340, 6).with(o, -2, Point{})
		}, Options{What: Pencil}, 90, A4, 0},
		{"pencil, faint, in falling light", sole(), func(s scene, _ made) scene {
			s.pencil, s.faint, s.noise, s.shadow = 0.6, 0.7, 3, slope(0.5, 120)
			return s
		}, Options{What: Pencil}, 92, A4, 0},
		{"pencil with gaps", sole(), func(s scene, _ made) scene { s.pencil, s.faint, s.gaps = 0.7, 0.4, true; return s }, Options{What: Pencil}, 0, A4, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			m := c.scene(plain(c.o), c.o).shot(t)
			file := asPNG(t, m)
			if c.jpeg > 0 {
				file = asJPEG(t, m, c.jpeg)
			}
			tr := read(t, file, c.opt)
			comesBack(t, c.o, tr)
			assert.Equal(t, c.paper, tr.Sheet)
			assert.InDelta(t, math.Abs(c.o.swing), math.Abs(tr.Swing.Value), tr.Swing.PlusMinus+0.1+c.swingMM, "swing")
			assert.InDelta(t, math.Abs(area(c.o.p)), area(tr.Polygon), 0.5*length(c.o.p)/2, "area, half a millimetre on both sides")
			if c.opt.What == Pencil {
				assert.InDelta(t, 0.7, tr.LineMM, 0.6, "blur widens a line")
			}
		})
	}
}

func TestAYellowInsoleUnderAWarmLamp(t *testing.T) {
	// Yellow is nearly as bright as paper, but not in blue.
	o := sole()
	s := plain(o).from(16, 140, 320, 3).with(o, 2, Point{})
	s.insole = 0.6
	comesBack(t, o, read(t, asJPEG(t, tinted(s.shot(t)), 90), Options{}))
	comesBack(t, o, read(t, asPNG(t, tinted(s.shot(t))), Options{}))
}

func TestLeftIsTheMirrorOfRight(t *testing.T) {
	o := sole()
	m := plain(o).shot(t)
	flipped := image.NewGray(m.Rect)
	for i := range m.Pix {
		x, y := i%m.Rect.Dx(), i/m.Rect.Dx()
		flipped.Pix[y*m.Rect.Dx()+m.Rect.Dx()-1-x] = m.Pix[i]
	}
	r, l := read(t, asPNG(t, m), Options{}), read(t, asPNG(t, flipped), Options{})
	assert.Equal(t, Right, r.Side)
	assert.Equal(t, Left, l.Side)
	assert.True(t, r.SideGuessed)
	for _, k := range [][2]footwear.Measure{{r.Length, l.Length}, {r.SeatWidth, l.SeatWidth}, {r.WaistWidth, l.WaistWidth}, {r.BallWidth, l.BallWidth}, {r.Swing, l.Swing}} {
		assert.InDelta(t, k[0].Value, k[1].Value, 0.02)
	}
	assert.Positive(t, area(l.Polygon), "anticlockwise from above")
	assert.Equal(t, footwear.Swung, l.Outline)
	assert.Equal(t, "round", l.ToeShape)

	// Told against its shape it is said, and the swing goes to the other side.
	told := read(t, asPNG(t, m), Options{Side: Left})
	assert.Equal(t, Left, told.Side)
	assert.False(t, told.SideGuessed)
	assert.InDelta(t, -r.Swing.Value, told.Swing.Value, 1e-9)
	assert.Equal(t, footwear.Straight, told.Outline)
	assert.Contains(t, told.Notes[0], "other foot")
}

func TestSameInputSameOutput(t *testing.T) {
	file := asJPEG(t, plain(sole()).from(15, 20, 320, 3).shot(t), 85)
	assert.Equal(t, read(t, file, Options{}), read(t, file, Options{}))
}

func TestAnEdgeOverThePaperIsBroughtDown(t *testing.T) {
	// Seen from the eye, an outline at height h covers the paper where the eye's rays through it end:
	// eye + (p − eye)·H/(H − h), by similar triangles.
	o, height := soleOutline(235, 62, 54, 84, 2.2, 4), 6.0
	s := plain(o).from(14, 60, 330, 4).with(o, 1, Point{})
	eye := Point{s.eye[0], s.eye[1]}
	for i, p := range s.outline {
		s.outline[i] = eye.plus(p.minus(eye).times(s.eye[2] / (s.eye[2] - height)))
	}
	file := asPNG(t, s.shot(t))
	asIs, down := read(t, file, Options{}), read(t, file, Options{EdgeHeightMM: height})
	assert.InDelta(t, o.length*s.eye[2]/(s.eye[2]-height), asIs.Length.Value, withinMM)
	assert.Contains(t, asIs.Notes[len(asIs.Notes)-1], "give that height")
	assert.InDelta(t, s.eye[2], down.EyeHeightMM, 0.02*s.eye[2], "the slant tells the camera's height")
	for _, k := range []struct {
		want float64
		got  footwear.Measure
	}{{o.length, down.Length}, {o.seat, down.SeatWidth}, {o.ball, down.BallWidth}} {
		assert.InDelta(t, k.want, k.got.Value, withinMM)
		assert.InDelta(t, k.want, k.got.Value, k.got.PlusMinus)
	}
	assert.Greater(t, down.Length.PlusMinus, asIs.Length.PlusMinus)
}

func TestAScanWithoutTheSheetsEdges(t *testing.T) {
	// A flat scan at 4 px/mm: the picture is the sheet.
	o := sole()
	s := plain(o)
	mask := s.mask(297, 210, 4)
	m := image.NewGray(image.Rect(0, 0, mask.w, mask.h))
	for i, v := range mask.v {
		m.Pix[i] = uint8(240 - 190*v)
	}
	tr := read(t, asPNG(t, m), Options{})
	for _, d := range []float64{tr.Length.Value - o.length, tr.SeatWidth.Value - o.seat, tr.WaistWidth.Value - o.waist, tr.BallWidth.Value - o.ball} {
		assert.InDelta(t, 0, d, 0.2)
	}
	assert.Contains(t, tr.Notes[0], "whole picture")
	assert.Zero(t, tr.EyeHeightMM)
	assert.Greater(t, tr.Length.PlusMinus, 0.005*o.length, "the scanner's scale is open")
}

func TestABowedSheetIsSaid(t *testing.T) {
	s := plain(sole())
	s.bend = 1.5
	tr := read(t, asPNG(t, s.shot(t)), Options{})
	assert.InDelta(t, 1.5, tr.BowMM, 0.4)
	assert.Greater(t, tr.BallWidth.PlusMinus, 1.0)
	assert.InDelta(t, 92, tr.BallWidth.Value, tr.BallWidth.PlusMinus)
	assert.Contains(t, tr.Notes[0], "bowed")
}

func TestApply(t *testing.T) {
	tr := Tracing{
		What: Insole, Outline: footwear.Swung, ToeShape: "oval", EyeHeightMM: 400,
		Length: reading(260, 0.4), SeatWidth: reading(64, 0.3), BallWidth: reading(92, 0.3),
	}
	s := footwear.Demo().All()[0]
	before := s
	tr.Apply(&s)
	assert.Equal(t, footwear.Swung, s.Outline)
	assert.Equal(t, "oval", s.ToeShape)
	assert.Equal(t, before.M[footwear.WaistWidth], s.M[footwear.WaistWidth], "no waist was read")
	assert.Equal(t, before.M[footwear.SeatAngle], s.M[footwear.SeatAngle])
	for _, k := range []struct {
		id footwear.MeasureID
		m  footwear.Measure
	}{{footwear.LastLength, tr.Length}, {footwear.SeatWidth, tr.SeatWidth}, {footwear.BallWidth, tr.BallWidth}} {
		got := s.M[k.id]
		assert.Equal(t, footwear.Photo, got.Instrument)
		assert.False(t, got.Assumed)
		assert.Greater(t, got.Value, k.m.Value, "an insole is smaller than the room")
		assert.InDelta(t, k.m.Value, got.Value, got.PlusMinus+2)
		assert.Greater(t, got.PlusMinus, 4*k.m.PlusMinus)
	}
	// A height that was told leaves less open; a pencil line lies outside of the insole.
	told := tr
	told.EdgeHeightMM = 4
	a := s
	told.Apply(&a)
	assert.Less(t, a.M[footwear.LastLength].PlusMinus, s.M[footwear.LastLength].PlusMinus)
	line := tr
	line.What, line.LineMM = Pencil, 1
	line.Apply(&a)
	assert.InDelta(t, s.M[footwear.SeatWidth].Value-1, a.M[footwear.SeatWidth].Value, 1e-9)
}

func TestACancelledReadEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := ReadPhoto(ctx, bytes.NewReader(asPNG(t, plain(sole()).shot(t))), "photo", Options{})
	assert.ErrorIs(t, err, context.Canceled)
}
