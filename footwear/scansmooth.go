package footwear

import (
	"context"
	"math"
	"runtime"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A scan is noisy: each of its vertices stands some tenths of a millimetre off the surface. For measuring, and only for
// that, each vertex is moved along the normal onto the quadric that fits its neighbours best (moving least squares,
// Lancaster & Salkauskas 1981, Math. Comp. 37:141): a quadric keeps planes, the curvature of walls and the radius of a
// feather line that is wider than the neighbourhood. Walls that a device is tried in are never smoothed.
const (
	// A mesh whose vertices lie this near the quadrics of their neighbours has no noise that smoothing could take.
	cleanMM = 0.03
	// Smoothing aims at this standard deviation, but takes no neighbours from farther away than widestPatchMM.
	smoothToMM    = 0.06
	widestPatchMM = 6.0
	fewNeighbours = 24.0 // a quadric is fitted to at least
)

// patches finds the neighbours of vertices by a grid of cubes.
type patches struct {
	m      *mesh.Mesh
	normal []r3.Vec
	radius float64
	cells  map[[3]int32][]int32
}

func newPatches(m *mesh.Mesh, normal []r3.Vec, radius float64) *patches {
	p := &patches{m: m, normal: normal, radius: radius, cells: make(map[[3]int32][]int32, len(m.V)/8+1)}
	for i, v := range m.V {
		if normal[i] != (r3.Vec{}) { // a vertex without faces is no part of the surface
			c := p.cell(v)
			p.cells[c] = append(p.cells[c], int32(i))
		}
	}
	return p
}

func (p *patches) cell(v r3.Vec) [3]int32 {
	return [3]int32{int32(math.Floor(v.X / p.radius)), int32(math.Floor(v.Y / p.radius)), int32(math.Floor(v.Z / p.radius))}
}

// near calls f with the vertices nearer than the radius to a place whose normals are less than 60° from n.
func (p *patches) near(at, n r3.Vec, f func(i int32, d r3.Vec, weight float64)) {
	c := p.cell(at)
	r2 := p.radius * p.radius
	for x := c[0] - 1; x <= c[0]+1; x++ {
		for y := c[1] - 1; y <= c[1]+1; y++ {
			for z := c[2] - 1; z <= c[2]+1; z++ {
				for _, i := range p.cells[[3]int32{x, y, z}] {
					d := r3.Sub(p.m.V[i], at)
					if t := r3.Norm2(d) / r2; t < 1 && r3.Dot(p.normal[i], n) > 0.5 {
						f(i, d, (1-t)*(1-t))
					}
				}
			}
		}
	}
}

// fit is how far the quadric through the neighbours of vertex v stands over it along its normal, mm; no: there are too few.
func (p *patches) fit(v int32) (off float64, ok bool) {
	n := p.normal[v]
	a := r3.Vec{X: 1}
	if math.Abs(n.X) > 0.7 {
		a = r3.Vec{Y: 1}
	}
	e1 := r3.Unit(r3.Cross(n, a))
	e2 := r3.Cross(n, e1)
	var ls normalEquations
	count := 0
	p.near(p.m.V[v], n, func(_ int32, d r3.Vec, w float64) {
		s, t := r3.Dot(d, e1)/p.radius, r3.Dot(d, e2)/p.radius
		ls.add([6]float64{1, s, t, s * s, s * t, t * t}, r3.Dot(d, n), w)
		count++
	})
	if count < 10 {
		return 0, false
	}
	c, ok := ls.solve()
	return c[0], ok
}

// normalEquations are those of a weighted least-squares fit with six unknowns.
type normalEquations struct {
	a [6][6]float64
	b [6]float64
}

func (q *normalEquations) add(x [6]float64, y, w float64) {
	for i := range x {
		wx := w * x[i]
		for j := 0; j <= i; j++ {
			q.a[i][j] += wx * x[j]
		}
		q.b[i] += wx * y
	}
}

// solve is the solution by Cholesky's decomposition; no: the unknowns are not told apart.
func (q *normalEquations) solve() (x [6]float64, ok bool) {
	a := &q.a // lower triangle, in place
	trace := 0.0
	for i := range a {
		trace += a[i][i]
	}
	for i := range a {
		for j := 0; j <= i; j++ {
			s := a[i][j]
			for k := range j {
				s -= a[i][k] * a[j][k]
			}
			if i == j {
				if s < 1e-9*trace {
					return x, false
				}
				a[i][i] = math.Sqrt(s)
			} else {
				a[i][j] = s / a[j][j]
			}
		}
	}
	for i := range x {
		x[i] = q.b[i]
		for k := range i {
			x[i] -= a[i][k] * x[k]
		}
		x[i] /= a[i][i]
	}
	for i := 5; i >= 0; i-- {
		for k := i + 1; k < 6; k++ {
			x[i] -= a[k][i] * x[k]
		}
		x[i] /= a[i][i]
	}
	return x, true
}

// eachVertex shares the vertices out to all processors.
func eachVertex(ctx context.Context, n int, f func(v int32)) error {
	workers := max(1, runtime.GOMAXPROCS(0))
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for v := n * w / workers; v < n*(w+1)/workers; v++ {
				if v%1024 == 0 && ctx.Err() != nil {
					return
				}
				f(int32(v))
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}

// smoothed judges the noise of a mesh (mesh.MeasureRoughness: one standard deviation across the surface, mm) and takes it
// away as far as it goes. A clean mesh comes back itself.
func smoothed(ctx context.Context, m *mesh.Mesh) (s *mesh.Mesh, noiseMM float64, err error) {
	noiseMM = mesh.MeasureRoughness(m).RMSMM
	if noiseMM < cleanMM {
		return m, noiseMM, ctx.Err()
	}
	each := m.Area() / float64(len(m.V))
	radius := func(neighbours float64) float64 { return math.Sqrt(neighbours * each / math.Pi) }
	share := noiseMM / smoothToMM
	wide := math.Min(radius(math.Max(6*share*share, fewNeighbours)), math.Max(widestPatchMM, radius(fewNeighbours)))
	p, err := meanNormals(ctx, m, wide)
	if err != nil {
		return nil, 0, err
	}
	s = m.Clone()
	err = eachVertex(ctx, len(m.V), func(v int32) {
		if p.normal[v] == (r3.Vec{}) {
			return
		}
		if off, ok := p.fit(v); ok {
			s.V[v] = r3.Add(s.V[v], r3.Scale(off, p.normal[v]))
		}
	})
	return s, noiseMM, err
}

// meanNormals are the patches of a mesh with the normals averaged over them.
func meanNormals(ctx context.Context, m *mesh.Mesh, radius float64) (*patches, error) {
	normal := m.VertexNormals()
	p := newPatches(m, normal, radius)
	mean := make([]r3.Vec, len(normal))
	err := eachVertex(ctx, len(m.V), func(v int32) {
		if normal[v] == (r3.Vec{}) {
			return
		}
		var sum r3.Vec
		p.near(m.V[v], normal[v], func(i int32, _ r3.Vec, w float64) { sum = r3.Add(sum, r3.Scale(w, normal[i])) })
		mean[v] = r3.Unit(sum)
	})
	p.normal = mean
	return p, err
}
