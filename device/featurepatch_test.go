package device

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

func areaOf(m *mesh.Mesh, f Feature) float64 {
	sum := 0.0
	for i, t := range m.Tag {
		if Feature(t) == f {
			sum += m.FaceArea(i)
		}
	}
	return sum
}

func TestRetagNamesThePlaceAndNothingElse(t *testing.T) {
	d := build(t, func(*Options) {})
	before := d.Rigid.Clone()
	for _, c := range []struct {
		name string
		p    Patch
		in   func(c r3.Vec) bool
	}{
		{
			"ball",
			Patch{Feature: ShellBottom, Ball: &Ball{r3.Vec{X: 15, Y: -25, Z: 12}, 12}},
			func(c r3.Vec) bool { return r3.Norm(r3.Sub(c, r3.Vec{X: 15, Y: -25, Z: 12})) <= 12 },
		},
		{
			"box",
			Patch{Feature: Arch, Box: &r3.Box{Min: r3.Vec{X: 100, Y: 0, Z: -9}, Max: r3.Vec{X: 120, Y: 50, Z: 9}}},
			func(c r3.Vec) bool { return c.X >= 100 && c.X <= 120 && c.Y >= 0 && c.Z <= 9 },
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := Retag(d, c.p)
			require.NoError(t, err)
			assert.Equal(t, before, d.Rigid, "the device given is not changed")
			changed := 0
			for i, f := range d.Rigid.F {
				v := d.Rigid.V
				if c.in(r3.Scale(1.0/3, r3.Add(v[f[0]], r3.Add(v[f[1]], v[f[2]])))) {
					assert.Equal(t, uint8(c.p.Feature), got.Rigid.Tag[i])
					changed++
				} else {
					assert.Equal(t, d.Rigid.Tag[i], got.Rigid.Tag[i])
				}
			}
			assert.Greater(t, changed, 20)
			assert.Equal(t, d.Base, got.Base, "the base was not touched")
			twice, err := Retag(got, c.p)
			require.NoError(t, err)
			assert.Equal(t, got.Rigid, twice.Rigid)
		})
	}
}

func TestFloodTakesOneFeatureUpToItsEdges(t *testing.T) {
	d := build(t, func(*Options) {})
	side := areaOf(d.Rigid, WedgeLateralSide)
	x := (d.RimXMM + d.Base.FrontXMM) / 2
	got, err := Retag(d, Patch{Feature: WedgeBackSide, Flood: &Flood{r3.Vec{X: x, Y: -30, Z: 2}, 20}})
	require.NoError(t, err)
	assert.InDelta(t, side+areaOf(d.Rigid, WedgeBackSide), areaOf(got.Rigid, WedgeBackSide), 1e-9)
	assert.Zero(t, areaOf(got.Rigid, WedgeLateralSide))
	still, err := Retag(d, Patch{Feature: WedgeBackSide, Flood: &Flood{r3.Vec{X: x, Y: -30, Z: 2}, 0}})
	require.NoError(t, err)
	assert.Greater(t, areaOf(still.Rigid, WedgeLateralSide), 0.5*side, "without a turn only what is level with the first face")
}

func TestBaseIsMeasuredAgainAfterARetag(t *testing.T) {
	d := build(t, func(*Options) {})
	cut := (d.Base.BackXMM + d.Base.FrontXMM) / 2
	got, err := Retag(d, Patch{Feature: WedgeBackSide, Box: &r3.Box{Min: r3.Vec{X: -1, Y: -50, Z: -1}, Max: r3.Vec{X: cut, Y: 50, Z: 0.1}}})
	require.NoError(t, err)
	assert.InDelta(t, areaOf(got.Rigid, WedgeBase), got.Base.AreaMM2, 1e-9)
	assert.InDelta(t, d.Base.FrontXMM, got.Base.FrontXMM, 1e-9)
	assert.InDelta(t, cut, got.Base.BackXMM, 4.1, "faces are up to 4 mm long")
	assert.InDelta(t, got.Base.FrontXMM-got.Base.BackXMM, got.Base.LengthMM, 1e-12)
	assert.InDelta(t, d.Base.LateralMM, got.Base.LateralMM, 0.2)
	assert.InDelta(t, math.Abs(polygonArea(got.Base.Outline)), got.Base.AreaMM2, 0.1*got.Base.AreaMM2, "ragged at the cut")
	assert.Positive(t, polygonArea(got.Base.Outline), "counterclockwise")
}

func TestParsePatch(t *testing.T) {
	p, err := ParsePatch("wedge-base@ball:40, -1.5,0,8")
	require.NoError(t, err)
	assert.Equal(t, Patch{Feature: WedgeBase, Ball: &Ball{r3.Vec{X: 40, Y: -1.5}, 8}}, p)
	p, err = ParsePatch("Cup rim@box:60,40,30,0,-40,10")
	require.NoError(t, err)
	assert.Equal(t, Patch{Feature: CupRim, Box: &r3.Box{Min: r3.Vec{Y: -40, Z: 10}, Max: r3.Vec{X: 60, Y: 40, Z: 30}}}, p)
	p, err = ParsePatch("arch@flood:90,30,12,25")
	require.NoError(t, err)
	assert.Equal(t, Patch{Feature: Arch, Flood: &Flood{r3.Vec{X: 90, Y: 30, Z: 12}, 25}}, p)
	for f := range NumFeatures {
		got, err := ParseFeature(f.Key())
		require.NoError(t, err)
		assert.Equal(t, f, got)
	}
}

func TestPatchesThatCantBe(t *testing.T) {
	d := build(t, func(*Options) {})
	for _, s := range []string{
		"", "arch", "arch@", "arch@ball", "arch@ball:1,2,3", "arch@box:1,2,3,4", "arch@cone:1,2,3,4", "heel@ball:1,2,3,4", "arch@ball:1,2,x,4",
		"arch@ball:1,2,3,0", "arch@ball:1,2,3,-4", "arch@ball:1,NaN,3,4", "arch@flood:1,2,3,190", "arch@flood:1,2,Inf", "cover@ball:1,2,3,4",
	} {
		_, err := ParsePatch(s)
		var p problem.Problem
		require.ErrorAs(t, err, &p, s)
		assert.NotEmpty(t, p.Mend, s)
	}
	for _, c := range []struct {
		name string
		p    Patch
	}{
		{"nothing there", Patch{Feature: Arch, Ball: &Ball{r3.Vec{X: 900}, 5}}},
		{"no place", Patch{Feature: Arch}},
		{"two places", Patch{Feature: Arch, Ball: &Ball{r3.Vec{}, 5}, Box: &r3.Box{}}},
		{"no base left", Patch{Feature: ShellBottom, Box: &r3.Box{Min: r3.Vec{X: -9, Y: -99, Z: -1}, Max: r3.Vec{X: 99, Y: 99, Z: 0.1}}}},
		{"all one feature", Patch{Feature: WedgeBase, Ball: &Ball{r3.Vec{}, 999}}},
		{"unknown feature", Patch{Feature: NumFeatures, Ball: &Ball{r3.Vec{}, 9}}},
	} {
		got, err := Retag(d, c.p)
		var p problem.Problem
		assert.ErrorAs(t, err, &p, c.name)
		assert.Nil(t, got, c.name)
	}
}
