package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/footwear"
)

// surroundings is a device among walls that are, near it, planes: for each near sample its distance at the pose it starts
// from, the inward normal and the lever. A place keeps the zone that it is nearest to in the room as measured. Near its
// limit a gap so found agrees with the whole computation within 0.3 mm, and so does the ride-up (tested).
type surroundings struct {
	pose    PoseName
	centre  r3.Vec
	heel    r3.Vec // the point of the base whose height is the ride-up
	arm     float64
	d       []float64
	n, p    []r3.Vec
	stiff   []float64 // N/mm; 0: does not push
	k       []float64 // foundation, N/mm³
	zone    []footwear.Zone
	group   []int // index of its finding; −1: none
	sources []source

	floor, back []int // samples that set the intended pose
	up, forward r3.Vec
	loads       []Load  // at room points
	holds       []Hold  // At is a room point
	slipped     float64 // how far the hold is stretched at the start, mm
}

// lay brings the intended pose to its own terms: the base on the floor, the back against the counter. It changes d.
func (s *surroundings) lay(d []float64) (moved r3.Vec) {
	shift := func(t r3.Vec) {
		moved = r3.Add(moved, t)
		for i := range d {
			d[i] += r3.Dot(s.n[i], t)
		}
	}
	least := func(of []int) float64 {
		m := math.Inf(1)
		for _, i := range of {
			m = math.Min(m, d[i])
		}
		return m
	}
	for range 3 {
		if g := least(s.floor); !math.IsInf(g, 1) {
			shift(r3.Scale(-g, s.up))
		}
		if g := least(s.back); !math.IsInf(g, 1) {
			shift(r3.Scale(-g, s.forward))
		}
	}
	return moved
}

// settle lets the device come to rest among planes at distances d, which it changes to those at rest, when the pose that
// friction holds it to has moved; lift is how far it rose. Newton's method on the energy of the package comment; ok is false when it did not come to rest.
func (s *surroundings) settle(d, stiff []float64, moved r3.Vec) (lift float64, ok bool) {
	x := vec6{moved.X, moved.Y, moved.Z} // translation, rotation × arm
	lever := func(p r3.Vec) r3.Vec { return r3.Sub(p, s.centre) }
	row := func(n, r r3.Vec) vec6 {
		m := r3.Scale(1/s.arm, r3.Cross(r, n))
		return vec6{n.X, n.Y, n.Z, m.X, m.Y, m.Z}
	}
	rows := make([]vec6, len(d))
	for i := range d {
		rows[i] = row(s.n[i], lever(s.p[i]))
	}
	at := func(x vec6) (b balance) {
		for _, l := range s.loads {
			j := row(l.ForceN, lever(l.At))
			for a := range 6 {
				b.energy -= j[a] * x[a]
				b.grad[a] -= j[a]
			}
		}
		spring := func(j vec6, stretch, stiff float64) {
			b.energy += stiff * stretch * stretch / 2
			for a := range 6 {
				b.grad[a] += stiff * stretch * j[a]
				for e := a; e < 6; e++ {
					b.hess[a][e] += stiff * j[a] * j[e]
				}
			}
		}
		for _, h := range s.holds {
			j := row(h.Along, lever(h.At))
			v := s.slipped - r3.Dot(moved, h.Along)
			for a := range 6 {
				v += j[a] * x[a]
			}
			spring(j, v, h.NPerMM)
		}
		for i := range d {
			if stiff[i] == 0 {
				continue
			}
			v := d[i]
			for a := range 6 {
				v += rows[i][a] * x[a]
			}
			if v < 0 {
				spring(rows[i], v, stiff[i])
			}
		}
		return b
	}
	b := at(x)
	damping := 1e-6
	const toleranceN = 0.5
	for range 60 {
		if b.grad.norm() < toleranceN {
			ok = true
			break
		}
		step, solved := newtonStep(&b, damping)
		if m := step.norm(); m > stepLimitMM {
			for a := range step {
				step[a] *= stepLimitMM / m
			}
		}
		next := x
		for a := range next {
			next[a] += step[a]
		}
		if nb := at(next); solved && nb.energy < b.energy {
			x, b = next, nb
			damping = math.Max(damping/5, 1e-9)
		} else {
			damping *= 8
		}
	}
	for i := range d {
		for a := range 6 {
			d[i] += rows[i][a] * x[a]
		}
	}
	turn := r3.Vec{X: x[3] / s.arm, Y: x[4] / s.arm, Z: x[5] / s.arm}
	went := r3.Add(r3.Vec{X: x[0], Y: x[1], Z: x[2]}, r3.Cross(turn, lever(s.heel)))
	return r3.Dot(went, s.up), ok
}
