package fit

import (
	"context"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A Body is what is seated: its surface samples in its own frame, and the point of it about which turns are counted.
type Body struct {
	Samples []mesh.Sample
	Centre  r3.Vec
}

// NewBody samples a mesh for seating: its edges are split until the samples lie about a hundredth of its size apart.
func NewBody(m *mesh.Mesh) Body {
	const mostSamples = 20_000
	spacing := math.Max(math.Sqrt(m.Area()/mostSamples), 0.05)
	fine := m.Refined(func(_, _ r3.Vec) float64 { return 2 * spacing })
	return Body{Samples: mesh.Samples(fine), Centre: m.Centroid()}
}

// A Load is a dead force (its direction stays fixed in the room) that acts at a point fixed in the body. N, mm.
type Load struct {
	ForceN r3.Vec
	At     r3.Vec
}

// A Hold is friction that keeps a point of the body where it started, in one direction of the room: a spring that gives
// way when it carries MostN. N/mm, N.
type Hold struct {
	At     r3.Vec // body frame
	Along  r3.Vec // unit, room frame
	NPerMM float64
	MostN  float64
}

// Walls is what the body is seated among: the exact tree, and, when not nil, the sampled field of the same mesh that
// brings the body near before the exact tree has the last word.
type Walls struct {
	Tree  *mesh.Tree
	Field *mesh.Field
	// Stiffness is the foundation at each vertex of the wall's mesh, N/mm³: the pressure that one millimetre of overlap
	// raises; between vertices it changes linearly. Nil: Uniform everywhere.
	Stiffness []float64
	Uniform   float64
}

// SeatOptions says how a seating is done. The zero value starts where the body is given, without loads.
type SeatOptions struct {
	Start mesh.Pose
	Loads []Load
	Holds []Hold
	// RigidMM, when above zero, stiffens the foundation until no sample overlaps by more than it, so that the rest
	// pose is that of rigid bodies. Zero keeps the stiffness given.
	RigidMM float64
	// ToleranceN is the unbalanced force at which the pose counts as balanced; 0 means 1e-4 of the load.
	ToleranceN float64
}

// A Seating is the outcome: where the body rests, and how the search ended. Only Converged is an answer.
type Seating struct {
	Status     Status
	Pose       mesh.Pose // roomFromBody
	ResidualN  float64   // length of the unbalanced force, moments counted by the body's half length
	EnergyNMM  float64
	MaxOverlap float64 // mm
	MinGapMM   float64 // smallest exact signed distance of any sample that has a wall beside it
	Iterations int
	Contacts   []Contact
}

// A Contact is one sample under a wall at the rest pose: room frame, mm and N.
type Contact struct {
	Sample    int
	P, ForceN r3.Vec
	OverlapMM float64
	Face      int32 // of the wall
}

// WallForce is the sum of what the walls push back with, N.
func (s *Seating) WallForce() r3.Vec {
	var f r3.Vec
	for _, c := range s.Contacts {
		f = r3.Add(f, c.ForceN)
	}
	return f
}

// seating is the running state of one search.
type seating struct {
	body  Body
	walls Walls
	opt   SeatOptions

	armMM float64 // half length of the body: turns moments into forces
	scale float64 // what the stiffness is multiplied by
	exact bool

	known []float64 // signed distance at the last look, or 0 when it must be looked at
	seen  []r3.Vec  // where the sample was then
	hint  []int32   // nearest face then

	// The stiffness of each sample's patch, N/mm, kept through a round of the search from where the sample first touched;
	// 0: it has not touched. tried is that of the pose being tried.
	held, tried []float64

	n int // energy evaluations
}

// vec6 is a translation and a rotation vector scaled by the arm, so that all six are millimetres.
type vec6 [6]float64

// balance is the energy at a pose with its derivatives.
type balance struct {
	energy   float64
	grad     vec6
	hess     [6][6]float64 // upper half
	overlap  float64
	pushes   float64 // sum of the sizes of the walls' forces, N
	touching int
}

// Seat lets the body come to rest among the walls. Theory: see the package comment. It never returns a half-settled
// pose as an answer: look at Status first. The cost is about 10 to 60 evaluations of the samples that can touch.
func Seat(ctx context.Context, body Body, walls Walls, opt SeatOptions) Seating {
	s := &seating{body: body, walls: walls, opt: opt, scale: 1}
	lo, hi := r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}, r3.Vec{X: math.Inf(-1), Y: math.Inf(-1), Z: math.Inf(-1)}
	for _, m := range body.Samples {
		lo = r3.Vec{X: math.Min(lo.X, m.P.X), Y: math.Min(lo.Y, m.P.Y), Z: math.Min(lo.Z, m.P.Z)}
		hi = r3.Vec{X: math.Max(hi.X, m.P.X), Y: math.Max(hi.Y, m.P.Y), Z: math.Max(hi.Z, m.P.Z)}
	}
	s.armMM = math.Max(r3.Norm(r3.Sub(hi, lo))/2, 1e-3)
	s.forget()
	loadN := 0.0
	for _, l := range opt.Loads {
		loadN += r3.Norm(l.ForceN)
	}
	tol := opt.ToleranceN
	if tol <= 0 {
		tol = 1e-4 * math.Max(loadN, 1e-9)
	}

	pose := opt.Start
	if walls.Field != nil {
		pose, _, _ = s.descend(ctx, pose, math.Max(tol, 1e-3*loadN), 2, 40)
		s.forget()
	}
	s.exact = true
	pose, b, status := s.descend(ctx, pose, tol, rounds, 300)
	if opt.RigidMM > 0 {
		for status == Converged && b.overlap > opt.RigidMM && s.scale < 1e12 {
			s.scale *= math.Min(8, 1.5*b.overlap/opt.RigidMM)
			pose, b, status = s.descend(ctx, pose, tol, rounds, 300)
		}
	}
	return s.finish(pose, b, status)
}

// forget makes every sample be looked at again.
func (s *seating) forget() {
	n := len(s.body.Samples)
	s.known = make([]float64, n)
	s.seen = make([]r3.Vec, n)
	hints := s.hint
	s.held, s.tried = make([]float64, n), make([]float64, n)
	s.hint = make([]int32, n)
	for i := range s.hint {
		s.hint[i] = -1
	}
	copy(s.hint, hints)
}

// A touch is what a wall is to one sample: signed distance, the directions in which the wall pushes back when the sample
// moves (the first one is the inward normal), the wall's face and foundation and, near an open edge, how much of the wall
// is left.
type touch struct {
	d     float64
	along [3]r3.Vec
	dirs  int
	face  int32
	share float64

	// The rest is set where d < 0.
	k float64 // foundation, N/mm³
}

// openEdgeMM is over how much a wall fades out past its open edge.
const openEdgeMM = 1.0

// look is the wall beside sample i at p; ok is false when there is none.
func (s *seating) look(i int, p r3.Vec) (t touch, ok bool) {
	s.seen[i] = p
	if !s.exact {
		f := s.walls.Field.At(p)
		s.known[i] = f.D - s.walls.Field.ErrorMM()
		l := r3.Norm(f.Grad)
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
	f := m.F[face]
	corner := [3]r3.Vec{m.V[f[0]], m.V[f[1]], m.V[f[2]]}
	n := r3.Cross(r3.Sub(corner[1], corner[0]), r3.Sub(corner[2], corner[0]))
	area := r3.Dot(n, n)
	if area == 0 {
		return at[f[0]]
	}
	k, whole := 0.0, 0.0
	for i := range 3 {
		part := r3.Dot(r3.Cross(r3.Sub(corner[(i+1)%3], q), r3.Sub(corner[(i+2)%3], q)), n) / area
		part = math.Min(1, math.Max(0, part))
		k += part * at[f[i]]
		whole += part
	}
	return k / whole
}

// contact calls f for each sample that overlaps a wall that pushes, with the stiffness of its patch in N/mm: foundation ×
// the sample's area as the wall sees it.
func (s *seating) contact(pose mesh.Pose, f func(i int, p r3.Vec, t *touch, stiff float64)) {
	for i := range s.body.Samples {
		m := &s.body.Samples[i]
		p := pose.Apply(m.P)
		if s.known[i] > 0 && s.known[i] > r3.Norm(r3.Sub(p, s.seen[i])) {
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

// at evaluates energy, gradient and Hessian at a pose.
func (s *seating) at(pose mesh.Pose) balance {
	s.n++
	var b balance
	c := pose.Apply(s.body.Centre)
	arm := s.armMM
	// turn adds the second-order effect of turning a force about the centre (see the package comment).
	turn := func(f, r r3.Vec) {
		fr := r3.Dot(f, r)
		F, R := [3]float64{f.X, f.Y, f.Z}, [3]float64{r.X, r.Y, r.Z}
		for i := range 3 {
			for j := range 3 {
				h := -(F[i]*R[j] + R[i]*F[j]) / 2
				if i == j {
					h += fr
				}
				b.hess[3+i][3+j] += h / (arm * arm)
			}
		}
	}
	act := func(f, r r3.Vec) { // a force f on the body at lever r
		m := r3.Scale(1/arm, r3.Cross(r, f))
		for i, v := range [6]float64{f.X, f.Y, f.Z, m.X, m.Y, m.Z} {
			b.grad[i] -= v
		}
	}
	for _, l := range s.opt.Loads {
		p := pose.Apply(l.At)
		b.energy -= r3.Dot(l.ForceN, p)
		r := r3.Sub(p, c)
		act(l.ForceN, r)
		turn(l.ForceN, r)
	}
	stretch := func(n, r r3.Vec, stiff float64) { // the second derivative of a spring along n at lever r
		m := r3.Scale(1/arm, r3.Cross(r, n))
		j := [6]float64{n.X, n.Y, n.Z, m.X, m.Y, m.Z}
		for a := range 6 {
			for e := a; e < 6; e++ {
				b.hess[a][e] += stiff * j[a] * j[e]
			}
		}
	}
	for _, h := range s.opt.Holds {
		p := pose.Apply(h.At)
		x := r3.Dot(r3.Sub(p, s.opt.Start.Apply(h.At)), h.Along)
		r := r3.Sub(p, c)
		if force := h.NPerMM * math.Abs(x); force <= h.MostN {
			b.energy += force * math.Abs(x) / 2
			act(r3.Scale(-h.NPerMM*x, h.Along), r)
			stretch(h.Along, r, h.NPerMM)
		} else { // it slips
			b.energy += h.MostN * (math.Abs(x) - h.MostN/h.NPerMM/2)
			act(r3.Scale(-h.MostN*math.Copysign(1, x), h.Along), r)
		}
	}
	clear(s.tried)
	s.contact(pose, func(i int, p r3.Vec, t *touch, stiff float64) {
		s.tried[i] = stiff
		b.touching++
		b.overlap = math.Max(b.overlap, -t.d)
		b.energy += stiff * t.d * t.d / 2
		b.pushes -= stiff * t.d
		r := r3.Sub(p, c)
		f := r3.Scale(-stiff*t.d, t.along[0])
		act(f, r)
		turn(f, r)
		for _, n := range t.along[:t.dirs] {
			stretch(n, r, stiff)
		}
	})
	return b
}

func (v vec6) norm() float64 {
	t := 0.0
	for _, x := range v {
		t += x * x
	}
	return math.Sqrt(t)
}

// moved is the pose after a step (translation, rotation vector × arm) about the body's centre.
func (s *seating) moved(pose mesh.Pose, step vec6) mesh.Pose {
	c := pose.Apply(s.body.Centre)
	w := r3.Vec{X: step[3] / s.armMM, Y: step[4] / s.armMM, Z: step[5] / s.armMM}
	return mesh.PoseAbout(c, w, r3.Vec{X: step[0], Y: step[1], Z: step[2]}).Compose(pose)
}

const (
	stepLimitMM = 2.0 // largest step of one iteration, mm of any of the six

	// Where a sample deep in a wall is as near to one side of a bulge as to the other, its push jumps, and the lowest energy
	// may lie at the jump. There the search comes to a halt: no step of stallSteps lowers the energy by more than
	// stallShare of itself. That is a balance when what is left is no more than jumpShare of what the walls push.
	stallSteps = 12
	rounds     = 8
	stallShare = 1e-6
	jumpShare  = 0.02
)

// descend is a damped Newton method on six unknowns, in rounds: within a round each sample keeps the stiffness with which
// it first touched, so that the forces are the slope of the energy; the next round looks at all of them again. A step counts
// when it lowers the energy or the unbalanced force; the second lets the body stop at the first balance that it comes to,
// which friction would keep, instead of running off it for a rounding error.
func (s *seating) descend(ctx context.Context, pose mesh.Pose, tol float64, rounds, most int) (mesh.Pose, balance, Status) {
	start := pose.Apply(s.body.Centre)
	var b balance
	for range rounds {
		clear(s.held)
		b = s.at(pose)
		if b.grad.norm() <= tol {
			return pose, b, Converged
		}
		s.keep()
		damping := 1e-3
		low, since := math.Inf(1), 0
		for range most {
			if ctx.Err() != nil {
				return pose, b, Stopped
			}
			if b.grad.norm() <= tol/2 {
				break
			}
			if r3.Norm(r3.Sub(pose.Apply(s.body.Centre), start)) > 40*s.armMM || (b.touching == 0 && s.unsupported(pose)) {
				return pose, b, NoSupport
			}
			if math.IsInf(low, 1) || b.energy < low-stallShare*math.Abs(low) {
				low, since = b.energy, 0
			} else if since++; since > stallSteps {
				break
			}
			var moved bool
			if pose, b, moved = s.step(pose, b, &damping); !moved {
				break
			}
			s.keep()
		}
	}
	clear(s.held)
	b = s.at(pose)
	if b.grad.norm() <= math.Max(tol, jumpShare*b.pushes) {
		return pose, b, Converged
	}
	return pose, b, NotConverged
}

// keep holds the stiffness of the samples that touch at the pose last tried.
func (s *seating) keep() {
	for i, k := range s.tried {
		if s.held[i] == 0 {
			s.held[i] = k
		}
	}
}

// step tries Newton steps with growing damping until one counts.
func (s *seating) step(pose mesh.Pose, b balance, damping *float64) (mesh.Pose, balance, bool) {
	const tries = 40
	for range tries {
		if step, ok := newtonStep(&b, *damping); ok {
			if m := step.norm(); m > stepLimitMM {
				for i := range step {
					step[i] *= stepLimitMM / m
				}
			}
			next := s.moved(pose, step)
			nb := s.at(next)
			lower := nb.energy < b.energy-1e-12*math.Abs(b.energy)
			calmer := nb.grad.norm() < 0.9*b.grad.norm() && nb.energy < b.energy+1e-4*math.Abs(b.energy)
			if lower || calmer {
				*damping = math.Max(*damping/5, 1e-9)
				return next, nb, true
			}
		}
		*damping *= 4
	}
	return pose, b, false
}

// newtonStep solves (H + damping·trace/6·1) step = −gradient; ok is false when that matrix is not positive definite.
func newtonStep(b *balance, damping float64) (step vec6, ok bool) {
	trace := 0.0
	for i := range 6 {
		trace += math.Abs(b.hess[i][i])
	}
	shift := damping * math.Max(trace/6, b.grad.norm()/stepLimitMM*1e-3)
	a := mat.NewSymDense(6, nil)
	g := mat.NewVecDense(6, nil)
	for i := range 6 {
		for j := i; j < 6; j++ {
			a.SetSym(i, j, b.hess[i][j])
		}
		a.SetSym(i, i, b.hess[i][i]+shift)
		g.SetVec(i, -b.grad[i])
	}
	var ch mat.Cholesky
	if !ch.Factorize(a) {
		return step, false
	}
	x := mat.NewVecDense(6, nil)
	if err := ch.SolveVecTo(x, g); err != nil {
		if _, bad := err.(mat.Condition); !bad {
			return step, false
		}
	}
	for i := range 6 {
		step[i] = x.AtVec(i)
		if math.IsNaN(step[i]) || math.IsInf(step[i], 0) {
			return step, false
		}
	}
	return step, true
}

// unsupported says that the body has fallen past everything that could hold it.
func (s *seating) unsupported(pose mesh.Pose) bool {
	down := r3.Vec{}
	for _, l := range s.opt.Loads {
		down = r3.Add(down, l.ForceN)
	}
	if r3.Norm(down) == 0 {
		return false
	}
	down = r3.Unit(down)
	far := math.Inf(-1) // the wall's farthest reach along the load
	for _, v := range s.walls.Tree.Mesh().V {
		far = math.Max(far, r3.Dot(v, down))
	}
	for i := range s.body.Samples {
		if r3.Dot(pose.Apply(s.body.Samples[i].P), down) < far {
			return false
		}
	}
	return true
}

// finish gathers what is reported at the rest pose, from exact distances only.
func (s *seating) finish(pose mesh.Pose, b balance, status Status) Seating {
	s.exact = true
	out := Seating{
		Status: status, Pose: pose, ResidualN: b.grad.norm(), EnergyNMM: b.energy, MaxOverlap: b.overlap,
		MinGapMM: math.Inf(1), Iterations: s.n,
	}
	for i := range s.body.Samples {
		p := pose.Apply(s.body.Samples[i].P)
		if s.known[i]-r3.Norm(r3.Sub(p, s.seen[i])) > out.MinGapMM {
			continue
		}
		if t, ok := s.look(i, p); ok && t.share > 1-1e-3 {
			out.MinGapMM = math.Min(out.MinGapMM, t.d)
		}
	}
	s.contact(pose, func(i int, p r3.Vec, t *touch, stiff float64) {
		out.Contacts = append(out.Contacts, Contact{Sample: i, P: p, ForceN: r3.Scale(-stiff*t.d, t.along[0]), OverlapMM: -t.d, Face: t.face})
	})
	return out
}
