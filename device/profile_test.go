package device

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestHalfProfileIsAQuarterOfASuperellipse(t *testing.T) {
	h := cutProfile(50, 30, 2.5, 30)
	var p [][2]float64
	const n = 4000
	for i := range n + 1 {
		rho, z, dRho, dZ := h.at(float64(i) / n)
		assert.InDelta(t, 1, math.Pow(rho/50, 2.5)+math.Pow((30-z)/30, 2.5), 1e-9)
		if i > 0 && i < n {
			const e = 1e-6
			r1, z1, _, _ := h.at(float64(i)/n + e)
			r0, z0, _, _ := h.at(float64(i)/n - e)
			assert.InDelta(t, (r1-r0)/(2*e), dRho, 1e-3)
			assert.InDelta(t, (z1-z0)/(2*e), dZ, 1e-3)
		}
		p = append(p, [2]float64{rho, z})
	}
	// Area of the superellipse a 50, b 30, n 2.5: 4ab·Γ(1+1/n)²/Γ(1+2/n) = 5071.403 (calc).
	quarter := polygonArea(append(p, [2]float64{0, 30}))
	assert.InDelta(t, 5071.403, 4*quarter, 0.01)
}

func TestProfileIsCutWhereItIsTold(t *testing.T) {
	for _, c := range []struct{ d, h float64 }{{25, 1}, {25, 14}, {25, 24.99}, {25, 25}, {25, 31}, {12, 20}} {
		cut := cutProfile(33, c.d, 2.5, c.h)
		_, z, _, _ := cut.at(1)
		assert.InDelta(t, c.h, z, 1e-9)
		fit := fitProfile(33, c.d, 2.5, c.h)
		rho, z, _, _ := fit.at(1)
		assert.InDelta(t, 33, rho, 1e-9)
		assert.InDelta(t, c.h, z, 1e-9)
		rho, z, _, dZ := fit.at(0)
		assert.Zero(t, rho)
		assert.Zero(t, z)
		assert.Zero(t, dZ, "level on the deepest line")
	}
}

func TestProfileGoesOverIntoAnUprightWall(t *testing.T) {
	h := cutProfile(33, 20, 2.5, 30)
	s := math.Pi / 2 / h.end // the widest place
	r0, z0, dr0, dz0 := h.at(s - 1e-9)
	r1, z1, dr1, dz1 := h.at(s + 1e-9)
	assert.InDelta(t, r0, r1, 1e-6)
	assert.InDelta(t, z0, z1, 1e-6)
	assert.InDelta(t, dr0, dr1, 1e-3)
	assert.InDelta(t, dz0, dz1, 1e-3)
}
