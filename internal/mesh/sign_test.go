package mesh

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// noisy moves each vertex by a normal deviate of so many mm along each axis, so that is the noise across the surface.
func noisy(m *Mesh, rms float64, seed uint64) *Mesh {
	rng := rand.New(rand.NewPCG(seed, 7))
	c := m.Clone()
	for i, v := range c.V {
		c.V[i] = r3.Add(v, vec(rms*rng.NormFloat64(), rms*rng.NormFloat64(), rms*rng.NormFloat64()))
	}
	return c
}

// noisyLoft is a superellipse loft of shoe size with 0.3 mm of noise.
func noisyLoft(around, along int) *Mesh { return noisy(cavity(around, along), 0.3, 11) }

// aboutSurface are points off the surface by up to reach mm, spread over faces, more where those are small.
func aboutSurface(m *Mesh, n int, reach float64, seed uint64) []r3.Vec {
	rng := rand.New(rand.NewPCG(seed, 5))
	p := make([]r3.Vec, n)
	for i := range p {
		f := m.F[rng.IntN(len(m.F))]
		a, b := rng.Float64(), rng.Float64()
		if a+b > 1 {
			a, b = 1-a, 1-b
		}
		q := r3.Add(m.V[f[0]], r3.Add(r3.Scale(a, r3.Sub(m.V[f[1]], m.V[f[0]])), r3.Scale(b, r3.Sub(m.V[f[2]], m.V[f[0]]))))
		for k := 0.0; k == 0 || k > 1; {
			d := vec(2*rng.Float64()-1, 2*rng.Float64()-1, 2*rng.Float64()-1)
			if k = r3.Norm(d); k <= 1 {
				p[i] = r3.Add(q, r3.Scale(reach, d))
			}
		}
	}
	return p
}

// exactWinding is the plain sum at many points.
func exactWinding(t *Tree, points []r3.Vec) []float64 {
	w := make([]float64, len(points))
	_ = inParallel(context.Background(), len(points), func() func(int) {
		return func(i int) { w[i] = t.Winding(points[i]) }
	})
	return w
}

// Beside: the exact winding number (Jacobson et al. 2013), a sum over all faces.
func TestSignOfNoisyScan(t *testing.T) {
	m := noisyLoft(100, 101)
	require.NoError(t, m.Closed())
	plain, scan, wound := NewTree(m), NewScanTree(m), NewTreeSigned(m, SignByWinding)
	require.Equal(t, SignByNormals, plain.Sign())
	require.Equal(t, SignByBoth, scan.Sign())
	require.Equal(t, SignByBoth, NewTreeSigned(m, SignByBoth).Sign())
	require.Equal(t, SignByWinding, wound.Sign())
	assert.Positive(t, scan.Crossed())
	assert.Less(t, scan.Crossed(), len(m.F)/20)
	points := append(aboutSurface(m, 600, 1, 1), aboutSurface(m, 200, 15, 2)...)
	// And at the blunt ends, where the faces are smaller than the noise.
	ends := m.Subset(func(i int) bool { x := m.V[m.F[i][0]].X; return x < 3 || x > 297 })
	points = append(points, aboutSurface(ends, 500, 3, 3)...)
	wrong := 0
	for i, w := range exactWinding(plain, points) {
		p := points[i]
		want := w >= 0.5
		h := scan.Nearest(p)
		require.Equal(t, want, h.Signed > 0, "point %d %v, %g", i, p, h.Signed)
		require.Equal(t, want, wound.Nearest(p).Signed > 0, "point %d", i)
		g := plain.Nearest(p)
		require.InDelta(t, math.Abs(g.Signed), math.Abs(h.Signed), 1e-12)
		require.Equal(t, g.Face, h.Face)
		if want != (g.Signed > 0) {
			wrong++
		}
	}
	assert.Positive(t, wrong, "pseudonormals alone are wrong somewhere")
}

// Beside: the sides that CGAL found with exact arithmetic, where they are defined; see testdata.
func TestScanTreeAgainstCGAL(t *testing.T) {
	known := 0
	for _, s := range referenceShapes(t) {
		tree := NewScanTree(s.part)
		assert.Equal(t, s.CrossesItself, tree.Crossed() > 0, s.Shape)
		for _, q := range s.queries {
			if in, ok := q.inside(s); ok {
				require.Equal(t, in, tree.Nearest(q.p).Signed > 0, "%s, %s point %v", s.Shape, q.kind, q.p)
				known++
			}
		}
	}
	require.Greater(t, known, 2000)
}

func TestFieldHasTheSignOfItsTree(t *testing.T) {
	whole := noisyLoft(48, 49)
	open := without(whole, func(_ int, c r3.Vec) bool { return c.X < 110 && c.Z > 88 })
	for name, m := range map[string]*Mesh{"closed": whole, "open": open} {
		tree := NewScanTree(m)
		require.Equal(t, SignByBoth, tree.Sign())
		f, err := NewField(context.Background(), tree, FieldOptions{SpacingMM: 1.5, BandMM: 6})
		require.NoError(t, err)
		ends := m.Subset(func(i int) bool { x := m.V[m.F[i][0]].X; return x < 3 || x > 297 })
		compared := 0
		for _, p := range append(aboutSurface(m, 2000, 5, 1), aboutSurface(ends, 2000, 5, 2)...) {
			s := f.At(p)
			h := tree.Nearest(p)
			// 0.87 of the spacing is the bound of the field's error; near the lid of an opening, half way between
			// inside and outside, a block may lie on the other side of it.
			w, _ := tree.WindingNear(p)
			if s.Known && !h.Beyond && math.Abs(h.Signed) > 0.87*1.5 && math.Abs(w-tree.level) > 0.3 {
				require.Equal(t, h.Signed > 0, s.D > 0, "%s at %v: %g and %g", name, p, h.Signed, s.D)
				compared++
			}
		}
		assert.Greater(t, compared, 2000, name)
		if name == "closed" {
			assert.Less(t, f.ErrorMM(), 0.87*1.5)
		}
	}
}

func TestSignsOfCleanMeshes(t *testing.T) {
	spike := frustum(10, 10, 0.02, 0.02, 100)                    // a thin tip with sharp edges
	needle := turned(24, 0, 30, func(j int) (float64, float64) { // sharp at both ends
		s := float64(j) / 30
		return 3 * math.Sin(math.Pi*s) * math.Sin(math.Pi*s), 200 * s
	})
	for name, m := range map[string]*Mesh{"cube": cube(), "spike": spike, "needle": needle, "rumpled": rumpled(24, 1)} {
		tree := NewScanTree(m)
		assert.Equal(t, SignByNormals, tree.Sign(), name)
		assert.Zero(t, tree.Crossed(), name)
		points := append(aboutSurface(m, 600, 0.5, 1), aboutSurface(m, 300, 1e-3, 2)...)
		tip := m.Subset(func(i int) bool {
			return max(m.V[m.F[i][0]].Z, m.V[m.F[i][1]].Z, m.V[m.F[i][2]].Z) > m.Bounds().Max.Z-3
		})
		points = append(points, aboutSurface(tip, 600, 0.05, 3)...)
		wound := NewTreeSigned(m, SignByWinding)
		for i, w := range exactWinding(tree, points) {
			require.Equal(t, w > 0.5, tree.Nearest(points[i]).Signed > 0, "%s at %v", name, points[i])
			require.Equal(t, w > 0.5, wound.Nearest(points[i]).Signed > 0, "%s at %v", name, points[i])
		}
	}
	for z := 99.0; z < 99.999; z += 0.05 { // on the axis of the spike, up to its top, 0.04 mm wide
		h := NewScanTree(spike).Nearest(vec(0, 0, z))
		require.Positive(t, h.Signed)
		require.Less(t, h.Signed, 0.2)
	}
}

// With noise at a thin tip its walls cross.
func TestSignInNoisyThinTip(t *testing.T) {
	m := turned(60, 0, 120, func(j int) (float64, float64) {
		s := float64(j) / 120
		return 15 * math.Sqrt(s) * (1 - s*s), 120 * s
	})
	m = noisy(m, 0.3, 3)
	require.NoError(t, m.Closed())
	scan, plain := NewScanTree(m), NewTree(m)
	require.Equal(t, SignByBoth, scan.Sign())
	tip := m.Subset(func(i int) bool { return m.V[m.F[i][0]].Z > 112 })
	points := append(aboutSurface(tip, 700, 0.6, 1), aboutSurface(m, 200, 2, 2)...)
	wrong := 0
	for i, w := range exactWinding(plain, points) {
		require.Equal(t, w >= 0.5, scan.Nearest(points[i]).Signed > 0, "%v", points[i])
		if w >= 0.5 != (plain.Nearest(points[i]).Signed > 0) {
			wrong++
		}
	}
	assert.Positive(t, wrong, "pseudonormals alone are wrong somewhere")
}

// Beside: the exact winding number of the closed scan that the open one was cut from.
func TestSignOfOpenNoisyScan(t *testing.T) {
	whole := noisyLoft(80, 81)
	open := without(whole, func(_ int, c r3.Vec) bool { return c.X < 110 && c.Z > 88 })
	require.Error(t, open.Closed())
	tree := NewScanTree(open)
	require.Equal(t, SignByBoth, tree.Sign())
	assert.InDelta(t, 0.5, tree.level, 0.15)
	points := append(aboutSurface(open, 700, 2, 1), aboutSurface(open, 300, 20, 2)...)
	ends := open.Subset(func(i int) bool { x := open.V[open.F[i][0]].X; return x < 3 || x > 297 })
	points = append(points, aboutSurface(ends, 300, 3, 3)...)
	compared := 0
	closed := NewTree(whole)
	for i, w := range exactWinding(closed, points) {
		h := tree.Nearest(points[i])
		if h.Beyond {
			continue
		}
		compared++
		require.Equal(t, w >= 0.5, h.Signed > 0, "%v: %g", points[i], h.Signed)
	}
	assert.Greater(t, compared, 1000)
	// High above the opening is outside, deep below it inside.
	assert.Negative(t, tree.Nearest(vec(50, 0, 300)).Signed)
	assert.Positive(t, tree.Nearest(vec(55, 0, 60)).Signed)
}

func TestSignOfSheetsAndWhatIsInsideOut(t *testing.T) {
	sheet := sheet(12, 2)
	tree := NewScanTree(sheet)
	assert.InDelta(t, 0, tree.level, 0.15, "a sheet has as much space on either side")
	n := sheet.FaceNormal(100)
	for i := range sheet.F {
		f := sheet.F[i]
		c := r3.Scale(1.0/3, r3.Add(sheet.V[f[0]], r3.Add(sheet.V[f[1]], sheet.V[f[2]])))
		require.Negative(t, tree.Nearest(r3.Add(c, r3.Scale(0.01, sheet.FaceNormal(i)))).Signed)
		require.Positive(t, tree.Nearest(r3.Sub(c, r3.Scale(0.01, sheet.FaceNormal(i)))).Signed)
	}
	assert.Positive(t, n.Z)
	m := noisy(cavity(60, 61), 1, 4)
	turned := turnFaces(m, func(int) bool { return true })
	out, in := NewScanTree(m), NewScanTree(turned)
	require.Equal(t, SignByBoth, in.Sign())
	assert.Equal(t, -0.5, in.level)
	for _, p := range aboutSurface(m, 2000, 3, 1) {
		require.InDelta(t, out.Nearest(p).Signed, -in.Nearest(p).Signed, 1e-9)
	}
}

// Two overlapping boxes: inside is what is in either. Inner walls part nothing.
func TestSignOfBodiesThatOverlap(t *testing.T) {
	m := cube().Refined(func(_, _ r3.Vec) float64 { return 0.3 })
	m.Append(m.Transformed(Pose{T: vec(0.9, 0.8, 0.7)}))
	tree := NewScanTree(m)
	require.Equal(t, SignByBoth, tree.Sign())
	normals := NewTree(m)
	in := func(p r3.Vec) bool { return max(math.Abs(p.X), math.Abs(p.Y), math.Abs(p.Z)) < 1 }
	wrong := 0
	for _, p := range randomPoints(3000, 2.2, 3) {
		want := in(p) || in(r3.Sub(p, vec(0.9, 0.8, 0.7)))
		require.Equal(t, want, tree.Nearest(p).Signed > 0, "%v", p)
		if want != (normals.Nearest(p).Signed > 0) {
			wrong++
		}
	}
	assert.Positive(t, wrong, "pseudonormals alone are wrong somewhere")
	assert.InDelta(t, 0.5, tree.level, 0)
}

func TestTouchingFaces(t *testing.T) {
	tri := func(p ...float64) *Mesh {
		m := &Mesh{F: [][3]int32{{0, 1, 2}, {3, 4, 5}}}
		for i := 0; i < 18; i += 3 {
			m.V = append(m.V, vec(p[i], p[i+1], p[i+2]))
		}
		return m
	}
	base := []float64{0, 0, 0, 10, 0, 0, 0, 10, 0}
	for name, c := range map[string]struct {
		second []float64
		want   bool
	}{
		"through":                      {[]float64{2, 2, -1, 2, 2, 1, 9, 9, 1}, true},
		"above":                        {[]float64{2, 2, 1e-3, 2, 2, 1, 9, 9, 1}, false},
		"beside":                       {[]float64{6, 6, -1, 6, 6, 1, 9, 9, 0}, false},
		"corner on it":                 {[]float64{2, 2, 0, 2, 2, 1, 3, 3, 1}, true},
		"in its plane, over it":        {[]float64{1, 1, 0, 30, 1, 0, 1, 30, 0}, true},
		"in its plane, clear":          {[]float64{6, 6, 0, 30, 6, 0, 6, 30, 0}, false},
		"edge shared":                  {[]float64{10, 0, 0, 0, 0, 0, 0, -10, 0}, false},
		"edge shared, upright":         {[]float64{10, 0, 0, 0, 0, 0, 5, 0, 10}, false},
		"edge shared, folded shut":     {[]float64{10, 0, 0, 0, 0, 0, 4, 4, 0}, true},
		"edge shared, sharp":           {[]float64{10, 0, 0, 0, 0, 0, 4, 4, 0.001}, false},
		"corner shared":                {[]float64{0, 0, 0, -5, 0, 0, 0, -5, 0}, false},
		"corner shared, upright":       {[]float64{0, 0, 0, 3, 3, 5, 5, 3, 5}, false},
		"corner shared, through":       {[]float64{0, 0, 0, 3, 3, 5, 3, 3, -5}, true},
		"corner shared, through by it": {[]float64{10, 0, 0, 20, 12, 5, -10, 12, -5}, false},
		"corner shared, lying on it":   {[]float64{0, 0, 0, 3, 1, 0, 1, 3, 0}, true},
		"the same":                     {[]float64{0, 0, 0, 0, 10, 0, 10, 0, 0}, true},
	} {
		for turn := range 3 { // whatever the order of the corners and of the faces
			s := append(c.second[3*turn:len(c.second):len(c.second)], c.second[:3*turn]...)
			for _, m := range []*Mesh{tri(append(base[:9:9], s...)...), tri(append(s[:9:9], base...)...)} {
				got := NewTree(m).touching(1e-9)
				assert.Equal(t, []bool{c.want, c.want}, got, "%s, turned by %d", name, turn)
			}
		}
	}
}

// Cones that meet at their tips share a vertex, and no edge.
func TestPinchedVertices(t *testing.T) {
	cone := turned(12, 0, 2, func(j int) (float64, float64) { return [3]float64{0, 5, 0}[j], [3]float64{0, 8, 10}[j] })
	both := both(cone, cone.Transformed(PoseAbout(r3.Vec{}, vec(math.Pi, 0, 0), r3.Vec{})))
	m := both.Welded(1e-9)
	require.Len(t, m.V, len(both.V)-1)
	tree := NewTree(m)
	n := 0
	for v, p := range tree.topo.pinched() {
		if p {
			assert.InDelta(t, 0, r3.Norm(m.V[v]), 1e-12)
			n++
		}
	}
	assert.Equal(t, 1, n)
	assert.NotContains(t, NewTree(cone).topo.pinched(), true)
	assert.NotContains(t, NewTree(sheet(5, 1)).topo.pinched(), true)
	scan := NewScanTree(m)
	assert.Equal(t, SignByBoth, scan.Sign())
	for _, p := range randomPoints(1000, 4, 8) {
		require.Equal(t, scan.Winding(p) > 0.5, scan.Nearest(p).Signed > 0, "%v", p)
	}
}

// Beside: the exact sum. The error must keep to its bound, which must be of use.
func TestWindingNear(t *testing.T) {
	for name, m := range map[string]*Mesh{
		"closed": noisyLoft(60, 61), "open": sheet(20, 3), "one face": {V: []r3.Vec{{}, {X: 1}, {Y: 1}}, F: [][3]int32{{0, 1, 2}}},
	} {
		tree := NewTree(m)
		points := append(aboutSurface(m, 500, 1, 1), aboutSurface(m, 300, 40, 2)...)
		for i, w := range exactWinding(tree, points) {
			for _, closest := range []float64{0.7, 0.5, 0.3, 0.1} {
				got, off := tree.windingNear(points[i], closest)
				require.InDelta(t, w, got, off, "%s at %v", name, points[i])
				require.Less(t, off, 6*closest*closest)
			}
			got, off := tree.WindingNear(points[i])
			require.InDelta(t, w, got, off)
			require.Less(t, off, 0.2)
			require.Equal(t, w >= 0.5, tree.encloses(points[i]))
		}
	}
	w, off := NewTree(&Mesh{}).WindingNear(vec(1, 2, 3))
	assert.Zero(t, w)
	assert.Zero(t, off)
	// Far off, an open sheet is a dipole: Ω = A cos / R² (elementary).
	flat := frustum(5, 5, 5, 5, 1).Subset(func(i int) bool { return i < 2 })
	w, _ = NewTree(flat).WindingNear(vec(0, 0, 1000))
	assert.InEpsilon(t, 100/(4*math.Pi*1e6), w, 1e-3)
}
