package device

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// randomOptions draws a prescription from the whole range of every option and keeps trying until it is a legal one.
func randomOptions(rng *rand.Rand, build string) Options {
	for {
		o := Default()
		o.WedgeBuild = build
		between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
		pick := func(list ...string) string { return list[rng.IntN(len(list))] }
		sometimes := func(v float64) float64 {
			if rng.IntN(2) == 0 {
				return 0
			}
			return v
		}
		o.Sex = pick(Man, Woman)
		o.FootLengthMM = between(150, 320)
		o.HeelWidthMM = sometimes(o.FootLengthMM * between(0.22, 0.33))
		o.ArchHeightMM = o.FootLengthMM * between(0.05, 0.16)
		o.HeelRiseMM = between(0, 0.25*o.FootLengthMM)
		o.Process = pick(Formed, Milled)
		o.Material = pick("pp-homo", "pp-co", "pa12", "pa11", "carbon")
		o.ShellThicknessMM = between(1, 6)
		o.CupThinningPercent = between(0, 30)
		o.CupDepthMM = between(5, 35)
		o.ArchFlangeMM = sometimes(o.ArchHeightMM * between(0.4, 1.4))
		o.LateralFlangeMM = between(2, 25)
		o.WidthTrimMM, o.FrontTrimMM = between(0, 35), between(0, 25)
		if !o.grounded() {
			o.HeelRaiseMM = sometimes(between(0, 15))
			o.TiltDeg = sometimes(between(-8, 12))
			o.WedgeWidthMM = sometimes(o.FootLengthMM * between(0.12, 0.26))
			o.WedgeLengthMM = sometimes(o.FootLengthMM * between(0.18, 0.4))
			o.WedgeMinThicknessMM = between(0.5, 8)
			o.ContactAngleDeg, o.MotionDeg = sometimes(between(0, 8)), sometimes(between(0, 8))
			o.BevelMedialDeg, o.BevelLateralDeg = sometimes(between(0, 50)), sometimes(between(0, 50))
			o.BevelBackDeg, o.BevelFrontDeg = sometimes(between(0, 50)), sometimes(between(0, 50))
			o.WedgeMaterial = pick(Auto, EVA, Polypropylene)
			if build == Block {
				o.WedgeStartMM = sometimes(between(1, 15))
				if o.WedgeMaterial == EVA {
					o.CapMM = sometimes(between(0.5, 3))
				}
			} else {
				o.WedgeBarMM = sometimes(between(8, 40))
			}
		}
		o.CoverExtent, o.Extension = pick(None, FrontEdgeX, ToeCrease, Full), pick(None, ToeCrease, Full)
		o.CoverHeelMM, o.CoverFrontMM, o.ExtensionMM = between(0.5, 4), between(0.5, 4), between(1.5, 6)
		if len(o.Validate()) == 0 {
			return o
		}
	}
}

// polygonArea is the signed area of a closed polyline in the plane of two of its coordinates.
func polygonArea(p [][2]float64) float64 {
	a := 0.0
	for i := range p {
		q := p[(i+1)%len(p)]
		a += (p[i][0]*q[1] - q[0]*p[i][1]) / 2
	}
	return a
}

// crossings counts the pairs of edges of closed polylines that properly cross each other.
func crossings(loops [][][2]float64) int {
	type edge struct{ a, b [2]float64 }
	var es []edge
	for _, l := range loops {
		for i := range l {
			es = append(es, edge{l[i], l[(i+1)%len(l)]})
		}
	}
	side := func(a, b, p [2]float64) float64 {
		return ((b[0]-a[0])*(p[1]-a[1]) - (b[1]-a[1])*(p[0]-a[0])) / math.Max(math.Hypot(b[0]-a[0], b[1]-a[1]), 1e-12)
	}
	n := 0
	const eps = 1e-6
	for i, e := range es {
		for _, f := range es[i+1:] {
			if math.Max(e.a[0], e.b[0]) < math.Min(f.a[0], f.b[0]) || math.Max(f.a[0], f.b[0]) < math.Min(e.a[0], e.b[0]) {
				continue
			}
			s1, s2 := side(e.a, e.b, f.a), side(e.a, e.b, f.b)
			t1, t2 := side(f.a, f.b, e.a), side(f.a, f.b, e.b)
			if (s1 > eps && s2 < -eps || s1 < -eps && s2 > eps) && (t1 > eps && t2 < -eps || t1 < -eps && t2 > eps) {
				n++
			}
		}
	}
	return n
}

// cut is the section of a mesh across one axis, as loops in the other two.
func cut(t *testing.T, m *mesh.Mesh, axis int, at float64) [][][2]float64 {
	var pl mesh.Plane
	flat := func(p r3.Vec) [2]float64 { return [2]float64{p.Y, p.Z} }
	switch axis {
	case 0:
		pl = mesh.Plane{Point: r3.Vec{X: at}, Normal: r3.Vec{X: 1}}
	case 1:
		pl = mesh.Plane{Point: r3.Vec{Y: at}, Normal: r3.Vec{Y: 1}}
		flat = func(p r3.Vec) [2]float64 { return [2]float64{p.X, p.Z} }
	default:
		pl = mesh.Plane{Point: r3.Vec{Z: at}, Normal: r3.Vec{Z: 1}}
		flat = func(p r3.Vec) [2]float64 { return [2]float64{p.X, p.Y} }
	}
	var loops [][][2]float64
	for _, c := range m.Section(pl) {
		require.True(t, c.Closed, "a section of a closed solid is closed")
		var l [][2]float64
		for _, p := range c.P {
			l = append(l, flat(p))
		}
		loops = append(loops, l)
	}
	return loops
}

func TestEveryLegalPrescriptionIsASimpleClosedSolid(t *testing.T) {
	for i, build := range []string{Block, Flat, Open, ForeBar} {
		t.Run(build, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(7, uint64(i)))
			for n := range 30 {
				o := randomOptions(rng, build)
				d, err := Build(o)
				require.NoError(t, err)
				require.NoError(t, d.Rigid.Validate(), "%+v", o)
				require.NoError(t, d.Rigid.Closed(), "%d %+v", n, o)
				require.Positive(t, d.ShellVolumeMM3)
				assert.Positive(t, d.MassG)
				if !o.grounded() {
					assert.Positive(t, d.WedgeVolumeMM3, "%+v", o)
				}
				if d.CoverSolid != nil {
					require.NoError(t, d.CoverSolid.Closed(), "%+v", o)
				}
				for _, x := range []float64{3.3, 0.6 * d.RimXMM, d.RimXMM + 0.01, d.Base.FrontXMM - 1.3, d.Base.FrontXMM + 2.1, 0.5 * d.FrontXMM} {
					assert.Zero(t, crossings(cut(t, d.Rigid, 0, x)), "%d section at X = %.2f of %+v", n, x, o)
				}
				for _, y := range []float64{0.013, 7.7, -15.1} {
					assert.Zero(t, crossings(cut(t, d.Rigid, 1, y)), "%d section at Y = %.2f of %+v", n, y, o)
				}
			}
		})
	}
}
