package footwear

import (
	"context"
	"math"
	"runtime"
	"slices"
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
	fewNeighbours = 24.0 // for judging the noise
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

// A patchFit is the quadric through a vertex's neighbours, seen from the vertex.
type patchFit struct {
	off    float64 // of the quadric over the vertex, along the normal, mm
	spread float64 // standard deviation of off for noise of 1 mm at every vertex
	ok     bool
}

// fit is the quadric at vertex v.
func (p *patches) fit(v int32) patchFit {
	n := p.normal[v]
	a := r3.Vec{X: 1}
	if math.Abs(n.X) > 0.7 {
		a = r3.Vec{Y: 1}
	}
	e1 := r3.Unit(r3.Cross(n, a))
	e2 := r3.Cross(n, e1)
	var ls normalEquations
	basis := func(d r3.Vec) [6]float64 {
		s, t := r3.Dot(d, e1)/p.radius, r3.Dot(d, e2)/p.radius
		return [6]float64{1, s, t, s * s, s * t, t * t}
	}
	at := p.m.V[v]
	count := 0
	p.near(at, n, func(_ int32, d r3.Vec, w float64) {
		ls.add(basis(d), r3.Dot(d, n), w)
		count++
	})
	if count < 10 {
		return patchFit{}
	}
	off, g, ok := ls.constant()
	if !ok {
		return patchFit{}
	}
	// off is a weighted sum of the neighbours' heights, one of which is the vertex's own.
	sum, own := 0.0, 0.0
	p.near(at, n, func(i int32, d r3.Vec, w float64) {
		b := basis(d)
		l := 0.0
		for k := range b {
			l += w * b[k] * g[k]
		}
		sum += l * l
		if i == v {
			own = l
		}
	})
	return patchFit{off: off, spread: math.Sqrt(math.Max(1-2*own+sum, 1e-9)), ok: true}
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

// constant is the first unknown, and the first row of the inverse.
func (q *normalEquations) constant() (c float64, row [6]float64, ok bool) {
	// Cholesky, lower triangle in place.
	a := &q.a
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
					return 0, row, false
				}
				a[i][i] = math.Sqrt(s)
			} else {
				a[i][j] = s / a[j][j]
			}
		}
	}
	row[0] = 1
	for i := range row {
		for k := range i {
			row[i] -= a[i][k] * row[k]
		}
		row[i] /= a[i][i]
	}
	for i := 5; i >= 0; i-- {
		for k := i + 1; k < 6; k++ {
			row[i] -= a[k][i] * row[k]
		}
		row[i] /= a[i][i]
	}
	for i := range row {
		c += row[i] * q.b[i]
	}
	return c, row, true
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

// quarterOfNormal is the distance from the middle, in standard deviations, within which a quarter of a normal
// distribution lies.
const quarterOfNormal = 0.3186

// smoothed judges the noise of a mesh (one standard deviation across the surface, mm, from that distance of the vertices
// from the quadrics of their neighbours that a quarter of them keep, so that edges do not count) and takes it away as far
// as it goes. A clean mesh comes back itself.
func smoothed(ctx context.Context, m *mesh.Mesh) (s *mesh.Mesh, noiseMM float64, err error) {
	if len(m.V) < 50 {
		return m, 0, nil
	}
	each := m.Area() / float64(len(m.V))
	radius := func(neighbours float64) float64 { return math.Sqrt(neighbours * each / math.Pi) }
	normal := m.VertexNormals()
	p, fits, err := fitPatches(ctx, m, normal, radius(fewNeighbours))
	if err != nil {
		return nil, 0, err
	}
	// Where vertices crowd, as at the corners of a drawn shape, or lie far apart, the radius does not suit them.
	var off []float64
	own := vertexArea(m)
	for i, f := range fits {
		if a := r3.Norm(own[i]); f.ok && a > 0.4*each && a < 2.5*each {
			off = append(off, math.Abs(f.off)/f.spread)
		}
	}
	if len(off) < max(50, len(m.V)/10) {
		return m, 0, nil
	}
	slices.Sort(off)
	noiseMM = off[len(off)/4] / quarterOfNormal
	if noiseMM < cleanMM {
		return m, noiseMM, nil
	}
	share := noiseMM / smoothToMM
	wide := math.Min(radius(math.Max(6*share*share, fewNeighbours)), math.Max(widestPatchMM, radius(fewNeighbours)))
	p, fits, err = fitPatches(ctx, m, p.normal, wide)
	if err != nil {
		return nil, 0, err
	}
	s = m.Clone()
	for v := range s.V {
		if fits[v].ok {
			s.V[v] = r3.Add(s.V[v], r3.Scale(fits[v].off, p.normal[v]))
		}
	}
	return s, noiseMM, nil
}

// fitPatches averages the normals over the radius, then fits the quadrics.
func fitPatches(ctx context.Context, m *mesh.Mesh, normal []r3.Vec, radius float64) (*patches, []patchFit, error) {
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
	if err != nil {
		return nil, nil, err
	}
	p.normal = mean
	fits := make([]patchFit, len(m.V))
	err = eachVertex(ctx, len(m.V), func(v int32) {
		if mean[v] != (r3.Vec{}) {
			fits[v] = p.fit(v)
		}
	})
	return p, fits, err
}
