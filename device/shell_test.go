package device

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// The thickness is measured on the mesh: from points of the foot side to the nearest of the underside.
func TestShellIsAsThickAsItIsTold(t *testing.T) {
	for _, c := range []struct {
		name               string
		thickness, thinner float64
		change             func(o *Options)
	}{
		{"formed, not thinned", 3, 0, func(*Options) {}},
		{"formed, thinned", 4, 20, func(*Options) {}},
		{"milled", 2.5, 0, func(o *Options) { o.Process = Milled }},
		{"inverted", 3, 10, func(o *Options) { o.TiltDeg = 6 }},
		{"high arch, high heel", 3, 0, func(o *Options) { o.ArchHeightMM, o.ArchFlangeMM, o.HeelRiseMM = 38, 40, 40 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := Default()
			c.change(&o)
			o.ShellThicknessMM, o.CupThinningPercent, o.CupDepthMM = c.thickness, c.thinner, 21
			d, err := Build(o)
			require.NoError(t, err)
			under := mesh.NewTree(d.Rigid.Subset(func(i int) bool {
				f := Feature(d.Rigid.Tag[i])
				return f == ShellBottom || f == Arch || f == LateralFlange || f == CupWall
			}))
			foot := d.Rigid.Subset(func(i int) bool { return Feature(d.Rigid.Tag[i]) == FootSide })
			cup, forward := 0, 0
			for _, v := range foot.V {
				h := under.Nearest(v)
				if h.Beyond {
					continue
				}
				switch wall := d.HeelSeatMM + 11; {
				case v.X < d.RimXMM && v.Z > wall && v.Z < d.HeelSeatMM+o.CupDepthMM-3:
					assert.InEpsilon(t, c.thickness*(1-c.thinner/100), math.Abs(h.Signed), 0.02, "cup at %v", v)
					cup++
				case v.X > 110 && v.X < d.FrontXMM-25 && math.Abs(v.Y) < 25:
					assert.InEpsilon(t, c.thickness, math.Abs(h.Signed), 0.02, "forward at %v", v)
					forward++
				}
			}
			assert.Greater(t, cup, 10)
			assert.Greater(t, forward, 100)
		})
	}
}

func TestCupIsAsDeepAsItIsTold(t *testing.T) {
	for _, depth := range []float64{7, 10, 14, 20, 28} {
		d := build(t, func(o *Options) { o.CupDepthMM = depth })
		top := 0.0
		for i, f := range d.Rigid.F {
			if Feature(d.Rigid.Tag[i]) == CupRim {
				for _, k := range f {
					if v := d.Rigid.V[k]; v.X < d.RimXMM {
						top = math.Max(top, v.Z)
					}
				}
			}
		}
		assert.InDelta(t, depth, top-d.HeelSeatMM, 0.02)
	}
}

func TestDeviceBeginsAtZeroAndEndsAtItsFrontEdge(t *testing.T) {
	for _, p := range Presets() {
		d, err := Build(p.Options)
		require.NoError(t, err)
		b := d.Rigid.Bounds()
		assert.InDelta(t, 0, b.Min.X, 1e-9, p.ID)
		// ANSUR II: ball of foot length 0.741 of foot length (read), less the trim.
		assert.InDelta(t, 0.741*p.Options.FootLengthMM-p.Options.FrontTrimMM, b.Max.X, 0.2, p.ID)
		assert.InDelta(t, b.Max.X, d.FrontXMM, 0.2, p.ID)
	}
}

// In front of the arch only the front edge comes down to the board of the shoe that the device is made for.
func TestFrontEdgeLiesOnTheBoard(t *testing.T) {
	for _, rise := range []float64{0, 10, 25, 50, 75} {
		for _, thickness := range []float64{2, 3, 5} {
			d := build(t, func(o *Options) { o.HeelRiseMM, o.ShellThicknessMM = rise, thickness })
			touch := math.Inf(1)
			for _, v := range d.Rigid.V {
				over := v.Z - boardMM(rise, v.X)
				if v.X > 0.8*d.FrontXMM {
					assert.Greater(t, over, -0.1, "rise %g, thickness %g at %v", rise, thickness, v)
				}
				if math.Abs(v.Y) < 1 && v.X > d.FrontXMM-1 {
					touch = math.Min(touch, over)
				}
			}
			assert.InDelta(t, 0, touch, 0.1, "rise %g", rise)
		}
	}
}

// Common practice, no source: a ground shell takes less room than a block; ground through, it is wider and the heel sits
// lower by up to the shell's thickness.
func TestGrindingLowersTheHeel(t *testing.T) {
	for _, thickness := range []float64{2, 3, 4, 6} {
		set := func(b string) *Device {
			return build(t, func(o *Options) { o.WedgeBuild, o.ShellThicknessMM = b, thickness })
		}
		block, flat, open := set(Block), set(Flat), set(Open)
		assert.Less(t, flat.HeelSeatMM, block.HeelSeatMM)
		assert.Less(t, open.HeelSeatMM, flat.HeelSeatMM)
		assert.LessOrEqual(t, flat.HeelSeatMM-open.HeelSeatMM, thickness)
		assert.Greater(t, open.Base.WidthMM, flat.Base.WidthMM)
		assert.Greater(t, block.Base.WidthMM, flat.Base.WidthMM)
		// The flat's 1 mm of rest: nothing thinner is left on the bisection under the heel.
		assert.InDelta(t, math.Min(1, thickness*(1-0.15)/2), flat.HeelSeatMM, 1e-9)
	}
}

func TestThickerShellIsNeverSlimmer(t *testing.T) {
	for _, b := range []string{Block, Flat, Open, ForeBar} {
		widest, lastRim := 0.0, 0.0
		for _, thickness := range []float64{2, 2.5, 3, 3.2, 4, 4.8, 5, 6} {
			d := build(t, func(o *Options) { o.WedgeBuild, o.ShellThicknessMM = b, thickness })
			box := d.Rigid.Bounds()
			// The widest place is the front edge, where only the rim's rounding depends on the thickness.
			assert.GreaterOrEqual(t, box.Max.Y-box.Min.Y, widest-0.1, "%s %g", b, thickness)
			widest = math.Max(widest, box.Max.Y-box.Min.Y)
			rim := 0.0
			for _, p := range cut(t, d.Rigid, 0, d.RimXMM) {
				for _, q := range p {
					rim = math.Max(rim, q[0])
				}
			}
			assert.Greater(t, rim, lastRim, "%s %g", b, thickness)
			lastRim = rim
		}
	}
}

func TestShallowerCupIsNarrower(t *testing.T) {
	last := 0.0
	for _, depth := range []float64{6, 8, 10, 14, 18, 22} {
		d := build(t, func(o *Options) { o.CupDepthMM = depth })
		assert.Greater(t, d.RimXMM, last, "half the outer width of the cup's rim")
		last = d.RimXMM
	}
}

func TestTiltTurnsTheHeelAboutTheBisection(t *testing.T) {
	flat := build(t, func(*Options) {})
	for _, tilt := range []float64{-6, 8} {
		d := build(t, func(o *Options) { o.TiltDeg = tilt })
		rim := func(d *Device, side float64) r3.Vec {
			var far r3.Vec
			for i, f := range d.Rigid.F {
				if Feature(d.Rigid.Tag[i]) == FootSide {
					for _, k := range f {
						if v := d.Rigid.V[k]; math.Abs(v.X-d.RimXMM) < 1e-6 && side*v.Y > side*far.Y {
							far = v
						}
					}
				}
			}
			return far
		}
		m, l := rim(d, 1), rim(d, -1)
		assert.InDelta(t, tilt, math.Atan2(m.Z-l.Z, m.Y-l.Y)*180/math.Pi, 0.05, "medial side up when inverted")
		assert.Greater(t, d.HeelSeatMM, flat.HeelSeatMM-1e-9, "the wedge still has its least thickness")
	}
}

func TestWholeVolumeIsThatOfItsSections(t *testing.T) {
	for _, b := range []string{Block, Flat, Open, ForeBar} {
		d := build(t, func(o *Options) { o.WedgeBuild = b })
		const n = 600
		hi := d.Rigid.Bounds().Max.X
		sum := 0.0
		for i := range n {
			a := 0.0
			for _, l := range cut(t, d.Rigid, 0, hi*(float64(i)+0.5)/n) {
				a += polygonArea(l)
			}
			sum += math.Abs(a) * hi / n
		}
		whole := d.ShellVolumeMM3 + d.WedgeVolumeMM3 + d.CapVolumeMM3
		assert.InEpsilon(t, d.Rigid.Volume(), whole, 1e-12, b)
		assert.InEpsilon(t, sum, whole, 0.005, b)
	}
}

func TestBaseIsThatOfTheMesh(t *testing.T) {
	for _, b := range []string{Block, Flat, Open, ForeBar} {
		d := build(t, func(o *Options) { o.WedgeBuild = b; o.FootLengthMM = 250 })
		area := 0.0
		box := r3.Box{Min: r3.Vec{X: math.Inf(1)}, Max: r3.Vec{X: math.Inf(-1)}}
		for i := range d.Rigid.F {
			if Feature(d.Rigid.Tag[i]) != WedgeBase {
				continue
			}
			assert.InDelta(t, -1, d.Rigid.FaceNormal(i).Z, 1e-9, b)
			area += d.Rigid.FaceArea(i)
			for _, k := range d.Rigid.F[i] {
				box.Min.X, box.Max.X = math.Min(box.Min.X, d.Rigid.V[k].X), math.Max(box.Max.X, d.Rigid.V[k].X)
			}
		}
		assert.InDelta(t, area, d.Base.AreaMM2, 0.001*area, b)
		assert.InDelta(t, box.Min.X, d.Base.BackXMM, 1e-6)
		assert.InDelta(t, box.Max.X, d.Base.FrontXMM, 1e-6)
		assert.Positive(t, polygonArea(d.Base.Outline), "counterclockwise")
		assert.Zero(t, crossings([][][2]float64{d.Base.Outline}), b)
	}
}

func TestMassIsDensityTimesVolume(t *testing.T) {
	d := build(t, func(o *Options) {
		o.CoverExtent, o.Material, o.WedgeMaterial, o.WedgeHardnessShoreA = None, "pp-co", EVA, 70
	})
	assert.InEpsilon(t, (d.ShellVolumeMM3*0.90+d.WedgeVolumeMM3*0.30)/1000, d.MassG, 1e-12)
	pad := build(t, func(o *Options) { o.CoverExtent, o.Extension, o.ExtensionMaterial = None, ToeCrease, "leather" })
	bare := build(t, func(o *Options) { o.CoverExtent = None })
	assert.InDelta(t, pad.CoverVolumeMM3*0.85/1000, pad.MassG-bare.MassG, 1e-9)
}

func TestSameOptionsSameSolid(t *testing.T) {
	a, b := build(t, func(*Options) {}), build(t, func(o *Options) { o.Side = Left })
	assert.Equal(t, a.Rigid, b.Rigid, "a left device is the right one, mirrored by whoever shows it")
	assert.Equal(t, a.Base, b.Base)
}
