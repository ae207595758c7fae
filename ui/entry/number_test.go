package entry_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/ui/entry"
)

var wedge = entry.Spec{Key: "wedge_length_mm", Name: "base length", Unit: "mm", Min: 20, Max: 90, Step: 0.5}

func TestNumbersAsPeopleTypeThem(t *testing.T) {
	for text, want := range map[string]float64{
		"42": 42, " 42.5 ": 42.5, "42,5": 42.5, "42.5 mm": 42.5, "42,5mm": 42.5, "+42": 42, "42 1/2": 42.5, "42½": 42.5,
		"-3": -3, "\u22123,25": -3.25, "0": 0, "-0": 0, ".5": 0.5, "5.": 5, "1/4": 0.25, "8 2/3": 8 + 2.0/3,
	} {
		got, ok := entry.ParseNumber(text, "mm")
		require.True(t, ok, text)
		assert.InDelta(t, want, got, 1e-12, text)
	}
	for _, text := range []string{
		"", " ", "mm", "abc", "1.2.3", "1,2,3", "NaN", "nan", "Inf", "-inf", "0x10", "1e3", "1_000", "--3", "4 5", "1/0",
		"1/-2", "1.5/2x", "4.5½", "½½", "12 mm mm", "9999999999999999999999999999999999999999999", "٣", ".", ",",
	} {
		_, ok := entry.ParseNumber(text, "mm")
		assert.False(t, ok, text)
	}
	got, ok := entry.ParseNumber("30 deg", "°")
	assert.True(t, ok)
	assert.InDelta(t, 30, got, 0)
}

func TestABadEntryNamesFieldValueLimitAndMend(t *testing.T) {
	_, p := wedge.Parse("120")
	require.NotNil(t, p)
	assert.Equal(t, "base length = 120 mm: 20 to 90 mm; the nearest allowed value is 90.0 mm", p.Error())
	_, p = wedge.Parse("wide")
	require.NotNil(t, p)
	assert.Equal(t, `base length = "wide": not a number; type a number such as 55.0 mm`, p.Error())
	_, p = wedge.Parse("")
	require.NotNil(t, p)
	assert.Equal(t, "base length = nothing: 20 to 90 mm; type a number such as 55.0 mm", p.Error())
	v, p := wedge.Parse("90")
	assert.Nil(t, p)
	assert.InDelta(t, 90, v, 0)
}

func TestSteppingKeepsToTheGridAndTheLimits(t *testing.T) {
	for _, c := range []struct {
		from float64
		n    int
		want float64
	}{
		{40, 1, 40.5},
		{40, -1, 39.5},
		{40.3, 1, 40.5},
		{40.3, -1, 40},
		{40, 10, 45},
		{89.8, 1, 90},
		{90, 1, 90},
		{20, -10, 20},
		{40.3, 0, 40.3},
	} {
		assert.InDelta(t, c.want, wedge.Stepped(c.from, c.n), 1e-9, "%v by %d", c.from, c.n)
	}
	assert.InDelta(t, 40.5, wedge.Nearest(40.4), 1e-9)
	assert.InDelta(t, 90, wedge.Nearest(400), 1e-9)
	tenth := entry.Spec{Min: -10, Max: 10, Step: 0.1}
	v := -10.0
	for range 200 {
		v = tenth.Stepped(v, 1)
	}
	assert.InDelta(t, 10, v, 1e-9, "two hundred steps of a tenth do not drift")
}

func TestFormatting(t *testing.T) {
	assert.Equal(t, "42.0", wedge.Format(42))
	assert.Equal(t, "42.25", wedge.Format(42.25))
	assert.Equal(t, "0.0", wedge.Format(-0.0000001*0))
	assert.Equal(t, "3", entry.Spec{Step: 1}.Format(3))
	assert.Equal(t, "20 to 90 mm", wedge.Limits())
}

func TestTheZeroSpecAllowsZeroOnly(t *testing.T) {
	var s entry.Spec
	v, p := s.Parse("0")
	assert.Nil(t, p)
	assert.Zero(t, v)
	_, p = s.Parse("1")
	assert.NotNil(t, p)
}

func FuzzParseNumber(f *testing.F) {
	for _, s := range []string{"42", "42,5 mm", "8 1/2", "½", "-3", "1e9", "NaN", "", "\x00", "1/64", "00.5°"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, ok := entry.ParseNumber(text, "mm")
		require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
		if !ok {
			return
		}
		written := entry.Spec{Step: 0.001, Min: -math.MaxFloat64, Max: math.MaxFloat64}.Format(v)
		if math.Abs(v) < 1e15 && len(written) <= 40 {
			again, ok := entry.ParseNumber(written, "mm")
			require.True(t, ok, "%q was written as %q", text, written)
			require.InDelta(t, v, again, 0.0005+1e-9*math.Abs(v))
		}
		w, p := wedge.Parse(text)
		if p == nil {
			require.GreaterOrEqual(t, w, wedge.Min)
			require.LessOrEqual(t, w, wedge.Max)
		} else {
			require.NotEmpty(t, p.Error())
		}
	})
}
