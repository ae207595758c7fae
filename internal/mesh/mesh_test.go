package mesh

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

// The frusta of a wedge block 60 × 80 mm, 6 mm high, bevelled 30° from upright on two or four sides. Volume of a prism
// of trapezoids and of a prismatoid, h/6 (A0 + 4 Am + A1) (calc).
func TestVolumeOfBevelledBlocks(t *testing.T) {
	lost := 6 * math.Tan(30*math.Pi/180)
	require.InDelta(t, 6.928203, 2*lost, 5e-7) // base width lost on two sides, 2h tan β (calc)
	two := frustum(30-lost, 40, 30, 40, 6)
	four := frustum(30-lost, 40-lost, 30, 40, 6)
	assert.InDelta(t, 27137.2312, two.Volume(), 5e-5)
	assert.InDelta(t, 25986.1546, four.Volume(), 5e-5)
	for _, m := range []*Mesh{two, four} {
		require.NoError(t, m.Closed())
		moved := m.Transformed(PoseAbout(vec(1, 2, 3), vec(0.3, -0.7, 0.2), vec(900, -400, 300)))
		assert.InEpsilon(t, m.Volume(), moved.Volume(), 1e-12)
		assert.InEpsilon(t, m.Area(), moved.Area(), 1e-12)
		assert.InEpsilon(t, m.Volume(), m.MirroredY().Volume(), 1e-12)
	}
}

// capOfSphere is a closed spherical cap of height h on a sphere of radius r, inscribed, with n corners round.
func capOfSphere(r, h float64, n int) *Mesh {
	angle := math.Acos(1 - h/r)
	return turned(n, 0, n/4+1, func(j int) (float64, float64) {
		if j == 0 {
			return 0, r - h // middle of the flat
		}
		s, c := math.Sincos(angle * (1 - float64(j-1)/float64(n/4)))
		return r * s, r * c
	})
}

// Volume of a spherical cap, πh²(3r-h)/3 (calc). The mesh is inscribed: less, by a quarter as much on halving.
func TestVolumeOfSphericalCap(t *testing.T) {
	const want = 16286.0163
	lack := func(n int) float64 {
		m := capOfSphere(40, 12, n)
		require.NoError(t, m.Closed())
		return want - m.Volume()
	}
	coarse, fine := lack(128), lack(256)
	assert.Positive(t, fine)
	assert.InDelta(t, 4, coarse/fine, 0.02)
	assert.InDelta(t, 0, fine-(coarse-fine)/3, 0.002) // extrapolated to no mesh size (Richardson)
}

func TestMeasuresOfSphere(t *testing.T) {
	m := sphere(25, 200)
	require.NoError(t, m.Closed())
	assert.InEpsilon(t, 4.0/3*math.Pi*25*25*25, m.Volume(), 1e-3)
	assert.InEpsilon(t, 4*math.Pi*25*25, m.Area(), 1e-3)
	assert.InDelta(t, 0, r3.Norm(m.Centroid()), 1e-9)
	b := m.Bounds()
	assert.InDelta(t, -25, b.Min.Z, 1e-12)
	assert.InDelta(t, 25, b.Max.X, 1e-12)
	for i, n := range m.VertexNormals() {
		require.InDelta(t, 1, r3.Dot(n, r3.Unit(m.V[i])), 1e-3)
	}
	outer := 0
	for i := range m.F {
		if r3.Dot(m.FaceNormal(i), m.V[m.F[i][0]]) > 0 {
			outer++
		}
	}
	assert.Equal(t, len(m.F), outer)
}

func TestClosedSaysWhatIsWrong(t *testing.T) {
	turnedFace := cube()
	turnedFace.F[3][0], turnedFace.F[3][1] = turnedFace.F[3][1], turnedFace.F[3][0]
	doubled := cube()
	doubled.Append(&Mesh{V: doubled.V, F: doubled.F[:1], Tag: doubled.Tag[:1]})
	doubled = doubled.Welded(0)
	for name, m := range map[string]*Mesh{
		"open": tube(5, 10, 8, 2), "a face missing": cube().Subset(func(i int) bool { return i != 5 }),
		"a face turned": turnedFace, "a face twice": doubled, "soup": exploded(cube()),
	} {
		t.Run(name, func(t *testing.T) {
			err := m.Closed()
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			assert.Contains(t, p.Value, "edge")
			assert.NotEmpty(t, p.Mend)
		})
	}
	assert.NoError(t, cube().Closed())
}

func TestValidate(t *testing.T) {
	good := func() *Mesh { return cube() }
	for name, spoil := range map[string]func(m *Mesh){
		"not a number":    func(m *Mesh) { m.V[2].Y = math.NaN() },
		"infinite":        func(m *Mesh) { m.V[2].Z = math.Inf(-1) },
		"index too large": func(m *Mesh) { m.F[1][2] = 8 },
		"index negative":  func(m *Mesh) { m.F[1][2] = -1 },
		"too few tags":    func(m *Mesh) { m.Tag = m.Tag[:3] },
	} {
		t.Run(name, func(t *testing.T) {
			m := good()
			require.NoError(t, m.Validate())
			spoil(m)
			var p problem.Problem
			require.ErrorAs(t, m.Validate(), &p)
			assert.NotEmpty(t, p.Field)
			assert.NotEmpty(t, p.Limit)
			assert.NotEmpty(t, p.Mend)
		})
	}
}

func TestZeroValues(t *testing.T) {
	var m Mesh
	require.NoError(t, m.Validate())
	require.NoError(t, m.Closed())
	assert.Zero(t, m.Bounds())
	assert.Zero(t, m.Area())
	assert.Zero(t, m.Volume())
	assert.Zero(t, m.Centroid())
	assert.Empty(t, m.VertexNormals())
	assert.Empty(t, Samples(&m))
	assert.Empty(t, m.Section(Plane{Normal: vec(0, 0, 1)}))
	assert.Empty(t, m.Welded(1).F)
	assert.Empty(t, m.Refined(func(_, _ r3.Vec) float64 { return 1 }).F)
	h := NewTree(&m).Nearest(vec(1, 2, 3))
	assert.Equal(t, int32(-1), h.Face)
	assert.True(t, math.IsInf(h.Signed, 1))
	assert.Zero(t, NewTree(&m).Winding(vec(0, 0, 0)))
	var p Pose
	assert.Equal(t, vec(1, 2, 3), p.Apply(vec(1, 2, 3)))
	var b Builder
	assert.Empty(t, b.Mesh().F)
	assert.Empty(t, cube().Section(Plane{}))
}

func TestAppendAndSubset(t *testing.T) {
	a, b := cube(), sphere(1, 8)
	b.Tag = nil
	faces := len(a.F)
	m := a.Clone()
	m.Append(b)
	require.NoError(t, m.Validate())
	require.NoError(t, m.Closed())
	assert.InDelta(t, a.Volume()+b.Volume(), m.Volume(), 1e-12)
	assert.Equal(t, a, m.Subset(func(i int) bool { return i < faces }))
	assert.Equal(t, uint8(0), m.Tag[faces])

	m = b.Clone()
	m.Append(a)
	require.NoError(t, m.Validate())
	assert.Equal(t, a.Tag, m.Tag[len(b.F):])

	side := a.Subset(func(i int) bool { return a.Tag[i] == 2 })
	assert.Len(t, side.V, 4)
	assert.Len(t, side.F, 2)
	assert.Equal(t, []uint8{2, 2}, side.Tag)
}

func TestCloneSharesNothing(t *testing.T) {
	m := cube()
	c := m.Clone()
	c.V[0].X, c.F[0], c.Tag[0] = 9, [3]int32{7, 6, 5}, 9
	assert.Equal(t, cube(), m)
	m.Transformed(Pose{T: vec(1, 1, 1)})
	m.MirroredY()
	assert.Equal(t, cube(), m)
}
