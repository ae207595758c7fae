package mesh

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// pair joins the sides of the faces edge by edge. Where more than two faces meet, those are joined that have solid
// between them, so that bodies that touch along an edge come apart there.
func (r *mender) pair() {
	m := r.m
	r.next = make([][3]int32, len(m.F))
	r.shell = make([]int32, len(m.F))
	sides := make([]side, 0, 3*len(m.F))
	for i, f := range m.F {
		r.next[i] = [3]int32{-1, -1, -1}
		for k := range int32(3) {
			u, v := f[k], f[(k+1)%3]
			sides = append(sides, side{min(u, v), max(u, v), int32(i), k})
		}
	}
	sides = sortedSides(sides, len(m.V))
	split := 0
	for len(sides) > 0 {
		n := 1
		for n < len(sides) && sides[n].lo == sides[0].lo && sides[n].hi == sides[0].hi {
			n++
		}
		switch n {
		case 1:
		case 2:
			r.join(sides[0], sides[1])
		default:
			split++
			r.joinSheets(sides[:n])
		}
		sides = sides[n:]
	}
	r.report.add(SplitEdges, split, 0)
}

func (r *mender) join(a, b side) {
	r.next[a.face][a.k] = 3*b.face + b.k
	r.next[b.face][b.k] = 3*a.face + a.k
}

// joinSheets joins three or more sides on one edge. About the edge as an axis from its lower end, a face that runs
// along the axis has the solid behind it, at smaller angles, and one that runs against it before it. So in the order
// of angles one against is joined to the next one along, like brackets; of what is left, neighbours are.
func (r *mender) joinSheets(on []side) {
	m := r.m
	a, b := m.V[on[0].lo], m.V[on[0].hi]
	axis := unit(r3.Sub(b, a))
	across := perpendicular(axis)
	up := r3.Cross(axis, across)
	type sheet struct {
		side
		angle float64
		along bool
	}
	sheets := make([]sheet, len(on))
	for i, s := range on {
		f := m.F[s.face]
		c := r3.Sub(m.V[f[(s.k+2)%3]], a)
		sheets[i] = sheet{s, math.Atan2(r3.Dot(c, up), r3.Dot(c, across)), f[s.k] == s.lo}
	}
	slices.SortStableFunc(sheets, func(p, q sheet) int { return cmp.Compare(p.angle, q.angle) })
	var open, left []sheet
	for pass := range 2 { // the second for brackets round the end
		left = left[:0]
		for _, s := range sheets {
			switch {
			case s.along && len(open) > 0:
				r.join(open[len(open)-1].side, s.side)
				open = open[:len(open)-1]
			case !s.along && pass == 0:
				open = append(open, s)
			case s.along:
				left = append(left, s)
			}
		}
		sheets = slices.Clone(left)
	}
	for left = append(left, open...); len(left) > 1; left = left[2:] {
		r.join(left[0].side, left[1].side)
	}
}

// perpendicular is a unit vector across v.
func perpendicular(v r3.Vec) r3.Vec {
	e := r3.Vec{X: 1}
	if math.Abs(v.X) > math.Abs(v.Y) {
		e = r3.Vec{Y: 1}
	}
	return unit(r3.Cross(v, e))
}

// windAlike finds the shells and turns the faces that are wound against the most of theirs. Where a surface has one
// side only, it is cut.
func (r *mender) windAlike() {
	m := r.m
	turned := make([]bool, len(m.F))
	for i := range r.shell {
		r.shell[i] = -1
	}
	var queue []int32
	cut, count := 0, 0
	for seed := range m.F {
		if r.shell[seed] >= 0 {
			continue
		}
		id := int32(len(r.shells))
		r.shell[seed] = id
		queue = append(queue[:0], int32(seed))
		var area, wrong float64
		n := 0
		for head := 0; head < len(queue); head++ {
			f := queue[head]
			s := m.FaceArea(int(f))
			area += s
			if turned[f] {
				wrong += s
				n++
			}
			for k, j := range r.next[f] {
				if j < 0 {
					continue
				}
				g := j / 3
				agree := m.F[f][k] != m.F[g][j%3]
				if r.shell[g] < 0 {
					r.shell[g] = id
					turned[g] = turned[f] == agree
					queue = append(queue, g)
				} else if (turned[f] == turned[g]) != agree {
					r.next[f][k], r.next[g][j%3] = -1, -1
					cut++
				}
			}
		}
		if wrong > area/2 {
			n = len(queue) - n
			for _, f := range queue {
				turned[f] = !turned[f]
			}
		}
		count += n
		r.shells = append(r.shells, Shell{Faces: len(queue), AreaMM2: area})
	}
	r.turn(func(f int) bool { return turned[f] })
	r.report.add(CutSeams, cut, 0)
	r.report.add(TurnedFaces, count, 0)
}

// turn winds faces the other way round and renumbers the sides that are joined.
func (r *mender) turn(yes func(f int) bool) {
	for i, f := range r.m.F {
		if yes(i) {
			r.m.F[i] = [3]int32{f[0], f[2], f[1]}
			r.next[i][0], r.next[i][2] = r.next[i][2], r.next[i][0]
		}
	}
	for i := range r.next {
		for k, j := range r.next[i] {
			if j >= 0 && yes(int(j/3)) {
				r.next[i][k] = j/3*3 + 2 - j%3
			}
		}
	}
}

// part gives the sheets that meet at a vertex without being joined there a vertex each.
func (r *mender) part() {
	m := r.m
	root := make([]int32, 3*len(m.F)) // of a corner: one of the corners joined to it
	for i := range root {
		root[i] = int32(i)
	}
	find := func(i int32) int32 {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	for f := range m.F {
		for k, j := range r.next[f] {
			if j < int32(3*f+k) { // each pair once
				continue
			}
			// Joined sides run against each other: the start of one is the end of the other.
			g, l := 3*(j/3), j%3
			for _, p := range [2][2]int32{{int32(3*f + k), g + (l+1)%3}, {int32(3*f + (k+1)%3), g + l}} {
				a, b := find(p[0]), find(p[1])
				root[max(a, b)] = min(a, b)
			}
		}
	}
	owner := make([]int32, len(m.V)) // 1 + the corner that keeps the vertex
	own := map[int32]int32{}         // of other corners: their new vertex
	split := 0
	for f := range m.F {
		for k, v := range m.F[f] {
			c := find(int32(3*f + k))
			switch {
			case owner[v] == 0:
				owner[v] = c + 1
			case owner[v] != c+1:
				n, there := own[c]
				if !there {
					n = int32(len(m.V))
					m.V = append(m.V, m.V[v])
					own[c] = n
					split++
				}
				m.F[f][k] = n
			}
		}
	}
	r.report.add(SplitVertices, split, 0)
}
