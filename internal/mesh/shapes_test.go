package mesh

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r3"
)

func vec(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }

// frustum is a block from z = 0 to h: base 2 ax by 2 ay at z = 0, top 2 bx by 2 by at z = h. Tags: 0 bottom, 1 top,
// 2 to 5 the sides +X, +Y, -X, -Y.
func frustum(ax, ay, bx, by, h float64) *Mesh {
	var b Builder
	for _, c := range [][3]float64{
		{-ax, -ay, 0}, {ax, -ay, 0}, {ax, ay, 0}, {-ax, ay, 0}, {-bx, -by, h}, {bx, -by, h}, {bx, by, h}, {-bx, by, h},
	} {
		b.AddVertex(vec(c[0], c[1], c[2]))
	}
	b.AddQuad(3, 2, 1, 0, 0)
	b.AddQuad(4, 5, 6, 7, 1)
	b.AddQuad(1, 2, 6, 5, 2)
	b.AddQuad(2, 3, 7, 6, 3)
	b.AddQuad(3, 0, 4, 7, 4)
	b.AddQuad(0, 1, 5, 4, 5)
	return b.Mesh()
}

// cube spans ±1 on each axis.
func cube() *Mesh {
	return frustum(1, 1, 1, 1, 2).Transformed(Pose{T: vec(0, 0, -1)})
}

// sphere of radius r about the origin: rings of n vertices at n/2+1 latitudes, poles included.
func sphere(r float64, n int) *Mesh {
	return turned(n, 0, n/2, func(j int) (radius, z float64) {
		s, c := math.Sincos(math.Pi * float64(j) / float64(n/2))
		return r * s, -r * c
	})
}

// turned is the surface of revolution about Z through the profile points from to to, bottom to top, of n corners;
// normals point away from the axis for a profile that goes up. Profile points at radius ~0 become poles.
func turned(n, from, to int, profile func(j int) (radius, z float64)) *Mesh {
	var b Builder
	rings := make([][]int32, 0, to-from+1)
	for j := from; j <= to; j++ {
		radius, z := profile(j)
		ring := make([]int32, n)
		if radius < 1e-9 {
			v := b.AddVertex(vec(0, 0, z))
			for i := range ring {
				ring[i] = v
			}
		} else {
			for i := range ring {
				s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
				ring[i] = b.AddVertex(vec(radius*c, radius*s, z))
			}
		}
		rings = append(rings, ring)
	}
	for j := range len(rings) - 1 {
		for i := range n {
			k := (i + 1) % n
			b.AddQuad(rings[j][i], rings[j][k], rings[j+1][k], rings[j+1][i], uint8(j%7))
		}
	}
	return b.Mesh()
}

// tube is an open cylinder of radius r about Z from z = 0 to h, inscribed in the true one.
func tube(r, h float64, n, layers int) *Mesh {
	return turned(n, 0, layers, func(j int) (float64, float64) { return r, h * float64(j) / float64(layers) })
}

// cavity is a closed shoe-sized loft along X, 300 mm long, up to about 110 wide and 120 high, made of superellipses;
// it has 2·around·(along-1) triangles.
func cavity(around, along int) *Mesh {
	half := func(s, w0, w1 float64) float64 { // blunt at both ends
		return (w0 + (w1-w0)*s) * math.Pow(1-math.Pow(math.Abs(2*s-1), 4), 0.35)
	}
	m := turned(around, 0, along, func(j int) (float64, float64) {
		s := float64(j) / float64(along)
		s = 0.5 - 0.5*math.Cos(math.Pi*s)
		return half(s, 1, 1), 300 * s
	})
	for i, v := range m.V {
		s := v.Z / 300
		a := math.Atan2(v.Y, v.X)
		r := math.Hypot(v.X, v.Y)
		c, d := math.Cos(a), math.Sin(a)
		y := r * (35 + 20*s) * math.Copysign(math.Pow(math.Abs(c), 0.8), c)
		z := r * (60 - 35*s) * math.Copysign(math.Pow(math.Abs(d), 0.8), d)
		m.V[i] = vec(v.Z, y, 60+z)
	}
	return m
}

// rumpled is a closed sphere-like mesh whose vertices were moved at random along their radius.
func rumpled(n int, seed uint64) *Mesh {
	rng := rand.New(rand.NewPCG(seed, 1))
	m := sphere(20, n)
	for i, v := range m.V {
		m.V[i] = r3.Scale(0.6+0.8*rng.Float64(), v)
	}
	return m
}

// sheet is an open rumpled square of n by n cells over ±20 mm.
func sheet(n int, seed uint64) *Mesh {
	rng := rand.New(rand.NewPCG(seed, 2))
	var b Builder
	for i := range n + 1 {
		for j := range n + 1 {
			b.AddVertex(vec(40*float64(i)/float64(n)-20, 40*float64(j)/float64(n)-20, 6*rng.Float64()))
		}
	}
	for i := range int32(n) {
		for j := range int32(n) {
			p, q := i*int32(n+1)+j, (i+1)*int32(n+1)+j
			b.AddQuad(p, q, q+1, p+1, uint8(i%3))
		}
	}
	return b.Mesh()
}

// exploded gives each face corners of its own, as an STL file does.
func exploded(m *Mesh) *Mesh {
	e := &Mesh{Tag: m.Tag}
	for _, f := range m.F {
		k := int32(len(e.V))
		e.V = append(e.V, m.V[f[0]], m.V[f[1]], m.V[f[2]])
		e.F = append(e.F, [3]int32{k, k + 1, k + 2})
	}
	return e
}

func randomPoints(n int, half float64, seed uint64) []r3.Vec {
	rng := rand.New(rand.NewPCG(seed, 3))
	p := make([]r3.Vec, n)
	for i := range p {
		p[i] = vec(half*(2*rng.Float64()-1), half*(2*rng.Float64()-1), half*(2*rng.Float64()-1))
	}
	return p
}
