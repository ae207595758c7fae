package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// extruded is a closed prism along X of a polygon in (y, z), counterclockwise seen against X (from the front, +X towards
// the viewer: y to the right).
func extruded(poly [][2]float64, x0, x1 float64) *mesh.Mesh {
	var b mesh.Builder
	n := len(poly)
	back, front := make([]int32, n), make([]int32, n)
	for i, p := range poly {
		back[i] = b.AddVertex(r3.Vec{X: x0, Y: p[0], Z: p[1]})
		front[i] = b.AddVertex(r3.Vec{X: x1, Y: p[0], Z: p[1]})
	}
	for i := range poly {
		j := (i + 1) % n
		b.AddQuad(back[i], back[j], front[j], front[i], 0)
	}
	c := [2]float64{}
	for _, p := range poly {
		c[0] += p[0] / float64(n)
		c[1] += p[1] / float64(n)
	}
	cb := b.AddVertex(r3.Vec{X: x0, Y: c[0], Z: c[1]})
	cf := b.AddVertex(r3.Vec{X: x1, Y: c[0], Z: c[1]})
	for i := range poly {
		j := (i + 1) % n
		b.AddTriangle(cf, front[i], front[j], 0)
		b.AddTriangle(cb, back[j], back[i], 0)
	}
	return b.Mesh()
}

// channel is an open surface along X through a polyline in (y, z) that runs from the lateral top down, across the floor
// and up on the medial side; its normals point out of the room.
func channel(line [][2]float64, x0, x1 float64) *mesh.Mesh {
	var b mesh.Builder
	var last [2]int32
	for i, p := range line {
		at := [2]int32{b.AddVertex(r3.Vec{X: x0, Y: p[0], Z: p[1]}), b.AddVertex(r3.Vec{X: x1, Y: p[0], Z: p[1]})}
		if i > 0 {
			b.AddQuad(last[0], at[0], at[1], last[1], 0)
		}
		last = at
	}
	return b.Mesh()
}

// filleted is the section of a seat of width w with a feather line of radius r and upright walls to height h.
func filleted(w, r, h float64, n int) [][2]float64 {
	var line [][2]float64
	f := w/2 - r
	line = append(line, [2]float64{-w / 2, h})
	for i := 0; i <= n; i++ {
		a := math.Pi / 2 * float64(i) / float64(n)
		line = append(line, [2]float64{-f - r*math.Cos(a), r - r*math.Sin(a)})
	}
	for i := n; i >= 0; i-- {
		a := math.Pi / 2 * float64(i) / float64(n)
		line = append(line, [2]float64{f + r*math.Cos(a), r - r*math.Sin(a)})
	}
	return append(line, [2]float64{w / 2, h})
}

func box(b, x0, x1, z0, z1 float64) *mesh.Mesh {
	return extruded([][2]float64{{-b, z0}, {b, z0}, {b, z1}, {-b, z1}}, x0, x1)
}

// plane is a square floor at z = 0, half its side given, with its normal down, out of the room above it.
func plane(half float64) *mesh.Mesh {
	return channel([][2]float64{{-half, 0}, {half, 0}}, -half, half)
}

// ball is a sphere by latitude and longitude, its lowest point at the origin.
func ball(r float64, n int) *mesh.Mesh {
	var b mesh.Builder
	ring := make([][]int32, n+1)
	for i := range ring {
		lat := math.Pi * float64(i) / float64(n)
		ring[i] = make([]int32, 2*n)
		for j := range ring[i] {
			lon := math.Pi * float64(j) / float64(n)
			if (i == 0 || i == n) && j > 0 {
				ring[i][j] = ring[i][0]
				continue
			}
			ring[i][j] = b.AddVertex(r3.Vec{X: r * math.Sin(lat) * math.Cos(lon), Y: r * math.Sin(lat) * math.Sin(lon), Z: r - r*math.Cos(lat)})
		}
	}
	for i := range n {
		for j := range 2 * n {
			k := (j + 1) % (2 * n)
			b.AddQuad(ring[i][j], ring[i+1][j], ring[i+1][k], ring[i][k], 0)
		}
	}
	m := b.Mesh()
	if m.Volume() < 0 {
		for i, t := range m.F {
			m.F[i] = [3]int32{t[0], t[2], t[1]}
		}
	}
	return m
}

// cylinder lies along X, its axis at height z.
func cylinder(r, z, x0, x1 float64, n int) *mesh.Mesh {
	poly := make([][2]float64, n)
	for i := range poly {
		f := 2 * math.Pi * (float64(i) - 0.5) / float64(n)
		poly[i] = [2]float64{r * math.Cos(f), z + r*math.Sin(f)}
	}
	return extruded(poly, x0, x1)
}
