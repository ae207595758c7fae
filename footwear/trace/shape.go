package trace

import (
	"math"
	"slices"
)

// A shape is an outline in the frame of its heel: X forward from its rearmost point along the heel-seat centre line, Y to
// the left as seen from above, mm.
type shape struct {
	p        []Point
	sections []section // evenly spaced from heel to toe
	length   float64
	turn     float64 // of the axis against the sheet's long side, rad
	axisOpen float64 // how much the axis depends on how far forward the heel is taken to reach, rad
	alike    bool    // heel and toe can't be told apart by width
}

// A section is the outline's extent across at a station.
type section struct{ x, lo, hi float64 }

func (s section) width() float64  { return s.hi - s.lo }
func (s section) middle() float64 { return (s.lo + s.hi) / 2 }

// stations is how many sections an outline is cut into.
const stations = 800

// cut takes the sections of a closed polygon along X, and moves it so that it begins at X = 0.
func cut(p []Point) ([]Point, []section) {
	x0, x1 := math.Inf(1), math.Inf(-1)
	for _, q := range p {
		x0, x1 = min(x0, q.X), max(x1, q.X)
	}
	moved := make([]Point, len(p))
	for i, q := range p {
		moved[i] = Point{q.X - x0, q.Y}
	}
	pitch := (x1 - x0) / stations
	s := make([]section, stations)
	for k := range s {
		s[k] = section{(float64(k) + 0.5) * pitch, math.Inf(1), math.Inf(-1)}
	}
	for i, a := range moved {
		b := moved[(i+1)%len(moved)]
		if a.X > b.X {
			a, b = b, a
		}
		from, to := int(math.Ceil(a.X/pitch-0.5)), int(math.Floor(b.X/pitch-0.5))
		for k := max(from, 0); k <= min(to, stations-1); k++ {
			y := a.Y
			if b.X > a.X {
				y += (b.Y - a.Y) * (s[k].x - a.X) / (b.X - a.X)
			}
			s[k].lo, s[k].hi = min(s[k].lo, y), max(s[k].hi, y)
		}
	}
	return moved, s
}

// between are the sections from one share of the length to another.
func between(s []section, from, to float64) []section {
	return s[int(from*stations):min(int(to*stations), stations)]
}

// widest is the section of largest width.
func widest(s []section) section {
	best := s[0]
	for _, k := range s {
		if k.width() > best.width() {
			best = k
		}
	}
	return best
}

// Where the middle of the heel is taken, as shares of the length; reaching heelOpen less or more far forward says how
// sure the axis is.
const (
	heelFrom = 0.06
	heelTo   = 0.25
	heelOpen = 0.05
)

// shaped lays an outline (mm, Y up) into the frame of its heel.
func shaped(p []Point) shape {
	c := centre(p)
	along := func(a float64) ([]Point, []section) {
		co, s := math.Cos(a), math.Sin(a)
		out := make([]Point, len(p))
		for i, q := range p {
			out[i] = q.minus(c).turned(co, -s)
		}
		return cut(out)
	}
	angle := longAxis(p, c)
	// The heel is the narrower end.
	_, sec := along(angle)
	rear, front := widest(between(sec, 0, 0.35)).width(), widest(between(sec, 0.65, 1)).width()
	if rear > front {
		angle += math.Pi
	}
	s := shape{alike: math.Abs(rear/front-1) < 0.03}

	// The heel-seat centre line: the direction in which the middles of the heel's widths run straight ahead.
	axis := func(to float64) float64 {
		return zeroNear(angle, func(a float64) float64 {
			_, sec := along(a)
			return middleSlope(between(sec, heelFrom, to))
		})
	}
	s.turn = axis(heelTo)
	s.axisOpen = math.Abs(axis(heelTo+heelOpen)-axis(heelTo-heelOpen)) / 2
	s.p, s.sections = along(s.turn)
	s.length = s.sections[stations-1].x + s.sections[0].x
	y := meanMiddle(between(s.sections, heelFrom, heelTo))
	for i := range s.p {
		s.p[i].Y -= y
	}
	for i := range s.sections {
		s.sections[i].lo -= y
		s.sections[i].hi -= y
	}
	return s
}

// longAxis is the direction of the axis of least second moment of a polygon with evenly spaced points, rad.
func longAxis(p []Point, c Point) float64 {
	var xx, xy, yy float64
	for _, q := range p {
		d := q.minus(c)
		xx, xy, yy = xx+d.X*d.X, xy+d.X*d.Y, yy+d.Y*d.Y
	}
	return math.Atan2(2*xy, xx-yy) / 2
}

func meanMiddle(s []section) float64 {
	sum := 0.0
	for _, k := range s {
		sum += k.middle()
	}
	return sum / float64(len(s))
}

// middleSlope is the slope of the straight line through the middles of sections.
func middleSlope(s []section) float64 {
	x, y := (s[0].x+s[len(s)-1].x)/2, meanMiddle(s)
	var xx, xy float64
	for _, k := range s {
		xx += (k.x - x) * (k.x - x)
		xy += (k.x - x) * (k.middle() - y)
	}
	return xy / xx
}

// zeroNear is the angle nearest to a start, within 20°, at which f is 0; where it is smallest when it has no zero.
func zeroNear(start float64, f func(float64) float64) float64 {
	const stepRad, steps = 1.25 * math.Pi / 180, 16
	best, least := start, math.Abs(f(start))
	left, right := f(start), f(start)
	for i := 1; i <= steps; i++ {
		for _, side := range []float64{1, -1} {
			prev := &right
			if side < 0 {
				prev = &left
			}
			b := start + side*stepRad*float64(i)
			v := f(b)
			if v*(*prev) <= 0 {
				return bisected(b-side*stepRad, b, *prev, f)
			}
			*prev = v
			if math.Abs(v) < least {
				best, least = b, math.Abs(v)
			}
		}
	}
	return best
}

func bisected(a, b, fa float64, f func(float64) float64) float64 {
	for range 24 {
		m := (a + b) / 2
		if v := f(m); v*fa <= 0 {
			b = m
		} else {
			a, fa = m, v
		}
	}
	return (a + b) / 2
}

// mirrored turns the left side to the right.
func (s *shape) mirrored() {
	for i := range s.p {
		s.p[i].Y = -s.p[i].Y
	}
	for i, k := range s.sections {
		s.sections[i].lo, s.sections[i].hi = -k.hi, -k.lo
	}
	slices.Reverse(s.p)
}

// seat is the widest section of the rear fifth.
func (s *shape) seat() section { return widest(between(s.sections, 0, 0.2)) }

// ball is the widest section of the front half, the toes left out.
func (s *shape) ball() section { return widest(between(s.sections, 0.5, 0.92)) }

// waist is the narrowest section between seat and ball; false when the outline does not narrow there.
func (s *shape) waist() (section, bool) {
	from, to := s.seat(), s.ball()
	var best section
	for _, k := range s.sections {
		if k.x > from.x && k.x < to.x && (best.x == 0 || k.width() < best.width()) {
			best = k
		}
	}
	const narrower = 0.1 // mm, against noise
	return best, best.x > 0 && best.width() < min(from.width(), to.width())-narrower
}

// Where the forefoot's middle is taken, as shares of the length: from the tread line to where the toes round off.
const (
	foreFrom = 0.70
	foreTo   = 0.90
)

// swing is how far the forefoot's middle lies to the left of the heel-seat centre line, mm.
func (s *shape) swing() float64 { return meanMiddle(between(s.sections, foreFrom, foreTo)) }

// medialIsLeft weighs what tells the medial side: the forefoot swings to it, and the outline is hollower on it at the
// waist. Above 1 it is the left, below −1 the right, between the two it is open. Common practice, no source.
func (s *shape) medialIsLeft() float64 {
	left, right := 0.0, 0.0
	h := hull(s.p)
	for i, a := range h {
		b := h[(i+1)%len(h)]
		chord := b.minus(a)
		// The two chords of the hull that span the waist.
		if min(a.X, b.X) > 0.45*s.length || max(a.X, b.X) < 0.45*s.length || chord.norm() < 0.1*s.length {
			continue
		}
		for _, k := range between(s.sections, 0.2, 0.7) {
			if k.x < min(a.X, b.X) || k.x > max(a.X, b.X) {
				continue
			}
			y := a.Y + chord.Y*(k.x-a.X)/chord.X
			if chord.X < 0 {
				left = max(left, y-k.hi)
			} else {
				right = max(right, k.lo-y)
			}
		}
	}
	const hollowMM = 2.0
	return s.swing()/(swungShare*s.ball().width()) + (left-right)/hollowMM
}

// swungShare is the swing from which an outline is swung, as a share of ball width. Common practice, no source.
const swungShare = 0.025

// toeExponent is that of the superellipse whose widths in front of the tread line are nearest to the outline's.
func (s *shape) toeExponent() float64 {
	base := between(s.sections, foreFrom, foreFrom+0.01)[0]
	toes := between(s.sections, foreFrom+0.09, 0.99)
	return least(func(n float64) float64 {
		sum := 0.0
		for _, k := range toes {
			u := (k.x - base.x) / (s.length - base.x)
			d := k.width()/base.width() - math.Pow(1-math.Pow(u, n), 1/n)
			sum += d * d
		}
		return sum
	}, 1.1, 5)
}

// toeShape names a toe by its exponent, halfway between those that the room's toes are made with.
func toeShape(n float64) string {
	switch {
	case n < 1.75:
		return "pointed"
	case n < 2.07:
		return "oval"
	case n < 2.55:
		return "round"
	}
	return "square"
}
