package footwear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func demoSheet(t *testing.T, id string) Sheet {
	t.Helper()
	s, err := Demo().Find(id)
	require.NoError(t, err)
	return s
}

// Mean slopes of whole bottoms, arithmetic on atan(rise/run): a rise of 10 mm over 180 is 3.18°, 25 over 180 is 7.91°,
// 50 over 165 is 16.86°; a toe spring of 5 mm over 70 is 4.09°, 15 over 70 is 12.09°.
func TestMeanSlopes(t *testing.T) {
	deg := func(rise, run float64) float64 { return math.Atan2(rise, run) * 180 / math.Pi }
	for _, c := range []struct{ rise, run, deg float64 }{{10, 180, 3.18}, {25, 180, 7.91}, {50, 165, 16.86}} {
		s := demoSheet(t, "lace-dress")
		s.M[LastLength].Value = c.run / treadShare
		s.M[HeelRise].Value, s.M[SeatAngle].Value, s.M[ShankSagitta].Value = c.rise, 0.7*c.deg, 6
		b, err := newBottomProfile(&s)
		require.NoError(t, err)
		assert.InDelta(t, c.deg, deg(b.z(0)-b.z(b.tread), b.tread), 0.005)
		assert.InDelta(t, -0.7*c.deg, math.Atan(b.slope(10))*180/math.Pi, 1e-9, "the seat's own slope")
	}
	for _, c := range []struct{ spring, run, deg float64 }{{5, 70, 4.09}, {15, 70, 12.09}} {
		s := demoSheet(t, "lace-dress")
		s.M[LastLength].Value, s.M[ToeSpring].Value = c.run/(1-treadShare), c.spring
		b, err := newBottomProfile(&s)
		require.NoError(t, err)
		assert.InDelta(t, c.deg, deg(b.z(b.toe)-b.z(b.tread), b.toe-b.tread), 0.005)
	}
}

func TestBottomProfiles(t *testing.T) {
	for _, s := range Demo().All() {
		t.Run(s.ID, func(t *testing.T) {
			b, err := newBottomProfile(&s)
			require.NoError(t, err)
			for x := -5.0; x < b.toe+5; x += 0.37 {
				const d = 1e-4
				assert.InDelta(t, (b.z(x+d)-b.z(x-d))/(2*d), b.slope(x), 1e-4, "slope at %.2f", x)
			}
			for _, x := range []float64{b.breast, b.tread} {
				assert.InDelta(t, b.z(x-1e-9), b.z(x+1e-9), 1e-7, "height at %.2f", x)
				assert.InDelta(t, b.slope(x-1e-9), b.slope(x+1e-9), 1e-7, "slope at %.2f", x)
			}
			assert.InDelta(t, 0, b.slope(b.tread), 1e-9)
			// The sagitta by brute force.
			most := 0.0
			slope := (b.z(b.tread) - b.z(b.breast)) / (b.tread - b.breast)
			for i := range 20001 {
				x := mix(b.breast, b.tread, float64(i)/20000)
				off := b.z(x) - b.z(b.breast) - slope*(x-b.breast)
				most = math.Max(most, math.Abs(off)/math.Hypot(1, slope))
			}
			assert.InDelta(t, s.V(ShankSagitta), most, 0.01)
		})
	}
}

func TestBottomContradictions(t *testing.T) {
	for _, c := range []struct {
		name  string
		set   func(*Sheet)
		field MeasureID
	}{
		{"seat falls further than the rise", func(s *Sheet) { s.M[SeatAngle].Value = 25 }, SeatAngle},
		{"seat reaches the tread line", func(s *Sheet) { s.M[SeatLength].Value = 190 }, SeatLength},
		{"straight shank under a steep rise", func(s *Sheet) {
			s.M[SeatAngle].Value, s.M[HeelRise].Value, s.M[ShankSagitta].Value = 2, 60, 0
		}, ShankSagitta},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := demoSheet(t, "lace-dress")
			c.set(&s)
			_, err := newBottomProfile(&s)
			requireProblem(t, err, c.field)
		})
	}
}

// A board that may hardly leave its chord bends sharply at both ends, and still does so smoothly.
func TestNearlyStraightShank(t *testing.T) {
	s := demoSheet(t, "lace-dress")
	loose, err := newBottomProfile(&s)
	require.NoError(t, err)
	assert.Equal(t, bends[0], loose.bend)
	shank := loose.overChord()
	lo, _ := shank.leastArch(1000)
	s.M[ShankSagitta].Value = 0.8 * shank.sagittaWith(lo)
	tight, err := newBottomProfile(&s)
	require.NoError(t, err)
	assert.Greater(t, tight.bend, loose.bend)
	bent := tight.overChord()
	assert.InDelta(t, s.V(ShankSagitta), bent.sagittaWith(tight.arch), 1e-6)
	assert.InDelta(t, tight.seatSlope, tight.slope(tight.breast+1e-9), 1e-6)
	assert.InDelta(t, 0, tight.slope(tight.tread-1e-9), 1e-6)
}
