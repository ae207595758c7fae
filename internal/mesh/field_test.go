package mesh

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func newField(t testing.TB, m *Mesh, o FieldOptions) (*Field, *Tree) {
	t.Helper()
	tree := NewTree(m)
	f, err := NewField(context.Background(), tree, o)
	require.NoError(t, err)
	return f, tree
}

func TestFieldAgreesWithTree(t *testing.T) {
	f, tree := newField(t, sphere(20, 48), FieldOptions{})
	known := 0
	for _, p := range randomPoints(20000, 35, 5) {
		s := f.At(p)
		h := tree.Nearest(p)
		if !s.Known {
			require.Equal(t, 10.0, math.Abs(s.D))
			require.Greater(t, math.Abs(h.Signed), 8.0, "unknown though well within the band")
			require.Equal(t, h.Signed > 0, s.D > 0)
			continue
		}
		known++
		// Lipschitz bound of trilinear interpolation, see the package comment.
		require.InDelta(t, h.Signed, s.D, math.Sqrt(0.75))
		require.LessOrEqual(t, math.Abs(h.Signed-s.D), 3*f.ErrorMM()+1e-6)
	}
	assert.Greater(t, known, 1000)
	assert.Greater(t, f.ErrorMM(), 0.0)
}

func TestFieldGradientIsThatOfTheValue(t *testing.T) {
	f, _ := newField(t, sphere(20, 48), FieldOptions{})
	const e = 1e-5
	for _, p := range randomPoints(500, 25, 6) {
		s := f.At(p)
		g := r3.Vec{
			X: f.At(r3.Add(p, vec(e, 0, 0))).D - f.At(r3.Sub(p, vec(e, 0, 0))).D,
			Y: f.At(r3.Add(p, vec(0, e, 0))).D - f.At(r3.Sub(p, vec(0, e, 0))).D,
			Z: f.At(r3.Add(p, vec(0, 0, e))).D - f.At(r3.Sub(p, vec(0, 0, e))).D,
		}
		require.InDelta(t, 0, r3.Norm(r3.Sub(r3.Scale(0.5/e, g), s.Grad)), 1e-4, "at %v", p)
	}
}

// Each node holds what the tree says: the short lists lose no triangle.
func TestFieldNodesAreExact(t *testing.T) {
	for name, m := range map[string]*Mesh{
		"smooth": sphere(20, 40), "rumpled": rumpled(24, 7), "open": sheet(9, 8), "cube": cube(), "tube": tube(12, 30, 20, 3),
	} {
		t.Run(name, func(t *testing.T) {
			f, tree := newField(t, m, FieldOptions{SpacingMM: 1.25, BandMM: 7})
			checked, closed := 0, m.Closed() == nil
			for b, k := range f.bricks {
				if k < 0 {
					continue
				}
				for x := range int32(brickSide) {
					for y := range int32(brickSide) {
						for z := range int32(brickSide) {
							h := tree.Nearest(f.node(int32(b), x, y, z))
							i := int(k)*brickNodes + nodeIndex(x, y, z)
							v := float64(f.value[i])
							switch {
							case math.IsInf(v, 0):
								require.True(t, h.Beyond || math.Abs(h.Signed) > 7)
								if closed {
									require.Equal(t, h.Signed > 0, v > 0)
								}
							default:
								require.False(t, h.Beyond)
								require.Equal(t, float32(h.Signed), f.value[i])
								require.Equal(t, h.Face, f.face[i])
								checked++
							}
						}
					}
				}
			}
			require.Greater(t, checked, 1000)
		})
	}
}
