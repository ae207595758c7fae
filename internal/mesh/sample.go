package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Sample stands for the part of a surface round one vertex that has one tag.
type Sample struct {
	P      r3.Vec // the vertex, mm
	A      r3.Vec // area vector, mm²: direction outward, a third of each adjacent face of the tag
	Tag    uint8
	Vertex int32
	Crease bool // normals of faces at the vertex differ by more than 30°, whatever their tags
}

// creaseCos is the cosine of the angle between face normals above which a vertex is a crease: 30°.
var creaseCos = math.Cos(30 * math.Pi / 180)

// Samples is one sample for each vertex and tag of its faces, by vertex, then tag. The area vectors of one tag add up
// to those of its faces, so an integral over a flat patch of a function that is linear over each face is exact.
func Samples(m *Mesh) []Sample {
	at, faces := m.facesByVertex()
	area := make([]r3.Vec, len(m.F))
	normal := make([]r3.Vec, len(m.F))
	for i := range m.F {
		area[i] = m.areaVector(i)
		normal[i] = unit(area[i])
	}
	out := make([]Sample, 0, len(m.V)+len(m.V)/4)
	for v := range m.V {
		mine := faces[at[v]:at[v+1]]
		first := len(out)
		crease := creased(normal, mine)
		for _, f := range mine {
			tag := m.tag(int(f))
			k := first
			for k < len(out) && out[k].Tag < tag {
				k++
			}
			if k == len(out) || out[k].Tag != tag {
				out = append(out, Sample{})
				copy(out[k+1:], out[k:])
				out[k] = Sample{P: m.V[v], Tag: tag, Vertex: int32(v), Crease: crease}
			}
			out[k].A = r3.Add(out[k].A, r3.Scale(1.0/3, area[f]))
		}
	}
	return out
}

// creased says whether two of the faces have normals more than 30° apart; faces without area do not count.
func creased(normal []r3.Vec, faces []int32) bool {
	for i, f := range faces {
		for _, g := range faces[:i] {
			a, b := normal[f], normal[g]
			if a != (r3.Vec{}) && b != (r3.Vec{}) && r3.Dot(a, b) < creaseCos-1e-12 {
				return true
			}
		}
	}
	return false
}

// facesByVertex lists the faces at each vertex v as faces[at[v]:at[v+1]], ascending.
func (m *Mesh) facesByVertex() (at, faces []int32) {
	at = make([]int32, len(m.V)+2)
	for _, f := range m.F {
		for _, v := range f {
			at[v+2]++
		}
	}
	for i := 2; i < len(at); i++ {
		at[i] += at[i-1]
	}
	faces = make([]int32, 3*len(m.F))
	for i, f := range m.F {
		for _, v := range f {
			faces[at[v+1]] = int32(i)
			at[v+1]++
		}
	}
	return at[:len(m.V)+1], faces
}
