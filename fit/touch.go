package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A touch is what a wall is to one sample: signed distance, the directions in which the wall pushes back when the sample
// moves (the first one is the inward normal), the wall's face and foundation and, near an open edge, how much of the wall
// is left.
type touch struct {
	d     float64
	along [3]r3.Vec
	dirs  int
	face  int32
	share float64
	k     float64 // foundation, N/mm³; set where d < 0
}

// openEdgeMM is over how much a wall fades out past its open edge.
const openEdgeMM = 1.0

// look is the wall beside sample i at p; ok is false when there is none.
func (s *seating) look(i int, p r3.Vec) (t touch, ok bool) {
	s.seen[i] = p
	if !s.exact {
		f := s.walls.Field.At(p)
		s.known[i], s.sure[i] = f.D-s.walls.Field.ErrorMM(), 0
		if f.Known {
			s.sure[i] = f.D - s.walls.Field.BoundMM() - openEdgeMM
		}
		l := math.Sqrt(r3.Norm2(f.Grad))
		if !f.Known || l < 1e-9 {
			return t, false
		}
		s.hint[i] = f.Face
		t = touch{d: f.D, along: [3]r3.Vec{r3.Scale(1/l, f.Grad)}, dirs: 1, face: f.Face, share: 1}
		if f.D < 0 {
			t.k = s.stiffness(f.Face, r3.Sub(p, r3.Scale(f.D, t.along[0])))
		}
		return t, true
	}
	h := s.walls.Tree.NearestFrom(p, s.hint[i])
	s.hint[i] = h.Face
	s.known[i] = h.Signed
	t = touch{d: h.Signed, along: [3]r3.Vec{h.Normal}, dirs: 1, face: h.Face, share: 1}
	if h.Beyond {
		n := r3.Scale(-1, s.walls.Tree.Mesh().FaceNormal(int(h.Face)))
		v := r3.Sub(p, h.Point)
		t.d, t.along[0] = r3.Dot(v, n), n
		t.share = 1 - r3.Norm(r3.Sub(v, r3.Scale(t.d, n)))/openEdgeMM
		s.known[i] = math.Max(0, h.Signed-openEdgeMM)
		if t.d < 0 {
			t.k = s.stiffness(h.Face, h.Point)
		}
		return t, t.share > 0
	}
	if h.Signed < 0 {
		t.k = s.stiffness(h.Face, h.Point)
		s.addEdgeDirections(&t, h)
	}
	return t, true
}

// addEdgeDirections completes the directions of a sample whose nearest wall point lies on an edge or a corner: there the
// wall pushes back like a line or a point, not like a plane, which makes the second derivative of the distance exact on
// a mesh.
func (s *seating) addEdgeDirections(t *touch, h mesh.Hit) {
	m := s.walls.Tree.Mesh()
	f := m.F[h.Face]
	const onIt = 1e-7 // of the edge's length or the face's height: a rounding error away
	n := 0
	var edge r3.Vec
	for k := range 3 {
		a, b := m.V[f[(k+1)%3]], m.V[f[(k+2)%3]]
		e := r3.Sub(b, a)
		l := r3.Norm(e)
		if l == 0 {
			return
		}
		if r3.Norm(r3.Cross(r3.Sub(h.Point, a), e))/(l*l) < onIt {
			n++
			edge = r3.Scale(1/l, e)
		}
	}
	switch n {
	case 0:
	case 1:
		t.along[1] = r3.Cross(edge, t.along[0])
		t.dirs = 2
	default:
		q := r3.Vec{X: 1}
		if math.Abs(t.along[0].X) > 0.7 {
			q = r3.Vec{Y: 1}
		}
		t.along[1] = r3.Unit(r3.Cross(t.along[0], q))
		t.along[2] = r3.Cross(t.along[0], t.along[1])
		t.dirs = 3
	}
}

// stiffness is the foundation at point q of a face of the wall.
func (s *seating) stiffness(face int32, q r3.Vec) float64 {
	at := s.walls.Stiffness
	if at == nil {
		return s.walls.Uniform
	}
	m := s.walls.Tree.Mesh()
	w := corners(m, face, q)
	f := m.F[face]
	return w[0]*at[f[0]] + w[1]*at[f[1]] + w[2]*at[f[2]]
}

// corners are the shares of a face's corners in a point of it, by area; the first corner's alone where it has no area.
func corners(m *mesh.Mesh, face int32, q r3.Vec) [3]float64 {
	f := m.F[face]
	corner := [3]r3.Vec{m.V[f[0]], m.V[f[1]], m.V[f[2]]}
	n := r3.Cross(r3.Sub(corner[1], corner[0]), r3.Sub(corner[2], corner[0]))
	area := r3.Dot(n, n)
	if area == 0 {
		return [3]float64{1, 0, 0}
	}
	var w [3]float64
	whole := 0.0
	for i := range 3 {
		part := r3.Dot(r3.Cross(r3.Sub(corner[(i+1)%3], q), r3.Sub(corner[(i+2)%3], q)), n) / area
		w[i] = math.Min(1, math.Max(0, part))
		whole += w[i]
	}
	for i := range w {
		w[i] /= whole
	}
	return w
}

// contact calls f for each sample that overlaps a wall that pushes, with the stiffness of its patch in N/mm: foundation ×
// the sample's area as the wall sees it.
func (s *seating) contact(pose mesh.Pose, f func(i int, p r3.Vec, t *touch, stiff float64)) {
	move := pose.Motion()
	for i := range s.body.Samples {
		m := &s.body.Samples[i]
		p := move.Apply(&m.P)
		if k := s.known[i]; k > 0 && k*k > r3.Norm2(r3.Sub(p, s.seen[i])) {
			continue // the distance changes by no more than the sample moves: it can't touch
		}
		t, ok := s.look(i, p)
		if !ok || t.d >= 0 {
			continue
		}
		stiff := s.held[i]
		if stiff == 0 {
			stiff = -t.k * s.scale * t.share * r3.Dot(pose.Rotate(m.A), t.along[0])
		}
		if stiff > 0 {
			f(i, p, &t, stiff)
		}
	}
}
