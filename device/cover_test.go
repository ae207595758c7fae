package device

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/internal/mesh"
)

func TestCoverHasItsThicknessAndReach(t *testing.T) {
	for _, c := range []struct {
		extent string
		end    float64 // share of foot length; from memory, as the code's own
	}{{FrontEdgeX, 0}, {ToeCrease, 0.83}, {Full, 1}} {
		for _, b := range []string{Block, Open} {
			d := build(t, func(o *Options) {
				o.WedgeBuild, o.CoverExtent, o.CoverHeelMM, o.CoverFrontMM = b, c.extent, 3, 2
			})
			require.NoError(t, d.CoverSolid.Closed())
			end := c.end * d.Options.FootLengthMM
			if c.extent == FrontEdgeX {
				end = d.FrontXMM
			}
			assert.InDelta(t, end, d.CoverSolid.Bounds().Max.X, 0.5)
			// Under the heel the cover stands its thickness over the foot side, or over the seat in the hole.
			for _, loop := range cut(t, d.CoverSolid, 1, 0.01) {
				top := math.Inf(-1)
				for _, p := range loop {
					if math.Abs(p[0]-d.RimXMM) < 3 {
						top = math.Max(top, p[1])
					}
				}
				assert.InDelta(t, math.Max(d.HeelSeatMM, 0)+3, top, 0.05, "%s %s", b, c.extent)
			}
		}
	}
}

func TestCoverVolumeIsAreaTimesThickness(t *testing.T) {
	d := build(t, func(o *Options) { o.CoverExtent, o.CoverHeelMM, o.CoverFrontMM = FrontEdgeX, 0.5, 0.5 })
	foot := d.Rigid.Subset(func(i int) bool { return Feature(d.Rigid.Tag[i]) == FootSide })
	assert.InEpsilon(t, 0.5*foot.Area(), d.CoverVolumeMM3, 0.02)
}

func TestNoCoverNoSolid(t *testing.T) {
	d := build(t, func(o *Options) { o.CoverExtent = None })
	assert.Nil(t, d.CoverSolid)
	assert.Zero(t, d.CoverVolumeMM3)
	d = build(t, func(o *Options) { o.CoverHeelMM, o.CoverFrontMM = 0, 0 })
	assert.Nil(t, d.CoverSolid)
}

func TestExtensionLiesOnTheBoardFlushWithTheShell(t *testing.T) {
	d := build(t, func(o *Options) { o.CoverExtent, o.Extension, o.ExtensionMM = None, Full, 4 })
	require.NoError(t, d.CoverSolid.Closed())
	b := d.CoverSolid.Bounds()
	assert.InDelta(t, 266, b.Max.X, 0.5)
	for _, v := range d.CoverSolid.V {
		over := v.Z - boardMM(10, v.X)
		assert.GreaterOrEqual(t, over, -1e-9)
		if v.X > d.FrontXMM+skiveMM {
			assert.True(t, math.Abs(over) < 1e-9 || math.Abs(over-4) < 1e-6, "on the board or 4 mm over it: %v", over)
		}
	}
	assertNoOverlap(t, d.Rigid, d.CoverSolid)
}

// assertNoOverlap checks that no point of b lies inside a by more than the facets' own error.
func assertNoOverlap(t *testing.T, a, b *mesh.Mesh) {
	t.Helper()
	tree := mesh.NewTree(a)
	for _, v := range b.V {
		assert.Less(t, tree.Nearest(v).Signed, 0.05, "%v", v)
	}
}

func TestCoverLiesOutsideTheShell(t *testing.T) {
	for _, b := range []string{Block, Flat, Open, ForeBar} {
		d := build(t, func(o *Options) { o.WedgeBuild = b; o.Extension = ToeCrease })
		assertNoOverlap(t, d.Rigid, d.CoverSolid)
	}
}
