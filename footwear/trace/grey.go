package trace

import "math"

// A grey is a picture of one value a pixel. The middle of its first pixel lies at (0.5, 0.5), its upper left corner at
// (0, 0), as for everything in pixels here.
type grey struct {
	w, h int
	v    []float32
}

func newGrey(w, h int) grey { return grey{w, h, make([]float32, w*h)} }

// at is the value between pixel middles, bilinear; outside of the picture that of its rim.
func (g *grey) at(x, y float64) float64 {
	x = min(max(x-0.5, 0), float64(g.w-1))
	y = min(max(y-0.5, 0), float64(g.h-1))
	i, j := min(int(x), g.w-2), min(int(y), g.h-2)
	fx, fy := float32(x-float64(i)), float32(y-float64(j))
	p := g.v[j*g.w+i:]
	q := p[g.w:]
	return float64((p[0]*(1-fx)+p[1]*fx)*(1-fy) + (q[0]*(1-fx)+q[1]*fx)*fy)
}

// shrunk averages blocks of f × f.
func (g *grey) shrunk(f int) grey {
	out := newGrey(g.w/f, g.h/f)
	for y := range out.h {
		for x := range out.w {
			var sum float32
			for j := range f {
				row := g.v[(y*f+j)*g.w+x*f:]
				for i := range f {
					sum += row[i]
				}
			}
			out.v[y*out.w+x] = sum / float32(f*f)
		}
	}
	return out
}

// smoothed is the picture under a Gaussian of the given sigma, px.
func (g *grey) smoothed(sigma float64) grey {
	n := int(math.Ceil(3 * sigma))
	k := make([]float32, 2*n+1)
	var sum float32
	for i := range k {
		t := float64(i-n) / sigma
		k[i] = float32(math.Exp(-t * t / 2))
		sum += k[i]
	}
	for i := range k {
		k[i] /= sum
	}
	mid, out := newGrey(g.w, g.h), newGrey(g.w, g.h)
	for y := range g.h {
		row := g.v[y*g.w : (y+1)*g.w]
		to := mid.v[y*g.w : (y+1)*g.w]
		for x := range row {
			var s float32
			if x >= n && x+n < g.w {
				for i, c := range k {
					s += c * row[x-n+i]
				}
			} else {
				for i, c := range k {
					s += c * row[min(max(x-n+i, 0), g.w-1)]
				}
			}
			to[x] = s
		}
	}
	for y := range g.h {
		to := out.v[y*g.w : (y+1)*g.w]
		for i, c := range k {
			from := mid.v[min(max(y-n+i, 0), g.h-1)*g.w:]
			for x := range to {
				to[x] += c * from[x]
			}
		}
	}
	return out
}

// boxed is the mean over a square of 2·n+1 pixels a side, cut at the rim.
func (g *grey) boxed(n int) grey {
	sum := make([]float64, (g.w+1)*(g.h+1))
	for y := range g.h {
		row := 0.0
		for x := range g.w {
			row += float64(g.v[y*g.w+x])
			sum[(y+1)*(g.w+1)+x+1] = sum[y*(g.w+1)+x+1] + row
		}
	}
	out := newGrey(g.w, g.h)
	for y := range g.h {
		y0, y1 := max(y-n, 0), min(y+n+1, g.h)
		for x := range g.w {
			x0, x1 := max(x-n, 0), min(x+n+1, g.w)
			s := sum[y1*(g.w+1)+x1] - sum[y0*(g.w+1)+x1] - sum[y1*(g.w+1)+x0] + sum[y0*(g.w+1)+x0]
			out.v[y*g.w+x] = float32(s / float64((y1-y0)*(x1-x0)))
		}
	}
	return out
}
