package fit

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// A finding's state, odds and grind by hand: odds are Φ((g + give)/σ), blocked up to 10 %, sure from 90 % (the standard
// normal's 90 % point is 1.28155; calc), σ of shoe and device as root of the sum of squares.
func TestAFindingIsJudgedByItsOdds(t *testing.T) {
	b, _ := trial{shoe: "lace-dress"}.parts(t)
	const z90 = 1.2815515655446
	z := footwear.CounterLateral
	give := b.Room.GiveMM(z)
	require.Greater(t, give, 0.0)
	sigma := math.Hypot(b.Room.PlusMinusMM(z), 0.3)
	judged := func(gap float64) Finding {
		f := Finding{Feature: device.CupRim, Zone: z, Pose: Settled, GapMM: gap}
		b.judge(&f)
		return f
	}
	for _, c := range []struct {
		over  float64 // standard deviations above the limit
		state State
		odds  float64
	}{{-3, Blocked, 0.00135}, {-z90 - 0.01, Blocked, 0.0983}, {-z90 + 0.01, Unsure, 0.1018}, {0, Unsure, 0.5}, {z90 - 0.01, Unsure, 0.8982}, {z90 + 0.01, Snug, 0.9017}} {
		f := judged(-give + c.over*sigma)
		assert.Equal(t, c.state, f.State, "%v", c.over)
		assert.InDelta(t, c.odds, f.Odds, 5e-5)
		assert.InDelta(t, sigma, f.PlusMinusMM, 1e-12)
		if c.state == Snug {
			assert.Zero(t, f.GrindDepthMM)
			continue
		}
		after := judged(f.GapMM + f.GrindDepthMM + 1e-9)
		assert.Equal(t, Snug, after.State, "what is said to be ground off is just enough")
	}
	assert.Equal(t, Clear, judged(0.5+z90*sigma).State, "0.5 mm a side is aimed at")
	other := b.WithUnsure(Unsureness{0.4, 0.6})
	f := Finding{Feature: device.CupRim, Zone: z, Pose: Settled, GapMM: -give + 0.5*sigma}
	other.judge(&f)
	assert.Equal(t, Snug, f.State, "69 % is sure where 60 % are asked for")
	assert.NotEmpty(t, Unsureness{0.6, 0.4}.Validate())
	assert.Empty(t, DefaultUnsure.Validate())
}

// Sides have their names: medial is +Y of a right shoe.
func TestSidesOfAZoneAreNamedByPlace(t *testing.T) {
	b, _ := trial{shoe: "lace-dress"}.parts(t)
	heel := b.Room.HeelStationMM()
	for _, c := range []struct {
		z    footwear.Zone
		at   r3.Vec
		side string
	}{
		{footwear.CounterMedial, r3.Vec{X: 30, Y: 30}, "medial"},
		{footwear.CounterLateral, r3.Vec{X: 30, Y: -30}, "lateral"},
		{footwear.WaistMedial, r3.Vec{X: 100, Y: 20}, "medial"},
		{footwear.BallLateral, r3.Vec{X: 180, Y: -40}, "lateral"},
		{footwear.CounterBack, r3.Vec{X: 2}, "back"},
		{footwear.Toe, r3.Vec{X: 280}, "front"},
		{footwear.Feather, r3.Vec{X: heel + 20, Y: 25}, "medial"},
		{footwear.Feather, r3.Vec{X: heel + 20, Y: -25}, "lateral"},
		{footwear.Feather, r3.Vec{X: 3, Y: 1}, "back"},
	} {
		assert.Equal(t, c.side, b.side(c.z, c.at), "%v at %v", c.z, c.at)
	}
}

// An overlap has a volume that its area and its depth bound, and a way to grind that leads into the device.
func TestOverlapsHaveAreaVolumeAndAWayToGrind(t *testing.T) {
	b, d := trial{shoe: "lace-dress"}.parts(t)
	r, err := b.Check(context.Background(), d, Foot{})
	require.NoError(t, err)
	seen := 0
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.GapMM >= 0 || f.AreaMM2 < 5 {
			continue
		}
		seen++
		assert.Greater(t, f.VolumeMM3, 0.0, f.Words())
		assert.LessOrEqual(t, f.VolumeMM3, f.AreaMM2*-f.GapMM*1.25, f.Words()) // samples on an edge that bears another name may lie deeper
		if f.GrindDepthMM == 0 {
			continue
		}
		pose := r.Intended
		if f.Pose == Settled {
			pose = r.Settled
		}
		off := pose.Rotate(f.GrindDirection) // away from the wall: from the wall's point to inside the room
		assert.InDelta(t, 1, r3.Norm(off), 1e-9)
		way := r3.Sub(f.Wall, f.At)
		assert.InDelta(t, 1, r3.Dot(off, way)/r3.Norm(way), 1e-3, f.Words())
	}
	assert.Greater(t, seen, 3)
}

// K·L·b³/12 with wedge, board and insole as springs in series, from the device's own figures (Johnson 1985; calc).
func TestTheBaseOfAResultIsThatOfTheFormula(t *testing.T) {
	b, d := trial{shoe: "extra-depth", prescribe: func(o *device.Options) {
		o.WedgeMaterial, o.WedgeHardnessShoreA = device.EVA, 60
	}}.parts(t)
	r, err := b.Check(context.Background(), d, Foot{})
	require.NoError(t, err)
	e := 0.0981 * (56 + 7.62336*60) / (0.137505 * (254 - 2.54*60)) // Gent 1958
	high := d.HeelSeatMM - d.Options.ShellThicknessMM
	wedge := e * (1 - 0.2) / ((1 + 0.2) * (1 - 2*0.2) * high)
	insole := b.Room.Sheet.V(footwear.InsoleHeel) / insoleMPa
	k := 1 / (1/wedge + 1/boardStiffness + insole)
	assert.InEpsilon(t, k*d.Base.LengthMM*math.Pow(d.Base.WidthMM, 3)/12, r.Base.RotationalNMMPerRad, 1e-9)
}

// A device that stands nearer to the lateral wall has less way to invert, since its rim, above the axis it rolls about, goes
// laterally then.
func TestMotionLeftKnowsItsSides(t *testing.T) {
	b, d := trial{shoe: "extra-depth", insoleOut: true, prescribe: func(o *device.Options) {
		o.HeelWidthMM, o.CupDepthMM, o.WidthTrimMM = 56, 10, 40 // narrow: it touches neither side
	}}.parts(t)
	r, err := b.Check(context.Background(), d, Foot{})
	require.NoError(t, err)
	shifted := func(mm float64) (invert, evert float64) {
		return b.motionLeft(d, mesh.PoseAbout(r3.Vec{}, r3.Vec{}, r3.Vec{Y: mm}).Compose(r.Settled))
	}
	latInvert, latEvert := shifted(-0.8)
	medInvert, medEvert := shifted(0.8)
	assert.Less(t, latInvert, medInvert)
	assert.Less(t, medEvert, latEvert)
}

// What touches lies inside the base; a square's hull is the square.
func TestTheContactOutline(t *testing.T) {
	assert.Equal(t, [][2]float64{{0, 0}, {2, 0}, {2, 2}, {0, 2}}, hull([][2]float64{{2, 2}, {0, 0}, {1, 1}, {0, 2}, {2, 0}, {1, 0}}))
	assert.Nil(t, hull([][2]float64{{0, 0}, {1, 1}, {2, 2}}))
	assert.Nil(t, hull(nil))
	b, d := trial{shoe: "extra-depth", insoleOut: true}.parts(t)
	r, err := b.Check(context.Background(), d, Foot{})
	require.NoError(t, err)
	out := b.ContactOutline(d, r)
	require.GreaterOrEqual(t, len(out), 3)
	area := 0.0
	for i, p := range out {
		q := out[(i+1)%len(out)]
		area += (p[0]*q[1] - q[0]*p[1]) / 2
	}
	assert.Greater(t, area, 0.0, "counterclockwise")
	assert.LessOrEqual(t, area, d.Base.AreaMM2*1.05)
}
