package footwear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/internal/problem"
)

const exact = 1e-9

// Feet and sizes of adults. The formulas are read (EU = 0.15·foot + 2 with two Paris points, 0.15·(foot + 15) with
// 15 mm; UK = 3·foot/25.4 − 23; US men = UK + 1; US women = US men + 1 or + 1.5), the numbers are arithmetic on them,
// to three decimals.
func TestAdultSizesFromFoot(t *testing.T) {
	for _, tc := range []struct{ foot, eu, eu15, uk, usMen, usWomenA, usWomenB float64 }{
		{220, 35.000, 35.250, 2.984, 3.984, 4.984, 5.484},
		{240, 38.000, 38.250, 5.346, 6.346, 7.346, 7.846},
		{260, 41.000, 41.250, 7.709, 8.709, 9.709, 10.209},
		{280, 44.000, 44.250, 10.071, 11.071, 12.071, 12.571},
	} {
		for _, col := range []struct {
			to   System
			o    SizeOptions
			want float64
		}{
			{Mondopoint, SizeOptions{}, tc.foot},
			{EU, SizeOptions{}, tc.eu},
			{EU, SizeOptions{Allowance: FifteenMM}, tc.eu15},
			{UK, SizeOptions{}, tc.uk},
			{USMen, SizeOptions{}, tc.usMen},
			{USWomen, SizeOptions{}, tc.usWomenA},
			{USWomen, SizeOptions{USWomen: PlusOneAndHalf}, tc.usWomenB},
		} {
			s, err := SizeFromFoot(tc.foot, col.to, col.o)
			require.NoError(t, err)
			assert.InDelta(t, col.want, s.Value, 0.0005, "foot %g to %s", tc.foot, col.to)
			back, err := FootLengthMM(s, col.o)
			require.NoError(t, err)
			assert.InDelta(t, tc.foot, back, exact, "%s and back", s)
		}
	}
}

// Lasts of sizes: EU = last/6.6667 mm, UK = 3·last/25.4 − 25, UK child = 3·last/25.4 − 12 (read); numbers by arithmetic.
func TestLastLengths(t *testing.T) {
	for _, tc := range []struct {
		size Size
		want float64
	}{
		{Size{EU, 36, 0}, 240.00},
		{Size{EU, 40, 0}, 266.67},
		{Size{EU, 44, 0}, 293.33},
		{Size{UK, 5, 0}, 254.00},
		{Size{UK, 8, 0}, 279.40},
		{Size{UK, 10, 0}, 296.33},
		{Size{UKChild, 13, 0}, 25 * 25.4 / 3},
		{Size{UK, 0, 0}, 25 * 25.4 / 3}, // child's 13 is adult's 0
		{Size{USMen, 9, 0}, 279.40},
		{Size{USChild, 13 + 1.0/3, 0}, 25 * 25.4 / 3},
	} {
		got, err := LastLengthMM(tc.size, SizeOptions{})
		require.NoError(t, err)
		assert.InDelta(t, tc.want, got, 0.005, tc.size.String())
		again, err := SizeFromLast(got, tc.size.System, SizeOptions{})
		require.NoError(t, err)
		assert.InDelta(t, tc.size.Value, again.Value, exact)
	}
}

// Children: last = 1.08·foot, EU = last/6.6667, UK child = 3·last/25.4 − 12, US child = UK child + 1/3 (read); numbers
// by arithmetic.
func TestChildSizesFromFoot(t *testing.T) {
	o := SizeOptions{Child: true}
	for _, tc := range []struct{ foot, eu, uk float64 }{
		{130, 21.06, 4.583}, {165, 26.73, 9.047}, {195, 31.59, 12.874},
	} {
		for to, want := range map[System]float64{EU: tc.eu, UKChild: tc.uk, USChild: tc.uk + 1.0/3} {
			s, err := SizeFromFoot(tc.foot, to, o)
			require.NoError(t, err)
			assert.InDelta(t, want, s.Value, 0.0005, "foot %g to %s", tc.foot, to)
			last, err := LastLengthMM(s, o)
			require.NoError(t, err)
			assert.InDelta(t, 1.08*tc.foot, last, exact)
		}
		// The child systems are children's without the option too.
		s, err := SizeFromFoot(tc.foot, UKChild, SizeOptions{})
		require.NoError(t, err)
		assert.InDelta(t, tc.uk, s.Value, 0.0005)
	}
}

// One whole size is a Paris point (ISO/TS 19407:2015, read) or a third of an inch.
func TestSizeSteps(t *testing.T) {
	for _, sy := range Systems {
		if sy == Mondopoint {
			continue
		}
		a, err := LastLengthMM(Size{sy, 7, 0}, SizeOptions{Child: true})
		if sy == EU {
			a, err = LastLengthMM(Size{sy, 27, 0}, SizeOptions{Child: true})
		}
		require.NoError(t, err)
		b, err := SizeFromLast(a+sy.StepMM(), sy, SizeOptions{Child: true})
		require.NoError(t, err)
		want := 8.0
		if sy == EU {
			want = 28
		}
		assert.InDelta(t, want, b.Value, exact, sy.Name())
	}
	assert.InDelta(t, 6.6667, EU.StepMM(), 5e-5)
	assert.InDelta(t, 8.4667, UK.StepMM(), 5e-5)
}

// Whatever the systems and options, there and back is the same foot, and the way through a third system too.
func TestConvertRoundTrips(t *testing.T) {
	for _, o := range []SizeOptions{
		{}, {Allowance: FifteenMM}, {USWomen: PlusOneAndHalf}, {Child: true}, {Allowance: FifteenMM, USWomen: PlusOneAndHalf, Child: true},
	} {
		for foot := FootMinMM; foot <= FootMaxMM; foot += 12.5 {
			for _, from := range Systems {
				s, err := SizeFromFoot(foot, from, o)
				require.NoError(t, err)
				for _, to := range Systems {
					other, err := Convert(s, to, o)
					require.NoError(t, err)
					back, err := Convert(other, from, o)
					require.NoError(t, err)
					assert.InDelta(t, s.Value, back.Value, exact)
				}
			}
		}
	}
}

func TestConvertKeepsFittingsAndDropsMillimetres(t *testing.T) {
	s, err := Convert(Size{EU, 42, 1}, UK, SizeOptions{})
	require.NoError(t, err)
	assert.Equal(t, 1.0, s.Width)
	s, err = Convert(Size{Mondopoint, 265, 105}, EU, SizeOptions{})
	require.NoError(t, err)
	assert.Zero(t, s.Width)
	s, err = Convert(Size{Mondopoint, 265, 105}, Mondopoint, SizeOptions{})
	require.NoError(t, err)
	assert.Equal(t, 105.0, s.Width)
}

func TestRounded(t *testing.T) {
	for _, tc := range []struct{ in, want Size }{
		{Size{EU, 41.26, 0}, Size{EU, 41.5, 0}},
		{Size{EU, 41.24, 2}, Size{EU, 41, 2}},
		{Size{UK, 7.709, 0}, Size{UK, 7.5, 0}},
		{Size{Mondopoint, 267, 105}, Size{Mondopoint, 265, 105}},
		{Size{Mondopoint, 268, 0}, Size{Mondopoint, 270, 0}},
	} {
		assert.Equal(t, tc.want, tc.in.Rounded())
	}
}

func TestSizeTable(t *testing.T) {
	rows, err := SizeTable(260, SizeOptions{})
	require.NoError(t, err)
	require.Len(t, rows, len(Systems))
	for i, r := range rows {
		assert.Equal(t, Systems[i], r.Exact.System)
		foot, err := FootLengthMM(r.Exact, SizeOptions{})
		require.NoError(t, err)
		assert.InDelta(t, 260, foot, exact)
		assert.Equal(t, !r.Exact.System.Child(), r.Sold, r.Exact.System.Name())
	}
	rows, err = SizeTable(130, SizeOptions{Child: true})
	require.NoError(t, err)
	for _, r := range rows {
		assert.Equal(t, r.Exact.System.Child() || r.Exact.System == EU || r.Exact.System == Mondopoint, r.Sold, r.Exact.System.Name())
	}
	_, err = SizeTable(500, SizeOptions{})
	assert.ErrorContains(t, err, "90 to 340 mm")
}

// Another rule in use for the last: foot + 8 % − 5 mm for men, 250 → 265 (read, soft). The EU size lies by it, and stays
// so over the usual men's feet.
func TestLastAgreesWithThePercentageRule(t *testing.T) {
	assert.InDelta(t, 265, 250*1.08-5, exact)
	for foot := 240.0; foot <= 295; foot += 5 {
		s, err := SizeFromFoot(foot, EU, SizeOptions{})
		require.NoError(t, err)
		last, err := LastLengthMM(s, SizeOptions{})
		require.NoError(t, err)
		assert.InDelta(t, foot*1.08-5, last, 6)
	}
}

func TestSizeLimitsAreRefusedAndNamed(t *testing.T) {
	for _, foot := range []float64{89.9, 340.1, math.NaN(), math.Inf(1), math.Inf(-1), 0, -260} {
		for _, to := range Systems {
			_, err := SizeFromFoot(foot, to, SizeOptions{})
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			assert.Equal(t, "foot_length_mm", p.Field)
			assert.Contains(t, p.Limit, "90 to 340 mm")
			assert.NotEmpty(t, p.Mend)
		}
	}
	for _, foot := range []float64{FootMinMM, FootMaxMM} {
		for _, to := range Systems {
			_, err := SizeFromFoot(foot, to, SizeOptions{})
			assert.NoError(t, err)
		}
	}
	for _, s := range []Size{
		{EU, 71, 0},
		{EU, 3, 0},
		{EU, math.NaN(), 0},
		{UK, math.Inf(1), 0},
		{System("xx"), 40, 0},
		{},
		{EU, 42, 9},
		{EU, 42, math.NaN()},
		{Mondopoint, 265, 20},
		{Mondopoint, 42, 0},
	} {
		_, err := LastLengthMM(s, SizeOptions{})
		var p problem.Problem
		require.ErrorAs(t, err, &p, "%v", s)
		assert.NotEmpty(t, p.Field)
		assert.NotEmpty(t, p.Limit)
		assert.NotEmpty(t, p.Mend)
		_, err = Convert(s, UK, SizeOptions{})
		assert.Error(t, err)
	}
	_, err := LastLengthMM(Size{EU, 71, 0}, SizeOptions{})
	assert.ErrorContains(t, err, "EU 15.5 to 53", "the limit stands in the system's own numbers")
	_, err = SizeFromFoot(260, System("xx"), SizeOptions{})
	assert.ErrorContains(t, err, "Mondopoint, EU, UK")
	_, err = SizeFromLast(math.NaN(), EU, SizeOptions{})
	assert.Error(t, err)
}
