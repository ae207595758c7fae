package mesh

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Sign is the way in which a Tree tells inside from outside.
type Sign uint8

const (
	// SignByNormals: by the pseudonormal at the nearest point. Right for closed meshes without self-crossing.
	SignByNormals Sign = iota
	// SignByWinding: by the winding number at each point.
	SignByWinding
	// SignByBoth: by the pseudonormal where the surface about the nearest point is simple, by the winding number where it
	// crosses itself, is folded shut, has sheets turned in by a crossing, or ends.
	SignByBoth
)

func (s Sign) String() string {
	switch s {
	case SignByNormals:
		return "normals"
	case SignByWinding:
		return "winding number"
	}
	return "normals, and the winding number at crossings and borders"
}

// Sign is the way in which t tells inside from outside.
func (t *Tree) Sign() Sign { return t.sign }

// Crossed is how many faces NewScanTree found to touch faces that are not their neighbours.
func (t *Tree) Crossed() int { return t.crossed }

// NewTreeSigned is NewTree with the sign of every distance told in one way; SignByBoth makes NewScanTree's choice.
func NewTreeSigned(m *Mesh, s Sign) *Tree {
	if s == SignByBoth {
		return NewScanTree(m)
	}
	t := NewTree(m)
	t.sign = s
	return t
}

// NewScanTree is NewTree for meshes that may be open, noisy or cross themselves, with faces wound alike. It looks for
// faces that touch others, and uses the pseudonormal only where that is proved right, see the package comment; if that is
// everywhere, the tree is NewTree's.
func NewScanTree(m *Mesh) *Tree {
	t := NewTree(m)
	if len(t.tris) == 0 {
		return t
	}
	slack := 1e-9 * (r3.Norm(r3.Sub(m.Bounds().Max, m.Bounds().Min)) + 1e-3)
	tp := &t.topo
	doubt := t.touching(slack)
	for _, d := range doubt {
		if d {
			t.crossed++
		}
	}
	open := false
	for i := range tp.edges {
		open = open || tp.edges[i].open
	}
	pinched := tp.pinched()
	if t.crossed == 0 && !open && !slices.Contains(pinched, true) && !slices.ContainsFunc(tp.edges, func(e meshEdge) bool { return e.doubtful }) {
		// Closed and simple. Whether it bounds its inside or, inside out, the rest of space does not matter.
		return t
	}
	t.sign = SignByBoth
	for i, d := range tp.doubt {
		doubt[i] = doubt[i] || d
	}
	part, largest := tp.simpleParts(m, doubt)
	t.level = t.surfaceLevel(part, largest, slack)
	if !open {
		t.level = math.Floor(t.level) + 0.5 // winding numbers are whole
	}
	t.doubtParts(part, doubt, slack)
	for i, d := range doubt {
		if tp.doubt[i] = d; !d {
			continue
		}
		for k := range 3 {
			tp.verts[tp.corner[i][k]].doubtful = true
			if c := tp.corner[i]; c[0] != c[1] && c[1] != c[2] && c[2] != c[0] {
				tp.edges[tp.edge[i][k]].doubtful = true
			}
		}
	}
	for i := range tp.edges {
		if e := &tp.edges[i]; e.open || e.doubtful {
			e.doubtful = true
			tp.verts[e.a].doubtful, tp.verts[e.b].doubtful = true, true
		}
	}
	for v, p := range pinched {
		if p {
			tp.verts[v].doubtful = true
		}
	}
	return t
}

// pinched are the vertices whose faces do not all hang together edge by edge about it.
func (tp *topology) pinched() []bool {
	faces := make([]int32, len(tp.verts))
	first := make([]int32, len(tp.verts)) // 1 + a face at the vertex
	for i, c := range tp.corner {
		if c[0] == c[1] || c[1] == c[2] || c[2] == c[0] {
			continue
		}
		for _, v := range c {
			faces[v]++
			if first[v] == 0 {
				first[v] = int32(i) + 1
			}
		}
	}
	out := make([]bool, len(tp.verts))
	beside := tp.beside()
	for v := range tp.verts {
		out[v] = faces[v] > 0 && tp.fan(first[v]-1, int32(v), beside, int(faces[v])) != int(faces[v])
	}
	return out
}

// beside has for each edge its first two faces, -1 for none.
func (tp *topology) beside() [][2]int32 {
	b := make([][2]int32, len(tp.edges))
	for i := range b {
		b[i] = [2]int32{-1, -1}
	}
	for f, c := range tp.corner {
		if c[0] == c[1] || c[1] == c[2] || c[2] == c[0] {
			continue
		}
		for _, e := range tp.edge[f] {
			if b[e][0] < 0 {
				b[e][0] = int32(f)
			} else if b[e][1] < 0 {
				b[e][1] = int32(f)
			}
		}
	}
	return b
}

// fan counts the faces about vertex v that hang together with face f, both ways round, up to most.
func (tp *topology) fan(f, v int32, beside [][2]int32, most int) int {
	n := 1
	for way := range 2 {
		at, side := f, int32(-1)
		for k := range int32(3) {
			if tp.corner[f][k] == v {
				side = (k + 2*int32(way)) % 3 // the side that begins at v, then the one that ends there
			}
		}
		for n < most {
			e := tp.edge[at][side]
			next := beside[e][0]
			if next == at {
				next = beside[e][1]
			}
			if next < 0 || next == f {
				break
			}
			at = next
			n++
			for k := range int32(3) {
				if tp.edge[at][k] != e && (tp.corner[at][k] == v || tp.corner[at][(k+1)%3] == v) {
					side = k
				}
			}
		}
	}
	return n
}

// simpleParts numbers the pieces of surface that faces without doubt make over edges without doubt, -1 for faces with;
// largest is the one of most area.
func (tp *topology) simpleParts(m *Mesh, doubt []bool) (part []int32, largest int32) {
	part = make([]int32, len(tp.corner))
	for i := range part {
		part[i] = -1
	}
	beside := tp.beside()
	usable := func(f int32) bool { return !doubt[f] && tp.normal[f] != (r3.Vec{}) }
	var queue []int32
	n, most := int32(0), 0.0
	for seed := range part {
		if part[seed] >= 0 || !usable(int32(seed)) {
			continue
		}
		part[seed] = n
		queue = append(queue[:0], int32(seed))
		area := 0.0
		for head := 0; head < len(queue); head++ {
			f := queue[head]
			area += m.FaceArea(int(f))
			for _, e := range tp.edge[f] {
				if tp.edges[e].doubtful {
					continue
				}
				for _, g := range beside[e] {
					if g >= 0 && part[g] < 0 && usable(g) {
						part[g] = n
						queue = append(queue, g)
					}
				}
			}
		}
		if area > most {
			most, largest = area, n
		}
		n++
	}
	return part, largest
}

// levelSamples are the faces at which the winding number on the surface is taken.
const levelSamples = 65

// surfaceLevel is the median of the winding number on the largest part of the surface, half way between its two sides:
// ½ for a closed mesh, -½ for one inside out, less than ½ for one with an opening, about 0 for a sheet.
func (t *Tree) surfaceLevel(part []int32, largest int32, slack float64) float64 {
	var faces []int32
	for f, p := range part {
		if p == largest {
			faces = append(faces, int32(f))
		}
	}
	if len(faces) == 0 {
		return 0.5
	}
	step := len(faces)/levelSamples + 1
	var w []float64
	for i := step / 2; i < len(faces); i += step {
		w = append(w, t.windingOn(faces[i], slack))
	}
	slices.Sort(w)
	return w[len(w)/2]
}

// windingOn is the winding number at the centre of a face, half way between its two sides.
func (t *Tree) windingOn(face int32, slack float64) float64 {
	f := t.m.F[face]
	c := r3.Scale(1.0/3, r3.Add(t.m.V[f[0]], r3.Add(t.m.V[f[1]], t.m.V[f[2]])))
	n := r3.Scale(slack/2, t.topo.normal[face])
	// The bound of the error is about 0.2 there, and pieces are told apart by a half.
	front, _ := t.windingNear(r3.Add(c, n), 0.4)
	back, _ := t.windingNear(r3.Sub(c, n), 0.4)
	return (front + back) / 2
}

// doubtParts throws doubt on the parts of the surface that do not part inside from outside: those turned in by a
// crossing, or within the body. The winding number on them is a whole one off.
func (t *Tree) doubtParts(part []int32, doubt []bool, slack float64) {
	judged := map[int32]bool{} // part → in doubt
	for f, p := range part {
		if p < 0 {
			continue
		}
		bad, there := judged[p]
		if !there {
			bad = math.Abs(t.windingOn(int32(f), slack)-t.level) > 0.5
			judged[p] = bad
		}
		doubt[f] = doubt[f] || bad
	}
}
