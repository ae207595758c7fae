package mesh

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

// A Mesh is an indexed triangle mesh. Coordinates are millimetres. The corners of a face run counterclockwise when
// seen from the side its normal points to; for a solid that is outside, for a room it is out of the room, into the
// wall. Tag, when not nil, has one label a face; what labels mean is the business of whoever made the mesh.
//
// The zero value is an empty mesh. Methods other than Validate expect a mesh that Validate accepts.
type Mesh struct {
	V   []r3.Vec
	F   [][3]int32
	Tag []uint8
}

// Validate checks what came from outside: indices in range, coordinates finite, one tag a face or none at all.
func (m *Mesh) Validate() error {
	for i, v := range m.V {
		if !finite(v) {
			return problem.Problem{
				Field: fmt.Sprintf("vertex %d", i), Value: fmt.Sprint(v),
				Limit: "coordinates must be finite numbers", Mend: "export the mesh again",
			}
		}
	}
	for i, f := range m.F {
		for _, v := range f {
			if v < 0 || int(v) >= len(m.V) {
				return problem.Problem{
					Field: fmt.Sprintf("face %d", i), Value: fmt.Sprintf("vertex index %d", v),
					Limit: fmt.Sprintf("0 to %d", len(m.V)-1), Mend: "export the mesh again",
				}
			}
		}
	}
	if m.Tag != nil && len(m.Tag) != len(m.F) {
		return problem.Problem{
			Field: "tags", Value: fmt.Sprint(len(m.Tag)),
			Limit: fmt.Sprintf("one a face, %d", len(m.F)), Mend: "give each face a tag, or none at all",
		}
	}
	return nil
}

// Closed is nil when every directed edge has exactly one opposite, that is, when the faces bound a volume and are
// all wound the same way. Otherwise the error counts the edges that break the rule and names the first. Edges are
// compared by vertex index: weld a triangle soup first.
func (m *Mesh) Closed() error {
	uses := make(map[[2]int32]int32, 3*len(m.F))
	for _, f := range m.F {
		for k := range 3 {
			uses[[2]int32{f[k], f[(k+1)%3]}]++
		}
	}
	bad, first := 0, -1
	var a, b int32
	for i, f := range m.F {
		for k := range 3 {
			u, v := f[k], f[(k+1)%3]
			if u == v || uses[[2]int32{u, v}] != 1 || uses[[2]int32{v, u}] != 1 {
				if bad == 0 {
					first, a, b = i, u, v
				}
				bad++
			}
		}
	}
	if bad == 0 {
		return nil
	}
	return problem.Problem{
		Field: "surface",
		Value: fmt.Sprintf("%d of %d edges open, doubled or turned round, first edge %d-%d of face %d near %.3g %.3g %.3g mm",
			bad, 3*len(m.F), a, b, first, m.V[a].X, m.V[a].Y, m.V[a].Z),
		Limit: "each edge must be shared by exactly two faces wound the same way",
		Mend:  "close the holes and make the normals agree",
	}
}

// Bounds is the axis-parallel box of the vertices; the zero box for an empty mesh.
func (m *Mesh) Bounds() r3.Box {
	if len(m.V) == 0 {
		return r3.Box{}
	}
	b := r3.Box{Min: m.V[0], Max: m.V[0]}
	for _, v := range m.V[1:] {
		b.Min = r3.Vec{X: math.Min(b.Min.X, v.X), Y: math.Min(b.Min.Y, v.Y), Z: math.Min(b.Min.Z, v.Z)}
		b.Max = r3.Vec{X: math.Max(b.Max.X, v.X), Y: math.Max(b.Max.Y, v.Y), Z: math.Max(b.Max.Z, v.Z)}
	}
	return b
}

// areaVector is half the cross product of two edges: its length is the area in mm², its direction the normal.
func (m *Mesh) areaVector(i int) r3.Vec {
	f := m.F[i]
	a := m.V[f[0]]
	return r3.Scale(0.5, r3.Cross(r3.Sub(m.V[f[1]], a), r3.Sub(m.V[f[2]], a)))
}

// FaceNormal is the unit normal of a face, or zero for a face without area.
func (m *Mesh) FaceNormal(i int) r3.Vec { return unit(m.areaVector(i)) }

// FaceArea is the area of a face in mm².
func (m *Mesh) FaceArea(i int) float64 { return r3.Norm(m.areaVector(i)) }

// Area is the area of all faces in mm².
func (m *Mesh) Area() float64 {
	var sum float64
	for i := range m.F {
		sum += m.FaceArea(i)
	}
	return sum
}

// Volume is the volume in mm³ bounded by a closed mesh, positive when the normals point out of it (divergence
// theorem). It means nothing for an open mesh.
func (m *Mesh) Volume() float64 {
	c := r3.Scale(0.5, r3.Add(m.Bounds().Min, m.Bounds().Max))
	var sum float64
	for i, f := range m.F {
		sum += r3.Dot(r3.Sub(m.V[f[0]], c), m.areaVector(i))
	}
	return sum / 3
}

// Centroid is the centre of area of the surface in mm; the centre of Bounds when there is no area.
func (m *Mesh) Centroid() r3.Vec {
	b := m.Bounds()
	centre := r3.Scale(0.5, r3.Add(b.Min, b.Max))
	var sum r3.Vec
	var area float64
	for i, f := range m.F {
		a := m.FaceArea(i)
		area += a
		for _, v := range f {
			sum = r3.Add(sum, r3.Scale(a/3, r3.Sub(m.V[v], centre)))
		}
	}
	if area == 0 {
		return centre
	}
	return r3.Add(centre, r3.Scale(1/area, sum))
}

// VertexNormals are the angle-weighted unit normals of the vertices (Bærentzen & Aanæs 2005); zero for a vertex
// without faces or whose normals cancel.
func (m *Mesh) VertexNormals() []r3.Vec {
	n := make([]r3.Vec, len(m.V))
	for i, f := range m.F {
		fn := m.FaceNormal(i)
		for k := range 3 {
			n[f[k]] = r3.Add(n[f[k]], r3.Scale(m.cornerAngle(f, k), fn))
		}
	}
	for i := range n {
		n[i] = unit(n[i])
	}
	return n
}

// cornerAngle is the angle in radians of face f at its corner k.
func (m *Mesh) cornerAngle(f [3]int32, k int) float64 {
	a := m.V[f[k]]
	u, v := r3.Sub(m.V[f[(k+1)%3]], a), r3.Sub(m.V[f[(k+2)%3]], a)
	return math.Atan2(math.Sqrt(r3.Norm2(r3.Cross(u, v))), r3.Dot(u, v))
}

// Clone is a copy that shares nothing with m.
func (m *Mesh) Clone() *Mesh {
	c := &Mesh{V: append([]r3.Vec(nil), m.V...), F: append([][3]int32(nil), m.F...)}
	if m.Tag != nil {
		c.Tag = append([]uint8{}, m.Tag...)
	}
	return c
}

// Transformed is a copy moved by p.
func (m *Mesh) Transformed(p Pose) *Mesh {
	c := m.Clone()
	for i, v := range c.V {
		c.V[i] = p.Apply(v)
	}
	return c
}

// MirroredY is the mirror image in the plane Y = 0, with the faces turned round so that normals stay outside.
func (m *Mesh) MirroredY() *Mesh {
	c := m.Clone()
	for i := range c.V {
		c.V[i].Y = -c.V[i].Y
	}
	for i, f := range c.F {
		c.F[i] = [3]int32{f[0], f[2], f[1]}
	}
	return c
}

// Append adds the vertices and faces of o; nothing is welded. When only one of the two has tags, the other's faces
// get tag 0.
func (m *Mesh) Append(o *Mesh) {
	switch {
	case m.Tag == nil && o.Tag != nil:
		m.Tag = append(make([]uint8, len(m.F), len(m.F)+len(o.F)), o.Tag...)
	case m.Tag != nil && o.Tag == nil:
		m.Tag = append(m.Tag, make([]uint8, len(o.F))...)
	case m.Tag != nil:
		m.Tag = append(m.Tag, o.Tag...)
	}
	base := int32(len(m.V))
	m.V = append(m.V, o.V...)
	for _, f := range o.F {
		m.F = append(m.F, [3]int32{f[0] + base, f[1] + base, f[2] + base})
	}
}

// Subset has the faces that keep says yes to, and only the vertices that they use, both in their order.
func (m *Mesh) Subset(keep func(face int) bool) *Mesh {
	s := &Mesh{}
	if m.Tag != nil {
		s.Tag = []uint8{}
	}
	to := make([]int32, len(m.V)) // index in s, once all are counted
	for i, f := range m.F {
		if !keep(i) {
			continue
		}
		s.F = append(s.F, f)
		if m.Tag != nil {
			s.Tag = append(s.Tag, m.Tag[i])
		}
		to[f[0]], to[f[1]], to[f[2]] = 1, 1, 1
	}
	for i, v := range m.V {
		if to[i] == 1 {
			to[i] = int32(len(s.V))
			s.V = append(s.V, v)
		}
	}
	for i, f := range s.F {
		s.F[i] = [3]int32{to[f[0]], to[f[1]], to[f[2]]}
	}
	return s
}

func (m *Mesh) tag(face int) uint8 {
	if m.Tag == nil {
		return 0
	}
	return m.Tag[face]
}

// unit is v over its length, and zero for zero (r3.Unit gives NaN).
func unit(v r3.Vec) r3.Vec {
	n := math.Sqrt(r3.Norm2(v))
	if !(n > 1e-140 && n < 1e140) { // its square is not to be had
		if n = r3.Norm(v); n == 0 {
			return r3.Vec{}
		}
	}
	return r3.Scale(1/n, v)
}

func finite(v r3.Vec) bool {
	s := v.X - v.X + v.Y - v.Y + v.Z - v.Z // NaN for any NaN or infinity
	return s == 0
}
