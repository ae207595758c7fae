package mesh

import (
	"context"
	"math"
	"reflect"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

func newField(t testing.TB, m *Mesh, o FieldOptions) (*Field, *Tree) {
	t.Helper()
	tree := NewTree(m)
	f, err := NewField(context.Background(), tree, o)
	require.NoError(t, err)
	return f, tree
}

func TestFieldAgreesWithTree(t *testing.T) {
	f, tree := newField(t, sphere(20, 48), FieldOptions{})
	known := 0
	for _, p := range randomPoints(20000, 35, 5) {
		s := f.At(p)
		h := tree.Nearest(p)
		if !s.Known {
			require.Equal(t, 10.0, math.Abs(s.D))
			require.Greater(t, math.Abs(h.Signed), 8.0, "unknown though well within the band")
			require.Equal(t, h.Signed > 0, s.D > 0)
			continue
		}
		known++
		// Lipschitz bound of trilinear interpolation, see the package comment.
		require.InDelta(t, h.Signed, s.D, math.Sqrt(0.75))
		require.LessOrEqual(t, math.Abs(h.Signed-s.D), 3*f.ErrorMM()+1e-6)
	}
	assert.Greater(t, known, 1000)
	assert.Greater(t, f.ErrorMM(), 0.0)
}

func TestFieldGradientIsThatOfTheValue(t *testing.T) {
	f, _ := newField(t, sphere(20, 48), FieldOptions{})
	const e = 1e-5
	for _, p := range randomPoints(500, 25, 6) {
		s := f.At(p)
		g := r3.Vec{
			X: f.At(r3.Add(p, vec(e, 0, 0))).D - f.At(r3.Sub(p, vec(e, 0, 0))).D,
			Y: f.At(r3.Add(p, vec(0, e, 0))).D - f.At(r3.Sub(p, vec(0, e, 0))).D,
			Z: f.At(r3.Add(p, vec(0, 0, e))).D - f.At(r3.Sub(p, vec(0, 0, e))).D,
		}
		require.InDelta(t, 0, r3.Norm(r3.Sub(r3.Scale(0.5/e, g), s.Grad)), 1e-4, "at %v", p)
	}
}

// Each node holds what the tree says: the short lists lose no triangle.
func TestFieldNodesAreExact(t *testing.T) {
	for name, m := range map[string]*Mesh{
		"smooth": sphere(20, 40), "rumpled": rumpled(24, 7), "open": sheet(9, 8), "cube": cube(), "tube": tube(12, 30, 20, 3),
	} {
		t.Run(name, func(t *testing.T) {
			f, tree := newField(t, m, FieldOptions{SpacingMM: 1.25, BandMM: 7})
			checked, closed := 0, m.Closed() == nil
			for b, k := range f.bricks {
				if k < 0 {
					continue
				}
				for x := range int32(brickSide) {
					for y := range int32(brickSide) {
						for z := range int32(brickSide) {
							h := tree.Nearest(f.node(int32(b), x, y, z))
							i := int(k)*brickNodes + nodeIndex(x, y, z)
							v := float64(f.value[i])
							switch {
							case math.IsInf(v, 0):
								require.True(t, h.Beyond || math.Abs(h.Signed) > 7)
								if closed {
									require.Equal(t, h.Signed > 0, v > 0)
								}
							default:
								require.False(t, h.Beyond)
								require.Equal(t, float32(h.Signed), f.value[i])
								require.Equal(t, h.Face, f.face[i])
								checked++
							}
						}
					}
				}
			}
			require.Greater(t, checked, 1000)
		})
	}
}

// The error stated is the one met by an independent draw of points, within what sampling a maximum leaves open, and the
// bound of the package comment holds at every one.
func TestFieldErrorIsAsStated(t *testing.T) {
	for name, m := range map[string]*Mesh{
		"shoe-sized": cavity(60, 60), "rumpled": rumpled(24, 7), "cube": frustum(20, 20, 20, 20, 40),
	} {
		t.Run(name, func(t *testing.T) {
			f, tree := newField(t, m, FieldOptions{})
			b := m.Bounds()
			size := r3.Sub(b.Max, b.Min)
			var worst float64
			for _, u := range randomPoints(20000, 0.5, 30) {
				p := r3.Add(b.Min, vec((u.X+0.5)*size.X, (u.Y+0.5)*size.Y, (u.Z+0.5)*size.Z))
				if s := f.At(p); s.Known {
					worst = math.Max(worst, math.Abs(s.D-tree.Nearest(p).Signed))
				}
			}
			assert.LessOrEqual(t, worst, math.Sqrt(0.75))
			assert.LessOrEqual(t, f.ErrorMM(), math.Sqrt(0.75))
			assert.Positive(t, f.ErrorMM())
			assert.LessOrEqual(t, worst, 1.5*f.ErrorMM())
		})
	}
}

// On a smooth stretch, off the medial axis, the error is under h²/4ρ, and a quarter at half the spacing.
func TestFieldErrorOnSmoothWall(t *testing.T) {
	// A sphere of 30 mm, fine enough for its facets hardly to matter: sagitta 0.0026 mm.
	m := sphere(30, 240)
	var rms [2]float64
	for i, h := range []float64{2, 1} {
		f, tree := newField(t, m, FieldOptions{SpacingMM: h, BandMM: 8})
		n := 0
		for _, p := range randomPoints(8000, 36, 31) {
			r := r3.Norm(p)
			if r < 24 || r > 36 {
				continue
			}
			s := f.At(p)
			if !s.Known {
				continue
			}
			e := s.D - tree.Nearest(p).Signed
			require.LessOrEqual(t, math.Abs(e), h*h/(4*(r-2*h))+0.006)
			rms[i] += e * e
			n++
		}
		require.Greater(t, n, 1000)
		rms[i] = math.Sqrt(rms[i] / float64(n))
	}
	assert.InDelta(t, 4, rms[0]/rms[1], 0.5)
}

func TestFinerFieldIsBetter(t *testing.T) {
	tree := NewTree(cavity(50, 50))
	var last float64
	for i, h := range []float64{3, 1.5, 0.75} {
		f, err := NewField(context.Background(), tree, FieldOptions{SpacingMM: h, BandMM: 6})
		require.NoError(t, err)
		if i > 0 {
			assert.Less(t, f.ErrorMM(), 0.75*last, "half the spacing, about half the error at its worst")
		}
		last = f.ErrorMM()
	}
}

func TestFieldInTheMirror(t *testing.T) {
	m := cavity(30, 30)
	m = m.Transformed(Pose{T: vec(0, 3, 0)})
	f, _ := newField(t, m, FieldOptions{SpacingMM: 2, BandMM: 8})
	g, _ := newField(t, m.MirroredY(), FieldOptions{SpacingMM: 2, BandMM: 8})
	assert.InDelta(t, f.ErrorMM(), g.ErrorMM(), f.ErrorMM())
	for _, u := range randomPoints(3000, 1, 32) {
		p := vec(150+150*u.X, 3+50*u.Y, 60+60*u.Z)
		a, b := f.At(p), g.At(vec(p.X, -p.Y, p.Z))
		if a.Known && b.Known {
			require.InDelta(t, a.D, b.D, f.ErrorMM()+g.ErrorMM())
		}
	}
}

func TestFieldOfOpenRoom(t *testing.T) {
	f, tree := newField(t, tube(12, 30, 64, 6), FieldOptions{})
	assert.Greater(t, f.ErrorMM(), 0.0)
	for _, p := range randomPoints(20000, 40, 33) {
		p.Z += 15
		s := f.At(p)
		h := tree.Nearest(p)
		if s.Known {
			require.InDelta(t, h.Signed, s.D, math.Sqrt(0.75), "%v", p)
			require.InDelta(t, 15, p.Z, 15+1e-9, "no wall is known past the open ends")
		}
	}
	for _, p := range []r3.Vec{vec(11, 0, 33), vec(0, 0, 60), vec(13, 0, 32), vec(0, 0, 1e6)} {
		s := f.At(p)
		assert.False(t, s.Known, "%v", p)
		assert.Equal(t, 10.0, s.D, "the room ends at its edge: free")
		assert.Zero(t, s.Grad)
	}
	outside := f.At(vec(1e5, 0, 15))
	assert.False(t, outside.Known)
	assert.Equal(t, -10.0, outside.D)
	assert.False(t, f.At(vec(math.NaN(), 0, 0)).Known)
	assert.False(t, f.At(vec(0, math.Inf(1), 0)).Known)
}

func TestFieldGivesAGoodHint(t *testing.T) {
	f, tree := newField(t, cavity(40, 40), FieldOptions{})
	near, known := 0, 0
	for _, u := range randomPoints(2000, 1, 34) {
		p := vec(150+150*u.X, 50*u.Y, 60+60*u.Z)
		s := f.At(p)
		if !s.Known {
			continue
		}
		known++
		i := tree.slot[s.Face]
		if math.Sqrt(tree.tris[i].dist2(p.X, p.Y, p.Z)) <= math.Abs(tree.Nearest(p).Signed)+math.Sqrt(3) {
			near++ // the hint is the face nearest to a node within half a diagonal of a cell: out and back
		}
	}
	assert.Greater(t, known, 500)
	assert.Equal(t, known, near)
}

func TestFieldRepeatsOnAnyNumberOfProcessors(t *testing.T) {
	tree := NewTree(rumpled(20, 9))
	before := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(before)
	one, err := NewField(context.Background(), tree, FieldOptions{})
	require.NoError(t, err)
	runtime.GOMAXPROCS(3)
	three, err := NewField(context.Background(), tree, FieldOptions{})
	require.NoError(t, err)
	assert.True(t, reflect.DeepEqual(one, three))
}

func TestFieldStopsWhenCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	f, err := NewField(ctx, NewTree(cube()), FieldOptions{})
	require.ErrorIs(t, err, context.Canceled)
	assert.Nil(t, f)
}

func TestFieldRefusesBadOptions(t *testing.T) {
	huge := cube().Transformed(Pose{})
	for i := range huge.V {
		huge.V[i] = r3.Scale(1e5, huge.V[i])
	}
	for name, c := range map[string]struct {
		m *Mesh
		o FieldOptions
	}{
		"negative spacing":  {cube(), FieldOptions{SpacingMM: -1}},
		"spacing too small": {cube(), FieldOptions{SpacingMM: 0.001}},
		"spacing no number": {cube(), FieldOptions{SpacingMM: math.NaN()}},
		"band too narrow":   {cube(), FieldOptions{SpacingMM: 2, BandMM: 3}},
		"band infinite":     {cube(), FieldOptions{BandMM: math.Inf(1)}},
		"mesh too large":    {huge, FieldOptions{}},
		"no mesh":           {&Mesh{}, FieldOptions{}},
	} {
		t.Run(name, func(t *testing.T) {
			f, err := NewField(context.Background(), NewTree(c.m), c.o)
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			assert.Nil(t, f)
			assert.NotEmpty(t, p.Mend)
		})
	}
}
