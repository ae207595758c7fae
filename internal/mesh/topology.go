package mesh

import (
	"cmp"
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// topology is what the sign of a distance needs: the normals of faces, edges and vertices, found by welding equal
// coordinates, so that a triangle soup is as good as an indexed mesh.
type topology struct {
	normal []r3.Vec   // a face, unit; zero for a face without area
	doubt  []bool     // a face: the side of a point can't be told by its normal, for it is too thin, or see Sign
	corner [][3]int32 // a face: the first vertex at the place of each corner
	edge   [][3]int32 // a face: edges corner 0 to 1, 1 to 2, 2 to 0
	edges  []meshEdge
	verts  []meshVertex // by first vertex of a place
}

type meshEdge struct {
	normal   r3.Vec // sum of the adjacent face normals
	conormal r3.Vec // open edge: unit, in the plane of its face, across the edge and away from the face
	a, b     int32  // ends, a < b
	face     int32  // lowest adjacent face with area, or -1
	open     bool   // one face only
	doubtful bool   // the pseudonormal does not give the sign: more than two faces, not wound alike, or a needle
}

type meshVertex struct {
	normal   r3.Vec   // angle-weighted sum of the adjacent face normals
	open     [2]int32 // open edges at the vertex, -1 for none; of more than two, the first two
	face     int32    // lowest adjacent face with area, or -1
	doubtful bool
}

// newTopology does the faces alone; join must follow.
func newTopology(m *Mesh) topology {
	t := topology{normal: make([]r3.Vec, len(m.F)), doubt: make([]bool, len(m.F))}
	_ = inParallel(context.Background(), len(m.F), func() func(int) {
		return func(i int) {
			t.normal[i] = m.FaceNormal(i)
			t.doubt[i] = m.thicknessMM(m.F[i]) < needleMM
		}
	})
	return t
}

// join does the vertices and the edges.
func (tp *topology) join(m *Mesh) {
	tp.corner, tp.edge = make([][3]int32, len(m.F)), make([][3]int32, len(m.F))
	tp.verts = make([]meshVertex, len(m.V))
	first := weldExact(m.V)
	for i := range tp.verts {
		tp.verts[i] = meshVertex{open: [2]int32{-1, -1}, face: -1}
	}
	for i, f := range m.F {
		tp.corner[i] = [3]int32{first[f[0]], first[f[1]], first[f[2]]}
		if tp.normal[i] == (r3.Vec{}) {
			continue
		}
		for k, v := range tp.corner[i] {
			vx := &tp.verts[v]
			vx.normal = r3.Add(vx.normal, r3.Scale(m.cornerAngle(f, k), tp.normal[i]))
			if vx.face < 0 {
				vx.face = int32(i)
			}
		}
	}
	tp.findEdges(m)
}

// needleMM is the thickness of a face below which rounding to float32, as in STL files, can turn its normal anywhere.
const needleMM = 5e-5

// thicknessMM is the least height of a face.
func (m *Mesh) thicknessMM(f [3]int32) float64 {
	a, b, c := m.V[f[0]], m.V[f[1]], m.V[f[2]]
	ab, bc, ca := r3.Sub(b, a), r3.Sub(c, b), r3.Sub(a, c)
	longest := math.Sqrt(max(r3.Norm2(ab), r3.Norm2(bc), r3.Norm2(ca)))
	if longest == 0 {
		return 0
	}
	return r3.Norm(r3.Cross(ab, ca)) / longest
}

// A side is one edge of one face.
type side struct{ lo, hi, face, k int32 }

// findEdges pairs the sides of the faces and marks the vertices on open and doubtful edges.
func (tp *topology) findEdges(m *Mesh) {
	sides := make([]side, 0, 3*len(m.F))
	for i, c := range tp.corner {
		if c[0] == c[1] || c[1] == c[2] || c[2] == c[0] {
			continue // nothing to pair: the other two sides are the same edge
		}
		for k := range int32(3) {
			u, v := c[k], c[(k+1)%3]
			sides = append(sides, side{min(u, v), max(u, v), int32(i), k})
		}
	}
	sides = sortedSides(sides, len(m.V))
	tp.edges = make([]meshEdge, 0, len(sides)/2+1)
	for len(sides) > 0 {
		n := 1
		for n < len(sides) && sides[n].lo == sides[0].lo && sides[n].hi == sides[0].hi {
			n++
		}
		tp.addEdge(m, sides[:n])
		sides = sides[n:]
	}
	tp.weighVertices()
}

// sortedSides orders sides by their ends, then by face: into one bucket a lower end, each of a few.
func sortedSides(sides []side, vertices int) []side {
	at := make([]int32, vertices+1)
	for _, s := range sides {
		at[s.lo+1]++
	}
	for i := range vertices {
		at[i+1] += at[i]
	}
	out := make([]side, len(sides))
	for _, s := range sides {
		out[at[s.lo]] = s
		at[s.lo]++ // ends as the start of the next bucket
	}
	from := int32(0)
	for _, to := range at[:vertices] {
		sortSides(out[from:to])
		from = to
	}
	return out
}

// sortSides orders sides by their upper end, then by face; there are few, unless a mesh is strange.
func sortSides(s []side) {
	before := func(a, b side) bool { return a.hi < b.hi || a.hi == b.hi && a.face < b.face }
	if len(s) > 24 {
		slices.SortFunc(s, func(a, b side) int { return cmp.Or(cmp.Compare(a.hi, b.hi), cmp.Compare(a.face, b.face)) })
		return
	}
	for i := 1; i < len(s); i++ {
		x, j := s[i], i
		for ; j > 0 && before(x, s[j-1]); j-- {
			s[j] = s[j-1]
		}
		s[j] = x
	}
}

// addEdge makes one edge of all the sides that lie on it.
func (tp *topology) addEdge(m *Mesh, on []side) {
	e := meshEdge{a: on[0].lo, b: on[0].hi, face: -1, open: len(on) == 1, doubtful: len(on) > 2}
	balance := 0 // sides run from a to b less sides run from b to a
	for _, s := range on {
		n := tp.normal[s.face]
		e.normal = r3.Add(e.normal, n)
		tp.edge[s.face][s.k] = int32(len(tp.edges))
		e.doubtful = e.doubtful || tp.doubt[s.face]
		if e.face < 0 && n != (r3.Vec{}) {
			e.face = s.face
		}
		from, to := tp.corner[s.face][s.k], tp.corner[s.face][(s.k+1)%3]
		if from == e.a {
			balance++
		} else {
			balance--
		}
		if e.open {
			e.conormal = unit(r3.Cross(r3.Sub(m.V[to], m.V[from]), n))
		}
	}
	if len(on) == 2 && balance != 0 {
		e.doubtful = true
	}
	tp.edges = append(tp.edges, e)
}

func (tp *topology) weighVertices() {
	for i, e := range tp.edges {
		for _, v := range [2]int32{e.a, e.b} {
			vx := &tp.verts[v]
			vx.doubtful = vx.doubtful || e.doubtful
			if !e.open {
				continue
			}
			if vx.open[0] < 0 {
				vx.open[0] = int32(i)
			} else if vx.open[1] < 0 {
				vx.open[1] = int32(i)
			}
		}
	}
}
