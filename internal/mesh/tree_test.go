package mesh

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestNearestCube(t *testing.T) {
	tree := NewTree(cube())
	for _, c := range []struct {
		name   string
		p      r3.Vec
		signed float64
		point  r3.Vec
	}{
		// Distances of the point to the cube ±1, elementary geometry (calc); outside is negative here.
		{"face", vec(1.5, 0, 0), -0.5, vec(1, 0, 0)},
		{"edge", vec(2, 2, 0), -1.414214, vec(1, 1, 0)},
		{"corner", vec(2, 2, 2), -1.732051, vec(1, 1, 1)},
		{"inside", vec(0.75, 0.1, 0.2), 0.25, vec(1, 0.1, 0.2)},
		{"centre", vec(0, 0, 0), 1, vec(0, 0, -1)},
		{"on it", vec(1, 0.5, 0.5), 0, vec(1, 0.5, 0.5)},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := tree.Nearest(c.p)
			assert.InDelta(t, c.signed, h.Signed, 5e-7)
			assert.InDelta(t, 0, r3.Norm(r3.Sub(c.point, h.Point)), 1e-12)
			assert.InDelta(t, 1, r3.Norm(h.Normal), 1e-12)
			assert.False(t, h.Beyond)
		})
	}
}

// bruteDistance is the distance to the nearest face, each by projection and by its three sides: another way than the
// tree's.
func bruteDistance(m *Mesh, p r3.Vec) float64 {
	best := math.Inf(1)
	for i, f := range m.F {
		n := m.FaceNormal(i)
		inside := true
		for k := range 3 {
			a, b := m.V[f[k]], m.V[f[(k+1)%3]]
			ab := r3.Sub(b, a)
			s := math.Max(0, math.Min(1, r3.Dot(r3.Sub(p, a), ab)/r3.Norm2(ab)))
			best = math.Min(best, r3.Norm(r3.Sub(p, r3.Add(a, r3.Scale(s, ab)))))
			inside = inside && r3.Dot(r3.Cross(n, ab), r3.Sub(p, a)) >= 0
		}
		if inside {
			best = math.Min(best, math.Abs(r3.Dot(n, r3.Sub(p, m.V[f[0]]))))
		}
	}
	return best
}

func TestNearestAgainstBruteForce(t *testing.T) {
	for name, m := range map[string]*Mesh{
		"closed": rumpled(24, 1), "open": sheet(12, 2), "soup": exploded(rumpled(16, 3)), "one face": {
			V: []r3.Vec{vec(0, 0, 0), vec(10, 0, 0), vec(0, 10, 3)}, F: [][3]int32{{0, 1, 2}},
		},
	} {
		t.Run(name, func(t *testing.T) {
			tree := NewTree(m)
			closed := m.Welded(0).Closed() == nil
			hint := int32(-1)
			for i, p := range randomPoints(2500, 40, 4) {
				h := tree.Nearest(p)
				require.InDelta(t, bruteDistance(m, p), math.Abs(h.Signed), 1e-10, "point %d %v", i, p)
				require.InDelta(t, math.Abs(h.Signed), r3.Norm(r3.Sub(p, h.Point)), 1e-10)
				require.InDelta(t, 1, r3.Norm(h.Normal), 1e-9)
				back := r3.Add(h.Point, r3.Scale(h.Signed, h.Normal))
				require.InDelta(t, 0, r3.Norm(r3.Sub(back, p)), 1e-9)
				if closed {
					require.Equal(t, tree.Winding(p) > 0.5, h.Signed > 0, "sign at %v", p)
				}
				require.Equal(t, h, tree.NearestFrom(p, hint), "hint %d", hint)
				require.Equal(t, h, tree.NearestFrom(p, int32((i*7919)%len(m.F))))
				hint = h.Face
			}
		})
	}
}
