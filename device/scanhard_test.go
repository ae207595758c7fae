package device

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

func middle(m *mesh.Mesh, i int) r3.Vec {
	f := m.F[i]
	return r3.Scale(1.0/3, r3.Add(m.V[f[0]], r3.Add(m.V[f[1]], m.V[f[2]])))
}

// A scan as it comes: holes, faces turned round, faces twice, a stray piece, a soup of triangles.
func TestADamagedScanIsMended(t *testing.T) {
	built, err := Build(Default())
	require.NoError(t, err)
	m, pose := scanOf(built, 1.6, 0.05, 5, false)
	rng := rand.New(rand.NewPCG(3, 4))
	var holes []r3.Vec
	for range 12 {
		holes = append(holes, m.V[rng.IntN(len(m.V))])
	}
	m = m.Subset(func(i int) bool {
		for _, h := range holes {
			if r3.Norm(r3.Sub(middle(m, i), h)) < 3 {
				return false
			}
		}
		return true
	})
	soup := &mesh.Mesh{}
	for i, f := range m.F {
		if rng.IntN(50) == 0 {
			f[1], f[2] = f[2], f[1]
		}
		for range 1 + rng.IntN(100)/99 { // one in a hundred twice
			n := int32(len(soup.V))
			soup.V = append(soup.V, m.V[f[0]], m.V[f[1]], m.V[f[2]])
			soup.F = append(soup.F, [3]int32{n, n + 1, n + 2})
		}
		_ = i
	}
	soup.Append(tube(6, func(u float64) (x, y, z float64) { return 300 + 5*u, 2, 2 }))

	got, rep, err := FromScan(context.Background(), soup, ScanOptions{FootLengthMM: 266})
	require.NoError(t, err)
	assertFrame(t, rep, pose, false)
	share, confusions := labels(built, got)
	assert.GreaterOrEqual(t, share, 0.92, confusions)
	assertMeasures(t, built, got, rep)
	var kinds []mesh.RepairKind
	for _, r := range rep.Repairs {
		kinds = append(kinds, r.Kind)
	}
	assert.Contains(t, kinds, mesh.FilledHoles)
	assert.Contains(t, kinds, mesh.TurnedFaces)
	assert.Contains(t, kinds, mesh.DuplicateFaces)
	assert.Contains(t, kinds, mesh.Islands)
}

// A hole too large to be filled, where the scanner's table was: the edge of the arch.
func TestAScanWithAnOpeningIsADeviceWithANote(t *testing.T) {
	built, err := Build(Default())
	require.NoError(t, err)
	open := built.Rigid.Subset(func(i int) bool {
		c := middle(built.Rigid, i)
		return !(Feature(built.Rigid.Tag[i]) == ShellBottom && c.X > 90 && c.X < 150 && math.Abs(c.Y) < 16)
	})
	got, rep, err := FromScan(context.Background(), open, ScanOptions{FootLengthMM: 266})
	require.NoError(t, err)
	assertFrame(t, rep, mesh.Pose{}, false)
	assertMeasures(t, built, got, rep)
	require.NotEmpty(t, rep.Notes)
	assert.Contains(t, rep.Notes[0], "openings")
}

func TestAFrameCanBeGiven(t *testing.T) {
	built, err := Build(Default())
	require.NoError(t, err)
	for _, left := range []bool{false, true} {
		m, pose := scanOf(built, 2.5, 0, 9, left)
		in := func(p r3.Vec) r3.Vec {
			if left {
				p.Y = -p.Y
			}
			return pose.Apply(p)
		}
		marks := &Marks{HeelBack: in(r3.Vec{Z: 17}), FrontMiddle: in(r3.Vec{X: built.FrontXMM}), Medial: in(r3.Vec{X: 115, Y: 34, Z: 24})}
		_, rep, err := FromScan(context.Background(), m, ScanOptions{FootLengthMM: 266, Marks: marks})
		require.NoError(t, err)
		assertFrame(t, rep, pose, left)
		assert.Equal(t, left, rep.Side == Left)

		inverse := pose.Inverse()
		got, rep, err := FromScan(context.Background(), m, ScanOptions{FootLengthMM: 266, Pose: &inverse})
		require.NoError(t, err)
		assert.Equal(t, left, rep.Side == Left)
		off := rep.From.Compose(pose)
		assert.Less(t, r3.Norm(off.RotationVectorDeg()), 1e-6)
		assert.Less(t, r3.Norm(off.T), 1e-6)
		assertMeasures(t, built, got, rep)
	}
}

func TestTheSideThatIsSaidCounts(t *testing.T) {
	built, err := Build(Default())
	require.NoError(t, err)
	_, rep, err := FromScan(context.Background(), built.Rigid, ScanOptions{Side: Left})
	require.NoError(t, err)
	assert.Equal(t, Left, rep.Side)
	assert.True(t, rep.SideSure)
}

func TestWhatTheScanDoesNotTellIsTakenFromTheStart(t *testing.T) {
	built, err := Build(Default())
	require.NoError(t, err)
	start := Default()
	start.Process, start.Material, start.Sex, start.WedgeMaterial = Milled, "pa12", Woman, SamePolymer
	got, rep, err := FromScan(context.Background(), built.Rigid, ScanOptions{Start: start})
	require.NoError(t, err)
	o := got.Options
	assert.Equal(t, []string{Milled, "pa12", Woman, SamePolymer}, []string{o.Process, o.Material, o.Sex, o.WedgeMaterial})
	foot, ok := rep.Measure("foot_length_mm")
	require.True(t, ok)
	assert.False(t, foot.Measured, "a guess is no measure")
	assert.InDelta(t, 266, foot.Value, foot.PlusMinus)
	assert.Greater(t, got.MassG, 0.0)
	assert.InEpsilon(t, built.ShellVolumeMM3+built.WedgeVolumeMM3, got.ShellVolumeMM3+got.WedgeVolumeMM3, 1e-6)
	assert.InEpsilon(t, built.ShellVolumeMM3, got.ShellVolumeMM3, 0.1)
}

func TestSameScanSameDevice(t *testing.T) {
	built, err := Build(Default())
	require.NoError(t, err)
	m, _ := scanOf(built, 2.5, 0.1, 1, false)
	before := m.Clone()
	a, ra, err := FromScan(context.Background(), m, ScanOptions{})
	require.NoError(t, err)
	b, rb, err := FromScan(context.Background(), m, ScanOptions{})
	require.NoError(t, err)
	assert.Equal(t, a, b)
	assert.Equal(t, ra, rb)
	assert.Equal(t, before, m, "the mesh given is not changed")
}

// Pieces of devices, and shapes that are crumpled: a problem that says how to mend it, or a device with finite measures.
func TestNoScanPanics(t *testing.T) {
	built, err := Build(Default())
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(8, 8))
	devices := 0
	for range 24 {
		n := r3.Unit(r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
		d := 60 * rng.Float64()
		centre := r3.Vec{X: 95 * rng.Float64() * 2, Y: 20 * rng.NormFloat64()}
		m := built.Rigid.Subset(func(i int) bool { return r3.Dot(r3.Sub(middle(built.Rigid, i), centre), n) < d })
		if rng.IntN(3) == 0 {
			for i := range m.V {
				m.V[i].Z *= 0.2 + 2*rng.Float64()
			}
		}
		got, _, err := FromScan(context.Background(), m, ScanOptions{})
		if err != nil {
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			assert.NotEmpty(t, p.Mend)
			continue
		}
		devices++
		b := got.Base
		for _, v := range []float64{b.LengthMM, b.WidthMM, b.AreaMM2, got.FrontXMM, got.RimXMM, got.HeelSeatMM, got.HeelHalfWidthMM, got.MassG} {
			assert.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%+v", b)
		}
		assert.Empty(t, got.Options.Validate())
	}
	assert.Positive(t, devices, "some pieces are nearly whole")
}

func TestScanOptionsThatCantBe(t *testing.T) {
	built, err := Build(Default())
	require.NoError(t, err)
	for _, o := range []ScanOptions{
		{Side: "both"},
		{FootLengthMM: 20},
		{FootLengthMM: math.NaN()},
		{Marks: &Marks{}},
		{Marks: &Marks{FrontMiddle: r3.Vec{X: 190}, Medial: r3.Vec{X: 90, Y: 1}}},
		{Marks: &Marks{FrontMiddle: r3.Vec{X: math.NaN()}, Medial: r3.Vec{Y: 30}}},
		{Pose: &mesh.Pose{T: r3.Vec{X: math.Inf(1)}}},
	} {
		_, _, err := FromScan(context.Background(), built.Rigid, o)
		var p problem.Problem
		require.ErrorAs(t, err, &p, "%+v", o)
		assert.NotEmpty(t, p.Mend)
	}
}
