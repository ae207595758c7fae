package footwear

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// scanAxes are the rough axes of a scan: which way is forward, to the left of who wears it, and up.
type scanAxes struct {
	pose               mesh.Pose // roomFromScan, roughly
	soleOdds, heelOdds float64
	inward             bool // the faces look into the room
	level              bool // keep this level: the bottom does not tell one
	side               Side // from picked points
	notes              []string
}

// poseOfAxes is the motion that makes of three unit vectors, right-handed, the axes, and of a point the origin.
func poseOfAxes(x, y, z, at r3.Vec) mesh.Pose {
	// The rotation matrix has the axes as rows (Shepperd 1978: the largest of the four components first).
	m := [3][3]float64{{x.X, x.Y, x.Z}, {y.X, y.Y, y.Z}, {z.X, z.Y, z.Z}}
	var q quat.Number
	switch tr := m[0][0] + m[1][1] + m[2][2]; {
	case tr >= m[0][0] && tr >= m[1][1] && tr >= m[2][2]:
		q = quat.Number{Real: 1 + tr, Imag: m[2][1] - m[1][2], Jmag: m[0][2] - m[2][0], Kmag: m[1][0] - m[0][1]}
	case m[0][0] >= m[1][1] && m[0][0] >= m[2][2]:
		q = quat.Number{Real: m[2][1] - m[1][2], Imag: 1 + 2*m[0][0] - tr, Jmag: m[0][1] + m[1][0], Kmag: m[0][2] + m[2][0]}
	case m[1][1] >= m[2][2]:
		q = quat.Number{Real: m[0][2] - m[2][0], Imag: m[0][1] + m[1][0], Jmag: 1 + 2*m[1][1] - tr, Kmag: m[1][2] + m[2][1]}
	default:
		q = quat.Number{Real: m[1][0] - m[0][1], Imag: m[0][2] + m[2][0], Jmag: m[1][2] + m[2][1], Kmag: 1 + 2*m[2][2] - tr}
	}
	p := mesh.Pose{Q: quat.Scale(1/quat.Abs(q), q)}
	p.T = r3.Scale(-1, p.Rotate(at))
	return p
}

// A patchSample is a piece of surface: where, how large and which way it looks.
type patchSample struct {
	p, n r3.Vec
	area float64
}

// surfaceSamples are at most about most faces, evenly picked.
func surfaceSamples(m *mesh.Mesh, most int) []patchSample {
	step := max(1, len(m.F)/most)
	var out []patchSample
	for i := 0; i < len(m.F); i += step {
		f := m.F[i]
		if a := m.FaceArea(i); a > 0 {
			c := r3.Scale(1.0/3, r3.Add(m.V[f[0]], r3.Add(m.V[f[1]], m.V[f[2]])))
			out = append(out, patchSample{c, m.FaceNormal(i), a})
		}
	}
	return out
}

// looksInward says whether the faces look at the middle of the surface rather than away from it.
func looksInward(s []patchSample, centre r3.Vec) bool {
	sum := 0.0
	for _, q := range s {
		sum += q.area * r3.Dot(q.n, r3.Sub(q.p, centre))
	}
	return sum < 0
}

// principal are the centre of area and the principal directions of the surface, the longest spread first.
func principal(s []patchSample) (centre r3.Vec, e [3]r3.Vec, ok bool) {
	total := 0.0
	for _, q := range s {
		centre = r3.Add(centre, r3.Scale(q.area, q.p))
		total += q.area
	}
	if total == 0 {
		return centre, e, false
	}
	centre = r3.Scale(1/total, centre)
	c := mat.NewSymDense(3, nil)
	for _, q := range s {
		d := r3.Sub(q.p, centre)
		v := [3]float64{d.X, d.Y, d.Z}
		for i := range 3 {
			for j := i; j < 3; j++ {
				c.SetSym(i, j, c.At(i, j)+q.area/total*v[i]*v[j])
			}
		}
	}
	var eig mat.EigenSym
	if !eig.Factorize(c, true) {
		return centre, e, false
	}
	var vec mat.Dense
	eig.VectorsTo(&vec)
	for k := range 3 {
		e[k] = r3.Vec{X: vec.At(0, 2-k), Y: vec.At(1, 2-k), Z: vec.At(2, 2-k)}
	}
	return centre, e, true
}

// A mirror judges planes of symmetry through a centre.
type mirror struct {
	tree   *mesh.Tree
	s      []patchSample
	centre r3.Vec
}

// off is the mean distance (mm) of the mirrored surface from the surface, each distance cut at 15 mm so that an opening
// does not decide, for the best place of the plane near the centre.
func (m *mirror) off(n r3.Vec) float64 {
	best := math.Inf(1)
	for _, shift := range []float64{0, -4, 4} {
		best = math.Min(best, m.offAt(n, shift))
	}
	return best
}

func (m *mirror) offAt(n r3.Vec, shift float64) float64 {
	sum, hint := 0.0, int32(-1)
	for _, q := range m.s {
		h := r3.Dot(r3.Sub(q.p, m.centre), n) - shift
		hit := m.tree.NearestFrom(r3.Sub(q.p, r3.Scale(2*h, n)), hint)
		hint = hit.Face
		sum += math.Min(math.Abs(hit.Signed), 15)
	}
	return sum / float64(len(m.s))
}

// symmetricMM is the mean distance from its mirror image below which a shape counts as its own.
const symmetricMM = 0.4

// axesFromShape finds the axes without help.
func axesFromShape(ctx context.Context, m *mesh.Mesh) (scanAxes, error) {
	s := surfaceSamples(m, 30000)
	centre, e, ok := principal(s)
	if !ok {
		return scanAxes{}, noFrame("the surface has no area")
	}
	// The sides: across the plane of best symmetry among those that hold the longest direction. The other of the two
	// is looked at by eye of the finer search below.
	mir := mirror{tree: mesh.NewTree(m), s: surfaceSamples(m, 400), centre: centre}
	across := func(deg float64) r3.Vec {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		return r3.Add(r3.Scale(cos, e[2]), r3.Scale(sin, e[1]))
	}
	best, bestDeg := math.Inf(1), 0.0
	search := func(from, to, step float64) {
		for d := from; d <= to; d += step {
			if o := mir.off(across(d)); o < best-1e-3 {
				best, bestDeg = o, d
			}
		}
	}
	search(0, 0, 1) // the narrowest direction first: of equals it is the one
	search(-90, 84, 6)
	if err := ctx.Err(); err != nil {
		return scanAxes{}, err
	}
	search(bestDeg-4, bestDeg+4, 2)
	search(bestDeg-1, bestDeg+1, 0.5)
	y := across(bestDeg)

	a := scanAxes{inward: looksInward(s, centre)}
	if a.inward {
		for i := range s {
			s[i].n = r3.Scale(-1, s[i].n)
		}
		a.notes = append(a.notes, "the normals point into the room; they are turned")
	}
	up, odds := soleUp(s, e[0], r3.Cross(y, e[0]))
	a.soleOdds = odds
	x, heelOdds, heelNote := heelFirst(s, r3.Unit(r3.Cross(y, up)), up)
	// Toes are wider than they are high. Where they are not, the plane of symmetry lies flat between top and bottom.
	other := r3.Cross(e[0], y)
	lying := size(frontOf(s, x), y) < 0.8*size(frontOf(s, x), up)
	if lying || best < symmetricMM && mir.off(other) < symmetricMM {
		a.level, a.soleOdds = true, 0.5
		if up = y; !lying && size(s, other) < size(s, y) {
			up = other
		}
		a.notes = append(a.notes, "top and bottom are alike: which is the sole is a guess, and the level is that of the body's axis")
		x, heelOdds, heelNote = heelFirst(s, e[0], up)
	}
	a.heelOdds = heelOdds
	if heelNote != "" {
		a.notes = append(a.notes, heelNote)
	}
	a.pose = poseOfAxes(x, r3.Cross(up, x), up, centre)
	return a, nil
}

// size is how far a surface reaches along a direction.
func size(s []patchSample, d r3.Vec) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range s {
		h := r3.Dot(q.p, d)
		lo, hi = math.Min(lo, h), math.Max(hi, h)
	}
	return hi - lo
}

// frontOf is the part of a surface between 75 and 95 % of the way along x.
func frontOf(s []patchSample, x r3.Vec) []patchSample {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range s {
		t := r3.Dot(q.p, x)
		lo, hi = math.Min(lo, t), math.Max(hi, t)
	}
	var out []patchSample
	for _, q := range s {
		if t := (r3.Dot(q.p, x) - lo) / (hi - lo); t > 0.75 && t < 0.95 {
			out = append(out, q)
		}
	}
	return out
}

// soleUp turns through the plane of a and b and finds the direction away from the sole: the sole is where most of the
// surface, along the greatest length, looks down. Its odds compare it with the best that lies elsewhere.
func soleUp(s []patchSample, a, b r3.Vec) (up r3.Vec, odds float64) {
	const stepDeg = 2
	var score [360 / stepDeg]float64
	limit := math.Cos(28 * math.Pi / 180)
	dir := func(k int) r3.Vec {
		sin, cos := math.Sincos(float64(k) * stepDeg * math.Pi / 180)
		return r3.Add(r3.Scale(cos, a), r3.Scale(sin, b))
	}
	best := 0
	for k := range score {
		u := dir(k)
		along := r3.Cross(r3.Cross(a, b), u)
		var w, sum, sum2 float64
		for _, q := range s {
			c := -r3.Dot(q.n, u)
			if c <= limit {
				continue
			}
			wt := q.area * (c - limit) / (1 - limit)
			t := r3.Dot(q.p, along)
			w, sum, sum2 = w+wt, sum+wt*t, sum2+wt*t*t
		}
		if w > 0 {
			score[k] = w * math.Sqrt(math.Max(sum2/w-sum*sum/(w*w), 0))
		}
		if score[k] > score[best] {
			best = k
		}
	}
	second := 0.0
	for k, v := range score {
		if d := math.Abs(math.Remainder(float64(k-best)*stepDeg, 360)); d > 60 {
			second = math.Max(second, v)
		}
	}
	if score[best] == 0 {
		return dir(best), 0.5
	}
	return dir(best), sidedOdds(4 * (1 - second/score[best]))
}

// heelFirst turns x so that it points from heel to toe: the heel is narrower near the sole and higher above it.
func heelFirst(s []patchSample, x, up r3.Vec) (forward r3.Vec, odds float64, note string) {
	y := r3.Cross(up, x)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range s {
		t := r3.Dot(q.p, x)
		lo, hi = math.Min(lo, t), math.Max(hi, t)
	}
	const bins = 20
	type span struct{ y0, y1, z0, z1 float64 }
	var b [bins]span
	for i := range b {
		b[i] = span{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
	}
	bin := func(q *patchSample) *span {
		return &b[min(int(bins*(r3.Dot(q.p, x)-lo)/(hi-lo)), bins-1)]
	}
	for i := range s {
		w, h := bin(&s[i]), r3.Dot(s[i].p, up)
		w.z0, w.z1 = math.Min(w.z0, h), math.Max(w.z1, h)
	}
	for i := range s {
		w, h, t := bin(&s[i]), r3.Dot(s[i].p, up), r3.Dot(s[i].p, y)
		if h < w.z0+30 {
			w.y0, w.y1 = math.Min(w.y0, t), math.Max(w.y1, t)
		}
	}
	mean := func(from, to int, f func(span) float64) float64 {
		sum := 0.0
		for _, w := range b[from:to] {
			sum += math.Max(f(w), 0) / float64(to-from)
		}
		return sum
	}
	width := func(w span) float64 { return w.y1 - w.y0 }
	height := func(w span) float64 { return w.z1 - w.z0 }
	// Positive when the end at small x is the heel.
	wide := mean(12, 16, width) - mean(4, 8, width)
	wide /= mean(4, 16, width)
	high := (mean(1, 6, height) - mean(14, 19, height)) / mean(1, 19, height)
	score := 2*wide + high
	if math.IsNaN(score) {
		score = 0
	}
	odds = sidedOdds(score / 0.15)
	if odds < 0.9 {
		note = fmt.Sprintf("heel and toe look alike (odds %.0f %%): check which end is which", 100*odds)
	}
	if score < 0 {
		return r3.Scale(-1, x), odds, note
	}
	return x, odds, note
}

// axesFromPoints takes the axes from three picked points: forward from the heel to the middle of the tread line, up to
// the side of their plane on which the shape lies.
func axesFromPoints(m *mesh.Mesh, p ThreePoints) (scanAxes, error) {
	for _, v := range []r3.Vec{p.HeelBack, p.TreadMedial, p.TreadLateral} {
		if s := v.X + v.Y + v.Z; math.IsNaN(s-s) || math.IsInf(s, 0) {
			return scanAxes{}, noFrame("the picked points must be finite")
		}
	}
	x := r3.Sub(r3.Scale(0.5, r3.Add(p.TreadMedial, p.TreadLateral)), p.HeelBack)
	across := r3.Sub(p.TreadMedial, p.TreadLateral)
	up := r3.Cross(x, across)
	if r3.Norm(x) < 40 || r3.Norm(across) < 20 || r3.Norm(up) < 0.5*r3.Norm(x)*r3.Norm(across) {
		return scanAxes{}, noFrame("the picked points must be a heel and two ends of a tread line, at least 40 mm and 20 mm apart")
	}
	s := surfaceSamples(m, 30000)
	centre, _, ok := principal(s)
	if !ok {
		return scanAxes{}, noFrame("the surface has no area")
	}
	a := scanAxes{soleOdds: 1, heelOdds: 1, inward: looksInward(s, centre), side: RightSide}
	up = r3.Unit(up)
	if r3.Dot(r3.Sub(centre, p.HeelBack), up) < 0 {
		up, a.side = r3.Scale(-1, up), LeftSide
	}
	x = r3.Unit(x)
	a.pose = poseOfAxes(x, r3.Cross(up, x), up, p.HeelBack)
	return a, nil
}
