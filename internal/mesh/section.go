package mesh

import "gonum.org/v1/gonum/spatial/r3"

// A Plane is given by a point on it and a normal of any length.
type Plane struct{ Point, Normal r3.Vec }

// A Polyline is a run of straight segments in space. Segment i runs from P[i] to P[i+1] and, in a closed one, the
// last from the last point back to P[0]; Tag has one label a segment, that of the face it was cut from.
type Polyline struct {
	P      []r3.Vec
	Tag    []uint8
	Closed bool
}

// Section is the cut of the surface with a plane, chained. Seen from the tip of the plane's normal, the loops of a
// closed mesh run counterclockwise round the inside. A vertex on the plane counts as just above it, so the cut is
// that of a plane lower by less than any number: each face is cut in two edges or none, a closed mesh gives closed
// loops only, and faces in the plane appear by their outline when the solid is below them and not at all when it is
// above. Segments of no length are left out. Points lie on the plane to rounding; equal input gives equal output.
func (m *Mesh) Section(pl Plane) []Polyline {
	n := unit(pl.Normal)
	if n == (r3.Vec{}) || len(m.F) == 0 {
		return nil
	}
	height := make([]float64, len(m.V))
	for i, v := range m.V {
		height[i] = r3.Dot(r3.Sub(v, pl.Point), n)
	}
	c := cutter{m: m, height: height, from: map[edgePlace][]int32{}, to: map[edgePlace]int{}}
	for i, f := range m.F {
		above := 0
		for _, v := range f {
			if height[v] >= 0 {
				above++
			}
		}
		if above == 1 || above == 2 {
			c.add(i)
		}
	}
	return c.chain()
}

// An edgePlace names an edge by the places of its ends, so that unwelded faces find each other.
type edgePlace struct{ a, b r3.Vec }

type cut struct {
	start, end edgePlace
	face       int
}

type cutter struct {
	m      *Mesh
	height []float64
	cuts   []cut
	from   map[edgePlace][]int32 // edge → cuts that start there
	to     map[edgePlace]int     // edge → number of cuts that end there
}

// add cuts one face, from the edge on which its outline goes down through the plane to the one where it comes up.
func (c *cutter) add(face int) {
	f := c.m.F[face]
	k := cut{face: face}
	for i := range 3 {
		u, v := f[i], f[(i+1)%3]
		up := c.height[v] >= 0
		if (c.height[u] >= 0) == up {
			continue
		}
		e := edgePlace{c.m.V[u], c.m.V[v]}
		if up {
			e.a, e.b = e.b, e.a // upper end first
			k.end = e
		} else {
			k.start = e
		}
	}
	c.from[k.start] = append(c.from[k.start], int32(len(c.cuts)))
	c.to[k.end]++
	c.cuts = append(c.cuts, k)
}

// chain joins the cuts: first the open runs from their beginning, then the loops, each in the order of faces.
func (c *cutter) chain() []Polyline {
	var out []Polyline
	used := make([]bool, len(c.cuts))
	run := func(first int) {
		if used[first] {
			return
		}
		closed := false
		var ids []int
		for i := first; i >= 0; {
			used[i] = true
			ids = append(ids, i)
			if c.cuts[i].end == c.cuts[first].start {
				closed = true
				break
			}
			next := -1
			for _, j := range c.from[c.cuts[i].end] {
				if !used[j] {
					next = int(j)
					break
				}
			}
			i = next
		}
		if p, ok := c.polyline(ids, closed); ok {
			out = append(out, p)
		}
	}
	for i, k := range c.cuts {
		if c.to[k.start] == 0 {
			run(i)
		}
	}
	for i := range c.cuts {
		run(i)
	}
	return out
}

// shortestSegmentMM is the length up to which a segment counts as none.
const shortestSegmentMM = 1e-9

// polyline makes points of a chain of cuts; it says no to a chain without length and to a loop without width.
func (c *cutter) polyline(ids []int, closed bool) (Polyline, bool) {
	p := Polyline{P: []r3.Vec{c.point(ids[0], false)}, Closed: closed}
	for _, i := range ids {
		q := c.point(i, true)
		if r3.Norm(r3.Sub(q, p.P[len(p.P)-1])) <= shortestSegmentMM {
			continue
		}
		p.P = append(p.P, q)
		p.Tag = append(p.Tag, c.m.tag(c.cuts[i].face))
	}
	if !closed {
		return p, len(p.P) > 1
	}
	// The last point is the first one again: drop it, keeping the tag of the segment that leads there.
	if n := len(p.P) - 1; n > 0 && r3.Norm(r3.Sub(p.P[n], p.P[0])) <= shortestSegmentMM {
		p.P = p.P[:n]
	}
	return p, len(p.P) > 2 && len(p.Tag) == len(p.P)
}

// point is where cut i starts or ends.
func (c *cutter) point(i int, end bool) r3.Vec {
	k := c.cuts[i]
	f := c.m.F[k.face]
	e := k.start
	if end {
		e = k.end
	}
	var ha, hb float64
	for _, v := range f {
		switch c.m.V[v] {
		case e.a:
			ha = c.height[v]
		case e.b:
			hb = c.height[v]
		}
	}
	return r3.Add(e.a, r3.Scale(ha/(ha-hb), r3.Sub(e.b, e.a)))
}
