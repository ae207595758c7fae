package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Winding is the generalised winding number of the mesh about p: the sum of the signed solid angles of all faces over
// 4π (Jacobson, Kavan & Sorkine-Hornung 2013, ACM TOG 32:33; solid angle by Van Oosterom & Strackee 1983, IEEE
// Trans. Biomed. Eng. 30:125). It is 1 inside and 0 outside a closed mesh with outward normals, also when that
// crosses itself a little, and changes smoothly through the hole of an open one. It is the plain sum: exact to
// rounding, its time in proportion to the number of faces. On the surface itself it has no meaning.
func (t *Tree) Winding(p r3.Vec) float64 {
	var sum float64
	for _, f := range t.m.F {
		a, b, c := r3.Sub(t.m.V[f[0]], p), r3.Sub(t.m.V[f[1]], p), r3.Sub(t.m.V[f[2]], p)
		la, lb, lc := r3.Norm(a), r3.Norm(b), r3.Norm(c)
		det := r3.Dot(a, r3.Cross(b, c))
		den := la*lb*lc + r3.Dot(a, b)*lc + r3.Dot(b, c)*la + r3.Dot(c, a)*lb
		sum += math.Atan2(det, den)
	}
	return sum / (2 * math.Pi)
}
