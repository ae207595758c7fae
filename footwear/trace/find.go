package trace

import (
	"cmp"
	"math"
	"slices"
)

// A candidate is a bright quadrilateral that may be the sheet, corners clockwise as one sees them, in px of the picture.
type candidate struct {
	corners [4]Point
	fill    float64 // share of the quadrilateral that is bright, the holes in it filled
	touches float64 // length of the picture's rim that it lies on, as a share of the rim
	step    float64 // how much brighter it is than the rest
	area    float64 // share of the picture
}

// searchSide is the longer side of the small picture in which the sheet is looked for, px.
const searchSide = 360

// searchPictures are the small picture, reduced by a factor, and the same divided by its surroundings, which takes out
// shadows.
func searchPictures(g *grey) (plain, flat grey, factor float64) {
	f := max(1, max(g.w, g.h)/searchSide)
	plain = g.shrunk(f)
	plain = plain.smoothed(0.8)
	around := plain.boxed(max(plain.w, plain.h) / 4)
	flat = newGrey(plain.w, plain.h)
	for i, v := range plain.v {
		flat.v[i] = v / max(around.v[i], 0.01)
	}
	return plain, flat, float64(f)
}

// candidates finds bright quadrilaterals at many levels of a small picture, the best filled first.
func candidates(g *grey, factor float64) []candidate {
	var all []candidate
	for _, level := range levels(g.v) {
		for _, c := range brightQuads(g, level) {
			for i := range c.corners {
				c.corners[i] = c.corners[i].times(factor)
			}
			all = append(all, c)
		}
	}
	slices.SortStableFunc(all, func(a, b candidate) int { return cmp.Compare(b.fill, a.fill) })
	return all
}

// levels are evenly spaced between the darkest and the brightest twentieth.
func levels(v []float32) []float32 {
	s := slices.Clone(v)
	slices.Sort(s)
	lo, hi := s[len(s)/20], s[len(s)-1-len(s)/20]
	const n = 14
	out := make([]float32, 0, n)
	for i := range n {
		out = append(out, lo+(hi-lo)*(float32(i)+0.5)/n)
	}
	return out
}

// leastSheet is the least share of the picture that a sheet covers.
const leastSheet = 0.03

// brightQuads are the quadrilaterals round the larger connected parts above a level.
func brightQuads(g *grey, level float32) []candidate {
	on := make([]bool, len(g.v))
	for i, v := range g.v {
		on[i] = v > level
	}
	// Thin bridges to bright things beside the sheet are cut; the sides are fitted to the full picture later.
	on = opened(on, g.w, g.h)
	labels, sizes := components(on, g.w, g.h)
	var out []candidate
	for k, size := range sizes {
		if float64(size) < leastSheet*float64(len(on)) {
			continue
		}
		if c, ok := quadRound(g, labels, k); ok {
			out = append(out, c)
		}
	}
	return out
}

// opened keeps what holds a square of 3 × 3.
func opened(on []bool, w, h int) []bool {
	// Eroding is growing what is off.
	return grown(inverse(grown(inverse(on), w, h, 1)), w, h, 1)
}

// components labels the parts that hang together by sides; -1 is off.
func components(on []bool, w, h int) (labels []int, sizes []int) {
	labels = make([]int, len(on))
	for i := range labels {
		labels[i] = -1
	}
	var queue []int
	for start := range on {
		if !on[start] || labels[start] >= 0 {
			continue
		}
		k := len(sizes)
		labels[start] = k
		queue = append(queue[:0], start)
		for n := 0; n < len(queue); n++ {
			i := queue[n]
			for _, j := range neighbours(i, w, h) {
				if j >= 0 && on[j] && labels[j] < 0 {
					labels[j] = k
					queue = append(queue, j)
				}
			}
		}
		sizes = append(sizes, len(queue))
	}
	return labels, sizes
}

// neighbours are the four cells beside a cell, -1 beyond the rim.
func neighbours(i, w, h int) [4]int {
	n := [4]int{i - 1, i + 1, i - w, i + w}
	if i%w == 0 {
		n[0] = -1
	}
	if i%w == w-1 {
		n[1] = -1
	}
	if i < w {
		n[2] = -1
	}
	if i >= w*(h-1) {
		n[3] = -1
	}
	return n
}

// quadRound makes a candidate of one component.
func quadRound(g *grey, labels []int, k int) (candidate, bool) {
	w, h := g.w, g.h
	touching := 0
	in, out, nIn := 0.0, 0.0, 0
	var rim []Point // the ends of each row
	for y := range h {
		first, last := -1, -1
		for x := range w {
			i := y*w + x
			if labels[i] != k {
				out += float64(g.v[i])
				continue
			}
			in += float64(g.v[i])
			nIn++
			if first < 0 {
				first = x
			}
			last = x
			for _, j := range neighbours(i, w, h) {
				if j < 0 {
					touching++
				}
			}
		}
		if first >= 0 {
			a, b, top, foot := float64(first), float64(last+1), float64(y), float64(y+1)
			rim = append(rim, Point{a, top}, Point{a, foot}, Point{b, top}, Point{b, foot})
		}
	}
	hl := hull(rim)
	if len(hl) < 4 {
		return candidate{}, false
	}
	q, ok := quadOf(hl)
	if !ok {
		return candidate{}, false
	}
	c := candidate{
		corners: q,
		touches: float64(touching) / float64(2*(w+h)),
		step:    in/float64(nIn) - out/float64(max(len(labels)-nIn, 1)),
		area:    area(hl) / float64(w*h),
	}
	c.fill = float64(filled(labels, k, w, h)) / math.Abs(area(q[:]))
	return c, c.fill > 0.5
}

// filled counts the component's cells and those of its holes: all that can't be reached from the rim without it.
func filled(labels []int, k, w, h int) int {
	seen := make([]bool, len(labels))
	var queue []int
	push := func(i int) {
		if labels[i] != k && !seen[i] {
			seen[i] = true
			queue = append(queue, i)
		}
	}
	for x := range w {
		push(x)
		push((h-1)*w + x)
	}
	for y := range h {
		push(y * w)
		push(y*w + w - 1)
	}
	for n := 0; n < len(queue); n++ {
		for _, j := range neighbours(queue[n], w, h) {
			if j >= 0 {
				push(j)
			}
		}
	}
	return len(labels) - len(queue)
}
