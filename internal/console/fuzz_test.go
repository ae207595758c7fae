package console

import (
	"testing"

	"github.com/stretchr/testify/require"

	"lastroom/internal/problem/problemtest"
)

// FuzzJob makes jobs of any size and any --with, as the arguments give them.
func FuzzJob(f *testing.F) {
	f.Add("EU 42", "cup_depth_mm=0.5in", "shoe.seat_width_mm=66,5")
	f.Add("UK 8 1/2", "insole_out=yes", "body_mass_kg=1e400")
	f.Add("", "foot_length_mm=nan", "shoe.=")
	f.Add("EU 46,1", "=", "side=left")
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, size, first, second string) {
		_, _ = sideOf(first)
		_, _ = unitOf(first)
		_, _ = dayOf(first)
		_, _ = formOf(first)
		j, err := newJob(dir, "knit-trainer", size, "everyday-block", []string{first, second})
		if err != nil {
			for _, p := range problemtest.Of(t, err) {
				require.True(t, p.Field+p.File != "" && p.Limit != "", "%v", p)
			}
			return
		}
		require.Empty(t, j.options.Validate())
		require.Empty(t, j.sheet.Validate())
		require.Empty(t, j.foot.Validate())
	})
}
