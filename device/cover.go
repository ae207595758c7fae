package device

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// The soft parts lie on the foot side: the cover follows the shell, its thickness along the normals, and goes on over
// the board in front of the shell, taken as level from the tread line forward; the extension lies on the board, skived
// flush with the shell's front edge. They are two closed solids side by side in one mesh.
type softParts struct {
	solid                  *mesh.Mesh
	coverMM3, extensionMM3 float64
}

const (
	skiveMM = 8.0 // over which cover and extension run down to the board
	// The end of a cover or an extension falls back towards the small and the great toe, shares of foot length. Memory.
	toeLateralShare = 0.14
	toeMedialShare  = 0.05
	// Where the foot is broadest, and how much of its breadth a cover has there and at the toes. Memory.
	broadestShare = 0.74
	ballWidth     = 0.95
	toeWidth      = 0.78
)

// A layer is one half profile of a soft part: points of its lower and upper face from the bisection to the edge.
type layer struct{ low, top []r3.Vec }

func (l *layout) soft() softParts {
	parts := softParts{solid: &mesh.Mesh{}}
	add := func(m *mesh.Mesh) float64 {
		m = m.Welded(weldMM)
		parts.solid.Append(m)
		return m.Volume()
	}
	if l.o.HasCover() {
		parts.coverMM3 = add(l.cover())
	}
	if l.o.HasExtension() {
		parts.extensionMM3 = add(l.extension())
	}
	return parts
}

// reachX is the X at which a soft part ends.
func (l *layout) reachX(extent string) float64 {
	switch extent {
	case ToeCrease:
		return toeCreaseShare * l.o.FootLengthMM
	case Full:
		return l.o.FootLengthMM
	default:
		return l.sh.front
	}
}

func (l *layout) cover() *mesh.Mesh {
	end := l.reachX(l.o.CoverExtent)
	half := func(side float64) []layer {
		var ls []layer
		for _, x := range steps(l.sh.c, l.sh.front, alongMM) {
			ls = append(ls, l.coverOnShell(place{u: x, side: side}, l.coverMM(x)))
		}
		if end > l.sh.front {
			for _, x := range steps(l.sh.front, end, alongMM)[1:] {
				low := l.ahead(x, side, true)
				ls = append(ls, layer{low, raised(low, l.o.CoverFrontMM)})
			}
		}
		return ls
	}
	lateral, medial := half(-1), half(+1)
	var ls []layer
	for i := len(lateral) - 1; i >= 0; i-- {
		ls = append(ls, lateral[i])
	}
	for i := 1; i < fanSteps; i++ {
		ls = append(ls, l.coverOnShell(l.fanPlace(i), l.o.CoverHeelMM))
	}
	var b mesh.Builder
	layers(&b, append(ls, medial...), Cover)
	return b.Mesh()
}

// coverMM is the thickness of the cover over the shell.
func (l *layout) coverMM(x float64) float64 {
	return between(l.o.CoverHeelMM, l.o.CoverFrontMM, (x-l.sh.level)/(l.sh.front-l.sh.level))
}

// coverOnShell lies on the foot side; over the hole of an open build it lies on the plane of the seat.
func (l *layout) coverOnShell(at place, thickness float64) layer {
	r := l.sh.along(at)
	var la layer
	for k := range footSteps + 1 {
		p, n, _ := r.foot(float64(k) / footSteps)
		if l.o.WedgeBuild == Open && p.X < groundShare*l.o.FootLengthMM {
			p.Z = math.Max(p.Z, 0)
		}
		la.low = append(la.low, p)
		la.top = append(la.top, r3.Add(p, r3.Scale(thickness, n)))
	}
	return la
}

func (l *layout) extension() *mesh.Mesh {
	var b mesh.Builder
	for _, side := range [2]float64{-1, 1} {
		xs := steps(l.sh.front, l.reachX(l.o.Extension), alongMM)
		var ls []layer
		for i := range xs {
			x := xs[i]
			if side < 0 {
				x = xs[len(xs)-1-i]
			}
			ls = append(ls, layer{l.ahead(x, side, false), l.ahead(x, side, true)})
		}
		layers(&b, ls, Extension)
	}
	return b.Mesh()
}

// ahead is the half profile at x in front of the shell: of the board, or of what the cover lies on there.
func (l *layout) ahead(x, side float64, underCover bool) []r3.Vec {
	fl, sh := l.o.FootLengthMM, l.sh
	k := sideIndex(side)
	edge := sh.station(sh.front, side)
	ball := footBreadthMM(l.o.Sex != Woman, fl) * ballWidth
	ball *= [2]float64{frontMedialShare, 1 - frontMedialShare}[k]
	width := between(sh.halfEnd[k], ball, (x-sh.front)/math.Max(broadestShare*fl-sh.front, skiveMM))
	width *= between(1, toeWidth, (x-0.8*fl)/(0.25*fl))
	corner := between(edge.corner, [2]float64{toeMedialShare, toeLateralShare}[k]*fl, (x-sh.front)/(fl-sh.front))
	pad := 0.0
	if l.o.HasExtension() {
		pad = l.o.ExtensionMM * (1 - smooth((x-l.reachX(l.o.Extension))/skiveMM))
	}
	p := make([]r3.Vec, footSteps+1)
	for i := range p {
		at, _ := edge.at(float64(i) / footSteps)
		v := math.Abs(at.Y) / edge.width
		q := r3.Vec{X: x - corner*math.Pow(v, edge.power), Y: side * width * v}
		q.Z = boardMM(l.o.HeelRiseMM, q.X)
		if underCover {
			q.Z += between(at.Z-boardMM(l.o.HeelRiseMM, at.X), pad, (x-sh.front)/skiveMM)
		}
		p[i] = q
	}
	return p
}

func raised(p []r3.Vec, z float64) []r3.Vec {
	q := make([]r3.Vec, len(p))
	for i, v := range p {
		v.Z += z
		q[i] = v
	}
	return q
}

// layers closes a row of layers, in the order of columns, into one surface.
func layers(b *mesh.Builder, ls []layer, tag Feature) {
	rings := make([][]int32, len(ls))
	for j, la := range ls {
		for _, p := range la.top {
			rings[j] = append(rings[j], b.AddVertex(p))
		}
		for i := len(la.low) - 1; i >= 0; i-- {
			rings[j] = append(rings[j], b.AddVertex(la.low[i]))
		}
	}
	for j := range len(rings) - 1 {
		p, q := rings[j], rings[j+1]
		for k := range len(p) - 1 {
			b.AddQuad(p[k], q[k], q[k+1], p[k+1], uint8(tag))
		}
	}
	end := func(r []int32, flip bool) {
		for k := range len(r)/2 - 1 {
			a, c, d, e := r[k], r[k+1], r[len(r)-k-2], r[len(r)-k-1]
			if flip {
				a, d = d, a
			}
			b.AddQuad(a, c, d, e, uint8(tag))
		}
	}
	end(rings[0], false)
	end(rings[len(rings)-1], true)
}
