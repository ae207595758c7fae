package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A cluster sums up the faces below a node of the tree for points far from them, about their centre of area c: the
// area vector ∫n dA, and the symmetric part of ∫n⊗(x-c) dA. A point p at distance R from c, r = c - p, sees them under
// the solid angle
//
//	Ω ≈ n·r/R³ + tr(m)/R³ - 3 r·m·r/R⁵,
//
// the first two terms of the series of r/R³ (Barill, Dickson, Schmidt, Levin & Jacobson, Fast winding numbers for soups
// and clouds, ACM Trans. Graph. 37:43, 2018; the method from memory). The bound of what is left out is worked out here:
// 1/|r+δ| is a sum of terms |δ|^l P_l(cos)/R^(l+1), and the gradient of |δ|^l P_l is at most l|δ|^(l-1) long. So the
// term of order k in δ is at most (k+1)|δ|^k/R^(k+2) a unit of area, and with |δ| ≤ ρ, q = ρ/R < 1
//
//	|error| ≤ Σ_{k≥2} (k+1) ∫|δ|^k dA / R^(k+2) ≤ s (3-2q)/(1-q)² / R⁴,   s = ∫|δ|² dA.
type cluster struct {
	c, n   r3.Vec
	m      [6]float64 // xx, yy, zz, and xy, yz, zx twice over
	area   float64
	s, rho float64
}

// see gives the solid angle from p and the bound of its error, ok when p is at least rho/closest away.
func (k *cluster) see(p r3.Vec, closest float64) (angle, off float64, ok bool) {
	x, y, z := k.c.X-p.X, k.c.Y-p.Y, k.c.Z-p.Z
	r2 := x*x + y*y + z*z
	if r2*closest*closest <= k.rho*k.rho {
		return 0, 0, false
	}
	i2 := 1 / r2
	i1 := math.Sqrt(i2)
	m := &k.m
	quad := m[0]*x*x + m[1]*y*y + m[2]*z*z + m[3]*x*y + m[4]*y*z + m[5]*z*x
	angle = (k.n.X*x + k.n.Y*y + k.n.Z*z + m[0] + m[1] + m[2] - 3*quad*i2) * i1 * i2
	q := k.rho * i1
	return angle, k.s * (3 - 2*q) / ((1 - q) * (1 - q)) * i2 * i2, true
}

// clusterOf sums up one face.
func (t *Tree) clusterOf(i int32) cluster {
	tr := &t.tris[i]
	u, v := r3.Vec{X: tr.ux, Y: tr.uy, Z: tr.uz}, r3.Vec{X: tr.vx, Y: tr.vy, Z: tr.vz}
	n := r3.Scale(0.5, r3.Cross(u, v))
	g := r3.Scale(1.0/3, r3.Add(u, v)) // from corner 0
	k := cluster{n: n, c: r3.Add(r3.Vec{X: tr.ax, Y: tr.ay, Z: tr.az}, g), area: r3.Norm(n)}
	w := r3.Sub(v, u)
	k.s = k.area / 36 * (r3.Norm2(u) + r3.Norm2(v) + r3.Norm2(w)) // about the centre, of any triangle
	k.rho = math.Sqrt(max(r3.Norm2(g), r3.Norm2(r3.Sub(u, g)), r3.Norm2(r3.Sub(v, g))))
	return k
}

// merged sums up several clusters.
func merged(parts []cluster) cluster {
	var k cluster
	for i := range parts {
		k.area += parts[i].area
		k.c = r3.Add(k.c, r3.Scale(parts[i].area, parts[i].c))
		k.n = r3.Add(k.n, parts[i].n)
	}
	k.c = r3.Scale(1/k.area, k.c) // only faces with area are in a tree
	for i := range parts {
		p := &parts[i]
		d := r3.Sub(p.c, k.c)
		for j, x := range [6]float64{
			p.n.X * d.X, p.n.Y * d.Y, p.n.Z * d.Z,
			p.n.X*d.Y + p.n.Y*d.X, p.n.Y*d.Z + p.n.Z*d.Y, p.n.Z*d.X + p.n.X*d.Z,
		} {
			k.m[j] += p.m[j] + x
		}
		k.s += p.s + p.area*r3.Norm2(d)
		k.rho = max(k.rho, r3.Norm(d)+p.rho)
	}
	return k
}

// summed makes the clusters of all nodes once, from the last to the first: a node comes before its children.
func (t *Tree) summed() []cluster {
	t.summing.Do(func() {
		sums := make([]cluster, len(t.nodes))
		var parts []cluster
		for i := len(t.nodes) - 1; i >= 0; i-- {
			parts = parts[:0]
			for _, child := range t.nodes[i].child {
				if child >= 0 {
					parts = append(parts, sums[child])
					continue
				}
				first := ^child >> leafBits
				for j := first; j < first+(^child&(1<<leafBits-1)); j++ {
					parts = append(parts, t.clusterOf(j))
				}
			}
			sums[i] = merged(parts)
		}
		t.sums = sums
	})
	return t.sums
}

// windingNear is the winding number about p from clusters no nearer than their size over closest, with the bound of
// its error.
func (t *Tree) windingNear(p r3.Vec, closest float64) (w, off float64) {
	sums := t.summed()
	if len(t.tris) == 0 {
		return 0, 0
	}
	var stack [64]int32
	n := 1
	stack[0] = t.root
	var angle float64 // halves of solid angles
	for n > 0 {
		n--
		cur := stack[n]
		if cur >= 0 {
			if a, e, ok := sums[cur].see(p, closest); ok {
				angle += 0.5 * a
				off += 0.5 * e
				continue
			}
			nd := &t.nodes[cur]
			stack[n], stack[n+1] = nd.child[0], nd.child[1]
			n += 2
			continue
		}
		first := ^cur >> leafBits
		for i := first; i < first+(^cur&(1<<leafBits-1)); i++ {
			angle += t.tris[i].halfAngle(p)
		}
	}
	return angle / (2 * math.Pi), off/(2*math.Pi) + 1e-9
}

// halfAngle is half the signed solid angle of the triangle about p (Van Oosterom & Strackee 1983).
func (t *tri) halfAngle(p r3.Vec) float64 {
	a := r3.Vec{X: t.ax - p.X, Y: t.ay - p.Y, Z: t.az - p.Z}
	b := r3.Vec{X: a.X + t.ux, Y: a.Y + t.uy, Z: a.Z + t.uz}
	c := r3.Vec{X: a.X + t.vx, Y: a.Y + t.vy, Z: a.Z + t.vz}
	la, lb, lc := r3.Norm(a), r3.Norm(b), r3.Norm(c)
	det := r3.Dot(a, r3.Cross(b, c))
	return math.Atan2(det, la*lb*lc+r3.Dot(a, b)*lc+r3.Dot(b, c)*la+r3.Dot(c, a)*lb)
}

// WindingNear is the winding number about p, faster than Winding by far, with a bound of its error. On a shoe's loft the
// bound is about 0.1 and the error itself about a tenth of that.
func (t *Tree) WindingNear(p r3.Vec) (w, errorBound float64) { return t.windingNear(p, 0.3) }

// encloses says whether the winding number about p is at least the level, as the plain sum has it: the error is bounded,
// and where it leaves doubt, nearer clusters are opened, to the last face if need be.
func (t *Tree) encloses(p r3.Vec) bool {
	for _, closest := range [3]float64{0.5, 0.25, 0.1} {
		if w, off := t.windingNear(p, closest); math.Abs(w-t.level) > off {
			return w >= t.level
		}
	}
	return t.Winding(p) >= t.level
}
