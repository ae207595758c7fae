package mesh

import (
	"gonum.org/v1/gonum/spatial/r3"
)

// mostEarCorners is up to how many corners a polygon is cut by its ears, whose cost grows with their cube; larger ones are fans.
const mostEarCorners = 512

// ears cuts a polygon with five corners or more into triangles, in the plane square to its mean normal (Newell): a convex one
// into a fan, any other ear by ear (Meisters 1975, "Polygons have ears", Am Math Monthly 82:648; from memory). What has no ear
// left, since it crosses itself or has no area, ends as a fan.
func ears(v []r3.Vec, c []int32) [][3]int32 {
	var n r3.Vec
	for i := range c {
		a, b := v[c[i]], v[c[(i+1)%len(c)]]
		n = r3.Add(n, r3.Vec{X: (a.Y - b.Y) * (a.Z + b.Z), Y: (a.Z - b.Z) * (a.X + b.X), Z: (a.X - b.X) * (a.Y + b.Y)})
	}
	turns := func(p, q, r int32) float64 {
		return r3.Dot(r3.Cross(r3.Sub(v[q], v[p]), r3.Sub(v[r], v[q])), n)
	}
	left := append([]int32(nil), c...)
	var out [][3]int32
	fan := func() [][3]int32 {
		for k := 2; k < len(left); k++ {
			out = append(out, [3]int32{left[0], left[k-1], left[k]})
		}
		return out
	}
	convex := true
	for i := range left {
		convex = convex && turns(left[i], left[(i+1)%len(left)], left[(i+2)%len(left)]) >= 0
	}
	if convex {
		return fan()
	}
	inside := func(p, q, r, x int32) bool {
		return x != p && x != q && x != r && turns(p, q, x) >= 0 && turns(q, r, x) >= 0 && turns(r, p, x) >= 0
	}
	for len(left) > 3 {
		cut := false
		for i := range left {
			p, q, r := left[(i+len(left)-1)%len(left)], left[i], left[(i+1)%len(left)]
			ear := turns(p, q, r) > 0
			for _, x := range left {
				ear = ear && !inside(p, q, r, x)
			}
			if ear {
				out = append(out, [3]int32{p, q, r})
				left = append(left[:i], left[i+1:]...)
				cut = true
				break
			}
		}
		if !cut {
			break
		}
	}
	return fan()
}
