package mesh

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

func benchScan() *Mesh { return noisyLoft(223, 225) } // 100000 triangles

func BenchmarkNewScanTree100k(b *testing.B) {
	m := benchScan()
	b.ReportAllocs()
	for b.Loop() {
		NewScanTree(m)
	}
}

func benchSigned(b *testing.B, t *Tree) {
	p := aboutSurface(t.Mesh(), 20_000, 1, 4)
	t.encloses(r3.Vec{})
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		t.Nearest(p[i%len(p)])
		i++
	}
}

func BenchmarkNearestNormals100k(b *testing.B) { benchSigned(b, NewTree(benchScan())) }
func BenchmarkNearestScan100k(b *testing.B)    { benchSigned(b, NewScanTree(benchScan())) }
func BenchmarkNearestWinding100k(b *testing.B) {
	benchSigned(b, NewTreeSigned(benchScan(), SignByWinding))
}

func BenchmarkWindingNear100k(b *testing.B) {
	t := NewTree(benchScan())
	p := aboutSurface(t.Mesh(), 20_000, 1, 4)
	t.encloses(r3.Vec{})
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		t.WindingNear(p[i%len(p)])
		i++
	}
}
