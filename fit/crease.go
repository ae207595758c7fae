package fit

import (
	"context"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

	"lastroom/internal/mesh"
)

// Where the energy has a crease, Newton's method comes to a halt beside it. The search then goes on by sampled gradients: see the
// package comment.
const (
	freshPoses  = 4    // looked at around the pose before each step
	firstPoses  = 40   // together at least
	mostPoses   = 300  // mixed, the latest first
	creaseMM    = 0.3  // as near they lie at most where a balance counts: so far the pose is known
	closeByMM   = 0.01 // and at last
	creaseSteps = 40
	creaseAim   = 2e-3 // of what the walls push: what the search aims to leave unbalanced at a crease
	creaseShare = 0.01 // and what may be left
)

// besideMM is how far they lie off at first, mm of any of the six.
var besideMM = []float64{0.3, 0.9, 2.7}

// alongCrease goes on from where descend came to a halt, looking the wider around the less that helps.
func (s *seating) alongCrease(ctx context.Context, pose mesh.Pose, tol float64) (at mesh.Pose, b balance, status Status) {
	for _, wide := range besideMM {
		if at, b, status = s.closeIn(ctx, pose, tol, wide); status != NotConverged {
			break
		}
	}
	return at, b, status
}

// views are poses, as steps from the one where closing in began, with the forces there.
type views struct {
	s    *seating
	from mesh.Pose
	off  []vec6
	grad []vec6
	rng  *rand.Rand
}

func (v *views) look(off vec6) balance {
	b := v.s.at(v.s.moved(v.from, off))
	v.off, v.grad = append(v.off, off), append(v.grad, b.grad)
	return b
}

// around are the forces at poses no farther than near from off, of which some are new.
func (v *views) around(off vec6, near float64) []vec6 {
	known := func() (grads []vec6) {
		for i := len(v.off) - 1; i >= 0 && len(grads) < mostPoses; i-- {
			if v.off[i].apart(&off) <= near {
				grads = append(grads, v.grad[i])
			}
		}
		return grads
	}
	for range max(freshPoses, firstPoses-len(known())) {
		beside := off
		for i := range beside {
			beside[i] += near * (2*v.rng.Float64() - 1)
		}
		v.look(beside)
	}
	return known()
}

// closeIn looks at all stiffness anew in each pose, so there is no energy to go by: see along.
func (s *seating) closeIn(ctx context.Context, pose mesh.Pose, tol, wide float64) (mesh.Pose, balance, Status) {
	clear(s.held)
	v := &views{s: s, from: pose, rng: rand.New(rand.NewPCG(7, 11))} // the same poses each time: results repeat
	var off vec6
	b := v.look(off)
	status, at, found := NotConverged, off, b // the closest balance so far
	for near := wide; near > closeByMM/2; near /= 3 {
		for steps := 0; ; steps++ {
			if ctx.Err() != nil {
				return s.moved(pose, off), b, Stopped
			}
			left, step := mixed(&b, v.around(off, near))
			b.unbalanced, b.within = left, near
			if left <= math.Max(tol, creaseAim*b.pushes) || steps == creaseSteps {
				break
			}
			if m := step.norm(); m > stepLimitMM {
				for i := range step {
					step[i] *= stepLimitMM / m
				}
			}
			off, b = v.along(off, b, step, near)
		}
		if b.unbalanced > math.Max(tol, creaseShare*b.pushes) {
			if status != Converged {
				at, found = off, b
			}
			break
		}
		if near <= creaseMM {
			status, at, found = Converged, off, b
		}
	}
	return s.moved(pose, at), found, status
}

// along goes a step for as long as the forces push that way. Where they turn, at a part of near, it has looked at both sides: the next
// mixture knows both.
func (v *views) along(off vec6, b balance, step vec6, near float64) (vec6, balance) {
	to := func(t float64) vec6 {
		p := off
		for i := range p {
			p[i] += t * step[i]
		}
		return p
	}
	long := step.norm()
	went, ahead := 0.0, b
	for lo, hi, t := 0.0, 1.0, 1.0; lo < 1 && (hi-lo)*long > near/4; t = (lo + hi) / 2 {
		if nb := v.look(to(t)); nb.grad.dot(&step) <= 0 {
			lo, went, ahead = t, t, nb
		} else {
			hi = t
		}
	}
	return to(went), ahead
}

func (v vec6) dot(w *vec6) (t float64) {
	for i := range v {
		t += v[i] * w[i]
	}
	return t
}

// apart is the largest difference of any of the six.
func (v vec6) apart(w *vec6) (t float64) {
	for i := range v {
		t = math.Max(t, math.Abs(v[i]-w[i]))
	}
	return t
}

// mixed is the size of the smallest mixture of forces, N, and the step against it in the metric of a balance's Hessian; infinite where
// there is none.
func mixed(b *balance, grads []vec6) (left float64, step vec6) {
	trace := 0.0
	for i := range 6 {
		trace += math.Abs(b.hess[i][i])
	}
	a := mat.NewSymDense(6, nil)
	var ch mat.Cholesky
	for damping := 1e-6; ; damping *= 10 {
		for i := range 6 {
			for j := i; j < 6; j++ {
				a.SetSym(i, j, b.hess[i][j])
			}
			a.SetSym(i, i, b.hess[i][i]+damping*trace/6)
		}
		if ch.Factorize(a) {
			break
		}
		if damping > 1e3 {
			return math.Inf(1), step
		}
	}
	// In the metric of the Hessian: G = L⁻¹ g, so that the step H⁻¹ g is the steepest.
	var low mat.TriDense
	ch.LTo(&low)
	scaled := make([]vec6, len(grads))
	for k, g := range grads {
		for i := range 6 {
			v := g[i]
			for j := range i {
				v -= low.At(i, j) * scaled[k][j]
			}
			scaled[k][i] = v / low.At(i, i)
		}
	}
	share := leastMixture(scaled)
	var g vec6
	for k := range grads {
		for i := range 6 {
			g[i] += share[k] * grads[k][i]
		}
	}
	x := mat.NewVecDense(6, nil)
	if err := ch.SolveVecTo(x, mat.NewVecDense(6, g[:])); err != nil {
		if _, bad := err.(mat.Condition); !bad {
			return math.Inf(1), step
		}
	}
	for i := range 6 {
		step[i] = -x.AtVec(i)
	}
	return g.norm(), step
}

// leastMixture is the shares (none below 0, together 1) in which vectors mix to the shortest: each step moves share from the vector
// that lies farthest along the mixture to the one that lies least, as far as that shortens it.
func leastMixture(v []vec6) []float64 {
	share := make([]float64, len(v))
	share[0] = 1
	mix := v[0]
	const most = 2000
	for range most {
		from, to := -1, 0
		lo, hi := math.Inf(1), math.Inf(-1)
		for k := range v {
			d := mix.dot(&v[k])
			if d < lo {
				lo, to = d, k
			}
			if share[k] > 0 && d > hi {
				hi, from = d, k
			}
		}
		if hi-lo <= 1e-12*math.Max(mix.dot(&mix), 1e-300) || from == to {
			break
		}
		var way vec6
		for i := range way {
			way[i] = v[to][i] - v[from][i]
		}
		long := way.dot(&way)
		if long == 0 {
			break
		}
		t := math.Min(-mix.dot(&way)/long, share[from])
		if t <= 0 {
			break
		}
		share[from] -= t
		share[to] += t
		for i := range mix {
			mix[i] += t * way[i]
		}
	}
	return share
}
