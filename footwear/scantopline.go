package footwear

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// borders are the loops of a mesh's open edges, the longest first by number of edges; each runs as its faces do. Vertices
// must be welded. Edges of more than two faces, and loops that touch, end a loop early; what is left is dropped.
func borders(m *mesh.Mesh) [][]int32 {
	count := make(map[[2]int32]int, 3*len(m.F))
	for _, f := range m.F {
		for k := range 3 {
			count[[2]int32{f[k], f[(k+1)%3]}]++
		}
	}
	next := map[int32]int32{}
	var order []int32
	for _, f := range m.F {
		for k := range 3 {
			u, v := f[k], f[(k+1)%3]
			if count[[2]int32{u, v}] == 1 && count[[2]int32{v, u}] == 0 {
				if _, taken := next[u]; !taken {
					next[u] = v
					order = append(order, u)
				}
			}
		}
	}
	var out [][]int32
	used := map[int32]bool{}
	for _, start := range order {
		if used[start] {
			continue
		}
		var loop []int32
		v := start
		for !used[v] {
			used[v] = true
			loop = append(loop, v)
			w, ok := next[v]
			if !ok {
				break
			}
			v = w
		}
		if v == start && len(loop) > 2 {
			out = append(out, loop)
		}
	}
	best := 0
	for i := range out {
		if len(out[i]) > len(out[best]) {
			best = i
		}
	}
	if len(out) > 0 {
		out[0], out[best] = out[best], out[0]
	}
	return out
}

// openTop is the border that is the topline of an open scan: the longest one round, of some size, with its middle above
// the floor. No: the shape is closed but for holes.
func openTop(m *mesh.Mesh, sv *survey) ([]int32, bool) {
	var best []int32
	longest := 0.0
	for _, loop := range borders(m) {
		length := 0.0
		var middle r3.Vec
		for i, v := range loop {
			length += r3.Norm(r3.Sub(m.V[loop[(i+1)%len(loop)]], m.V[v]))
			middle = r3.Add(middle, r3.Scale(1/float64(len(loop)), m.V[v]))
		}
		over := middle.Z - floorAt(sv.st, middle.X-sv.back)
		if length > longest && length > 0.5*sv.last && over > 20 {
			best, longest = loop, length
		}
	}
	return best, best != nil
}

// lidded is a mesh with a fan over a border, zone Open: a virtual lid, from a point over the middle of the border.
func lidded(walls *mesh.Mesh, loop []int32) *mesh.Mesh {
	out := walls.Clone()
	var middle r3.Vec
	for _, v := range loop {
		middle = r3.Add(middle, r3.Scale(1/float64(len(loop)), walls.V[v]))
	}
	c := int32(len(out.V))
	out.V = append(out.V, middle)
	for i, v := range loop {
		// The lid's edge runs against the wall's.
		out.F = append(out.F, [3]int32{loop[(i+1)%len(loop)], v, c})
		out.Tag = append(out.Tag, uint8(Open))
	}
	return out
}

// A cutEdge is a new vertex on an edge: the ends, and the share of the way from the first.
type cutEdge struct {
	a, b int32
	t    float64
}

// splitWhere cuts faces along the line on which a value given at the vertices is 0, so that no face has values on both
// sides of it. New vertices follow the old ones in the order returned. Places nearer to a vertex than a fiftieth of the
// edge are moved onto it: its value becomes 0.
func splitWhere(faces [][3]int32, vertices int, value []float64) (out [][3]int32, side []int8, edges []cutEdge) {
	const near = 0.02
	for _, f := range faces {
		for k := range 3 {
			u, v := f[k], f[(k+1)%3]
			if value[u]*value[v] < 0 {
				if t := value[u] / (value[u] - value[v]); t < near {
					value[u] = 0
				} else if t > 1-near {
					value[v] = 0
				}
			}
		}
	}
	at := map[[2]int32]int32{}
	cut := func(u, v int32) int32 {
		if u > v {
			u, v = v, u
		}
		k, seen := at[[2]int32{u, v}]
		if !seen {
			k = int32(vertices + len(edges))
			at[[2]int32{u, v}] = k
			edges = append(edges, cutEdge{u, v, value[u] / (value[u] - value[v])})
		}
		return k
	}
	add := func(s int8, a, b, c int32) {
		out, side = append(out, [3]int32{a, b, c}), append(side, s)
	}
	sign := func(x float64) int8 {
		switch {
		case x > 0:
			return 1
		case x < 0:
			return -1
		}
		return 0
	}
	for _, f := range faces {
		// Turn the face so that its first edge is not cut, if there is such an edge between vertices of one side.
		s := [3]int8{sign(value[f[0]]), sign(value[f[1]]), sign(value[f[2]])}
		cuts := 0
		for k := range 3 {
			if s[k]*s[(k+1)%3] < 0 {
				cuts++
			}
		}
		switch cuts {
		case 0:
			add(max(s[0], s[1], s[2])+min(s[0], s[1], s[2]), f[0], f[1], f[2])
		case 1: // one vertex on the line
			k := 0
			for s[k] != 0 {
				k++
			}
			a, b, c := f[k], f[(k+1)%3], f[(k+2)%3]
			m := cut(b, c)
			add(s[(k+1)%3], a, b, m)
			add(s[(k+2)%3], a, m, c)
		default: // one vertex alone on its side
			k := 0
			for s[k] == s[(k+1)%3] || s[k] == s[(k+2)%3] {
				k++
			}
			a, b, c := f[k], f[(k+1)%3], f[(k+2)%3]
			p, q := cut(a, b), cut(c, a)
			add(s[k], a, p, q)
			add(-s[k], p, b, c)
			add(-s[k], p, c, q)
		}
	}
	return out, side, edges
}

// withCuts adds the vertices of cut edges.
func withCuts(v []r3.Vec, edges []cutEdge) []r3.Vec {
	out := append(make([]r3.Vec, 0, len(v)+len(edges)), v...)
	for _, e := range edges {
		out = append(out, r3.Add(r3.Scale(1-e.t, v[e.a]), r3.Scale(e.t, v[e.b])))
	}
	return out
}

// A toplineGuess is where a topline would run on a closed last: heights over the floor by X from the back, and the X of
// the throat.
type toplineGuess struct {
	back, medial, lateral float64 // at the back, and below the ankle bones
	atMedial, atLateral   float64 // at the throat
	throat                float64
}

// guessTopline takes heights and throat from the sheet, most of which the sheet has from the nearest kind of shoe.
func guessTopline(sv *survey, s *Sheet) toplineGuess {
	share, open := throatOf(s)
	g := toplineGuess{
		throat: share * sv.last, medial: s.V(ToplineMedial), lateral: s.V(ToplineLateral),
		back: s.V(ToplineBack) + floorAt(sv.st, 0) - floorAt(sv.st, s.V(BackCurveTop)),
	}
	if s.boot() {
		g.atMedial, g.atLateral = g.medial, g.lateral
		return g
	}
	i, _ := stationPlace(sv.st, g.throat)
	st := &sv.st[i]
	height := func(side float64) float64 {
		_, top := st.c.heights(st.middle + side*open*st.half())
		if math.IsInf(top, -1) {
			return st.shoulder - st.floor
		}
		return top - st.floor
	}
	g.atMedial, g.atLateral = height(1), height(-1)
	return g
}

// over is how far a place lies in the opening: positive above the topline and behind the throat.
func (g *toplineGuess) over(sv *survey, p r3.Vec) float64 {
	x := p.X - sv.back
	if x > g.throat {
		return g.throat - x
	}
	st := sv.st
	side, at := g.medial, g.atMedial
	if p.Y < stationValue(st, x, func(s *station) float64 { return s.middle }) {
		side, at = g.lateral, g.atLateral
	}
	ankle := ankleShare * sv.last
	line := newCurve([]float64{0, ankle, g.throat}, []float64{g.back, side, at}, free, free).Predict(math.Max(x, 0))
	// A last that is lower than the topline is open at its very top.
	const rimMM = 4.0
	top := stationValue(st, math.Max(x, st[0].x), func(s *station) float64 { return s.top - s.floor })
	line = math.Min(line, math.Max(top-rimMM, 0.5*line))
	return math.Min(p.Z-floorAt(st, math.Max(x, 0))-line, g.throat-x)
}
