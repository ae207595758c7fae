package mesh_test

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A tray 100 × 60 mm and 20 mm deep, open at the top: its walls face outward, so inside is positive.
func Example() {
	var b mesh.Builder
	for _, z := range []float64{0, 20} {
		for _, c := range [][2]float64{{0, 0}, {100, 0}, {100, 60}, {0, 60}} {
			b.AddVertex(r3.Vec{X: c[0], Y: c[1], Z: z})
		}
	}
	b.AddQuad(3, 2, 1, 0, 0) // floor, tag 0
	for i := range int32(4) {
		j := (i + 1) % 4
		b.AddQuad(i, j, j+4, i+4, 1) // walls, tag 1
	}
	tray := b.Mesh()
	tree := mesh.NewTree(tray)
	for _, p := range []r3.Vec{{X: 50, Y: 30, Z: 5}, {X: 97, Y: 30, Z: 10}, {X: 103, Y: 30, Z: 10}, {X: 97, Y: 30, Z: 25}} {
		h := tree.Nearest(p)
		fmt.Printf("%+.1f mm, tag %d, past the edge %v\n", h.Signed, tray.Tag[h.Face], h.Beyond)
	}
	for _, line := range tray.Section(mesh.Plane{Point: r3.Vec{X: 40}, Normal: r3.Vec{X: 1}}) {
		fmt.Println("section of", len(line.P), "points, closed", line.Closed)
	}
	// Output:
	// +5.0 mm, tag 0, past the edge false
	// +3.0 mm, tag 1, past the edge false
	// -3.0 mm, tag 1, past the edge false
	// +5.8 mm, tag 1, past the edge true
	// section of 7 points, closed false
}
