package footwear

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// randomPose is an even random rotation (Shoemake 1992: four normal numbers) and a shift of up to half a metre.
func randomPose(rng *rand.Rand) mesh.Pose {
	q := quat.Number{Real: rng.NormFloat64(), Imag: rng.NormFloat64(), Jmag: rng.NormFloat64(), Kmag: rng.NormFloat64()}
	shift := func() float64 { return 1000 * (rng.Float64() - 0.5) }
	return mesh.Pose{Q: quat.Scale(1/quat.Abs(q), q), T: r3.Vec{X: shift(), Y: shift(), Z: shift()}}
}

// untagged is a mesh as a file would give it.
func untagged(m *mesh.Mesh) *mesh.Mesh {
	c := m.Clone()
	c.Tag = nil
	return c
}

func withNoise(m *mesh.Mesh, rng *rand.Rand, mm float64) *mesh.Mesh {
	m = m.Refined(func(_, _ r3.Vec) float64 { return 2.2 })
	n := m.VertexNormals()
	for i := range m.V {
		m.V[i] = r3.Add(m.V[i], r3.Scale(mm*rng.NormFloat64(), n[i]))
	}
	return m
}

// frameOff is how far a found frame is from that of the room: degrees and mm.
func frameOff(a Alignment, p mesh.Pose) (deg, mm float64) {
	d := a.Pose.Compose(p)
	return r3.Norm(d.RotationVectorDeg()), r3.Norm(d.T)
}

// Demo shoes, open at the top or closed, are found again in random poses, with nothing known of them.
func TestAlignFindsTheFrame(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for i, s := range Demo().All() {
		if i%2 == 1 {
			continue
		}
		t.Run(s.ID, func(t *testing.T) {
			r, err := NewRoom(s, false)
			require.NoError(t, err)
			m := untagged(r.Walls)
			if i%4 == 2 {
				m = untagged(r.Closed)
			}
			p := randomPose(rng)
			a, err := Align(context.Background(), m.Transformed(p), AlignOptions{})
			require.NoError(t, err)
			deg, mm := frameOff(a, p)
			assert.Less(t, deg, 0.02)
			assert.Less(t, mm, 0.05)
			assert.InDelta(t, s.V(LastLength), a.LengthMM, 0.05)
			assert.Greater(t, a.Odds.HeelToe, 0.95)
			if s.Outline == Swung {
				assert.Equal(t, RightSide, a.Side, a.SideWhy)
			} else {
				assert.Equal(t, SideUnknown, a.Side, a.SideWhy)
			}
		})
	}
}

// With 0.3 mm of noise too, and as a left shoe.
func TestAlignStandsNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, id := range []string{"running-shoe", "court-45"} {
		t.Run(id, func(t *testing.T) {
			r := demoRoom(t, id, false)
			m := withNoise(untagged(r.Walls), rng, 0.3).MirroredY()
			p := randomPose(rng)
			a, err := Align(context.Background(), m.Transformed(p), AlignOptions{})
			require.NoError(t, err)
			deg, mm := frameOff(a, p)
			assert.Less(t, deg, 0.4)
			assert.Less(t, mm, 0.4)
			assert.InDelta(t, r.Sheet.V(LastLength), a.LengthMM, 0.3)
			assert.InDelta(t, 0.3, a.NoiseMM, 0.03)
			if r.Sheet.Outline == Swung {
				assert.Equal(t, LeftSide, a.Side, a.SideWhy)
			}
		})
	}
}
