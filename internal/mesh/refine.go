package mesh

import (
	"gonum.org/v1/gonum/spatial/r3"
)

const (
	leastEdgeMM     = 1e-3    // Refined splits no edge shorter than this, whatever limit says
	mostRefinements = 4 << 20 // Refined starts no further round with more faces than this
)

// Refined splits every edge longer than limit(a, b) at its middle, all at once, and again until none is left, so the
// mesh stays conforming: a closed mesh stays closed unless two of its faces have the same three corners, area and
// volume do not change, tags are kept. Limit gets the ends
// of the edge in an order that does not depend on the face, and answers in mm; an answer that is not above 0.001 mm
// counts as 0.001 mm, and +Inf never splits. Refining stops, with longer edges left, once the mesh has more than four
// million faces.
func (m *Mesh) Refined(limit func(a, b r3.Vec) float64) *Mesh {
	r := m.Clone()
	for len(r.F) <= mostRefinements {
		if !r.refineOnce(limit) {
			break
		}
	}
	return r
}

func (m *Mesh) refineOnce(limit func(a, b r3.Vec) float64) bool {
	const whole = -1
	middle := make(map[[2]int32]int32) // edge → vertex at its middle, or whole
	split := func(u, v int32) int32 {
		// Order by place, not by index, so that equal edges of unwelded faces are treated alike.
		if before(m.V[v], m.V[u]) || (m.V[u] == m.V[v] && v < u) {
			u, v = v, u
		}
		mid, seen := middle[[2]int32{u, v}]
		if !seen {
			a, b := m.V[u], m.V[v]
			l := limit(a, b)
			if !(l > leastEdgeMM) {
				l = leastEdgeMM
			}
			mid = whole
			if r3.Norm(r3.Sub(b, a)) > l {
				mid = int32(len(m.V))
				m.V = append(m.V, r3.Scale(0.5, r3.Add(a, b)))
			}
			middle[[2]int32{u, v}] = mid
		}
		return mid
	}
	faces := m.F
	tags := m.Tag
	m.F = make([][3]int32, 0, 2*len(faces))
	if tags != nil {
		m.Tag = make([]uint8, 0, 2*len(faces))
	}
	changed := false
	for i, f := range faces {
		mid := [3]int32{split(f[0], f[1]), split(f[1], f[2]), split(f[2], f[0])}
		parts := m.splitFace(f, mid)
		changed = changed || parts > 1
		for range parts {
			if tags != nil {
				m.Tag = append(m.Tag, tags[i])
			}
		}
	}
	return changed
}

// splitFace appends the parts of a face whose edge k (from corner k to the next) is cut at vertex mid[k], or whole
// when that is negative, and returns their number.
func (m *Mesh) splitFace(f, mid [3]int32) int {
	cuts, k := 0, 0
	for _, v := range mid {
		if v >= 0 {
			cuts++
		}
	}
	add := func(a, b, c int32) { m.F = append(m.F, [3]int32{a, b, c}) }
	switch cuts {
	case 0:
		add(f[0], f[1], f[2])
	case 1: // turn the face so that its cut edge is the first
		for mid[k] < 0 {
			k++
		}
		a, b, c := f[k], f[(k+1)%3], f[(k+2)%3]
		add(a, mid[k], c)
		add(mid[k], b, c)
	case 2: // turn the face so that its whole edge is the last
		for mid[(k+2)%3] >= 0 {
			k++
		}
		a, b, c := f[k], f[(k+1)%3], f[(k+2)%3]
		p, q := mid[k], mid[(k+1)%3]
		add(p, b, q)
		if r3.Norm2(r3.Sub(m.V[a], m.V[q])) <= r3.Norm2(r3.Sub(m.V[p], m.V[c]))*(1+1e-9) {
			add(a, p, q)
			add(a, q, c)
		} else {
			add(p, q, c)
			add(p, c, a)
		}
	default:
		add(f[0], mid[0], mid[2])
		add(f[1], mid[1], mid[0])
		add(f[2], mid[2], mid[1])
		add(mid[0], mid[1], mid[2])
	}
	return cuts + 1
}

// before orders points by X, then Y, then Z.
func before(a, b r3.Vec) bool {
	if a.X != b.X {
		return a.X < b.X
	}
	if a.Y != b.Y {
		return a.Y < b.Y
	}
	return a.Z < b.Z
}
