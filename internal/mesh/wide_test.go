package mesh

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// wideShapes are meshes on which a search could go wrong: level faces with equal distances, noise, needles, tiny and huge ones, far from
// the origin, with faces without area, and of so few faces that a leaf is the root.
func wideShapes() map[string]*Mesh {
	needles := rumpled(12, 5)
	for i := range needles.V { // squeezed to a thousandth along X: all faces are thin
		needles.V[i].X *= 1e-3
	}
	flat := rumpled(10, 6)
	flat.F = append(flat.F, [3]int32{0, 0, 1}, [3]int32{2, 3, 2})
	moved := rumpled(16, 7)
	for i := range moved.V {
		moved.V[i] = r3.Add(moved.V[i], vec(1e6, -2e6, 3e5))
	}
	return map[string]*Mesh{
		"cube": cube(), "sphere": sphere(30, 24), "cavity": cavity(40, 60), "noise": rumpled(24, 3), "sheet": sheet(20, 4), "needles": needles, "without area": flat,
		"far away": moved, "tiny": rumpled(10, 8).Scaled(1e-5), "huge": rumpled(10, 9).Scaled(1e5),
	}
}

// Eight wide, the answers are bit for bit those of the tree of two, with any hint, near and far, on corners and in the middle. (Of faces
// that share the nearest point either may find another: the answer is that of the point.)
func TestEightWideGivesTheSameAnswers(t *testing.T) {
	for name, m := range wideShapes() {
		tree := NewTree(m)
		box := m.Bounds()
		middle, size := r3.Scale(0.5, r3.Add(box.Min, box.Max)), r3.Norm(r3.Sub(box.Max, box.Min))
		draw := rand.New(rand.NewPCG(11, 12))
		var points []r3.Vec
		for i := range 3000 {
			f := m.F[draw.IntN(len(m.F))]
			a, b, c := m.V[f[0]], m.V[f[1]], m.V[f[2]]
			u, v := draw.Float64(), draw.Float64()
			p := r3.Add(a, r3.Add(r3.Scale(u, r3.Sub(b, a)), r3.Scale(v*(1-u), r3.Sub(c, a))))
			off := []float64{0, 1e-9, 1e-4, 0.01, 0.3, 2, 30}[i%7] * size
			points = append(points, r3.Add(p, vec(off*draw.NormFloat64(), off*draw.NormFloat64(), off*draw.NormFloat64())))
		}
		points = append(points, m.V...)
		points = append(points, middle, r3.Add(middle, vec(0, 0, 1e12*size)))
		for i, p := range points {
			for _, hint := range []int32{-1, int32(i % len(m.F))} {
				best, at := math.Inf(1), int32(-1)
				if hint >= 0 && tree.slot[hint] >= 0 {
					at = tree.slot[hint]
					best = tree.tris[at].dist2(p.X, p.Y, p.Z)
				}
				want, got := tree.searchTwo(p.X, p.Y, p.Z, best, at), tree.search(p.X, p.Y, p.Z, best, at)
				d := tree.tris[want].dist2(p.X, p.Y, p.Z)
				require.InDelta(t, d, tree.tris[got].dist2(p.X, p.Y, p.Z), 1e-14*d, "%s: %v, hint %d", name, p, hint)
				require.Equal(t, tree.hit(p, tree.tris[want].face), tree.hit(p, tree.tris[got].face), "%s: %v, hint %d", name, p, hint)
			}
		}
		if wideProcessor {
			assert.NotNil(t, tree.wide, name)
		}
	}
}

// The wide tree has each triangle once, in boxes that have it whole, and its lanes are well filled; on any processor.
func TestTheWideTreeHasEachTriangle(t *testing.T) {
	for name, m := range wideShapes() {
		tree := NewTree(m)
		box := m.Bounds()
		w := tree.widen(&bounds{[3]float64{box.Min.X, box.Min.Y, box.Min.Z}, [3]float64{box.Max.X, box.Max.Y, box.Max.Z}})
		require.NotNil(t, w, name)
		seen := map[int32]bool{}
		var look func(child int32, lo, hi [3]float64)
		look = func(child int32, lo, hi [3]float64) {
			if child < 0 {
				l := &w.leaves[^child]
				for i := l.first; i < l.first+l.count; i++ {
					seen[i] = true
					for _, v := range m.F[tree.tris[i].face] {
						p := r3.Sub(m.V[v], w.origin)
						for axis, x := range [3]float64{p.X, p.Y, p.Z} {
							require.True(t, x >= lo[axis] && x <= hi[axis], name)
						}
					}
				}
				return
			}
			nd := &w.nodes[child]
			for k := range lanes {
				if nd.lo[0][k] > nd.hi[0][k] {
					continue
				}
				var l, h [3]float64
				for axis := range 3 {
					l[axis], h[axis] = math.Max(lo[axis], float64(nd.lo[axis][k])), math.Min(hi[axis], float64(nd.hi[axis][k]))
				}
				look(nd.child[k], l, h)
			}
		}
		inf := math.Inf(1)
		look(w.root, [3]float64{-inf, -inf, -inf}, [3]float64{inf, inf, inf})
		assert.Len(t, seen, len(tree.tris), name)
		assert.LessOrEqual(t, len(w.leaves), len(tree.tris)/3+1, "%s: leaves are filled", name)
	}
	empty := NewTree(&Mesh{V: []r3.Vec{{}, {}, {}}, F: [][3]int32{{0, 1, 2}}})
	assert.Nil(t, empty.widen(&bounds{}))
}
