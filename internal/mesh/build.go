package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Builder collects vertices and faces. Faces with two corners of the same index or in the same place are dropped,
// so that rows of quads may run together in a pole. The zero value is ready.
type Builder struct {
	m Mesh
}

// AddVertex adds a vertex and returns its index.
func (b *Builder) AddVertex(v r3.Vec) int32 {
	b.m.V = append(b.m.V, v)
	return int32(len(b.m.V) - 1)
}

// AddTriangle adds a face; corners counterclockwise seen from outside.
func (b *Builder) AddTriangle(p, q, r int32, tag uint8) {
	v := b.m.V
	if v[p] == v[q] || v[q] == v[r] || v[r] == v[p] {
		return
	}
	b.m.F = append(b.m.F, [3]int32{p, q, r})
	b.m.Tag = append(b.m.Tag, tag)
}

// AddQuad adds two faces; corners in order, counterclockwise seen from outside. The quad is cut along the diagonal
// that does not fold it, the shorter one when neither does (p–r on a tie), so a mirrored quad is cut the same way.
func (b *Builder) AddQuad(p, q, r, s int32, tag uint8) {
	if splitAlongFirst(b.m.V[p], b.m.V[q], b.m.V[r], b.m.V[s]) {
		b.AddTriangle(p, q, r, tag)
		b.AddTriangle(p, r, s, tag)
		return
	}
	b.AddTriangle(q, r, s, tag)
	b.AddTriangle(q, s, p, tag)
}

// splitAlongFirst says whether the quad p q r s is better cut along p–r than along q–s.
func splitAlongFirst(p, q, r, s r3.Vec) bool {
	// A cut folds the quad when the normals of its two halves point against each other.
	fold := func(a, b, c, d r3.Vec) bool {
		n1, n2 := r3.Cross(r3.Sub(b, a), r3.Sub(c, a)), r3.Cross(r3.Sub(c, a), r3.Sub(d, a))
		return r3.Dot(n1, n2) < 0
	}
	f1, f2 := fold(p, q, r, s), fold(q, r, s, p)
	if f1 != f2 {
		return f2
	}
	return r3.Norm2(r3.Sub(p, r)) <= r3.Norm2(r3.Sub(q, s))*(1+1e-9)
}

// Mesh is the mesh built so far. The builder must not be used after it.
func (b *Builder) Mesh() *Mesh { return &b.m }

// Welded is a copy in which each vertex closer than tolMM to an earlier one that was kept is replaced by it; faces
// that lose a corner by this are dropped, tags are kept, and so are faces without area whose corners are distinct
// (dropping those would open the mesh). tolMM 0 merges equal coordinates only. Unused vertices are dropped.
func (m *Mesh) Welded(tolMM float64) *Mesh {
	to := weldExact(m.V)
	if tolMM > 0 {
		to = weldNear(m.V, to, tolMM)
	}
	w := &Mesh{V: m.V, F: make([][3]int32, 0, len(m.F))}
	if m.Tag != nil {
		w.Tag = make([]uint8, 0, len(m.F))
	}
	for i, f := range m.F {
		g := [3]int32{to[f[0]], to[f[1]], to[f[2]]}
		if g[0] == g[1] || g[1] == g[2] || g[2] == g[0] {
			continue
		}
		w.F = append(w.F, g)
		if m.Tag != nil {
			w.Tag = append(w.Tag, m.Tag[i])
		}
	}
	return w.Subset(func(int) bool { return true })
}

// weldExact maps each vertex to the first one with the same coordinates.
func weldExact(v []r3.Vec) []int32 {
	to := make([]int32, len(v))
	first := newVertexTable(len(v), byPlace)
	for i, p := range v {
		s := first.find(v, byPlace(p))
		if *s == 0 {
			first.put(s, int32(i))
		}
		to[i] = *s - 1
	}
	return to
}

// weldNear maps each vertex on to the first kept one closer than tol; to is the map by equal coordinates. Kept
// vertices are found by a hash of cubes eight tolerances wide, so that most look-ups touch one cube.
func weldNear(v []r3.Vec, to []int32, tol float64) []int32 {
	cell := 8 * tol
	at := func(x float64) int64 { return int64(math.Floor(math.Min(math.Max(x/cell, -1e18), 1e18))) }
	cube := func(p r3.Vec) [3]uint64 { return [3]uint64{uint64(at(p.X)), uint64(at(p.Y)), uint64(at(p.Z))} }
	heads := newVertexTable(len(v), cube) // the last kept vertex of each cube
	next := make([]int32, len(v))         // 1 + the one kept before it there
	near := make([]int32, len(v))
	for i, p := range v {
		if int(to[i]) != i {
			near[i] = near[to[i]]
			continue
		}
		best := int32(i)
		lo := [3]int64{at(p.X - tol), at(p.Y - tol), at(p.Z - tol)}
		hi := [3]int64{at(p.X + tol), at(p.Y + tol), at(p.Z + tol)}
		for x := lo[0]; x <= hi[0]; x++ {
			for y := lo[1]; y <= hi[1]; y++ {
				for z := lo[2]; z <= hi[2]; z++ {
					for k := *heads.find(v, [3]uint64{uint64(x), uint64(y), uint64(z)}); k != 0; k = next[k-1] {
						if k-1 < best && r3.Norm2(r3.Sub(v[k-1], p)) < tol*tol {
							best = k - 1
						}
					}
				}
			}
		}
		near[i] = best
		if int(best) == i {
			s := heads.find(v, cube(p))
			next[i] = *s
			heads.put(s, int32(i))
		}
	}
	return near
}
