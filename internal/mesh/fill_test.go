package mesh

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// fillShapes are wideShapes at a size and place for fields, and shapes with borders and large faces.
func fillShapes() map[string]*Mesh {
	shapes := wideShapes()
	delete(shapes, "tiny")
	delete(shapes, "huge")
	shapes["tube"] = tube(12, 30, 20, 3)
	shapes["large faces"] = frustum(200, 90, 60, 60, 80)
	return shapes
}

// Eight nodes at once, where build and processor can, give bit for bit the field of one node at a time.
func TestEightNodesAtOnceGiveTheSameField(t *testing.T) {
	for name, m := range fillShapes() {
		for _, tree := range []*Tree{NewTree(m), NewScanTree(m)} {
			o := FieldOptions{SpacingMM: 1.3, BandMM: 6}
			wide, err := NewField(context.Background(), tree, o)
			require.NoError(t, err, name)
			plain, err := newFieldBy(context.Background(), tree, o, false)
			require.NoError(t, err, name)
			require.Equal(t, plain.bricks, wide.bricks, name)
			require.Equal(t, plain.face, wide.face, name)
			require.Len(t, wide.value, len(plain.value), name)
			differ := 0
			for k, v := range plain.value {
				if math.Float32bits(v) != math.Float32bits(wide.value[k]) {
					differ++
				}
			}
			require.Zero(t, differ, name)
			require.Equal(t, plain.errorMM, wide.errorMM, name)
		}
	}
}

// No node is nearer to any triangle than it says, nor farther from all: held against every triangle, one by one.
func TestFieldNodesAgainstEveryTriangle(t *testing.T) {
	for name, m := range fillShapes() {
		f, tree := newField(t, m, FieldOptions{SpacingMM: 1.3, BandMM: 6})
		checked := 0
		for b, k := range f.bricks {
			if k < 0 {
				continue
			}
			for j := int32(b) % 37; j < brickCells*brickCells*brickCells; j += 37 {
				x, y, z := j%brickCells, j/brickCells%brickCells, j/(brickCells*brickCells)
				v := math.Abs(float64(f.value[int(k)*brickNodes+nodeIndex(x, y, z)]))
				if math.IsInf(v, 0) {
					continue
				}
				p, least := f.node(int32(b), x, y, z), math.Inf(1)
				for i := range tree.tris {
					least = min(least, tree.tris[i].dist2(p.X, p.Y, p.Z))
				}
				require.InDelta(t, math.Sqrt(least), v, 1e-9+1e-7*v, "%s: %v", name, p)
				checked++
			}
		}
		assert.Greater(t, checked, 10, name)
	}
}
