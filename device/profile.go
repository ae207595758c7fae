package device

import "math"

// A halfProfile is one half of a foot-side section, from the deepest line (where it is level) outward and up to the
// rim: a quarter of a superellipse (ρ/B)^P + ((D−z)/D)^P = 1, cut at a height, and upright above D.
//
// It is run through by s from 0 (deepest line) to 1 (rim); s is a share of the angle about the superellipse's centre,
// so that neither end crowds.
type halfProfile struct {
	B, D, P float64 // half width and height of the widest place, mm; exponent > 1
	end     float64 // angle at the rim; past π/2 it counts height over D in units of D
}

// cutProfile is the profile with widest place B by D, cut at height h.
func cutProfile(b, d, p, h float64) halfProfile {
	return halfProfile{B: b, D: d, P: p, end: cutAngle(d, p, h)}
}

// fitProfile is the profile that is w wide and h high at its cut; B follows.
func fitProfile(w, d, p, h float64) halfProfile {
	b := w
	if h < d {
		b = w / reach(p, h/d)
	}
	return cutProfile(b, d, p, h)
}

// reach is ρ/B at the height share h = z/D ≤ 1.
func reach(p, h float64) float64 { return math.Pow(1-math.Pow(1-h, p), 1/p) }

func cutAngle(d, p, h float64) float64 {
	if h >= d {
		return math.Pi/2 + (h-d)/d
	}
	return math.Atan2(reach(p, h/d), 1-h/d)
}

// at is the point of the profile at s and its derivative by s.
func (h halfProfile) at(s float64) (rho, z, dRho, dZ float64) {
	a := s * h.end
	if a >= math.Pi/2 {
		return h.B, h.D * (1 + a - math.Pi/2), 0, h.D * h.end
	}
	sin, cos := math.Sincos(a)
	sp, cp := math.Pow(sin, h.P), math.Pow(cos, h.P)
	m := sp + cp
	r := math.Pow(m, -1/h.P)
	turn := -cp / cos * sin // derivative of m by the angle over P
	if sin > 0 {
		turn += sp / sin * cos
	}
	dr := -r / m * turn
	return h.B * r * sin, h.D * (1 - r*cos), h.B * (dr*sin + r*cos) * h.end, h.D * (r*sin - dr*cos) * h.end
}

// smooth rises from 0 at x ≤ 0 to 1 at x ≥ 1, level at both ends, and slope is its derivative.
func smooth(x float64) float64 {
	x = math.Min(math.Max(x, 0), 1)
	return x * x * (3 - 2*x)
}

// between is a at x ≤ 0 and b at x ≥ 1, level at both ends.
func between(a, b, x float64) float64 { return a + (b-a)*smooth(x) }
