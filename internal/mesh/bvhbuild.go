package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

type bounds struct{ lo, hi [3]float64 }

func emptyBounds() bounds {
	i := math.Inf(1)
	return bounds{[3]float64{i, i, i}, [3]float64{-i, -i, -i}}
}

func (b *bounds) add(o *bounds) {
	for k := range 3 {
		if o.lo[k] < b.lo[k] {
			b.lo[k] = o.lo[k]
		}
		if o.hi[k] > b.hi[k] {
			b.hi[k] = o.hi[k]
		}
	}
}

func (b *bounds) halfArea() float64 {
	x, y, z := b.hi[0]-b.lo[0], b.hi[1]-b.lo[1], b.hi[2]-b.lo[2]
	return x*y + y*z + z*x
}

type builder struct {
	t     *Tree
	box   []bounds // a face
	order []int32  // faces, partitioned in place
}

// build makes the nodes by the surface-area heuristic on 16 bins of the box centres (Wald 2007), and by the median
// below a depth that no reasonable mesh reaches, so that the stack of a search has a bound.
func (t *Tree) build() {
	b := builder{t: t, box: make([]bounds, len(t.m.F))}
	t.slot = make([]int32, len(t.m.F))
	for i, f := range t.m.F {
		t.slot[i] = -1
		if t.topo.normal[i] == (r3.Vec{}) {
			continue
		}
		bb := emptyBounds()
		for _, v := range f {
			p := t.m.V[v]
			bb.add(&bounds{[3]float64{p.X, p.Y, p.Z}, [3]float64{p.X, p.Y, p.Z}})
		}
		b.box[i] = bb
		b.order = append(b.order, int32(i))
	}
	t.tris = make([]tri, 0, len(b.order))
	if len(b.order) > 0 {
		t.root, _ = b.subtree(0, len(b.order), 0)
	}
	if wideProcessor {
		t.wide = t.widen()
	}
}

const (
	binCount     = 16
	deepestSplit = 36 // splits by heuristic; the median needs at most 24 more for the most faces a tree can index
)

// subtree builds the tree of order[from:to] and returns it as a child value, with its box.
func (b *builder) subtree(from, to, depth int) (int32, bounds) {
	box, centres := emptyBounds(), emptyBounds()
	for _, f := range b.order[from:to] {
		bb := &b.box[f]
		box.add(bb)
		c := centre(bb)
		centres.add(&bounds{c, c})
	}
	if to-from <= leafMost {
		return b.leaf(from, to), box
	}
	axis := 0
	for k := 1; k < 3; k++ {
		if centres.hi[k]-centres.lo[k] > centres.hi[axis]-centres.lo[axis] {
			axis = k
		}
	}
	mid := (from + to) / 2
	if depth < deepestSplit {
		mid = b.split(from, to, axis, centres.lo[axis], centres.hi[axis])
	} else {
		b.median(from, to, mid, axis)
	}
	i := int32(len(b.t.nodes))
	b.t.nodes = append(b.t.nodes, node{})
	l, lb := b.subtree(from, mid, depth+1)
	r, rb := b.subtree(mid, to, depth+1)
	nd := &b.t.nodes[i]
	nd.child = [2]int32{l, r}
	for k := range 3 {
		nd.c[0][k], nd.h[0][k] = middle(lb.lo[k], lb.hi[k])
		nd.c[1][k], nd.h[1][k] = middle(rb.lo[k], rb.hi[k])
	}
	return i, box
}

func (b *builder) leaf(from, to int) int32 {
	first := len(b.t.tris)
	for _, f := range b.order[from:to] {
		b.t.slot[f] = int32(len(b.t.tris))
		b.t.tris = append(b.t.tris, newTri(b.t.m, f, b.t.topo.normal[f]))
	}
	return ^int32(first<<leafBits | (to - from))
}

// split partitions order[from:to] along an axis where the heuristic is least, in the middle when all centres agree.
func (b *builder) split(from, to, axis int, lo, hi float64) int {
	if !(hi > lo) {
		return (from + to) / 2
	}
	scale := binCount / (hi - lo)
	bin := func(f int32) int {
		return max(0, min(int((centre(&b.box[f])[axis]-lo)*scale), binCount-1)) // 0 also when scale overflows
	}
	var count [binCount]int
	var box [binCount]bounds
	for i := range box {
		box[i] = emptyBounds()
	}
	for _, f := range b.order[from:to] {
		k := bin(f)
		count[k]++
		box[k].add(&b.box[f])
	}
	var right [binCount]float64 // cost of all bins from i on
	acc, n := emptyBounds(), 0
	for i := binCount - 1; i > 0; i-- {
		acc.add(&box[i])
		n += count[i]
		if n > 0 {
			right[i] = acc.halfArea() * float64(n)
		}
	}
	acc, n = emptyBounds(), 0
	best, cut := math.Inf(1), 1
	for i := 1; i < binCount; i++ {
		acc.add(&box[i-1])
		n += count[i-1]
		if n == 0 || n == to-from {
			continue
		}
		if c := acc.halfArea()*float64(n) + right[i]; c < best {
			best, cut = c, i
		}
	}
	i, j := from, to
	for i < j {
		if bin(b.order[i]) < cut {
			i++
			continue
		}
		j--
		b.order[i], b.order[j] = b.order[j], b.order[i]
	}
	if i == from || i == to {
		return (from + to) / 2
	}
	return i
}

// median puts the lower half along an axis first (quickselect).
func (b *builder) median(from, to, mid, axis int) {
	for to-from > 1 {
		pivot := centre(&b.box[b.order[(from+to)/2]])[axis]
		i, j := from, to-1
		for i <= j {
			for centre(&b.box[b.order[i]])[axis] < pivot {
				i++
			}
			for centre(&b.box[b.order[j]])[axis] > pivot {
				j--
			}
			if i <= j {
				b.order[i], b.order[j] = b.order[j], b.order[i]
				i++
				j--
			}
		}
		switch {
		case mid <= j:
			to = j + 1
		case mid >= i:
			from = i
		default:
			return
		}
	}
}

func centre(b *bounds) [3]float64 {
	return [3]float64{0.5 * (b.lo[0] + b.hi[0]), 0.5 * (b.lo[1] + b.hi[1]), 0.5 * (b.lo[2] + b.hi[2])}
}

// middle is the centre and the half size of an interval, rounded so that both ends are inside.
func middle(lo, hi float64) (c, h float64) {
	c = 0.5 * (lo + hi)
	return c, math.Nextafter(max(hi-c, c-lo), math.Inf(1))
}
