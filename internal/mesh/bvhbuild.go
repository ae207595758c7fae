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

// A ref is a face on its way into the tree: its box, and twice the middle of that, about the middle of the mesh in halves of its size. That
// is only to choose by: the boxes of the nodes are made of the vertices.
type ref struct {
	lo, hi, c [3]float32
	face      int32
}

// A grower makes the nodes of a part of the tree; the refs are partitioned in place, and stand where their triangles will.
type grower struct {
	t     *Tree
	refs  []ref
	nodes []node
}

// build makes the nodes by the surface-area heuristic: on 16 bins of the box centres (Wald 2007), of few faces between any two of them; and
// by the median below a depth that no reasonable mesh reaches, so that the stack of a search has a bound.
func (t *Tree) build() {
	t.slot = make([]int32, len(t.m.F))
	g := grower{t: t, refs: t.refs()}
	t.tris = make([]tri, len(g.refs))
	all := emptyBounds()
	if len(g.refs) > 0 {
		g.nodes = make([]node, 0, nodesOf(len(g.refs)))
		t.root, all = g.subtree(0, len(g.refs), 0)
		t.nodes = g.nodes
	}
	if wideProcessor {
		t.wide = t.widen(&all)
	}
}

// refs are those of all faces with area.
func (t *Tree) refs() []ref {
	box := t.m.Bounds()
	middle, half := r3.Scale(0.5, r3.Add(box.Min, box.Max)), r3.Scale(0.5, r3.Sub(box.Max, box.Min))
	scale := 1 / max(half.X, half.Y, half.Z)
	near := make([][3]float32, len(t.m.V))
	for i, v := range t.m.V {
		near[i] = [3]float32{float32((v.X - middle.X) * scale), float32((v.Y - middle.Y) * scale), float32((v.Z - middle.Z) * scale)}
	}
	refs := make([]ref, 0, len(t.m.F))
	for i, f := range t.m.F {
		t.slot[i] = -1
		if t.topo.normal[i] == (r3.Vec{}) {
			continue
		}
		r := ref{face: int32(i)}
		a, b, c := &near[f[0]], &near[f[1]], &near[f[2]]
		for k := range 3 {
			r.lo[k], r.hi[k] = min(a[k], b[k], c[k]), max(a[k], b[k], c[k])
			r.c[k] = r.lo[k] + r.hi[k]
		}
		refs = append(refs, r)
	}
	return refs
}

// nodesOf is how many nodes so many faces take, mostly.
func nodesOf(faces int) int { return faces*2/5 + 1 }

const (
	binCount        = 16
	deepestSplit    = 36   // splits by heuristic; the median needs at most 24 more for the most faces a tree can index
	sideBySide      = 4096 // faces from which on halves are grown side by side
	sideBySideDepth = 4
)

// subtree builds the tree of refs[from:to] and returns it as a child value, with its box.
func (g *grower) subtree(from, to, depth int) (int32, bounds) {
	if to-from <= leafMost {
		return g.leaf(from, to)
	}
	mid := g.halved(from, to, depth)
	i := int32(len(g.nodes))
	g.nodes = append(g.nodes, node{})
	l, lb, r, rb := g.halves(from, mid, to, depth+1)
	nd := &g.nodes[i]
	nd.child = [2]int32{l, r}
	for k := range 3 {
		nd.c[0][k], nd.h[0][k] = middle(lb.lo[k], lb.hi[k])
		nd.c[1][k], nd.h[1][k] = middle(rb.lo[k], rb.hi[k])
	}
	lb.add(&rb)
	return i, lb
}

// halves builds both halves of refs[from:to], side by side where that pays.
func (g *grower) halves(from, mid, to, depth int) (l int32, lb bounds, r int32, rb bounds) {
	if to-from < sideBySide || depth > sideBySideDepth {
		l, lb = g.subtree(from, mid, depth)
		r, rb = g.subtree(mid, to, depth)
		return l, lb, r, rb
	}
	other := grower{t: g.t, refs: g.refs, nodes: make([]node, 0, nodesOf(to-mid))}
	done := make(chan struct{})
	var root int32
	var box bounds
	go func() {
		defer close(done)
		root, box = other.subtree(mid, to, depth)
	}()
	l, lb = g.subtree(from, mid, depth)
	<-done
	behind := int32(len(g.nodes))
	for _, nd := range other.nodes {
		nd.child[0], nd.child[1] = moved(nd.child[0], behind), moved(nd.child[1], behind)
		g.nodes = append(g.nodes, nd)
	}
	return l, lb, moved(root, behind), box
}

// moved is a child when the nodes are put behind others.
func moved(child, behind int32) int32 {
	if child < 0 {
		return child
	}
	return child + behind
}

func (g *grower) leaf(from, to int) (int32, bounds) {
	box := emptyBounds()
	for i, r := range g.refs[from:to] {
		g.t.slot[r.face] = int32(from + i)
		g.t.tris[from+i] = newTri(g.t.m, r.face, g.t.topo.normal[r.face])
		for _, v := range g.t.m.F[r.face] {
			p := &g.t.m.V[v]
			box.add(&bounds{[3]float64{p.X, p.Y, p.Z}, [3]float64{p.X, p.Y, p.Z}})
		}
	}
	return ^int32(from<<leafBits | (to - from)), box
}

// halved partitions refs[from:to] and returns where.
func (g *grower) halved(from, to, depth int) int {
	refs := g.refs[from:to]
	lo, hi := refs[0].c, refs[0].c
	for i := range refs[1:] {
		c := &refs[1+i].c
		for k := range 3 {
			lo[k], hi[k] = min(lo[k], c[k]), max(hi[k], c[k])
		}
	}
	axis := 0
	for k := 1; k < 3; k++ {
		if hi[k]-lo[k] > hi[axis]-lo[axis] {
			axis = k
		}
	}
	switch {
	case depth >= deepestSplit:
		g.median(from, to, (from+to)/2, axis)
		return (from + to) / 2
	case to-from <= binCount:
		return from + sweep(refs, axis)
	}
	return from + split(refs, axis, lo[axis], hi[axis])
}

// A crate is a box in which refs are put.
type crate struct{ lo, hi [3]float32 }

func emptyCrate() crate {
	const most = math.MaxFloat32
	return crate{[3]float32{most, most, most}, [3]float32{-most, -most, -most}}
}

func (b *crate) add(lo, hi *[3]float32) {
	for k := range 3 {
		if lo[k] < b.lo[k] {
			b.lo[k] = lo[k]
		}
		if hi[k] > b.hi[k] {
			b.hi[k] = hi[k]
		}
	}
}

func (b *crate) halfArea() float32 {
	x, y, z := b.hi[0]-b.lo[0], b.hi[1]-b.lo[1], b.hi[2]-b.lo[2]
	return x*y + y*z + z*x
}

// sweep sorts a few refs along an axis, and returns before which of them the heuristic is least.
func sweep(refs []ref, axis int) int {
	for i := 1; i < len(refs); i++ {
		if refs[i].c[axis] >= refs[i-1].c[axis] {
			continue
		}
		r, j := refs[i], i
		for ; j > 0 && refs[j-1].c[axis] > r.c[axis]; j-- {
			refs[j] = refs[j-1]
		}
		refs[j] = r
	}
	var right [binCount]float32
	b := emptyCrate()
	for i := len(refs) - 1; i > 0; i-- {
		b.add(&refs[i].lo, &refs[i].hi)
		right[i] = b.halfArea() * float32(len(refs)-i)
	}
	best, cut := float32(math.MaxFloat32), len(refs)/2
	b = emptyCrate()
	for i := 1; i < len(refs); i++ {
		b.add(&refs[i-1].lo, &refs[i-1].hi)
		if c := b.halfArea()*float32(i) + right[i]; c < best {
			best, cut = c, i
		}
	}
	return cut
}

// split partitions refs along an axis where the heuristic is least between bins, in the middle when all centres agree.
func split(refs []ref, axis int, lo, hi float32) int {
	if !(hi > lo) {
		return len(refs) / 2
	}
	scale := binCount / (hi - lo)
	bin := func(r *ref) int { return max(0, min(int((r.c[axis]-lo)*scale), binCount-1)) } // 0 also when scale overflows
	var count [binCount]int
	var box [binCount]crate
	for i := range box {
		box[i] = emptyCrate()
	}
	for i := range refs {
		r := &refs[i]
		k := bin(r)
		count[k]++
		box[k].add(&r.lo, &r.hi)
	}
	var right [binCount]float32 // cost of all bins from i on
	acc, n := emptyCrate(), 0
	for i := binCount - 1; i > 0; i-- {
		acc.add(&box[i].lo, &box[i].hi)
		n += count[i]
		if n > 0 {
			right[i] = acc.halfArea() * float32(n)
		}
	}
	acc, n = emptyCrate(), 0
	best, cut := float32(math.MaxFloat32), 1
	for i := 1; i < binCount; i++ {
		acc.add(&box[i-1].lo, &box[i-1].hi)
		n += count[i-1]
		if n == 0 || n == len(refs) {
			continue
		}
		if c := acc.halfArea()*float32(n) + right[i]; c < best {
			best, cut = c, i
		}
	}
	i, j := 0, len(refs)
	for {
		for i < j && bin(&refs[i]) < cut {
			i++
		}
		for i < j && bin(&refs[j-1]) >= cut {
			j--
		}
		if i >= j {
			break
		}
		refs[i], refs[j-1] = refs[j-1], refs[i]
	}
	if i == 0 || i == len(refs) {
		return len(refs) / 2
	}
	return i
}

// median puts the lower half along an axis first (quickselect).
func (g *grower) median(from, to, mid, axis int) {
	refs := g.refs
	for to-from > 1 {
		pivot := refs[(from+to)/2].c[axis]
		i, j := from, to-1
		for i <= j {
			for refs[i].c[axis] < pivot {
				i++
			}
			for refs[j].c[axis] > pivot {
				j--
			}
			if i <= j {
				refs[i], refs[j] = refs[j], refs[i]
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
