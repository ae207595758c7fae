package device

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// untagged marks a face that has no feature yet.
const untagged = NumFeatures

const (
	growCos      = 0.87 // about 30°: the foot side ends where its faces turn more than this from those before
	growMM       = 3.0  // over which "before" is remembered
	steepestFoot = -0.1 // least upward part of a normal of the foot side: an upright wall, and a little
)

// footSide finds the faces that carry the foot: it grows from those that look up in the middle of the device, over
// faces that turn gently, and so ends at the rim. The answer has a bool a face.
func footSide(s *skin, l lie, size r3.Vec) []bool {
	foot := make([]bool, len(s.m.F))
	way := make([]r3.Vec, len(s.m.F)) // mean direction of the faces on the way here
	var queue []int32
	for i := range s.m.F {
		p := l.in(s.centre[i])
		if n := l.along(s.normal[i]); n.Z > 0.8 && math.Abs(p.Y) < 0.2*size.Y && p.X > 0.1*size.X && p.X < 0.95*size.X {
			foot[i], way[i] = true, s.normal[i]
			queue = append(queue, int32(i))
		}
	}
	for len(queue) > 0 {
		i := queue[0]
		queue = queue[1:]
		for _, j := range s.next[i] {
			if j < 0 || foot[j] || r3.Dot(way[i], s.normal[j]) < growCos || r3.Dot(s.normal[j], l.z) < steepestFoot {
				continue
			}
			foot[j] = true
			keep := math.Exp(-r3.Norm(r3.Sub(s.centre[j], s.centre[i])) / growMM)
			way[j] = unit(r3.Add(r3.Scale(keep, way[i]), r3.Scale(1-keep, s.normal[j])))
			queue = append(queue, j)
		}
	}
	s.evenOut(foot)
	s.peel(foot)
	s.evenOut(foot)
	return foot
}

// neighbours counts the neighbours of a face, and those of them that are in a set.
func (s *skin) neighbours(i int, in []bool) (have, of int) {
	for _, j := range s.next[i] {
		if j >= 0 {
			of++
			if in[j] {
				have++
			}
		}
	}
	return have, of
}

// evenOut lets each face of a set go with the most of its neighbours.
func (s *skin) evenOut(in []bool) {
	for range 3 {
		for i := range in {
			have, of := s.neighbours(i, in)
			if of > 1 && in[i] != (2*have > of) && 2*have != of {
				in[i] = !in[i]
			}
		}
	}
}

const (
	peelMM  = 8.0  // a rim that evening out has rounded lets the foot side grow on to about this beyond its edge
	peelCos = 0.71 // about 45°: half way round an edge
)

// peel takes the faces near the border of a grown sheet off it that have turned away from the sheet: each is compared
// with the direction that the sheet has peelMM farther in.
func (s *skin) peel(in []bool) {
	far := make([]float64, len(in))
	var near []int32
	for i := range in {
		far[i] = math.Inf(1)
		for _, j := range s.next[i] {
			if in[i] && far[i] > 0 && (j < 0 || !in[j]) {
				far[i] = 0
				near = append(near, int32(i))
			}
		}
	}
	for k := 0; k < len(near); k++ { // widening rings; a face may be reached again by a shorter way
		i := near[k]
		for _, j := range s.next[i] {
			if j < 0 || !in[j] {
				continue
			}
			if d := far[i] + r3.Norm(r3.Sub(s.centre[j], s.centre[i])); d < far[j] && d < peelMM {
				far[j] = d
				near = append(near, j)
			}
		}
	}
	slices.SortFunc(near, func(a, b int32) int {
		return cmp.Or(cmp.Compare(far[b], far[a]), cmp.Compare(a, b))
	})
	near = slices.Compact(near)
	way := slices.Clone(s.normal)
	for _, i := range near {
		var sum r3.Vec
		for _, j := range s.next[i] {
			if j >= 0 && in[j] && far[j] > far[i] {
				sum = r3.Add(sum, way[j])
			}
		}
		if sum != (r3.Vec{}) {
			way[i] = unit(sum)
		}
	}
	for _, i := range near {
		if r3.Dot(way[i], s.normal[i]) < peelCos {
			in[i] = false
		}
	}
}

// A featureMap names the faces of a scanned surface that lies in the frame of its device.
type featureMap struct {
	s      *skin
	tag    []Feature
	foot   *mesh.Tree // of the foot side
	facets []facet
	restMM float64

	centreX float64 // middle of the round of the cup
	frontX  float64
	base    baseReach
	topHalf [2]float64 // half width of the wedge where it leaves the shell: medial, lateral
	thin    thickness
	far     []float64 // distance of a face's middle to the foot side, mm; only of faces off it
	past    []bool    // the middle lies past the edge of the foot side
}

// baseReach is where the base begins and ends, and how far it reaches to either side.
type baseReach struct{ back, front, half float64 }

// nameFaces names every face.
func nameFaces(s *skin, foot []bool, facets []facet, restMM, centreX, frontX float64) *featureMap {
	m := &featureMap{s: s, tag: make([]Feature, len(s.m.F)), facets: facets, restMM: restMM, centreX: centreX, frontX: frontX}
	for i := range m.tag {
		m.tag[i] = untagged
		if foot[i] {
			m.tag[i] = FootSide
		}
	}
	m.foot = mesh.NewTree(s.m.Subset(func(i int) bool { return foot[i] }))
	m.nameBase()
	m.measureOff()
	m.nameEdges()
	m.thin = m.findThickness()
	m.nameWedge()
	m.nameUnderside()
	m.settle()
	return m
}

// nameBase names the faces in the facets that hang together with most of them.
func (m *featureMap) nameBase() {
	tol := flatTolMM(m.restMM)
	in := make([]bool, len(m.tag))
	for i, p := range m.s.centre {
		if m.tag[i] != untagged || p.X > 0.55*m.frontX {
			continue
		}
		f := m.facetAt(p)
		// Close to the edge the tolerance is in the angle: the shell of a ground build leaves the plane slowly.
		in[i] = math.Abs(f.over(p)) < tol && -r3.Dot(f.up(), m.s.normal[i]) > 0.995-0.02*math.Min(m.restMM/0.1, 1)
	}
	m.s.closeGaps(in)
	for _, i := range m.s.largest(in) {
		m.tag[i] = WedgeBase
	}
	m.cutTongue()
	m.widenBase(tol)
	m.reachOfBase()
}

// widenBase adds the faces at the edge of the base that evening out has turned, up to half of a usual bevel.
func (m *featureMap) widenBase(tol float64) {
	if m.restMM == 0 {
		return
	}
	for range 2 {
		var more []int
		for i, p := range m.s.centre {
			if m.tag[i] != untagged {
				continue
			}
			for _, j := range m.s.next[i] {
				if j >= 0 && m.tag[j] == WedgeBase {
					if f := m.facetAt(p); f.over(p) < tol && -r3.Dot(f.up(), m.s.normal[i]) > 0.85 {
						more = append(more, i)
						break
					}
				}
			}
		}
		for _, i := range more {
			m.tag[i] = WedgeBase
		}
	}
}

// facetAt is the facet that the base has at a point: of two, the higher one.
func (m *featureMap) facetAt(p r3.Vec) facet {
	f := m.facets[0]
	if len(m.facets) > 1 && m.facets[1].z(p) > f.z(p) {
		f = m.facets[1]
	}
	return f
}

// cutTongue takes a narrow strip behind the base off it.
func (m *featureMap) cutTongue() {
	var p []r3.Vec
	for i, c := range m.s.centre {
		if m.tag[i] == WedgeBase {
			p = append(p, c)
		}
	}
	cut := tongueEnd(p)
	for i, c := range m.s.centre {
		if m.tag[i] == WedgeBase && c.X < cut {
			m.tag[i] = untagged
		}
	}
}

// tongueEnd is the X at which a narrow strip behind a flat patch ends: the lowest line of a cup behind a fore bar
// nearly lies in the plane of the bar's base. −Inf when there is none.
func tongueEnd(patch []r3.Vec) float64 {
	const slots, stepMM, fromMM = 400, 1.0, -50.0
	var lo, hi [slots]float64
	for i := range lo {
		lo[i], hi[i] = math.Inf(1), math.Inf(-1)
	}
	for _, p := range patch {
		k := min(max(int((p.X-fromMM)/stepMM), 0), slots-1)
		lo[k], hi[k] = min(lo[k], p.Y), max(hi[k], p.Y)
	}
	first, wide := -1, 0.0
	for k := range lo {
		if hi[k] >= lo[k] && first < 0 {
			first = k
		}
		wide = max(wide, hi[k]-lo[k])
	}
	if first < 0 {
		return math.Inf(-1)
	}
	narrow := first
	for narrow < slots && !(hi[narrow]-lo[narrow] > 0.55*wide) {
		narrow++
	}
	if narrow-first <= 6 {
		return math.Inf(-1)
	}
	return fromMM + float64(narrow)*stepMM
}

// reachOfBase finds how far the base reaches.
func (m *featureMap) reachOfBase() {
	m.base = baseReach{back: math.Inf(1), front: math.Inf(-1)}
	for i, f := range m.s.m.F {
		if m.tag[i] != WedgeBase {
			continue
		}
		for _, v := range f {
			p := m.s.m.V[v]
			m.base.back, m.base.front = min(m.base.back, p.X), max(m.base.front, p.X)
			m.base.half = max(m.base.half, math.Abs(p.Y))
		}
	}
}

// closeGaps evens out a set of faces: a face goes with all or all but one of its neighbours.
func (s *skin) closeGaps(in []bool) {
	for range 2 {
		for i := range in {
			have, of := s.neighbours(i, in)
			switch {
			case of == 3 && have >= 2:
				in[i] = true
			case have == 0:
				in[i] = false
			}
		}
	}
}

// largest is the part of a set of faces that hangs together and has the most area.
func (s *skin) largest(in []bool) []int32 {
	seen := make([]bool, len(in))
	var best []int32
	bestArea := 0.0
	for i := range in {
		if !in[i] || seen[i] {
			continue
		}
		part := []int32{int32(i)}
		seen[i] = true
		area := 0.0
		for k := 0; k < len(part); k++ {
			area += s.area[part[k]]
			for _, j := range s.next[part[k]] {
				if j >= 0 && in[j] && !seen[j] {
					seen[j] = true
					part = append(part, j)
				}
			}
		}
		if area > bestArea {
			best, bestArea = part, area
		}
	}
	return best
}

// measureOff finds for each face off the foot side how far from it it lies.
func (m *featureMap) measureOff() {
	m.far, m.past = make([]float64, len(m.tag)), make([]bool, len(m.tag))
	each(len(m.tag), func(i int) {
		if m.tag[i] == FootSide {
			return
		}
		h := m.foot.Nearest(m.s.centre[i])
		m.far[i], m.past[i] = math.Abs(h.Signed), h.Beyond
	})
}

// nameEdges names the strip between foot side and underside: past the edge of the foot side and looking outward.
func (m *featureMap) nameEdges() {
	for i, p := range m.s.centre {
		if m.tag[i] != untagged || !m.past[i] {
			continue
		}
		if m.far[i] > 9 {
			continue
		}
		n := m.s.normal[i]
		if p.X > 0.8*m.frontX && n.X > 0.6 {
			m.tag[i] = FrontEdge
			continue
		}
		m.tag[i] = m.flange(p, CupRim)
	}
}

// flange is the feature of an outer part of the shell at p, which in the cup is inCup.
func (m *featureMap) flange(p r3.Vec, inCup Feature) Feature {
	return flangeAt(p.X < 1.5*m.centreX, p.Y > 0, inCup)
}

// thickness is that of the shell by X, mm.
type thickness struct{ at []float64 }

const thickStepMM = 8.0

func (t thickness) mm(x float64) float64 {
	u := min(max(x/thickStepMM-0.5, 0), float64(len(t.at)-1))
	i := min(int(u), len(t.at)-2)
	return t.at[i] + (t.at[i+1]-t.at[i])*(u-float64(i))
}

// findThickness takes the thickness of the shell, in steps along X, from the outer faces that lie nearest to the foot
// side: a wedge only lies farther.
func (m *featureMap) findThickness() thickness {
	n := max(2, int(m.frontX/thickStepMM)+1)
	d := make([][][2]float64, n)
	for i, p := range m.s.centre {
		if m.tag[i] == untagged {
			k := min(max(int(p.X/thickStepMM), 0), n-1)
			d[k] = append(d[k], [2]float64{m.far[i], m.s.area[i]})
		}
	}
	t := thickness{at: make([]float64, n)}
	for k := range t.at {
		t.at[k] = quantile(d[k], 0.08)
	}
	last := 0.0
	for _, v := range t.at {
		if v > 0 {
			last = v
			break
		}
	}
	for k, v := range t.at {
		if v == 0 {
			t.at[k] = last
		}
		last = t.at[k]
	}
	return t
}

// nameWedge names the sides of the wedge: what lies farther from the foot side than the shell is thick and hangs
// together with the base.
func (m *featureMap) nameWedge() {
	off := 0.15 + m.restMM
	side := make([]bool, len(m.tag))
	for i, p := range m.s.centre {
		side[i] = m.tag[i] == untagged && p.X < 0.7*m.frontX && m.far[i] > m.thin.mm(p.X)+off
	}
	m.s.closeGaps(side)
	seen := make([]bool, len(m.tag))
	var part []int32
	for i := range m.tag {
		if m.tag[i] == WedgeBase {
			part = append(part, int32(i))
		}
	}
	bases := len(part)
	for k := 0; k < len(part); k++ {
		for _, j := range m.s.next[part[k]] {
			if j >= 0 && side[j] && !seen[j] && m.tag[j] == untagged {
				seen[j] = true
				part = append(part, j)
			}
		}
	}
	for _, i := range part[bases:] {
		m.tag[i] = m.sideOf(i)
	}
	for k, f := range [2]Feature{WedgeMedialSide, WedgeLateralSide} {
		var y [][2]float64
		for i, p := range m.s.centre {
			if m.tag[i] == f && p.X > m.centreX {
				y = append(y, [2]float64{math.Abs(p.Y), m.s.area[i]})
			}
		}
		m.topHalf[k] = max(quantile(y, 0.98), m.base.half)
	}
}

// sideOf names a face of the wedge's sides by where its surroundings look.
func (m *featureMap) sideOf(i int32) Feature {
	var n r3.Vec
	for _, v := range m.s.m.F[i] {
		for _, j := range m.s.around(v) {
			if m.tag[j] != FootSide && m.tag[j] != WedgeBase {
				n = r3.Add(n, r3.Scale(m.s.area[j], m.s.normal[j]))
			}
		}
	}
	plan := math.Hypot(n.X, n.Y)
	p := m.s.centre[i]
	switch {
	case n.X < -0.7072*plan && (p.X < m.centreX || p.X < m.base.back+5):
		return WedgeBackSide
	case n.X > 0.7072*plan:
		return WedgeFrontSide
	case p.Y > 0:
		return WedgeMedialSide
	default:
		return WedgeLateralSide
	}
}

// The flange is what lies farther out than these shares of the way from the wedge, or from the bisection in front of it,
// to the rim: where the parameter that Build runs by is past its middle, for the usual curvature.
const (
	besideWedge  = 0.53
	aheadOfWedge = 0.78
)

// nameUnderside names what is left: the wall of the cup, the flanges and the plain underside between them.
func (m *featureMap) nameUnderside() {
	edge := map[bool]*mesh.Tree{}
	for _, medial := range []bool{false, true} {
		e := m.s.m.Subset(func(i int) bool {
			f := m.tag[i]
			return (f == CupRim || f == Arch || f == LateralFlange) && (m.s.centre[i].Y > 0) == medial
		})
		edge[medial] = mesh.NewTree(e)
	}
	bar := m.base.back > 0.9*m.centreX
	each(len(m.tag), func(i int) {
		if m.tag[i] != untagged {
			return
		}
		p := m.s.centre[i]
		out, half := math.Abs(p.Y), m.topHalf[sideIndex(p.Y)]
		if p.X < m.centreX {
			out = math.Hypot(p.Y, p.X-m.centreX)
		}
		if p.X < 1.5*m.centreX {
			m.tag[i] = CupWall
			if bar && out < half {
				m.tag[i] = ShellBottom
			}
			return
		}
		rim := math.Abs(edge[p.Y > 0].Nearest(p).Signed)
		inner, share := out-half, besideWedge
		if ahead := p.X - m.base.front; ahead > 0 {
			t := smooth(ahead / 40)
			inner, share = out-half*(1-t), besideWedge+(aheadOfWedge-besideWedge)*t
		}
		if inner > share*(inner+rim) {
			m.tag[i] = m.flange(p, CupWall)
		} else {
			m.tag[i] = ShellBottom
		}
	})
}

// settle gives faces that stand alone the name of their neighbours.
func (m *featureMap) settle() {
	for range 2 {
		for i := range m.tag {
			f := m.s.next[i]
			if f[0] < 0 || f[1] < 0 || f[2] < 0 {
				continue
			}
			a, b, c := m.tag[f[0]], m.tag[f[1]], m.tag[f[2]]
			switch {
			case a == m.tag[i] || b == m.tag[i] || c == m.tag[i]:
			case a == b || a == c:
				m.tag[i] = a
			case b == c:
				m.tag[i] = b
			}
		}
	}
}

// quantile of weighted values, 0 for none: the value below which the share q of the weight lies.
func quantile(v [][2]float64, q float64) float64 {
	if len(v) == 0 {
		return 0
	}
	sortByFirst(v)
	total := 0.0
	for _, x := range v {
		total += x[1]
	}
	run := 0.0
	for _, x := range v {
		if run += x[1]; run >= q*total {
			return x[0]
		}
	}
	return v[len(v)-1][0]
}
