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
// d0 + R. So a triangle can be left out when d - s|g-g0|₁ > d0 + R²/2d0, and when d > d0 + 2R. The same holds of a box.
type filler struct {
	f    *Field
	t    *Tree
	wide *wideFiller // nil: one node at a time

	face   int32           // near the brick
	lists  [3][8]shortList // of the brick, of its blocks of 4³, of those of one of them of 2³
	blocks [3]freeBlock    // of the same sizes, as far as they are free
}

// A shortList has the triangles that can be nearest to a node of a block.
type shortList struct {
	nearest int32 // to the middle; the lowest face of several
	mm      float64
	tris    []int32
	slopes  []slope // of each, where nodes are done one at a time
}

// A slope is a distance d in mm from the middle of a block, and its gradient there.
type slope struct{ d, gx, gy, gz float64 }

// slackMM makes sure that rounding leaves no triangle out that is as near as the nearest.
const slackMM = 1e-9

// least is a lower bound of the distance at o from the middle.
func (c *slope) least(o r3.Vec) float64 { return c.d + c.gx*o.X + c.gy*o.Y + c.gz*o.Z }

// slopeOf is that of the distance to a point at x, y, z from the middle.
func slopeOf(x, y, z float64) slope {
	d := math.Sqrt(x*x + y*y + z*z)
	if d == 0 {
		return slope{} // zero is a slope of the distance there too
	}
	return slope{d, x / d, y / d, z / d}
}

// A nearness judges what may be nearest to a node of a block of half side half by the triangle nearest to its middle.
type nearness struct {
	nearest slope
	half    float64
	far     float64 // most distance from the middle of one that can be nearest
	slope   float64 // the same, of one with the gradient of the nearest
}

func newNearness(nearest slope, half float64) nearness {
	r := math.Sqrt(3) * half
	return nearness{nearest, half, nearest.d + 2*r + slackMM, nearest.d + min(2*r, r*r/(2*nearest.d)) + slackMM}
}

// of judges what is at least d off the middle, with a gradient that its distance follows at least.
func (n *nearness) of(c *slope, d float64) bool {
	return d <= n.far && d-n.half*(math.Abs(c.gx-n.nearest.gx)+math.Abs(c.gy-n.nearest.gy)+math.Abs(c.gz-n.nearest.gz)) <= n.slope
}

// halfMM is how far n nodes in a row reach from their middle.
func (w *filler) halfMM(n int32) float64 { return float64(n-1) / 2 * w.f.spacing }

// fill computes the nodes of stored brick i but for its seam, given a face near it.
func (w *filler) fill(i, hint int32) {
	s := w.halfMM(brickCells)
	c := r3.Add(w.f.node(i, 0, 0, 0), r3.Vec{X: s, Y: s, Z: s})
	w.face = hint
	l := &w.lists[0][0]
	l.nearest = w.t.slot[w.t.NearestFrom(c, hint).Face]
	w.t.within(l, c, s)
	if w.wide != nil {
		w.wide.begin(l.tris)
	}
	w.halve(i, 0, 0, 0, brickCells, 0, l, c, w.free(0, brickCells, l, c, nil))
}

// free is the block of n³ nodes with middle c as one that the surface does not enter, or the larger one that it is part of;
// nil when the nearest triangle may be within.
func (w *filler) free(level int, n int32, l *shortList, c r3.Vec, larger *freeBlock) *freeBlock {
	if larger != nil || l.mm <= math.Sqrt(3)*w.halfMM(n)+slackMM {
		return larger
	}
	w.blocks[level] = freeBlock{middle: c}
	return &w.blocks[level]
}

// halve does the eight halves of the block of n³ nodes at x, y, z of brick i, whose list is l and whose middle is c; b is it or the
// larger one that is free.
func (w *filler) halve(i, x, y, z, n int32, level int, l *shortList, c r3.Vec, b *freeBlock) {
	n /= 2
	step := float64(n) * w.f.spacing / 2
	var o [8]r3.Vec
	for k := range o {
		o[k] = r3.Vec{X: step * float64(2*(k&1)-1), Y: step * float64(2*(k>>1&1)-1), Z: step * float64(2*(k>>2)-1)}
	}
	var halves *[8]shortList
	if n > 1 {
		halves = &w.lists[level+1]
	}
	nearest := w.split(l, halves, c, &o, w.halfMM(n))
	for k := range o {
		x, y, z, m := x+n*int32(k&1), y+n*int32(k>>1&1), z+n*int32(k>>2), r3.Add(c, o[k])
		face := w.t.tris[nearest[k]].face
		if n == 1 {
			w.f.set(i, x, y, z, w.t.hitFrom(m, face, b), w.face)
			continue
		}
		h := &halves[k]
		if h.mm-math.Sqrt(3)*w.halfMM(n) > w.f.band {
			w.outside(i, x, y, z, n, w.t.hit(m, face))
			continue
		}
		w.halve(i, x, y, z, n, level+1, h, m, w.free(level+1, n, h, m, b))
	}
}

// split is the nearest triangle to the middle of each half of a block with list l and middle c, o from there; of several the one
// of the lowest face. Where the halves, of half side s, have more than one node, it makes their lists.
func (w *filler) split(l *shortList, halves *[8]shortList, c r3.Vec, o *[8]r3.Vec, s float64) (nearest [8]int32) {
	if w.wide != nil {
		w.wide.split(l.tris, halves, c, o, s, &nearest)
	} else {
		for k := range o {
			nearest[k] = w.nearest(l, r3.Add(c, o[k]), o[k])
		}
	}
	if halves == nil {
		return nearest
	}
	for k := range o {
		h, m := &halves[k], r3.Add(c, o[k])
		h.nearest = nearest[k]
		own := slopeOf(w.t.tris[h.nearest].offset(m.X, m.Y, m.Z))
		h.mm = own.d
		if w.wide != nil {
			continue
		}
		n := newNearness(own, s)
		h.tris, h.slopes = append(h.tris[:0], h.nearest), append(h.slopes[:0], own)
		for j := range l.slopes {
			if from := &l.slopes[j]; l.tris[j] != h.nearest && n.of(from, from.least(o[k])) {
				if at := slopeOf(w.t.tris[l.tris[j]].offset(m.X, m.Y, m.Z)); n.of(&at, at.d) {
					h.tris, h.slopes = append(h.tris, l.tris[j]), append(h.slopes, at)
				}
			}
		}
	}
	return nearest
}

// nearest is the triangle of l nearest to p, which is o from the middle of its block; that of the lowest face of several.
func (w *filler) nearest(l *shortList, p, o r3.Vec) int32 {
	tris := w.t.tris
	at := l.nearest
	best := tris[at].dist2(p.X, p.Y, p.Z)
	most := math.Sqrt(best) + slackMM
	for k := range l.slopes {
		if l.slopes[k].least(o) > most || l.tris[k] == at {
			continue
		}
		i := l.tris[k]
		if d := tris[i].dist2(p.X, p.Y, p.Z); d < best {
			best, at = d, i
			most = math.Sqrt(d) + slackMM
		} else if d == best && tris[i].face < tris[at].face {
			at = i
		}
	}
	return at
}

// outside sets the nodes of a block that is farther from the mesh than the band everywhere, and so all on one side.
func (w *filler) outside(i, x, y, z, n int32, middle Hit) {
	for dz := range n {
		for dy := range n {
			for dx := range n {
				w.f.set(i, x+dx, y+dy, z+dz, middle, w.face)
			}
		}
	}
}

// within makes the list of a block of half side s with middle c, whose nearest triangle it has.
func (t *Tree) within(l *shortList, c r3.Vec, s float64) {
	own := slopeOf(t.tris[l.nearest].offset(c.X, c.Y, c.Z))
	l.mm = own.d
	near := newNearness(own, s)
	l.tris, l.slopes = append(l.tris[:0], l.nearest), append(l.slopes[:0], own)
	var stack [64]int32
	n := 1
	stack[0] = t.root
	for n > 0 {
		n--
		cur := stack[n]
		if cur < 0 {
			from := ^cur >> leafBits
			for i := from; i < from+(^cur&(1<<leafBits-1)); i++ {
				if at := slopeOf(t.tris[i].offset(c.X, c.Y, c.Z)); i != l.nearest && near.of(&at, at.d) {
					l.tris, l.slopes = append(l.tris, i), append(l.slopes, at)
				}
			}
			continue
		}
		nd := &t.nodes[cur]
		for k := range 2 {
			if box := slopeOf(boxOffset(&nd.c[k], &nd.h[k], c)); near.of(&box, box.d) {
				stack[n] = nd.child[k]
				n++
			}
		}
	}
}

// boxOffset is the way from the closest point of a box to p.
func boxOffset(c, h *[3]float64, p r3.Vec) (x, y, z float64) {
	x, y, z = p.X-c[0], p.Y-c[1], p.Z-c[2]
	return x - max(-h[0], min(x, h[0])), y - max(-h[1], min(y, h[1])), z - max(-h[2], min(z, h[2]))
}
