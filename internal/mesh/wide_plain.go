//go:build !(goexperiment.simd && amd64)

package mesh

const wideProcessor = false

func (t *Tree) searchWide(x, y, z, best float64, at int32) int32 {
	return t.searchTwo(x, y, z, best, at)
}
