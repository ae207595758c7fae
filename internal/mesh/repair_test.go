package mesh

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

func repaired(t testing.TB, m *Mesh, o RepairOptions) (*Mesh, RepairReport) {
	t.Helper()
	before := m.Clone()
	out, report, err := Repair(context.Background(), m, o, nil)
	require.NoError(t, err)
	require.True(t, reflect.DeepEqual(before, m), "the input is left alone")
	require.NoError(t, out.Validate())
	again, _, err := Repair(context.Background(), m, o, nil)
	require.NoError(t, err)
	require.True(t, reflect.DeepEqual(again, out), "the same each time")
	return out, report
}

func kinds(r RepairReport) map[RepairKind]int {
	k := map[RepairKind]int{}
	for _, s := range r.Repairs {
		k[s.Kind] = s.Count
	}
	return k
}

// turnFaces winds some faces the other way round.
func turnFaces(m *Mesh, yes func(i int) bool) *Mesh {
	c := m.Clone()
	for i, f := range c.F {
		if yes(i) {
			c.F[i] = [3]int32{f[0], f[2], f[1]}
		}
	}
	return c
}

func without(m *Mesh, drop func(i int, centre r3.Vec) bool) *Mesh {
	return m.Subset(func(i int) bool {
		f := m.F[i]
		return !drop(i, r3.Scale(1.0/3, r3.Add(m.V[f[0]], r3.Add(m.V[f[1]], m.V[f[2]]))))
	})
}

func both(a, b *Mesh) *Mesh {
	c := a.Clone()
	c.Append(b)
	return c
}

// Each case spoils a closed loft in one way; repairing must find that, and give the loft back.
func TestRepairOfOneFault(t *testing.T) {
	whole := cavity(60, 50)
	require.NoError(t, whole.Closed())
	volume := whole.Volume()
	rng := rand.New(rand.NewPCG(5, 5))
	some := make([]bool, len(whole.F))
	n := 0
	for i := range some {
		if some[i] = rng.Float64() < 0.2; some[i] {
			n++
		}
	}
	apart := exploded(whole)
	for i := range apart.V {
		apart.V[i] = r3.Add(apart.V[i], vec(1e-3*rng.Float64(), 1e-3*rng.Float64(), 1e-3*rng.Float64()))
	}
	crumbs := whole.Clone()
	for k := range 5 {
		crumbs.Append(sphere(0.5, 8).Transformed(Pose{T: vec(50*float64(k), 200, 0)}))
	}
	for name, c := range map[string]struct {
		spoiled *Mesh
		want    map[RepairKind]int
		tol     float64 // of the volume, relative
	}{
		"nothing": {whole, map[RepairKind]int{}, 0},
		"a soup of triangles": {exploded(whole), map[RepairKind]int{
			WeldedVertices: 3*len(whole.F) - len(whole.V),
		}, 0},
		"corners pulled apart": {apart, map[RepairKind]int{WeldedVertices: 3*len(whole.F) - len(whole.V)}, 1e-4},
		"some faces turned":    {turnFaces(whole, func(i int) bool { return some[i] }), map[RepairKind]int{TurnedFaces: n}, 0},
		"inside out":           {turnFaces(whole, func(int) bool { return true }), map[RepairKind]int{TurnedShells: 1}, 0},
		"inside out, some faces not": {
			turnFaces(whole, func(i int) bool { return !some[i] }), map[RepairKind]int{TurnedFaces: n, TurnedShells: 1}, 0,
		},
		"some faces twice": {both(whole, whole.Subset(func(i int) bool { return some[i] })), map[RepairKind]int{
			DuplicateFaces: n, WeldedVertices: -1,
		}, 0},
		"all faces twice, once each way": {both(whole, turnFaces(whole, func(int) bool { return true })), map[RepairKind]int{
			DuplicateFaces: len(whole.F), WeldedVertices: len(whole.V),
		}, 0},
		"faces without area": {both(whole, &Mesh{V: whole.V, F: [][3]int32{{3, 3, 9}, {5, 9, 5}}}), map[RepairKind]int{
			DegenerateFaces: 2, WeldedVertices: -1,
		}, 0},
		"crumbs": {crumbs, map[RepairKind]int{Islands: 5}, 0},
		"a hole": {
			without(whole, func(_ int, c r3.Vec) bool { return r3.Norm(r3.Sub(c, whole.V[1500])) < 9 }),
			map[RepairKind]int{FilledHoles: 1},
			1e-2,
		},
		"two holes and a missing triangle": {
			without(whole, func(i int, c r3.Vec) bool {
				return r3.Norm(r3.Sub(c, whole.V[1500])) < 9 || r3.Norm(r3.Sub(c, whole.V[700])) < 9 || i == 4000
			}),
			map[RepairKind]int{FilledHoles: 3},
			1e-2,
		},
		"the same surface twice": {both(whole, whole.Transformed(Pose{T: vec(0.2, 0.1, -0.1)})), map[RepairKind]int{DoubleShells: 1}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			out, report := repaired(t, c.spoiled, RepairOptions{})
			got := kinds(report)
			for k, n := range c.want {
				if n == -1 {
					assert.Positive(t, got[k], k)
					c.want[k] = got[k]
				}
			}
			assert.Equal(t, c.want, got)
			require.NoError(t, out.Closed())
			assert.True(t, report.Closed())
			assert.InEpsilon(t, volume, out.Volume(), max(c.tol, 1e-9))
			assert.Equal(t, len(out.F), report.TrianglesOut)
			assert.Equal(t, len(c.spoiled.F), report.TrianglesIn)
			assert.Len(t, report.Shells, 1)
			again, second := repaired(t, out, RepairOptions{})
			assert.Empty(t, second.Repairs, "nothing is left to do")
			assert.Equal(t, len(out.F), len(again.F))
		})
	}
}

func TestRepairLeavesTheTopOpen(t *testing.T) {
	whole := cavity(60, 50)
	open := without(whole, func(_ int, c r3.Vec) bool { return c.X < 90 && c.Z > 95 })
	require.Error(t, open.Closed())
	out, report := repaired(t, turnFaces(open, func(int) bool { return true }), RepairOptions{})
	assert.Equal(t, map[RepairKind]int{TurnedShells: 1, LeftOpen: 1}, kinds(report))
	assert.True(t, reflect.DeepEqual(open, out))
	require.Len(t, report.Openings, 1)
	o := report.Openings[0]
	assert.False(t, report.Closed())
	// The border measured another way: the sum of the open edges.
	var perimeter float64
	uses := map[[2]int32]int{}
	for _, f := range open.F {
		for k := range 3 {
			u, v := f[k], f[(k+1)%3]
			uses[[2]int32{min(u, v), max(u, v)}]++
		}
	}
	edges := 0
	for e, n := range uses {
		if n == 1 {
			perimeter += r3.Norm(r3.Sub(open.V[e[0]], open.V[e[1]]))
			edges++
		}
	}
	assert.InEpsilon(t, perimeter, o.PerimeterMM, 1e-9)
	assert.Equal(t, edges, o.Edges)
	assert.Greater(t, o.Normal.Z, 0.9, "out through the top")
	assert.InDelta(t, 95, o.Centre.Z, 10)
	assert.Greater(t, o.SpanMM, 80.0)
	assert.Less(t, o.SpanMM, o.PerimeterMM/2)
	assert.Equal(t, 1, report.Shells[0].Openings)

	closed, report := repaired(t, open, RepairOptions{HoleMM: 1000})
	assert.Equal(t, map[RepairKind]int{FilledHoles: 1}, kinds(report))
	require.NoError(t, closed.Closed())
	assert.Equal(t, len(open.F), report.FilledFrom)
	holed := without(whole, func(i int, _ r3.Vec) bool { return i == 700 })
	out, report = repaired(t, holed, RepairOptions{HoleMM: -1})
	assert.Equal(t, map[RepairKind]int{LeftOpen: 1}, kinds(report))
	assert.True(t, reflect.DeepEqual(holed, out))
}

// A flat hole is filled flat: the area is what was taken out (elementary).
func TestFilledHolesAreTight(t *testing.T) {
	var b Builder
	const n = 24
	for i := range int32(n + 1) {
		for j := range int32(n + 1) {
			b.AddVertex(vec(float64(i), float64(j), 0))
		}
	}
	for i := range int32(n) {
		for j := range int32(n) {
			p := i*(n+1) + j
			b.AddQuad(p, p+n+1, p+n+2, p+1, 3)
		}
	}
	plate := b.Mesh()
	for _, radius := range []float64{1.2, 4, 9} {
		holed := without(plate, func(_ int, c r3.Vec) bool { return r3.Norm(r3.Sub(c, vec(12, 12, 0))) < radius })
		require.Less(t, holed.Area(), 575.0)
		out, report := repaired(t, holed, RepairOptions{HoleMM: 90})
		assert.Equal(t, map[RepairKind]int{FilledHoles: 1, LeftOpen: 1}, kinds(report))
		assert.InEpsilon(t, 576, out.Area(), 1e-12, "radius %g", radius)
		assert.InDelta(t, 96, report.Openings[0].PerimeterMM, 1e-9)
		for i := report.FilledFrom; i < len(out.F); i++ {
			require.Positive(t, out.FaceNormal(i).Z, "wound as the rest")
			require.Zero(t, out.Tag[i])
		}
		for i := range report.FilledFrom {
			require.Equal(t, uint8(3), out.Tag[i])
		}
	}
	// A ring of more corners than are planned gets a fan from its centre.
	ring := tube(12, 1, 2*mostPlanned, 1)
	out, report := repaired(t, ring, RepairOptions{HoleMM: 80})
	assert.Equal(t, 2, report.Count(FilledHoles))
	require.NoError(t, out.Closed())
	assert.InEpsilon(t, math.Pi*144, out.Volume(), 1e-3)
}

func TestRepairOfSheetsOnOneEdge(t *testing.T) {
	box := func(x, y float64) *Mesh { return cube().Transformed(Pose{T: vec(x, y, 0)}) }
	// Two boxes that share an edge, or a corner, or a side.
	for name, c := range map[string]struct {
		m      *Mesh
		want   map[RepairKind]int
		shells int
	}{
		"an edge": {both(box(0, 0), box(2, 2)), map[RepairKind]int{WeldedVertices: 2, SplitEdges: 1, SplitVertices: 2}, 2},
		"a corner": {both(cube(), cube().Transformed(Pose{T: vec(2, 2, 2)})), map[RepairKind]int{
			WeldedVertices: 1, SplitVertices: 1,
		}, 2},
	} {
		for _, spoil := range []bool{false, true} {
			m := c.m
			want := c.want
			if spoil {
				m = turnFaces(m, func(i int) bool { return i == 4 })
				want = map[RepairKind]int{TurnedFaces: 1}
				for k, n := range c.want {
					want[k] = n
				}
			}
			out, report := repaired(t, m, RepairOptions{})
			assert.Equal(t, want, kinds(report), name)
			require.NoError(t, out.Closed(), name)
			assert.InDelta(t, 16, out.Volume(), 1e-9, name)
			assert.Len(t, report.Shells, c.shells, name)
		}
	}
	// A fin that stands on a box: its side has three faces.
	fin := cube()
	fin.Append(&Mesh{V: []r3.Vec{vec(-1, 1, 1), vec(1, 1, 1), vec(0, 1.2, 1.2)}, F: [][3]int32{{0, 1, 2}}})
	out, report := repaired(t, fin, RepairOptions{IslandShare: 0.05})
	assert.Equal(t, 1, report.Count(SplitEdges))
	assert.Equal(t, 1, report.Count(Islands))
	require.NoError(t, out.Closed())
	assert.InDelta(t, 8, out.Volume(), 1e-9)
}

func TestRepairOfSeveralShells(t *testing.T) {
	big, small := sphere(20, 40), sphere(8, 24)
	inner := both(big, small)
	for name, m := range map[string]*Mesh{
		"wall of a cavity, both outward": inner,
		"already right":                  both(big, turnFaces(small, func(int) bool { return true })),
		"all inward":                     turnFaces(inner, func(int) bool { return true }),
	} {
		out, report := repaired(t, m, RepairOptions{})
		require.NoError(t, out.Closed(), name)
		assert.InEpsilon(t, big.Volume()-small.Volume(), out.Volume(), 1e-9, name)
		require.Len(t, report.Shells, 2)
		assert.False(t, report.Shells[0].Inner)
		assert.True(t, report.Shells[1].Inner)
		assert.Equal(t, len(out.F), len(report.ShellOf))
		n := 0
		for _, s := range report.ShellOf {
			if s == 1 {
				n++
			}
		}
		assert.Equal(t, report.Shells[1].Faces, n)
	}
	apart := both(small, big.Transformed(Pose{T: vec(100, 0, 0)}))
	_, report := repaired(t, apart, RepairOptions{})
	require.Len(t, report.Shells, 2)
	near(t, vec(100, 0, 0), report.Shells[0].Centroid, 1e-9)
	assert.InEpsilon(t, big.Volume(), report.Shells[0].VolumeMM3, 1e-9)
	assert.Empty(t, report.Repairs)
}

// A band with a half turn has one side only.
func TestRepairCutsWhatHasOneSide(t *testing.T) {
	const n = 40
	m := &Mesh{}
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		hs, hc := math.Sincos(math.Pi * float64(i) / n)
		for _, w := range [2]float64{-5, 5} {
			m.V = append(m.V, vec((30+w*hc)*c, (30+w*hc)*s, w*hs))
		}
	}
	for i := range int32(n) {
		a, b, c, d := 2*i, 2*i+1, (2*i+2)%(2*n), (2*i+3)%(2*n)
		if i == n-1 {
			c, d = d, c
		}
		m.F = append(m.F, [3]int32{a, c, b}, [3]int32{b, c, d})
	}
	_, report := repaired(t, m, RepairOptions{HoleMM: -1})
	assert.Equal(t, 1, report.Count(CutSeams))
	assert.Equal(t, 1, report.Count(LeftOpen), "and has one border then, too")
}

func TestRepairRefuses(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 9))
	confetti := &Mesh{}
	for i := range int32(3000) {
		p := vec(100*rng.Float64(), 100*rng.Float64(), 100*rng.Float64())
		confetti.V = append(confetti.V, p, r3.Add(p, vec(1, 0, 0)), r3.Add(p, vec(0, 1, 0)))
		confetti.F = append(confetti.F, [3]int32{3 * i, 3*i + 1, 3*i + 2})
	}
	bad := cube()
	bad.V[0].X = math.NaN()
	for name, c := range map[string]struct {
		m     *Mesh
		o     RepairOptions
		field string
	}{
		"confetti":         {confetti, RepairOptions{}, "surface"},
		"confetti, kept":   {confetti, RepairOptions{IslandShare: -1, HoleMM: -1}, "surface"},
		"empty":            {&Mesh{}, RepairOptions{}, "triangles"},
		"a point":          {&Mesh{V: make([]r3.Vec, 3), F: [][3]int32{{0, 1, 2}}}, RepairOptions{}, "triangles"},
		"not a number":     {bad, RepairOptions{}, "vertex 0"},
		"weld too wide":    {cube(), RepairOptions{WeldMM: 11}, "weld_mm"},
		"weld not at all":  {cube(), RepairOptions{WeldMM: math.NaN()}, "weld_mm"},
		"islands all":      {cube(), RepairOptions{IslandShare: 1}, "island_share"},
		"islands no share": {cube(), RepairOptions{IslandShare: math.NaN()}, "island_share"},
	} {
		out, _, err := Repair(context.Background(), c.m, c.o, nil)
		assert.Nil(t, out, name)
		var p problem.Problem
		require.ErrorAs(t, err, &p, name)
		assert.Equal(t, c.field, p.Field, name)
		assert.NotEmpty(t, p.Limit, name)
	}
}

func TestRepairTellsAndStops(t *testing.T) {
	var at []float64
	_, _, err := Repair(context.Background(), cavity(20, 20), RepairOptions{}, func(done, total float64) { at = append(at, done/total) })
	require.NoError(t, err)
	assert.True(t, slices.IsSorted(at))
	assert.Equal(t, 1.0, at[len(at)-1])
	ctx, cancel := context.WithCancel(context.Background())
	out, _, err := Repair(ctx, cavity(20, 20), RepairOptions{}, func(done, _ float64) {
		if done == 3 {
			cancel()
		}
	})
	require.ErrorIs(t, err, context.Canceled)
	assert.Nil(t, out)
}

func TestRepairReportIsReadable(t *testing.T) {
	m := without(cavity(40, 30), func(i int, c r3.Vec) bool { return i == 600 || c.X < 90 && c.Z > 95 })
	_, report := repaired(t, exploded(m), RepairOptions{})
	b, err := json.Marshal(report)
	require.NoError(t, err)
	assert.Contains(t, string(b), `{"kind":"filled_holes","count":1,"size":`)
	assert.Contains(t, string(b), `"words":"1 hole was filled, up to `)
	assert.Contains(t, string(b), `"words":"1 opening was left open, up to `)
	assert.Contains(t, string(b), `vertices were merged with others, nearer than `)
	for kind := range repairWords {
		for _, n := range []int{1, 2} {
			var r RepairReport
			r.add(kind, n, 1.5)
			assert.NotContains(t, r.Repairs[0].Words, "%!", kind)
			assert.Contains(t, r.Repairs[0].Words, map[int]string{1: "1 ", 2: "2 "}[n], kind)
		}
	}
}

// FuzzRepair makes a mesh of the bytes: corners on a small lattice, so that faces meet in every way, then faces.
func FuzzRepair(f *testing.F) {
	f.Add([]byte{0, 1, 2, 2, 1, 3, 3, 1, 0, 0, 2, 3})
	f.Add([]byte{0, 1, 2, 0, 2, 1, 0, 1, 5, 1, 0, 7, 0, 1, 9, 30, 31, 32, 30, 31, 32})
	f.Add([]byte{0, 9, 18, 1, 2, 3, 63, 63, 62, 5, 5, 5})
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 600 {
			data = data[:600]
		}
		m := &Mesh{}
		for i := range 64 {
			m.V = append(m.V, vec(float64(i%4), float64(i/4%4)+0.01*float64(i%7), float64(i/16)))
		}
		for i := 0; i+2 < len(data); i += 3 {
			m.F = append(m.F, [3]int32{int32(data[i] % 64), int32(data[i+1] % 64), int32(data[i+2] % 64)})
		}
		for _, o := range []RepairOptions{{}, {HoleMM: -1, IslandShare: -1, DoubleMM: -1}, {WeldMM: 1.5, HoleMM: 1e9}} {
			out, report, err := Repair(context.Background(), m, o, nil)
			if err != nil {
				var p problem.Problem
				require.ErrorAs(t, err, &p)
				require.Nil(t, out)
				continue
			}
			require.NoError(t, out.Validate())
			require.Equal(t, len(out.F), report.TrianglesOut)
			require.Len(t, report.ShellOf, len(out.F))
			require.LessOrEqual(t, report.FilledFrom, len(out.F))
			edges := map[[2]int32]int{}
			for _, f := range out.F {
				for k := range 3 {
					edges[[2]int32{f[k], f[(k+1)%3]}]++
				}
			}
			// Every border that is left was reported, and what was joined is wound alike.
			open := 0
			for e, n := range edges {
				open += max(0, n-edges[[2]int32{e[1], e[0]}]) // sides that no other runs against
			}
			reported := 0
			for _, p := range report.Openings {
				reported += p.Edges
			}
			require.LessOrEqual(t, open, reported)
			require.False(t, math.IsNaN(NewScanTree(out).Nearest(vec(1, 1, 1)).Signed))
		}
	})
}

// A scan with all faults at once: noise, an open top, holes, turned and doubled faces, faces without area, crumbs, each
// corner for itself, inside out. What is left must be the loft's wall, and tell the side of points as the exact sum does
// for the clean scan.
func TestRepairOfScanWithEveryFault(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 6))
	clean := noisyLoft(80, 81)
	open := without(clean, func(_ int, c r3.Vec) bool { return c.X < 110 && c.Z > 88 })
	holed := without(open, func(i int, c r3.Vec) bool {
		return i%2500 == 77 || r3.Norm(r3.Sub(c, open.V[2000])) < 5 || r3.Norm(r3.Sub(c, open.V[4000])) < 8
	})
	m := turnFaces(holed, func(int) bool { return rng.Float64() < 0.9 })
	m.Append(holed.Subset(func(int) bool { return rng.Float64() < 0.05 }))
	for range 20 {
		m.Append(sphere(0.4, 6).Transformed(Pose{T: vec(300*rng.Float64(), 300, 100*rng.Float64())}))
	}
	m.F = append(m.F, [3]int32{0, 0, 1}, [3]int32{9, 1, 9})
	m.Tag = nil
	scan := exploded(m)
	data := written(t, scan, "scan", STL)
	read, info, err := readBytes(data, "scan.stl", ReadOptions{})
	require.NoError(t, err)
	require.Equal(t, 1.0, info.UnitMM)
	out, report := repaired(t, read, RepairOptions{})
	require.Len(t, report.Openings, 1, "the top")
	assert.Greater(t, report.Openings[0].Normal.Z, 0.8)
	assert.GreaterOrEqual(t, report.Count(FilledHoles), 4)
	assert.Equal(t, 20, report.Count(Islands))
	assert.Positive(t, report.Count(DuplicateFaces))
	assert.Positive(t, report.Count(TurnedFaces))
	assert.Equal(t, 1, report.Count(TurnedShells))
	assert.InEpsilon(t, open.Area(), out.Area(), 0.01)
	tree := NewScanTree(out)
	points := aboutSurface(open, 500, 10, 9)
	compared := 0
	for i, w := range exactWinding(NewTree(clean), points) {
		h := tree.Nearest(points[i])
		// Where a hole was filled, the wall is flat and a little off.
		if h.Beyond || int(h.Face) >= report.FilledFrom || math.Abs(h.Signed) < 0.01 {
			continue
		}
		compared++
		require.Equal(t, w >= 0.5, h.Signed > 0, "%v: %g", points[i], h.Signed)
	}
	assert.Greater(t, compared, 400)
	assert.InDelta(t, 0.3, MeasureRoughness(out).RMSMM, 0.05)
}
