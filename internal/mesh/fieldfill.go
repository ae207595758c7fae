package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A filler computes the nodes of bricks. It halves a brick into blocks of 4³, then 2³ nodes, and hands down a list of
// the triangles that can be nearest to a node of the block, so that the tree is walked once a brick and a node
// compares a handful of triangles.
//
// Which those are follows from two bounds. Let c be the middle of the block, o the way from there to a node, at most
// R long and at most s along each axis; let d be the distance of a triangle from c, q its closest point and
// g = (c-q)/d. A triangle is convex, so its distance is a convex function and at the node it is at least d + g·o. The
// distance to the nearest triangle, marked 0, is at the node at most |c+o-q0| ≤ d0 + g0·o + R²/2d0, and also at most
// d0 + R. So a triangle can be left out when d - s|g-g0|₁ > d0 + R²/2d0, and when d > d0 + 2R.
type filler struct {
	f     *Field
	t     *Tree
	lists [3][]candidate // of the brick, of a block of 4³, of one of 2³

	blocks [3]freeBlock // the same, as far as they are free
}

// A candidate is a triangle with its distance d in mm from the middle of a block, and the gradient of that there.
type candidate struct {
	d, gx, gy, gz float64
	tri           int32
}

// slackMM makes sure that rounding leaves no triangle out that is as near as the nearest.
const slackMM = 1e-9

// least is a lower bound of the distance at o from the middle.
func (c *candidate) least(o r3.Vec) float64 { return c.d + c.gx*o.X + c.gy*o.Y + c.gz*o.Z }

// candidate measures triangle i from p.
func (t *Tree) candidate(i int32, p r3.Vec) candidate {
	x, y, z := t.tris[i].offset(p.X, p.Y, p.Z)
	d := math.Sqrt(x*x + y*y + z*z)
	if d == 0 {
		return candidate{tri: i} // zero is a slope of the distance there too
	}
	return candidate{d, x / d, y / d, z / d, i}
}

// halfMM is how far n nodes in a row reach from their middle.
func (w *filler) halfMM(n int32) float64 { return float64(n-1) / 2 * w.f.spacing }

// fill computes the nodes of stored brick i but for its seam, given a face near it.
func (w *filler) fill(i, hint int32) {
	s := w.halfMM(brickCells)
	c := r3.Add(w.f.node(i, 0, 0, 0), r3.Vec{X: s, Y: s, Z: s})
	h := w.t.NearestFrom(c, hint)
	l := shortList{half: s, list: w.lists[0][:0]}
	l.add(w.t.candidate(w.t.slot[h.Face], c))
	w.t.within(&l, c)
	w.lists[0] = l.done()
	w.halve(i, 0, 0, 0, brickCells, 0, c, w.free(0, brickCells, c, nil))
}

// free is the block of n³ nodes with middle c as one that the surface does not enter, or the larger one that it is part of;
// nil when the nearest triangle may be within.
func (w *filler) free(level int, n int32, c r3.Vec, larger *freeBlock) *freeBlock {
	if larger != nil || w.lists[level][0].d <= math.Sqrt(3)*w.halfMM(n)+slackMM {
		return larger
	}
	w.blocks[level] = freeBlock{middle: c}
	return &w.blocks[level]
}

// halve does the eight halves of the block of n³ nodes at x, y, z of brick i, whose middle is c; b is it or the larger one
// that is free.
func (w *filler) halve(i, x, y, z, n int32, level int, c r3.Vec, b *freeBlock) {
	n /= 2
	step := float64(n) * w.f.spacing / 2
	s := w.halfMM(n)
	for k := range int32(8) {
		bx, by, bz := k&1, k>>1&1, k>>2
		o := r3.Vec{X: step * float64(2*bx-1), Y: step * float64(2*by-1), Z: step * float64(2*bz-1)}
		x, y, z, m := x+n*bx, y+n*by, z+n*bz, r3.Add(c, o)
		if n == 1 {
			w.f.set(i, x, y, z, w.t.hitFrom(m, w.nearest(m, o, w.lists[level]), b))
			continue
		}
		w.narrow(level, m, o, s)
		if nearest := &w.lists[level+1][0]; nearest.d-math.Sqrt(3)*s > w.f.band {
			w.outside(i, x, y, z, n, w.t.hit(m, w.t.tris[nearest.tri].face))
			continue
		}
		w.halve(i, x, y, z, n, level+1, m, w.free(level+1, n, m, b))
	}
}

// narrow makes the list of the next level, for a block with middle m and half side s, from the list of level, whose
// block has its middle o before m.
func (w *filler) narrow(level int, m, o r3.Vec, s float64) {
	from := w.lists[level]
	l := shortList{half: s, list: w.lists[level+1][:0]}
	l.add(w.t.candidate(from[0].tri, m))
	for k := range from[1:] {
		c := &from[1+k]
		if l.mayBeNearest(c, c.least(o)) {
			l.add(w.t.candidate(c.tri, m))
		}
	}
	w.lists[level+1] = l.done()
}

// A shortList keeps the triangles that can be nearest to a node of a block of half side half; the first is the one
// nearest to its middle.
type shortList struct {
	half  float64
	list  []candidate
	far   float64 // most distance from the middle of one that can be nearest
	slope float64 // the same, of one with the gradient of the nearest
}

// add takes a triangle that may be nearest.
func (l *shortList) add(c candidate) {
	l.list = append(l.list, c)
	if n := len(l.list) - 1; n == 0 || c.d < l.list[0].d {
		l.list[0], l.list[n] = l.list[n], l.list[0]
		r := math.Sqrt(3) * l.half
		l.far = c.d + 2*r + slackMM
		l.slope = c.d + min(2*r, r*r/(2*c.d)) + slackMM
	}
}

// mayBeNearest judges a triangle that is at least d off the middle, with a gradient that its distance follows at
// least.
func (l *shortList) mayBeNearest(c *candidate, d float64) bool {
	n := &l.list[0]
	return d <= l.far &&
		d-l.half*(math.Abs(c.gx-n.gx)+math.Abs(c.gy-n.gy)+math.Abs(c.gz-n.gz)) <= l.slope
}

// done judges all again by the nearest.
func (l *shortList) done() []candidate {
	kept := l.list[:1]
	for k := range l.list[1:] {
		if c := &l.list[1+k]; l.mayBeNearest(c, c.d) {
			kept = append(kept, *c)
		}
	}
	return kept
}

// nearest is the face nearest to p, which is o from the middle of the block of the list; the lowest of several.
func (w *filler) nearest(p, o r3.Vec, list []candidate) int32 {
	tris := w.t.tris
	at := list[0].tri
	best := tris[at].dist2(p.X, p.Y, p.Z)
	most := math.Sqrt(best) + slackMM
	for k := range list[1:] {
		c := &list[1+k]
		if c.least(o) > most {
			continue
		}
		d := tris[c.tri].dist2(p.X, p.Y, p.Z)
		if d < best {
			best, at = d, c.tri
			most = math.Sqrt(d) + slackMM
		} else if d == best && tris[c.tri].face < tris[at].face {
			at = c.tri
		}
	}
	return tris[at].face
}

// outside sets the nodes of a block that is farther from the mesh than the band everywhere, and so all on one side.
func (w *filler) outside(i, x, y, z, n int32, middle Hit) {
	for dz := range n {
		for dy := range n {
			for dx := range n {
				w.f.set(i, x+dx, y+dy, z+dz, middle)
			}
		}
	}
}

// within adds to a list, round c, the triangles that may be nearest.
func (t *Tree) within(l *shortList, c r3.Vec) {
	var stack [64]int32
	n := 1
	stack[0] = t.root
	first := l.list[0].tri
	for n > 0 {
		n--
		cur := stack[n]
		if cur < 0 {
			from := ^cur >> leafBits
			for i := from; i < from+(^cur&(1<<leafBits-1)); i++ {
				if k := t.candidate(i, c); i != first && l.mayBeNearest(&k, k.d) {
					l.add(k)
				}
			}
			continue
		}
		nd := &t.nodes[cur]
		for k := range 2 {
			if boxDist2(&nd.c[k], &nd.h[k], c.X, c.Y, c.Z) <= l.far*l.far {
				stack[n] = nd.child[k]
				n++
			}
		}
	}
}
