package fit

import (
	"context"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

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

	within     float64 // at a crease: how near the poses are, mm, of whose forces the balance is a mixture; 0: it is none
	unbalanced float64 // and the size of that mixture, N
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
