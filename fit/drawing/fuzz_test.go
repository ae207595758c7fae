package drawing

import (
	"image"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/fit"
	"lastroom/internal/mesh"
)

// FuzzRender draws outlines, shapes, choices and reliability in pictures of any size; coordinates are as far as files may have them.
func FuzzRender(f *testing.F) {
	f.Add(64, 48, 1.0, 0.0, 0.0, 10.0, 20.0)
	f.Add(16, 200, 0.0, 1e6, -1e6, 0.0, 0.0)
	f.Add(-1, 1<<40, 2.0, 5.0, 5.0, 5.0, 5.0)
	f.Add(60, 60, -3.0, 1e-9, 0.0, 0.0, 1e-9)
	f.Fuzz(func(t *testing.T, wide, high int, scale, a, b, c, d float64) {
		for _, v := range []float64{a, b, c, d} {
			if !(v >= -1e6 && v <= 1e6) {
				return
			}
		}
		if wide > 300 || high > 300 {
			wide, high = -wide, high%300 // large ones only take longer
		}
		if !(scale >= -10 && scale <= 4) {
			return
		}
		check := func(img *image.RGBA, err error) {
			if err != nil {
				require.Nil(t, img)
				return
			}
			require.InDelta(t, wide, img.Bounds().Dx(), 1)
			require.InDelta(t, high, img.Bounds().Dy(), 1)
		}
		p := []Pt{{a, b}, {c, d}, {a + c, b - d}}
		check(RenderOutline(p, []Span{{p[0], p[1], "a length"}}, Look{}, wide, high, scale))
		if lo, hi, ok := Across(p, (a+c)/2); ok {
			require.LessOrEqual(t, lo.V, hi.V)
		}
		m := &mesh.Mesh{V: []r3.Vec{{X: a, Y: b}, {X: c, Z: d}, {Y: c, Z: a}}, F: [][3]int32{{0, 1, 2}}}
		s := &Shape{Mesh: m, Cuts: CutsThrough(m.Centroid())}
		for _, v := range Views {
			shown := ExtentOfBox(v, s.Bounds())
			require.Less(t, shown.Lo.U, shown.Hi.U)
			got, err := RenderShape(v, s, Options{Words: true, Shown: &shown}, wide, high, scale)
			if err == nil {
				check(got.Image, nil)
				require.NotEmpty(t, got.Says)
			}
			s.Under(v, p[0], scale > 1)
			s.OnCut(v, p[0], 10)
		}
		if got, err := RenderChoices([]ChoicePoint{{MarginMM: a, Kept: 0.5, Picked: true}, {Number: 1, MarginMM: b, Kept: 1, Work: fit.Grind}}, Look{}, wide, high, scale); err == nil {
			check(got.Image, nil)
			require.Len(t, got.At, 2)
		}
		check(RenderReliability(fit.Reliability([]fit.Outcome{{Odds: 0.5, Happened: fit.WentIn}}, 10), Look{}, wide, high, scale))
	})
}
