package footwear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestCurveIsMonotoneAndSmooth(t *testing.T) {
	xs := []float64{0, 1, 3, 4, 8}
	ys := []float64{0, 2, 2.5, 7, 6}
	c := newCurve(xs, ys, free, free)
	for i, x := range xs {
		assert.InDelta(t, ys[i], c.Predict(x), 1e-12)
	}
	for i := 1; i < len(xs); i++ {
		up := math.Copysign(1, ys[i]-ys[i-1])
		for k := range 100 {
			a, b := mix(xs[i-1], xs[i], float64(k)/100), mix(xs[i-1], xs[i], float64(k+1)/100)
			assert.GreaterOrEqual(t, up*(c.Predict(b)-c.Predict(a)), -1e-12, "between %v and %v", a, b)
		}
	}
	for _, x := range xs[1:4] {
		before, after := (c.Predict(x)-c.Predict(x-1e-6))/1e-6, (c.Predict(x+1e-6)-c.Predict(x))/1e-6
		assert.InDelta(t, before, after, 1e-4)
	}
	given := newCurve(xs, ys, 0.5, -1)
	assert.InDelta(t, 0.5, given.PredictDerivative(0), 1e-12)
	assert.InDelta(t, -1, given.PredictDerivative(8), 1e-12)
	// Two nodes and free ends are a straight line.
	line := newCurve([]float64{0, 2}, []float64{1, 5}, free, free)
	assert.InDelta(t, 2, line.Predict(0.5), 1e-12)
}

func TestSmoothStep(t *testing.T) {
	assert.Zero(t, smoothStep(1, 2, 5))
	assert.Equal(t, 1.0, smoothStep(6, 2, 5))
	assert.InDelta(t, 0.5, smoothStep(3.5, 2, 5), 1e-12)
	assert.InDelta(t, 1, smoothStep(2.7, 2, 5)+smoothStep(4.3, 2, 5), 1e-12)
}

func TestRoot(t *testing.T) {
	assert.InDelta(t, math.Cbrt(2), root(0, 2, func(x float64) float64 { return x*x*x - 2 }), 1e-9)
	assert.InDelta(t, 0.3, root(-5, 9, func(x float64) float64 { return math.Atan(40 * (x - 0.3)) }), 1e-9)
	assert.Equal(t, 2.0, root(0, 2, func(x float64) float64 { return x - 3 }), "no change of sign: the nearer end")
}

// On a circle's quarter all steps are equal; on a curve with a sharp bend they crowd there.
func TestSpread(t *testing.T) {
	quarter := spread(9, func(v float64) (float64, float64) { return math.Cos(v * math.Pi / 2), math.Sin(v * math.Pi / 2) })
	for i, v := range quarter {
		assert.InDelta(t, float64(i)/9, v, 0.01)
	}
	corner := spread(10, func(v float64) (float64, float64) { return math.Min(2*v, 1), math.Max(2*v-1, 0) })
	assert.Zero(t, corner[0])
	assert.Equal(t, 1.0, corner[10])
	for i := 1; i < len(corner); i++ {
		assert.Greater(t, corner[i], corner[i-1])
	}
	near := 0
	for _, v := range corner {
		if math.Abs(v-0.5) < 0.02 {
			near++
		}
	}
	assert.GreaterOrEqual(t, near, 2)
}
