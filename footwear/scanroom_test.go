package footwear

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

func roomOf(t *testing.T, m *mesh.Mesh, o ScanOptions) *Room {
	t.Helper()
	r, err := RoomFromScan(context.Background(), m, o)
	require.NoError(t, err)
	return r
}

// A built room whose zones are forgotten and found again has the same ones: floors face by face, the rest to a few per
// cent of the area, as the half profiles do not stand exactly on the bounds.
func TestScanFindsTheZones(t *testing.T) {
	for _, id := range []string{"lace-dress", "court-45", "hiking-boot"} {
		t.Run(id, func(t *testing.T) {
			built := demoRoom(t, id, false)
			r := roomOf(t, untagged(built.Walls), ScanOptions{})
			assert.Equal(t, ScanInside, r.Scan.Body)
			require.Equal(t, built.Walls.F, r.Walls.F)
			assert.Equal(t, built.Walls.V, r.Walls.V, "walls are the scan's own")
			var area, wrong [NumZones]float64
			for i, z := range built.Walls.Tag {
				a := built.Walls.FaceArea(i)
				area[z] += a
				if r.Walls.Tag[i] != z {
					wrong[z] += a
				}
			}
			for z := Seat; z < NumZones; z++ {
				limit := 0.06
				if z.Floor() {
					limit = 0.005
				}
				assert.LessOrEqual(t, wrong[z], limit*area[z], "%v", z)
			}
		})
	}
}

// Noise of 0.3 mm turns the normals of small faces any way. Where floor, feather line and wall meet zones may move; farther from
// the feather line than 2 mm no floor is taken for a wall, nor a wall or the roof for a floor.
func TestANoisyFloorIsNoWall(t *testing.T) {
	for i, s := range Demo().All() {
		if i%3 == 1 {
			continue // two thirds are enough for every run
		}
		built := demoRoom(t, s.ID, false)
		r := roomOf(t, withNoise(untagged(built.Walls), rand.New(rand.NewPCG(3, uint64(i))), 0.3), ScanOptions{})
		tree, feather := mesh.NewTree(built.Walls), mesh.NewTree(cutOut(built.Walls, Feather))
		var floorAsWall, wallAsFloor float64 // the farthest from the feather line, mm
		for f, v := range r.Walls.F {
			middle := r3.Scale(1.0/3, r3.Add(r3.Add(r.Walls.V[v[0]], r.Walls.V[v[1]]), r.Walls.V[v[2]]))
			was, is := Zone(built.Walls.Tag[tree.Nearest(middle).Face]), Zone(r.Walls.Tag[f])
			away := r3.Norm(r3.Sub(feather.Nearest(middle).Point, middle))
			switch {
			case was.Floor() && !is.Floor() && is != Feather:
				floorAsWall = math.Max(floorAsWall, away)
			case is.Floor() && !was.Floor() && was != Feather:
				wallAsFloor = math.Max(wallAsFloor, away)
			}
		}
		assert.Less(t, floorAsWall, 2.0, "%s: floor taken for a wall", s.ID)
		assert.Less(t, wallAsFloor, 2.0, "%s: wall taken for a floor", s.ID)
	}
}

// cutOut is the faces of one zone, as a mesh of its own.
func cutOut(m *mesh.Mesh, zone Zone) *mesh.Mesh {
	out := &mesh.Mesh{V: m.V}
	for f, z := range m.Tag {
		if Zone(z) == zone {
			out.F = append(out.F, m.F[f])
			out.Tag = append(out.Tag, z)
		}
	}
	return out
}

// The room's methods tell what those of the built room tell.
func TestScannedRoomsAnswerAlike(t *testing.T) {
	for _, id := range []string{"running-shoe", "court-45"} {
		built := demoRoom(t, id, false)
		r := roomOf(t, untagged(built.Walls), ScanOptions{})
		require.NoError(t, r.Closed.Closed())
		for x := 6.0; x < built.ToeTipXMM()-12; x += 7.3 {
			assert.InDelta(t, built.FloorZ(x), r.FloorZ(x), 0.05, "floor at %.0f", x)
			assert.InDelta(t, built.FloorSlopeDeg(x), r.FloorSlopeDeg(x), 0.5, "slope at %.0f", x)
			assert.InDelta(t, built.MiddleY(x), r.MiddleY(x), 0.05, "middle at %.0f", x)
			if x > built.ThroatMM()+4 {
				assert.InDelta(t, built.DepthMM(x), r.DepthMM(x), 0.1, "depth at %.0f", x)
			}
		}
		for name, f := range map[string]func(*Room) float64{
			"heel": (*Room).HeelStationMM, "tread": (*Room).TreadStationMM, "waist": (*Room).WaistStationMM, "toe": (*Room).ToeTipXMM,
			"throat": (*Room).ThroatMM, "medial": (*Room).ToplineMedialMM, "lateral": (*Room).ToplineLateralMM, "back": (*Room).ToplineBackMM,
		} {
			assert.InDelta(t, f(built), f(r), 0.2, name)
		}
		assert.Zero(t, r.DepthMM(-3))
		assert.Zero(t, r.DepthMM(built.ToeTipXMM()+3))
	}
}

// The sheet read off is valid, names what is assumed, and grades to another size whose room can be built.
func TestScannedSheetsGrade(t *testing.T) {
	for i, s := range Demo().All() {
		if i%3 != 0 {
			continue
		}
		t.Run(s.ID, func(t *testing.T) {
			built := demoRoom(t, s.ID, false)
			m := untagged(built.Walls)
			if i%2 == 1 {
				m = untagged(built.Closed)
			}
			r := roomOf(t, m, ScanOptions{ID: "my-scan", Name: "My scan"})
			require.Empty(t, r.Sheet.Validate())
			assert.Equal(t, "my-scan", r.Sheet.ID)
			assert.InDelta(t, s.V(BallWidth), r.Sheet.V(BallWidth), 0.2)
			assert.Equal(t, Scan, r.Sheet.M[BallWidth].Instrument)
			assert.True(t, r.Sheet.M[GiveCounter].Assumed)
			assert.Greater(t, r.Sheet.M[GiveCounter].PlusMinus, Infos[GiveCounter].PlusMinus)
			to := r.Sheet.Size
			to.Value++
			g, err := r.Sheet.Graded(to, GradeOptions{})
			require.NoError(t, err)
			_, err = NewRoom(g, false)
			require.NoError(t, err)
		})
	}
}

// A closed last is cut at a topline: walls and lid are the last, nothing is added or lost, and the cut runs along one
// loop.
func TestClosedLastsAreCut(t *testing.T) {
	for _, id := range []string{"court-45", "hiking-boot"} {
		built := demoRoom(t, id, false)
		r := roomOf(t, untagged(built.Closed), ScanOptions{})
		assert.Equal(t, ScanLast, r.Scan.Body)
		require.NoError(t, r.Closed.Closed())
		assert.InDelta(t, built.Closed.Volume(), r.Closed.Volume(), 1e-6*built.Closed.Volume())
		assert.InDelta(t, built.Closed.Area(), r.Closed.Area(), 1e-6*built.Closed.Area())
		assert.Len(t, borders(r.Walls), 1)
		assert.NotEmpty(t, r.Scan.Notes)
		assert.True(t, r.Sheet.M[ToplineBack].Assumed)
	}
}

// Thickness moves floors and walls by just as much, in and out.
func TestThicknessMovesTheWalls(t *testing.T) {
	built := demoRoom(t, "running-shoe", false)
	m := untagged(built.Walls)
	plain := roomOf(t, m, ScanOptions{})
	heel, tread := plain.HeelStationMM(), plain.TreadStationMM()
	width := func(r *Room, x, z float64) float64 {
		c := newSlicer(r.Walls).at(x)
		lo, hi := extent(c.crossings(z))
		return hi - lo
	}
	for _, c := range []struct {
		name        string
		o           ScanOptions
		floor, wall float64
	}{
		{"sock", ScanOptions{SockMM: 1.5}, 1.5, 1.5},
		{"no sock", ScanOptions{SockMM: -1.5}, -1.5, -1.5},
		{"lining", ScanOptions{LiningMM: 1.2}, 0, 1.2},
		{"insole", ScanOptions{InsoleMM: 4}, 4, 0},
		{"thick insole", ScanOptions{InsoleMM: 9, SockMM: 1}, 10, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := roomOf(t, m, c.o)
			assert.Equal(t, c.o.InsoleMM > 0, r.InsoleIn)
			for _, x := range []float64{heel, tread, tread + 20} {
				// The floor is moved square to itself.
				up := plain.FloorZ(x) + c.floor
				assert.InDelta(t, up, r.FloorZ(x), 0.03+0.03*max(c.floor, -c.floor), "floor at %.0f", x)
			}
			z := plain.FloorZ(heel) + 30
			assert.InDelta(t, width(plain, heel, z)-2*c.wall, width(r, heel, z), 0.1)
			// No face of the new walls lies beyond the old ones moved, and none is turned over.
			tree := mesh.NewTree(plain.Walls)
			least := min(c.floor, c.wall) - 0.15
			if c.floor > 5 { // corners where vertices became one
				least = 0
			}
			for i := 0; i < len(r.Walls.V); i += 11 {
				h := tree.Nearest(r.Walls.V[i])
				if !h.Beyond {
					require.Greater(t, h.Signed, least, "vertex %d", i)
				}
			}
			assert.Positive(t, r.Closed.Volume())
			assert.InDelta(t, 0.1*(max(c.o.SockMM, -c.o.SockMM)+max(c.o.LiningMM, c.o.InsoleMM)), sigmaBeyond(r, plain), 0.02)
		})
	}
}

// sigmaBeyond is what a room's ± has beside that of another, as a root of squares.
func sigmaBeyond(r, plain *Room) float64 {
	a, b := r.PlusMinusMM(Roof), plain.PlusMinusMM(Roof)
	return math.Sqrt(a*a - b*b)
}

// The noise of a scan is told and goes into the ± of its walls, which stay as they are.
func TestNoiseIsToldAndKept(t *testing.T) {
	built := demoRoom(t, "indoor-court", false)
	m := withNoise(untagged(built.Walls), rand.New(rand.NewPCG(19, 20)), 0.3)
	r := roomOf(t, m, ScanOptions{PlusMinusMM: 0.5})
	assert.InDelta(t, 0.3, r.Scan.Reading.NoiseMM, 0.03)
	assert.InDelta(t, math.Sqrt(0.3*0.3+0.25*0.25), r.PlusMinusMM(CounterMedial), 0.03)
	assert.Equal(t, m.V, r.Walls.V)
	assert.Zero(t, r.PlusMinusMM(Open))
}

func TestScanOptionsAreChecked(t *testing.T) {
	m := untagged(demoRoom(t, "court-45", false).Walls)
	for _, o := range []ScanOptions{{SockMM: 50}, {LiningMM: -20}, {InsoleMM: 1e300}, {PlusMinusMM: -1}, {Body: "boot"}} {
		_, err := RoomFromScan(context.Background(), m, o)
		var ps problem.Problems
		require.True(t, errors.As(err, &ps), "%+v: %v", o, err)
		assert.NotEmpty(t, ps[0].Mend)
	}
}
