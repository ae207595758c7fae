package drawing

import (
	"math"
	"sort"

	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// A loop is one outline of a section on the paper; segment i runs from P[i] to P[i+1], the last of a closed loop back
// to P[0], and carries Tag[i].
type loop struct {
	P      []Pt
	Tag    []uint8
	Closed bool
}

// segments calls f for each segment of the loop.
func (l *loop) segments(f func(a, b Pt, tag uint8)) {
	n := len(l.P)
	last := n - 1
	if l.Closed {
		last = n
	}
	for i := 0; i < last; i++ {
		f(l.P[i], l.P[(i+1)%n], l.tag(i))
	}
}

func (l *loop) tag(i int) uint8 {
	if i < len(l.Tag) {
		return l.Tag[i]
	}
	return 0
}

// loopsOf brings a section's polylines onto the paper of a view.
func loopsOf(v View, lines []mesh.Polyline) []loop {
	out := make([]loop, 0, len(lines))
	for _, pl := range lines {
		if len(pl.P) < 2 {
			continue
		}
		l := loop{P: make([]Pt, len(pl.P)), Tag: pl.Tag, Closed: pl.Closed}
		for i, p := range pl.P {
			l.P[i] = v.Project(p)
		}
		out = append(out, l)
	}
	return out
}

// beyondTheLid returns the room's outlines with each stretch of lid (zone Open) pushed outwards by reach mm, so that
// what stands out of the topline counts as inside. With upwards set, outwards is up; otherwise it is to the right of the
// running direction, away from the inside of a counterclockwise loop.
func beyondTheLid(room []loop, upwards bool, reach float64) []loop {
	out := make([]loop, len(room))
	for i := range room {
		l := &room[i]
		p := loop{Closed: l.Closed}
		put := func(q Pt, tag uint8) { p.P, p.Tag = append(p.P, q), append(p.Tag, tag) }
		l.segments(func(a, b Pt, tag uint8) {
			d := b.sub(a)
			length := math.Hypot(d.U, d.V)
			put(a, tag)
			if footwear.Zone(tag) != footwear.Open || length == 0 {
				return
			}
			push := Pt{0, reach}
			if !upwards {
				push = d.left().scale(-reach / length)
			}
			put(a.add(push), tag)
			put(b.add(push), tag)
		})
		if !l.Closed && len(l.P) > 0 {
			p.P = append(p.P, l.P[len(l.P)-1])
		}
		out[i] = p
	}
	return out
}

// winding is the sum of the winding numbers of the closed loops about p; it is not zero inside.
func winding(loops []loop, p Pt) int {
	w := 0
	for i := range loops {
		l := &loops[i]
		if !l.Closed {
			continue
		}
		l.segments(func(a, b Pt, _ uint8) {
			switch {
			case a.V <= p.V && b.V > p.V:
				if b.sub(a).cross(p.sub(a)) > 0 {
					w++
				}
			case a.V > p.V && b.V <= p.V:
				if b.sub(a).cross(p.sub(a)) < 0 {
					w--
				}
			}
		})
	}
	return w
}

// A span is a stretch of a line, from and to in mm along it.
type span struct{ From, To float64 }

// spansInside are the stretches of the line through o along the unit direction d that lie inside the closed loops
// (winding not zero), in order.
func spansInside(loops []loop, o, d Pt) []span {
	type crossing struct {
		at float64
		by int
	}
	var cs []crossing
	for i := range loops {
		l := &loops[i]
		if !l.Closed {
			continue
		}
		l.segments(func(a, b Pt, _ uint8) {
			sa, sb := d.cross(a.sub(o)), d.cross(b.sub(o))
			if (sa <= 0) == (sb <= 0) { // each vertex belongs to one side only, so a crossing counts once
				return
			}
			by := 1
			if sa > 0 {
				by = -1
			}
			q := a.lerp(b, sa/(sa-sb))
			cs = append(cs, crossing{q.sub(o).dot(d), by})
		})
	}
	sort.Slice(cs, func(i, j int) bool { return cs[i].at < cs[j].at })
	var out []span
	w := 0
	for i, c := range cs {
		before := w
		w += c.by
		switch {
		case before == 0 && w != 0:
			out = append(out, span{From: cs[i].at})
		case before != 0 && w == 0:
			out[len(out)-1].To = c.at
		}
	}
	return out
}

// minus are the parts of the spans a that no span of b covers; both in order.
func minus(a, b []span) []span {
	var out []span
	for _, s := range a {
		from := s.From
		for _, t := range b {
			if t.To <= from || t.From >= s.To {
				continue
			}
			if t.From > from {
				out = append(out, span{from, t.From})
			}
			from = math.Max(from, t.To)
		}
		if from < s.To {
			out = append(out, span{from, s.To})
		}
	}
	return out
}

// bounds are the least and greatest U and V of the loops; ok is false when there is no point.
func bounds(loops ...[]loop) (lo, hi Pt, ok bool) {
	lo, hi = Pt{math.Inf(1), math.Inf(1)}, Pt{math.Inf(-1), math.Inf(-1)}
	for _, ls := range loops {
		for i := range ls {
			for _, p := range ls[i].P {
				lo = Pt{math.Min(lo.U, p.U), math.Min(lo.V, p.V)}
				hi = Pt{math.Max(hi.U, p.U), math.Max(hi.V, p.V)}
				ok = true
			}
		}
	}
	return lo, hi, ok
}

// A stroke is a straight line on the paper.
type stroke struct{ A, B Pt }

// hatch are parallel lines at angleDeg, stepMM apart, over what lies inside body and outside room. The lines stand at
// multiples of the step from the paper's origin, so that a hatch does not swim when the shape moves.
func hatch(body, room []loop, angleDeg, stepMM float64) []stroke {
	lo, hi, ok := bounds(body)
	if !ok || stepMM <= 0 {
		return nil
	}
	s, c := math.Sincos(angleDeg * math.Pi / 180)
	d := Pt{c, s}
	n := d.left()
	from, to := math.Inf(1), math.Inf(-1)
	for _, p := range [4]Pt{lo, hi, {lo.U, hi.V}, {hi.U, lo.V}} {
		from, to = math.Min(from, p.dot(n)), math.Max(to, p.dot(n))
	}
	var out []stroke
	for k := math.Ceil(from / stepMM); k*stepMM <= to; k++ {
		o := n.scale(k * stepMM)
		for _, s := range minus(spansInside(body, o, d), spansInside(room, o, d)) {
			out = append(out, stroke{o.add(d.scale(s.From)), o.add(d.scale(s.To))})
		}
	}
	return out
}

// overlapArea is the area of what lies inside body and outside room, mm², by level lines stepMM apart (midpoint rule).
func overlapArea(body, room []loop, stepMM float64) float64 {
	lo, hi, ok := bounds(body)
	if !ok {
		return 0
	}
	n := int(math.Ceil((hi.V - lo.V) / stepMM))
	if n == 0 {
		return 0
	}
	step := (hi.V - lo.V) / float64(n)
	sum := 0.0
	for k := range n {
		o := Pt{0, lo.V + (float64(k)+0.5)*step}
		for _, s := range minus(spansInside(body, o, Pt{1, 0}), spansInside(room, o, Pt{1, 0})) {
			sum += (s.To - s.From) * step
		}
	}
	return sum
}
