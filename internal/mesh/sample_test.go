package mesh

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestSamplesAddUpToTheFaces(t *testing.T) {
	for name, m := range map[string]*Mesh{"cube": cube(), "closed": rumpled(18, 3), "open": sheet(8, 4)} {
		t.Run(name, func(t *testing.T) {
			var want, got [8]r3.Vec
			for i := range m.F {
				want[m.Tag[i]] = r3.Add(want[m.Tag[i]], m.areaVector(i))
			}
			seen := map[[2]int32]bool{}
			last := Sample{Vertex: -1}
			for _, s := range Samples(m) {
				got[s.Tag] = r3.Add(got[s.Tag], s.A)
				key := [2]int32{s.Vertex, int32(s.Tag)}
				require.False(t, seen[key], "vertex and tag twice")
				seen[key] = true
				require.Equal(t, m.V[s.Vertex], s.P)
				require.True(t, s.Vertex > last.Vertex || s.Tag > last.Tag, "in order")
				last = s
			}
			for tag := range want {
				near(t, want[tag], got[tag], 1e-9)
			}
		})
	}
}

// Pressure that grows linearly over a flat patch: force and moment by samples are those of the integral.
func TestSamplesIntegrateLinearPressure(t *testing.T) {
	m := frustum(30, 40, 30, 40, 6).Refined(func(_, _ r3.Vec) float64 { return 9 })
	var force, moment float64
	for _, s := range Samples(m) {
		if s.Tag != 0 {
			continue
		}
		p := 2 + 0.05*s.P.X
		force += p * -s.A.Z
		moment += -s.A.Z * 30
	}
	assert.InDelta(t, 2*60*80, force, 1e-9) // ∫(2 + x/20) over the base, 60 × 80 mm (calc)
	assert.InDelta(t, 30*60*80, moment, 1e-9)
}

func TestCrease(t *testing.T) {
	for _, s := range Samples(cube()) {
		require.True(t, s.Crease)
	}
	for _, s := range Samples(sphere(10, 40)) {
		require.False(t, s.Crease)
	}
	creases := map[float64]bool{}
	for _, deg := range []float64{5, 29.9, 30.1, 90} {
		s, c := math.Sincos(deg * math.Pi / 180)
		roof := &Mesh{
			V:   []r3.Vec{vec(0, 0, 0), vec(0, 1, 0), vec(-1, 0, 0), vec(c, 0, -s)},
			F:   [][3]int32{{0, 1, 2}, {1, 0, 3}},
			Tag: []uint8{1, 2},
		}
		out := Samples(roof)
		require.Len(t, out, 6)
		creases[deg] = out[0].Crease
		assert.False(t, out[4].Crease || out[5].Crease, "a vertex of one face has no crease")
	}
	assert.Equal(t, map[float64]bool{5: false, 29.9: false, 30.1: true, 90: true}, creases)
	untagged := cube()
	untagged.Tag = nil
	assert.Len(t, Samples(untagged), 8)
}
