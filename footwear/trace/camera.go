package trace

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A homography takes a place on the paper (mm) to the ideal picture (px): rows of a 3 × 3 matrix.
type homography [9]float64

// homographyOf takes each of four places to another; false when they determine none.
func homographyOf(from, to [4]Point) (homography, bool) {
	a, b := mat.NewDense(8, 8, nil), mat.NewVecDense(8, nil)
	for i := range from {
		p, q := from[i], to[i]
		a.SetRow(2*i, []float64{p.X, p.Y, 1, 0, 0, 0, -q.X * p.X, -q.X * p.Y})
		a.SetRow(2*i+1, []float64{0, 0, 0, p.X, p.Y, 1, -q.Y * p.X, -q.Y * p.Y})
		b.SetVec(2*i, q.X)
		b.SetVec(2*i+1, q.Y)
	}
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil {
		return homography{}, false
	}
	h := homography{8: 1}
	copy(h[:8], x.RawVector().Data)
	for _, v := range h {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return homography{}, false
		}
	}
	return h, true
}

func (h *homography) apply(p Point) Point {
	w := h[6]*p.X + h[7]*p.Y + h[8]
	return Point{(h[0]*p.X + h[1]*p.Y + h[2]) / w, (h[3]*p.X + h[4]*p.Y + h[5]) / w}
}

// scale is the least number of px that a mm of the paper is long at p, in any direction along its sides.
func (h *homography) scale(p Point) float64 {
	const d = 0.5
	du := h.apply(Point{p.X + d, p.Y}).minus(h.apply(Point{p.X - d, p.Y})).norm()
	dv := h.apply(Point{p.X, p.Y + d}).minus(h.apply(Point{p.X, p.Y - d})).norm()
	return min(du, dv)
}

// columns are K⁻¹·H for a camera of focal length f (px) whose axis goes through mid.
func (h *homography) columns(mid Point, f float64) (c [3][3]float64) {
	for i := range 3 {
		c[i] = [3]float64{(h[i] - mid.X*h[6+i]) / f, (h[3+i] - mid.Y*h[6+i]) / f, h[6+i]}
	}
	return c
}

func dot3(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// misfit says how far the paper's two sides, as a camera of focal length f sees them, are from being square to each
// other and of one scale: 0 for the true size, about the relative error of its proportion otherwise.
func (h *homography) misfit(mid Point, f float64) float64 {
	c := h.columns(mid, f)
	n0, n1 := math.Sqrt(dot3(c[0], c[0])), math.Sqrt(dot3(c[1], c[1]))
	return math.Hypot(dot3(c[0], c[1])/(n0*n1), math.Log(n0/n1))
}

// Usual focal lengths as shares of the picture's diagonal; a phone's main camera is near 27 mm on 36 × 24 mm film (from
// memory).
const (
	usualFocal = 27 / fullFrameDiagonalMM
	leastFocal = 0.45
	mostFocal  = 4.0
)

// proportion is the least misfit over all usual focal lengths, or at the known one (0: not known), and that length.
func (h *homography) proportion(mid Point, known float64) (misfit, focal float64) {
	if known > 0 {
		return h.misfit(mid, known), known
	}
	diagonal := 2 * mid.norm()
	misfit = math.Inf(1)
	const n = 60
	best := math.Inf(1)
	for i := range n + 1 {
		f := diagonal * leastFocal * math.Pow(mostFocal/leastFocal, float64(i)/n)
		m := h.misfit(mid, f)
		// Where the picture hardly tells, the usual length.
		unusual := 0.004 * math.Abs(math.Log(f/(usualFocal*diagonal)))
		if m+unusual < best {
			best, misfit, focal = m+unusual, m, f
		}
	}
	return misfit, focal
}

// eye is where the camera's pupil was over the paper, mm: along its long side, its short side, and up.
func (h *homography) eye(mid Point, focal float64) (x, y, up float64) {
	c := h.columns(mid, focal)
	s := 2 / (math.Sqrt(dot3(c[0], c[0])) + math.Sqrt(dot3(c[1], c[1])))
	for i := range c {
		for j := range c[i] {
			c[i][j] *= s
		}
	}
	n := [3]float64{
		c[0][1]*c[1][2] - c[0][2]*c[1][1],
		c[0][2]*c[1][0] - c[0][0]*c[1][2],
		c[0][0]*c[1][1] - c[0][1]*c[1][0],
	}
	return -dot3(c[0], c[2]), -dot3(c[1], c[2]), math.Abs(dot3(n, c[2]))
}
