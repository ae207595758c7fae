package trace

import (
	"cmp"
	"math"
	"slices"
)

// A Point is a place in a plane: in a picture px from its upper left corner, x right and y down; in an outline mm.
type Point struct{ X, Y float64 }

func (p Point) plus(q Point) Point        { return Point{p.X + q.X, p.Y + q.Y} }
func (p Point) minus(q Point) Point       { return Point{p.X - q.X, p.Y - q.Y} }
func (p Point) times(f float64) Point     { return Point{p.X * f, p.Y * f} }
func (p Point) dot(q Point) float64       { return p.X*q.X + p.Y*q.Y }
func (p Point) cross(q Point) float64     { return p.X*q.Y - p.Y*q.X }
func (p Point) norm() float64             { return math.Hypot(p.X, p.Y) }
func (p Point) unit() Point               { return p.times(1 / p.norm()) }
func (p Point) normal() Point             { return Point{-p.Y, p.X} }
func (p Point) finite() bool              { return !math.IsNaN(p.X+p.Y) && !math.IsInf(p.X+p.Y, 0) }
func (p Point) turned(c, s float64) Point { return Point{c*p.X - s*p.Y, s*p.X + c*p.Y} }

// A line goes through a point in a unit direction.
type line struct{ at, dir Point }

// meet is where two lines cross; false when they are parallel.
func (l line) meet(m line) (Point, bool) {
	d := l.dir.cross(m.dir)
	if math.Abs(d) < 1e-6 {
		return Point{}, false
	}
	return l.at.plus(l.dir.times(m.at.minus(l.at).cross(m.dir) / d)), true
}

// off is the distance from the line, positive to its normal's side.
func (l line) off(p Point) float64 { return l.dir.cross(p.minus(l.at)) }

// fitLine is the line of least squares of distance through the points, directed from the first to the last.
func fitLine(p []Point) line {
	c := centre(p)
	var xx, xy, yy float64
	for _, q := range p {
		d := q.minus(c)
		xx, xy, yy = xx+d.X*d.X, xy+d.X*d.Y, yy+d.Y*d.Y
	}
	s, co := math.Sincos(math.Atan2(2*xy, xx-yy) / 2)
	dir := Point{co, s}
	if dir.dot(p[len(p)-1].minus(p[0])) < 0 {
		dir = dir.times(-1)
	}
	return line{c, dir}
}

func centre(p []Point) Point {
	var c Point
	for _, q := range p {
		c = c.plus(q)
	}
	return c.times(1 / float64(len(p)))
}

// area is the signed area of a closed polygon, positive when it turns from X to Y.
func area(p []Point) float64 {
	sum := 0.0
	for i, q := range p {
		sum += q.cross(p[(i+1)%len(p)])
	}
	return sum / 2
}

func length(p []Point) float64 {
	sum := 0.0
	for i, q := range p {
		sum += p[(i+1)%len(p)].minus(q).norm()
	}
	return sum
}

// hull is the convex hull, turning from X to Y.
func hull(p []Point) []Point {
	p = slices.Clone(p)
	slices.SortFunc(p, func(a, b Point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	p = slices.Compact(p)
	if len(p) < 3 {
		return p
	}
	var h []Point
	for range 2 {
		from := len(h)
		for _, q := range p {
			for len(h) >= from+2 && h[len(h)-1].minus(h[len(h)-2]).cross(q.minus(h[len(h)-2])) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, q)
		}
		h = h[:len(h)-1]
		slices.Reverse(p)
	}
	return h
}

// quadOf drops the sides of a convex polygon, the one that adds the least area first, until four are left; false when
// that is not possible.
func quadOf(h []Point) ([4]Point, bool) {
	h = slices.Clone(h)
	for len(h) > 4 {
		best, at, corner := math.Inf(1), -1, Point{}
		for i := range h {
			n := len(h)
			a, b, c, d := h[(i+n-1)%n], h[i], h[(i+1)%n], h[(i+2)%n]
			if b.minus(a).cross(d.minus(c)) <= 1e-9 {
				continue // its neighbours do not meet beyond it
			}
			m, ok := line{a, b.minus(a).unit()}.meet(line{c, d.minus(c).unit()})
			if !ok {
				continue
			}
			if add := math.Abs(area([]Point{b, m, c})); add < best {
				best, at, corner = add, i, m
			}
		}
		if at < 0 {
			return [4]Point{}, false
		}
		h[at] = corner
		h = slices.Delete(h, (at+1)%len(h), (at+1)%len(h)+1)
	}
	if len(h) < 4 {
		return [4]Point{}, false
	}
	return [4]Point(h), true
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	v = slices.Clone(v)
	slices.Sort(v)
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}
