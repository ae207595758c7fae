package mesh

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestBuilderDropsWhatHasNoArea(t *testing.T) {
	var b Builder
	p, q, r := b.AddVertex(vec(0, 0, 0)), b.AddVertex(vec(1, 0, 0)), b.AddVertex(vec(0, 1, 0))
	same := b.AddVertex(vec(0, 0, 0))
	b.AddTriangle(p, q, r, 1)
	b.AddTriangle(p, p, r, 2)
	b.AddTriangle(p, q, same, 3)
	b.AddQuad(p, q, r, r, 4)
	b.AddQuad(p, p, q, r, 5)
	m := b.Mesh()
	assert.Equal(t, []uint8{1, 4, 5}, m.Tag)
	assert.InDelta(t, 1.5, m.Area(), 1e-15)
}

func TestQuadIsCutWhereItDoesNotFold(t *testing.T) {
	for name, c := range map[string]struct {
		corners [4]r3.Vec
		area    float64
	}{
		"square":        {[4]r3.Vec{vec(0, 0, 0), vec(1, 0, 0), vec(1, 1, 0), vec(0, 1, 0)}, 1},
		"dart":          {[4]r3.Vec{vec(0, 0, 0), vec(4, 0, 0), vec(1, 1, 0), vec(0, 4, 0)}, 4}, // reflex at the third
		"dart turned":   {[4]r3.Vec{vec(4, 0, 0), vec(1, 1, 0), vec(0, 4, 0), vec(0, 0, 0)}, 4},
		"long diagonal": {[4]r3.Vec{vec(0, 0, 0), vec(9, 1, 0), vec(10, 3, 0), vec(1, 2, 0)}, 17},
	} {
		t.Run(name, func(t *testing.T) {
			var b Builder
			for _, v := range c.corners {
				b.AddVertex(v)
			}
			b.AddQuad(0, 1, 2, 3, 7)
			m := b.Mesh()
			assert.Equal(t, []uint8{7, 7}, m.Tag)
			assert.InDelta(t, c.area, m.Area(), 1e-12)
			for i := range m.F {
				assert.InDelta(t, 1, m.FaceNormal(i).Z, 1e-12)
			}
		})
	}
}

func TestQuadIsCutAlikeInTheMirror(t *testing.T) {
	for _, v := range [][]r3.Vec{
		randomPoints(4, 5, 1), {vec(0, 0, 0), vec(1, 0, 0), vec(1, 1, 0.5), vec(0, 1, 0)},
	} {
		var b, c Builder
		for _, p := range v {
			b.AddVertex(p)
			c.AddVertex(vec(p.X, -p.Y, p.Z))
		}
		b.AddQuad(0, 1, 2, 3, 0)
		c.AddQuad(0, 3, 2, 1, 0)
		assert.InDelta(t, b.Mesh().Area(), c.Mesh().Area(), 1e-12)
		near(t, b.Mesh().Centroid(), c.Mesh().MirroredY().Centroid(), 1e-12)
	}
}

func TestWeldedSoup(t *testing.T) {
	m := rumpled(20, 5)
	w := exploded(m).Welded(0)
	require.NoError(t, w.Closed())
	assert.Len(t, w.V, len(m.V))
	assert.Equal(t, m.Tag, w.Tag)
	assert.InDelta(t, m.Volume(), w.Volume(), 1e-9)
}

func TestWeldedWithinTolerance(t *testing.T) {
	m := exploded(rumpled(20, 5))
	for i, d := range randomPoints(len(m.V), 0.0004, 6) {
		m.V[i] = r3.Add(m.V[i], d)
	}
	require.Error(t, m.Welded(0).Closed())
	w := m.Welded(0.01)
	require.NoError(t, w.Closed())
	for i := range w.V {
		for j := range i {
			require.GreaterOrEqual(t, r3.Norm(r3.Sub(w.V[i], w.V[j])), 0.01)
		}
	}
	assert.Equal(t, w, m.Welded(0.01), "same input, same output")
}

func TestWeldedDropsFacesThatCollapse(t *testing.T) {
	m := &Mesh{
		V:   []r3.Vec{vec(0, 0, 0), vec(1, 0, 0), vec(0, 1, 0), vec(0, 1.001, 0), vec(5, 5, 5), vec(math.Copysign(0, -1), 0, 0)},
		F:   [][3]int32{{0, 1, 2}, {5, 2, 3}, {5, 1, 3}},
		Tag: []uint8{3, 4, 5},
	}
	w := m.Welded(0.01)
	assert.Equal(t, []uint8{3, 5}, w.Tag)
	assert.Len(t, w.V, 3)
	assert.Len(t, m.Welded(0).V, 4, "minus zero is zero, and the unused vertex goes")
}

func TestRefined(t *testing.T) {
	m := frustum(30, 40, 20, 25, 15)
	for name, limit := range map[string]func(a, b r3.Vec) float64{
		"everywhere alike": func(_, _ r3.Vec) float64 { return 4 },
		"finer at one end": func(a, b r3.Vec) float64 { return 2 + 0.1*(60+a.X+b.X) },
		"one side only": func(a, b r3.Vec) float64 {
			if a.Y+b.Y < 0 {
				return math.Inf(1)
			}
			return 5
		},
	} {
		t.Run(name, func(t *testing.T) {
			r := m.Refined(limit)
			require.NoError(t, r.Validate())
			require.NoError(t, r.Closed())
			assert.InEpsilon(t, m.Volume(), r.Volume(), 1e-12)
			assert.InEpsilon(t, m.Area(), r.Area(), 1e-12)
			assert.Greater(t, len(r.F), len(m.F))
			for _, f := range r.F {
				for k := range 3 {
					a, b := r.V[f[k]], r.V[f[(k+1)%3]]
					require.LessOrEqual(t, r3.Norm(r3.Sub(a, b)), limit(a, b))
				}
			}
			for tag := range uint8(6) {
				of := func(m *Mesh) float64 { return m.Subset(func(i int) bool { return m.Tag[i] == tag }).Area() }
				assert.InEpsilon(t, of(m), of(r), 1e-12)
			}
		})
	}
	assert.Equal(t, m, m.Refined(func(_, _ r3.Vec) float64 { return math.Inf(1) }))
	soup := exploded(m).Refined(func(_, _ r3.Vec) float64 { return 4 }).Welded(0)
	assert.NoError(t, soup.Closed(), "equal edges of unwelded faces are cut alike")
}

func TestRefinedIsNotTiredOut(t *testing.T) {
	tiny := frustum(0.001, 0.001, 0.001, 0.001, 0.002)
	for name, l := range map[string]float64{"zero": 0, "negative": -1, "not a number": math.NaN()} {
		t.Run(name, func(t *testing.T) {
			r := tiny.Refined(func(_, _ r3.Vec) float64 { return l })
			assert.NoError(t, r.Closed())
			assert.Less(t, len(r.F), 1000)
		})
	}
}
