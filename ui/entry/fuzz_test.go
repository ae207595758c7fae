package entry_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lastroom/internal/lengths"
	"lastroom/ui/entry"
)

// FuzzSpec types any text into any field, in mm and in inches, and steps from what it gives.
func FuzzSpec(f *testing.F) {
	f.Add("42", 20.0, 90.0, 0.5, 1)
	f.Add("1/8 in", 1.0, 6.0, 0.1, -3)
	f.Add("-0.3940\"", -10.0, -10.0, 0.0, 0)
	f.Add("9999999999 mm", -1e6, 1e6, 1e-300, 1<<40)
	f.Fuzz(func(t *testing.T, text string, lo, hi, step float64, n int) {
		if !(math.Abs(lo) <= 1e6 && math.Abs(hi) <= 1e6 && lo <= hi) || step != 0 && !(step >= 1e-3 && step <= 1e3) {
			return // specs are the program's own
		}
		n %= 1e6
		lo, hi = math.Round(lo*1000)/1000, math.Round(hi*1000)/1000
		s := entry.Spec{Name: "length", Unit: "mm", Min: lo, Max: hi, Step: step}
		for _, u := range []lengths.Unit{lengths.MM, lengths.Inch} {
			v, p := s.Parse(s.Typed(u, text))
			require.False(t, math.IsNaN(v))
			if p != nil {
				require.True(t, p.Field != "" && p.Limit != "" && p.Mend != "", "%v", p)
				continue
			}
			require.True(t, v >= lo && v <= hi, "%v is not within %v to %v", v, lo, hi)
			for _, w := range []float64{s.Stepped(v, n), s.Nearest(v), s.Clamp(v)} {
				require.True(t, w >= lo && w <= hi, "%v of %v is not within %v to %v", w, v, lo, hi)
			}
			if n > 0 {
				require.GreaterOrEqual(t, s.Stepped(v, n), v-1e-6)
			}
			require.NotEmpty(t, s.Format(v))
			require.False(t, math.IsNaN(s.Shown(u, v)))
		}
		number, mm := lengths.CutUnit(text)
		require.Positive(t, mm)
		require.LessOrEqual(t, len(number), len(text))
	})
}
