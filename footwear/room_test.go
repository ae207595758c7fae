package footwear

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// requireProblem asks for an error that names the field, what holds and the mend.
func requireProblem(t *testing.T, err error, field MeasureID) {
	t.Helper()
	require.Error(t, err)
	var p problem.Problem
	require.ErrorAs(t, err, &p)
	assert.Equal(t, field.String(), p.Field)
	assert.NotEmpty(t, p.Value)
	assert.NotEmpty(t, p.Limit)
	assert.NotEmpty(t, p.Mend)
}

func demoRoom(t *testing.T, id string, insoleIn bool) *Room {
	t.Helper()
	r, err := NewRoom(demoSheet(t, id), insoleIn)
	require.NoError(t, err)
	return r
}

// Every demo shoe makes a closed, oriented room of moderate size with the insole in and out, and opening it at the
// topline takes nothing but the lid away.
func TestDemoRoomsAreClosed(t *testing.T) {
	for _, s := range Demo().All() {
		for _, insoleIn := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s insole %v", s.ID, insoleIn), func(t *testing.T) {
				r, err := NewRoom(s, insoleIn)
				require.NoError(t, err)
				require.NoError(t, r.Closed.Validate())
				require.NoError(t, r.Closed.Closed())
				assert.Positive(t, r.Closed.Volume())
				assert.Greater(t, len(r.Closed.F), 10000)
				assert.Less(t, len(r.Closed.F), 25000)
				lids := 0
				for _, z := range r.Closed.Tag {
					if Zone(z) == Open {
						lids++
					}
				}
				assert.Positive(t, lids)
				assert.Len(t, r.Walls.F, len(r.Closed.F)-lids)
				for _, z := range r.Walls.Tag {
					require.NotEqual(t, Open, Zone(z))
				}
			})
		}
	}
}

// Every zone but the floor's parts behind the tread line is found in every shoe, and its faces look where they should:
// floors down, roofs up, side walls to their side, back to the back, toe to the front.
func TestZonesLookOutward(t *testing.T) {
	for _, s := range Demo().All() {
		t.Run(s.ID, func(t *testing.T) {
			r, err := NewRoom(s, false)
			require.NoError(t, err)
			var sum [NumZones]r3.Vec
			for i, z := range r.Closed.Tag {
				sum[z] = r3.Add(sum[z], r3.Scale(r.Closed.FaceArea(i), r.Closed.FaceNormal(i)))
				if Zone(z).Floor() {
					require.Less(t, r.Closed.FaceNormal(i).Z, -0.7, "floor face %d", i)
				}
			}
			look := map[Zone]r3.Vec{
				Open: {Z: 1}, Seat: {Z: -1}, Shank: {Z: -1}, Tread: {Z: -1}, Feather: {Z: -1}, CounterBack: {X: -1}, Toe: {X: 1}, Roof: {Z: 1},
				CounterMedial: {Y: 1}, WaistMedial: {Y: 1}, BallMedial: {Y: 1},
				CounterLateral: {Y: -1}, WaistLateral: {Y: -1}, BallLateral: {Y: -1},
			}
			for z, d := range look {
				assert.Greater(t, r3.Dot(sum[z], d), 0.6*r3.Norm(sum[z]), "%v looks %v", z, r3.Unit(sum[z]))
				assert.Greater(t, r3.Norm(sum[z]), 100.0, "%v is there", z)
			}
		})
	}
}

// No section of a room crosses itself: each loop is a simple polygon, checked pair by pair.
func TestSectionsAreSimple(t *testing.T) {
	for _, s := range Demo().All() {
		t.Run(s.ID, func(t *testing.T) {
			r, err := NewRoom(s, false)
			require.NoError(t, err)
			var planes []mesh.Plane
			for x := 2.3; x < r.ToeTipXMM(); x += 15.7 {
				planes = append(planes, mesh.Plane{Point: r3.Vec{X: x}, Normal: r3.Vec{X: 1}})
			}
			for z := -20.0; z < s.V(ToplineBack); z += 13.3 {
				planes = append(planes, mesh.Plane{Point: r3.Vec{Z: z}, Normal: r3.Vec{Z: 1}})
			}
			planes = append(planes, mesh.Plane{Point: r3.Vec{Y: 0.05}, Normal: r3.Vec{Y: 1}})
			for _, pl := range planes {
				for _, loop := range r.Closed.Section(pl) {
					require.True(t, loop.Closed)
					i, j := crossing(loop, pl)
					require.Negative(t, i, "segments %d and %d of the section at %v cross", i, j, pl.Point)
				}
			}
		})
	}
}

// crossing finds two segments of a loop that cross, neighbours left out; −1 when none do.
func crossing(loop mesh.Polyline, pl mesh.Plane) (int, int) {
	n := len(loop.P)
	p := make([][2]float64, n)
	for i, q := range loop.P {
		switch {
		case pl.Normal.X != 0:
			p[i] = [2]float64{q.Y, q.Z}
		case pl.Normal.Y != 0:
			p[i] = [2]float64{q.X, q.Z}
		default:
			p[i] = [2]float64{q.X, q.Y}
		}
	}
	side := func(a, b, c [2]float64) float64 { return (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0]) }
	for i := range n {
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			a, b, c, d := p[i], p[(i+1)%n], p[j], p[(j+1)%n]
			if side(a, b, c)*side(a, b, d) < -1e-12 && side(c, d, a)*side(c, d, b) < -1e-12 {
				return i, j
			}
		}
	}
	return -1, -1
}

// A straight shoe with an even topline has a room that is its own mirror image, zones and all.
func TestStraightShoesAreSymmetric(t *testing.T) {
	s := demoSheet(t, "lace-dress")
	require.Equal(t, Straight, s.Outline)
	s.M[ToplineLateral] = s.M[ToplineMedial]
	r, err := NewRoom(s, false)
	require.NoError(t, err)
	assertSameSurface(t, r.Closed, r.Closed.MirroredY())
	var area [NumZones]float64
	for i, z := range r.Closed.Tag {
		area[z] += r.Closed.FaceArea(i)
	}
	for _, pair := range [][2]Zone{{CounterMedial, CounterLateral}, {WaistMedial, WaistLateral}, {BallMedial, BallLateral}} {
		assert.InDelta(t, area[pair[0]], area[pair[1]], 1e-6)
	}
	swung := demoRoom(t, "running-shoe", false)
	require.Equal(t, Swung, swung.Sheet.Outline)
	assert.Positive(t, swung.MiddleY(swung.TreadStationMM()), "a swung shoe turns to the medial side")
}

// assertSameSurface holds the vertices of two meshes against each other.
func assertSameSurface(t *testing.T, a, b *mesh.Mesh) {
	t.Helper()
	key := func(v r3.Vec) [3]int64 {
		q := func(x float64) int64 { return int64(math.Round(x * 1e6)) }
		return [3]int64{q(v.X), q(v.Y), q(v.Z)}
	}
	seen := map[[3]int64]bool{}
	for _, v := range a.V {
		seen[key(v)] = true
	}
	missing := 0
	for _, v := range b.V {
		k := key(v)
		found := false
		for _, d := range [][3]int64{{}, {1}, {-1}, {0, 1}, {0, -1}, {0, 0, 1}, {0, 0, -1}} {
			found = found || seen[[3]int64{k[0] + d[0], k[1] + d[1], k[2] + d[2]}]
		}
		if !found {
			missing++
		}
	}
	assert.Zero(t, missing, "vertices without their like")
}

func TestRoomsRepeat(t *testing.T) {
	a, b := demoRoom(t, "court-45", true), demoRoom(t, "court-45", true)
	assert.Equal(t, a.Closed, b.Closed)
}

// The shoe's own insole raises the floor by its thickness and leaves the walls where they are.
func TestInsoleRaisesTheFloor(t *testing.T) {
	for _, id := range []string{"running-shoe", "extra-depth", "hiking-boot"} {
		t.Run(id, func(t *testing.T) {
			bare, in := demoRoom(t, id, false), demoRoom(t, id, true)
			s := bare.Sheet
			heel, tread := bare.HeelStationMM(), bare.TreadStationMM()
			require.Positive(t, s.V(InsoleHeel))
			assert.InDelta(t, s.V(InsoleHeel), in.FloorZ(heel)-bare.FloorZ(heel), 1e-9)
			assert.InDelta(t, s.V(InsoleForefoot), in.FloorZ(tread)-bare.FloorZ(tread), 1e-9)
			assert.InDelta(t, s.V(InsoleForefoot), in.FloorZ(tread+30)-bare.FloorZ(tread+30), 1e-9)
			assert.InDelta(t, s.V(DepthBall)-s.V(InsoleForefoot), in.DepthMM(tread), 1e-9)
			assert.InDelta(t, s.V(CounterHeight)-s.V(InsoleHeel), in.CounterTopMM(), 1e-9)
			assert.Less(t, in.Closed.Volume(), bare.Closed.Volume())
			// The same walls: widths over the board are those of the bare shoe.
			for _, h := range []float64{20, 30, 40} {
				z := bare.FloorZ(heel) + h
				lo, hi := extent(sectionAt(bare, heel).crossings(z))
				lo2, hi2 := extent(sectionAt(in, heel).crossings(z))
				assert.InDelta(t, hi-lo, hi2-lo2, 0.1, "width at %v mm", h)
			}
			// And no part of it lies outside the bare room.
			tree := mesh.NewTree(bare.Closed)
			for i := 0; i < len(in.Closed.V); i += 7 {
				require.Greater(t, tree.Nearest(in.Closed.V[i]).Signed, -0.2, "vertex at %v", in.Closed.V[i])
			}
		})
	}
}

func sectionAt(r *Room, x float64) *contour {
	c := crossSection(r.Closed, x)
	return &c
}

// FloorZ and FloorSlopeDeg tell what the mesh is: on the middle of the room its lowest point lies at FloorZ.
func TestFloorIsWhereItIsSaidToBe(t *testing.T) {
	for _, insoleIn := range []bool{false, true} {
		r := demoRoom(t, "running-shoe", insoleIn)
		for x := r.HeelStationMM(); x < r.ToeTipXMM()-15; x += 9.1 {
			lo, hi := sectionAt(r, x).heights(r.MiddleY(x) + 0.01)
			assert.InDelta(t, r.FloorZ(x), lo, 0.06, "floor at %.1f", x)
			assert.InDelta(t, r.DepthMM(x), hi-lo, 0.15, "depth at %.1f", x)
			assert.InDelta(t, math.Atan((r.FloorZ(x+0.01)-r.FloorZ(x-0.01))/0.02)*180/math.Pi, r.FloorSlopeDeg(x), 0.02)
		}
		for _, x := range []float64{12, 25} {
			_, hi := sectionAt(r, x).heights(0.01)
			assert.InDelta(t, r.FloorZ(x)+r.DepthMM(x), hi, 0.3, "lid at %.1f", x)
		}
		assert.Zero(t, r.DepthMM(-1))
		assert.Zero(t, r.DepthMM(r.ToeTipXMM()+1))
	}
}

// A narrower counter never leaves more room beside a point between its walls.
func TestNarrowerCounterIsCloser(t *testing.T) {
	s := demoSheet(t, "leather-trainer")
	last := math.Inf(1)
	for _, less := range []float64{-2, -1, 0, 1, 2, 3} {
		g := s
		for _, id := range []MeasureID{SeatWidth, CounterWidth10, CounterWidth20, CounterWidth40, CounterWidthTop} {
			g.M[id].Value -= less
		}
		r, err := NewRoom(g, false)
		require.NoError(t, err)
		h := r.HeelStationMM()
		at := mesh.NewTree(r.Walls).Nearest(r3.Vec{X: h, Y: 25, Z: r.FloorZ(h) + 20})
		assert.Less(t, at.Signed, last, "%v mm narrower", less)
		if less == 0 {
			assert.InDelta(t, s.V(CounterWidth20)/2-25, at.Signed, 0.15)
		}
		last = at.Signed
	}
}

func TestGivesAndSpreads(t *testing.T) {
	bare, in := demoRoom(t, "running-shoe", false), demoRoom(t, "running-shoe", true)
	s := bare.Sheet
	assert.Equal(t, s.V(GiveCounter), bare.GiveMM(CounterBack))
	assert.Equal(t, s.V(GiveQuarter), bare.GiveMM(WaistMedial))
	assert.Equal(t, s.V(GiveVamp), bare.GiveMM(Toe))
	assert.Zero(t, bare.GiveMM(Seat))
	assert.Zero(t, bare.GiveMM(Open))
	assert.InDelta(t, 0.15*s.V(InsoleHeel), in.GiveMM(Seat), 0.02)
	assert.InDelta(t, 0.15*s.V(InsoleForefoot), in.GiveMM(Tread), 1e-9)
	for z := Seat; z < NumZones; z++ {
		assert.Positive(t, bare.PlusMinusMM(z), z.String())
		assert.GreaterOrEqual(t, in.PlusMinusMM(z), bare.PlusMinusMM(z), z.String())
	}
	// A ± of a normal spread is 1.96 standard deviations.
	assert.InDelta(t, s.M[CounterWidth20].PlusMinus/2/1.96, bare.PlusMinusMM(CounterMedial), 1e-9)
	assert.InDelta(t, math.Hypot(s.M[SeatCupping].PlusMinus, s.M[InsoleHeel].PlusMinus)/1.96, in.PlusMinusMM(Seat), 1e-9)
}

// The stations lie in their order and where they are defined: the tread line at 0.70 of the last's length.
func TestStations(t *testing.T) {
	for _, s := range Demo().All() {
		r, err := NewRoom(s, false)
		require.NoError(t, err)
		l := s.V(LastLength)
		assert.InDelta(t, l, r.ToeTipXMM(), 1e-9)
		assert.InDelta(t, 0.70*l, r.TreadStationMM(), 1e-9)
		assert.InDelta(t, l-20, r.ToeDepthStationMM(), 1e-9)
		assert.Less(t, r.HeelStationMM(), r.AnkleStationMM())
		assert.Less(t, r.AnkleStationMM(), r.WaistStationMM())
		assert.Less(t, r.WaistStationMM(), r.InstepStationMM())
		assert.Less(t, r.InstepStationMM(), r.TreadStationMM())
		assert.Less(t, r.ThroatMM(), r.TreadStationMM())
		assert.Greater(t, r.ThroatMM(), r.AnkleStationMM())
		assert.Equal(t, s.V(SeatLength), r.BreastMM())
		assert.InDelta(t, s.V(ToplineMedial), r.ToplineMedialMM(), 1e-9)
		assert.InDelta(t, s.V(ToplineLateral), r.ToplineLateralMM(), 1e-9)
		assert.InDelta(t, s.V(ToplineBack), r.ToplineBackMM(), 1e-9)
	}
}

// Girths that no roof over the measured width and depth can have are refused with the range that it can.
func TestGirthsOutOfReach(t *testing.T) {
	for _, c := range []struct {
		field MeasureID
		by    float64
	}{{BallGirth, -18}, {InstepGirth, -40}} {
		s := demoSheet(t, "lace-dress")
		s.M[c.field].Value += c.by
		_, err := newForm(&s, false)
		requireProblem(t, err, c.field)
	}
	s := demoSheet(t, "lace-dress")
	s.M[DepthToe].Value = s.V(DepthBall) + 6
	_, err := newForm(&s, false)
	requireProblem(t, err, DepthToe)
}

// Whatever single measure is moved to the end of its hard limits or is no number, a room is refused with a reason or is
// sound; nothing panics.
func TestExtremeSheets(t *testing.T) {
	for _, id := range []string{"court-45", "hiking-boot", "toddler-shoe"} {
		for m := range NumMeasures {
			for _, v := range []float64{Infos[m].Lo, Infos[m].Hi, math.NaN(), math.Inf(1), math.Inf(-1)} {
				s := demoSheet(t, id)
				s.M[m].Value = v
				r, err := NewRoom(s, false)
				if err != nil {
					var one problem.Problem
					var many problem.Problems
					assert.True(t, errors.As(err, &one) || errors.As(err, &many), "%s %v = %v: %v", id, m, v, err)
					continue
				}
				require.NoError(t, r.Closed.Validate(), "%s %v = %v", id, m, v)
				require.NoError(t, r.Closed.Closed(), "%s %v = %v", id, m, v)
				require.Positive(t, r.Closed.Volume(), "%s %v = %v", id, m, v)
			}
		}
	}
}
