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

func all(x float32) eight { return archsimd.BroadcastFloat32x8(x) }

// three are the coordinates of eight points or vectors.
type three struct{ x, y, z eight }

func loadThree(p *[3][lanes]float32) three {
	return three{archsimd.LoadFloat32x8(&p[0]), archsimd.LoadFloat32x8(&p[1]), archsimd.LoadFloat32x8(&p[2])}
}

func (a three) sub(b three) three { return three{a.x.Sub(b.x), a.y.Sub(b.y), a.z.Sub(b.z)} }
func (a three) dot(b three) eight { return a.x.MulAdd(b.x, a.y.MulAdd(b.y, a.z.Mul(b.z))) }

// dist2 are the squared distances of p to the triangles of a leaf, less and more what rounding could change them by; without the leaf's
// share of blur.
//
// In the plane of the triangle with p over (x, y), the closest point c has the greatest 2(x,y)·c - c·c, which is what it takes off the
// squared distance from the origin. That is so for each of the three sides alone, and c is (x, y) within them. All terms are of the order of
// the squared distance from the origin where they count: no point of the side across from it is nearer than 0.86 of the other sides, since
// the angle at the third corner is the largest.
func (l *wideLeaf) dist2(at three) (least, most eight) {
	zero, one := all(0), all(1)
	d := at.sub(loadThree(&l.origin))
	d2, x, y := d.dot(d), d.dot(loadThree(&l.along)), d.dot(loadThree(&l.across))
	long, p, q := archsimd.LoadFloat32x8(&l.l), archsimd.LoadFloat32x8(&l.p), archsimd.LoadFloat32x8(&l.q)
	// Along the longest side.
	k := x.Min(long).Max(zero)
	gain := k.Mul(x.Add(x).Sub(k))
	// From the origin to the third corner, and from there to the end of the longest side.
	tiny := all(1e-30)
	pp := p.MulAdd(p, q.Mul(q))
	on := x.MulAdd(p, y.Mul(q))
	k = on.Div(pp.Add(tiny)).Min(one).Max(zero)
	gain = gain.Max(k.Mul(on.Add(on).Sub(k.Mul(pp))))
	w, xx, yy := long.Sub(p), x.Sub(p), y.Sub(q)
	ww := w.MulAdd(w, q.Mul(q))
	off := xx.Mul(w).Sub(yy.Mul(q))
	k = off.Div(ww.Add(tiny)).Min(one).Max(zero)
	gain = gain.Max(on.Add(on).Sub(pp).Add(k.Mul(off.Add(off).Sub(k.Mul(ww)))))
	inside := y.GreaterEqual(zero).And(x.Mul(q).GreaterEqual(y.Mul(p))).And(xx.Mul(q).Add(yy.Mul(w)).LessEqual(zero))
	gain = x.MulAdd(x, y.Mul(y)).Merge(gain, inside)
	blur := d2.Mul(all(blurred))
	d2 = d2.Sub(gain)
	return d2.Sub(blur), d2.Add(blur)
}

// dist2 are the squared distances of p to the boxes of a node.
func (nd *wideNode) dist2(p three) eight {
	zero := all(0)
	lo, hi := loadThree(&nd.lo).sub(p), p.sub(loadThree(&nd.hi))
	d := three{lo.x.Max(hi.x).Max(zero), lo.y.Max(hi.y).Max(zero), lo.z.Max(hi.z).Max(zero)}
	return d.dot(d)
}

// A prospect is a triangle that may be nearest, or a child that may have it, and what its squared distance is at least.
type prospect struct {
	d2 float32
	of int32
}

// searchWide is search in the wide tree. No triangle is measured in float64 until all boxes are looked at.
func (t *Tree) searchWide(x, y, z, best float64, at int32) int32 {
	w := t.wide
	px, py, pz := float32(x-w.origin.X), float32(y-w.origin.Y), float32(z-w.origin.Z)
	p := three{all(px), all(py), all(pz)}
	blur := 2 * w.blur
	bound := func(d2 float64) float32 { return float32(math.Min(d2*(1+blurred), math.MaxFloat32/2)) + blur }
	most := bound(best)
	var waiting [wideWaiting]prospect
	var found [16]prospect
	nw, nf := 0, 0
	var low, high [lanes]float32
	for cur := w.root; ; {
		if cur < 0 {
			l := &w.leaves[^cur]
			least, greatest := l.dist2(p)
			mask := least.LessEqual(all(most)).ToBits() & (1<<uint8(l.count) - 1)
			if mask != 0 {
				least.Store(&low)
				greatest.Store(&high)
			}
			for ; mask != 0; mask &= mask - 1 {
				k := bits.TrailingZeros8(mask) & (lanes - 1)
				if low[k] > most {
					continue
				}
				most = min(most, high[k]+blur)
				if nf == len(found) {
					nf = 0
					for _, f := range found {
						if f.d2 <= most {
							found[nf] = f
							nf++
						}
					}
					if nf == len(found) {
						best, at = t.nearestOf(found[:], most, x, y, z, best, at)
						most, nf = min(most, bound(best)), 0
					}
				}
				found[nf] = prospect{low[k], l.first + int32(k)}
				nf++
			}
		} else {
			nd := &w.nodes[cur]
			dd := nd.dist2(p)
			if mask := dd.LessEqual(all(most)).ToBits(); mask != 0 {
				dd.Store(&low)
				k := bits.TrailingZeros8(mask) & (lanes - 1)
				// On in the nearest; the others wait.
				near := prospect{low[k], nd.child[k]}
				for mask &= mask - 1; mask != 0; mask &= mask - 1 {
					k := bits.TrailingZeros8(mask) & (lanes - 1)
					next := prospect{low[k], nd.child[k]}
					if next.d2 < near.d2 {
						next, near = near, next
					}
					waiting[nw] = next
					nw++
				}
				cur = near.of
				continue
			}
		}
		for {
			if nw == 0 {
				_, at = t.nearestOf(found[:nf], most, x, y, z, best, at)
				return at
			}
			nw--
			if waiting[nw].d2 <= most {
				cur = waiting[nw].of
				break
			}
		}
	}
}

// nearestOf measures those that are near enough.
func (t *Tree) nearestOf(found []prospect, most float32, x, y, z, best float64, at int32) (float64, int32) {
	for _, f := range found {
		if f.d2 > most || f.of == at {
			continue
		}
		if d := t.tris[f.of].dist2(x, y, z); d < best || d == best && (at < 0 || t.tris[f.of].face < t.tris[at].face) {
			best, at = d, f.of
		}
	}
	return best, at
}
