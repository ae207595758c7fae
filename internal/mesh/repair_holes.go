package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A border is a closed chain of sides that are joined to nothing, in the direction of their faces.
type border struct {
	sides  []int32 // 3·face + side
	shell  int32
	length float64
	centre r3.Vec
	area   r3.Vec // of the lid, as a vector out of the enclosed room when the faces are wound outward
}

// findBorders follows the open sides round. About the end of a side the next open one is found by turning through the
// faces that are joined there, so that borders that touch at a vertex are kept apart.
func (r *mender) findBorders() []border {
	var all []border
	done := make([]bool, 3*len(r.m.F))
	for f := range r.m.F {
		for k := range int32(3) {
			if r.next[f][k] >= 0 || done[int32(3*f)+k] {
				continue
			}
			b := border{shell: r.shell[f]}
			for s := int32(3*f) + k; !done[s]; s = r.after(s) {
				done[s] = true
				b.sides = append(b.sides, s)
			}
			r.measure(&b)
			all = append(all, b)
		}
	}
	return all
}

// after is the open side that begins where open side s ends. Joined sides need not run against each other yet.
func (r *mender) after(s int32) int32 {
	f, k := s/3, s%3
	v := r.m.F[f][(k+1)%3]
	k = (k + 1) % 3 // the other side of f at v
	for r.next[f][k] >= 0 {
		j := r.next[f][k]
		f, k = j/3, j%3
		// The other side of the new face at v.
		if r.m.F[f][k] == v {
			k = (k + 2) % 3
		} else {
			k = (k + 1) % 3
		}
	}
	return 3*f + k
}

func (r *mender) corner(side int32) r3.Vec { return r.m.V[r.m.F[side/3][side%3]] }

func (r *mender) measure(b *border) {
	n := len(b.sides)
	for i, s := range b.sides {
		p, q := r.corner(s), r.corner(b.sides[(i+1)%n])
		l := r3.Norm(r3.Sub(q, p))
		b.length += l
		b.centre = r3.Add(b.centre, r3.Scale(l/2, r3.Add(p, q)))
	}
	if b.length > 0 {
		b.centre = r3.Scale(1/b.length, b.centre)
	}
	for i, s := range b.sides {
		// A lid runs against the border.
		p, q := r3.Sub(r.corner(s), b.centre), r3.Sub(r.corner(b.sides[(i+1)%n]), b.centre)
		b.area = r3.Add(b.area, r3.Scale(0.5, r3.Cross(q, p)))
	}
}

// fill closes the borders that are short enough and reports the others. Corners have their final vertices by now.
func (r *mender) fill() {
	most := r.holeMM()
	r.filled = len(r.m.F)
	r.borders = r.findBorders()
	edges := r.borderEdges()
	open := make([]int, len(r.shells))
	n, longest := 0, 0.0
	for _, b := range r.borders {
		if !(b.length <= most) || len(b.sides) > mostCorners {
			r.reportOpening(b)
			open[b.shell]++
			continue
		}
		n++
		longest = max(longest, b.length)
		r.close(b, edges)
	}
	for i := range r.shells {
		r.shells[i].Openings = open[i]
	}
	r.report.add(FilledHoles, n, longest)
}

func (r *mender) reportOpening(b border) {
	o := Opening{PerimeterMM: b.length, Centre: b.centre, Normal: unit(b.area), Edges: len(b.sides)}
	far := func(from r3.Vec) (at r3.Vec, d float64) {
		for _, s := range b.sides {
			if e := r3.Norm(r3.Sub(r.corner(s), from)); e >= d {
				at, d = r.corner(s), e
			}
		}
		return at, d
	}
	p, _ := far(b.centre)
	for range 3 {
		p, o.SpanMM = far(p)
	}
	r.report.Openings = append(r.report.Openings, o)
}

// borderEdges are the edges between vertices of borders, which a filling must not use again.
func (r *mender) borderEdges() map[[2]int32]bool {
	on := make(map[int32]bool)
	for _, b := range r.borders {
		for _, s := range b.sides {
			on[r.m.F[s/3][s%3]] = true
		}
	}
	edges := make(map[[2]int32]bool)
	if len(on) == 0 {
		return edges
	}
	for _, f := range r.m.F {
		for k := range 3 {
			if u, v := f[k], f[(k+1)%3]; on[u] && on[v] {
				edges[[2]int32{min(u, v), max(u, v)}] = true
			}
		}
	}
	return edges
}

// mostPlanned is the longest border, in sides, that is filled without a new vertex; the time goes with its cube.
const mostPlanned = 128

// close fills a hole: with the triangulation of least area (Barequet & Sharir, Filling gaps in the boundary of a
// polyhedron, CAGD 12:207, 1995; from memory) that uses no edge which is there already; a hole with too many corners
// for that, or without such a triangulation, with a fan from its centre.
func (r *mender) close(b border, edges map[[2]int32]bool) {
	n := len(b.sides)
	loop := make([]int32, n) // against the border, as the new faces run
	for i, s := range b.sides {
		loop[n-1-i] = r.m.F[s/3][s%3]
	}
	add := func(u, v, w int32) {
		r.m.F = append(r.m.F, [3]int32{u, v, w})
		if r.m.Tag != nil {
			r.m.Tag = append(r.m.Tag, 0)
		}
		r.shell = append(r.shell, b.shell)
		for _, e := range [3][2]int32{{u, v}, {v, w}, {w, u}} {
			edges[[2]int32{min(e[0], e[1]), max(e[0], e[1])}] = true
		}
	}
	if n <= mostPlanned {
		if cut := leastArea(r.m.V, loop, edges); cut != nil {
			for _, t := range cut {
				add(loop[t[0]], loop[t[1]], loop[t[2]])
			}
			return
		}
	}
	centre := int32(len(r.m.V))
	r.m.V = append(r.m.V, b.centre)
	for i, v := range loop {
		add(v, loop[(i+1)%n], centre)
	}
}

// leastArea is the triangulation of a loop with the least area whose inner edges are new, nil when there is none.
func leastArea(v []r3.Vec, loop []int32, edges map[[2]int32]bool) [][3]int {
	n := len(loop)
	// Among equal areas, as in a plane, short sides are better, and a face without area is bad.
	price := func(i, j, k int) float64 {
		ab, bc, ca := r3.Sub(v[loop[j]], v[loop[i]]), r3.Sub(v[loop[k]], v[loop[j]]), r3.Sub(v[loop[i]], v[loop[k]])
		area := 0.5 * r3.Norm(r3.Cross(ab, ca))
		longest := max(r3.Norm2(ab), r3.Norm2(bc), r3.Norm2(ca))
		if area < 1e-6*longest {
			area += 10 * longest
		}
		return area + 1e-3*longest
	}
	cost := make([]float64, n*n)
	via := make([]int, n*n)
	for span := 2; span < n; span++ {
		for i := 0; i+span < n; i++ {
			j := i + span
			best, at := math.Inf(1), -1
			u, w := loop[i], loop[j]
			if span == n-1 || !edges[[2]int32{min(u, w), max(u, w)}] {
				for k := i + 1; k < j; k++ {
					if c := cost[i*n+k] + cost[k*n+j] + price(i, k, j); c < best {
						best, at = c, k
					}
				}
			}
			cost[i*n+j], via[i*n+j] = best, at
		}
	}
	if math.IsInf(cost[n-1], 1) {
		return nil
	}
	var out [][3]int
	var walk func(i, j int)
	walk = func(i, j int) {
		if j-i < 2 {
			return
		}
		k := via[i*n+j]
		walk(i, k)
		out = append(out, [3]int{i, k, j})
		walk(k, j)
	}
	walk(0, n-1)
	return out
}
