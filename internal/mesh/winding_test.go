package mesh

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWinding(t *testing.T) {
	box := NewTree(cube())
	for _, p := range randomPoints(500, 2, 20) {
		want := 0.0
		if math.Abs(p.X) < 1 && math.Abs(p.Y) < 1 && math.Abs(p.Z) < 1 {
			want = 1
		}
		require.InDelta(t, want, box.Winding(p), 1e-9, "%v", p)
	}
	nested := sphere(10, 24)
	nested.Append(sphere(5, 24))
	assert.InDelta(t, 2, NewTree(nested).Winding(vec(0, 0, 0)), 1e-9)
	assert.InDelta(t, 1, NewTree(nested).Winding(vec(7, 0, 0)), 1e-9)
	turnedOut := cube().MirroredY()
	for i, f := range turnedOut.F {
		turnedOut.F[i] = [3]int32{f[0], f[2], f[1]}
	}
	assert.InDelta(t, -1, NewTree(turnedOut).Winding(vec(0, 0, 0)), 1e-9)
}

// The solid angle of a disc seen from its axis, 2π(1 - z/√(z²+r²)) (elementary); of a cube's side seen from its
// centre, a sixth of all.
func TestWindingOfOpenMesh(t *testing.T) {
	lid := cube().Subset(func(i int) bool { return cube().Tag[i] == 1 })
	assert.InDelta(t, 1.0/6, NewTree(lid).Winding(vec(0, 0, 0)), 1e-12)
	disc := turned(720, 0, 1, func(j int) (float64, float64) { return 10 * float64(j), 0 })
	require.Negative(t, disc.FaceNormal(0).Z) // away from the point: inside
	assert.InDelta(t, 0.5*(1-5/math.Hypot(5, 10)), NewTree(disc).Winding(vec(0, 0, 5)), 1e-4)
}
