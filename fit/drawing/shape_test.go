package drawing

import (
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// brick is a box of 120 × 60 × 40 mm about (60, 0, 20), each side with a tag of its own, turned away by 30° about Z.
func brick() *Shape {
	var b mesh.Builder
	for _, z := range []float64{0, 40} {
		for _, p := range [][2]float64{{0, -30}, {120, -30}, {120, 30}, {0, 30}} {
			b.AddVertex(r3.Vec{X: p[0], Y: p[1], Z: z})
		}
	}
	b.AddQuad(3, 2, 1, 0, 0) // below
	b.AddQuad(4, 5, 6, 7, 1) // above
	b.AddQuad(0, 1, 5, 4, 2) // lateral, −Y
	b.AddQuad(2, 3, 7, 6, 3) // medial
	b.AddQuad(1, 2, 6, 5, 4) // front
	b.AddQuad(3, 0, 4, 7, 5) // back
	away := mesh.PoseAbout(r3.Vec{}, r3.Vec{Z: math.Pi / 6}, r3.Vec{X: 7, Y: -3, Z: 11})
	return &Shape{Mesh: b.Mesh().Transformed(away), Pose: away.Inverse(), Cuts: Cuts{60, 0, 20}}
}

func TestAShapeIsDrawnWhereItLies(t *testing.T) {
	for _, mirrored := range []bool{false, true} {
		s := brick()
		s.Mirrored = mirrored
		box := s.Bounds()
		assert.InDelta(t, 0, r3.Norm(r3.Sub(box.Min, r3.Vec{Y: -30})), 1e-9)
		assert.InDelta(t, 0, r3.Norm(r3.Sub(box.Max, r3.Vec{X: 120, Y: 30, Z: 40})), 1e-9)
		p := r3.Vec{X: 3, Y: 4, Z: 5}
		assert.InDelta(t, 0, r3.Norm(r3.Sub(p, s.Place(s.Unplace(p)))), 1e-9)

		sides := map[View][2]uint8{Behind: {5, 4}, Side: {2, 3}, Above: {1, 0}} // near, far
		if mirrored {
			sides[Side] = [2]uint8{3, 2}
		}
		for _, v := range Views {
			shown := ExtentOfBox(v, box)
			for i, far := range []bool{false, true} {
				s.Far = far
				pic, err := RenderShape(v, s, Options{Words: true, Shown: &shown}, 300, 220, 1)
				require.NoError(t, err)
				mid := v.Project(r3.Vec{X: 55, Y: 3, Z: 22})
				face, at, ok := s.Under(v, mid, far)
				require.True(t, ok)
				assert.Equal(t, sides[v][i], s.Mesh.Tag[face], "%v", v)
				got := v.Project(at)
				assert.InDelta(t, 0, math.Hypot(got.U-mid.U, got.V-mid.V), 1e-9)
				assert.Equal(t, s.Mesh.Tag[face], s.Mesh.Tag[pic.FaceAt(mid)])
				assert.Equal(t, int32(-1), pic.FaceAt(Pt{shown.Lo.U + 2, shown.Lo.V + 2}))
				x, y := pic.Frame.Pixel(mid)
				bodied, empty := pic.Image.RGBAAt(int(x)+3, int(y)+3), pic.Image.RGBAAt(int(pic.Frame.LeftPx)+4, int(pic.Frame.TopPx)+4)
				assert.NotEqual(t, bodied, empty)
			}
			_, _, ok := s.Under(v, Pt{-900, 0}, false)
			assert.False(t, ok)
		}
		q, ok := s.OnCut(Side, Pt{50, -2}, 5)
		require.True(t, ok)
		assert.InDelta(t, 0, r3.Norm(r3.Sub(q, r3.Vec{X: 50})), 1e-9)
		_, ok = s.OnCut(Side, Pt{50, 20}, 5)
		assert.False(t, ok)
	}
}

func TestAShapesPictureNeedsAShape(t *testing.T) {
	_, err := RenderShape(Side, nil, Options{}, 100, 100, 1)
	require.Error(t, err)
	_, err = RenderShape(Side, brick(), Options{Shown: &Extent{Hi: Pt{1, 1}}}, 3, 100, 1)
	assert.Error(t, err)
}

// With LASTROOM_CAPTURES=DIR pictures of a room's walls are kept, to be looked at.
func TestShapesOfShoes(t *testing.T) {
	sheet := footwear.Demo().All()[3]
	room, err := footwear.NewRoom(sheet, false)
	require.NoError(t, err)
	s := &Shape{Mesh: room.Closed, Cuts: Cuts{room.HeelStationMM(), 0, 12}, Lengths: []Length{
		{Above, r3.Vec{X: 40, Y: -32}, r3.Vec{X: 40, Y: 32}, "seat 64.0 mm"},
	}, Points: []Named{{r3.Vec{X: 5, Z: 3}, "heel"}}}
	for _, v := range Views {
		shown := ExtentOfBox(v, s.Bounds())
		for _, dark := range []bool{false, true} {
			pic, err := RenderShape(v, s, Options{Words: true, Look: Look{Dark: dark}, Shown: &shown}, 640, 400, 1)
			require.NoError(t, err)
			assert.Contains(t, pic.Says, "mm across")
			if dir := os.Getenv("LASTROOM_CAPTURES"); dir != "" {
				f, err := os.Create(filepath.Join(dir, "shape-"+v.Slug()+map[bool]string{true: "-dark"}[dark]+".png"))
				require.NoError(t, err)
				require.NoError(t, png.Encode(f, pic.Image))
				require.NoError(t, f.Close())
			}
		}
	}
}
