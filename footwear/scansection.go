package footwear

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A slicer cuts a mesh across X many times; it looks at the faces near the cut only.
type slicer struct {
	lo, step float64
	slab     []*mesh.Mesh
}

const slabMM = 8.0

func newSlicer(m *mesh.Mesh) *slicer {
	b := m.Bounds()
	n := int((b.Max.X-b.Min.X)/slabMM) + 1
	s := &slicer{lo: b.Min.X, step: (b.Max.X - b.Min.X) / float64(n), slab: make([]*mesh.Mesh, n)}
	if s.step <= 0 {
		s.step = slabMM
	}
	in := make([][]int, n)
	at := func(x float64) int { return min(max(int((x-s.lo)/s.step), 0), n-1) }
	for i, f := range m.F {
		x0, x1, x2 := m.V[f[0]].X, m.V[f[1]].X, m.V[f[2]].X
		for k := at(min(x0, x1, x2)); k <= at(max(x0, x1, x2)); k++ {
			in[k] = append(in[k], i)
		}
	}
	for k, faces := range in {
		s.slab[k] = part(m, faces)
	}
	return s
}

// part is a mesh of some faces, with its own vertices.
func part(m *mesh.Mesh, faces []int) *mesh.Mesh {
	out := &mesh.Mesh{F: make([][3]int32, 0, len(faces))}
	to := make(map[int32]int32, len(faces))
	for _, i := range faces {
		var g [3]int32
		for k, v := range m.F[i] {
			j, seen := to[v]
			if !seen {
				j = int32(len(out.V))
				to[v] = j
				out.V = append(out.V, m.V[v])
			}
			g[k] = j
		}
		out.F = append(out.F, g)
		if m.Tag != nil {
			out.Tag = append(out.Tag, m.Tag[i])
		}
	}
	return out
}

// at is the section at X, open runs closed by a lid.
func (s *slicer) at(x float64) contour {
	k := int((x - s.lo) / s.step)
	if x < s.lo || k >= len(s.slab) {
		return contour{}
	}
	return outerContour(s.slab[k].Section(mesh.Plane{Point: r3.Vec{X: x}, Normal: r3.Vec{X: 1}}),
		func(p r3.Vec) (float64, float64) { return p.Y, p.Z })
}

// scanLongSection cuts along X at Y, open runs closed by a lid.
func scanLongSection(m *mesh.Mesh, y float64) contour {
	return outerContour(m.Section(mesh.Plane{Point: r3.Vec{Y: y}, Normal: r3.Vec{Y: 1}}),
		func(p r3.Vec) (float64, float64) { return p.X, p.Z })
}

// outerContour makes one loop of a section's lines. Open runs are joined end to nearest beginning; what joins them is
// Open, the lid of an open room. Of several loops the widest counts: the others are stray.
func outerContour(lines []mesh.Polyline, uv func(r3.Vec) (float64, float64)) contour {
	var best contour
	size := func(c *contour) float64 {
		ulo, uhi := extent(c.u)
		vlo, vhi := extent(c.v)
		return uhi - ulo + vhi - vlo
	}
	var runs []contour
	longest := 0.0
	for _, l := range lines {
		var c contour
		for i, p := range l.P {
			u, v := uv(p)
			c.u, c.v = append(c.u, u), append(c.v, v)
			if i < len(l.Tag) {
				c.zone = append(c.zone, Zone(l.Tag[i]))
			}
		}
		if l.Closed {
			if len(best.u) == 0 || size(&c) > size(&best) {
				best = c
			}
			continue
		}
		runs = append(runs, c)
		longest = math.Max(longest, size(&c))
	}
	runs = slices.DeleteFunc(runs, func(c contour) bool { return size(&c) < 0.1*longest })
	if len(runs) == 0 {
		return best
	}
	if c := joined(runs); len(best.u) == 0 || size(&c) > size(&best) {
		best = c
	}
	return best
}

// joined makes a loop of open runs.
func joined(runs []contour) contour {
	c := runs[0]
	c.lid = true
	left := slices.Clone(runs[1:])
	for {
		c.zone = append(c.zone, Open)
		if len(left) == 0 {
			return c
		}
		u, v := c.u[len(c.u)-1], c.v[len(c.v)-1]
		next, gap := 0, math.Inf(1)
		for i, r := range left {
			if d := math.Hypot(r.u[0]-u, r.v[0]-v); d < gap {
				next, gap = i, d
			}
		}
		r := left[next]
		left = slices.Delete(left, next, next+1)
		c.u, c.v, c.zone = append(c.u, r.u...), append(c.v, r.v...), append(c.zone, r.zone...)
	}
}

// lowerLine fits v = a + b·t + c·t², t = u − middle, to the lowest line of a section within a distance of a middle, by
// least squares over even steps of u. Its a is the floor there.
func (c *contour) lowerLine(middle, reach float64) (q polynomial, ok bool) {
	const places = 17
	var p []point2
	for i := range places {
		t := reach * (2*float64(i)/(places-1) - 1)
		if lo, _ := c.heights(middle + t); !math.IsInf(lo, 1) {
			p = append(p, point2{t, lo})
		}
	}
	if len(p) < 5 {
		return polynomial{}, false
	}
	return fitPolynomial(p, 2)
}

// A station is a cross section of a scan and what is read off it.
type station struct {
	c              contour
	x              float64
	lo, hi, middle float64 // Y of the sides and half way between
	floor, across  float64 // height of the floor on the middle, and its slope to the medial side
	shoulder, top  float64 // height of the widest place and of the highest
}

func (s *station) half() float64 { return (s.hi - s.lo) / 2 }

// stationAt reads a section; no: there is no usable one.
func (s *slicer) stationAt(x float64) (station, bool) {
	c := s.at(x)
	if len(c.u) < 6 {
		return station{}, false
	}
	st := station{c: c, x: x}
	st.lo, st.hi = extent(c.u)
	st.middle = (st.lo + st.hi) / 2
	_, st.top = extent(c.v)
	line, ok := c.lowerLine(st.middle, 0.3*st.half())
	if !ok {
		return station{}, false
	}
	st.floor, st.across = line.at(0), line.slopeAt(0)
	il, ih := slices.Index(c.u, st.lo), slices.Index(c.u, st.hi)
	st.shoulder = (c.v[il] + c.v[ih]) / 2
	return st, true
}
