package mesh

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// touching are the faces that touch a face other than along the edge or at the corner they share, or that lie folded
// shut on a neighbour. Faces within slack mm of each other count as touching, so that rounding hides no crossing.
func (t *Tree) touching(slack float64) []bool {
	found := make([]bool, len(t.m.F))
	_ = inParallel(context.Background(), len(t.tris), func() func(int) {
		return func(i int) {
			if t.touches(&t.tris[i], slack) {
				found[t.tris[i].face] = true
			}
		}
	})
	return found
}

// touches looks for a face near one that it touches as it should not.
func (t *Tree) touches(a *tri, slack float64) bool {
	p := a.corners()
	var c, h [3]float64
	for k := range 3 {
		x := [3]float64{p[0].X, p[1].X, p[2].X}
		if k == 1 {
			x = [3]float64{p[0].Y, p[1].Y, p[2].Y}
		} else if k == 2 {
			x = [3]float64{p[0].Z, p[1].Z, p[2].Z}
		}
		c[k], h[k] = middle(min(x[0], x[1], x[2])-slack, max(x[0], x[1], x[2])+slack)
	}
	var stack [64]int32
	n := 1
	stack[0] = t.root
	for n > 0 {
		n--
		cur := stack[n]
		if cur < 0 {
			first := ^cur >> leafBits
			for i := first; i < first+(^cur&(1<<leafBits-1)); i++ {
				if b := &t.tris[i]; b != a && t.touch(a, b, slack) {
					return true
				}
			}
			continue
		}
		nd := &t.nodes[cur]
		for k := range 2 {
			if math.Abs(nd.c[k][0]-c[0]) <= nd.h[k][0]+h[0] && math.Abs(nd.c[k][1]-c[1]) <= nd.h[k][1]+h[1] &&
				math.Abs(nd.c[k][2]-c[2]) <= nd.h[k][2]+h[2] {
				stack[n] = nd.child[k]
				n++
			}
		}
	}
	return false
}

func (t *tri) corners() [3]r3.Vec {
	a := r3.Vec{X: t.ax, Y: t.ay, Z: t.az}
	return [3]r3.Vec{a, r3.Add(a, r3.Vec{X: t.ux, Y: t.uy, Z: t.uz}), r3.Add(a, r3.Vec{X: t.vx, Y: t.vy, Z: t.vz})}
}

// touch judges two faces by how many corners they share.
func (t *Tree) touch(a, b *tri, slack float64) bool {
	ca, cb := t.topo.corner[a.face], t.topo.corner[b.face]
	shared := 0
	var ka, kb [9]int // the corners that are shared
	for i := range 3 {
		for j := range 3 {
			if ca[i] == cb[j] {
				ka[shared], kb[shared] = i, j
				shared++
			}
		}
	}
	p, q := a.corners(), b.corners()
	switch shared {
	case 0:
		return !apart(p[:], q[:], slack)
	case 1:
		i, j := ka[0], kb[0]
		return !apart([]r3.Vec{p[(i+1)%3], p[(i+2)%3]}, q[:], slack) || !apart([]r3.Vec{q[(j+1)%3], q[(j+2)%3]}, p[:], slack)
	case 2:
		c, d := p[3-ka[0]-ka[1]], q[3-kb[0]-kb[1]]
		e := unit(r3.Sub(p[ka[1]], p[ka[0]]))
		across := func(v r3.Vec) r3.Vec {
			v = r3.Sub(v, p[ka[0]])
			return unit(r3.Sub(v, r3.Scale(r3.Dot(v, e), e)))
		}
		return r3.Norm(r3.Sub(across(c), across(d))) < foldedShutRad
	}
	return true // the same three corners
}

// foldedShutRad is the angle between two faces on an edge below which they count as touching all over.
const foldedShutRad = 1e-6

// apart says whether two triangles or sides of triangles are more than slack apart, by the theorem of separating axes:
// it is enough to try the normals of the faces, the cross products of two edges, and for what lies in one plane the
// directions in it across an edge (Gottschalk, Lin & Manocha, OBBTree, SIGGRAPH 1996). Never wrong when it says yes.
func apart(p, q []r3.Vec, slack float64) bool {
	var np, nq r3.Vec
	if len(p) == 3 {
		np = r3.Cross(r3.Sub(p[1], p[0]), r3.Sub(p[2], p[0]))
	}
	if len(q) == 3 {
		nq = r3.Cross(r3.Sub(q[1], q[0]), r3.Sub(q[2], q[0]))
	}
	if parts(np, p, q, slack) || parts(nq, p, q, slack) {
		return true
	}
	ep, eq := edgesOf(p), edgesOf(q)
	for _, u := range ep[:] {
		if parts(r3.Cross(np, u), p, q, slack) || parts(r3.Cross(nq, u), p, q, slack) {
			return true
		}
		for _, v := range eq[:] {
			if parts(r3.Cross(u, v), p, q, slack) {
				return true
			}
		}
	}
	for _, v := range eq[:] {
		if parts(r3.Cross(np, v), p, q, slack) || parts(r3.Cross(nq, v), p, q, slack) {
			return true
		}
	}
	return false
}

// edgesOf are the sides of a triangle, or one side and nothing.
func edgesOf(p []r3.Vec) [3]r3.Vec {
	if len(p) == 2 {
		return [3]r3.Vec{r3.Sub(p[1], p[0])}
	}
	return [3]r3.Vec{r3.Sub(p[1], p[0]), r3.Sub(p[2], p[1]), r3.Sub(p[0], p[2])}
}

// parts says whether a plane across an axis of any length has p and q on its two sides, more than slack apart.
func parts(axis r3.Vec, p, q []r3.Vec, slack float64) bool {
	l2 := r3.Norm2(axis)
	if l2 == 0 {
		return false
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range p {
		d := r3.Dot(axis, r3.Sub(v, q[0]))
		lo, hi = min(lo, d), max(hi, d)
	}
	qlo, qhi := 0.0, 0.0
	for _, v := range q[1:] {
		d := r3.Dot(axis, r3.Sub(v, q[0]))
		qlo, qhi = min(qlo, d), max(qhi, d)
	}
	gap := max(lo-qhi, qlo-hi)
	return gap > 0 && gap*gap > slack*slack*l2
}
