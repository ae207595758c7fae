package fit

import (
	"context"
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

var (
	clinics    = flag.Int("clinics", 6, "measured shoes of the calibration test")
	truthsEach = flag.Int("truths", 12, "true shoes behind each")
)

// TestOddsAreCalibrated runs simulated clinics with known true shoes. A clinic is a shoe as measured, with a device; with a
// flat prior the true shoe given its measures is the measured one with an error of each instrument drawn anew, and the true
// device the built one with the errors of its making. Each true shoe is built, and the true device seated in it, whole: no
// plane, no first order, zones as they are there. Of the devices called x % fit, x % have to fit.
//
// The ordinary run is small: it holds the mean over all clinics to three standard errors, and the bins to four. The long run
//
//	go test -tags ci,migrated_fynedo ./fit -run Calibrated -clinics 120 -truths 25 -v
//
// is what the figure in docs/performance.md comes from.
func TestOddsAreCalibrated(t *testing.T) {
	ctx := context.Background()
	rng := rand.New(rand.NewPCG(8, 80))
	shoes := footwear.Demo().All()
	type bin struct{ said, came, spread, n float64 }
	var bins [5]bin
	var all bin
	for done := 0; done < *clinics; {
		s := shoes[rng.IntN(len(shoes))]
		o, err := MadeFor(device.Default(), s)
		require.NoError(t, err)
		o.CoverExtent = device.None
		o.WidthTrimMM += 10 * rng.Float64()
		o.CupDepthMM -= 4 * rng.Float64()
		o.HeelWidthMM = device.Default().HeelWidthMM
		bevel := 25 + 15*rng.Float64()
		o.BevelMedialDeg, o.BevelLateralDeg, o.BevelBackDeg = bevel, bevel, bevel
		d, err := device.Build(o)
		if err != nil {
			continue
		}
		room, err := footwear.NewRoom(s, !s.InsoleRemovable)
		require.NoError(t, err)
		b, err := NewBench(ctx, room)
		require.NoError(t, err)
		r, err := b.Check(ctx, d, Foot{})
		require.NoError(t, err)
		if r.Status != Converged || math.Abs(r.MarginMM()) > 1 {
			continue // far from the limit every odds are right
		}
		odds, err := b.Odds(ctx, d, Foot{}, OddsOptions{Draws: 500})
		require.NoError(t, err)
		done++
		truths := make([]int, *truthsEach) // 1 it fits, −1 it does not, 0 no such shoe
		seeds := make([]uint64, len(truths))
		for i := range seeds {
			seeds[i] = rng.Uint64()
		}
		each(ctx, len(truths), func(i int) { truths[i] = truth(ctx, b, d, rand.New(rand.NewPCG(seeds[i], 1))) })
		k := &bins[min(int(5*odds.Fit), 4)]
		for _, fits := range truths {
			if fits == 0 {
				continue
			}
			for _, x := range []*bin{k, &all} {
				x.n++
				x.said += odds.Fit
				x.spread += odds.Fit * (1 - odds.Fit)
				if fits > 0 {
					x.came++
				}
			}
		}
	}
	for i, k := range bins {
		if k.n > 0 {
			t.Logf("said %3.0f %%, came %3.0f %% of %.0f (odds %d to %d %%)", 100*k.said/k.n, 100*k.came/k.n, k.n, 20*i, 20*i+20)
			// Beside chance, the first-order step and the draws are allowed 3 % (the goal).
			assert.InDelta(t, k.said, k.came, 4*math.Sqrt(k.spread)+0.03*k.n+1, "odds of %d to %d %%", 20*i, 20*i+20)
		}
	}
	require.Greater(t, all.n, 20.0)
	assert.InDelta(t, all.said, all.came, 3*math.Sqrt(all.spread)+0.03*all.n)
}

// truth draws one true shoe and device behind what was measured, and says whether it fits: 1, −1, or 0 where the measures
// drawn are no shoe.
func truth(ctx context.Context, b *Bench, d *device.Device, rng *rand.Rand) int {
	s := b.Room.Sheet
	for _, id := range b.shoeSources() {
		if id.Info().Kind == footwear.Even {
			s.M[id].Value += (2*rng.Float64() - 1) * s.M[id].PlusMinus
		} else {
			s.M[id].Value += rng.NormFloat64() * s.M[id].PlusMinus / 1.96
		}
	}
	room, err := footwear.NewRoom(s, b.Room.InsoleIn)
	if err != nil {
		return 0
	}
	whole, err := NewBench(ctx, room)
	if err != nil {
		return 0
	}
	made := *d
	made.Rigid = asMade(d.Rigid, rng)
	r, err := whole.Check(ctx, &made, Foot{})
	if err != nil || r.Status != Converged || r.RideUpMM > rideUpBlockedMM {
		return -1
	}
	for i := range r.Findings {
		if f := &r.Findings[i]; f.decides() && f.GapMM < -f.GiveMM {
			return -1
		}
	}
	for _, c := range r.FootRoom {
		if c.decides && c.LeftMM < c.leastMM {
			return -1
		}
	}
	return 1
}

// asMade moves each part of a device's surface along its normals by an error of its own, as deviceSources has them.
func asMade(m *mesh.Mesh, rng *rand.Rand) *mesh.Mesh {
	off := map[device.Feature]float64{}
	cup, arch, wedge := rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()
	for f, z := range map[device.Feature]float64{
		device.CupRim: cup, device.CupWall: cup, device.Arch: arch, device.LateralFlange: arch, device.FrontEdge: arch, device.ShellBottom: arch,
		device.WedgeMedialSide: wedge, device.WedgeLateralSide: wedge, device.WedgeBackSide: wedge, device.WedgeFrontSide: wedge,
	} {
		off[f] = z * deviceSigmaMM
	}
	out := m.Clone()
	normal := make([]r3.Vec, len(m.V))
	for i := range m.F {
		if off[device.Feature(m.Tag[i])] == 0 {
			continue
		}
		n := r3.Scale(off[device.Feature(m.Tag[i])], m.FaceNormal(i))
		for _, v := range m.F[i] {
			if r3.Norm(n) > r3.Norm(normal[v]) {
				normal[v] = n
			}
		}
	}
	for v := range out.V {
		out.V[v] = r3.Add(out.V[v], normal[v])
	}
	return out
}
