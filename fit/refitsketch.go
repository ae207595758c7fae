package fit

import (
	"context"
	"math"
	"runtime"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// A cellKey is a patch of the surface: where, on the wall, one feature is near one zone.
type cellKey struct {
	feature device.Feature
	zone    footwear.Zone
	side    string
	x, y    int16 // of the nearest wall point, in steps of cellMM
}

func (k cellKey) less(o cellKey) int {
	for _, d := range []int{int(k.feature) - int(o.feature), int(k.zone) - int(o.zone), int(k.x) - int(o.x), int(k.y) - int(o.y)} {
		if d != 0 {
			return d
		}
	}
	switch {
	case k.side < o.side:
		return -1
	case k.side > o.side:
		return 1
	}
	return 0
}

const (
	cellMM      = 8.0
	sketchMM    = 3.5  // samples farther from the walls than this are left out
	awayMM      = 12.0 // what a row without samples stands off
	rowsPerCell = 4
)

// A cell sums up the samples of one patch in rows: first the tip, the tightest sample that gives the finding its gap (it does
// not push), then the nearest tenth, the next three tenths and the rest by area, which push.
type cell [rowsPerCell]row

type row struct {
	d     float64 // mm
	stiff float64 // N/mm
	p, n  r3.Vec
}

// around is the tightest tip in a cell and those beside it, so that a tip that moves over the border of a cell is not taken for
// one that has gone; ok is false where there is none.
func around(cells map[cellKey]*cell, key cellKey) (tip row, ok bool) {
	for dx := int16(-1); dx <= 1; dx++ {
		for dy := int16(-1); dy <= 1; dy++ {
			k := key
			k.x, k.y = k.x+dx, k.y+dy
			if c := cells[k]; c != nil && c[0].d < awayMM && (!ok || c[0].d < tip.d) {
				tip, ok = c[0], true
			}
		}
	}
	return tip, ok
}

// sketch sums up a device at a pose by cells.
func (b *Bench) sketch(p *probe, pose mesh.Pose, k PoseName) map[cellKey]*cell {
	type sample struct {
		row
		area float64
	}
	inCell := map[cellKey][]sample{}
	tips := map[cellKey]row{}
	look := seating{walls: Walls{Tree: b.tree, Stiffness: b.stiffness}}
	hint := int32(-1)
	for i := range p.samples {
		q := pose.Apply(p.samples[i].P)
		h := b.tree.NearestFrom(q, hint)
		hint = h.Face
		if h.Beyond || h.Signed > sketchMM {
			continue
		}
		z := footwear.Zone(b.Room.Walls.Tag[h.Face])
		key := cellKey{device.Feature(p.samples[i].Tag), z, b.side(z, q), int16(math.Floor(h.Point.X / cellMM)), int16(math.Floor(h.Point.Y / cellMM))}
		area := math.Max(0, -r3.Dot(pose.Rotate(p.samples[i].A), h.Normal))
		s := sample{row{d: h.Signed, p: q, n: h.Normal}, area}
		if area > 0 {
			s.stiff = area * look.stiffness(h.Face, h.Point)
		}
		inCell[key] = append(inCell[key], s)
		if t, ok := tips[key]; p.owns(i, z.Floor()) && (!ok || s.d < t.d) {
			tips[key] = row{d: s.d, p: q, n: h.Normal}
		}
	}
	out := map[cellKey]*cell{}
	for key, list := range inCell {
		slices.SortStableFunc(list, func(a, b sample) int {
			switch {
			case a.d < b.d:
				return -1
			case a.d > b.d:
				return 1
			}
			return 0
		})
		c := &cell{}
		for i := range c {
			c[i] = row{d: awayMM, p: list[0].p, n: list[0].n}
		}
		if t, ok := tips[key]; ok {
			c[0] = t
		}
		whole := 0.0
		for _, s := range list {
			whole += s.area
		}
		passed := 0.0
		var weight [rowsPerCell]float64
		for _, s := range list {
			if s.area == 0 {
				continue
			}
			at := 3
			if passed < 0.1*whole {
				at = 1
			} else if passed < 0.4*whole {
				at = 2
			}
			passed += s.area
			r := &c[at]
			if weight[at] == 0 {
				*r = row{}
			}
			weight[at] += s.area
			r.d += s.area * s.d
			r.p = r3.Add(r.p, r3.Scale(s.area, s.p))
			r.n = r3.Add(r.n, r3.Scale(s.area, s.n))
			r.stiff += s.stiff
		}
		for i, w := range weight {
			if w > 0 {
				c[i].d /= w
				c[i].p = r3.Scale(1/w, c[i].p)
				if l := r3.Norm(c[i].n); l > 1e-9 {
					c[i].n = r3.Scale(1/l, c[i].n)
				}
			}
		}
		out[key] = c
	}
	return out
}

// A variant is one level tried alone on a start: what it moves.
type variant struct {
	level
	d, stiff [2][]float64 // of each row at both poses: by how much distance and stiffness grow
	room     []float64    // of each question about the foot
	base     device.Base  // Medial, Lateral, Length, Area: by how much they grow
}

// A family is a start with all its levels: candidates are sums of its variants. The sum is exact where changes move different
// parts of the surface, and a first-order estimate where two move the same; in both cases the device comes to rest anew.
type family struct {
	start
	dev      *device.Device
	res      *Result
	traits   *traits
	variants []variant

	sur   [2]*surroundings // rows of all cells; group is the cell
	cells [2][]cellInfo
}

type cellInfo struct {
	give    float64
	bearing bool
	decides bool
}

// uncovered is the device without cover and extension, which are not seated: it is faster to build.
func uncovered(o device.Options) device.Options {
	o.CoverExtent, o.Extension = device.None, device.None
	return o
}

// newFamily builds and seats a start and each of its levels; nil where the start can't be built or does not come to rest.
func (b *Bench) newFamily(ctx context.Context, s start, list []level, o *RefitOptions, tick func(int)) (*family, error) {
	d, err := device.Build(s.options)
	if err != nil {
		return nil, nil // no such device
	}
	r, err := b.Check(ctx, d, o.Foot)
	if err != nil {
		return nil, err
	}
	tick(1)
	if r.Status != Converged {
		return nil, nil
	}
	f := &family{start: s, dev: d, res: r, traits: b.traitsOf(d, o.Axis)}
	bare := d
	if d.CoverSolid != nil {
		if bare, err = device.Build(uncovered(s.options)); err != nil {
			return nil, nil
		}
	}
	poses := [2]mesh.Pose{r.Intended, r.Settled}
	type tried struct {
		cells [2]map[cellKey]*cell
		room  []RoomCheck
		base  device.Base
		ok    bool
	}
	look := func(d *device.Device) tried {
		t := tried{base: d.Base, room: b.footRoom(d, r.Settled, r.Foot), ok: true}
		p := newProbe(d)
		for k, pose := range poses {
			t.cells[k] = b.sketch(p, pose, Intended)
		}
		return t
	}
	from := look(bare)
	all := make([]tried, len(list))
	each(ctx, len(list), func(i int) {
		t, err := bare.Options, error(nil)
		l := &list[i]
		soft := l.key == "cover_extent" || l.key == "cover_heel_mm" || l.key == "cover_front_mm" || l.key == "extension_mm"
		if soft {
			t = s.options
		}
		if t, err = on(t, *l); err != nil {
			return
		}
		v, err := device.Build(t)
		if err != nil {
			return
		}
		if soft { // the shell stays: only the foot's room changes
			all[i] = from
			all[i].room = b.footRoom(v, r.Settled, r.Foot)
			for q := range all[i].room {
				all[i].room[q].LeftMM += from.room[q].LeftMM - r.FootRoom[q].LeftMM
			}
		} else {
			all[i] = look(v)
		}
		tick(1)
	})
	if err := ctx.Err(); err != nil {
		return nil, err
	}

	f.variants = make([]variant, 0, len(list))
	kept := make([]int, 0, len(list))
	for i := range all {
		if all[i].ok && len(all[i].room) == len(from.room) {
			kept = append(kept, i)
			v := variant{level: list[i], base: device.Base{
				MedialMM: all[i].base.MedialMM - from.base.MedialMM, LateralMM: all[i].base.LateralMM - from.base.LateralMM,
				LengthMM: all[i].base.LengthMM - from.base.LengthMM, AreaMM2: all[i].base.AreaMM2 - from.base.AreaMM2,
			}}
			for q := range from.room {
				v.room = append(v.room, all[i].room[q].LeftMM-from.room[q].LeftMM)
			}
			f.variants = append(f.variants, v)
		}
	}
	sf := b.seatFrame(d.Base)
	for k, pose := range poses {
		name := [2]PoseName{Intended, Settled}[k]
		keys := map[cellKey]bool{}
		for key := range from.cells[k] {
			keys[key] = true
		}
		for _, i := range kept {
			for key := range all[i].cells[k] {
				keys[key] = true
			}
		}
		sorted := make([]cellKey, 0, len(keys))
		for key := range keys {
			sorted = append(sorted, key)
		}
		slices.SortFunc(sorted, cellKey.less)
		sur := &surroundings{pose: name, centre: pose.Apply(bare.Rigid.Centroid()), heel: pose.Apply(heelOf(d)), arm: 100, up: sf.up, forward: sf.forward}
		of := func(t *tried, key cellKey) (c *cell, there bool) {
			c, there = t.cells[k][key]
			return c, there
		}
		for ci, key := range sorted {
			c, there := of(&from, key)
			if !there {
				for _, i := range kept {
					if o, ok := of(&all[i], key); ok {
						away := *o
						for r := range away {
							away[r].d, away[r].stiff = awayMM, 0
						}
						c = &away
						break
					}
				}
			}
			own := *c
			if tip, ok := around(from.cells[k], key); ok {
				own[0] = tip
			}
			c = &own
			for ri, r := range c {
				at := len(sur.d)
				sur.d, sur.stiff = append(sur.d, r.d), append(sur.stiff, r.stiff)
				sur.p, sur.n = append(sur.p, r.p), append(sur.n, r.n)
				sur.group = append(sur.group, ci)
				if ri > 1 {
					continue
				}
				if key.zone == footwear.CounterBack && pose.Inverse().Apply(r.p).X < d.RimXMM {
					sur.back = append(sur.back, at)
				}
				if key.zone.Floor() && key.feature == device.WedgeBase {
					sur.floor = append(sur.floor, at)
				}
			}
			fd := Finding{Feature: key.feature, Zone: key.zone, Side: key.side, Pose: name}
			b.judge(&fd)
			f.cells[k] = append(f.cells[k], cellInfo{fd.GiveMM, fd.Bearing, fd.decides()})
		}
		for vi, i := range kept {
			v := &f.variants[vi]
			v.d[k], v.stiff[k] = make([]float64, len(sur.d)), make([]float64, len(sur.d))
			for ci, key := range sorted {
				c, there := of(&all[i], key)
				for ri := range rowsPerCell {
					at := ci*rowsPerCell + ri
					d, stiff := sur.d[at], 0.0
					switch {
					case ri == 0:
						d = awayMM
						if tip, ok := around(all[i].cells[k], key); ok {
							d = tip.d
						}
					case there:
						d, stiff = c[ri].d, c[ri].stiff
					}
					v.d[k][at], v.stiff[k][at] = d-sur.d[at], stiff-sur.stiff[at]
				}
			}
		}
		aside := 0.0
		if len(rolls(d.Base)) > 1 {
			aside = facetLeverMM
		}
		loads, holds := b.loads(newProbe(bare), sf, r.Foot.BodyMassKG, aside)
		for _, l := range loads {
			sur.loads = append(sur.loads, Load{ForceN: l.ForceN, At: pose.Apply(l.At)})
		}
		sur.slipped = r.SlipForwardMM
		for _, h := range holds {
			h.At = pose.Apply(h.At)
			sur.holds = append(sur.holds, h)
		}
		f.sur[k] = sur
	}
	return f, nil
}

// softness is how sharply strain looks at the tightest places, 1/mm.
const softness = 2.0

// marginOf estimates MarginMM of the start with the variants picked; ok is false where it would not come to rest. Ease is a
// soft margin that grows when any tight place is freed, though others stay tight: −ln Σ exp(−softness·margin)/softness.
func (f *family) marginOf(picks []int) (margin, ease float64, ok bool) {
	var d [2][]float64
	var stiff []float64
	for k, s := range f.sur {
		d[k] = slices.Clone(s.d)
		for _, v := range picks {
			for at, g := range f.variants[v].d[k] {
				if s.d[at] == awayMM { // there was nothing: two changes that bring something there bring it once
					d[k][at] = math.Min(d[k][at], awayMM+g)
				} else {
					d[k][at] += g
				}
			}
		}
	}
	stiff = slices.Clone(f.sur[1].stiff)
	for _, v := range picks {
		for at, g := range f.variants[v].stiff[1] {
			stiff[at] += g
		}
	}
	for at := range stiff {
		stiff[at] = math.Max(0, stiff[at])
	}
	moved := f.sur[0].lay(d[0])
	lift, ok := f.sur[1].settle(d[1], stiff, moved)
	margin = rideUpBlockedMM - (f.res.RideUpMM + lift - r3.Dot(moved, f.sur[0].up))
	strain := math.Exp(-softness * margin)
	for k := range d {
		for at := 0; at < len(d[k]); at += rowsPerCell {
			c := &f.cells[k][f.sur[k].group[at]]
			mm := d[k][at] + c.give
			if !c.decides || c.bearing && mm >= 0 {
				continue
			}
			margin = math.Min(margin, mm)
			if mm < 3 {
				strain += math.Exp(-softness * mm)
			}
		}
	}
	for q := range f.res.FootRoom {
		c := &f.res.FootRoom[q]
		if !c.decides {
			continue
		}
		left := c.LeftMM - c.leastMM
		for _, v := range picks {
			left += f.variants[v].room[q]
		}
		margin = math.Min(margin, left)
	}
	return margin, -math.Log(strain) / softness, ok
}

// optionsOf is the start with the variants picked.
func (f *family) optionsOf(picks []int) device.Options {
	list := make([]level, len(picks))
	for i, v := range picks {
		list[i] = f.variants[v].level
	}
	o, err := on(f.options, list...)
	if err != nil {
		panic(err) // each level was set once before
	}
	return o
}

// traitsWith estimates the traits of the start with the variants picked.
func (f *family) traitsWith(picks []int) *traits {
	t := *f.traits
	t.options = f.optionsOf(picks)
	for _, v := range picks {
		g := &f.variants[v].base
		t.base.MedialMM += g.MedialMM
		t.base.LateralMM += g.LateralMM
		t.base.LengthMM += g.LengthMM
		t.base.AreaMM2 += g.AreaMM2
	}
	t.base.WidthMM = t.base.MedialMM + t.base.LateralMM
	return &t
}

// each runs f for 0 to n−1 on every core, until the context ends.
func each(ctx context.Context, n int, f func(i int)) {
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := 0; i < n && ctx.Err() == nil; i++ {
		next <- i
	}
	close(next)
	wg.Wait()
}
