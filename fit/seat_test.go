package fit

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// The rigid rest poses below are closed forms of plane geometry (calc: anyone can redo them).

const (
	restLoadN   = 10
	restBoundMM = 0.01 // of the height of rest: half of what is promised
)

func rest(room *mesh.Mesh, body *mesh.Mesh) Seating {
	b := NewBody(body)
	return Seat(context.Background(), b, Walls{Tree: mesh.NewTree(room), Uniform: 0.05},
		SeatOptions{Loads: []Load{{ForceN: r3.Vec{Z: -restLoadN}, At: b.Centre}}, RigidMM: 0.0005})
}

func lift(s Seating, body *mesh.Mesh) float64 {
	c := body.Centroid()
	return s.Pose.Apply(c).Z - c.Z
}

func deg(d float64) float64 { return d * math.Pi / 180 }

func TestSharpBoxRidesUpInAFilletedSeat(t *testing.T) {
	for _, c := range []struct{ width, radius, half, bevelDeg, want float64 }{
		// f = W/2 − r, ride-up r − √(r² − (b−f)²)
		{64, 12, 26, 0, 1.607695},
		{64, 8, 26, 0, 0.254033},
		{66, 15, 28, 0, 3.819660},
		{64, 12, 26, 30, 0.271031}, // the first with 30° over 6 mm: base half width 22.536
	} {
		body := func(z float64) *mesh.Mesh {
			in := 6 * math.Tan(deg(c.bevelDeg))
			return extruded([][2]float64{{-c.half + in, z}, {c.half - in, z}, {c.half, z + 6}, {c.half, z + 20}, {-c.half, z + 20}, {-c.half, z + 6}}, 20, 80)
		}
		room := channel(filleted(c.width, c.radius, 50, 64), 0, 100)
		for _, z := range []float64{0, 0.5, 8} {
			for _, aside := range []float64{0, 1.5} {
				t.Run(fmt.Sprintf("W%v r%v b%v bevel%v from %v aside %v", c.width, c.radius, c.half, c.bevelDeg, z, aside), func(t *testing.T) {
					b := body(z).Transformed(mesh.Pose{T: r3.Vec{Y: aside}})
					s := rest(room, b)
					require.Equal(t, Converged, s.Status)
					assert.InDelta(t, c.want-z, lift(s, b), restBoundMM)
					assert.Less(t, s.ResidualN, 1e-3*restLoadN)
					assert.InDelta(t, restLoadN, s.WallForce().Z, 1e-3*restLoadN)
				})
			}
		}
	}
}

func TestAnOpenEndOfTheRoomDoesNotUpsetTheRest(t *testing.T) {
	for _, ends := range [][2]float64{{0, 100}, {-20, 120}} {
		b := box(26, ends[0], ends[1], 0, 20)
		s := rest(channel(filleted(64, 12, 50, 64), 0, 100), b)
		require.Equal(t, Converged, s.Status)
		assert.InDelta(t, 1.607695, lift(s, b), restBoundMM)
	}
}

func TestWideBoxStandsUpBetweenLeaningWalls(t *testing.T) {
	// (wb − Ws) / (2 tan γ): 62 in 60 at 10°
	const want = 5.671282
	tan := math.Tan(deg(10))
	room := channel([][2]float64{{-30 - 50*tan, 50}, {-30, 0}, {30, 0}, {30 + 50*tan, 50}}, 0, 100)
	for _, high := range []float64{6, 20, 40} {
		for _, z := range []float64{0, 8} {
			b := box(31, 20, 80, z, z+high)
			s := rest(room, b)
			require.Equal(t, Converged, s.Status)
			assert.InDelta(t, want-z, lift(s, b), restBoundMM, "height %v from %v", high, z)
		}
	}
}

func TestCylinderLiesInAV(t *testing.T) {
	for _, c := range []struct{ halfDeg, want float64 }{{45, 14.142136}, {30, 20}} {
		tan := math.Tan(deg(c.halfDeg))
		room := channel([][2]float64{{-60 * tan, 60}, {0, 0}, {60 * tan, 60}}, 0, 100)
		b := cylinder(10, 25, 10, 90, 256)
		s := rest(room, b)
		require.Equal(t, Converged, s.Status)
		assert.InDelta(t, c.want, 25+lift(s, b), restBoundMM)
	}
}

func TestNothingBeneathIsNoAnswer(t *testing.T) {
	room := channel([][2]float64{{-30, 50}, {-30, 0}}, 0, 100) // one wall, no floor
	s := rest(room, box(10, 20, 80, 5, 15))
	assert.Equal(t, NoSupport, s.Status)
}

func TestTheRestIsTheSameInAMirror(t *testing.T) {
	room := channel(filleted(64, 12, 50, 64), 0, 100)
	b := box(26, 20, 80, 3, 20).Transformed(mesh.PoseAbout(r3.Vec{Z: 10}, r3.Vec{X: 0.02, Y: 0.01, Z: 0.03}, r3.Vec{Y: 0.7}))
	s, m := rest(room, b), rest(room.MirroredY(), b.MirroredY())
	require.Equal(t, Converged, s.Status)
	require.Equal(t, Converged, m.Status)
	assert.InDelta(t, lift(s, b), lift(m, b.MirroredY()), 1e-3)
}

func TestTurningEverythingTurnsTheRest(t *testing.T) {
	room, b := channel(filleted(64, 12, 50, 64), 0, 100), box(26, 20, 80, 3, 20)
	p := mesh.PoseAbout(r3.Vec{X: 5}, r3.Vec{Z: 0.7}, r3.Vec{X: 30, Y: -12, Z: 4})
	s, q := rest(room, b), rest(room.Transformed(p), b.Transformed(p))
	require.Equal(t, Converged, s.Status)
	require.Equal(t, Converged, q.Status)
	assert.InDelta(t, lift(s, b), lift(q, b.Transformed(p)), 1e-3)
}

// Elastic foundation: p = K·d (Johnson, Contact Mechanics, 1985, ch. 4), K = E(1−ν)/((1+ν)(1−2ν)h) (Blankevoort et al.
// 1991, J Biomech 24:1019; the formula from memory): E 2, ν 0.2, h 5 → 0.444444 N/mm³ (calc).
const foundation = 2 * (1 - 0.2) / ((1 + 0.2) * (1 - 2*0.2) * 5)

func press(room, body *mesh.Mesh, k, forceN float64, at r3.Vec) Seating {
	return Seat(context.Background(), NewBody(body), Walls{Tree: mesh.NewTree(room), Uniform: k},
		SeatOptions{Loads: []Load{{ForceN: r3.Vec{Z: -forceN}, At: at}}})
}

func TestFlatPunchSinksByForceOverStiffness(t *testing.T) {
	b := box(30, -40, 40, 0, 20)
	s := press(plane(100), b, foundation, 400, b.Centroid())
	require.Equal(t, Converged, s.Status)
	want := 400 / (foundation * 60 * 80)
	assert.InEpsilon(t, want, -lift(s, b), 0.01)
	assert.InEpsilon(t, 400, s.WallForce().Z, 1e-3)
	assert.InEpsilon(t, 400*b.Centroid().Z-400*want/2, s.EnergyNMM, 0.01) // spring ½Fd, load F(z − d)
}

// The same punch, kept in another frame and put upright by its start pose, sinks as deep: areas turn with the body.
func TestAPunchInAnotherFrameSinksAlike(t *testing.T) {
	b := box(30, -40, 40, 0, 20)
	turned := mesh.PoseAbout(b.Centroid(), r3.Vec{X: math.Pi / 2}, r3.Vec{})
	kept := b.Transformed(turned)
	body := NewBody(kept)
	s := Seat(context.Background(), body, Walls{Tree: mesh.NewTree(plane(100)), Uniform: foundation},
		SeatOptions{Start: turned.Inverse(), Loads: []Load{{ForceN: r3.Vec{Z: -400}, At: body.Centre}}})
	require.Equal(t, Converged, s.Status)
	assert.InEpsilon(t, 400/(foundation*60*80), b.Centroid().Z-s.Pose.Apply(body.Centre).Z, 0.01)
	assert.InEpsilon(t, 400, s.WallForce().Z, 1e-3)
}

func TestSphereOnAFoundation(t *testing.T) {
	const force = 34.4412 // πK(Rd² − d³/3), R 25, d 1 (calc)
	b := ball(25, 180)
	s := press(plane(100), b, foundation, force, b.Centroid())
	require.Equal(t, Converged, s.Status)
	assert.InDelta(t, 1, -lift(s, b), 0.01)
}

func TestCylinderOnAFoundation(t *testing.T) {
	const forcePerMM = 4.16503 // K × the segment's area, R 25, d 1 (calc)
	b := cylinder(25, 25, -40, 40, 720)
	s := press(plane(100), b, foundation, forcePerMM*80, b.Centroid())
	require.Equal(t, Converged, s.Status)
	assert.InDelta(t, 1, -lift(s, b), 0.01)
}

func TestPlateUnderAnEccentricLoad(t *testing.T) {
	// b 60 × L 80, F 400 (calc: p = F/A·(1 ± 6e/b), beyond b/6 a triangle over 3(b/2 − e))
	const k = 4.0 // stiff: the tilt stays small
	for _, c := range []struct{ e, least, most, over float64 }{
		{5, 0.0416667, 0.125, 60},
		{10, 0, 0.1666667, 60},
		{15, 0, 0.2222222, 45},
	} {
		b := box(30, -40, 40, 0, 20)
		s := press(plane(100), b, k, 400, r3.Vec{Y: c.e, Z: 10})
		require.Equal(t, Converged, s.Status)
		most, least, from := 0.0, math.Inf(1), 30.0
		for _, q := range s.Contacts {
			most, least, from = math.Max(most, k*q.OverlapMM), math.Min(least, k*q.OverlapMM), math.Min(from, q.P.Y)
		}
		assert.InEpsilon(t, c.most, most, 0.01, "e %v", c.e)
		if c.least > 0 {
			assert.InEpsilon(t, c.least, least, 0.01, "e %v", c.e)
		}
		assert.InDelta(t, c.over, 30-from, 1.5, "e %v", c.e) // samples lie about a millimetre apart
		tilt := s.Pose.RotationVectorDeg().X * math.Pi / 180
		if c.e <= 10 { // rotational stiffness K·L·b³/12
			assert.InEpsilon(t, 400*c.e/(k*80*60*60*60/12), math.Abs(tilt), 0.01, "e %v", c.e)
		}
	}
	tipped := press(plane(100), box(30, -40, 40, 0, 20), k, 400, r3.Vec{Y: 32, Z: 10})
	assert.Less(t, tipped.Pose.Rotate(r3.Vec{Z: 1}).Z, 0.5, "beyond the edge it tips over, onto its side")
}

func TestRotationalStiffnessOfABevelledBlock(t *testing.T) {
	// 60 wide, 30° on both sides over 6 mm: base 53.072, stiffness × 0.6921 (calc)
	in := 6 * math.Tan(deg(30))
	stiff := func(half float64) float64 {
		b := extruded([][2]float64{{-half, 0}, {half, 0}, {30, 6}, {30, 20}, {-30, 20}, {-30, 6}}, -40, 40)
		s := press(plane(100), b, 4, 400, r3.Vec{Y: 2, Z: 10})
		require.Equal(t, Converged, s.Status)
		return 400 * 2 / math.Abs(s.Pose.RotationVectorDeg().X*math.Pi/180)
	}
	assert.InEpsilon(t, 0.6921, stiff(30-in)/stiff(30), 0.01)
}

// The force is the slope of the energy: central differences on a flat wall, where the areas seen do not change.
func TestForceIsTheSlopeOfTheEnergy(t *testing.T) {
	body := NewBody(box(30, -40, 40, 0, 20))
	s := &seating{body: body, walls: Walls{Tree: mesh.NewTree(plane(100)), Uniform: foundation}, scale: 1, exact: true, armMM: 50}
	s.opt.Loads = []Load{{ForceN: r3.Vec{X: 1, Y: -2, Z: -30}, At: r3.Vec{X: 3, Y: 4, Z: 5}}}
	s.forget()
	pose := mesh.Pose{T: r3.Vec{Z: -0.5}}
	b := s.at(pose)
	for i := range 3 {
		var up, down vec6
		const h = 1e-4
		up[i], down[i] = h, -h
		slope := (s.at(s.moved(pose, up)).energy - s.at(s.moved(pose, down)).energy) / (2 * h)
		assert.InDelta(t, slope, b.grad[i], 1e-5*(1+math.Abs(slope)), "direction %d", i)
	}
}

func TestClearanceBetweenLeaningWalls(t *testing.T) {
	// Trapezoid between leaning walls: c0 = (Ws−wb)/2, ch = c0 + h tan γ − h tan β, clearance min(c0, ch)·cos γ (calc)
	for _, c := range []struct{ ws, gamma, wb, beta, h, want float64 }{
		{64, 10, 52, 30, 6, 3.5393}, {64, -5, 60, 0, 6, 1.4695}, {64, 5, 50, 30, 12, 1.1174},
	} {
		tan := math.Tan(deg(c.gamma))
		room := channel([][2]float64{{-c.ws/2 - 60*tan, 60}, {-c.ws / 2, 0}, {c.ws / 2, 0}, {c.ws/2 + 60*tan, 60}}, 0, 100)
		out := c.h * math.Tan(deg(c.beta))
		b := extruded([][2]float64{{-c.wb / 2, 0}, {c.wb / 2, 0}, {c.wb/2 + out, c.h}, {-c.wb/2 - out, c.h}}, 20, 80)
		sides := mesh.NewTree(room.Subset(func(f int) bool { return math.Abs(room.FaceNormal(f).Z) < 0.9 }))
		least := math.Inf(1)
		for _, s := range NewBody(b).Samples {
			least = math.Min(least, sides.Nearest(s.P).Signed)
		}
		assert.InDelta(t, c.want, least, 1e-4)
	}
}
