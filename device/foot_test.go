package device

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Means of ANSUR II (2012; 4082 men, 1986 women; Gordon et al., NATICK/TR-15/007; read): a regression line runs through
// the means. The coefficients are rounded, hence 0.1 mm.
func TestAverageFootRunsThroughTheMeans(t *testing.T) {
	assert.InDelta(t, 101.86, footBreadthMM(true, 271.18), 0.1)
	assert.InDelta(t, 72.51, heelBreadthMM(true, 271.18), 0.1)
	assert.InDelta(t, 92.71, footBreadthMM(false, 246.29), 0.1)
	assert.InDelta(t, 67.16, heelBreadthMM(false, 246.29), 0.1)
}

// Bands rated best by Witana, Goonetilleke et al. 2009, Ergonomics 52:617 (read).
func TestSeatAngleLiesInTheBandsRatedBest(t *testing.T) {
	for _, b := range []struct{ rise, lo, hi float64 }{{25, 4, 5}, {50, 10, 11}, {75, 16, 18}} {
		a := SeatAngleDeg(b.rise)
		assert.GreaterOrEqual(t, a, b.lo)
		assert.LessOrEqual(t, a, b.hi)
	}
	for r := 0.0; r < 99; r++ {
		assert.Less(t, SeatAngleDeg(r), SeatAngleDeg(r+1), "steeper seat on a higher heel")
	}
}

// Seen from the ground, the board at the ball is level and lies the heel rise below the back of the seat.
func TestBoardIsTheGroundSeenFromTheSeat(t *testing.T) {
	for _, rise := range []float64{0, 10, 25, 50, 75} {
		a := SeatAngleDeg(rise) * math.Pi / 180
		for _, x := range []float64{180, 220} {
			up := -x*math.Sin(a) + boardMM(rise, x)*math.Cos(a)
			assert.InDelta(t, -rise, up, 1e-9)
		}
	}
}
