package device

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

func sortByFirst(v [][2]float64) {
	slices.SortFunc(v, func(a, b [2]float64) int { return cmp.Compare(a[0], b[0]) })
}

// A cupRound is the circle in plan round the back of the cup.
type cupRound struct{ x, y, radius float64 }

// findRound lays a circle through the outermost points of the back, seen from above.
func findRound(s *skin, l lie, size r3.Vec) (cupRound, bool) {
	c := cupRound{x: 0.16 * size.X, radius: 0.16 * size.X}
	const binDeg = 4
	for range 4 {
		var far [360 / binDeg]r3.Vec
		var best [360 / binDeg]float64
		for _, v := range s.m.V {
			p := l.in(v)
			if p.X > c.x {
				continue
			}
			dx, dy := p.X-c.x, p.Y-c.y
			a := math.Atan2(dy, -dx) * 180 / math.Pi // 0 is backward
			if math.Abs(a) > 72 {
				continue
			}
			k := int((a + 180) / binDeg)
			if d := math.Hypot(dx, dy); d > best[k] {
				best[k], far[k] = d, p
			}
		}
		m, v := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
		n := 0
		for k, d := range best {
			if d > 0 {
				p := far[k]
				addRow(m, v, []float64{p.X, p.Y, 1}, p.X*p.X+p.Y*p.Y, 1)
				n++
			}
		}
		x, ok := solved(m, v)
		if !ok || n < 15 {
			return c, false
		}
		c = cupRound{x: x[0] / 2, y: x[1] / 2}
		c.radius = math.Sqrt(math.Max(x[2]+c.x*c.x+c.y*c.y, 0))
	}
	return c, c.radius > 0.06*size.X && c.radius < 0.35*size.X && c.x > 0.05*size.X && c.x < 0.4*size.X
}

// symmetry finds the plane that mirrors the cup's foot side in itself, among those along X: its place y at the deepest
// point of the cup, and its lean (radians; positive when the +Y side stands higher). foot is the foot side in the
// frame of l.
func symmetry(foot *mesh.Tree, c cupRound) (y, lean, deepest float64, hollow bool) {
	m := foot.Mesh()
	var pts, normals []r3.Vec
	step := max(1, len(m.F)/20000)
	for i := 0; i < len(m.F); i += step {
		f := m.F[i]
		p := r3.Scale(1.0/3, r3.Add(m.V[f[0]], r3.Add(m.V[f[1]], m.V[f[2]])))
		if p.X < c.x-1 {
			pts = append(pts, p)
			normals = append(normals, m.FaceNormal(i))
		}
	}
	if len(pts) > 3000 {
		k := len(pts)/3000 + 1
		for i := 0; i*k < len(pts); i++ {
			pts[i], normals[i] = pts[i*k], normals[i*k]
		}
		pts, normals = pts[:(len(pts)-1)/k+1], normals[:(len(pts)-1)/k+1]
	}
	y = c.y
	var mid float64 // height about which the plane turns
	for _, p := range pts {
		mid += p.Z / float64(max(len(pts), 1))
	}
	for range 12 {
		sin, cos := math.Sincos(lean)
		n, dn := r3.Vec{Y: cos, Z: sin}, r3.Vec{Y: -sin, Z: cos}
		at := r3.Vec{Y: y, Z: mid}
		var a11, a12, a22, b1, b2 float64
		for i, p := range pts {
			q := r3.Sub(p, at)
			d := r3.Dot(n, q)
			image := r3.Sub(p, r3.Scale(2*d, n))
			h := foot.Nearest(image)
			if h.Beyond || math.Abs(h.Signed) > 4 || h.Face < 0 {
				continue
			}
			fn := m.FaceNormal(int(h.Face))
			mirrored := r3.Sub(normals[i], r3.Scale(2*r3.Dot(n, normals[i]), n))
			if r3.Dot(fn, mirrored) < 0.8 {
				continue
			}
			res := r3.Dot(fn, r3.Sub(image, h.Point))
			// Derivatives of the image by y and by lean.
			j1 := r3.Dot(fn, r3.Scale(2*n.Y, n))
			j2 := -2 * r3.Dot(fn, r3.Add(r3.Scale(d, dn), r3.Scale(r3.Dot(dn, q), n)))
			a11, a12, a22 = a11+j1*j1, a12+j1*j2, a22+j2*j2
			b1, b2 = b1+j1*res, b2+j2*res
		}
		det := a11*a22 - a12*a12
		if det < 1e-9 {
			return y, lean, 0, false
		}
		dy, dl := (b1*a22-b2*a12)/det, (b2*a11-b1*a12)/det
		y -= dy
		lean = math.Min(math.Max(lean-dl, -0.35), 0.35)
		if math.Abs(dy) < 1e-4 && math.Abs(dl) < 1e-5 {
			break
		}
	}
	// Where the plane meets the foot side under the middle of the cup.
	onPlane := func(z float64) float64 { return y - (z-mid)*math.Tan(lean) }
	var zs [][2]float64
	for i := range m.F {
		f := m.F[i]
		p := r3.Scale(1.0/3, r3.Add(m.V[f[0]], r3.Add(m.V[f[1]], m.V[f[2]])))
		if math.Hypot(p.X-c.x, p.Y-onPlane(p.Z)) < 4 {
			zs = append(zs, [2]float64{p.Z, m.FaceArea(i)})
		}
	}
	if len(zs) < 3 {
		return onPlane(0), lean, 0, false
	}
	deepest = quantile(zs, 0.5)
	return onPlane(deepest), lean, deepest, true
}
