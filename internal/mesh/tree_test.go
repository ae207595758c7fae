package mesh

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestNearestCube(t *testing.T) {
	tree := NewTree(cube())
	for _, c := range []struct {
		name   string
		p      r3.Vec
		signed float64
		point  r3.Vec
	}{
		// Distances of the point to the cube ±1, elementary geometry (calc); outside is negative here.
		{"face", vec(1.5, 0, 0), -0.5, vec(1, 0, 0)},
		{"edge", vec(2, 2, 0), -1.414214, vec(1, 1, 0)},
		{"corner", vec(2, 2, 2), -1.732051, vec(1, 1, 1)},
		{"inside", vec(0.75, 0.1, 0.2), 0.25, vec(1, 0.1, 0.2)},
		{"centre", vec(0, 0, 0), 1, vec(0, 0, -1)},
		{"on it", vec(1, 0.5, 0.5), 0, vec(1, 0.5, 0.5)},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := tree.Nearest(c.p)
			assert.InDelta(t, c.signed, h.Signed, 5e-7)
			assert.InDelta(t, 0, r3.Norm(r3.Sub(c.point, h.Point)), 1e-12)
			assert.InDelta(t, 1, r3.Norm(h.Normal), 1e-12)
			assert.False(t, h.Beyond)
		})
	}
}

// bruteDistance is the distance to the nearest face, each by projection and by its three sides: another way than the
// tree's.
func bruteDistance(m *Mesh, p r3.Vec) float64 {
	best := math.Inf(1)
	for i, f := range m.F {
		n := m.FaceNormal(i)
		inside := n != (r3.Vec{})
		for k := range 3 {
			a, b := m.V[f[k]], m.V[f[(k+1)%3]]
			ab := r3.Sub(b, a)
			s := math.Max(0, math.Min(1, r3.Dot(r3.Sub(p, a), ab)/r3.Norm2(ab)))
			best = math.Min(best, r3.Norm(r3.Sub(p, r3.Add(a, r3.Scale(s, ab)))))
			inside = inside && r3.Dot(r3.Cross(n, ab), r3.Sub(p, a)) >= 0
		}
		if inside {
			best = math.Min(best, math.Abs(r3.Dot(n, r3.Sub(p, m.V[f[0]]))))
		}
	}
	return best
}

func TestNearestAgainstBruteForce(t *testing.T) {
	for name, m := range map[string]*Mesh{
		"closed": rumpled(24, 1), "open": sheet(12, 2), "soup": exploded(rumpled(16, 3)), "one face": {
			V: []r3.Vec{vec(0, 0, 0), vec(10, 0, 0), vec(0, 10, 3)}, F: [][3]int32{{0, 1, 2}},
		},
	} {
		t.Run(name, func(t *testing.T) {
			tree := NewTree(m)
			closed := m.Welded(0).Closed() == nil
			hint := int32(-1)
			for i, p := range randomPoints(2500, 40, 4) {
				h := tree.Nearest(p)
				require.InDelta(t, bruteDistance(m, p), math.Abs(h.Signed), 1e-10, "point %d %v", i, p)
				require.InDelta(t, math.Abs(h.Signed), r3.Norm(r3.Sub(p, h.Point)), 1e-10)
				require.InDelta(t, 1, r3.Norm(h.Normal), 1e-9)
				back := r3.Add(h.Point, r3.Scale(h.Signed, h.Normal))
				require.InDelta(t, 0, r3.Norm(r3.Sub(back, p)), 1e-9)
				if closed {
					require.Equal(t, tree.Winding(p) > 0.5, h.Signed > 0, "sign at %v", p)
				}
				require.Equal(t, h, tree.NearestFrom(p, hint), "hint %d", hint)
				require.Equal(t, h, tree.NearestFrom(p, int32((i*7919)%len(m.F))))
				hint = h.Face
			}
		})
	}
}

// sagittaMM is how far a side of an inscribed polygon stands off its circle, at most.
func sagittaMM(r float64, n int) float64 { return r * (1 - math.Cos(math.Pi/float64(n))) }

// Radius 30, 32, 64 and 128 corners (calc).
func TestSagitta(t *testing.T) {
	for n, want := range map[int]float64{32: 0.14446, 64: 0.03614, 128: 0.00904} {
		assert.InDelta(t, want, sagittaMM(30, n), 5e-6)
	}
}

// The distance to a true sphere or cylinder is elementary; an inscribed mesh is nearer from inside, by no more than
// the sagitta of its sides, in two directions for the sphere.
func TestNearestRoundShapes(t *testing.T) {
	const n = 64
	ball, pipe := NewTree(sphere(30, n)), NewTree(tube(30, 400, n, 40))
	for _, p := range randomPoints(3000, 45, 10) {
		ideal := 30 - r3.Norm(p)
		got := ball.Nearest(p).Signed
		require.LessOrEqual(t, got, ideal+1e-12, "at %v", p)
		require.GreaterOrEqual(t, got, ideal-2*sagittaMM(30, n))
		p.Z += 200
		ideal = 30 - math.Hypot(p.X, p.Y)
		h := pipe.Nearest(p)
		require.False(t, h.Beyond)
		require.LessOrEqual(t, h.Signed, ideal+1e-12)
		require.GreaterOrEqual(t, h.Signed, ideal-sagittaMM(30, n)-1e-12)
	}
}

// A sphere of radius 25 in a cylinder of radius 30, 3 mm off its axis, has a clearance of 2 mm (calc).
func TestClearanceOfSphereInCylinder(t *testing.T) {
	for _, n := range []int{32, 64, 128} {
		tree := NewTree(tube(30, 200, n, 20))
		least := math.Inf(1)
		for _, v := range sphere(25, 96).V {
			least = math.Min(least, tree.Nearest(r3.Add(v, vec(0, 3, 100))).Signed)
		}
		assert.LessOrEqual(t, least, 2+1e-9)
		assert.GreaterOrEqual(t, least, 2-sagittaMM(30, n)-1e-9)
	}
}

func TestDistanceDoesNotDependOnFrameOrSide(t *testing.T) {
	m := sheet(10, 6)
	pose := PoseAbout(vec(5, 5, 5), vec(1, -2, 0.5), vec(100, 20, -60))
	tree, moved, mirrored := NewTree(m), NewTree(m.Transformed(pose)), NewTree(m.MirroredY())
	doubled := m.Clone()
	for i := range doubled.V {
		doubled.V[i] = r3.Scale(2, doubled.V[i])
	}
	scaled := NewTree(doubled)
	for _, p := range randomPoints(1000, 30, 11) {
		h := tree.Nearest(p)
		g := moved.Nearest(pose.Apply(p))
		require.InDelta(t, h.Signed, g.Signed, 1e-10)
		near(t, pose.Apply(h.Point), g.Point, 1e-9)
		near(t, pose.Rotate(h.Normal), g.Normal, 1e-8)
		require.Equal(t, h.Beyond, g.Beyond)
		g = mirrored.Nearest(vec(p.X, -p.Y, p.Z))
		require.InDelta(t, h.Signed, g.Signed, 1e-12)
		require.Equal(t, h.Beyond, g.Beyond)
		require.InDelta(t, 2*h.Signed, scaled.Nearest(r3.Scale(2, p)).Signed, 1e-11)
	}
}

func TestDistanceChangesByNoMoreThanTheWay(t *testing.T) {
	tree := NewTree(rumpled(24, 12))
	p := randomPoints(4000, 35, 13)
	for i := 1; i < len(p); i++ {
		q := r3.Add(p[i], r3.Scale(0.05, p[i-1]))
		require.LessOrEqual(t, math.Abs(tree.Nearest(p[i]).Signed-tree.Nearest(q).Signed), r3.Norm(r3.Sub(p[i], q))+1e-9)
	}
}

// A room open at the top: a tube of radius 10 about Z from 0 to 30, open at both ends.
func TestBeyond(t *testing.T) {
	tree := NewTree(tube(10, 30, 64, 6))
	for _, c := range []struct {
		name   string
		p      r3.Vec
		beyond bool
	}{
		{"inside", vec(9, 0, 15), false},
		{"past the wall", vec(12, 0, 15), false},
		{"level with the edge", vec(9, 0, 30), false},
		{"level with the edge, past the wall", vec(11, 0, 30), false},
		{"a hair over the edge", vec(9, 0, 30.001), true},
		{"over the edge, inside", vec(7, 3, 35), true},
		{"over the edge, past the wall", vec(12, 1, 31), true},
		{"straight over the edge", vec(10, 0, 31), true},
		{"under the other edge", vec(9, 0, -2), true},
		{"on the edge", vec(10, 0, 30), false},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, c.beyond, tree.Nearest(c.p).Beyond)
		})
	}
	// A flat sheet: above it is never beyond, out of its outline always.
	flat := NewTree(&Mesh{
		V: []r3.Vec{vec(0, 0, 0), vec(10, 0, 0), vec(10, 10, 0), vec(0, 10, 0)}, F: [][3]int32{{0, 1, 2}, {0, 2, 3}},
	})
	for _, p := range randomPoints(2000, 20, 14) {
		out := p.X < 0 || p.X > 10 || p.Y < 0 || p.Y > 10
		require.Equal(t, out, flat.Nearest(p).Beyond, "%v", p)
		require.Equal(t, p.Z < 0, flat.Nearest(p).Signed > 0 || out && p.Z < 0)
	}
	assert.False(t, flat.Nearest(vec(10, 5, 3)).Beyond, "straight above the edge")
	assert.False(t, flat.Nearest(vec(0, 0, -3)).Beyond, "straight below a corner")
}

// Places where pseudonormals say nothing: an edge of four faces, and a face without area in a closed surface.
func TestSignWherePseudonormalsFail(t *testing.T) {
	two := cube()
	two.Append(cube().Transformed(Pose{T: vec(2, 2, 0)})) // they share the edge X = Y = 1
	two = two.Welded(0)
	split := cube() // the lid's diagonal gets a vertex on one side only, and a face without area closes the gap
	lid := -1
	for i, f := range split.F {
		if split.Tag[i] == 1 {
			lid = i
			a, b, c := f[0], f[1], f[2]
			mid := int32(len(split.V))
			split.V = append(split.V, vec(0, 0, 1))
			var fan [][3]int32
			for _, e := range [][2]int32{{a, b}, {b, c}, {c, a}} {
				fan = append(fan, [3]int32{e[0], e[1], mid}) // one of them is flat
			}
			split.F[i] = fan[0]
			split.F = append(split.F, fan[1:]...)
			split.Tag = append(split.Tag, 1, 1)
			break
		}
	}
	require.GreaterOrEqual(t, lid, 0)
	require.NoError(t, split.Closed())
	for name, c := range map[string]struct {
		m      *Mesh
		inside func(p r3.Vec) bool
	}{
		"edge of four faces": {two, func(p r3.Vec) bool {
			in := func(x, y float64) bool { return math.Abs(p.X-x) < 1 && math.Abs(p.Y-y) < 1 && math.Abs(p.Z) < 1 }
			return in(0, 0) || in(2, 2)
		}},
		"face without area": {split, func(p r3.Vec) bool { return math.Abs(p.X) < 1 && math.Abs(p.Y) < 1 && math.Abs(p.Z) < 1 }},
	} {
		t.Run(name, func(t *testing.T) {
			tree := NewTree(c.m)
			for _, p := range randomPoints(3000, 3.5, 15) {
				h := tree.Nearest(p)
				require.Equal(t, c.inside(p), h.Signed > 0, "%v", p)
				require.InDelta(t, bruteDistance(c.m.Welded(0), p), math.Abs(h.Signed), 1e-12)
				require.False(t, h.Beyond)
			}
			assert.False(t, tree.Nearest(vec(1.5, 0.5, 0)).Signed > 0)
			assert.False(t, tree.Nearest(vec(0, 0, 1.5)).Signed > 0)
		})
	}
}

func TestNearestTakesAnyPointAndHint(t *testing.T) {
	tree := NewTree(cube())
	for _, p := range []r3.Vec{vec(math.NaN(), 0, 0), vec(0, math.Inf(1), 0)} {
		for _, hint := range []int32{-1, 0} {
			h := tree.NearestFrom(p, hint)
			assert.Equal(t, int32(-1), h.Face)
			assert.True(t, math.IsInf(h.Signed, 1))
		}
	}
	for _, hint := range []int32{-5, 12, math.MaxInt32} {
		assert.Equal(t, tree.Nearest(vec(3, 2, 1)), tree.NearestFrom(vec(3, 2, 1), hint))
	}
	far := tree.Nearest(vec(1e9, 0, 0))
	assert.InEpsilon(t, 1-1e9, far.Signed, 1e-12)
}

// Many faces with their centres in one place drive the tree to its deepest.
func TestTreeOfConcentricFaces(t *testing.T) {
	m := &Mesh{}
	for i := range 300 {
		s := math.Pow(1.3, float64(i)/6)
		k := int32(len(m.V))
		m.V = append(m.V, vec(-s, -s, 0), vec(s, -s, 0), vec(0, 2*s, float64(i)*1e-9))
		m.F = append(m.F, [3]int32{k, k + 1, k + 2})
	}
	tree := NewTree(m)
	for _, p := range randomPoints(200, 50, 16) {
		require.InDelta(t, bruteDistance(m, p), math.Abs(tree.Nearest(p).Signed), 1e-9)
	}
}

// Coordinates at the ends of what float64 holds break nothing.
func TestTreeOfTinyAndHugeFaces(t *testing.T) {
	for _, s := range []float64{1e-310, 1e-160, 1e150, 1e300} {
		m := rumpled(8, 1)
		for i := range m.V {
			m.V[i] = r3.Scale(s, m.V[i])
		}
		require.NoError(t, m.Validate())
		require.NotPanics(t, func() {
			h := NewTree(m).Nearest(vec(0, 0, 0))
			require.False(t, math.IsNaN(h.Signed), "scale %g", s)
		})
	}
}

// Halves that are grown side by side stand in the tree as if grown one after the other: each node before its children, each face once.
func TestTreeRepeatsThoughItsHalvesGrowSideBySide(t *testing.T) {
	m := rumpled(120, 21)
	require.Greater(t, len(m.F), 2*sideBySide)
	a, b := NewTree(m), NewTree(m)
	assert.Equal(t, a.nodes, b.nodes)
	assert.Equal(t, a.slot, b.slot)
	seen := make([]bool, len(a.tris))
	for i, nd := range a.nodes {
		for _, c := range nd.child {
			if c >= 0 {
				require.Greater(t, c, int32(i))
				continue
			}
			for k := ^c >> leafBits; k < ^c>>leafBits+(^c&(1<<leafBits-1)); k++ {
				require.False(t, seen[k])
				seen[k] = true
				require.Equal(t, k, a.slot[a.tris[k].face])
			}
		}
	}
	assert.NotContains(t, seen, false)
}
