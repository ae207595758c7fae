package drawing

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
)

// rectangle runs counterclockwise; all of it has one tag.
func rectangle(lo, hi Pt, tag uint8) loop {
	return loop{P: []Pt{lo, {hi.U, lo.V}, hi, {lo.U, hi.V}}, Tag: []uint8{tag, tag, tag, tag}, Closed: true}
}

func circle(c Pt, r float64, n int) loop {
	l := loop{Closed: true}
	for i := range n {
		s, co := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		l.P = append(l.P, Pt{c.U + r*co, c.V + r*s})
	}
	return l
}

// The part of a circle of radius r past a chord at distance d from its centre has the area r²·acos(d/r) − d·√(r²−d²).
func TestOverlapAreaOfACirclePastAStraightWall(t *testing.T) {
	const r = 10.0
	wall := []loop{rectangle(Pt{-50, 0}, Pt{50, 50}, uint8(footwear.Seat))}
	for _, d := range []float64{0, 2.5, 7, 9.5} {
		body := []loop{circle(Pt{3, d}, r, 4000)}
		want := r*r*math.Acos(d/r) - d*math.Sqrt(r*r-d*d)
		assert.InDelta(t, want, overlapArea(body, wall, 0.01), 0.02, "centre %v above the wall", d)
	}
	assert.InDelta(t, 0, overlapArea([]loop{circle(Pt{0, 20}, r, 400)}, wall, 0.1), 1e-9, "all inside")
	assert.InDelta(t, math.Pi*r*r, overlapArea([]loop{circle(Pt{0, -20}, r, 4000)}, wall, 0.01), 0.05, "all outside")
	assert.Zero(t, overlapArea(nil, wall, 0.1))
}

func TestHatchCoversTheOverlapAndNothingElse(t *testing.T) {
	const step = 0.05
	room := []loop{rectangle(Pt{-30, 0}, Pt{30, 40}, 1)}
	body := []loop{circle(Pt{28, 3}, 8, 720)}
	area := overlapArea(body, room, 0.01)
	for _, angle := range []float64{0, 45, -45, 90, 17} {
		sum := 0.0
		for _, s := range hatch(body, room, angle, step) {
			d := s.B.sub(s.A)
			sum += math.Hypot(d.U, d.V) * step
			mid := s.A.lerp(s.B, 0.5)
			require.NotZero(t, winding(body, mid), "in the body")
			require.Zero(t, winding(room, mid), "out of the room")
		}
		assert.InDelta(t, area, sum, 0.01*area, "at %v°", angle)
	}
	assert.Empty(t, hatch(body, room, 45, 0))
	assert.Empty(t, hatch(nil, room, 45, 1))
}

func TestTwoSolidsThatOverlapCountOnce(t *testing.T) {
	body := []loop{rectangle(Pt{0, 0}, Pt{10, 10}, 0), rectangle(Pt{5, 0}, Pt{15, 10}, 0)}
	assert.InDelta(t, 150, overlapArea(body, nil, 0.1), 1e-9)
	hole := loop{P: []Pt{{2, 2}, {2, 8}, {8, 8}, {8, 2}}, Closed: true} // clockwise: a hole
	assert.InDelta(t, 64, overlapArea([]loop{rectangle(Pt{0, 0}, Pt{10, 10}, 0), hole}, nil, 0.01), 0.02)
}

func TestWhatStandsOutOfTheToplineIsNoOverlap(t *testing.T) {
	room := rectangle(Pt{-30, 0}, Pt{30, 40}, uint8(footwear.CounterMedial))
	room.Tag[2] = uint8(footwear.Open) // the upper side
	up := beyondTheLid([]loop{room}, true, 100)
	body := []loop{rectangle(Pt{-10, 30}, Pt{10, 60}, 0)}
	assert.InDelta(t, 400, overlapArea(body, []loop{room}, 0.1), 1e-6, "the lid itself is a boundary")
	assert.InDelta(t, 0, overlapArea(body, up, 0.1), 1e-6)
	through := []loop{rectangle(Pt{25, 30}, Pt{35, 60}, 0)}
	assert.InDelta(t, 5*30, overlapArea(through, up, 0.1), 1e-6, "past the wall it stays an overlap, above the topline too")

	sideways := beyondTheLid([]loop{room}, false, 100)
	assert.InDelta(t, 0, overlapArea(body, sideways, 0.1), 1e-6, "outwards of the upper side is up as well")
}

func TestSpans(t *testing.T) {
	a := []span{{0, 10}, {20, 30}}
	assert.Equal(t, []span{{0, 2}, {4, 10}, {20, 25}}, minus(a, []span{{2, 4}, {25, 40}}))
	assert.Equal(t, a, minus(a, nil))
	assert.Empty(t, minus(a, []span{{-5, 50}}))
	assert.Empty(t, minus(nil, a))
}

func TestRunsGoOverTheSeam(t *testing.T) {
	l := rectangle(Pt{0, 0}, Pt{10, 10}, 1)
	l.Tag = []uint8{1, 2, 2, 1} // 1 on both sides of the first point
	got := runs(&l, func(_, _ Pt, tag uint8) bool { return tag == 1 })
	require.Len(t, got, 1)
	assert.Equal(t, []Pt{{0, 10}, {0, 0}, {10, 0}}, got[0])
}
