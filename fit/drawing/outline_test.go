package drawing

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAnOutlineIsDrawnToScale(t *testing.T) {
	const r, n = 50.0, 360
	var p []Pt
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		p = append(p, Pt{r + r*c, r * s})
	}
	lo, hi, ok := Across(p, 20)
	require.True(t, ok)
	assert.InDelta(t, 40, hi.V, 0.01) // √(50² − 30²)
	assert.InDelta(t, -40, lo.V, 0.01)
	_, _, ok = Across(p, 101)
	assert.False(t, ok)

	img, err := RenderOutline(p, []Span{{lo, hi, "80.0 mm"}}, Look{}, 400, 300, 1)
	require.NoError(t, err)
	edge := Light.ShellEdge
	left, right, top, low := 400, 0, 300, 0
	for y := range 300 {
		for x := range 400 {
			if q := img.RGBAAt(x, y); q.R == edge.R && q.G == edge.G && q.B == edge.B {
				left, right, top, low = min(left, x), max(right, x), min(top, y), max(low, y)
			}
		}
	}
	assert.Greater(t, right-left, 150)
	assert.InDelta(t, right-left, low-top, 2, "a circle is round")

	_, err = RenderOutline(p[:2], nil, Look{}, 400, 300, 1)
	require.Error(t, err)
	_, err = RenderOutline(p, nil, Look{}, 4, 300, 1)
	assert.Error(t, err)
}
