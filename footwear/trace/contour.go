package trace

import (
	"math"
)

// contours are the closed lines on which a picture has a level, by marching squares with straight interpolation, in px.
// The rim of the picture has to lie below the level; lines that leave the picture are left out.
func contours(g *grey, level float32) [][]Point {
	// next leads from the grid edge where a line enters a square to the one where it leaves: 2·i for the edge to the
	// right of pixel i, 2·i + 1 for the one below it.
	next := map[int32]int32{}
	var starts []int32
	for y := range g.h - 1 {
		for x := range g.w - 1 {
			i := y*g.w + x
			v := [4]float32{g.v[i], g.v[i+1], g.v[i+g.w+1], g.v[i+g.w]}
			in := [4]bool{v[0] > level, v[1] > level, v[2] > level, v[3] > level}
			if in[0] == in[1] && in[1] == in[2] && in[2] == in[3] {
				continue
			}
			edge := [4]int32{int32(2 * i), int32(2*(i+1) + 1), int32(2 * (i + g.w)), int32(2*i + 1)}
			saddle := in[0] == in[2] && in[1] == in[3]
			middle := (v[0]+v[1]+v[2]+v[3])/4 > level
			for k := range 4 {
				if !in[k] || in[(k+1)%4] {
					continue
				}
				// From in to out along the square's border: the line runs from here to where the border comes in again.
				to := (k + 3) % 4
				if saddle {
					if middle {
						to = (k + 1) % 4
					}
				} else {
					for in[to] || !in[(to+1)%4] {
						to = (to + 3) % 4
					}
				}
				next[edge[k]] = edge[to]
				starts = append(starts, edge[k])
			}
		}
	}
	place := func(e int32) Point {
		i := int(e / 2)
		x, y := i%g.w, i/g.w
		if e%2 == 0 {
			t := (level - g.v[i]) / (g.v[i+1] - g.v[i])
			return Point{float64(x) + 0.5 + float64(t), float64(y) + 0.5}
		}
		t := (level - g.v[i]) / (g.v[i+g.w] - g.v[i])
		return Point{float64(x) + 0.5, float64(y) + 0.5 + float64(t)}
	}
	var all [][]Point
	for _, start := range starts {
		var loop []Point
		for e := start; ; {
			to, ok := next[e]
			if !ok {
				break
			}
			delete(next, e)
			loop = append(loop, place(e))
			if e = to; e == start {
				all = append(all, loop)
				break
			}
		}
	}
	return all
}

// widestLoop is the loop of the largest area, nil without any.
func widestLoop(loops [][]Point) []Point {
	var best []Point
	most := 0.0
	for _, l := range loops {
		if a := math.Abs(area(l)); a > most {
			most, best = a, l
		}
	}
	return best
}

// spaced puts points at even distances of about the pitch along a closed polygon that turns from X to Y.
func spaced(p []Point, pitch float64) []Point {
	total := length(p)
	n := max(8, int(total/pitch))
	gap := total / float64(n)
	out := make([]Point, 0, n)
	walked, due := 0.0, 0.0
	for i := range p {
		a, b := p[i], p[(i+1)%len(p)]
		l := b.minus(a).norm()
		for l > 0 && due < walked+l && len(out) < n {
			out = append(out, a.plus(b.minus(a).times((due-walked)/l)))
			due += gap
		}
		walked += l
	}
	if area(out) < 0 {
		for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
			out[i], out[j] = out[j], out[i]
		}
	}
	return out
}

// outward is the unit normal to the outside of a closed polygon that turns from X to Y, over a few neighbours.
func outward(p []Point, i int) Point {
	const reach = 3
	n := len(p)
	d := p[(i+reach)%n].minus(p[(i-reach+n)%n])
	if d.norm() == 0 {
		return Point{1, 0}
	}
	d = d.unit()
	return Point{d.Y, -d.X}
}

// faired replaces each point by the middle of the parabola through its 2·m+1 neighbours, and returns how far the points
// lay from it (rms).
func faired(p []Point, m int) ([]Point, float64) {
	// Weights of the parabola's middle for even spacing (Savitzky & Golay 1964).
	w := make([]float64, 2*m+1)
	q := float64(m)
	for i := range w {
		t := float64(i - m)
		w[i] = 3 * (3*q*q + 3*q - 1 - 5*t*t) / ((2*q - 1) * (2*q + 1) * (2*q + 3))
	}
	out := make([]Point, len(p))
	sum := 0.0
	for i := range p {
		for k, c := range w {
			out[i] = out[i].plus(p[(i+k-m+len(p))%len(p)].times(c))
		}
		d := p[i].minus(out[i]).dot(outward(p, i))
		sum += d * d
	}
	return out, math.Sqrt(sum / float64(len(p)))
}
