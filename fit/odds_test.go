package fit

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat/distuv"

	"lastroom/device"
	"lastroom/footwear"
)

// Two walls whose places are each known to σ, a block between them that can't turn away: its gap is linear in both, so the
// odds are Φ and the interval is the normal's (calc).
func TestOddsOfALinearGapAreTheNormals(t *testing.T) {
	for _, c := range []struct{ gap, give, sigma float64 }{{0.4, 0, 0.5}, {-0.3, 0.5, 0.4}, {1, 0, 0.3}} {
		s := &surroundings{pose: Intended, up: r3.Vec{Z: 1}, forward: r3.Vec{X: 1}, arm: 100}
		s.d, s.n, s.p, s.stiff, s.group = []float64{c.gap}, []r3.Vec{{Y: -1}}, []r3.Vec{{Y: 20}}, []float64{0}, []int{0}
		s.sources = []source{{key: "a", grow: []float64{0.6 * c.sigma}}, {key: "b", grow: []float64{0.8 * c.sigma}}}
		empty := &surroundings{pose: Settled, up: r3.Vec{Z: 1}, arm: 100, sources: []source{{}, {}}}
		m := &model{
			res: &Result{}, keys: []FindingOdds{{Zone: footwear.CounterMedial, Pose: Intended}}, give: []float64{c.give}, bearing: []bool{false},
			poses: [2]*surroundings{s, empty}, names: []source{{key: "a", name: "width"}, {key: "b", name: "other width"}},
		}
		o, err := m.draw(context.Background(), OddsOptions{Draws: 40_000, Seed: 7})
		require.NoError(t, err)
		n := distuv.Normal{Mu: c.gap, Sigma: c.sigma}
		assert.InDelta(t, n.Survival(-c.give), o.Fit, 0.01)
		assert.InDelta(t, n.Quantile(0.05), o.Findings[0].Gap.LoMM, 0.02)
		assert.InDelta(t, n.Quantile(0.95), o.Findings[0].Gap.HiMM, 0.02)
		require.Len(t, o.Decides, 2)
		assert.Equal(t, "b", o.Decides[0].Key)
		assert.InDelta(t, 0.64, o.Decides[0].Share, 0.02)
		assert.Contains(t, o.Decides[0].Sentence(), "other width")
	}
}

func TestOddsRepeatExactly(t *testing.T) {
	b, d := trial{shoe: "running-shoe"}.parts(t)
	one, err := b.Odds(context.Background(), d, Foot{}, OddsOptions{Draws: 300, Seed: 3})
	require.NoError(t, err)
	two, err := b.Odds(context.Background(), d, Foot{}, OddsOptions{Draws: 300, Seed: 3})
	require.NoError(t, err)
	assert.Equal(t, one, two)
	assert.Less(t, one.Lost, 10)
	for _, f := range one.Findings {
		assert.LessOrEqual(t, f.Gap.LoMM, f.Gap.MidMM)
		assert.LessOrEqual(t, f.Gap.MidMM, f.Gap.HiMM)
	}
	_, err = b.Odds(context.Background(), d, Foot{}, OddsOptions{Draws: 3})
	assert.ErrorContains(t, err, "draws")
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err = b.Odds(ctx, d, Foot{}, OddsOptions{})
	assert.ErrorIs(t, err, context.Canceled)
}

// The walls near the device are taken as planes that move in proportion to the measures. Here each draw is also computed
// whole: sheet, room, field, seating, exact distances. What lies near its limit agrees within 0.3 mm, and so does the ride-up.
func TestOddsAgreeWithTheWholeComputation(t *testing.T) {
	for _, shoe := range []string{"indoor-court", "extra-depth"} {
		b, d := trial{shoe: shoe, insoleOut: shoe == "extra-depth"}.parts(t)
		r, err := b.Check(context.Background(), d, Foot{})
		require.NoError(t, err)
		m, err := b.model(context.Background(), d, r, OddsOptions{})
		require.NoError(t, err)
		compared := 0
		for seed := range uint64(3) {
			rng := func() *rand.Rand { return rand.New(rand.NewPCG(11, seed)) }
			quick := m.one(rng())
			z := rng()
			s := b.Room.Sheet
			for i, id := range b.shoeSources() {
				v := 0.0
				if m.names[i].even {
					v = (2*z.Float64() - 1) * s.M[id].PlusMinus
				} else {
					v = z.NormFloat64() * s.M[id].PlusMinus / 1.96
				}
				s.M[id].Value += v
			}
			// The device as drawn has its own offsets; take them out of the quick draw by drawing without them.
			for i := len(b.shoeSources()); i < len(m.names); i++ {
				quick.z[i] = 0
			}
			quick = m.at(quick.z)
			room, err := footwear.NewRoom(s, b.Room.InsoleIn)
			if err != nil {
				continue // this draw contradicts itself
			}
			whole, err := NewBench(context.Background(), room)
			require.NoError(t, err)
			w, err := whole.Check(context.Background(), d, Foot{})
			require.NoError(t, err)
			require.Equal(t, Converged, w.Status)
			assert.InDelta(t, w.RideUpMM, quick.rideUp, 0.3, "%s seed %d: ride-up", shoe, seed)
			// A place may lie in a neighbouring zone of the other room, so compare what each feature has left of the give,
			// over all walls.
			for f := range device.NumFeatures {
				switch f {
				case device.WedgeMedialSide, device.WedgeLateralSide, device.WedgeBackSide:
					if b.Room.InsoleIn {
						continue // on a soft insole the floor gives more than its edge, and the odds keep a place's first zone
					}
				}
				for _, pose := range []PoseName{Intended, Settled} {
					a, left := math.Inf(1), math.Inf(1)
					for i := range w.Findings {
						if x := &w.Findings[i]; x.Feature == f && x.Pose == pose && x.decides() && !x.Bearing {
							a = math.Min(a, x.GapMM+x.GiveMM)
						}
					}
					for i, k := range m.keys {
						if k.Feature == f && k.Pose == pose && !m.bearing[i] {
							left = math.Min(left, quick.gap[i]+m.give[i])
						}
					}
					if math.Abs(a) < 0.6 && !math.IsInf(left, 1) {
						assert.InDelta(t, a, left, 0.3, "%s seed %d: %s, %s", shoe, seed, f, pose)
						compared++
					}
				}
			}
		}
		assert.Greater(t, compared, 3)
	}
}
