package mesh

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/spatial/r3"
)

// roughened moves each vertex along its normal by a normal deviate of so many mm: the noise is known.
func roughened(m *Mesh, rms float64, seed uint64) *Mesh {
	rng := rand.New(rand.NewPCG(seed, 8))
	c := m.Clone()
	for i, n := range m.VertexNormals() {
		c.V[i] = r3.Add(c.V[i], r3.Scale(rms*rng.NormFloat64(), n))
	}
	return c
}

func TestRoughnessReadsTheNoise(t *testing.T) {
	ball, loft, box := sphere(50, 120), cavity(120, 121), cube().Refined(func(_, _ r3.Vec) float64 { return 0.1 })
	for _, rms := range []float64{0.05, 0.1, 0.3, 0.5} {
		for name, m := range map[string]*Mesh{"sphere": ball, "loft": loft} {
			r := MeasureRoughness(roughened(m, rms, 1))
			assert.InEpsilon(t, rms, r.RMSMM, 0.08, "%s, %g mm", name, rms)
			assert.Greater(t, r.Vertices, 2000)
		}
		// Sharp edges are no noise.
		r := MeasureRoughness(roughened(box.Scaled(30), rms, 2))
		assert.InEpsilon(t, rms, r.RMSMM, 0.12, "box, %g mm", rms)
		// Of noise all round, what lies along the surface does not count.
		assert.InEpsilon(t, rms, MeasureRoughness(noisy(ball, rms, 3)).RMSMM, 0.1)
	}
	for name, m := range map[string]*Mesh{"sphere": ball, "loft": loft, "box": box} {
		assert.Less(t, MeasureRoughness(m).RMSMM, 0.01, "%s: smooth is smooth", name)
	}
	a, b := MeasureRoughness(roughened(loft, 0.2, 5)), MeasureRoughness(roughened(loft, 0.2, 5).Transformed(PoseAbout(vec(1, 2, 3), vec(1, 1, 0), vec(9, 9, 9))))
	assert.InDelta(t, a.RMSMM, b.RMSMM, 1e-9, "in any pose")
	assert.Equal(t, Roughness{}, MeasureRoughness(&Mesh{}))
	assert.Equal(t, Roughness{}, MeasureRoughness(cube().Subset(func(i int) bool { return i == 0 })))
}
