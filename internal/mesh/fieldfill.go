package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A filler computes the nodes of bricks. It halves a brick into blocks of 4³, then 2³ nodes, and hands down which
// triangles can be nearest to any node of a block: with d the distance of a triangle from the middle of the block, R
// the distance from there to its corners and best the least d, those with d ≤ best + 2R, since distance changes by
// no more than the way walked. So the tree is walked once a brick, and a node compares a handful of triangles.
type filler struct {
	f     *Field
	t     *Tree
	lists [3][]candidate // of the brick, of a block of 4³, of one of 2³
}

// A candidate is a triangle with its distance in mm from the middle of the block whose list it is on.
type candidate struct {
	d   float64
	tri int32
}

// slackMM makes sure that rounding drops no triangle from a list that is as near as the nearest.
const slackMM = 1e-9

// reach is the distance in mm from the middle of n³ nodes to a corner.
func (w *filler) reach(n int32) float64 {
	return math.Sqrt(3) / 2 * float64(n-1) * w.f.spacing
}

// fill computes the nodes of stored brick i but for its seam, given a face near it.
func (w *filler) fill(i, hint int32) {
	const half = float64(brickCells-1) / 2
	c := r3.Add(w.f.node(i, 0, 0, 0), r3.Scale(w.f.spacing, r3.Vec{X: half, Y: half, Z: half}))
	best := math.Abs(w.t.NearestFrom(c, hint).Signed)
	w.lists[0] = w.t.within(w.lists[0][:0], c, best+2*w.reach(brickCells)+slackMM)
	w.halve(i, 0, 0, 0, brickCells, 0, c)
}

// halve does the eight halves of the block of n³ nodes at x, y, z of brick i, whose middle is c.
func (w *filler) halve(i, x, y, z, n int32, level int, c r3.Vec) {
	n /= 2
	step := float64(n) * w.f.spacing / 2
	way := math.Sqrt(3) * step
	for k := range int32(8) {
		bx, by, bz := k&1, k>>1&1, k>>2
		m := r3.Add(c, r3.Vec{X: step * float64(2*bx-1), Y: step * float64(2*by-1), Z: step * float64(2*bz-1)})
		x, y, z := x+n*bx, y+n*by, z+n*bz
		if n == 1 {
			w.nearest(i, x, y, z, m, w.lists[level], way)
			continue
		}
		best := w.narrow(level, m, way, 2*w.reach(n)+slackMM)
		if best-w.reach(n) > w.f.band {
			w.outside(i, x, y, z, n, w.lists[level+1][0].tri, m)
			continue
		}
		w.halve(i, x, y, z, n, level+1, m)
	}
}

// narrow makes the list of the next level for a block with middle m, way mm off the middle of the block above, from
// the list of that: the triangles no more than reach farther than the nearest, whose distance it returns.
func (w *filler) narrow(level int, m r3.Vec, way, reach float64) float64 {
	list := w.lists[level+1][:0]
	best := math.Inf(1)
	for _, c := range w.lists[level] {
		if c.d-way > best+reach {
			continue
		}
		d := math.Sqrt(w.t.tris[c.tri].dist2(m.X, m.Y, m.Z))
		if d <= best+reach {
			list = append(list, candidate{d, c.tri})
			best = min(best, d)
		}
	}
	kept := list[:0]
	first := 0
	for _, c := range list {
		if c.d <= best+reach {
			if c.d == best {
				first = len(kept)
			}
			kept = append(kept, c)
		}
	}
	kept[0], kept[first] = kept[first], kept[0] // the nearest first makes the next comparisons short
	w.lists[level+1] = kept
	return best
}

// nearest sets one node at p, way mm off the middle of the block of the list.
func (w *filler) nearest(i, x, y, z int32, p r3.Vec, list []candidate, way float64) {
	best, at, limit := math.Inf(1), int32(-1), math.Inf(1)
	tris := w.t.tris
	for _, c := range list {
		if c.d > limit {
			continue
		}
		d := tris[c.tri].dist2(p.X, p.Y, p.Z)
		if d < best {
			best, at = d, c.tri
			limit = math.Sqrt(d) + way + slackMM
		} else if d == best && tris[c.tri].face < tris[at].face {
			at = c.tri
		}
	}
	w.f.set(i, x, y, z, w.t.hit(p, tris[at].face))
}

// outside sets the nodes of a block that is farther from the mesh than the band everywhere, so all on one side.
func (w *filler) outside(i, x, y, z, n int32, nearest int32, m r3.Vec) {
	h := w.t.hit(m, w.t.tris[nearest].face)
	for dz := range n {
		for dy := range n {
			for dx := range n {
				w.f.set(i, x+dx, y+dy, z+dz, h)
			}
		}
	}
}

// within lists the triangles up to dist from c.
func (t *Tree) within(list []candidate, c r3.Vec, dist float64) []candidate {
	var stack [64]int32
	n := 1
	stack[0] = t.root
	for n > 0 {
		n--
		cur := stack[n]
		if cur < 0 {
			first := ^cur >> leafBits
			for i := first; i < first+(^cur&(1<<leafBits-1)); i++ {
				if d := math.Sqrt(t.tris[i].dist2(c.X, c.Y, c.Z)); d <= dist {
					list = append(list, candidate{d, i})
				}
			}
			continue
		}
		nd := &t.nodes[cur]
		for k := range 2 {
			if boxDist2(&nd.c[k], &nd.h[k], c.X, c.Y, c.Z) <= dist*dist {
				stack[n] = nd.child[k]
				n++
			}
		}
	}
	return list
}
