package mesh

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A polygon of PLY that is not convex is cut into triangles inside it, in text and in both byte orders: an L of area 3 keeps its
// area and lies in none of the corner that it leaves out.
func TestPLYCutsHollowPolygons(t *testing.T) {
	corners := [][3]float32{{0, 0, 0}, {2, 0, 0}, {2, 1, 0}, {1, 1, 0}, {1, 2, 0}, {0, 2, 0}}
	const head = "ply\nformat %s 1.0\nelement vertex 6\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n"
	files := map[string]*bytes.Buffer{}
	text := bytes.NewBufferString(fmt.Sprintf(head, "ascii"))
	for _, c := range corners {
		fmt.Fprintln(text, c[0], c[1], c[2])
	}
	fmt.Fprintln(text, "6 0 1 2 3 4 5")
	files["ascii"] = text
	for name, order := range map[string]binary.ByteOrder{"binary_little_endian": binary.LittleEndian, "binary_big_endian": binary.BigEndian} {
		b := bytes.NewBufferString(fmt.Sprintf(head, name))
		require.NoError(t, binary.Write(b, order, corners))
		require.NoError(t, binary.Write(b, order, uint8(6)))
		require.NoError(t, binary.Write(b, order, []int32{0, 1, 2, 3, 4, 5}))
		files[name] = b
	}
	for name, b := range files {
		m, _, err := Read(context.Background(), bytes.NewReader(b.Bytes()), int64(b.Len()), "l.ply", ReadOptions{})
		require.NoError(t, err, name)
		require.Len(t, m.F, 4, name)
		area := 0.0
		for i, f := range m.F {
			area += m.FaceArea(i)
			assert.Positive(t, m.FaceNormal(i).Z, name)
			x := (m.V[f[0]].X + m.V[f[1]].X + m.V[f[2]].X) / 3
			y := (m.V[f[0]].Y + m.V[f[1]].Y + m.V[f[2]].Y) / 3
			assert.False(t, x > 1 && y > 1, "%s: a triangle in the hollow", name)
		}
		scale := m.V[1].X / 2 // the file's unit is guessed
		assert.InDelta(t, 3, area/(scale*scale), 1e-9, name)
		assert.False(t, math.IsNaN(area))
	}
}
