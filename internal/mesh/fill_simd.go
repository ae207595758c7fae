//go:build goexperiment.simd && amd64

package mesh

import (
	"math"
	"math/bits"
	"simd/archsimd"

	"gonum.org/v1/gonum/spatial/r3"
)

// A flatTri is a triangle in float32 about the middle of the field: corner, two sides, the two vectors in its plane that tell how much of each
// side leads to a point, and one over the squared lengths of the three sides. The last is 0 for a needle, which float32 can't measure.
type flatTri [24]float32

const (
	flatA, flatU, flatV, flatOfU, flatOfV     = 0, 3, 6, 9, 12
	flatPerUU, flatPerVV, flatPerWW, flatFair = 15, 16, 17, 18
)

// flatten makes the triangles flat.
func (f *Field) flatten(t *Tree) []flatTri {
	flat := make([]flatTri, len(t.tris))
	o := f.middle()
	for i := range t.tris {
		tr, to := &t.tris[i], &flat[i]
		det := tr.uu*tr.vv - tr.uv*tr.uv
		uu, uv, vv := tr.uu/det, tr.uv/det, tr.vv/det
		for k, x := range [...]float64{
			tr.ax - o.X, tr.ay - o.Y, tr.az - o.Z, tr.ux, tr.uy, tr.uz, tr.vx, tr.vy, tr.vz,
			vv*tr.ux - uv*tr.vx, vv*tr.uy - uv*tr.vy, vv*tr.uz - uv*tr.vz,
			uu*tr.vx - uv*tr.ux, uu*tr.vy - uv*tr.uy, uu*tr.vz - uv*tr.uz,
			1 / tr.uu, 1 / tr.vv, 1 / (tr.uu + tr.vv - 2*tr.uv),
		} {
			to[k] = float32(x)
		}
		if tr.fair() {
			to[flatFair] = 1
		}
	}
	return flat
}

// fair says whether the triangle is no needle: its angles are so large that products in float32 tell where its plane lies.
func (t *tri) fair() bool {
	const thinnest = 1.0 / 32 // sine
	ww := t.uu + t.vv - 2*t.uv
	least := math.Min(t.uu, math.Min(t.vv, ww))
	most := math.Max(t.uu, math.Max(t.vv, ww))
	return t.uu*t.vv-t.uv*t.uv >= thinnest*thinnest*most*most && least > 1e-12
}

// middle is the middle of the table.
func (f *Field) middle() r3.Vec {
	half := brickCells / 2 * f.spacing
	return r3.Add(f.origin, r3.Scale(half, r3.Vec{X: float64(f.n[0]), Y: float64(f.n[1]), Z: float64(f.n[2])}))
}

// A wideFiller measures a triangle from eight places at once, in float32. It only leaves out what is farther for sure; what stays is told
// apart by distances in float64.
type wideFiller struct {
	t      *Tree
	flat   []flatTri
	middle r3.Vec
	place  float64 // most that rounding moves a place or a corner, mm

	longest float64 // side of a triangle of the brick
	far     []eightAway
}

// An eightAway has the ways from the closest points of a triangle to eight places, and their squared lengths.
type eightAway struct {
	x, y, z, d2 [lanes]float32
}

func newWideFiller(f *Field, t *Tree, flat []flatTri) *wideFiller {
	reach := brickCells / 2 * f.spacing * float64(max(f.n[0], f.n[1], f.n[2]))
	return &wideFiller{t: t, flat: flat, middle: f.middle(), place: reach / (1 << 20)}
}

// begin gets ready for a brick with a list.
func (w *wideFiller) begin(list []int32) {
	most := 0.0
	for _, i := range list {
		tr := &w.t.tris[i]
		most = max(most, tr.uu, tr.vv, tr.uu+tr.vv-2*tr.uv)
	}
	w.longest = math.Sqrt(most)
}

// at is a number of a triangle, eight times.
func (f *flatTri) at(k int) eight {
	return archsimd.LoadFloat32x4((*[4]float32)(f[k : k+4])).Broadcast1To8()
}

// measure looks at triangles from eight places about the middle of the field. It returns the shortest way for each place.
func (w *wideFiller) measure(list []int32, p three, places *[lanes]r3.Vec) (nearest three, least eight) {
	if cap(w.far) < len(list) {
		w.far = make([]eightAway, 2*len(list))
	}
	far := w.far[:len(list)]
	zero, unit := all(0), all(1)
	least = all(math.MaxFloat32)
	nearest = three{zero, zero, zero}
	for k, i := range list {
		f, to := &w.flat[i], &far[k]
		var e three
		var d2 eight
		if f[flatFair] == 0 {
			w.needle(i, places, to)
			e = three{archsimd.LoadFloat32x8(&to.x), archsimd.LoadFloat32x8(&to.y), archsimd.LoadFloat32x8(&to.z)}
			d2 = archsimd.LoadFloat32x8(&to.d2)
		} else {
			q := three{p.x.Sub(f.at(flatA)), p.y.Sub(f.at(flatA + 1)), p.z.Sub(f.at(flatA + 2))}
			u := three{f.at(flatU), f.at(flatU + 1), f.at(flatU + 2)}
			v := three{f.at(flatV), f.at(flatV + 1), f.at(flatV + 2)}
			// The three sides.
			e = q.less(q.dot(u).Mul(f.at(flatPerUU)).Max(zero).Min(unit), u)
			d2 = e.dot(e)
			e2 := q.less(q.dot(v).Mul(f.at(flatPerVV)).Max(zero).Min(unit), v)
			d := e2.dot(e2)
			first := d2.LessEqual(d)
			e, d2 = e.merge(e2, first), d2.Min(d)
			side, b := v.sub(u), q.sub(u)
			e2 = b.less(b.dot(side).Mul(f.at(flatPerWW)).Max(zero).Min(unit), side)
			d = e2.dot(e2)
			first = d2.LessEqual(d)
			e, d2 = e.merge(e2, first), d2.Min(d)
			// The plane.
			s := q.dot(three{f.at(flatOfU), f.at(flatOfU + 1), f.at(flatOfU + 2)})
			t := q.dot(three{f.at(flatOfV), f.at(flatOfV + 1), f.at(flatOfV + 2)})
			e2 = q.less(s, u).less(t, v)
			inside := s.Min(t).Min(unit.Sub(s).Sub(t)).GreaterEqual(zero)
			e, d2 = e2.merge(e, inside), e2.dot(e2).Merge(d2, inside)
			e.x.Store(&to.x)
			e.y.Store(&to.y)
			e.z.Store(&to.z)
			d2.Store(&to.d2)
		}
		nearer := d2.Less(least)
		nearest, least = e.merge(nearest, nearer), least.Min(d2)
	}
	return nearest, least
}

// less is a - k b.
func (a three) less(k eight, b three) three {
	return three{a.x.Sub(k.Mul(b.x)), a.y.Sub(k.Mul(b.y)), a.z.Sub(k.Mul(b.z))}
}

// merge is a where the mask is set, b elsewhere.
func (a three) merge(b three, mask archsimd.Mask32x8) three {
	return three{a.x.Merge(b.x, mask), a.y.Merge(b.y, mask), a.z.Merge(b.z, mask)}
}

// needle measures a needle in float64.
func (w *wideFiller) needle(i int32, places *[lanes]r3.Vec, to *eightAway) {
	for k, p := range places {
		x, y, z := w.t.tris[i].offset(p.X, p.Y, p.Z)
		to.x[k], to.y[k], to.z[k], to.d2[k] = float32(x), float32(y), float32(z), float32(x*x+y*y+z*z)
	}
}

// split is that of a filler, but that it leaves to it how far the nearest triangles are.
func (w *wideFiller) split(list []int32, halves *[8]shortList, c r3.Vec, o *[8]r3.Vec, s float64, nearest *[8]int32) {
	var places [lanes]r3.Vec
	var flat [3][lanes]float32
	for k := range places {
		places[k] = r3.Add(c, o[k])
		p := r3.Sub(places[k], w.middle)
		flat[0][k], flat[1][k], flat[2][k] = float32(p.X), float32(p.Y), float32(p.Z)
	}
	near, least := w.measure(list, loadThree(&flat), &places)
	far := w.far[:len(list)]
	// A distance is wrong by up to slack. So is, by what is added to it, the one by a slope.
	d := least.Sqrt()
	slack := all(float32(2 * (w.place + w.longest/(1<<15)))).Add(d.Mul(all(2.0 / (1 << 15))))
	most := d.Add(slack)
	most = most.Mul(most)
	var best [lanes]float64
	for k := range nearest {
		nearest[k] = -1
	}
	for k := range far {
		mask := archsimd.LoadFloat32x8(&far[k].d2).LessEqual(most).ToBits()
		for ; mask != 0; mask &= mask - 1 {
			w.compare(bits.TrailingZeros8(mask)&(lanes-1), list[k], &places, nearest, &best)
		}
	}
	if halves == nil {
		return
	}
	w.choose(list, halves, s, near, d, slack)
}

// compare takes triangle i for the nearest to a place, if it is.
func (w *wideFiller) compare(lane int, i int32, places *[lanes]r3.Vec, nearest *[8]int32, best *[lanes]float64) {
	at := nearest[lane]
	if at < 0 {
		nearest[lane], best[lane] = i, -1
		return
	}
	p := places[lane]
	if best[lane] < 0 {
		best[lane] = w.t.tris[at].dist2(p.X, p.Y, p.Z)
	}
	if d := w.t.tris[i].dist2(p.X, p.Y, p.Z); d < best[lane] || d == best[lane] && w.t.tris[i].face < w.t.tris[at].face {
		nearest[lane], best[lane] = i, d
	}
}

// choose makes the lists of halves of half side s, as a nearness judges; d is the least distance, near the way of it.
func (w *wideFiller) choose(list []int32, halves *[8]shortList, s float64, near three, d, slack eight) {
	r := float32(math.Sqrt(3) * s)
	tiny, half := all(1e-6), all(float32(s))
	// Of two closest points that are as near as rounding can tell, the wrong one may be taken: at most √(2dε) from the right one, ε being
	// 2⁻²⁰ of the distance and the longest side. The slope turns by that over d, and bends what the triangle and the block span.
	turn := all(float32(w.longest)).Div(d.Max(tiny)).Add(all(1)).Sqrt().Mul(all((float32(w.longest) + 2*r) / 512))
	farthest := d.Add(slack).Add(all(2 * r))
	bend := all(2 * r).Min(all(r * r / 2).Div(d.Max(tiny)))
	steepest := d.Add(slack).Add(bend).Add(turn)
	per := all(1).Div(d.Max(tiny))
	gx, gy, gz := near.x.Mul(per), near.y.Mul(per), near.z.Mul(per)
	most := farthest.Mul(farthest)
	for k := range halves {
		halves[k].tris = halves[k].tris[:0]
	}
	far := w.far[:len(list)]
	for k := range far {
		a := &far[k]
		d2 := archsimd.LoadFloat32x8(&a.d2)
		mask := d2.LessEqual(most)
		if mask.ToBits() == 0 {
			continue
		}
		d := d2.Sqrt()
		per := all(1).Div(d.Max(tiny))
		x := archsimd.LoadFloat32x8(&a.x).Mul(per).Sub(gx)
		y := archsimd.LoadFloat32x8(&a.y).Mul(per).Sub(gy)
		z := archsimd.LoadFloat32x8(&a.z).Mul(per).Sub(gz)
		zero := all(0)
		turned := x.Max(zero.Sub(x)).Add(y.Max(zero.Sub(y))).Add(z.Max(zero.Sub(z)))
		hits := mask.And(d.Sub(half.Mul(turned)).LessEqual(steepest)).ToBits()
		for ; hits != 0; hits &= hits - 1 {
			h := &halves[bits.TrailingZeros8(hits)&(lanes-1)]
			h.tris = append(h.tris, list[k])
		}
	}
}
