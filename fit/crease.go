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
	nearbyPoses   = 40   // looked at beside the pose itself
	creaseMM      = 0.3  // and at most where a balance counts: so far the pose is known
	closeByMM     = 0.01 // and at last
	creaseSteps   = 40
	creaseAim     = 2e-3 // of what the walls push: what the search aims to leave unbalanced at a crease
	creaseShare   = 0.01 // and what may be left
	creaseHalving = 8    // shortenings of a step
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

// closeIn looks at all stiffness anew in each pose, so there is no energy to go by: a step counts when it leaves less unbalanced.
func (s *seating) closeIn(ctx context.Context, pose mesh.Pose, tol, wide float64) (mesh.Pose, balance, Status) {
	clear(s.held)
	b := s.at(pose)
	enough := func(b *balance, share float64) float64 { return math.Max(tol, share*b.pushes) }
	status, at, found := NotConverged, pose, b // the closest balance so far
	for near := wide; near > closeByMM/2; near /= 3 {
		left, step, ok := s.mixed(pose, &b, near)
		for range creaseSteps {
			if ctx.Err() != nil {
				return pose, b, Stopped
			}
			if !ok || left <= enough(&b, creaseAim) {
				break
			}
			if m := step.norm(); m > stepLimitMM {
				for i := range step {
					step[i] *= stepLimitMM / m
				}
			}
			moved := false
			for range creaseHalving {
				next := s.moved(pose, step)
				nb := s.at(next)
				if nl, ns, nok := s.mixed(next, &nb, near); nok && nl < 0.95*left {
					pose, b, left, step, moved = next, nb, nl, ns, true
					break
				}
				for i := range step {
					step[i] /= 3
				}
			}
			if !moved {
				break
			}
		}
		if b.unbalanced, b.within = left, near; !ok || left > enough(&b, creaseShare) {
			if status != Converged {
				at, found = pose, b
			}
			break
		}
		if near <= creaseMM {
			status, at, found = Converged, pose, b
		}
	}
	return at, found, status
}

// mixed is the size of the smallest mixture of the forces at and near a pose, N, and the step against it.
func (s *seating) mixed(pose mesh.Pose, b *balance, near float64) (left float64, step vec6, ok bool) {
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
			return 0, step, false
		}
	}
	grads := []vec6{b.grad}
	rng := rand.New(rand.NewPCG(7, 11)) // the same poses each time: results repeat
	for range nearbyPoses {
		var off vec6
		for i := range off {
			off[i] = near * (2*rng.Float64() - 1)
		}
		n := s.at(s.moved(pose, off))
		grads = append(grads, n.grad)
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
			return 0, step, false
		}
	}
	for i := range 6 {
		step[i] = -x.AtVec(i)
	}
	return g.norm(), step, true
}

// leastMixture is the shares (none below 0, together 1) in which vectors mix to the shortest: each step moves share from the vector
// that lies farthest along the mixture to the one that lies least, as far as that shortens it.
func leastMixture(v []vec6) []float64 {
	share := make([]float64, len(v))
	share[0] = 1
	mix := v[0]
	dot := func(a, b *vec6) (t float64) {
		for i := range a {
			t += a[i] * b[i]
		}
		return t
	}
	const most = 2000
	for range most {
		from, to := -1, 0
		lo, hi := math.Inf(1), math.Inf(-1)
		for k := range v {
			d := dot(&mix, &v[k])
			if d < lo {
				lo, to = d, k
			}
			if share[k] > 0 && d > hi {
				hi, from = d, k
			}
		}
		if hi-lo <= 1e-12*math.Max(dot(&mix, &mix), 1e-300) || from == to {
			break
		}
		var way vec6
		for i := range way {
			way[i] = v[to][i] - v[from][i]
		}
		long := dot(&way, &way)
		if long == 0 {
			break
		}
		t := math.Min(-dot(&mix, &way)/long, share[from])
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
