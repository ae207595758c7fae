package fit

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/footwear"
)

// deepInTheWalls are devices far too wide for a shoe without its insole: where they lie, the push of single samples jumps from a soft
// wall to the hard edge of the seat.
var deepInTheWalls = []struct {
	shoe   string
	eu     float64
	preset string
	massKG float64
	change func(*device.Options)
}{
	{"ankle-boot", 37, "child", 50, nil},
	{"ankle-boot", 40, "child", 38, nil},
	{"court-45", 38, "deep-cup", 105, nil},
	{"court-45", 40, "slim-dress", 95, nil},
	{"court-45", 40, "soft-foam-block", 75, nil},
	{"studded-soft", 42, "upright-lateral", 65, nil},
	{"leather-trainer", 42, "milled-light", 80, func(o *device.Options) { o.WidthTrimMM = 0 }},
}

// They come to rest, and what balances there is true: forces looked at anew, at other poses than those of the search, mix as well.
func TestDeepInTheWallsADeviceComesToRest(t *testing.T) {
	for _, c := range deepInTheWalls {
		t.Run(c.preset+" in "+c.shoe, func(t *testing.T) {
			s, err := footwear.Demo().Find(c.shoe)
			require.NoError(t, err)
			size := s.Size
			size.Value = c.eu
			if s.Size != size {
				s, err = s.Graded(size, footwear.GradeOptions{Sizes: sizesOf(s)})
				require.NoError(t, err)
			}
			room, err := footwear.NewRoom(s, false)
			require.NoError(t, err)
			preset, err := device.FindPreset(c.preset)
			require.NoError(t, err)
			o, err := MadeFor(preset.Options, s)
			require.NoError(t, err)
			if c.change != nil {
				c.change(&o)
			}
			d, err := device.Build(o)
			require.NoError(t, err)
			b, err := NewBench(context.Background(), room)
			require.NoError(t, err)
			r, err := b.Check(context.Background(), d, Foot{BodyMassKG: c.massKG})
			require.NoError(t, err)
			require.Equal(t, Converged, r.Status)
			assert.LessOrEqual(t, r.WithinMM, creaseMM)
			assert.LessOrEqual(t, unbalancedAfresh(b, d, r), creaseShare)
		})
	}
}

// unbalancedAfresh is the smallest mixture of the forces at 400 poses as near to where a device came to rest as that is known,
// as a share of what the walls push.
func unbalancedAfresh(b *Bench, d *device.Device, r *Result) float64 {
	p, aside := newProbe(d), 0.0
	if len(rolls(d.Base)) > 1 {
		aside = facetLeverMM
	}
	loads, holds := b.loads(p, b.seatFrame(d.Base), r.Foot.BodyMassKG, aside)
	s := newSeating(Body{Samples: p.samples, Centre: p.centre}, Walls{Tree: b.tree, Stiffness: b.stiffness},
		SeatOptions{Start: r.Intended, Loads: loads, Holds: holds})
	s.exact = true
	there := s.at(r.Settled)
	rng := rand.New(rand.NewPCG(3, 4))
	forces := []vec6{there.grad}
	for range 400 {
		var off vec6
		for i := range off {
			off[i] = r.WithinMM * (2*rng.Float64() - 1)
		}
		forces = append(forces, s.at(s.moved(r.Settled, off)).grad)
	}
	var mix vec6
	for k, share := range leastMixture(forces) {
		for i := range mix {
			mix[i] += share * forces[k][i]
		}
	}
	return mix.norm() / there.pushes
}
