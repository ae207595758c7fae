package mesh

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A wideTree is the same tree with up to eight children a node, and up to eight triangles a leaf, for processors that look at eight at
// once. It is in float32 about a middle, and only leaves out what is farther for sure: boxes are enlarged by more than rounding takes, and
// triangles count as nearer by more than it. Those that are left are told apart by their distances in float64, as in the tree of
// two children. So both give the same answers.
type wideTree struct {
	origin r3.Vec
	reach  float64 // of a query from the origin, along an axis: farther off rounding takes more
	blur   float32 // mm²: what rounding of places adds to a squared distance at most, beside a part of it
	nodes  []wideNode
	leaves []wideLeaf
	root   int32 // as a child
}

const lanes = 8

// blurred is the part of the squared distance from a triangle's origin that rounding changes a squared distance by at most: some twenty
// roundings of 2⁻²⁴, and that of places, for 2dδ ≤ bd² + δ²/b.
const blurred = 1.0 / (1 << 14)

// A child of a wideNode below 0 is ^(a leaf). Lanes without a child are farther than everything.
type wideNode struct {
	lo, hi [3][lanes]float32
	child  [lanes]int32
}

// A wideLeaf has triangles that follow one another, each in a frame of its own: the origin at an end of its longest side, the first axis along
// that side, the second in its plane to the third corner, which so is at (p, q); the side ends at (l, 0). Lanes without a triangle repeat
// the first.
type wideLeaf struct {
	origin, along, across [3][lanes]float32
	l, p, q               [lanes]float32
	first, count          int32
}

// wideWaiting is how many nodes a search can have waiting; trees that would need more are searched two by two.
const wideWaiting = 160

// A widener makes a wide tree of a tree of two. Which nodes become children of one wide node is chosen so that the areas of all boxes that
// a search may have to look into, leaves counted by what they cost, are least in sum (Ylitie, Karras & Laine 2017, Efficient incoherent ray
// traversal on GPUs through compressed wide BVHs, section 4; from memory).
type widener struct {
	t *Tree
	w *wideTree

	plans   []plan // of the nodes
	enlarge float64
	deepest int
}

// A plan of a node: what it costs when it may take up to i+1 children of a wide node above it, and how those are dealt out: so many to its
// first child; 0: as with one less.
type plan struct {
	cost  [lanes]float32
	first [lanes]uint8
	leaf  bool // with one, it is a leaf, not a node of its own
	count int32
}

// What a search spends on a node and on a leaf, of each other.
const nodeCost, leafCost = 1, 1.5

// widen makes the wide tree of t, whose triangles lie in a box; nil when it has no triangle, or is too deep.
func (t *Tree) widen(all *bounds) *wideTree {
	if len(t.tris) == 0 {
		return nil
	}
	c := centre(all)
	half := 0.0
	for k := range 3 {
		half = math.Max(half, all.hi[k]-c[k])
	}
	const farther = 4 // times the half size
	const rounding = 1.0 / (1 << 21)
	if !(half > 1e-6 && half < 1e9) {
		return nil // float32 could not hold the products
	}
	w := &wideTree{origin: r3.Vec{X: c[0], Y: c[1], Z: c[2]}, reach: farther * half}
	place := farther * half / (1 << 22)
	w.blur = float32(place * place / blurred)
	w.leaves = make([]wideLeaf, 0, len(t.tris)/4+1)
	w.nodes = make([]wideNode, 0, len(t.tris)/16+1)
	b := widener{t: t, w: w, enlarge: half * rounding, plans: make([]plan, len(t.nodes))}
	for i := len(t.nodes) - 1; i >= 0; i-- { // children stand behind their parents
		b.plan(int32(i))
	}
	w.root = b.child(t.root, 1)
	if b.deepest*(lanes-1) > wideWaiting {
		return nil
	}
	_ = inParallel(context.Background(), len(w.leaves), func() func(int) {
		return func(i int) { w.leaves[i].fill(t, w.origin) }
	})
	return w
}

// halfArea is half the area of a child's box.
func (nd *node) halfArea(k int) float32 {
	h := &nd.h[k]
	return float32(4 * (h[0]*h[1] + h[1]*h[2] + h[2]*h[0]))
}

// costs of a child by the number of lanes it may take.
func (b *widener) costs(of int32, area float32) (cost [lanes]float32, count int32) {
	if of < 0 {
		for i := range cost {
			cost[i] = leafCost * area
		}
		return cost, ^of & (1<<leafBits - 1)
	}
	p := &b.plans[of]
	cost, count = p.cost, p.count
	// What its parent knows: the box of its own.
	one := nodeCost*area + p.cost[lanes-1]
	if p.leaf = count <= lanes && leafCost*area <= one; p.leaf {
		one = leafCost * area
	}
	cost[0] = one
	for i := 1; i < lanes; i++ {
		if cost[i] >= cost[i-1] {
			cost[i], p.first[i] = cost[i-1], 0
		}
	}
	p.cost = cost
	return cost, count
}

// plan deals out the lanes of a node, from two on, to its children.
func (b *widener) plan(i int32) {
	nd := &b.t.nodes[i]
	l, nl := b.costs(nd.child[0], nd.halfArea(0))
	r, nr := b.costs(nd.child[1], nd.halfArea(1))
	p := &b.plans[i]
	p.count = nl + nr
	for n := 1; n < lanes; n++ {
		p.cost[n] = math.MaxFloat32
		for first := range n {
			if c := l[first] + r[n-1-first]; c < p.cost[n] {
				p.cost[n], p.first[n] = c, uint8(first+1)
			}
		}
	}
}

// child makes what becomes of a child of a node.
func (b *widener) child(of int32, depth int) int32 {
	if of < 0 || b.plans[of].leaf {
		return ^b.leaf(of)
	}
	return b.node(of, depth)
}

// A branch is a child of a wide node, with its box.
type branch struct {
	child int32
	c, h  [3]float64
}

// deal appends what a branch becomes when it may take some lanes.
func (b *widener) deal(list []branch, of branch, most int) []branch {
	if of.child >= 0 {
		for ; most > 1; most-- {
			if first := int(b.plans[of.child].first[most-1]); first > 0 {
				return b.dealBoth(list, of.child, first, most-first)
			}
		}
	}
	return append(list, of)
}

func (b *widener) dealBoth(list []branch, of int32, left, right int) []branch {
	nd := &b.t.nodes[of]
	list = b.deal(list, branch{nd.child[0], nd.c[0], nd.h[0]}, left)
	return b.deal(list, branch{nd.child[1], nd.c[1], nd.h[1]}, right)
}

// node makes a wide node of a node.
func (b *widener) node(of int32, depth int) int32 {
	b.deepest = max(b.deepest, depth)
	most := lanes
	for most > 2 && b.plans[of].first[most-1] == 0 {
		most--
	}
	first := int(b.plans[of].first[most-1])
	var room [lanes]branch
	list := b.dealBoth(room[:0], of, max(1, first), most-max(1, first))
	at := int32(len(b.w.nodes))
	b.w.nodes = append(b.w.nodes, wideNode{})
	o := [3]float64{b.w.origin.X, b.w.origin.Y, b.w.origin.Z}
	for k := range lanes {
		for axis := range 3 {
			lo, hi := float32(math.MaxFloat32), float32(-math.MaxFloat32)
			if k < len(list) {
				lo = float32(list[k].c[axis] - list[k].h[axis] - o[axis] - b.enlarge)
				hi = float32(list[k].c[axis] + list[k].h[axis] - o[axis] + b.enlarge)
			}
			b.w.nodes[at].lo[axis][k], b.w.nodes[at].hi[axis][k] = lo, hi
		}
	}
	for k, l := range list {
		b.w.nodes[at].child[k] = b.child(l.child, depth+1)
	}
	return at
}

// leaf makes a leaf of all triangles below a child, which follow one another; it is filled later.
func (b *widener) leaf(of int32) int32 {
	count := ^of & (1<<leafBits - 1)
	if of >= 0 {
		count = b.plans[of].count
	}
	for of >= 0 {
		of = b.t.nodes[of].child[0]
	}
	b.w.leaves = append(b.w.leaves, wideLeaf{first: ^of >> leafBits, count: count})
	return int32(len(b.w.leaves) - 1)
}

// fill sets all lanes of a leaf.
func (l *wideLeaf) fill(t *Tree, middle r3.Vec) {
	for k := range int32(lanes) {
		i := l.first
		if k < l.count {
			i += k
		}
		t.tris[i].frame(l, int(k), middle)
	}
}

// frame sets lane k of a leaf.
func (t *tri) frame(l *wideLeaf, k int, middle r3.Vec) {
	a, u, v := r3.Vec{X: t.ax - middle.X, Y: t.ay - middle.Y, Z: t.az - middle.Z}, r3.Vec{X: t.ux, Y: t.uy, Z: t.uz}, r3.Vec{X: t.vx, Y: t.vy, Z: t.vz}
	switch ww := t.uu + t.vv - 2*t.uv; {
	case ww >= t.uu && ww >= t.vv: // from the second corner to the third
		a, u, v = r3.Add(a, u), r3.Sub(v, u), r3.Scale(-1, u)
	case t.vv > t.uu:
		u, v = v, u
	}
	long := math.Sqrt(r3.Norm2(u))
	along := r3.Scale(1/long, u)
	across := r3.Cross(r3.Vec{X: t.nx, Y: t.ny, Z: t.nz}, along)
	p, q := r3.Dot(v, along), r3.Dot(v, across)
	if q < 0 {
		q, across = -q, r3.Scale(-1, across)
	}
	for axis, x := range [3][3]float64{{a.X, along.X, across.X}, {a.Y, along.Y, across.Y}, {a.Z, along.Z, across.Z}} {
		l.origin[axis][k], l.along[axis][k], l.across[axis][k] = float32(x[0]), float32(x[1]), float32(x[2])
	}
	l.l[k], l.p[k], l.q[k] = float32(long), float32(p), float32(q)
}

// reaches says whether a point is near enough for the wide tree.
func (w *wideTree) reaches(x, y, z float64) bool {
	return math.Abs(x-w.origin.X) <= w.reach && math.Abs(y-w.origin.Y) <= w.reach && math.Abs(z-w.origin.Z) <= w.reach
}
