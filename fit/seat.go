package fit

import (
	"context"
	"math"

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
	// AtCreases goes on where the search comes to a halt at a crease of the energy.
	AtCreases bool
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
	WithinMM   float64 // at a crease of the energy: how far the pose is known; 0: exactly
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
	sure  []float64 // what the field is sure of: the sample was no nearer to any wall then; 0 or less: nothing
	seen  []r3.Vec  // where the sample was then
	hint  []int32   // nearest face then

	// The stiffness of each sample's patch, N/mm, kept through a round of the search from where the sample first touched;
	// 0: it has not touched. tried is that of the pose being tried.
	held, tried []float64

	n int // energy evaluations
}

// Seat lets the body come to rest among the walls. Theory: see the package comment. It never returns a half-settled
// pose as an answer: look at Status first. The cost is about 10 to 60 evaluations of the samples that can touch.
func Seat(ctx context.Context, body Body, walls Walls, opt SeatOptions) Seating {
	if len(body.Samples) == 0 {
		return Seating{Status: NoSupport, Pose: opt.Start}
	}
	s := newSeating(body, walls, opt)
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
		s.keepSure()
	}
	s.exact = true
	pose, b, status := s.descend(ctx, pose, tol, rounds, 300)
	if status == NotConverged && opt.AtCreases {
		pose, b, status = s.alongCrease(ctx, pose, tol)
	}
	if opt.RigidMM > 0 {
		for status == Converged && b.overlap > opt.RigidMM && s.scale < 1e12 {
			s.scale *= math.Min(8, 1.5*b.overlap/opt.RigidMM)
			pose, b, status = s.descend(ctx, pose, tol, rounds, 300)
		}
	}
	return s.finish(pose, b, status)
}

// newSeating is a search at its start.
func newSeating(body Body, walls Walls, opt SeatOptions) *seating {
	s := &seating{body: body, walls: walls, opt: opt, scale: 1}
	lo, hi := r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}, r3.Vec{X: math.Inf(-1), Y: math.Inf(-1), Z: math.Inf(-1)}
	for _, m := range body.Samples {
		lo = r3.Vec{X: math.Min(lo.X, m.P.X), Y: math.Min(lo.Y, m.P.Y), Z: math.Min(lo.Z, m.P.Z)}
		hi = r3.Vec{X: math.Max(hi.X, m.P.X), Y: math.Max(hi.Y, m.P.Y), Z: math.Max(hi.Z, m.P.Z)}
	}
	s.armMM = math.Max(r3.Norm(r3.Sub(hi, lo))/2, 1e-3)
	s.forget()
	return s
}

// forget makes every sample be looked at again.
func (s *seating) forget() {
	n := len(s.body.Samples)
	s.known, s.sure = make([]float64, n), make([]float64, n)
	s.seen = make([]r3.Vec, n)
	hints := s.hint
	s.held, s.tried = make([]float64, n), make([]float64, n)
	s.hint = make([]int32, n)
	for i := range s.hint {
		s.hint[i] = -1
	}
	copy(s.hint, hints)
}

// keepSure forgets all that the field told but what is sure of it: how far each sample was from any wall at the least when it was
// looked at last, where the field knew.
func (s *seating) keepSure() {
	sure, seen := s.sure, s.seen
	s.forget()
	for i, d := range sure {
		if d > 0 {
			s.known[i], s.seen[i] = d, seen[i]
		}
	}
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
		MinGapMM: math.Inf(1), Iterations: s.n, WithinMM: b.within,
	}
	if b.within > 0 {
		out.ResidualN = b.unbalanced
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
