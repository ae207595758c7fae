package footwear

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// readIn turns a mesh, aligns it and reads it.
func readIn(t *testing.T, m *mesh.Mesh, p mesh.Pose, side Side) ScanReading {
	t.Helper()
	q := m.Transformed(p)
	a, err := Align(context.Background(), q, AlignOptions{Side: side})
	require.NoError(t, err)
	got, err := MeasureScan(context.Background(), a.Apply(q))
	require.NoError(t, err)
	return got
}

// toplineMeasures need an open top.
var toplineMeasures = map[MeasureID]bool{
	CounterWidthTop: true, BackCurveTop: true, ToplineMedial: true, ToplineLateral: true, ToplineBack: true,
}

// A room turned at random and read as a scan gives its sheet, within what each reading says of itself and 0.2 mm or 0.2°
// but for the seat's length.
func TestScansGiveTheirSheets(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	for i, id := range []string{"lace-dress", "running-shoe", "court-45", "hiking-boot", "toddler-shoe"} {
		t.Run(id, func(t *testing.T) {
			r := demoRoom(t, id, false)
			m, side := untagged(r.Walls), RightSide
			open := i%2 == 0
			if !open {
				m = untagged(r.Closed)
			}
			if i >= 3 {
				m, side = m.MirroredY(), LeftSide
			}
			got := readIn(t, m, randomPose(rng), side)
			assert.Equal(t, open, got.OpenTop)
			for id := range NumMeasures {
				v, read := got.M[id]
				switch {
				case noShape[id] || toplineMeasures[id] && !open:
					assert.False(t, read, "%v can't be read", id)
					assert.NotEmpty(t, got.NotRead[id])
					continue
				case !read:
					assert.Contains(t, []MeasureID{DepthInstep, InstepGirth, CounterWidth40}, id, got.NotRead[id])
					assert.NotEmpty(t, got.NotRead[id])
					continue
				}
				within := withinMM
				if id == SeatLength {
					within = got.PlusMinus[id]
				}
				assert.InDelta(t, r.Sheet.V(id), v, within, "%v", id)
				assert.LessOrEqual(t, math.Abs(v-r.Sheet.V(id)), math.Max(2*got.PlusMinus[id], 0.15), "%v", id)
			}
		})
	}
}

// The same noisy shape reads the same in whatever pose it comes: within 0.3 mm and 0.5°.
func TestThePoseDoesNotChangeTheReading(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for _, id := range []string{"indoor-court"} {
		t.Run(id, func(t *testing.T) {
			m := withNoise(untagged(demoRoom(t, id, false).Walls), rng, 0.3)
			first := readIn(t, m, mesh.Pose{}, RightSide)
			for range 2 {
				got := readIn(t, m, randomPose(rng), RightSide)
				require.Len(t, got.M, len(first.M))
				for id, v := range first.M {
					within := 0.3
					if Infos[id].Unit == "deg" {
						within = 0.5
					}
					assert.InDelta(t, v, got.M[id], within, "%v", id)
				}
			}
		})
	}
}

// Noise of 0.3 mm leaves readings within what they say of themselves (95 of a hundred, so that one in ten may not here)
// and the great measures within half a millimetre.
func TestNoiseGoesIntoThePlusMinus(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	read, beyond := 0, 0
	for _, id := range []string{"extra-depth", "slip-on-dress", "studded-firm"} {
		r := demoRoom(t, id, false)
		got := readIn(t, withNoise(untagged(r.Walls), rng, 0.3), randomPose(rng), RightSide)
		assert.InDelta(t, 0.3, got.NoiseMM, 0.03)
		for id, v := range got.M {
			off := math.Abs(v - r.Sheet.V(id))
			read++
			if off > got.PlusMinus[id] {
				beyond++
				t.Logf("%v off by %.2f, ± %.2f", id, off, got.PlusMinus[id])
			}
			assert.Less(t, off, 3*got.PlusMinus[id], "%v", id)
		}
		for _, id := range []MeasureID{LastLength, BallWidth, BallGirth, WaistWidth, CounterWidth20, CounterWidth40, DepthBall, DepthToe} {
			assert.InDelta(t, r.Sheet.V(id), got.M[id], 0.5, "%v", id)
		}
	}
	assert.LessOrEqual(t, beyond, read/10)
}

// Smoothing finds the noise, takes most of it away and keeps a ball's size.
func TestSmoothingABall(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 16))
	ball := loft{2, func(x float64) float64 { return math.Sqrt(math.Max(150*150-(x-150)*(x-150), 1e-6)) }, nil, fixed(0)}
	ball.b = ball.a
	m := ball.mesh()
	centre := r3.Vec{X: 150}
	rms := func(m *mesh.Mesh) float64 {
		sum := 0.0
		for _, v := range m.V {
			d := r3.Norm(r3.Sub(v, centre)) - 150
			sum += d * d / float64(len(m.V))
		}
		return math.Sqrt(sum)
	}
	same, noise, err := smoothed(context.Background(), m)
	require.NoError(t, err)
	assert.Less(t, noise, cleanMM)
	assert.Same(t, m, same, "a clean mesh is left alone")
	m = m.Refined(func(_, _ r3.Vec) float64 { return 6 })
	for i, v := range m.V {
		m.V[i] = r3.Add(v, r3.Scale(0.3*rng.NormFloat64(), r3.Unit(r3.Sub(v, centre))))
	}
	before := rms(m)
	s, noise, err := smoothed(context.Background(), m)
	require.NoError(t, err)
	assert.InDelta(t, 0.3, noise, 0.1)
	assert.Less(t, rms(s), 0.8*before)
}

// Three picked points stand in for what the shape does not tell, and tell the side.
func TestAlignByPoints(t *testing.T) {
	r := demoRoom(t, "lace-dress", false)
	at := func(x, y float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: r.FloorZ(x)} }
	points := [3]r3.Vec{at(12, 2), at(195, 38), at(205, -36)}
	for _, side := range []Side{RightSide, LeftSide} {
		m, pts := untagged(r.Walls), points
		if side == LeftSide {
			m = m.MirroredY()
			for i := range pts {
				pts[i].Y *= -1
			}
		}
		p := randomPose(rand.New(rand.NewPCG(17, 18)))
		a, err := Align(context.Background(), m.Transformed(p), AlignOptions{
			Points: &ThreePoints{HeelBack: p.Apply(pts[0]), TreadMedial: p.Apply(pts[1]), TreadLateral: p.Apply(pts[2])},
		})
		require.NoError(t, err)
		assert.Equal(t, side, a.Side)
		deg, mm := frameOff(a, p)
		assert.Less(t, deg, 0.02)
		assert.Less(t, mm, 0.05)
	}
}

// A correction comes last, in the room's frame; normals that point inwards are noticed and turned.
func TestAlignCorrectsAndTurns(t *testing.T) {
	r := demoRoom(t, "running-shoe", false)
	m := untagged(r.Walls)
	m.F = turnedFaces(m.F)
	shift := mesh.PoseAbout(r3.Vec{}, r3.Vec{Y: 0.01}, r3.Vec{X: 3})
	a, err := Align(context.Background(), m, AlignOptions{Correction: shift})
	require.NoError(t, err)
	assert.True(t, a.InsideIn)
	assert.InDelta(t, 3, a.Pose.Apply(r3.Vec{}).X, 0.05)
	assert.InDelta(t, 0.01*180/math.Pi, a.Pose.RotationVectorDeg().Y, 0.02)
	out := a.Apply(m)
	down := 0.0
	for i := range out.F {
		if n := out.FaceNormal(i); n.Z < -0.9 {
			down += out.FaceArea(i)
		}
	}
	assert.Greater(t, down, 10000.0, "the floor looks out of the room")
	assert.Equal(t, RightSide, a.Side)
	given, err := Align(context.Background(), m, AlignOptions{Side: LeftSide})
	require.NoError(t, err)
	assert.Equal(t, LeftSide, given.Side)
	assert.Contains(t, given.Notes[len(given.Notes)-1], "looks like a right one")
}

func TestWhatIsNoShoeIsRefused(t *testing.T) {
	box := &mesh.Mesh{
		V: []r3.Vec{{}, {X: 300}, {X: 300, Y: 100}, {Y: 100}, {Z: 60}, {X: 300, Z: 60}, {X: 300, Y: 100, Z: 60}, {Y: 100, Z: 60}},
		F: [][3]int32{{0, 2, 1}, {0, 3, 2}, {4, 5, 6}, {4, 6, 7}, {0, 1, 5}, {0, 5, 4}, {1, 2, 6}, {1, 6, 5}, {2, 3, 7}, {2, 7, 6}, {3, 0, 4}, {3, 4, 7}},
	}
	tiny := untagged(demoRoom(t, "court-45", false).Walls).Transformed(mesh.Pose{})
	for i := range tiny.V {
		tiny.V[i] = r3.Scale(0.001, tiny.V[i])
	}
	broken := untagged(demoRoom(t, "court-45", false).Walls)
	broken.V[5].X = math.NaN()
	flat := &mesh.Mesh{V: make([]r3.Vec, 300)}
	for i := range flat.V {
		flat.V[i] = r3.Vec{X: float64(i)}
		if i > 2 {
			flat.F = append(flat.F, [3]int32{int32(i), int32(i - 1), int32(i - 2)})
		}
	}
	for name, m := range map[string]*mesh.Mesh{"empty": {}, "twelve faces": box, "metres": tiny, "not a number": broken, "a line": flat} {
		for call, err := range map[string]error{
			"align":   second(Align(context.Background(), m, AlignOptions{})),
			"measure": second(MeasureScan(context.Background(), m)),
			"room":    second(RoomFromScan(context.Background(), m, ScanOptions{})),
		} {
			var p problem.Problem
			require.ErrorAs(t, err, &p, "%s %s", name, call)
			assert.NotEmpty(t, p.Limit, name)
			assert.NotEmpty(t, p.Mend, name)
		}
	}
	good := untagged(demoRoom(t, "court-45", false).Walls)
	_, err := Align(context.Background(), good, AlignOptions{Side: "both"})
	assert.Error(t, err)
	_, err = Align(context.Background(), good, AlignOptions{Points: &ThreePoints{}})
	assert.Error(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = Align(ctx, good, AlignOptions{})
	assert.ErrorIs(t, err, context.Canceled)
}

func second[T any](_ T, err error) error { return err }
