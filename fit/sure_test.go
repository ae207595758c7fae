package fit

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// What a field is sure of holds: a sample that is spared an exact distance is as far from every wall that could push, in rooms with their
// open toplines, near and far from them. Checked by exact distances.
func TestWhatAFieldIsSureOfHolds(t *testing.T) {
	for _, id := range []string{"lace-dress", "slip-on-dress", "hiking-boot"} {
		sheet, err := footwear.Demo().Find(id)
		require.NoError(t, err)
		room, err := footwear.NewRoom(sheet, true)
		require.NoError(t, err)
		tree := mesh.NewTree(room.Walls)
		field, err := mesh.NewField(t.Context(), tree, mesh.FieldOptions{SpacingMM: 1, BandMM: fieldBandMM})
		require.NoError(t, err)
		box := room.Walls.Bounds()
		draw := rand.New(rand.NewPCG(3, 4))
		body := Body{}
		for range 40_000 {
			p := r3.Vec{X: draw.Float64(), Y: draw.Float64(), Z: draw.Float64()}
			size := r3.Sub(box.Max, box.Min)
			p = r3.Add(box.Min, r3.Vec{X: size.X * (1.2*p.X - 0.1), Y: size.Y * (1.2*p.Y - 0.1), Z: size.Z * (1.2*p.Z - 0.1)})
			body.Samples = append(body.Samples, mesh.Sample{P: p})
		}
		s := newSeating(body, Walls{Tree: tree, Field: field, Uniform: 1}, SeatOptions{})
		for i, m := range body.Samples {
			s.look(i, m.P)
		}
		s.keepSure()
		s.exact = true
		sure, passed := append([]float64(nil), s.known...), 0
		for i, m := range body.Samples {
			if sure[i] <= 0 {
				continue
			}
			passed++
			touching, beside := s.look(i, m.P)
			assert.False(t, beside && touching.d < sure[i], "%s: %v is %.3f mm from a wall, the field was sure of %.3f", id, m.P, touching.d, sure[i])
		}
		assert.Greater(t, passed, 500, id)
	}
}
