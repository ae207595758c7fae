package trace

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// A flat is the sheet seen straight from above: pixels of equal size, the long side along x.
type flat struct {
	grey            // brightness, then brightness over that of the paper
	pxPerMM float64 //
	noise   float64 // scatter of the paper's brightness, sigma, as a share of it
	cells
}

// rectified samples the picture over the paper.
func rectified(ctx context.Context, g *grey, v *view) (*flat, error) {
	s := math.Ceil(min(max(v.pxPerMM*1.2, 4), 8))
	f := &flat{grey: newGrey(int(math.Round(v.long*s)), int(math.Round(v.short*s))), pxPerMM: s}
	for y := range f.h {
		if y%256 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		for x := range f.w {
			p := v.shown(Point{(float64(x) + 0.5) / s, (float64(y) + 0.5) / s})
			f.v[y*f.w+x] = float32(g.at(p.X, p.Y))
		}
	}
	return f, nil
}

// cellMM is the side of the cells in which the paper's brightness is followed.
const cellMM = 3.0

// rimMM is the strip along the sheet's edges that is left out: the edge's own blur, and small faults of the fit.
const rimMM = 1.5

// cells are medians of brightness over squares of cellMM.
type cells struct {
	cw, ch int
	level  []float64
	spread []float64 // between the quarters of a cell's pixels, as a logarithm
	quiet  float64   // spread of most cells: noise
	px     float64   // side of a cell, px
}

func (f *flat) makeCells() {
	f.px = cellMM * f.pxPerMM
	f.cw, f.ch = int(float64(f.w)/f.px), int(float64(f.h)/f.px)
	f.level, f.spread = make([]float64, f.cw*f.ch), make([]float64, f.cw*f.ch)
	var v []float32
	for j := range f.ch {
		for i := range f.cw {
			v = v[:0]
			for y := int(float64(j) * f.px); y < int(float64(j+1)*f.px); y += 2 {
				for x := int(float64(i) * f.px); x < int(float64(i+1)*f.px); x += 2 {
					v = append(v, f.v[y*f.w+x])
				}
			}
			slices.Sort(v)
			const darkest = 0.004
			f.level[j*f.cw+i] = max(float64(v[len(v)/2]), darkest)
			f.spread[j*f.cw+i] = math.Log(max(float64(v[len(v)*3/4]), darkest) / max(float64(v[len(v)/4]), darkest))
		}
	}
	f.quiet = median(f.spread)
}

// steepness are the steps of brightness between neighbouring cells, as logarithms, over which paper is followed: a
// soft shadow's edge is less steep than an insole's, but how much depends on both.
var steepness = []float64{0.10, 0.05, 0.025, 0.012}

// How bright the rim has to be to count as paper, as a share of its brighter part: lit, or in a deep shadow.
const (
	litRim    = 0.75
	shadedRim = 0.35
)

// paper follows the bare paper from the sheet's rim, where that is bright enough, inward over cells whose brightness
// changes little. A cell that is a mixture is not entered, unless through: along an oblique edge mixtures make a stair.
func (c *cells) paper(tol, rimShare float64, through bool) []bool {
	on := make([]bool, len(c.level))
	var rim []float64
	isRim := func(i int) bool {
		x, y := i%c.cw, i/c.cw
		return x <= 1 || y <= 1 || x >= c.cw-2 || y >= c.ch-2
	}
	for i, v := range c.level {
		if isRim(i) {
			rim = append(rim, v)
		}
	}
	slices.Sort(rim)
	bright := rimShare * rim[len(rim)*3/4]
	var queue []int
	for i, v := range c.level {
		if isRim(i) && v >= bright {
			on[i] = true
			queue = append(queue, i)
		}
	}
	for n := 0; n < len(queue); n++ {
		i := queue[n]
		for _, j := range neighbours(i, c.cw, c.ch) {
			if j >= 0 && !on[j] && math.Abs(math.Log(c.level[j]/c.level[i])) < tol && (through || c.spread[j] < 1.5*c.quiet+tol) {
				on[j] = true
				queue = append(queue, j)
			}
		}
	}
	return on
}

// light is the brightness that bare paper has in each cell: that of the cells of bare paper that have no other beside
// them, and between those the smoothest surface.
func (c *cells) light(paper []bool) []float64 {
	known := make([]bool, len(paper))
	sum, n := 0.0, 0
	for i := range paper {
		known[i] = paper[i]
		for _, j := range neighbours(i, c.cw, c.ch) {
			known[i] = known[i] && (j < 0 || paper[j])
		}
		if known[i] {
			sum += c.level[i]
			n++
		}
	}
	out := make([]float64, len(paper))
	if n == 0 {
		return nil
	}
	for i := range out {
		out[i] = sum / float64(n)
		if known[i] {
			// A little mean among neighbours against noise.
			s, m := c.level[i], 1.0
			for _, j := range neighbours(i, c.cw, c.ch) {
				if j >= 0 && paper[j] {
					s, m = s+c.level[j], m+1
				}
			}
			out[i] = s / m
		}
	}
	// Laplace's equation by over-relaxation.
	const rounds, over = 300, 1.9
	for range rounds {
		for i := range out {
			if known[i] {
				continue
			}
			s, m := 0.0, 0.0
			for _, j := range neighbours(i, c.cw, c.ch) {
				if j >= 0 {
					s, m = s+out[j], m+1
				}
			}
			out[i] += over * (s/m - out[i])
		}
	}
	return out
}

// over is the picture divided by the light on the paper: 1 on bare paper. The strip along the rim is set to 1.
func (f *flat) over(light []float64, paper []bool) *flat {
	out := &flat{grey: newGrey(f.w, f.h), pxPerMM: f.pxPerMM, cells: f.cells}
	l := grey{f.cw, f.ch, make([]float32, len(light))}
	for i, v := range light {
		l.v[i] = float32(v)
	}
	rim := int(rimMM * f.pxPerMM)
	for y := range f.h {
		for x := range f.w {
			i := y*f.w + x
			if x < rim || y < rim || x >= f.w-rim || y >= f.h-rim {
				out.v[i] = 1
				continue
			}
			b := l.at((float64(x)+0.5)/f.px, (float64(y)+0.5)/f.px)
			out.v[i] = float32(float64(f.v[i]) / max(b, 0.01))
		}
	}
	// Noise: differences of pixels a few apart on bare paper.
	var diff []float64
	for k, on := range paper {
		if !on || k%3 != 0 {
			continue
		}
		x, y := int((float64(k%f.cw)+0.5)*f.px), int((float64(k/f.cw)+0.5)*f.px)
		for d := -4; d < 4; d += 2 {
			diff = append(diff, math.Abs(float64(out.v[(y+d)*f.w+x-3]-out.v[(y+d)*f.w+x+3])))
		}
	}
	if len(diff) > 0 {
		out.noise = 1.4826 * median(diff) / math.Sqrt2
	}
	return out
}

// largest is the largest part of the cells that hang together, and whether it reaches the sheet's rim.
func (c *cells) largest(on []bool) (part []int, atRim bool) {
	labels, sizes := components(on, c.cw, c.ch)
	if len(sizes) == 0 {
		return nil, false
	}
	k := slices.Index(sizes, slices.MaxFunc(sizes, cmp.Compare))
	for i, l := range labels {
		if l == k {
			part = append(part, i)
			x, y := i%c.cw, i/c.cw
			atRim = atRim || x == 0 || y == 0 || x == c.cw-1 || y == c.ch-1
		}
	}
	return part, atRim
}
