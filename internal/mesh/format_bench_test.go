package mesh

import (
	"context"
	"testing"
)

// scan500k is a closed loft of half a million triangles, as a binary STL file.
func scan500k(b *testing.B) (*Mesh, []byte) {
	m := cavity(500, 501)
	if n := len(m.F); n < 490_000 || n > 510_000 {
		b.Fatal(n)
	}
	return m, written(b, m, "scan", STL)
}

func BenchmarkReadSTL500k(b *testing.B) {
	_, data := scan500k(b)
	b.ReportAllocs()
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, _, err := readBytes(data, "scan.stl", ReadOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWeld500k(b *testing.B) {
	m, _ := scan500k(b)
	soup := exploded(m)
	b.ReportAllocs()
	for b.Loop() {
		soup.Welded(0.01)
	}
}

func BenchmarkRepair500k(b *testing.B) {
	m, _ := scan500k(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := Repair(context.Background(), m, RepairOptions{}, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func benchRead100k(b *testing.B, f Format) {
	data := written(b, cavity(223, 225), "scan", f)
	b.ReportAllocs()
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, _, err := readBytes(data, "scan", ReadOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadSTLText100k(b *testing.B) { benchRead100k(b, STLText) }
func BenchmarkReadOBJ100k(b *testing.B)     { benchRead100k(b, OBJ) }
func BenchmarkReadPLY100k(b *testing.B)     { benchRead100k(b, PLY) }
func BenchmarkReadPLYText100k(b *testing.B) { benchRead100k(b, PLYText) }
func BenchmarkRead3MF100k(b *testing.B)     { benchRead100k(b, ThreeMF) }
