package device

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// A facet is a plane of the base, z = a·x + b·y + c in the frame at hand.
type facet struct {
	a, b, c float64
	area    float64 // mm² that lies in it
}

func (f facet) z(p r3.Vec) float64 { return f.a*p.X + f.b*p.Y + f.c }

// over is the distance of p above the plane, and up its normal.
func (f facet) over(p r3.Vec) float64 { return (p.Z - f.z(p)) / math.Sqrt(1+f.a*f.a+f.b*f.b) }
func (f facet) up() r3.Vec            { return unit(r3.Vec{X: -f.a, Y: -f.b, Z: 1}) }

// A patchFace is a face that looks down, in the frame at hand.
type patchFace struct {
	face int32
	p, n r3.Vec
	area float64
}

const (
	facetTrials   = 1500
	facetSample   = 1500
	baseTurnCos   = 0.96 // a face of the base is not turned more than about 16° from it
	leastFacetMM2 = 120.0
	mostSagMM     = 0.1 // a base is flat; trials with noise of 0.3 mm stay below 0.05
	leastDihedral = 1.2 // degrees; a smaller angle between two facets is not told from flat
	mostDihedral  = 20.0
	mostRidgeOff  = 0.22 // of the cup's radius: how far from the middle of the cup two facets may meet
)

// flatTolMM is how far a face of the base may lie from its plane.
func flatTolMM(restMM float64) float64 { return 0.15 + 1.5*restMM }

// findBase finds what the device stands on: one plane, or two that meet along the device. The frame must be good to
// some degrees. restMM is the noise left in the surface.
func findBase(s *skin, l lie, cup cupRound, longMM, restMM float64) ([]facet, error) {
	tol := flatTolMM(restMM)
	var down, rear []patchFace
	for i := range s.m.F {
		p := l.in(s.centre[i])
		if p.X > 0.5*longMM {
			continue
		}
		f := patchFace{int32(i), p, l.along(s.normal[i]), s.area[i]}
		if p.X < 0.33*longMM {
			rear = append(rear, f)
		}
		if f.n.Z < -0.7 {
			down = append(down, f)
		}
	}
	none := scanProblem("base", "none found", "no flat under the heel that the device could stand on",
		"scan the underside too; a shell that stands on its round underside can't be seated")
	rng := rand.New(rand.NewPCG(11, 23))
	first, ok := bestPlane(rng, down, rear, tol, func(facet) bool { return true })
	if !ok {
		return nil, none
	}
	first, in := settledPlane(first, down, tol)
	if cut := tongueEnd(places(in)); !math.IsInf(cut, -1) {
		down = slices.DeleteFunc(down, func(f patchFace) bool { return f.p.X < cut })
		first, in = settledPlane(first, down, tol)
	}
	if first.area < leastFacetMM2 {
		return nil, none
	}
	left := remove(down, in)
	second, ok := bestPlane(rng, left, rear, tol, func(f facet) bool {
		turn := angleDeg(f.up(), first.up())
		return turn > leastDihedral && turn < mostDihedral
	})
	if ok {
		second, _ = settledPlane(second, left, tol)
		if second.area > max(leastFacetMM2, 0.2*first.area) {
			if both, ok := bothPlanes(first, second, down, cup, tol); ok {
				return both, nil
			}
		}
	}
	// Two facets at a small angle hide in the tolerance of one plane between them: try its halves.
	if a, b, ok := halves(first, in); ok {
		if both, ok := bothPlanes(a, b, down, cup, tol); ok && both[0].area+both[1].area > first.area {
			return both, nil
		}
	}
	if sag(first, in) > mostSagMM {
		return nil, none
	}
	return []facet{first}, nil
}

// halves are the planes through the two halves of a plane's patch.
func halves(f facet, in []patchFace) (a, b facet, ok bool) {
	var middle float64
	for _, g := range in {
		middle += g.p.Y * g.area / f.area
	}
	var half [2][]patchFace
	for _, g := range in {
		k := 0
		if g.p.Y > middle {
			k = 1
		}
		half[k] = append(half[k], g)
	}
	if len(half[0]) < 6 || len(half[1]) < 6 {
		return a, b, false
	}
	return planeThrough(half[0]), planeThrough(half[1]), true
}

func angleDeg(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b)) * 180 / math.Pi
}

// bestPlane is the plane through three of the faces that holds most of their area and has next to nothing of the rear
// of the device below it (Fischler & Bolles 1981, Random sample consensus, CACM 24:381).
func bestPlane(rng *rand.Rand, faces, rear []patchFace, tol float64, may func(facet) bool) (best facet, ok bool) {
	if len(faces) < 12 {
		return best, false
	}
	some := thinned(faces, facetSample)
	below := thinned(rear, facetSample/2)
	var rearArea float64
	for _, f := range below {
		rearArea += f.area
	}
	for range facetTrials {
		p, q, r := some[rng.IntN(len(some))].p, some[rng.IntN(len(some))].p, some[rng.IntN(len(some))].p
		n := r3.Cross(r3.Sub(q, p), r3.Sub(r, p))
		if n.Z < 0 {
			n = r3.Scale(-1, n)
		}
		if l := r3.Norm(n); l < 30 || n.Z < 0.75*l { // too narrow a triangle, or too steep
			continue
		}
		f := facet{a: -n.X / n.Z, b: -n.Y / n.Z}
		f.c = p.Z - f.a*p.X - f.b*p.Y
		up := f.up()
		for _, g := range some {
			if math.Abs(f.over(g.p)) < tol && -r3.Dot(up, g.n) > baseTurnCos {
				f.area += g.area
			}
		}
		if f.area <= best.area || !may(f) {
			continue
		}
		under := 0.0
		for _, g := range below {
			if f.over(g.p) < -0.3-tol {
				under += g.area
			}
		}
		if under < 0.01*rearArea {
			best, ok = f, true
		}
	}
	return best, ok
}

func places(f []patchFace) []r3.Vec {
	p := make([]r3.Vec, len(f))
	for i := range f {
		p[i] = f[i].p
	}
	return p
}

func thinned(f []patchFace, most int) []patchFace {
	if len(f) <= most {
		return f
	}
	out := make([]patchFace, most)
	for i := range out {
		out[i] = f[i*len(f)/most]
	}
	return out
}

// settledPlane is the plane of least squares through the faces that lie in it, and those faces.
func settledPlane(f facet, faces []patchFace, tol float64) (facet, []patchFace) {
	var in []patchFace
	for range 6 {
		in = in[:0]
		up := f.up()
		for _, g := range faces {
			if math.Abs(f.over(g.p)) < tol && -r3.Dot(up, g.n) > baseTurnCos {
				in = append(in, g)
			}
		}
		if len(in) < 6 {
			return facet{}, nil
		}
		f = planeThrough(in)
	}
	return f, in
}

// planeThrough is the plane of least squares in z, by area.
func planeThrough(faces []patchFace) facet {
	m, v := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
	var f facet
	for _, g := range faces {
		f.area += g.area
		addRow(m, v, []float64{g.p.X, g.p.Y, 1}, g.p.Z, g.area)
	}
	if x, ok := solved(m, v); ok {
		f.a, f.b, f.c = x[0], x[1], x[2]
	}
	return f
}

// addRow adds one weighted row to the normal equations of a least-squares fit.
func addRow(m *mat.SymDense, v *mat.VecDense, row []float64, y, w float64) {
	for i := range row {
		for j := i; j < len(row); j++ {
			m.SetSym(i, j, m.At(i, j)+w*row[i]*row[j])
		}
		v.SetVec(i, v.AtVec(i)+w*row[i]*y)
	}
}

func solved(m *mat.SymDense, v *mat.VecDense) ([]float64, bool) {
	var chol mat.Cholesky
	if !chol.Factorize(m) {
		return nil, false
	}
	var x mat.VecDense
	if chol.SolveVecTo(&x, v) != nil {
		return nil, false
	}
	return x.RawVector().Data, true
}

// bothPlanes fits two planes that meet in a ridge: each face belongs to the plane that is higher there. ok says that
// they are the two facets of a base: at an angle, each of some size, with a ridge along the device under the middle of
// the cup.
func bothPlanes(a, b facet, faces []patchFace, cup cupRound, tol float64) (both []facet, ok bool) {
	x := 0.0
	var in [2][]patchFace
	for range 6 {
		in = [2][]patchFace{}
		x = 0
		for _, g := range faces {
			f, k := a, 0
			if b.z(g.p) > a.z(g.p) {
				f, k = b, 1
			}
			if math.Abs(f.over(g.p)) < tol && -r3.Dot(f.up(), g.n) > baseTurnCos {
				in[k] = append(in[k], g)
				x += g.p.X
			}
		}
		if len(in[0]) < 6 || len(in[1]) < 6 {
			return nil, false
		}
		x /= float64(len(in[0]) + len(in[1]))
		a, b = planeThrough(in[0]), planeThrough(in[1])
	}
	if sag(a, in[0]) > mostSagMM || sag(b, in[1]) > mostSagMM {
		return nil, false
	}
	turn := angleDeg(a.up(), b.up())
	along := unit(r3.Cross(a.up(), b.up()))
	if turn < leastDihedral || turn > mostDihedral || math.Abs(along.X) < 0.8 || min(a.area, b.area) < leastFacetMM2 {
		return nil, false
	}
	ridge := ((b.a-a.a)*x + b.c - a.c) / (a.b - b.b) // Y where the planes meet
	return []facet{a, b}, math.Abs(ridge-cup.y) < mostRidgeOff*cup.radius
}

// sag is how much the faces rise from the middle of their patch to its long edges, mm: nothing for a base that was
// ground or cast flat, about the tolerance for a round underside that a plane was laid against.
func sag(f facet, faces []patchFace) float64 {
	var area float64
	var mean r3.Vec
	for _, g := range faces {
		area += g.area
		mean = r3.Add(mean, r3.Scale(g.area, g.p))
	}
	mean = r3.Scale(1/area, mean)
	var vy float64
	m, v := mat.NewSymDense(4, nil), mat.NewVecDense(4, nil)
	for _, g := range faces {
		d := r3.Sub(g.p, mean)
		vy += g.area * d.Y * d.Y / area
		addRow(m, v, []float64{1, d.X, d.Y, d.Y * d.Y}, f.over(g.p), g.area)
	}
	x, ok := solved(m, v)
	if !ok {
		return math.Inf(1)
	}
	return math.Abs(x[3]) * 3 * vy // an even spread reaches √3 deviations to either side
}

// remove is a without the faces of b; both ascend.
func remove(a, b []patchFace) []patchFace {
	var out []patchFace
	j := 0
	for _, f := range a {
		if j < len(b) && b[j].face == f.face {
			j++
			continue
		}
		out = append(out, f)
	}
	return out
}
