package footwear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// noShape are the measures that a room's shape does not tell.
var noShape = map[MeasureID]bool{
	CounterHeight: true, InsoleHeel: true, InsoleForefoot: true, GiveCounter: true, GiveQuarter: true, GiveVamp: true,
}

// withinMM is how well the sheet comes back from the mesh: 0.2 mm, or 0.2° for the seat angle.
const withinMM = 0.2

func assertReadsBack(t *testing.T, s *Sheet, m *mesh.Mesh) {
	t.Helper()
	got, err := MeasureRoom(m)
	require.NoError(t, err)
	for id := range NumMeasures {
		v, read := got[id]
		if noShape[id] {
			assert.False(t, read, "%v cannot be read", id)
			continue
		}
		if assert.True(t, read, "%v is not read", id) {
			assert.InDelta(t, s.V(id), v, withinMM, "%v", id)
		}
	}
}

// What a room was built from comes back when it is measured.
func TestDemoSheetsComeBack(t *testing.T) {
	for _, s := range Demo().All() {
		t.Run(s.ID, func(t *testing.T) {
			r, err := NewRoom(s, false)
			require.NoError(t, err)
			assertReadsBack(t, &s, r.Closed)
		})
	}
}

// And so it does in other sizes, half sizes too.
func TestGradedSheetsComeBack(t *testing.T) {
	for _, s := range Demo().All() {
		for _, step := range []float64{-3, 2.5} {
			to := s.Size
			to.Value += step
			t.Run(s.ID+" "+to.String(), func(t *testing.T) {
				g, err := s.Graded(to, GradeOptions{})
				require.NoError(t, err)
				r, err := NewRoom(g, false)
				require.NoError(t, err)
				assertReadsBack(t, &g, r.Closed)
			})
		}
	}
}

// A finer mesh changes no measure by 0.1 mm.
func TestFinerMeshesMeasureTheSame(t *testing.T) {
	for _, id := range []string{"running-shoe", "court-45", "safety-boot", "toddler-shoe"} {
		t.Run(id, func(t *testing.T) {
			s := demoSheet(t, id)
			f, err := newForm(&s, false)
			require.NoError(t, err)
			d := f.usualDensity()
			fine := density{floor: 2 * d.floor, feather: 2 * d.feather, wall: 2 * d.wall, top: 2 * d.top, heel: 2 * d.heel, toe: 2 * d.toe, stepMM: d.stepMM / 2}
			a, err := MeasureRoom(f.loft(d))
			require.NoError(t, err)
			b, err := MeasureRoom(f.loft(fine))
			require.NoError(t, err)
			require.Len(t, b, len(a))
			for id, v := range a {
				assert.InDelta(t, v, b[id], 0.1, "%v", id)
			}
		})
	}
}

// A room moved along and up, as a scan may lie, measures the same.
func TestMeasuresDoNotDependOnThePlace(t *testing.T) {
	r := demoRoom(t, "leather-trainer", false)
	a, err := MeasureRoom(r.Closed)
	require.NoError(t, err)
	moved := r.Closed.Transformed(mesh.Pose{T: r3.Vec{X: 17.25, Z: -4.5}})
	b, err := MeasureRoom(moved)
	require.NoError(t, err)
	for id, v := range a {
		assert.InDelta(t, v, b[id], 0.02, "%v", id)
	}
}

// The waist is the narrowest place between seat and ball, where the heel is not narrower still.
func TestWaistIsTheNarrowestPlace(t *testing.T) {
	narrower := 0
	for _, s := range Demo().All() {
		r, err := NewRoom(s, false)
		require.NoError(t, err)
		heel := math.Max(s.V(CounterWidth20), s.V(CounterWidth40))
		least := math.Inf(1)
		for x := r.WaistStationMM() - 25; x < r.TreadStationMM(); x += 3 {
			lo, hi := extent(sectionAt(r, x).u)
			least = math.Min(least, hi-lo)
		}
		if s.V(WaistWidth) <= heel {
			narrower++
			assert.InDelta(t, s.V(WaistWidth), least, withinMM, s.ID)
		} else {
			assert.GreaterOrEqual(t, least, heel-withinMM, s.ID)
		}
	}
	t.Logf("%d shoes with a waist narrower than the heel", narrower)
}

// The girth by a second way: the perimeter of a convex outline is the integral of its support function over the full
// turn (Cauchy's formula).
func TestGirthIsTheHullsPerimeter(t *testing.T) {
	r := demoRoom(t, "lace-dress", false)
	c := sectionAt(r, r.TreadStationMM())
	const turns = 2000
	sum := 0.0
	for i := range turns {
		a := 2 * math.Pi * float64(i) / turns
		most := math.Inf(-1)
		for j := range c.u {
			most = math.Max(most, c.u[j]*math.Cos(a)+c.v[j]*math.Sin(a))
		}
		sum += most
	}
	assert.InDelta(t, sum*2*math.Pi/turns, c.girth(), 0.05)
}

func TestCircleFit(t *testing.T) {
	var p []point2
	for _, a := range []float64{0.2, 0.5, 0.9, 1.3} {
		p = append(p, point2{20 + 12*math.Sin(a), 12 - 12*math.Cos(a)})
	}
	k, ok := fitCircle(p)
	require.True(t, ok)
	assert.InDelta(t, 12, k.radius, 1e-9)
	assert.InDelta(t, 20, k.centre.r, 1e-9)
	assert.InDelta(t, 12, k.centre.z, 1e-9)
	_, ok = fitCircle([]point2{{0, 0}, {1, 1}, {2, 2}})
	assert.False(t, ok, "points on a line lie on no circle")
}

func TestUnmeasurableRooms(t *testing.T) {
	_, err := MeasureRoom(&mesh.Mesh{})
	assert.Error(t, err)
	box := &mesh.Mesh{
		V: []r3.Vec{{}, {X: 1}, {X: 1, Y: 1}, {Y: 1}, {Z: 1}, {X: 1, Z: 1}, {X: 1, Y: 1, Z: 1}, {Y: 1, Z: 1}},
		F: [][3]int32{{0, 2, 1}, {0, 3, 2}, {4, 5, 6}, {4, 6, 7}, {0, 1, 5}, {0, 5, 4}, {1, 2, 6}, {1, 6, 5}, {2, 3, 7}, {2, 7, 6}, {3, 0, 4}, {3, 4, 7}},
	}
	box.Tag = make([]uint8, len(box.F))
	_, err = MeasureRoom(box)
	assert.Error(t, err, "a box without zones of a shoe")
	walls := demoRoom(t, "court-45", false).Walls
	_, err = MeasureRoom(walls)
	assert.Error(t, err, "an open room has no closed sections")
}
