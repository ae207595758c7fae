package fit

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// A cut's height is that of the line between its points (elementary).
func TestHeightsOfACut(t *testing.T) {
	cut := []mesh.Polyline{{P: []r3.Vec{{}, {X: 10, Z: 10}, {X: 20, Z: 10}}}}
	lo, hi, ok := heights(cut, 2.5)
	assert.True(t, ok)
	assert.Equal(t, []float64{2.5, 2.5}, []float64{lo, hi})
	_, _, ok = heights(cut, 21)
	assert.False(t, ok)
}

// A device that lies so much further forward leaves so much less before the toes; a foot that stood on a thicker insole
// before it was taken out is lifted by so much less.
func TestRoomForTheFootFollowsWhereItStands(t *testing.T) {
	left := func(list []RoomCheck, key string) float64 {
		for _, c := range list {
			if c.Key == key {
				return c.LeftMM
			}
		}
		t.Fatal(key)
		return 0
	}
	b, d := trial{shoe: "extra-depth", insoleOut: true}.parts(t)
	r, err := b.Check(context.Background(), d, Foot{})
	require.NoError(t, err)
	forward := func(mm float64) mesh.Pose {
		return mesh.PoseAbout(r3.Vec{}, r3.Vec{}, r3.Vec{X: mm}).Compose(r.Settled)
	}
	a, c := b.footRoom(d, forward(10), r.Foot), b.footRoom(d, forward(14), r.Foot)
	assert.InDelta(t, 4, left(a, "toe_gap_mm")-left(c, "toe_gap_mm"), 1e-9)

	thicker := trial{shoe: "extra-depth", insoleOut: true, change: func(s *footwear.Sheet) { s.M[footwear.InsoleHeel].Value++ }}
	b2, _ := thicker.parts(t)
	was, now := b.footRoom(d, r.Settled, r.Foot), b2.footRoom(d, r.Settled, r.Foot)
	assert.InDelta(t, 1, left(now, heelLift)-left(was, heelLift), 1e-6)
}
