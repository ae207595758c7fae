package footwear

import (
	"fmt"
	"math"

	"lastroom/internal/problem"
)

// Where measures are taken along the room, as shares of the last's length.
const (
	// The tread line. The ball of the foot lies at 0.741 of foot length (ANSUR II, Gordon et al., NATICK/TR-15/007,
	// read; 0.72 to 0.75 in use); the last is about 5 % longer than the foot, and 0.741/1.05 is 0.70.
	treadShare = 0.70
	// The instep, where the depth and girth of the instep are taken, and the waist, where the inside is narrowest.
	// Common practice, no source: the instep at half the last's length, the waist just behind it.
	instepShare = 0.50
	waistShare  = 0.43
	// The widest place of the heel, and the place below the ankle bones where the topline's height is taken.
	// Common practice, no source.
	heelShare  = 1.0 / 6
	ankleShare = 0.28
	// The depth at the toes is taken this far behind the toe tip.
	toeDepthBackMM = 20.0
)

// A bottomProfile is the board on the room's centre line: its height over the origin (mm) by X (mm).
//
//	x ≤ breast          the seat, straight, falling by tan(seat angle)
//	breast ≤ x ≤ tread  with s = (x−breast)/l, l = tread−breast, r = 1−s: the chord, plus what leaves the seat in its
//	                    direction and reaches the tread line level, l·(e₀·s·rⁿ − e₁·sⁿ·r), where e₀ and e₁ are the
//	                    slopes at both ends less the chord's, plus arch·s²·r²
//	x ≥ tread           toe spring, a parabola from the tread line, level there, to the toe tip
//
// The slope is continuous. The tread line lies the heel rise below the board's rear end at X = 0. The amount of arch
// makes the largest distance from the chord breast–tread equal to the shank's sagitta. The exponent n is 2, a cubic,
// unless that keeps further from the chord than the sagitta: then it is the least of bends that turns sharply enough.
type bottomProfile struct {
	seatSlope             float64 // dz/dx, ≤ 0
	bend                  int     // exponent n
	breast, tread, toe    float64 // X
	zBreast, zTread, arch float64
	spring                float64
}

// newBottomProfile solves the profile; the error names the measures that contradict each other.
func newBottomProfile(s *Sheet) (bottomProfile, error) {
	b := bottomProfile{
		seatSlope: -math.Tan(s.V(SeatAngle) * math.Pi / 180),
		breast:    s.V(SeatLength),
		tread:     treadShare * s.V(LastLength),
		toe:       s.V(LastLength),
		zTread:    -s.V(HeelRise),
		spring:    s.V(ToeSpring),
	}
	if b.breast > b.tread-20 {
		return b, contradiction(SeatLength, s, fmt.Sprintf("at most %.0f mm, 20 mm short of the tread line at %.0f mm", b.tread-20, b.tread),
			"check the seat length or the last length")
	}
	b.zBreast = b.seatSlope * b.breast
	if b.zBreast < b.zTread-1 { // 1 mm for measuring
		return b, contradiction(SeatAngle, s, fmt.Sprintf("a seat %.0f mm long at this angle falls %.1f mm, more than the heel rise of %.1f mm",
			b.breast, -b.zBreast, s.V(HeelRise)), "lower the seat angle, shorten the seat or raise the heel rise")
	}
	want := s.V(ShankSagitta)
	var lo, hi, least float64
	var shank chordwise
	for _, b.bend = range bends {
		shank = b.overChord()
		lo, hi = shank.leastArch(64 * (Infos[ShankSagitta].Hi + math.Abs(b.zTread-b.zBreast)))
		if least = shank.sagittaWith(lo); least <= want {
			break
		}
	}
	if want < least-sagittaSlackMM {
		return b, contradiction(ShankSagitta, s, fmt.Sprintf("at least %.2f mm with this seat angle, seat length and heel rise", least),
			"raise the shank's sagitta or bring the seat angle closer to the slope of the shank")
	}
	b.arch = lo
	if want > least {
		b.arch = root(lo, hi, func(a float64) float64 { return shank.sagittaWith(a) - want })
	}
	return b, nil
}

var bends = []int{2, 3, 4, 6, 8}

// sagittaSlackMM is how much less than the least possible sagitta a sheet may ask for, half the usual ± of that measure;
// it then gets the least.
const sagittaSlackMM = 0.5

// contradiction is the problem of one measure against others of its sheet.
func contradiction(id MeasureID, s *Sheet, limit, mend string) error {
	return problem.Problem{Field: id.String(), Value: fmt.Sprintf("%.4g %s", s.V(id), id.Info().Unit), Limit: limit, Mend: mend}
}

// A chordwise profile is the board between breast and tread by even steps: how far it lies over the chord without an arch, and
// what an arch of 1 adds.
type chordwise struct {
	over, bulge [chordSteps + 1]float64
	slant       float64 // a distance along Z to one from the chord
}

const chordSteps = 240

func (b bottomProfile) overChord() chordwise {
	b.arch = 0
	var c chordwise
	l, fall := b.tread-b.breast, b.zTread-b.zBreast
	for i := range c.over {
		t := float64(i) / chordSteps
		c.over[i] = b.z(b.breast+t*l) - b.zBreast - t*fall
		c.bulge[i] = t * t * (1 - t) * (1 - t)
	}
	c.slant = l / math.Hypot(l, fall)
	return c
}

// leastArch brackets the upward arches: the amount with the least sagitta, and one with more than any shoe's.
func (c *chordwise) leastArch(span float64) (lo, hi float64) {
	lo, hi = -span, span
	// The sagitta is a convex function of the amount: shrink to its lowest place.
	for range 56 {
		p, q := lo+(hi-lo)*0.382, lo+(hi-lo)*0.618
		if c.sagittaWith(p) <= c.sagittaWith(q) {
			hi = q
		} else {
			lo = p
		}
	}
	return 0.5 * (lo + hi), span
}

// sagittaWith is the largest distance (mm) of the profile between breast and tread from their chord, with an arch.
func (c *chordwise) sagittaWith(arch float64) float64 {
	off := func(i int) float64 { return math.Abs(c.over[i] + arch*c.bulge[i]) }
	best := 1
	for i := 2; i < chordSteps; i++ {
		if off(i) > off(best) {
			best = i
		}
	}
	// The top of the parabola through the highest place and its neighbours.
	p, q, r := off(best-1), off(best), off(best+1)
	top := q
	if bend := p - 2*q + r; bend < -1e-12 {
		top = q - (r-p)*(r-p)/(8*bend)
	}
	return top * c.slant
}

// z is the height of the board.
func (b *bottomProfile) z(x float64) float64 {
	switch {
	case x <= b.breast:
		return b.seatSlope * x
	case x >= b.tread:
		t := (x - b.tread) / (b.toe - b.tread)
		return b.zTread + b.spring*t*t
	}
	l, s, r, chord := b.within(x)
	return b.zBreast + l*(chord*s+(b.seatSlope-chord)*s*power(r, b.bend)+chord*power(s, b.bend)*r) + b.arch*s*s*r*r
}

// within is the length between breast and tread line, the shares of it behind and ahead of x, and the chord's slope.
func (b *bottomProfile) within(x float64) (l, s, r, chord float64) {
	l = b.tread - b.breast
	s = (x - b.breast) / l
	return l, s, 1 - s, (b.zTread - b.zBreast) / l
}

// slope is dz/dx of the board.
func (b *bottomProfile) slope(x float64) float64 {
	switch {
	case x <= b.breast:
		return b.seatSlope
	case x >= b.tread:
		return 2 * b.spring * (x - b.tread) / ((b.toe - b.tread) * (b.toe - b.tread))
	}
	l, s, r, chord := b.within(x)
	n := b.bend
	return chord + (b.seatSlope-chord)*power(r, n-1)*(r-float64(n)*s) + chord*power(s, n-1)*(float64(n)*r-s) + 2*b.arch*s*r*(r-s)/l
}

// power is x to the n, n at least 0.
func power(x float64, n int) float64 {
	p := 1.0
	for range n {
		p *= x
	}
	return p
}
