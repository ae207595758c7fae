package device

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

func build(t *testing.T, change func(o *Options)) *Device {
	t.Helper()
	o := Default()
	change(&o)
	d, err := Build(o)
	require.NoError(t, err)
	return d
}

// bevelled is a wedge alone, on a flat base, with one bevel on both sides and another at the back.
func bevelled(sideDeg, backDeg float64) *wedge {
	o := Default()
	o.BevelMedialDeg, o.BevelLateralDeg, o.BevelBackDeg = sideDeg, sideDeg, backDeg
	return newWedge(o, &shell{})
}

// Base lost to a bevel on both sides: 2h·tan β; 6 mm and 30° lose 6.928203 mm (calc).
func TestBevelTakesHeightTimesTangentOffTheBase(t *testing.T) {
	w := bevelled(30, 30)
	medial := w.foot(r3.Vec{Y: 30, Z: 6}, 0, -1)
	lateral := w.foot(r3.Vec{Y: -30, Z: 6}, 0, 1)
	assert.InDelta(t, 6.928203, 60-(medial.Y-lateral.Y), 1e-6)
	assert.InDelta(t, 60-2*6*math.Tan(math.Pi/6), medial.Y-lateral.Y, 1e-12)
}

// A block of 60 × 80 mm and 6 mm high, bevelled 30° on two sides: 27137.2312 mm³; on four: 25986.1546 mm³ (calc:
// prismatoid formula).
func TestBevelledBlocksAreFrusta(t *testing.T) {
	for _, c := range []struct {
		name          string
		back, volume  float64
		bevelledSides int
	}{{"two sides", 0, 27137.2312, 2}, {"four sides", 30, 25986.1546, 4}} {
		t.Run(c.name, func(t *testing.T) {
			w := bevelled(30, c.back)
			var b mesh.Builder
			corner := func(x, y, outX, outY float64) (top, base int32) {
				side := w.foot(r3.Vec{X: x, Y: y, Z: 6}, 0, -outY)
				back := w.foot(r3.Vec{X: x, Y: y, Z: 6}, -outX, 0)
				return b.AddVertex(r3.Vec{X: x, Y: y, Z: 6}), b.AddVertex(r3.Vec{X: back.X, Y: side.Y, Z: side.Z})
			}
			var top, base [4]int32
			for i, p := range [4][2]float64{{1, 1}, {-1, 1}, {-1, -1}, {1, -1}} {
				top[i], base[i] = corner(40*p[0], 30*p[1], p[0], p[1])
			}
			b.AddQuad(top[0], top[1], top[2], top[3], 0)
			b.AddQuad(base[3], base[2], base[1], base[0], 0)
			for i := range 4 {
				j := (i + 1) % 4
				b.AddQuad(top[j], top[i], base[i], base[j], 0)
			}
			require.NoError(t, b.Mesh().Closed())
			assert.InDelta(t, c.volume, b.Mesh().Volume(), 1e-4)
		})
	}
}

// A wedge angle of 4° lifts a point 60 mm away by 4.196 mm (calc).
func TestFacetRisesByItsAngle(t *testing.T) {
	o := Default()
	o.ContactAngleDeg, o.MotionDeg = 4, 8
	w := newWedge(o, &shell{})
	assert.InDelta(t, 4.196, w.baseZ(-60), 5e-4)
	assert.InDelta(t, 4.196, w.baseZ(60), 5e-4)
}

// The same bevel on a whole device: the shell stays where it is, and at the heel's widest place each side
// loses the height of the wedge's side times the tangent.
func TestBevelOnADeviceTakesHeightTimesTangent(t *testing.T) {
	upright := build(t, func(o *Options) { o.WedgeWidthMM, o.BevelMedialDeg, o.BevelLateralDeg, o.BevelBackDeg = 56, 0, 0, 0 })
	assert.InDelta(t, 56, upright.Base.WidthMM, 1e-9, "an upright wedge is as wide as its base")
	height := sideTop(t, upright, upright.RimXMM)
	for _, bevel := range []float64{10, 20, 30} {
		d := build(t, func(o *Options) {
			o.WedgeWidthMM, o.BevelMedialDeg, o.BevelLateralDeg, o.BevelBackDeg = 56, bevel, 0, bevel
		})
		assert.InDelta(t, upright.HeelSeatMM, d.HeelSeatMM, 1e-12)
		assert.InDelta(t, 28-height*math.Tan(bevel*math.Pi/180), d.Base.MedialMM, 1e-6)
		assert.InDelta(t, 28, d.Base.LateralMM, 1e-9)
	}
}

// sideTop is the height at which the medial side of an upright wedge leaves the cup, at X.
func sideTop(t *testing.T, d *Device, x float64) float64 {
	t.Helper()
	top := 0.0
	sides := d.Rigid.Subset(func(i int) bool { return d.Rigid.Tag[i] == uint8(WedgeMedialSide) })
	for _, v := range sides.V {
		if math.Abs(v.X-x) < 1e-6 {
			top = math.Max(top, v.Z)
		}
	}
	require.Positive(t, top)
	return top
}

// What bevels take off a device's volume is what they take off its cross-sections (Simpson over X).
func TestBevelsTakeTheVolumeThatSectionsLose(t *testing.T) {
	set := func(bevel float64) *Device {
		return build(t, func(o *Options) {
			o.WedgeWidthMM, o.WedgeStartMM = 56, 5
			o.BevelMedialDeg, o.BevelLateralDeg, o.BevelBackDeg, o.BevelFrontDeg = bevel, bevel, bevel, 0
		})
	}
	sharp, ground := set(0), set(30)
	area := func(d *Device, x float64) float64 {
		a := 0.0
		for _, l := range cut(t, d.Rigid, 0, x) {
			a += polygonArea(l)
		}
		return math.Abs(a)
	}
	const n = 400
	lo, hi := 0.011, sharp.Base.FrontXMM-1e-6
	sum := 0.0
	for i := range n + 1 {
		weight := 2.0 + 2*float64(i%2)
		if i == 0 || i == n {
			weight = 1
		}
		x := lo + (hi-lo)*float64(i)/n
		sum += weight * (area(sharp, x) - area(ground, x))
	}
	want := sum * (hi - lo) / n / 3
	got := sharp.WedgeVolumeMM3 - ground.WedgeVolumeMM3
	assert.InEpsilon(t, want, got, 0.005)
	assert.InDelta(t, sharp.ShellVolumeMM3, ground.ShellVolumeMM3, 0.001*sharp.ShellVolumeMM3)
}

func TestBaseFacetsArePlanes(t *testing.T) {
	for _, c := range []struct{ contact, motion float64 }{{0, 0}, {4, 4}, {4, 0}, {2, 6}} {
		d := build(t, func(o *Options) { o.ContactAngleDeg, o.MotionDeg = c.contact, c.motion })
		lateral, medial := tanDeg(c.contact), tanDeg(c.motion-c.contact)
		for i, f := range d.Rigid.F {
			if Feature(d.Rigid.Tag[i]) != WedgeBase {
				continue
			}
			for _, k := range f {
				v := d.Rigid.V[k]
				if v.Y < 0 {
					assert.InDelta(t, -v.Y*lateral, v.Z, 1e-9)
				} else {
					assert.InDelta(t, v.Y*medial, v.Z, 1e-9)
				}
			}
		}
		assert.InDelta(t, c.contact, d.Base.LateralFacetDeg, 1e-12)
		assert.InDelta(t, c.motion-c.contact, d.Base.MedialFacetDeg, 1e-12)
	}
}

func TestWedgeIsNowhereThinnerThanItsLeast(t *testing.T) {
	for _, c := range []struct {
		name                 string
		contact, motion, tip float64
		length               float64
	}{{"flat base", 0, 0, 0, 0}, {"motion", 4, 8, 0, 0}, {"tilted", 0, 0, 8, 0}, {"everted, long", 2, 2, -6, 95}} {
		t.Run(c.name, func(t *testing.T) {
			o := Default()
			o.ContactAngleDeg, o.MotionDeg, o.TiltDeg, o.WedgeLengthMM = c.contact, c.motion, c.tip, c.length
			l, ps := lay(o)
			require.Empty(t, ps)
			least := math.Inf(1)
			for at, top := range l.tops {
				r := l.sh.along(at)
				for k := range 40 {
					p := r.under(top.s * float64(k) / 40)
					least = math.Min(least, p.Z-l.w.baseZ(p.Y))
				}
			}
			assert.GreaterOrEqual(t, least, o.WedgeMinThicknessMM-0.02)
			assert.LessOrEqual(t, least, o.WedgeMinThicknessMM+0.3, "and the heel stands no higher than it must")
		})
	}
}

func TestSwappedBevelsSwapTheSidesOfTheBase(t *testing.T) {
	a := build(t, func(o *Options) { o.BevelMedialDeg, o.BevelLateralDeg = 10, 30 })
	b := build(t, func(o *Options) { o.BevelMedialDeg, o.BevelLateralDeg = 30, 10 })
	assert.InDelta(t, a.Base.MedialMM, b.Base.LateralMM, 1e-9)
	assert.InDelta(t, a.Base.LateralMM, b.Base.MedialMM, 1e-9)
}

func TestMoreBevelNeverWidensTheBase(t *testing.T) {
	for _, key := range []string{"bevel_medial_deg", "bevel_lateral_deg", "bevel_back_deg"} {
		last := Base{WidthMM: math.Inf(1), LengthMM: math.Inf(1), AreaMM2: math.Inf(1)}
		for v := 0.0; v <= 50; v += 5 {
			d := build(t, func(o *Options) { k, _ := FindKey(key); *k.number(o) = v })
			assert.LessOrEqual(t, d.Base.WidthMM, last.WidthMM+1e-9, "%s %g", key, v)
			assert.LessOrEqual(t, d.Base.LengthMM, last.LengthMM+1e-9, "%s %g", key, v)
			assert.Less(t, d.Base.AreaMM2, last.AreaMM2, "%s %g", key, v)
			last = d.Base
		}
	}
}

func TestForeBarLeavesTheBackFree(t *testing.T) {
	d := build(t, func(o *Options) { o.WedgeBuild = ForeBar; o.WedgeBarMM, o.WedgeLengthMM = 20, 64 })
	assert.InDelta(t, 44, d.Base.BackXMM, 1e-9)
	assert.InDelta(t, 64, d.Base.FrontXMM, 1e-9)
	block := build(t, func(*Options) {})
	for i, f := range d.Rigid.F {
		if g := Feature(d.Rigid.Tag[i]); g == WedgeBase || g == WedgeMedialSide || g == WedgeLateralSide {
			for _, k := range f {
				assert.GreaterOrEqual(t, d.Rigid.V[k].X, d.RimXMM)
			}
		}
	}
	assert.Less(t, d.WedgeVolumeMM3, 0.5*block.WedgeVolumeMM3)
	assert.InDelta(t, 0, d.Rigid.Bounds().Min.Z-math.Min(0, boardMM(10, d.FrontXMM)), 0.2, "it stands on bar and front edge")
}

func TestHeelRaiseLiftsTheHeelOnly(t *testing.T) {
	low := build(t, func(*Options) {})
	high := build(t, func(o *Options) { o.HeelRaiseMM = 6 })
	assert.InDelta(t, 6, high.HeelSeatMM-low.HeelSeatMM, 1e-9)
	tip := func(d *Device) float64 {
		z := math.Inf(1)
		for _, v := range d.Rigid.V {
			if math.Abs(v.X-d.FrontXMM) < 0.5 {
				z = math.Min(z, v.Z)
			}
		}
		return z
	}
	assert.InDelta(t, tip(low), tip(high), 1e-6)
}

func TestCapIsALayerUnderTheBlock(t *testing.T) {
	foam := func(o *Options) { o.WedgeMaterial = EVA }
	plain := build(t, foam)
	capped := build(t, func(o *Options) { foam(o); o.CapMM = 2 })
	assert.InDelta(t, 2, capped.HeelSeatMM-plain.HeelSeatMM, 1e-9)
	// Cut the device at the top of the cap: what lies below is the cap.
	const n = 200
	sum := 0.0
	for i := range n {
		z := 2 * (float64(i) + 0.5) / n
		for _, l := range cut(t, capped.Rigid, 2, z) {
			if a := math.Abs(polygonArea(l)); l[0][0] < 100 { // not the shell's front, which lies as low
				sum += a * 2 / n
			}
		}
	}
	assert.InEpsilon(t, sum, capped.CapVolumeMM3, 0.005)
	for i, f := range capped.Rigid.F {
		if Feature(capped.Rigid.Tag[i]) == Cap {
			for _, k := range f {
				assert.LessOrEqual(t, capped.Rigid.V[k].Z, 2+1e-9)
			}
		}
	}
}
