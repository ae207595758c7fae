package fit

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
)

// Subtalar joint axis: inclination 42°, deviation 16° or 23° (read); lever of a vertical force = distance in plan ×
// cos(inclination): 10 mm → 7.4314 mm, at 800 N 5.945 N·m; the trace moves medially 28.67 or 42.45 mm per 100 mm (calc).
func TestLeversAboutTheSubtalarAxis(t *testing.T) {
	a := DefaultAxis()
	straight := Axis{InclinationDeg: 42}
	assert.InDelta(t, 7.4314, straight.LeverMM(0, 10), 1e-4)
	assert.InDelta(t, 5.945, straight.LeverMM(0, 10)*800/1000, 1e-3)
	for deg, shift := range map[float64]float64{16: 28.67, 23: 42.45} {
		b := a
		b.DeviationDeg = deg
		assert.InDelta(t, 0, b.LeverMM(100, shift), 0.01, "a point on the trace has no lever")
		u := b.Unit()
		assert.InDelta(t, shift, 100*u.Y/u.X, 0.01)
	}
	u := a.Unit()
	assert.InDelta(t, 1, r3.Norm(u), 1e-12)
	// A second way: the moment of a vertical force about the axis is u·(r×F), which ignores the height of its point.
	for _, p := range []r3.Vec{{X: 12, Y: -25, Z: 0}, {X: -8, Y: 22, Z: 30}} {
		m := r3.Dot(u, r3.Cross(p, r3.Vec{Z: 1}))
		assert.InDelta(t, math.Abs(m), math.Abs(a.LeverMM(p.X, p.Y)), 1e-9)
	}
	lo, hi := a.leverBand(0, -25)
	l := math.Abs(a.LeverMM(0, -25))
	assert.Less(t, lo, l)
	assert.Greater(t, hi, l)
}

// Plate b 60 × L 80 under F 400 (calc, elastic foundation).
func TestTiltOfAPlate(t *testing.T) {
	const k = 0.444444
	assert.InEpsilon(t, 400*5/(k*80*60*60*60/12)*180/math.Pi, tiltUnder(k, 60, 80, 400, 5), 1e-9)
	assert.InEpsilon(t, 640_000.0, k*80*60*60*60/12, 1e-5)
	// At b/6 both forms agree; at 15 mm the largest pressure is 0.2222222 over 45 mm.
	assert.InEpsilon(t, tiltUnder(k, 60, 80, 400, 10-1e-9), tiltUnder(k, 60, 80, 400, 10+1e-9), 1e-6)
	assert.InEpsilon(t, 0.2222222/(k*45)*180/math.Pi, tiltUnder(k, 60, 80, 400, 15), 1e-6)
	assert.Equal(t, 90.0, tiltUnder(k, 60, 80, 400, 30))
}

// A block tips when tan > (b/2)/hc: 60 wide, centre 100 up → 16.699°; wedge angle 4° over 60 mm lifts 4.196 mm, a point 50
// mm up moves 3.488 mm sideways (calc).
func TestAnglesAndLifts(t *testing.T) {
	assert.InDelta(t, 16.699, math.Atan2(30, 100)*180/math.Pi, 1e-3)
	p := turn(r3.Vec{X: 1}, 4)
	assert.InDelta(t, 3.488, -p.Rotate(r3.Vec{Z: 50}).Y, 1e-3)
	assert.InDelta(t, 4.196, 60*math.Tan(deg(4)), 1e-3)
	assert.InDelta(t, 60*math.Sin(deg(4)), p.Rotate(r3.Vec{Y: 60}).Z, 1e-12)
}

// Gent 1958: S 35/50/65 → 1.395/2.456/4.426 MPa (calc on the formula as read). Foundation: E 2, ν 0.2, h 5 → 0.444444.
func TestFoamStiffness(t *testing.T) {
	for s, e := range map[float64]float64{35: 1.395, 50: 2.456, 65: 4.426} {
		assert.InDelta(t, e, gentMPa(s), 1e-3)
	}
	assert.InDelta(t, 0.444444, layer(2, 0.2, 5), 1e-6)
}

// Strip E 1400, b 60, t 3: simply supported 120 → 5.25 N/mm; k ∝ t³: (4/3)³ = 2.3704; half round R 30, t 3: I 24102 mm⁴,
// 114 times that of the flat sheet (calc).
func TestShellAsStripAndAsCup(t *testing.T) {
	assert.InDelta(t, 5.25, stripNPerMM(1400, 60, 3, 120), 1e-9)
	assert.InDelta(t, 2.3704, stripNPerMM(1400, 60, 4, 120)/stripNPerMM(1400, 60, 3, 120), 1e-4)
	assert.InEpsilon(t, 24102, cuppedMM4(30, 3), 1e-4)
	assert.InDelta(t, 114, cuppedOverFlat(30, 3), 0.5)
	// The exact half ring, by integration, within the thin-ring error.
	i, q, a := 0.0, 0.0, 0.0
	const n = 2000
	for k := range n {
		th := math.Pi * (float64(k) + 0.5) / n
		for m := range 20 {
			r := 28.5 + 3*(float64(m)+0.5)/20
			dA := r * math.Pi / n * 3 / 20
			y := r * math.Sin(th)
			a, q, i = a+dA, q+dA*y, i+dA*y*y
		}
	}
	assert.InEpsilon(t, i-q*q/a, cuppedMM4(30, 3), 0.01)
}

func figure(t *testing.T, f []Figure, key string) Figure {
	t.Helper()
	for _, x := range f {
		if x.Key == key {
			return x
		}
	}
	require.Fail(t, "no figure "+key)
	return Figure{}
}

// Common practice, no source: an unbevelled lateral side lengthens the lateral lever; a shell ground flat steadies less
// than a block; a foam block tilts more under an off-centre load than a polymer one.
func TestSupportFollowsTheTrade(t *testing.T) {
	support := func(change func(*device.Options)) []Figure {
		c := trial{shoe: "extra-depth", insoleOut: true, prescribe: change}
		b, d := c.parts(t)
		f, err := b.Support(context.Background(), d, d, Foot{}, DefaultAxis())
		require.NoError(t, err)
		for _, x := range f {
			assert.False(t, math.IsNaN(x.Now) || math.IsInf(x.Now, 0), x.Key)
			assert.Equal(t, x.Now, x.Ordered, x.Key)
			assert.LessOrEqual(t, x.Lo, x.Now, x.Key)
			assert.GreaterOrEqual(t, x.Hi, x.Now, x.Key)
		}
		return f
	}
	usual := support(nil)
	upright := support(func(o *device.Options) { o.BevelLateralDeg = 0 })
	flat := support(func(o *device.Options) { *o = groundFlat(*o) })
	foam := support(func(o *device.Options) { o.WedgeMaterial = device.EVA })
	now := func(f []Figure, key string) float64 { return figure(t, f, key).Now }
	assert.Greater(t, now(upright, "lever_lateral_mm"), now(usual, "lever_lateral_mm"))
	assert.InDelta(t, now(upright, "lever_medial_mm"), now(usual, "lever_medial_mm"), 0.5)
	assert.Less(t, now(flat, "rotational_stiffness_nmm_per_rad"), now(usual, "rotational_stiffness_nmm_per_rad"))
	assert.Greater(t, now(foam, "tilt_off_centre_deg"), now(usual, "tilt_off_centre_deg"))
	assert.Greater(t, now(foam, "foam_loss_mm"), 0.0)
	assert.Equal(t, now(usual, "base_width_mm"), figure(t, upright, "base_width_mm").Plain, "the plain device is the default one")
}

func groundFlat(o device.Options) device.Options {
	o.WedgeBuild = device.Flat
	return o
}
