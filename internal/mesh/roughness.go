package mesh

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// Roughness has what is known of the noise of a surface.
type Roughness struct {
	RMSMM    float64 // of the distances of vertices to the smooth surface among them
	Vertices int     // that it was taken at
}

const (
	roughSamples    = 4000
	roughNeighbours = 40 // at most, about a vertex
	quadricTerms    = 6
)

// MeasureRoughness estimates the noise of a scan. At up to 4000 vertices spread over the mesh a quadric
// z = a + bx + cy + dx² + exy + fy² is fitted, by least squares in the frame of the vertex normal, to the vertex and its
// neighbours up to two edges away, n > 6 in all. Of noise of variance σ² across the surface the squares of the residuals
// sum up to (n-6)σ² on average (Draper & Smith, Applied Regression Analysis, 1998, ch. 1; from memory), so each fit gives
// s² = Σr²/(n-6). The median of s² over the fits, which sharp edges hardly touch, is divided by the median of χ²/(n-6),
// (1 - 2/(9(n-6)))³ (Wilson & Hilferty 1931, PNAS 17:684; from memory). Noise along the surface does not count, and
// waves longer than the neighbourhood are taken for shape.
func MeasureRoughness(m *Mesh) Roughness {
	start, near := neighbours(m)
	step := len(m.V)/roughSamples + 1
	var all []float64
	var r Roughness
	var ring []int32
	for v := step / 2; v < len(m.V); v += step {
		ring = twoRings(int32(v), start, near, ring[:0])
		if s2, ok := m.quadricVariance(ring); ok {
			all = append(all, s2)
		}
	}
	r.Vertices = len(all)
	if len(all) > 0 {
		slices.Sort(all)
		r.RMSMM = math.Sqrt(all[len(all)/2])
	}
	return r
}

// neighbours lists, one after the other, the vertices that share a face with each vertex, some more than once.
func neighbours(m *Mesh) (start, near []int32) {
	start = make([]int32, len(m.V)+1)
	for _, f := range m.F {
		for _, v := range f {
			start[v+1] += 2
		}
	}
	for i := range m.V {
		start[i+1] += start[i]
	}
	at := slices.Clone(start)
	near = make([]int32, start[len(m.V)])
	for _, f := range m.F {
		for k, v := range f {
			near[at[v]], near[at[v]+1] = f[(k+1)%3], f[(k+2)%3]
			at[v] += 2
		}
	}
	return start, near
}

// twoRings appends v and what is up to two edges away, up to roughNeighbours.
func twoRings(v int32, start, near, ring []int32) []int32 {
	ring = append(ring, v)
	add := func(of int32) {
		for _, w := range near[start[of]:start[of+1]] {
			if len(ring) < roughNeighbours && !slices.Contains(ring, w) {
				ring = append(ring, w)
			}
		}
	}
	add(v)
	for _, w := range slices.Clone(ring[1:]) {
		add(w)
	}
	return ring
}

// quadricVariance fits a quadric to the vertices of a ring and gives the unbiased variance, as for the median.
func (m *Mesh) quadricVariance(ring []int32) (s2 float64, ok bool) {
	n := len(ring)
	if n <= quadricTerms+1 {
		return 0, false
	}
	var c r3.Vec
	for _, v := range ring {
		c = r3.Add(c, r3.Scale(1/float64(n), m.V[v]))
	}
	cov := mat.NewSymDense(3, nil)
	for _, v := range ring {
		d := r3.Sub(m.V[v], c)
		cov.SymRankOne(cov, 1, mat.NewVecDense(3, []float64{d.X, d.Y, d.Z}))
	}
	var eig mat.EigenSym
	if !eig.Factorize(cov, true) {
		return 0, false
	}
	var axes mat.Dense
	eig.VectorsTo(&axes)
	axis := func(k int) r3.Vec { return r3.Vec{X: axes.At(0, k), Y: axes.At(1, k), Z: axes.At(2, k)} }
	z, x, y := axis(0), axis(1), axis(2)
	size := math.Sqrt(eig.Values(nil)[2] / float64(n))
	if size == 0 {
		return 0, false
	}
	a, b := mat.NewDense(n, quadricTerms, nil), mat.NewVecDense(n, nil)
	for i, v := range ring {
		d := r3.Sub(m.V[v], c)
		u, w := r3.Dot(d, x)/size, r3.Dot(d, y)/size
		a.SetRow(i, []float64{1, u, w, u * u, u * w, w * w})
		b.SetVec(i, r3.Dot(d, z))
	}
	var qr mat.QR
	qr.Factorize(a)
	var coefficients, fitted mat.VecDense
	if qr.Cond() > 1e8 || qr.SolveVecTo(&coefficients, false, b) != nil {
		return 0, false
	}
	fitted.MulVec(a, &coefficients)
	fitted.SubVec(&fitted, b)
	free := float64(n - quadricTerms)
	return mat.Dot(&fitted, &fitted) / free / math.Pow(1-2/(9*free), 3), true
}
