package device

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// scanOf is a device as a scanner would give it: edges of at most edgeMM, each point off by a normal deviate of noiseMM
// along each axis, a left one mirrored, then turned and moved by the pose that it returns.
func scanOf(d *Device, edgeMM, noiseMM float64, seed uint64, left bool) (m *mesh.Mesh, scanFromDevice mesh.Pose) {
	m = d.Rigid.Refined(func(_, _ r3.Vec) float64 { return edgeMM })
	m.Tag = nil
	rng := rand.New(rand.NewPCG(seed, 77))
	noise := func(s float64) r3.Vec {
		return r3.Scale(s, r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
	}
	for i := range m.V {
		m.V[i] = r3.Add(m.V[i], noise(noiseMM))
	}
	if left {
		m = m.MirroredY()
	}
	pose := mesh.PoseAbout(r3.Vec{}, r3.Scale(3.1*rng.Float64(), r3.Unit(noise(1))), noise(200))
	return m.Transformed(pose), pose
}

// labels compares the features of a scanned device with those of the built one that it was scanned from: the share of
// the area that agrees, and the confusions over 0.1 % in words, the largest first.
func labels(built, scanned *Device) (share float64, confusions string) {
	tree := mesh.NewTree(built.Rigid)
	taken := map[[2]Feature]float64{}
	good, all := 0.0, 0.0
	for i, f := range scanned.Rigid.F {
		p := r3.Scale(1.0/3, r3.Add(scanned.Rigid.V[f[0]], r3.Add(scanned.Rigid.V[f[1]], scanned.Rigid.V[f[2]])))
		is, said := Feature(built.Rigid.Tag[tree.Nearest(p).Face]), Feature(scanned.Rigid.Tag[i])
		a := scanned.Rigid.FaceArea(i)
		all += a
		if is == said {
			good += a
		} else {
			taken[[2]Feature{is, said}] += a
		}
	}
	var lines []string
	for k, a := range taken {
		if a > 0.001*all {
			lines = append(lines, fmt.Sprintf("%5.2f %% %s taken for %s", 100*a/all, k[0], k[1]))
		}
	}
	slices.SortFunc(lines, func(a, b string) int { return strings.Compare(b, a) })
	return good / all, strings.Join(lines, "\n")
}

// The devices are made by Build, so that frame, features and sizes are known; noise and poses have fixed seeds.
var scanCases = []struct {
	name    string
	noiseMM float64
	left    bool
	change  func(o *Options)
}{
	{"usual block", 0, true, func(*Options) {}},
	{"usual block, noise", 0.3, false, func(*Options) {}},
	{"upright lateral side", 0.1, true, func(o *Options) { o.BevelLateralDeg = 0 }},
	{"contact and motion", 0, false, func(o *Options) { o.ContactAngleDeg, o.MotionDeg = 4, 4 }},
	{"motion to both sides, noise", 0.3, true, func(o *Options) { o.ContactAngleDeg, o.MotionDeg = 4, 8 }},
	{"inverted", 0.1, false, func(o *Options) { o.TiltDeg = 5 }},
	{"everted, high heel", 0.1, true, func(o *Options) { o.TiltDeg, o.HeelRiseMM = -4, 40 }},
	{"deep cup, thick", 0.3, false, func(o *Options) { o.CupDepthMM, o.ShellThicknessMM = 22, 4 }},
	{"shallow cup, thin", 0.3, true, func(o *Options) { o.CupDepthMM, o.ShellThicknessMM, o.ArchHeightMM = 8, 2, 18 }},
	{"raised, steep back", 0, false, func(o *Options) { o.HeelRaiseMM, o.BevelBackDeg = 6, 15 }},
	{"fore bar", 0, true, func(o *Options) { o.WedgeBuild = ForeBar }},
	{"fore bar, noise", 0.1, false, func(o *Options) { o.WedgeBuild = ForeBar }},
	{"flat", 0, false, func(o *Options) { o.WedgeBuild = Flat }},
	{"flat, noise", 0.1, true, func(o *Options) { o.WedgeBuild = Flat }},
	{"open", 0, true, func(o *Options) { o.WedgeBuild = Open }},
	{"open, noise", 0.1, false, func(o *Options) { o.WedgeBuild = Open }},
	{"child's", 0.1, true, func(o *Options) { o.FootLengthMM, o.ArchHeightMM = 180, 17 }},
	{"narrow", 0.3, false, func(o *Options) { o.Sex, o.FootLengthMM, o.WidthTrimMM, o.HeelRiseMM = Woman, 240, 30, 25 }},
}

func TestScanOfABuiltDeviceIsThatDevice(t *testing.T) {
	for i, c := range scanCases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			o := Default()
			c.change(&o)
			built, err := Build(o)
			require.NoError(t, err)
			edge := 1.45
			switch {
			case c.noiseMM == 0:
				edge = 2.5
			case c.noiseMM > 0.2:
				edge = 1.2
			}
			m, pose := scanOf(built, edge, c.noiseMM, uint64(i), c.left)
			got, rep, err := FromScan(context.Background(), m, ScanOptions{FootLengthMM: o.FootLengthMM})
			require.NoError(t, err)
			assertFrame(t, rep, pose, c.left)
			share, confusions := labels(built, got)
			assert.GreaterOrEqual(t, share, 0.92, confusions)
			assertMeasures(t, built, got, rep)

			assert.Equal(t, map[bool]string{true: Left, false: Right}[c.left], rep.Side)
			assert.True(t, rep.SideSure)
			assert.Equal(t, rep.Side, got.Options.Side)
			assert.Equal(t, built.Options.WedgeBuild, got.Options.WedgeBuild)
			assert.InDelta(t, c.noiseMM, rep.NoiseMM, 0.05)
			assert.NoError(t, got.Rigid.Closed())
			assert.Empty(t, got.Options.Validate())
		})
	}
}

// assertFrame asks for the frame of the built device within 0.3 mm and 0.5°.
func assertFrame(t *testing.T, rep ScanReport, scanFromDevice mesh.Pose, left bool) {
	t.Helper()
	off := rep.From.Compose(scanFromDevice)
	turn := off.RotationVectorDeg()
	assert.Less(t, r3.Norm(turn), 0.5, "turned by %.2v°", turn)
	for _, p := range []r3.Vec{{}, {X: 40, Y: 15}, {X: 40, Y: -15}} { // over the base, where the device is seated
		d := r3.Sub(off.Apply(p), p)
		assert.Less(t, math.Max(math.Abs(d.X), math.Max(math.Abs(d.Y), math.Abs(d.Z))), 0.3, "%v moved by %.2v mm", p, d)
	}
}

func assertMeasures(t *testing.T, built, got *Device, rep ScanReport) {
	t.Helper()
	o := built.Options
	value := func(key string) float64 {
		m, ok := rep.Measure(key)
		if !assert.True(t, ok, key) {
			return math.NaN()
		}
		return m.Value
	}
	near := func(key string, want, tolerance float64) {
		t.Helper()
		assert.InDelta(t, want, value(key), tolerance, key)
		m, _ := rep.Measure(key)
		assert.LessOrEqual(t, math.Abs(want-m.Value), m.PlusMinus, "%s is off by more than its own ±", key)
	}
	near("shell_thickness_mm", o.ShellThicknessMM, 0.3)
	near("cup_thickness_mm", o.ShellThicknessMM*(1-o.CupThinningPercent/100), 0.3)
	near("cup_depth_mm", o.CupDepthMM, 0.5)
	near("heel_seat_mm", built.HeelSeatMM, 0.3)
	near("length_mm", built.FrontXMM, 0.6)
	near("base_medial_mm", built.Base.MedialMM, 0.6)
	near("base_lateral_mm", built.Base.LateralMM, 0.6)
	assert.InDelta(t, built.RimXMM, got.RimXMM, 0.5)
	assert.InDelta(t, built.HeelHalfWidthMM, got.HeelHalfWidthMM, 1)
	assert.InEpsilon(t, built.Base.AreaMM2, got.Base.AreaMM2, 0.12)
	if o.grounded() {
		near("base_length_mm", built.Base.LengthMM, 4) // its pointed front end runs out in the underside
		return
	}
	near("base_length_mm", built.Base.LengthMM, 1)
	near("bevel_medial_deg", o.BevelMedialDeg, 1.5)
	near("bevel_lateral_deg", o.BevelLateralDeg, 1.5)
	if o.WedgeBuild == Block { // the back of a bar runs out under the cup
		near("bevel_back_deg", o.BevelBackDeg, 1.5)
	}
	near("bevel_front_deg", o.BevelFrontDeg, 1.5)
	assert.InDelta(t, built.Base.LateralFacetDeg, got.Base.LateralFacetDeg, 0.6)
	assert.InDelta(t, built.Base.MedialFacetDeg, got.Base.MedialFacetDeg, 0.6)
	if o.MotionDeg == 0 {
		near("tilt_deg", o.TiltDeg, 0.6)
	} else {
		near("contact_angle_deg", o.ContactAngleDeg, 0.6)
		near("motion_deg", o.MotionDeg, 0.5)
	}
}

// tube is a closed surface over a superellipse that changes along X, of n by 4n faces.
func tube(n int, half func(u float64) (x, y, z float64)) *mesh.Mesh {
	var b mesh.Builder
	ring := make([][]int32, n+1)
	for i := range ring {
		x, y, z := half(float64(i) / float64(n))
		for k := range 2 * n {
			sin, cos := math.Sincos(math.Pi * float64(k) / float64(n))
			ring[i] = append(ring[i], b.AddVertex(r3.Vec{X: x, Y: y * cos, Z: z * sin}))
		}
	}
	for i := range n {
		for k := range ring[i] {
			l := (k + 1) % len(ring[i])
			b.AddQuad(ring[i][k], ring[i+1][k], ring[i+1][l], ring[i][l], 0)
		}
	}
	for _, end := range []int{0, n} {
		x, _, _ := half(float64(end) / float64(n))
		c := b.AddVertex(r3.Vec{X: x})
		for k := range ring[end] {
			l := (k + 1) % len(ring[end])
			if end == 0 {
				b.AddTriangle(c, ring[end][k], ring[end][l], 0)
			} else {
				b.AddTriangle(c, ring[end][l], ring[end][k], 0)
			}
		}
	}
	return b.Mesh()
}

// bareShell is a closed shell with its whole round underside.
func bareShell(t *testing.T) *mesh.Mesh {
	l, ps := lay(Default())
	require.Empty(t, ps)
	cols := l.columns()
	for i, c := range cols {
		if c.kind == onWedge {
			cols[i] = l.bareColumn(c.at, l.tops[c.at].s)
		}
		cols[i].kind, cols[i].side = bare, nil
	}
	m := l.faces(cols).Welded(weldMM)
	require.NoError(t, m.Closed())
	return m
}

func TestWhatIsNoDeviceSaysWhy(t *testing.T) {
	built, err := Build(Default())
	require.NoError(t, err)
	wedgeless := built.Rigid.Subset(func(i int) bool {
		switch Feature(built.Rigid.Tag[i]) {
		case WedgeBase, WedgeBackSide, WedgeFrontSide, WedgeMedialSide, WedgeLateralSide:
			return false
		}
		return true
	})
	last := tube(40, func(u float64) (x, y, z float64) {
		r := math.Sqrt(math.Max(u*(1-u), 1e-3))
		return 270 * u, 40 * 2 * r, 35 * 2 * r
	})
	for _, c := range []struct {
		name, field string
		m           *mesh.Mesh
	}{
		{"a last", "shape", last},
		{"a cube", "shape", tube(40, func(u float64) (x, y, z float64) { return 100 * u, 50, 50 })},
		{"a round bar", "shape", tube(40, func(u float64) (x, y, z float64) { return 200 * u, 5, 5 })},
		{"a flat insole", "shape", tube(40, func(u float64) (x, y, z float64) { return 200 * u, 40, 1.5 })},
		{"an underside alone", "foot side", built.Rigid.Subset(func(i int) bool {
			f := Feature(built.Rigid.Tag[i])
			return f != FootSide && f != CupRim
		})},
		{"a device in inches", "length", built.Rigid.Scaled(1 / 25.4)},
		{"a shell with its wedge cut away", "base", wedgeless},
		{"a shell that never had one", "base", bareShell(t)},
		{"a hundred triangles", "surface", tube(5, func(u float64) (x, y, z float64) { return 200 * u, 40, 3 })},
		{"nothing", "surface", &mesh.Mesh{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, _, err := FromScan(context.Background(), c.m, ScanOptions{})
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			assert.Nil(t, d)
			assert.Equal(t, c.field, p.Field, p)
			assert.NotEmpty(t, p.Limit)
			assert.NotEmpty(t, p.Mend)
		})
	}
}

func TestScanStopsWhenAsked(t *testing.T) {
	built, err := Build(Default())
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, _, err = FromScan(ctx, built.Rigid, ScanOptions{})
	assert.ErrorIs(t, err, context.Canceled)
}
