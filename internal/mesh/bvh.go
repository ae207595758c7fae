package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A tri is one face prepared for distance queries: corner, two sides, their products, and the unit normal.
type tri struct {
	ax, ay, az    float64
	ux, uy, uz    float64 // corner 0 to 1
	vx, vy, vz    float64 // corner 0 to 2
	nx, ny, nz    float64
	uu, uv, vv    float64
	face, padding int32
}

// A node of the tree has the boxes of its two children by centre and half size. A child below 0 is a leaf:
// ^child = first triangle << leafBits | number of triangles.
type node struct {
	c, h  [2][3]float64
	child [2]int32
}

const (
	leafBits = 3
	leafMost = 4
)

func newTri(m *Mesh, face int32, n r3.Vec) tri {
	f := m.F[face]
	a := m.V[f[0]]
	u, v := r3.Sub(m.V[f[1]], a), r3.Sub(m.V[f[2]], a)
	return tri{
		a.X, a.Y, a.Z, u.X, u.Y, u.Z, v.X, v.Y, v.Z, n.X, n.Y, n.Z,
		r3.Dot(u, u), r3.Dot(u, v), r3.Dot(v, v), face, 0,
	}
}

// dist2 is the squared distance to the triangle, mm².
func (t *tri) dist2(x, y, z float64) float64 {
	x, y, z = t.offset(x, y, z)
	return x*x + y*y + z*z
}

// offset is the way from the closest point of the triangle to x, y, z, in mm.
func (t *tri) offset(x, y, z float64) (dx, dy, dz float64) {
	x, y, z = x-t.ax, y-t.ay, z-t.az
	d1 := x*t.ux + y*t.uy + z*t.uz
	d2 := x*t.vx + y*t.vy + z*t.vz
	var k, l float64 // closest point: corner 0 + k u + l v
	d3, d4, d5, d6 := d1-t.uu, d2-t.uv, d1-t.uv, d2-t.vv
	switch {
	case d1 <= 0 && d2 <= 0:
	case d3 >= 0 && d4 <= d3:
		k = 1
	case d1*d4-d3*d2 <= 0 && d1 >= 0 && d3 <= 0:
		k = d1 / t.uu
	case d6 >= 0 && d5 <= d6:
		l = 1
	case d5*d2-d1*d6 <= 0 && d2 >= 0 && d6 <= 0:
		l = d2 / t.vv
	case d3*d6-d5*d4 <= 0 && d4-d3 >= 0 && d5-d6 >= 0:
		l = (d4 - d3) / ((d4 - d3) + (d5 - d6))
		k = 1 - l
	default:
		h := x*t.nx + y*t.ny + z*t.nz
		return h * t.nx, h * t.ny, h * t.nz
	}
	return x - k*t.ux - l*t.vx, y - k*t.uy - l*t.vy, z - k*t.uz - l*t.vz
}

// search finds the nearest triangle, given the squared distance of one, or +Inf and -1. Of triangles at the same
// distance it takes the lowest face.
func (t *Tree) search(x, y, z, best float64, at int32) int32 {
	if t.wide != nil && t.wide.reaches(x, y, z) {
		return t.searchWide(x, y, z, best, at)
	}
	return t.searchTwo(x, y, z, best, at)
}

// searchTwo is search in the tree of two children a node.
func (t *Tree) searchTwo(x, y, z, best float64, at int32) int32 {
	type waiting struct {
		d2   float64
		node int32
	}
	var stack [64]waiting
	n := 0
	if len(t.tris) == 0 {
		return at
	}
	cur := t.root
	for {
		if cur >= 0 {
			nd := &t.nodes[cur]
			dl := boxDist2(&nd.c[0], &nd.h[0], x, y, z)
			dr := boxDist2(&nd.c[1], &nd.h[1], x, y, z)
			near, far := nd.child[0], nd.child[1]
			if dr < dl {
				dl, dr, near, far = dr, dl, far, near
			}
			if dr <= best {
				stack[n] = waiting{dr, far}
				n++
			}
			if dl <= best {
				cur = near
				continue
			}
		} else {
			first := ^cur >> leafBits
			for i := first; i < first+(^cur&(1<<leafBits-1)); i++ {
				if d := t.tris[i].dist2(x, y, z); d < best || d == best && (at < 0 || t.tris[i].face < t.tris[at].face) {
					best, at = d, i
				}
			}
		}
		for {
			if n == 0 {
				return at
			}
			n--
			if stack[n].d2 <= best {
				cur = stack[n].node
				break
			}
		}
	}
}

// boxDist2 is the squared distance to a box, 0 inside.
func boxDist2(c, h *[3]float64, x, y, z float64) float64 {
	// max(0, t) = (t+|t|)/2 needs no branch.
	tx := math.Abs(x-c[0]) - h[0]
	ty := math.Abs(y-c[1]) - h[1]
	tz := math.Abs(z-c[2]) - h[2]
	tx += math.Abs(tx)
	ty += math.Abs(ty)
	tz += math.Abs(tz)
	return 0.25 * (tx*tx + ty*ty + tz*tz)
}
