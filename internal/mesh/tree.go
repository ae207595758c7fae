package mesh

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Hit is the nearest point of a mesh to a query point p.
type Hit struct {
	// Signed is the distance in mm, positive on the side that the face normals point away from: inside a solid,
	// inside a room. +Inf when the mesh has no face with area or p is not finite.
	Signed float64
	// Point is the nearest point of the surface, mm.
	Point r3.Vec
	// Normal has length 1 and points away from the wall into the inside: the direction in which Signed grows fastest.
	// It is ±(p-Point)/|p-Point|, or minus the face normal when |Signed| is at most 1e-9 mm.
	Normal r3.Vec
	// Face is a face that has Point: the lowest index when Point is on an edge or corner; -1 when there is none.
	Face int32
	// Beyond says that Point lies on an open edge of the mesh and p is past that edge, not just above or below it.
	Beyond bool
}

// A Tree answers nearest-point queries on one mesh. It may be used by many goroutines at once. The mesh must not be
// changed after the tree was made.
type Tree struct {
	m     *Mesh
	topo  topology
	nodes []node
	tris  []tri
	slot  []int32 // face → index in tris, -1 for a face without area
	root  int32
	wide  *wideTree // nil: the processor, or the build, looks at one box at a time

	sign    Sign
	level   float64 // the winding number from which a point is inside
	crossed int     // faces that touch others which are not their neighbours, when that was looked for
	summing sync.Once
	sums    []cluster // a node; made when first needed
}

// NewTree builds the tree; m must be valid. Faces without area carry no nearest point of their own.
func NewTree(m *Mesh) *Tree {
	t := &Tree{m: m, topo: newTopology(m), level: 0.5}
	var neighbours sync.WaitGroup
	neighbours.Go(func() { t.topo.join(m) })
	t.build()
	neighbours.Wait()
	return t
}

// Mesh is the mesh the tree was made of.
func (t *Tree) Mesh() *Mesh { return t.m }

// Nearest is the nearest point of the mesh to p.
func (t *Tree) Nearest(p r3.Vec) Hit { return t.NearestFrom(p, -1) }

// NearestFrom is Nearest, faster when face hint is close to the nearest one. Any hint gives the same answer; one out
// of range is none.
func (t *Tree) NearestFrom(p r3.Vec, hint int32) Hit {
	best, at := math.Inf(1), int32(-1)
	if hint >= 0 && int(hint) < len(t.slot) && t.slot[hint] >= 0 {
		at = t.slot[hint]
		best = t.tris[at].dist2(p.X, p.Y, p.Z)
	}
	at = t.search(p.X, p.Y, p.Z, best, at)
	if at < 0 || !finite(p) {
		return Hit{Signed: math.Inf(1), Point: p, Face: -1}
	}
	return t.hitOn(p, at, nil)
}

// hit is the exact answer in float64 once the face is known. Points on an edge or corner are computed from the edge
// or corner itself, so that it does not matter which of its faces was found.
func (t *Tree) hit(p r3.Vec, face int32) Hit { return t.hitFrom(p, face, nil) }

// A freeBlock is a neighbourhood that the surface does not enter, so that all of it lies on the side of its middle.
type freeBlock struct {
	middle        r3.Vec
	known, inside bool
}

// hitFrom is hit for a point of a free block, nil when it is in none.
func (t *Tree) hitFrom(p r3.Vec, face int32, b *freeBlock) Hit { return t.hitOn(p, t.slot[face], b) }

// hitOn is hitFrom for a triangle.
func (t *Tree) hitOn(p r3.Vec, at int32, b *freeBlock) Hit {
	tp, tr := &t.topo, &t.tris[at]
	face := tr.face
	part := tr.closestPart(p)
	if part == inFace {
		n := r3.Vec{X: tr.nx, Y: tr.ny, Z: tr.nz}
		h := (p.X-tr.ax)*tr.nx + (p.Y-tr.ay)*tr.ny + (p.Z-tr.az)*tr.nz
		if tp.doubt[face] || t.sign == SignByWinding {
			return t.signed(p, r3.Sub(p, r3.Scale(h, n)), n, face, true, b)
		}
		return Hit{Signed: 0 - h, Point: r3.Sub(p, r3.Scale(h, n)), Normal: r3.Scale(-1, n), Face: face}
	}
	if part < onEdge0 {
		return t.atVertex(p, tp.corner[face][part], b)
	}
	e := tp.edge[face][part-onEdge0]
	from, to := t.m.V[tp.edges[e].a], t.m.V[tp.edges[e].b]
	ab := r3.Sub(to, from)
	s := r3.Dot(r3.Sub(p, from), ab) / r3.Norm2(ab)
	switch {
	case s <= 0:
		return t.atVertex(p, tp.edges[e].a, b)
	case s >= 1:
		return t.atVertex(p, tp.edges[e].b, b)
	}
	return t.atEdge(p, e, r3.Add(from, r3.Scale(s, ab)), b)
}

func (t *Tree) atEdge(p r3.Vec, e int32, q r3.Vec, b *freeBlock) Hit {
	ed := &t.topo.edges[e]
	if ed.open {
		b = nil // about a border the side changes without the surface in between
	}
	h := t.signed(p, q, ed.normal, ed.face, ed.doubtful, b)
	if ed.open {
		h.Beyond = past(r3.Sub(p, q), ed.conormal, h.Signed)
	}
	return h
}

func (t *Tree) atVertex(p r3.Vec, v int32, b *freeBlock) Hit {
	q := t.m.V[v]
	vx := &t.topo.verts[v]
	if vx.open[0] >= 0 {
		b = nil
	}
	h := t.signed(p, q, vx.normal, vx.face, vx.doubtful, b)
	for _, e := range vx.open {
		if e >= 0 && past(r3.Sub(p, q), t.topo.edges[e].conormal, h.Signed) {
			h.Beyond = true
		}
	}
	return h
}

// past says whether d, from an open edge to a point, leaves the surface over that edge.
func past(d, conormal r3.Vec, dist float64) bool {
	return r3.Dot(d, conormal) > 1e-9+1e-6*math.Abs(dist)
}

// signed is the hit of p on q, its sign from the pseudonormal, or from the winding number where that can't be
// trusted.
func (t *Tree) signed(p, q, pseudonormal r3.Vec, face int32, doubtful bool, b *freeBlock) Hit {
	d := r3.Sub(p, q)
	dist := r3.Norm(d)
	inside := r3.Dot(d, pseudonormal) <= 0
	if (doubtful || t.sign == SignByWinding) && dist > 0 {
		inside = t.side(p, b)
	}
	h := Hit{Signed: dist, Point: q, Face: face}
	sign := 1.0
	if !inside {
		h.Signed, sign = -dist, -1
	}
	if dist > 1e-9 {
		h.Normal = r3.Scale(sign/dist, d)
	} else {
		h.Normal = r3.Scale(-1, t.topo.normal[face])
	}
	return h
}

// side says whether p is inside by the winding number.
func (t *Tree) side(p r3.Vec, b *freeBlock) bool {
	if b == nil {
		return t.encloses(p)
	}
	if !b.known {
		b.known, b.inside = true, t.encloses(b.middle)
	}
	return b.inside
}

// The parts of a triangle that its closest point can lie on.
const (
	onCorner0 = iota
	onCorner1
	onCorner2
	onEdge0 // corner 0 to 1
	onEdge1 // corner 1 to 2
	onEdge2 // corner 2 to 0
	inFace
)

// closestPart says which part of the triangle is closest to p (Ericson, Real-Time Collision Detection, 2005, 5.1.5).
func (t *tri) closestPart(p r3.Vec) int {
	x, y, z := p.X-t.ax, p.Y-t.ay, p.Z-t.az
	d1 := x*t.ux + y*t.uy + z*t.uz
	d2 := x*t.vx + y*t.vy + z*t.vz
	d3, d4, d5, d6 := d1-t.uu, d2-t.uv, d1-t.uv, d2-t.vv
	switch {
	case d1 <= 0 && d2 <= 0:
		return onCorner0
	case d3 >= 0 && d4 <= d3:
		return onCorner1
	case d1*d4-d3*d2 <= 0 && d1 >= 0 && d3 <= 0:
		return onEdge0
	case d6 >= 0 && d5 <= d6:
		return onCorner2
	case d5*d2-d1*d6 <= 0 && d2 >= 0 && d6 <= 0:
		return onEdge2
	case d3*d6-d5*d4 <= 0 && d4-d3 >= 0 && d5-d6 >= 0:
		return onEdge1
	}
	return inFace
}
