package mesh

import (
	"context"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

func benchCavity() *Mesh { return cavity(100, 101) }

// nearPoints are places up to a millimetre off the surface, in the order of the vertices, as a device's samples are.
func nearPoints(m *Mesh) []r3.Vec {
	rng := rand.New(rand.NewPCG(1, 1))
	p := make([]r3.Vec, len(m.V))
	for i, n := range m.VertexNormals() {
		p[i] = r3.Add(m.V[i], r3.Scale(2*rng.Float64()-1, n))
		p[i] = r3.Add(p[i], vec(rng.Float64(), rng.Float64(), rng.Float64()))
	}
	return p
}

func BenchmarkNewTree(b *testing.B) {
	m := benchCavity()
	b.ReportAllocs()
	for b.Loop() {
		NewTree(m)
	}
}

func BenchmarkNearest(b *testing.B) {
	m := benchCavity()
	t, p := NewTree(m), nearPoints(m)
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		t.Nearest(p[i%len(p)])
		i++
	}
}

func BenchmarkNearestFromLast(b *testing.B) {
	m := benchCavity()
	t, p := NewTree(m), nearPoints(m)
	b.ReportAllocs()
	i, hint := 0, int32(-1)
	for b.Loop() {
		hint = t.NearestFrom(p[i%len(p)], hint).Face
		i++
	}
}

func BenchmarkNearestFromSame(b *testing.B) {
	m := benchCavity()
	t, p := NewTree(m), nearPoints(m)
	hint := make([]int32, len(p))
	for i := range p {
		hint[i] = t.Nearest(r3.Add(p[i], vec(0.3, 0.2, 0.1))).Face
	}
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		t.NearestFrom(p[i%len(p)], hint[i%len(p)])
		i++
	}
}

func BenchmarkNewField(b *testing.B) {
	t := NewTree(benchCavity())
	b.ReportAllocs()
	for b.Loop() {
		if _, err := NewField(context.Background(), t, FieldOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFieldAt(b *testing.B) {
	m := benchCavity()
	f, _ := newField(b, m, FieldOptions{})
	p := nearPoints(m)
	b.ReportAllocs()
	var sum float64
	i := 0
	for b.Loop() {
		s := f.At(p[i])
		sum += s.D + s.Grad.X
		if i++; i == len(p) {
			i = 0
		}
	}
	if sum == 0 {
		b.Fatal("no distance")
	}
}
