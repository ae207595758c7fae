package trace

import (
	"math"
	"slices"
)

// A side is an edge of the sheet in the picture: points on it to a fraction of a pixel, in order.
type side struct {
	points  []Point
	support float64 // share of the places looked at where a bright-to-dark step lies on the edge
	blurPx  float64 // how wide the step is: the sigma of a Gaussian
}

// places is how many places along a side are looked at.
const places = 140

// fitSides finds the four sides near a quadrilateral's, within a band (px) to both sides; false when one of them has
// too little support.
func fitSides(g *grey, corners [4]Point, band float64) (s [4]side, ok bool) {
	if area(corners[:]) < 0 {
		slices.Reverse(corners[:])
	}
	ok = true
	for i := range s {
		a, b := corners[i], corners[(i+1)%4]
		if b.minus(a).norm() < minSidePx {
			return s, false
		}
		s[i] = fitSide(g, a, b, band)
		ok = ok && s[i].support >= 0.5
	}
	return s, ok
}

// fitSide looks for the edge between two corners; the sheet lies to the right of a → b as one sees it.
func fitSide(g *grey, a, b Point, band float64) side {
	// First the strongest steps in the band, and the line that most of them agree with.
	rough := steps(g, a, b, band, 1.5)
	l, ok := agreed(rough, 1.5+0.002*b.minus(a).norm())
	if !ok {
		return side{}
	}
	// Then close to that line to a fraction of a pixel, and again without the places that stray from a bow.
	near := func(p Point) Point { return p.minus(l.dir.normal().times(l.off(p))) }
	fine := steps(g, near(a), near(b), max(7, 0.004*b.minus(a).norm()), 1.2)
	var pts []Point
	var blur []float64
	for _, p := range fine {
		pts = append(pts, p.at)
		blur = append(blur, p.blur)
	}
	keep := alongBow(pts, l)
	return side{points: keep, support: float64(len(keep)) / places, blurPx: median(blur)}
}

// A step is a place where the picture falls from bright to dark.
type step struct {
	at   Point
	blur float64
}

// steps looks across the line a b, which has the bright side on its right, for the steepest fall within the band at each
// place along it.
func steps(g *grey, a, b Point, band, sigma float64) []step {
	dir := b.minus(a).unit()
	out := Point{dir.Y, -dir.X} // away from the sheet
	const pitch = 0.5
	n := int(math.Ceil(band / pitch))
	prof := make([]float64, 2*n+1)
	var found []step
	for i := range places {
		c := a.plus(b.minus(a).times(0.03 + 0.94*(float64(i)+0.5)/places))
		if c.X < 0 || c.Y < 0 || c.X > float64(g.w) || c.Y > float64(g.h) {
			continue
		}
		for k := range prof {
			p := c.plus(out.times(float64(k-n) * pitch))
			// A little mean along the edge against noise.
			prof[k] = (g.at(p.X-dir.X, p.Y-dir.Y) + g.at(p.X, p.Y) + g.at(p.X+dir.X, p.Y+dir.Y)) / 3
		}
		if at, blur, ok := fall(prof, sigma/pitch); ok {
			p := c.plus(out.times((at - float64(n)) * pitch))
			found = append(found, step{p, blur * pitch})
		}
	}
	return found
}

// fall finds the steepest fall in a profile and where in it the profile is halfway between the levels before and after.
// blur is how wide the fall is, the sigma of a Gaussian; sigma smooths against noise. All in samples.
func fall(prof []float64, sigma float64) (at, blur float64, ok bool) {
	n := len(prof)
	reach := int(math.Ceil(2.5 * sigma))
	steepest, k := 0.0, -1
	for i := reach; i < n-reach; i++ {
		d := 0.0
		for j := 1; j <= reach; j++ {
			t := float64(j) / sigma
			d += t * math.Exp(-t*t/2) * (prof[i-j] - prof[i+j])
		}
		if d > steepest {
			steepest, k = d, i
		}
	}
	if k < 0 {
		return 0, 0, false
	}
	// The levels before and after: medians of what lies a little away from the fall.
	gap := max(2, int(2*sigma))
	far := max(4*gap, 8)
	before := prof[max(0, k-far):max(1, k-gap)]
	after := prof[min(n-1, k+gap+1):min(n, k+far+1)]
	hi, lo := median(before), median(after)
	if !(hi-lo > 0.04) {
		return 0, 0, false
	}
	half := (hi + lo) / 2
	for d := 0; d < gap+2; d++ {
		for _, i := range []int{k + d, k - d - 1} {
			if i < 0 || i+1 >= n || prof[i] < half || prof[i+1] >= half {
				continue
			}
			slope := prof[i] - prof[i+1]
			for j := max(0, i-1); j < min(n-1, i+2); j++ {
				slope = max(slope, prof[j]-prof[j+1])
			}
			return float64(i) + (prof[i]-half)/(prof[i]-prof[i+1]), (hi - lo) / slope / math.Sqrt(2*math.Pi), true
		}
	}
	return 0, 0, false
}

// agreed is the line that the most steps lie within tol of, through pairs of them.
func agreed(s []step, tol float64) (line, bool) {
	if len(s) < places/3 {
		return line{}, false
	}
	best, most := line{}, 0
	for i := 0; i < len(s); i += 3 {
		for j := i + len(s)/4; j < len(s); j += 3 {
			l := line{s[i].at, s[j].at.minus(s[i].at).unit()}
			n := 0
			for _, p := range s {
				if math.Abs(l.off(p.at)) <= tol {
					n++
				}
			}
			if n > most {
				best, most = l, n
			}
		}
	}
	if most < places/3 {
		return line{}, false
	}
	var in []Point
	for _, p := range s {
		if math.Abs(best.off(p.at)) <= tol {
			in = append(in, p.at)
		}
	}
	return fitLine(in), true
}

// alongBow drops the points that stray from the parabola through most of them.
func alongBow(p []Point, l line) []Point {
	for range 6 {
		if len(p) < 12 {
			return nil
		}
		q := fitBow(p, l)
		var off []float64
		for _, pt := range p {
			off = append(off, math.Abs(q.off(pt)))
		}
		limit := max(0.25, 3*1.4826*median(off))
		kept := p[:0:0]
		for i, pt := range p {
			if off[i] <= limit {
				kept = append(kept, pt)
			}
		}
		if len(kept) == len(p) {
			break
		}
		p = kept
	}
	return p
}

// A bow is a parabola over a line: off = a + b·t + c·t², t from −1 to 1 between the ends.
type bow struct {
	over    line
	mid, hf float64 // of the points along the line, px
	a, b, c float64
	rms     float64 // of the points about it
}

func fitBow(p []Point, l line) bow {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range p {
		t := l.dir.dot(q.minus(l.at))
		lo, hi = min(lo, t), max(hi, t)
	}
	w := bow{over: l, mid: (lo + hi) / 2, hf: max((hi-lo)/2, 1e-9)}
	var m [3][4]float64
	for _, q := range p {
		t := (l.dir.dot(q.minus(l.at)) - w.mid) / w.hf
		row := [4]float64{1, t, t * t, l.off(q)}
		for i := range 3 {
			for j := range 4 {
				m[i][j] += row[i] * row[j]
			}
		}
	}
	x := solve3(m)
	w.a, w.b, w.c = x[0], x[1], x[2]
	sum := 0.0
	for _, q := range p {
		sum += w.off(q) * w.off(q)
	}
	w.rms = math.Sqrt(sum / float64(len(p)))
	return w
}

func (w *bow) off(p Point) float64 {
	t := (w.over.dir.dot(p.minus(w.over.at)) - w.mid) / w.hf
	return w.over.off(p) - (w.a + w.b*t + w.c*t*t)
}

// solve3 solves three equations with a right side each by elimination; zeros where they do not determine the answer.
func solve3(m [3][4]float64) (x [3]float64) {
	for i := range 3 {
		p := i
		for j := i + 1; j < 3; j++ {
			if math.Abs(m[j][i]) > math.Abs(m[p][i]) {
				p = j
			}
		}
		m[i], m[p] = m[p], m[i]
		if math.Abs(m[i][i]) < 1e-12 {
			return [3]float64{}
		}
		for j := range 3 {
			if j == i {
				continue
			}
			f := m[j][i] / m[i][i]
			for k := i; k < 4; k++ {
				m[j][k] -= f * m[i][k]
			}
		}
	}
	for i := range 3 {
		x[i] = m[i][3] / m[i][i]
	}
	return x
}
