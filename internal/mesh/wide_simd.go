//go:build goexperiment.simd && amd64

package mesh

import (
	"math"
	"math/bits"
	"simd/archsimd"
)

// wideProcessor says whether the processor looks at eight boxes at once.
var wideProcessor = archsimd.X86.AVX2() && archsimd.X86.FMA()

type eight = archsimd.Float32x8

// three are the coordinates of eight points or vectors.
type three struct{ x, y, z eight }

func loadThree(p *[3][lanes]float32) three {
	return three{archsimd.LoadFloat32x8(&p[0]), archsimd.LoadFloat32x8(&p[1]), archsimd.LoadFloat32x8(&p[2])}
}

func (a three) sub(b three) three { return three{a.x.Sub(b.x), a.y.Sub(b.y), a.z.Sub(b.z)} }
func (a three) dot(b three) eight { return a.x.MulAdd(b.x, a.y.MulAdd(b.y, a.z.Mul(b.z))) }

// less is a - k b.
func (a three) less(k eight, b three) three {
	return three{a.x.Sub(k.Mul(b.x)), a.y.Sub(k.Mul(b.y)), a.z.Sub(k.Mul(b.z))}
}

// dist2 are the squared distances of p to the triangles of a leaf: too large by no more than atMost allows for, 0 for needles. Inside
// means not outside for sure; what is taken to be inside wrongly is told too near, and looked at again in float64.
func (l *wideLeaf) dist2(p three) eight {
	const rounding = 1.0 / (1 << 16)
	zero, one := archsimd.BroadcastFloat32x8(0), archsimd.BroadcastFloat32x8(1)
	u, v := loadThree(&l.u), loadThree(&l.v)
	q := p.sub(loadThree(&l.a))
	uu, uv, vv := u.dot(u), u.dot(v), v.dot(v)
	d1, d2 := q.dot(u), q.dot(v)
	// The three sides.
	clamp := func(k eight) eight { return k.Max(zero).Min(one) }
	e1 := q.less(clamp(d1.Div(uu)), u)
	e2 := q.less(clamp(d2.Div(vv)), v)
	w, b := v.sub(u), q.sub(u)
	e3 := b.less(clamp(b.dot(w).Div(w.dot(w))), w)
	sides := e1.dot(e1).Min(e2.dot(e2)).Min(e3.dot(e3))
	// The plane.
	n := three{u.y.Mul(v.z).Sub(u.z.Mul(v.y)), u.z.Mul(v.x).Sub(u.x.Mul(v.z)), u.x.Mul(v.y).Sub(u.y.Mul(v.x))}
	h := q.dot(n)
	nn := n.dot(n)
	plane := h.Mul(h).Div(nn)
	s, t := d1.Mul(vv).Sub(d2.Mul(uv)), d2.Mul(uu).Sub(d1.Mul(uv))
	both := uu.Add(vv)
	slack := both.Mul(q.dot(q).Mul(both).Sqrt()).Mul(archsimd.BroadcastFloat32x8(rounding))
	out := zero.Sub(slack)
	inside := s.GreaterEqual(out).And(t.GreaterEqual(out)).And(s.Add(t).LessEqual(nn.Add(slack)))
	return plane.Merge(sides, inside).Mul(archsimd.LoadFloat32x8(&l.fair))
}

// dist2 are the squared distances of p to the boxes of a node.
func (nd *wideNode) dist2(p three) eight {
	zero := archsimd.BroadcastFloat32x8(0)
	lo, hi := loadThree(&nd.lo).sub(p), p.sub(loadThree(&nd.hi))
	d := three{lo.x.Max(hi.x).Max(zero), lo.y.Max(hi.y).Max(zero), lo.z.Max(hi.z).Max(zero)}
	return d.dot(d)
}

// nearby is a triangle near p: that of a leaf which is found by always going on in the nearest box.
func (w *wideTree) nearby(p three) int32 {
	var d2 [lanes]float32
	cur := w.root
	for cur >= 0 {
		nd := &w.nodes[cur]
		nd.dist2(p).Store(&d2)
		least, lane := d2[0], 0
		for k := 1; k < lanes; k++ {
			if d2[k] < least {
				least, lane = d2[k], k
			}
		}
		cur = nd.child[lane]
	}
	l := &w.leaves[^cur]
	l.dist2(p).Store(&d2)
	lane := 0
	for k := 1; k < lanes; k++ {
		if d2[k] < d2[lane] {
			lane = k
		}
	}
	return l.tri[lane]
}

// atMost is a squared distance in float32 above which, whatever rounding does, nothing lies that is as near as d2.
func (w *wideTree) atMost(d2 float64) float32 {
	// Relative, of boxes and triangles whose nearest corner is no farther than the distance and a side; and of the places, which are
	// rounded by their distance from the origin.
	const relative, place = 1.0 / (1 << 14), 1.0 / (1 << 20)
	d := math.Sqrt(d2)
	d += relative*(d+w.longest) + place*w.reach
	return float32(math.Min(d*d, math.MaxFloat32))
}

// searchWide is search in the wide tree.
func (t *Tree) searchWide(x, y, z, best float64, at int32) int32 {
	w := t.wide
	p := three{
		archsimd.BroadcastFloat32x8(float32(x - w.origin.X)), archsimd.BroadcastFloat32x8(float32(y - w.origin.Y)), archsimd.BroadcastFloat32x8(float32(z - w.origin.Z)),
	}
	if at < 0 && best > math.MaxFloat64 { // nothing is left out before something is found
		at = w.nearby(p)
		best = t.tris[at].dist2(x, y, z)
	}
	var waiting [wideWaiting]struct {
		d2    float32
		child int32
	}
	n, cur, most := 0, w.root, w.atMost(best)
	var d2 [lanes]float32
	for {
		if cur < 0 {
			l := &w.leaves[^cur]
			dd := l.dist2(p)
			mask := dd.LessEqual(archsimd.BroadcastFloat32x8(most)).ToBits()
			if mask != 0 {
				dd.Store(&d2)
			}
			for ; mask != 0; mask &= mask - 1 {
				k := bits.TrailingZeros8(mask) & (lanes - 1)
				i := l.tri[k]
				if i == at || d2[k] > most {
					continue
				}
				if d := t.tris[i].dist2(x, y, z); d < best || d == best && t.tris[i].face < t.tris[at].face {
					best, at, most = d, i, w.atMost(d)
				}
			}
		} else {
			nd := &w.nodes[cur]
			dd := nd.dist2(p)
			mask := dd.LessEqual(archsimd.BroadcastFloat32x8(most)).ToBits()
			if mask != 0 {
				dd.Store(&d2)
			}
			for ; mask != 0; mask &= mask - 1 {
				k := bits.TrailingZeros8(mask) & (lanes - 1)
				waiting[n].d2, waiting[n].child = d2[k], nd.child[k]
				n++
			}
		}
		for {
			if n == 0 {
				return at
			}
			n--
			if waiting[n].d2 <= most {
				cur = waiting[n].child
				break
			}
		}
	}
}
