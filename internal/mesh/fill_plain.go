//go:build !(goexperiment.simd && amd64)

package mesh

import "gonum.org/v1/gonum/spatial/r3"

type (
	flatTri    struct{}
	wideFiller struct{}
)

func (f *Field) flatten(*Tree) []flatTri { return nil }

func newWideFiller(*Field, *Tree, []flatTri) *wideFiller { return nil }

func (w *wideFiller) begin([]int32) {}

func (w *wideFiller) split([]int32, *[8]shortList, r3.Vec, *[8]r3.Vec, float64, *[8]int32) {}
