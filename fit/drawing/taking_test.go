package drawing

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/internal/mesh"
)

func roomOf(t *testing.T, id string) *footwear.Room {
	t.Helper()
	s, err := footwear.Demo().Find(id)
	require.NoError(t, err)
	r, err := footwear.NewRoom(s, false)
	require.NoError(t, err)
	return r
}

// What is drawn between the arrows is as long as the sheet says, read off the room's own cuts where it can be.
func TestWhatIsDrawnIsWhatTheSheetSays(t *testing.T) {
	for _, shoe := range []string{"lace-dress", "court-45", "hiking-boot"} {
		r := roomOf(t, shoe)
		for id := range footwear.NumMeasures {
			taking := TakingOf(r, id)
			m := taking.marks[taking.Best]
			require.NotNil(t, m, "%s %s", shoe, id)
			want := r.Sheet.V(id)
			switch id {
			case footwear.BallGirth, footwear.InstepGirth:
				var p [][2]float64
				for _, q := range m.tape {
					p = append(p, [2]float64{q.U, q.V})
				}
				assert.InDelta(t, want, mesh.Perimeter2(p), 0.5, "%s %s", shoe, id)
			case footwear.FeatherHeel, footwear.FeatherForefoot:
				assert.InDelta(t, want, m.radius, 1e-9)
				assert.InDelta(t, want, math.Hypot(m.b.U-m.centre.U, m.b.V-m.centre.V), 1e-9)
				assert.Less(t, m.b.U, 0.0, "medially, which is left from behind")
			case footwear.SeatAngle:
				d := m.legs[1][1].sub(m.legs[1][0])
				assert.InDelta(t, want, -math.Atan2(d.V, d.U)*180/math.Pi, 1e-9)
			case footwear.SeatCupping:
				half := (m.edge[0][1].U - m.edge[0][0].U) / 2
				assert.InDelta(t, want*half*half/900, m.b.V-m.a.V, 1e-9, "the same curve over what there is of 60 mm")
			case footwear.ShankSagitta:
				assert.InDelta(t, want, math.Hypot(m.b.U-m.a.U, m.b.V-m.a.V), 0.6, "%s %s", shoe, id) // see the profile's slack
			default:
				assert.InDelta(t, want, math.Hypot(m.b.U-m.a.U, m.b.V-m.a.V)-extra(id), 0.3, "%s %s", shoe, id)
			}
		}
	}
}

// extra is what is drawn besides the measure itself: the way of the thumb to the wall.
func extra(id footwear.MeasureID) float64 {
	switch id {
	case footwear.GiveCounter, footwear.GiveQuarter, footwear.GiveVamp:
		return 16
	}
	return 0
}

func TestTheCutsOfAMeasureMeetWhereItIsTaken(t *testing.T) {
	r := roomOf(t, "lace-dress")
	for id, x := range map[footwear.MeasureID]float64{
		footwear.SeatWidth: r.HeelStationMM(), footwear.BallWidth: r.TreadStationMM(), footwear.WaistWidth: r.WaistStationMM(),
		footwear.InstepGirth: r.InstepStationMM(), footwear.DepthToe: r.ToeDepthStationMM(), footwear.ToplineMedial: r.AnkleStationMM(),
	} {
		assert.InDelta(t, x, TakingOf(r, id).Cuts.XMM, 1e-9, id)
	}
	wide := TakingOf(r, footwear.CounterWidth20)
	assert.InDelta(t, r.FloorZ(r.HeelStationMM())+20, wide.Cuts.ZMM, 1e-9)
	assert.Equal(t, Behind, wide.Best)
}

func TestEveryMeasureIsDrawnInEveryView(t *testing.T) {
	r := roomOf(t, "court-45")
	for id := range footwear.NumMeasures {
		taking := TakingOf(r, id)
		for _, v := range Views {
			if v != taking.Best && id%5 != 0 {
				continue // the best view of each, all of some
			}
			e := taking.Shown(v)
			assert.Less(t, e.Lo.U, e.Hi.U, "%s %s", id, v)
			plain, err := (&Taking{ID: id, Best: taking.Best, Cuts: taking.Cuts, room: r, part: taking.part}).Render(v, "", Look{}, 200, 150, 1)
			require.NoError(t, err)
			marked, err := taking.Render(v, "62.0 mm", Look{}, 200, 150, 1)
			require.NoError(t, err)
			if v == taking.Best {
				assert.NotEqual(t, plain.Pix, marked.Pix, "%s %s", id, v)
			}
		}
		assert.Contains(t, taking.Says(), string(footwear.Infos[id].Instrument))
	}
	_, err := TakingOf(r, footwear.BallWidth).Render(Above, "", Look{Dark: true}, 4, 100, 1)
	assert.Error(t, err)
	_, err = (&Taking{}).Render(Above, "", Look{Dark: true}, 100, 100, 1)
	assert.Error(t, err)
}
