package fit

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/internal/mesh"
)

// gapNear is the tightest gap of a device within 3 mm of a place of the room, where zones don't matter.
func gapNear(b *Bench, p *probe, pose mesh.Pose, at r3.Vec) float64 {
	least := math.Inf(1)
	for _, s := range p.samples {
		if q := pose.Apply(s.P); r3.Norm(r3.Sub(q, at)) < 3 {
			least = math.Min(least, b.tree.Nearest(q).Signed)
		}
	}
	return least
}

// A scan of a built device (fixed noise, some pose) is seated as the built one is.
func TestAScannedDeviceSettlesAsTheBuiltOne(t *testing.T) {
	for i, c := range []struct {
		name, shoe  string
		noiseMM     float64
		toleranceMM float64
		prescribe   func(o *device.Options)
	}{
		{"block", "lace-dress", 0, 0.3, nil},
		{"block, noise of a hand-held scanner", "lace-dress", 0.1, 0.3, nil},
		{"fore bar", "lace-dress", 0.1, 0.3, func(o *device.Options) { o.WedgeBuild = device.ForeBar }},
		{"flat", "lace-dress", 0.1, 0.3, func(o *device.Options) { o.WedgeBuild = device.Flat }},
		{"motion", "lace-dress", 0.1, 0.3, func(o *device.Options) { o.ContactAngleDeg, o.MotionDeg = 4, 4 }},
		{"coarse noise", "lace-dress", 0.3, 0.5, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, built := trial{shoe: c.shoe, prescribe: c.prescribe}.parts(t)
			// As fine as the scan, so that both are sampled alike.
			built.Rigid = built.Rigid.Refined(func(_, _ r3.Vec) float64 { return 1.4 })
			m := built.Rigid.Clone()
			m.Tag = nil
			rng := rand.New(rand.NewPCG(uint64(i), 5))
			for k := range m.V {
				m.V[k] = r3.Add(m.V[k], r3.Scale(c.noiseMM, r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}))
			}
			m = m.Transformed(mesh.PoseAbout(r3.Vec{}, r3.Vec{X: 1, Y: -2, Z: 0.5}, r3.Vec{X: 30, Z: -100}))
			scanned, _, err := device.FromScan(context.Background(), m, device.ScanOptions{FootLengthMM: built.Options.FootLengthMM})
			require.NoError(t, err)

			want, err := b.Check(context.Background(), built, Foot{})
			require.NoError(t, err)
			got, err := b.Check(context.Background(), scanned, Foot{})
			require.NoError(t, err)
			assert.Equal(t, Converged, got.Status)
			assert.InDelta(t, want.RideUpMM, got.RideUpMM, 0.3)
			assert.InDelta(t, want.TiltFrontalDeg, got.TiltFrontalDeg, 0.5)
			assert.Equal(t, want.Verdict.State, got.Verdict.State)
			ofBuilt, ofScan := newProbe(built), newProbe(scanned)
			compared, last := 0, 0
			for k := range want.Findings {
				if want.Findings[k].RollDeg < want.Findings[last].RollDeg {
					last = k
				}
			}
			for k := range want.Findings {
				f := &want.Findings[k]
				at := map[PoseName][2]mesh.Pose{Intended: {want.Intended, got.Intended}, Settled: {want.Settled, got.Settled}}[f.Pose]
				if f.GapMM > 1 || f.RollDeg != want.Findings[last].RollDeg {
					continue // the poses are those of the last roll
				}
				a, z := gapNear(b, ofBuilt, at[0], f.At), gapNear(b, ofScan, at[1], f.At)
				assert.InDelta(t, a, z, c.toleranceMM, "%s, %s, %v", f.Pose, f.Place(), f.Feature)
				compared++
			}
			assert.Greater(t, compared, 8)
		})
	}
}
