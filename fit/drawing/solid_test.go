package drawing

import (
	"context"
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// ball is a sphere of radius r about c.
func ball(c r3.Vec, r float64) *mesh.Mesh {
	const n = 60
	m := &mesh.Mesh{}
	for i := range n + 1 {
		a := math.Pi * float64(i) / n
		for k := range 2 * n {
			b := math.Pi * float64(k) / n
			m.V = append(m.V, r3.Add(c, r3.Scale(r, r3.Vec{X: math.Sin(a) * math.Cos(b), Y: math.Sin(a) * math.Sin(b), Z: math.Cos(a)})))
		}
	}
	for i := range n {
		for k := range 2 * n {
			a, b := int32(i*2*n+k), int32(i*2*n+(k+1)%(2*n))
			m.F = append(m.F, [3]int32{a, a + 2*n, b}, [3]int32{b, a + 2*n, b + 2*n})
		}
	}
	return m
}

func picture(s *Solid, eye Eye, whole bool) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, 480, 300))
	s.Draw(img, eye, whole, false, 1)
	return img
}

// A ball fills a disc of π r² from every side (closed form); of two, the one that is nearer hides the other.
func TestASolidIsDrawnToScaleAndByDepth(t *testing.T) {
	for _, eye := range []Eye{{0, 0}, {37, 20}, {-120, -35}, {10, 89}} {
		s := &Solid{}
		s.add(ball(r3.Vec{}, 10), make([]Contact, 2*60*120), false, false)
		img := picture(s, eye, false)
		n := 0
		for y := range 300 {
			for x := range 480 {
				if c := img.RGBAAt(x, y); c.R != 255 || c.G != 255 || c.B != 255 {
					n++
				}
			}
		}
		px := 0.96 * 480 / (2 * 10 * math.Sqrt(3))
		assert.InEpsilon(t, math.Pi*100*px*px, float64(n), 0.01, "%v", eye)
	}
	s := &Solid{}
	near, far := make([]Contact, 2*60*120), make([]Contact, 2*60*120)
	for i := range near {
		near[i] = Presses
	}
	s.add(ball(r3.Vec{X: -30}, 10), near, false, false) // behind is −X: there the eye is
	s.add(ball(r3.Vec{X: 30}, 10), far, false, false)
	c := picture(s, Eye{}, false).RGBAAt(240, 150)
	assert.Greater(t, c.R, c.B, "the one that presses, vermillion, is before the one that is free, blue")
	c = picture(s, Eye{TurnDeg: 180}, false).RGBAAt(240, 150)
	assert.Greater(t, c.B, c.R, "from the other side it is the free one")
}

func TestContactIsToldByColourAndPattern(t *testing.T) {
	sheet, err := footwear.Demo().Find("lace-dress")
	require.NoError(t, err)
	room, err := footwear.NewRoom(sheet, true)
	require.NoError(t, err)
	o, err := fit.MadeFor(device.Default(), sheet)
	require.NoError(t, err)
	dev, err := device.Build(o)
	require.NoError(t, err)
	b, err := fit.NewBench(context.Background(), room)
	require.NoError(t, err)
	r, err := b.Check(context.Background(), dev, fit.Foot{})
	require.NoError(t, err)
	s := NewSolid(room, dev, r, b.Tree(), 266)
	kinds := s.Kinds()
	for _, k := range []Contact{Free, Rests, Touches, Presses} {
		assert.Positive(t, kinds[k], "%d", k)
	}
	open, whole := picture(s, Eye{140, 35}, false), picture(s, Eye{140, 35}, true)
	assert.NotEqual(t, open.Pix, whole.Pix, "the near walls are a veil")
	assert.Equal(t, open.Pix, picture(s, Eye{140, 35}, false).Pix, "the same again")
	turned := picture(s, Eye{150, 35}, false)
	assert.NotEqual(t, open.Pix, turned.Pix)
	// Stripes run across, dots are few, lines lie: each is another share of the ink.
	share := func(k Contact) float64 {
		n := 0
		for y := range 120 {
			for x := range 120 {
				if inked(k, x, y, 2) {
					n++
				}
			}
		}
		return float64(n) / (120 * 120)
	}
	assert.InDelta(t, 1.0/2, share(Presses), 0.01)
	assert.InDelta(t, 1.0/9, share(Touches), 0.01)
	assert.InDelta(t, 1.0/3, share(Rests), 0.01)
	assert.Zero(t, share(Free))
}

func BenchmarkSolid(b *testing.B) {
	s := &Solid{}
	s.add(ball(r3.Vec{}, 10), make([]Contact, 2*60*120), false, false)
	img := image.NewRGBA(image.Rect(0, 0, 900, 600))
	for b.Loop() {
		s.Draw(img, Eye{30, 20}, false, false, 1)
	}
}
