package trace

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestHomographyTakesCornersToCorners(t *testing.T) {
	to := [4]Point{{10, 20}, {500, 40}, {470, 390}, {30, 350}}
	h, ok := homographyOf(page(297, 210), to)
	require.True(t, ok)
	for i, c := range page(297, 210) {
		assert.InDelta(t, 0, h.apply(c).minus(to[i]).norm(), 1e-9)
	}
	// Lines stay lines: the diagonals meet where the page's do.
	m, ok := line{to[0], to[2].minus(to[0]).unit()}.meet(line{to[1], to[3].minus(to[1]).unit()})
	require.True(t, ok)
	assert.InDelta(t, 0, h.apply(Point{148.5, 105}).minus(m).norm(), 1e-9)
}

func TestCameraComesBackFromTheSlant(t *testing.T) {
	s := plain(sole()).from(30, 50, 400, 12)
	h := s.camera()
	mid := Point{float64(s.w) / 2, float64(s.h) / 2}
	misfit, focal := h.proportion(mid, 0)
	assert.Less(t, misfit, 0.003)
	assert.InDelta(t, 1, focal/(s.focal*2*mid.norm()), 0.02)
	x, y, up := h.eye(mid, s.focal*2*mid.norm())
	assert.InDelta(t, s.eye[0], x, 1e-6)
	assert.InDelta(t, s.eye[1], y, 1e-6)
	assert.InDelta(t, s.eye[2], up, 1e-6)
	// A sheet whose proportion is 9 % off is seen as that.
	wrong, ok := homographyOf(page(279.4, 215.9), [4]Point{h.apply(Point{0, 0}), h.apply(Point{297, 0}), h.apply(Point{297, 210}), h.apply(Point{0, 210})})
	require.True(t, ok)
	assert.InDelta(t, math.Log(297.0/210/(279.4/215.9)), wrong.misfit(mid, focal), 0.02)
}

func TestLensThereAndBack(t *testing.T) {
	for _, k := range []float64{-0.1, -0.01, 0, 0.02, 0.1} {
		l := lens{mid: Point{500, 400}, r: 640, k: k}
		for _, p := range []Point{{500, 400}, {10, 20}, {999, 1}, {500, 0}, {320, 777}} {
			assert.InDelta(t, 0, l.ideal(l.shown(p)).minus(p).norm(), 1e-6, "k %g", k)
		}
	}
}

func TestContourOfADisc(t *testing.T) {
	// A cone of slope 1: the level 0 lies on the circle of radius 30, to the interpolation's error of h²/8r.
	g := newGrey(100, 90)
	for i := range g.v {
		x, y := float64(i%100)+0.5, float64(i/100)+0.5
		g.v[i] = float32(30 - math.Hypot(x-47.3, y-44.1))
	}
	loop := widestLoop(contours(&g, 0))
	require.NotNil(t, loop)
	for _, p := range loop {
		assert.InDelta(t, 30, p.minus(Point{47.3, 44.1}).norm(), 0.01)
	}
	even := spaced(loop, 0.5)
	assert.InDelta(t, math.Pi*900, area(even), 3)
	for i, p := range even {
		assert.InDelta(t, 0.5, p.minus(even[(i+1)%len(even)]).norm(), 0.01)
		assert.InDelta(t, 1, outward(even, i).dot(p.minus(Point{47.3, 44.1}).unit()), 0.01)
	}
	fair, off := faired(even, 5)
	assert.Less(t, off, 0.01)
	assert.InDelta(t, area(even), area(fair), 1, "a circle keeps its size")
}

func TestContoursAtASaddle(t *testing.T) {
	// Two diagonal peaks: apart when the middle is low, together when it is high; every line closes.
	for middle, want := range map[float32]int{0.9: 1, 0.1: 2} {
		g := newGrey(4, 4)
		g.v[1*4+1], g.v[2*4+2] = 1, 1
		g.v[1*4+2], g.v[2*4+1] = middle-0.45, middle-0.45
		assert.Len(t, contours(&g, 0.48), want)
	}
}

func TestQuadOfARoundedCorner(t *testing.T) {
	// A square whose corners are cut comes back with its corners.
	p := []Point{{2, 0}, {98, 0}, {100, 2}, {100, 98}, {98, 100}, {2, 100}, {0, 98}, {0, 2}}
	q, ok := quadOf(hull(p))
	require.True(t, ok)
	assert.InDelta(t, 10000, area(q[:]), 1e-9)
	_, ok = quadOf(hull([]Point{{0, 0}, {4, 0}, {0, 4}}))
	assert.False(t, ok)
}

func TestFrameOfAKnownOutline(t *testing.T) {
	o := soleOutline(262, 66, 58, 94, 2.2, 5)
	want := spaced(o.p, pitchMM)
	for _, turn := range []float64{0, 33, 90, 179, 270} {
		si, co := math.Sincos(turn * math.Pi / 180)
		p := make([]Point, len(want))
		for i, q := range want {
			p[i] = q.turned(co, si).plus(Point{70, -30})
		}
		s := shaped(p)
		waist, ok := s.waist()
		require.True(t, ok)
		assert.InDelta(t, o.length, s.length, 0.02)
		assert.InDelta(t, o.seat, s.seat().width(), 0.02)
		assert.InDelta(t, o.waist, waist.width(), 0.02)
		assert.InDelta(t, o.ball, s.ball().width(), 0.02)
		assert.InDelta(t, o.swing, s.swing(), 0.05)
		assert.Greater(t, s.medialIsLeft(), 1.0)
		assert.InDelta(t, 2.2, s.toeExponent(), 0.05)
		assert.False(t, s.alike)
	}
	for n, name := range map[float64]string{1.55: "pointed", 1.95: "oval", 2.2: "round", 2.9: "square"} {
		s := shaped(spaced(soleOutline(262, 66, 58, 94, n, 0).p, pitchMM))
		assert.Equal(t, name, toeShape(s.toeExponent()), "the exponents that rooms are made with")
		assert.InDelta(t, 0, s.medialIsLeft(), 0.2)
	}
}
