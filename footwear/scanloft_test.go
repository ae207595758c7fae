package footwear

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A loft is a closed body 300 mm long of superellipse sections |y/a|ⁿ + |(z−c)/b|ⁿ = 1 with flat ends; a, b and c by X.
type loft struct {
	n       float64
	a, b, c func(x float64) float64
}

const loftMM = 300.0

func (l loft) at(x, angle float64) r3.Vec {
	sin, cos := math.Sincos(angle)
	power := func(v float64) float64 { return math.Copysign(math.Pow(math.Abs(v), 2/l.n), v) }
	return r3.Vec{X: x, Y: l.a(x) * power(cos), Z: l.c(x) + l.b(x)*power(sin)}
}

func (l loft) mesh() *mesh.Mesh {
	const rings, round = 100, 96
	var b mesh.Builder
	var last []int32
	cap := func(ring []int32, x float64, front bool) {
		mid := b.AddVertex(r3.Vec{X: x, Z: l.c(x)})
		for k := range ring {
			p, q := ring[k], ring[(k+1)%round]
			if front {
				b.AddTriangle(mid, p, q, 0)
			} else {
				b.AddTriangle(mid, q, p, 0)
			}
		}
	}
	for i := range rings + 1 {
		x := loftMM * float64(i) / rings
		ring := make([]int32, round)
		for k := range ring {
			ring[k] = b.AddVertex(l.at(x, 2*math.Pi*float64(k)/round))
		}
		if i == 0 {
			cap(ring, x, false)
		} else {
			for k := range ring {
				b.AddQuad(last[k], last[(k+1)%round], ring[(k+1)%round], ring[k], 0)
			}
		}
		last = ring
	}
	cap(last, loftMM, true)
	m := b.Mesh()
	m.Tag = nil
	return m
}

// girth is the perimeter of a section, convex for n ≥ 1, so that it is its own hull.
func (l loft) girth(x float64) float64 {
	const steps = 200000
	sum, p := 0.0, l.at(x, 0)
	for k := 1; k <= steps; k++ {
		q := l.at(x, 2*math.Pi*float64(k)/steps)
		sum += r3.Norm(r3.Sub(q, p))
		p = q
	}
	return sum
}

func along(values ...float64) func(float64) float64 {
	xs := make([]float64, len(values))
	for i := range xs {
		xs[i] = loftMM * float64(i) / float64(len(values)-1)
	}
	return newCurve(xs, values, free, free).Predict
}

func fixed(v float64) func(float64) float64 { return func(float64) float64 { return v } }

// Plain lofts without heel rise, in random poses, give their closed forms.
func TestLoftsMeasureByTheirClosedForms(t *testing.T) {
	// Ends that close like a superellipse in plan, to a thousandth of the width.
	round := func(x float64) float64 {
		return 45 * math.Max(math.Pow(1-math.Pow(math.Abs(2*x/loftMM-1), 2.5), 1/2.5), 1e-3)
	}
	half, depth := along(26, 33, 33, 36, 46, 44, 24), along(34, 35, 33, 28, 24, 18, 12)
	for name, l := range map[string]loft{
		"flat below":             {2.5, half, depth, depth},
		"about a straight axis":  {2.5, half, depth, fixed(0)},
		"an elliptic cylinder":   {2, fixed(40), fixed(30), fixed(0)},
		"round ends, flat below": {2.5, round, fixed(25), fixed(25)},
		"round ends all about":   {2.5, round, func(x float64) float64 { return 0.6 * round(x) }, fixed(0)},
		"a box almost":           {8, half, depth, depth},
	} {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(7, 8))
			m := l.mesh().Transformed(randomPose(rng))
			a, err := Align(context.Background(), m, AlignOptions{Side: RightSide})
			require.NoError(t, err)
			got, err := MeasureScan(context.Background(), a.Apply(m))
			require.NoError(t, err)
			tread, heel := treadShare*loftMM, heelShare*loftMM
			assert.InDelta(t, loftMM, got.M[LastLength], 0.3, "length")
			assert.InDelta(t, 2*l.a(tread), got.M[BallWidth], 0.3, "ball width")
			assert.InDelta(t, 2*l.a(heel), got.HeelWidthMM, 0.3, "heel width")
			assert.InDelta(t, 2*l.a(waistShare*loftMM), got.M[WaistWidth], 0.3, "waist width")
			assert.InDelta(t, l.girth(tread), got.M[BallGirth], 0.3, "ball girth")
			assert.InDelta(t, l.girth(instepShare*loftMM), got.M[InstepGirth], 0.3, "instep girth")
			assert.InDelta(t, 2*l.b(tread), got.M[DepthBall], 0.3, "depth at the ball")
			if rise, ok := got.M[HeelRise]; ok && l.c(0) == l.b(0) {
				assert.InDelta(t, 0, rise, 0.3, "heel rise")
				assert.InDelta(t, 0, got.M[ToeSpring], 0.3, "toe spring")
			}
		})
	}
}
