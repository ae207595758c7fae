package footwear

import (
	"math"

	"gonum.org/v1/gonum/interp"
)

// free stands for an end slope that newCurve is to choose.
var free = math.NaN()

// newCurve is a piecewise cubic through the nodes (xs strictly increasing, two at least) with a continuous slope.
// Between two nodes it is monotone, and it is flat at a node that is higher or lower than both neighbours: inner
// slopes are the weighted harmonic means of Fritsch & Butland 1984 (SIAM J. Sci. Stat. Comput. 5:300). first and last
// are the slopes at the ends; free ends take the three-point slope, limited so that the curve stays monotone.
// Outside the nodes it is constant.
func newCurve(xs, ys []float64, first, last float64) *interp.PiecewiseCubic {
	n := len(xs)
	chord := make([]float64, n-1)
	for i := range chord {
		chord[i] = (ys[i+1] - ys[i]) / (xs[i+1] - xs[i])
	}
	slope := make([]float64, n)
	for i := 1; i < n-1; i++ {
		l, r := chord[i-1], chord[i]
		if l*r <= 0 {
			continue
		}
		hl, hr := xs[i]-xs[i-1], xs[i+1]-xs[i]
		wl, wr := hl+2*hr, 2*hl+hr
		slope[i] = (wl + wr) / (wr/l + wl/r)
	}
	end := func(given float64, i, j int) float64 {
		switch {
		case !math.IsNaN(given):
			return given
		case n == 2:
			return chord[0]
		}
		hi, hj := xs[i+1]-xs[i], xs[j+1]-xs[j]
		d := ((2*hi+hj)*chord[i] - hi*chord[j]) / (hi + hj)
		switch {
		case d*chord[i] <= 0:
			return 0
		case chord[i]*chord[j] < 0 && math.Abs(d) > 3*math.Abs(chord[i]):
			return 3 * chord[i]
		}
		return d
	}
	slope[0], slope[n-1] = end(first, 0, min(1, n-2)), end(last, n-2, max(0, n-3))
	var c interp.PiecewiseCubic
	c.FitWithDerivatives(xs, ys, slope)
	return &c
}

// smoothStep rises from 0 at a to 1 at b with two continuous derivatives.
func smoothStep(x, a, b float64) float64 {
	t := math.Min(math.Max((x-a)/(b-a), 0), 1)
	return t * t * t * (10 - 15*t + 6*t*t)
}

// mix is a at t = 0 and b at t = 1.
func mix(a, b, t float64) float64 { return a + t*(b-a) }

// root finds where f, negative at lo and positive at hi, passes 0 (regula falsi, Illinois form: Dowell & Jarratt 1971,
// BIT 11:168). Should f have one sign at both ends, it returns the end where f is nearer to 0.
func root(lo, hi float64, f func(float64) float64) float64 {
	flo, fhi := f(lo), f(hi)
	if flo >= 0 || fhi <= 0 {
		if math.Abs(flo) <= math.Abs(fhi) {
			return lo
		}
		return hi
	}
	side := 0
	x := lo
	for range 100 {
		x = (lo*fhi - hi*flo) / (fhi - flo)
		fx := f(x)
		switch {
		case math.Abs(fx) < 1e-10 || hi-lo < 1e-12*(math.Abs(lo)+math.Abs(hi)):
			return x
		case fx < 0:
			lo, flo = x, fx
			if side < 0 {
				fhi /= 2
			}
			side = -1
		default:
			hi, fhi = x, fx
			if side > 0 {
				flo /= 2
			}
			side = 1
		}
	}
	return x
}

// spread places n+1 parameters from 0 to 1 on a plane curve so that each step takes about the same share of its
// length and of its turning; the first is 0 and the last 1.
func spread(n int, at func(v float64) (x, y float64)) []float64 {
	const most = 64
	fine := min(most, 6*n) // steps by which the curve is looked at
	const turnShare = 0.6  // of a right angle's turning against the whole length
	var px, py, pa [most + 1]float64
	for i := range fine + 1 {
		px[i], py[i] = at(float64(i) / float64(fine))
	}
	var length float64
	for i := 1; i <= fine; i++ {
		dx, dy := px[i]-px[i-1], py[i]-py[i-1]
		length += math.Hypot(dx, dy)
		pa[i] = math.Atan2(dy, dx)
	}
	var sum [most + 1]float64
	for i := 1; i <= fine; i++ {
		step := math.Hypot(px[i]-px[i-1], py[i]-py[i-1])
		turn := 0.0
		if i > 1 {
			turn = math.Abs(math.Remainder(pa[i]-pa[i-1], 2*math.Pi))
		}
		sum[i] = sum[i-1] + step/length + turnShare*turn/(math.Pi/2)
	}
	out := make([]float64, n+1)
	j := 1
	for i := 1; i < n; i++ {
		want := sum[fine] * float64(i) / float64(n)
		for j < fine && sum[j] < want {
			j++
		}
		out[i] = (float64(j-1) + (want-sum[j-1])/(sum[j]-sum[j-1])) / float64(fine)
	}
	out[n] = 1
	return out
}
