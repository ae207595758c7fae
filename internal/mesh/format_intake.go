package mesh

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

// Limits of what is read, whatever a file claims of itself: counts in headers are never a reason to allocate. They
// bound the memory too. Measured at half a million triangles, reading took at most 525 bytes a triangle at its peak when
// no two shared a corner (2.6 GB at the limit), 100 to 200 in meshes as they are.
const (
	mostTriangles = 5_000_000
	mostVertices  = 15_000_000
	mostBytes     = 1 << 30 // of a file, and of a member of an archive when unpacked
	mostCorners   = 10_000  // of a polygon
	farthest      = 1e6     // any coordinate, in the unit of the file
)

// An intake is what a reader fills: the mesh so far, the limits, and the name for its problems.
type intake struct {
	name string
	m    Mesh
	at   *vertexTable // of the corners, for forms that share no vertices

	polygons int // faces that were cut into triangles
	dropped  int // faces with fewer than three different corners
	unitMM   float64
	objects  int
}

// A place says where in a file something stands: "line 12", "vertex 7".
type place struct {
	word string
	n    int
}

func (p place) String() string { return fmt.Sprintf("%s %d", p.word, p.n) }

func (s *intake) problem(field, value, limit, mend string) error {
	return problem.Problem{File: s.name, Field: field, Value: value, Limit: limit, Mend: mend}
}

// addVertex takes one vertex.
func (s *intake) addVertex(v r3.Vec, at place) error {
	if len(s.m.V) == mostVertices {
		return s.problem("vertices", fmt.Sprintf("more than %d", mostVertices), fmt.Sprintf("at most %d", mostVertices),
			"reduce the mesh; 100000 triangles are plenty for a shoe")
	}
	for _, x := range [3]float64{v.X, v.Y, v.Z} {
		if !(math.Abs(x) <= farthest) {
			return s.problem(at.String(), fmt.Sprintf("coordinate %g", x), "finite and within ±1000000",
				"export the mesh again, in millimetres")
		}
	}
	s.m.V = append(s.m.V, v)
	return nil
}

// addTriangle takes three corners that stand for themselves and merges equal ones.
func (s *intake) addTriangle(corners [3][3]float64, at place) error {
	var f [3]int32
	for k, c := range corners {
		p := r3.Vec{X: c[0], Y: c[1], Z: c[2]}
		s.at.grow(s.m.V)
		slot := s.at.find(s.m.V, byPlace(p))
		if *slot == 0 {
			s.at.put(slot, int32(len(s.m.V)))
			if err := s.addVertex(p, at); err != nil {
				return err
			}
		}
		f[k] = *slot - 1
	}
	return s.addFace(f)
}

// addFace takes a face whose indices are known to be in range or are checked later. A face that uses a vertex twice
// is dropped.
func (s *intake) addFace(f [3]int32) error {
	if f[0] == f[1] || f[1] == f[2] || f[2] == f[0] {
		s.dropped++
		return nil
	}
	if len(s.m.F) == mostTriangles {
		return s.problem("triangles", fmt.Sprintf("more than %d", mostTriangles), fmt.Sprintf("at most %d", mostTriangles),
			"reduce the mesh; 100000 triangles are plenty for a shoe")
	}
	s.m.F = append(s.m.F, f)
	return nil
}

// addPolygon cuts a polygon into triangles. When its corners are known already, a quad is cut as AddQuad does and a polygon
// that is not convex by its ears; else it is a fan from the first corner, which is right for convex polygons.
func (s *intake) addPolygon(c []int32) error {
	if len(c) < 3 {
		s.dropped++
		return nil
	}
	if len(c) > 3 {
		s.polygons++
	}
	if len(c) > 4 && len(c) <= mostEarCorners && slices.Max(c) < int32(len(s.m.V)) {
		for _, f := range ears(s.m.V, c) {
			if err := s.addFace(f); err != nil {
				return err
			}
		}
		return nil
	}
	if n := int32(len(s.m.V)); len(c) == 4 && max(c[0], c[1], c[2], c[3]) < n {
		v := s.m.V
		if !splitAlongFirst(v[c[0]], v[c[1]], v[c[2]], v[c[3]]) {
			c = []int32{c[1], c[2], c[3], c[0]}
		}
	}
	for k := 2; k < len(c); k++ {
		if err := s.addFace([3]int32{c[0], c[k-1], c[k]}); err != nil {
			return err
		}
	}
	return nil
}

// index checks a vertex number from a file; n is how many vertices there are, first the number of the first.
func (s *intake) index(i int64, first, n int, at place) (int32, error) {
	if i < int64(first) || i >= int64(first+n) {
		limit := fmt.Sprintf("%d to %d", first, first+n-1)
		if n == 0 {
			limit = "there are no vertices before it"
		}
		return 0, s.problem(at.String(), fmt.Sprintf("vertex number %d", i), limit, "export the mesh again")
	}
	return int32(i - int64(first)), nil
}

// mesh is what was taken in, when it is any use.
func (s *intake) mesh() (*Mesh, error) {
	if len(s.m.F) == 0 {
		if len(s.m.V) > 0 && s.dropped == 0 {
			return nil, s.problem("triangles", fmt.Sprintf("0, but %d points", len(s.m.V)), "at least one",
				"let the scanning program make a surface of the points, and export that")
		}
		return nil, s.problem("triangles", "0", "at least one", "export the mesh again")
	}
	return &s.m, nil
}

// ended is the problem of a file that is over too soon, or could not be read.
func (s *intake) ended(err error, at place) error {
	if !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return unreadable(s.name, err)
	}
	return s.problem(at.String(), "end of the file", "more was due here", "the file is damaged or cut short: export or copy it again")
}

// unreadable is the problem of a file that can't be read; when reading was cancelled, that.
func unreadable(name string, err error) error {
	if ours(err) {
		return err
	}
	return problem.Problem{
		File: name, Field: "file", Value: err.Error(), Limit: "must be readable", Mend: "check the file and its disk",
	}
}

// ours says that an error needs no other words: it is a problem already, or that reading was cancelled.
func ours(err error) bool {
	var p problem.Problem
	return errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) || errors.As(err, &p)
}

// A meter passes data on, tells how far it has come, and stops when its context ends.
type meter struct {
	ctx         context.Context
	r           io.Reader
	done, total int64
	report      func(done, total float64)
}

func (m *meter) Read(p []byte) (int, error) {
	if err := m.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := m.r.Read(p)
	m.done += int64(n)
	if m.report != nil {
		m.report(float64(m.done), float64(max(m.total, m.done)))
	}
	return n, err
}

func newIntake(name string) *intake {
	return &intake{name: name, at: newVertexTable(0, byPlace), objects: 1}
}
