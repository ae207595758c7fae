package mesh

import (
	"bytes"
	"context"
	"encoding/binary"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

// fuzzMesh is a valid mesh of at most 60 vertices and 100 faces that data describes. Bytes place the vertices on a small lattice, so that
// they fall together and faces cross; reach stretches it.
func fuzzMesh(data []byte, reach float64) *Mesh {
	m := &Mesh{}
	if !(math.Abs(reach) <= 1e6) || reach == 0 { // as far as Read takes them
		reach = 1
	}
	n := 0
	if len(data) > 0 {
		n = 1 + int(data[0]%60)
		data = data[1:]
	}
	for range n {
		v := r3.Vec{X: float64(len(m.V) % 4), Y: float64(len(m.V) / 4 % 4), Z: float64(len(m.V) / 16)}
		if len(data) >= 2 {
			v = r3.Add(v, r3.Vec{X: float64(data[0]%8) / 7, Y: float64(data[0]>>3) / 31, Z: float64(data[1]) / 100})
			data = data[2:]
		}
		m.V = append(m.V, r3.Scale(reach/10, v))
	}
	for len(data) >= 4 && len(m.F) < 100 {
		m.F = append(m.F, [3]int32{int32(int(data[0]) % n), int32(int(data[1]) % n), int32(int(data[2]) % n)})
		m.Tag = append(m.Tag, data[3])
		data = data[4:]
	}
	return m
}

func requireFiniteVec(t *testing.T, v ...r3.Vec) {
	t.Helper()
	for _, p := range v {
		require.True(t, finite(p), "%v", v)
	}
}

// FuzzMesh makes trees, fields, sections, samples and copies of any valid mesh and asks them at any point.
func FuzzMesh(f *testing.F) {
	f.Add([]byte{}, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
	f.Add([]byte{3, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 2, 7, 0, 2, 3, 7}, 10.0, 0.1, 0.2, 0.3, 1.0, 4.0)
	f.Add([]byte{7, 9, 9, 9, 9, 1, 2, 3, 4, 5, 6, 7, 8, 9, 1, 2, 3, 4, 5, 6, 0, 0, 1, 2, 3, 4, 1, 2, 3, 3}, 1e6, math.NaN(), 1e300, -1e-300, 0.05, 1000.0)
	f.Add([]byte{4, 200, 40, 100, 4, 0, 0, 1, 2, 3, 1, 1, 2, 2, 2, 0, 3, 1, 3}, 1e-6, 0.0, math.Inf(1), 3.0, math.NaN(), -1.0)
	f.Fuzz(func(t *testing.T, data []byte, reach, x, y, z, spacing, band float64) {
		m := fuzzMesh(data, reach)
		require.NoError(t, m.Validate())
		p := r3.Vec{X: x, Y: y, Z: z}
		trees := []*Tree{NewTree(m), NewScanTree(m), NewTreeSigned(m, SignByWinding)}
		for _, tree := range trees {
			h := tree.Nearest(p)
			require.False(t, math.IsNaN(h.Signed), "%v", tree.Sign())
			if !finite(p) {
				require.EqualValues(t, -1, h.Face)
				continue
			}
			require.Equal(t, h, tree.NearestFrom(p, int32(len(data))))
			if h.Face < 0 {
				continue
			}
			requireFiniteVec(t, h.Point, h.Normal)
			for i, face := range m.F { // no corner is nearer
				for _, v := range face {
					if d := r3.Norm(r3.Sub(m.V[v], p)); tree.slot[i] >= 0 {
						require.LessOrEqual(t, math.Abs(h.Signed), d*(1+1e-9)+1e-9)
					}
				}
			}
		}
		spacing = max(spacing, m.LengthAcross()/30) // finer ones only take longer
		if field, err := NewField(context.Background(), trees[0], FieldOptions{SpacingMM: spacing, BandMM: min(band, 8*spacing)}); err != nil {
			var pr problem.Problem
			require.ErrorAs(t, err, &pr)
			require.NotEmpty(t, pr.Limit)
			require.NotEmpty(t, pr.Mend)
		} else {
			s := field.At(p)
			require.False(t, math.IsNaN(s.D))
			requireFiniteVec(t, s.Grad)
			require.GreaterOrEqual(t, field.ErrorMM(), 0.0)
		}
		sum := r3.Vec{}
		for _, s := range Samples(m) {
			requireFiniteVec(t, s.P, s.A)
			sum = r3.Add(sum, s.A)
		}
		for i := range m.F {
			sum = r3.Sub(sum, m.areaVector(i))
		}
		require.LessOrEqual(t, r3.Norm(sum), 1e-9*(m.Area()+1e-300))
		require.False(t, math.IsNaN(MeasureRoughness(m).RMSMM))
		for _, line := range m.Section(Plane{Point: r3.Scale(0.5, m.Centroid()), Normal: r3.Vec{X: 1, Y: 0.3, Z: 0.1}}) {
			requireFiniteVec(t, line.P...)
		}
		across := m.LengthAcross()
		fine := m.Refined(func(_, _ r3.Vec) float64 { return across / 8 })
		require.NoError(t, fine.Validate())
		require.InDelta(t, m.Area(), fine.Area(), 1e-9*m.Area())
		if m.Closed() == nil && !doubled(m) {
			require.NoError(t, fine.Closed())
		}
		weld := m.Welded(math.Abs(reach) / 100)
		require.NoError(t, weld.Validate())
		require.LessOrEqual(t, len(weld.F), len(m.F))
		requireFiniteVec(t, m.VertexNormals()...)
		guesses, many := GuessUnit(m, 0, 0)
		require.Equal(t, len(guesses) > 1, many)
		for _, form := range []Format{STL, STLText, OBJ, PLY, PLYBig, PLYText, ThreeMF} {
			var b bytes.Buffer
			require.NoError(t, Write(&b, m, "fuzz", form))
			back, _, err := Read(context.Background(), bytes.NewReader(b.Bytes()), int64(b.Len()), "fuzz."+string(form), ReadOptions{})
			if err != nil { // without a face, or with all its corners rounded together
				var pr problem.Problem
				require.ErrorAs(t, err, &pr)
				continue
			}
			require.NoError(t, back.Validate())
			require.InDelta(t, m.Area(), back.Area(), 1e-5*m.Area()+1e-5*across*across, "%s", form)
		}
	})
}

// doubled says whether two faces have the same three corners.
func doubled(m *Mesh) bool {
	seen := map[[3]int32]bool{}
	for _, f := range m.F {
		slices.Sort(f[:])
		if seen[f] {
			return true
		}
		seen[f] = true
	}
	return false
}

// FuzzPose makes rigid motions of any finite numbers a person or a file may give; they stay rigid.
func FuzzPose(f *testing.F) {
	f.Add(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
	f.Add(1.0, -2.0, 3.0, 0.1, 3.2, -0.4)
	f.Add(1e6, 0.0, -1e6, 1e-300, 0.0, 0.0)
	f.Add(0.0, 0.0, 5e-324, 1e9, 1e308, 1e-9)
	f.Fuzz(func(t *testing.T, x, y, z, u, v, w float64) {
		for _, k := range []*float64{&x, &y, &z} {
			if !(math.Abs(*k) <= 1e6) {
				*k = 0
			}
		}
		turn := r3.Vec{X: u, Y: v, Z: w}
		p := PoseAbout(r3.Vec{X: x, Y: y, Z: z}, turn, r3.Vec{X: z, Y: x, Z: y})
		if !finite(turn) || math.IsInf(r3.Norm(turn), 0) {
			return
		}
		at := r3.Vec{X: y, Y: z, Z: x}
		scale := 1 + math.Abs(x) + math.Abs(y) + math.Abs(z)
		moved := p.Apply(at)
		requireFiniteVec(t, moved, p.RotationVectorDeg())
		require.InDelta(t, r3.Norm(at), r3.Norm(p.Rotate(at)), 1e-12*scale)
		require.LessOrEqual(t, r3.Norm(r3.Sub(p.Inverse().Apply(moved), at)), 1e-12*scale)
		require.LessOrEqual(t, r3.Norm(r3.Sub(p.Compose(p).Apply(at), p.Apply(moved))), 1e-12*scale)
		require.LessOrEqual(t, r3.Norm(p.RotationVectorDeg()), 180+1e-9)
		m := p.Motion()
		require.LessOrEqual(t, r3.Norm(r3.Sub(m.Apply(&at), moved)), 1e-12*scale)
	})
}

// FuzzPlanar hulls points of the plane, and reads names of units and forms.
func FuzzPlanar(f *testing.F) {
	points := func(v ...float64) (b []byte) {
		for _, x := range v {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
		}
		return b
	}
	f.Add(points(), "mm")
	f.Add(points(0, 0, 1, 0, 1, 1, 0, 1, 0.5, 0.5), " Inches ")
	f.Add(points(0, 0, 1, 1, 2, 2, 3, 3), "scan.STL")
	f.Add(points(1e6, 0, -1e6, 1e-300, 5e-324, 0), "\xff")
	f.Fuzz(func(t *testing.T, data []byte, name string) {
		if u, err := ParseUnit(name); err != nil {
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			require.NotEmpty(t, p.Mend)
		} else {
			require.Positive(t, u.MM)
		}
		if form := FormatOf(name); form != "" {
			require.Contains(t, []Format{STL, OBJ, PLY, ThreeMF}, form)
		}
		var p [][2]float64
		for len(data) >= 16 && len(p) < 60 {
			q := [2]float64{math.Float64frombits(binary.LittleEndian.Uint64(data)), math.Float64frombits(binary.LittleEndian.Uint64(data[8:]))}
			if math.Abs(q[0]) <= 1e6 && math.Abs(q[1]) <= 1e6 { // NaN fails as well
				p = append(p, q)
			}
			data = data[16:]
		}
		hull := ConvexHull2(p)
		require.LessOrEqual(t, len(hull), len(p))
		require.Equal(t, len(p) > 0, len(hull) > 0)
		for _, q := range hull {
			require.Contains(t, p, q)
		}
		for i, a := range hull {
			b := hull[(i+1)%len(hull)]
			for _, q := range p {
				require.GreaterOrEqual(t, turn(a, b, q), -1e-9*(1+math.Hypot(b[0]-a[0], b[1]-a[1])*math.Hypot(q[0]-a[0], q[1]-a[1])))
			}
		}
		require.False(t, math.IsNaN(Perimeter2(hull)))
		require.LessOrEqual(t, Perimeter2(hull), Perimeter2(p)*(1+1e-9)+1e-9)
	})
}
