package mesh

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func ellipse(x, a, b float64, n int) [][2]float64 {
	p := make([][2]float64, n)
	for i := range p {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		p[i] = [2]float64{x + a*c, b * s}
	}
	return p
}

// A tape round two circles of radius 20 with centres 60 apart: 2·60 + 2π·20 (calc).
func TestTapeRoundTwoCircles(t *testing.T) {
	p := append(ellipse(0, 20, 20, 3600), ellipse(60, 20, 20, 3600)...)
	assert.InDelta(t, 245.663706, Perimeter2(ConvexHull2(p)), 5e-5)
}

// Perimeter of the ellipse with half axes 50 and 35, complete elliptic integral (calc); the fine polygon falls short
// by less than 1e-6.
func TestPerimeterOfEllipse(t *testing.T) {
	assert.InDelta(t, 269.1184490736, Perimeter2(ellipse(7, 50, 35, 20000)), 3e-6)
}

func TestConvexHullOfFew(t *testing.T) {
	for name, c := range map[string]struct{ in, want [][2]float64 }{
		"none":      {nil, nil},
		"one":       {[][2]float64{{1, 2}}, [][2]float64{{1, 2}}},
		"one twice": {[][2]float64{{1, 2}, {1, 2}}, [][2]float64{{1, 2}}},
		"on a line": {[][2]float64{{2, 2}, {0, 0}, {1, 1}, {3, 3}}, [][2]float64{{0, 0}, {3, 3}}},
		"square": {
			[][2]float64{{0, 1}, {1, 1}, {0.5, 0.5}, {0, 0}, {1, 0}, {0.5, 0}},
			[][2]float64{{0, 0}, {1, 0}, {1, 1}, {0, 1}},
		},
		"no corners": {[][2]float64{}, [][2]float64{}},
	} {
		t.Run(name, func(t *testing.T) {
			got := ConvexHull2(c.in)
			require.Len(t, got, len(c.want))
			for i := range got {
				assert.Equal(t, c.want[i], got[i])
			}
		})
	}
	assert.Zero(t, Perimeter2(nil))
	assert.InDelta(t, 10, Perimeter2([][2]float64{{0, 0}, {3, 4}}), 1e-12)
}

func TestConvexHullHoldsAllPoints(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 4))
	for range 50 {
		p := make([][2]float64, 40)
		for i := range p {
			p[i] = [2]float64{math.Floor(8 * rng.Float64()), math.Floor(8 * rng.Float64())} // many on one line
		}
		before := append([][2]float64(nil), p...)
		h := ConvexHull2(p)
		require.Equal(t, before, p)
		for i := range h {
			a, b := h[i], h[(i+1)%len(h)]
			require.Positive(t, turn(a, b, h[(i+2)%len(h)]))
			for _, q := range p {
				require.GreaterOrEqual(t, turn(a, b, q), 0.0)
			}
		}
	}
}
