package mesh

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// loopArea is the area of loops in a plane, by the vector shoelace formula.
func loopArea(loops []Polyline, n r3.Vec) float64 {
	var sum r3.Vec
	for _, l := range loops {
		for i, p := range l.P {
			sum = r3.Add(sum, r3.Cross(p, l.P[(i+1)%len(l.P)]))
		}
	}
	return 0.5 * r3.Dot(sum, r3.Unit(n))
}

func TestSectionOfCube(t *testing.T) {
	for _, c := range []struct {
		name  string
		plane Plane
		area  float64
	}{
		{"middle", Plane{vec(0, 0, 0), vec(0, 0, 1)}, 4},
		{"turned round", Plane{vec(0, 0, 0), vec(0, 0, -3)}, 4},
		{"lid counts as the solid below", Plane{vec(0, 0, 1), vec(0, 0, 1)}, 4},
		{"bottom has nothing below", Plane{vec(0, 0, -1), vec(0, 0, 1)}, 0},
		{"beside", Plane{vec(0, 0, 2), vec(0, 0, 1)}, 0},
		{"diagonal through two edges", Plane{vec(0, 0, 0), vec(1, 1, 0)}, 5.656854249492381}, // 2·2√2
		{"hexagon through six edges", Plane{vec(0, 0, 0), vec(1, 1, 1)}, 5.196152422706632},  // side √2: 3√3
	} {
		t.Run(c.name, func(t *testing.T) {
			loops := cube().Section(c.plane)
			for _, l := range loops {
				require.True(t, l.Closed)
				require.Len(t, l.Tag, len(l.P))
			}
			assert.InDelta(t, c.area, loopArea(loops, c.plane.Normal), 1e-12)
		})
	}
}

// A great circle and a circle of latitude of an inscribed sphere: area less than the circle's by less than two
// sagittas of it.
func TestSectionOfSphere(t *testing.T) {
	m := sphere(30, 256)
	for _, c := range []struct {
		name  string
		plane Plane
		r     float64
	}{
		{"equator through vertices", Plane{vec(0, 0, 0), vec(0, 0, 1)}, 30},
		{"off the middle", Plane{vec(0, 0, 18), vec(0, 0, 1)}, 24},
		{"askew", Plane{vec(0, 0, 0), vec(1, 2, -0.5)}, 30},
		{"askew, off the middle", Plane{r3.Scale(-18, r3.Unit(vec(1, 2, -0.5))), vec(1, 2, -0.5)}, 24},
	} {
		t.Run(c.name, func(t *testing.T) {
			loops := m.Section(c.plane)
			require.Len(t, loops, 1)
			require.True(t, loops[0].Closed)
			circle := math.Pi * c.r * c.r
			area := loopArea(loops, c.plane.Normal)
			assert.Less(t, area, circle)
			assert.Greater(t, area, circle-2*math.Pi*c.r*2*sagittaMM(30, 256)*30/c.r)
			for _, p := range loops[0].P {
				require.InDelta(t, 0, r3.Dot(r3.Sub(p, c.plane.Point), r3.Unit(c.plane.Normal)), 1e-12)
			}
		})
	}
}

// Area within the superellipse |x/50|^2.5 + |y/30|^2.5 = 1: 4ab Γ(1+1/n)²/Γ(1+2/n) (calc), as the section of an upright
// prism on a fine polygon of it.
func TestSectionOfSuperellipse(t *testing.T) {
	const a, b, e = 50, 30, 2.5
	require.InDelta(t, 5071.403, 4*a*b*math.Gamma(1+1/e)*math.Gamma(1+1/e)/math.Gamma(1+2/e), 5e-4)
	m := tube(1, 20, 4000, 1)
	for i, v := range m.V {
		sx, sy := math.Copysign(1, v.X), math.Copysign(1, v.Y)
		m.V[i] = vec(a*sx*math.Pow(math.Abs(v.X), 2/e), b*sy*math.Pow(math.Abs(v.Y), 2/e), v.Z)
	}
	loops := m.Section(Plane{vec(0, 0, 7), vec(0, 0, 1)})
	require.Len(t, loops, 1)
	require.True(t, loops[0].Closed)
	assert.InDelta(t, 5071.403, loopArea(loops, vec(0, 0, 1)), 0.01)
}

// Whatever the plane, also through vertices and along faces, a closed mesh gives closed loops, and their areas are
// those of the volume: summed over planes they give it back.
func TestSectionOfClosedMeshIsClosed(t *testing.T) {
	for name, m := range map[string]*Mesh{
		"rumpled": rumpled(20, 8), "cube": cube(), "soup": exploded(rumpled(12, 9)),
		"fine cube": cube().Refined(func(_, _ r3.Vec) float64 { return 0.3 }),
	} {
		t.Run(name, func(t *testing.T) {
			corners := m.V
			dirs := randomPoints(60, 1, 21)
			dirs = append(dirs, vec(1, 0, 0), vec(0, 0, -1), vec(0, 1, 1), vec(1, 1, 1))
			for i, n := range dirs {
				for _, p := range []r3.Vec{{}, corners[i*7%len(corners)], r3.Scale(0.5, r3.Add(corners[0], corners[i%len(corners)]))} {
					if n.X > 0.5 { // through three vertices at once
						q, s := corners[(i*3+1)%len(corners)], corners[(i*5+2)%len(corners)]
						n = r3.Cross(r3.Sub(q, p), r3.Sub(s, p))
					}
					loops := m.Section(Plane{p, n})
					for _, l := range loops {
						require.True(t, l.Closed, "plane %v %v", p, n)
						require.Len(t, l.Tag, len(l.P))
						require.GreaterOrEqual(t, len(l.P), 3)
					}
					require.Equal(t, loops, m.Section(Plane{p, n}), "same input, same output")
				}
			}
			b := m.Bounds()
			var volume float64
			const slices = 500
			dz := (b.Max.Z - b.Min.Z) / slices
			for i := range slices {
				volume += dz * loopArea(m.Section(Plane{vec(0, 0, b.Min.Z+(float64(i)+0.5)*dz), vec(0, 0, 1)}), vec(0, 0, 1))
			}
			assert.InEpsilon(t, m.Volume(), volume, 1e-3)
		})
	}
}

func TestSectionOfOpenMesh(t *testing.T) {
	m := tube(10, 30, 16, 3)
	across := m.Section(Plane{vec(0, 0, 12), vec(0, 0, 1)})
	require.Len(t, across, 1)
	assert.True(t, across[0].Closed)
	along := m.Section(Plane{vec(0, 0.1, 0), vec(0, 1, 0)})
	require.Len(t, along, 2, "two walls")
	for _, l := range along {
		assert.False(t, l.Closed)
		assert.Len(t, l.Tag, len(l.P)-1)
		assert.InDelta(t, 30, math.Abs(l.P[0].Z-l.P[len(l.P)-1].Z), 1e-12)
		for i, tag := range l.Tag { // the tag of a segment is that of the layer it is in
			z := 0.5 * (l.P[i].Z + l.P[i+1].Z)
			assert.Equal(t, uint8(z/10), tag)
		}
	}
}

func TestSectionTags(t *testing.T) {
	loops := cube().Section(Plane{vec(0, 0, 0.3), vec(0, 0, 1)})
	require.Len(t, loops, 1)
	l := loops[0]
	outward := map[uint8]r3.Vec{2: vec(1, 0, 0), 3: vec(0, 1, 0), 4: vec(-1, 0, 0), 5: vec(0, -1, 0)}
	for i, p := range l.P {
		q := l.P[(i+1)%len(l.P)]
		assert.InDelta(t, 1, r3.Dot(p, outward[l.Tag[i]]), 1e-12)
		assert.InDelta(t, 1, r3.Dot(q, outward[l.Tag[i]]), 1e-12)
	}
}
