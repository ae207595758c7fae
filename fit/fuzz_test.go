package fit

import (
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem/problemtest"
)

// requireMend holds an error to the form of bad input: each has a field, too.
func requireMend(t *testing.T, err error) {
	t.Helper()
	problemtest.Require(t, err)
	for _, p := range problemtest.Of(t, err) {
		require.NotEmpty(t, p.Field, "%v", p)
	}
}

// FuzzParsePin reads what must stay as it is typed; a pin is written as it is read.
func FuzzParsePin(f *testing.F) {
	for _, s := range []string{"bevel_lateral_deg=same", "cup_depth_mm=14..", "base_width_mm=..2.5in", "wedge_build=block", "motion_deg=nan", "cup_depth_mm=1e400..1", "=..", "cup_depth_mm=.5..0x1p3 mm"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := ParsePin(text)
		if err != nil {
			requireMend(t, err)
			return
		}
		require.LessOrEqual(t, p.Lo, p.Hi)
		require.NotEmpty(t, p.Words())
		again, err := ParsePin(p.String())
		require.NoError(t, err, p.String())
		require.Equal(t, p, again)
	})
}

// FuzzGiven holds feet, axes, limits of unsure and prescriptions of any numbers to what a bench may be asked.
func FuzzGiven(f *testing.F) {
	f.Add("man", 266.0, 70.0, 0.1, 0.9, 42.0)
	f.Add("", 0.0, 0.0, 0.0, 1.0, 41.5)
	f.Add("child", math.NaN(), math.Inf(1), math.NaN(), -1.0, 1e308)
	f.Add("none", 90.0, 8.0, 5e-324, 0.999999999999999, -3.0)
	sheet, err := footwear.Demo().Find("knit-trainer")
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, sex string, length, mass, lo, hi, size float64) {
		foot := Foot{LengthMM: length, Sex: sex, BodyMassKG: mass}
		if ps := foot.Validate(); len(ps) > 0 {
			requireMend(t, ps)
		} else {
			got := foot.filled(266)
			for _, v := range []float64{got.AnkleHeightMM, got.BallHeightMM, got.BodyMassKG, got.LengthMM} {
				require.True(t, v > 0 && v < 1000, "%+v", got)
			}
		}
		if u := (Unsureness{lo, hi}); len(u.Validate()) > 0 {
			requireMend(t, u.Validate())
		} else {
			a, b := u.z()
			require.True(t, a < b && !math.IsInf(a, 0) && !math.IsInf(b, 0), "%v", u)
		}
		axis := DefaultAxis()
		axis.InclinationDeg, axis.DeviationDeg = lo, hi
		if ps := axis.Validate(); len(ps) > 0 {
			requireMend(t, ps)
		} else {
			require.InDelta(t, 1, r3.Norm(axis.Unit()), 1e-12)
			require.False(t, math.IsNaN(axis.LeverMM(100, 20)))
		}
		sheet.Size.Value = size
		o, err := MadeFor(device.Default(), sheet)
		if err != nil {
			requireMend(t, err)
			return
		}
		require.True(t, o.FootLengthMM >= footwear.FootMinMM-1e-6 && o.FootLengthMM <= footwear.FootMaxMM+1e-6, "%v", o.FootLengthMM)
		for _, s := range SizesFor(sheet, o.FootLengthMM) {
			require.Empty(t, s.Size.Check(footwear.SizeOptions{}))
		}
	})
}

// FuzzSeat lets a small block fall into a trough with loads, friction and stiffness of any size.
func FuzzSeat(f *testing.F) {
	f.Add(0.0, 0.0, 1.0, -400.0, 1.0, 0.4)
	f.Add(3.0, -2.0, -1.0, -1e9, 1e-9, 0.0)
	f.Add(1e6, 0.0, 0.0, 400.0, 50.0, -1.0)
	f.Add(math.NaN(), 0.0, 1e-300, math.Inf(-1), 0.0, math.NaN())
	box := func(x, y, z float64, out bool) *mesh.Mesh {
		var b mesh.Builder
		for i := range 8 {
			b.AddVertex(r3.Vec{X: x * float64(i&1*2-1), Y: y * float64(i&2-1), Z: z * float64(i>>2*2-1)})
		}
		for _, q := range [][4]int32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
			if !out {
				q[1], q[3] = q[3], q[1]
			}
			b.AddQuad(q[0], q[1], q[2], q[3], 0)
		}
		return b.Mesh()
	}
	body := NewBody(box(5, 4, 3, true).Refined(func(_, _ r3.Vec) float64 { return 4 }))
	body.Samples = mesh.Samples(box(5, 4, 3, true).Refined(func(_, _ r3.Vec) float64 { return 4 })) // fewer
	walls := mesh.NewTree(box(20, 15, 10, true))
	f.Fuzz(func(t *testing.T, x, y, turn, force, stiff, hold float64) {
		if stiff <= 0 {
			return // no wall pulls
		}
		s := Seat(t.Context(), body, Walls{Tree: walls, Uniform: stiff}, SeatOptions{
			Start: mesh.PoseAbout(r3.Vec{}, r3.Vec{X: turn}, r3.Vec{X: x, Y: y}),
			Loads: []Load{{ForceN: r3.Vec{Z: force}}}, Holds: []Hold{{Along: r3.Vec{X: 1}, NPerMM: hold, MostN: 10 * hold}},
		})
		if s.Status != Converged {
			return
		}
		var bad []string
		notNumbers(reflect.ValueOf(s), "seating", &bad)
		require.Empty(t, bad, "%+v", s.Pose)
		pushed := math.Abs(force)
		for _, c := range s.Contacts {
			pushed += r3.Norm(c.ForceN)
		}
		require.LessOrEqual(t, s.ResidualN, 0.02*pushed+1e-6) // deep in the walls 2 % of what they push
		require.GreaterOrEqual(t, s.MaxOverlap, 0.0)
	})
}
