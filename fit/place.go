package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// A probe is a device made ready for a bench: what of its surface can meet a wall.
type probe struct {
	dev     *device.Device
	samples []mesh.Sample
	base    []int // indices of the samples of the base
	centre  r3.Vec
}

func newProbe(d *device.Device) *probe {
	p := &probe{dev: d, centre: d.Rigid.Centroid()}
	for _, s := range mesh.Samples(d.Rigid) {
		f := device.Feature(s.Tag)
		if f == device.FootSide {
			continue // carries the foot; it meets no wall
		}
		if f == device.WedgeBase || (f == device.Cap && s.A.Z < 0) {
			p.base = append(p.base, len(p.samples))
		}
		p.samples = append(p.samples, s)
	}
	return p
}

// draft is the probe with the vertices of its base, half of the others where features meet and a quarter of the rest; each
// feature's area is shared out to those that are left.
func (p *probe) draft() *probe {
	out := &probe{dev: p.dev, centre: p.centre}
	var all, kept [device.NumFeatures]float64
	seen, met := 0, 0
	for i := 0; i < len(p.samples); {
		end := i + 1
		for end < len(p.samples) && p.samples[end].Vertex == p.samples[i].Vertex {
			end++
		}
		_, keep := slices.BinarySearch(p.base, i)
		for k := i + 1; k < end && !keep; k++ {
			_, keep = slices.BinarySearch(p.base, k)
		}
		switch edge := end > i+1 || p.samples[i].Crease; {
		case keep:
		case edge:
			met++
			keep = met%2 == 0
		default:
			seen++
			keep = seen%4 == 0
		}
		for ; i < end; i++ {
			s := p.samples[i]
			area := r3.Norm(s.A)
			all[s.Tag] += area
			if !keep {
				continue
			}
			kept[s.Tag] += area
			if _, base := slices.BinarySearch(p.base, i); base {
				out.base = append(out.base, len(out.samples))
			}
			out.samples = append(out.samples, s)
		}
	}
	for i := range out.samples {
		s := &out.samples[i]
		if kept[s.Tag] > 0 {
			s.A = r3.Scale(all[s.Tag]/kept[s.Tag], s.A)
		}
	}
	return out
}

// rolls are the stages of a device's roll, degrees inverted: where it meets the ground, half way, and where the medial
// facet lies flat. A device without motion has one.
func rolls(o device.Base) []float64 {
	contact, end := o.LateralFacetDeg, -o.MedialFacetDeg
	if math.Abs(contact-end) < 1e-9 {
		return []float64{contact}
	}
	return []float64{contact, (contact + end) / 2, end}
}

// turn is the rotation by deg degrees about a unit axis.
func turn(axis r3.Vec, deg float64) mesh.Pose {
	s, c := math.Sincos(deg * math.Pi / 360)
	return mesh.Pose{Q: quat.Number{Real: c, Imag: s * axis.X, Jmag: s * axis.Y, Kmag: s * axis.Z}}
}

// seatFrame is the plane the base lies on at the intended pose: forward along the seat and up from it.
type seatFrame struct {
	pitchDeg    float64 // slope of the seat under the base, falling towards the toe
	forward, up r3.Vec
}

func (b *Bench) seatFrame(base device.Base) seatFrame {
	back, front := base.BackXMM, base.FrontXMM
	deg := math.Atan2(b.Room.FloorZ(back)-b.Room.FloorZ(front), front-back) * 180 / math.Pi
	p := turn(r3.Vec{Y: 1}, deg)
	return seatFrame{pitchDeg: deg, forward: p.Rotate(r3.Vec{X: 1}), up: p.Rotate(r3.Vec{Z: 1})}
}

// closeEnoughMM is how exactly the intended pose is set.
const closeEnoughMM = 1e-4

// closeEnough is that, wider for a first look.
func (b *Bench) closeEnough() float64 {
	if b.draft {
		return 0.02
	}
	return closeEnoughMM
}

// intended is where the device is meant to lie, rolled by rollDeg: the base on the seat, the back against the back of the
// counter, the sides ignored.
func (b *Bench) intended(p *probe, rollDeg float64) mesh.Pose {
	sf := b.seatFrame(p.dev.Base)
	turned := turn(r3.Vec{Y: 1}, sf.pitchDeg).Compose(turn(r3.Vec{X: 1}, rollDeg))
	const fromBackMM = 12
	at := r3.Vec{X: fromBackMM, Z: b.Room.FloorZ(b.Room.HeelStationMM()) + 5}
	hints := make([]int32, len(p.samples))
	for i := range hints {
		hints[i] = -1
	}
	near := int32(-1) // the face that was found last: samples lie side by side
	whole := func(i int) mesh.Hit {
		if hints[i] < 0 {
			hints[i] = near
		}
		h := b.tree.NearestFrom(r3.Add(turned.Rotate(p.samples[i].P), at), hints[i])
		hints[i], near = h.Face, h.Face
		return h
	}
	// The base's distance to the floor, infinite where it hangs over none.
	floor := newLeast(p.base, func(i int) (gap, bound float64) {
		h := whole(i)
		switch {
		case h.Beyond:
			return math.Inf(1), math.Inf(-1)
		case footwear.Zone(b.Room.Walls.Tag[h.Face]).Floor():
			return h.Signed, h.Signed
		}
		return math.Inf(1), h.Signed
	})
	// The rear's distance to the back of the counter. Only the whole wall tells on which side of it a point lies: cut out
	// alone, the back of a scan has ragged edges, and what lies behind that of any room may have come through another wall.
	nearBack := int32(-1)
	backHints := make([]int32, len(p.samples))
	for k := range backHints {
		backHints[k] = -1
	}
	under := math.Inf(1) // where the device is lower than the whole back: along the seat to its lower edge
	back := newLeast(p.behind(), func(i int) (gap, bound float64) {
		q := r3.Add(turned.Rotate(p.samples[i].P), at)
		if backHints[i] < 0 {
			backHints[i] = nearBack
		}
		h := b.back.NearestFrom(q, backHints[i])
		backHints[i], nearBack = h.Face, h.Face
		if h.Beyond {
			under = math.Min(under, r3.Dot(r3.Sub(q, h.Point), sf.forward))
			return math.Inf(1), math.Inf(-1)
		}
		gap = math.Abs(h.Signed)
		if b.Room.Scan == nil && h.Signed >= 0 {
			return gap, gap
		}
		w := whole(i)
		if w.Signed >= 0 {
			return gap, gap
		}
		if footwear.Zone(b.Room.Walls.Tag[w.Face]) == footwear.CounterBack {
			return -gap, -gap
		}
		return gap, -gap // past another wall; if the back becomes the nearest it counts the other way
	})
	move := func(by r3.Vec) {
		at = r3.Add(at, by)
		floor.went += r3.Norm(by)
		back.went += r3.Norm(by)
	}
	backGap := func() float64 {
		under = math.Inf(1)
		if g := back.value(); !math.IsInf(g, 1) {
			return g
		}
		return under
	}
	enough := b.closeEnough()
	for range 12 {
		down := b.drop(p, turned, &at, sf, floor.value, move)
		went := 0.0
		for range 12 {
			g := backGap()
			move(r3.Scale(-g, sf.forward))
			went += math.Abs(g)
			if math.Abs(g) < enough {
				break
			}
		}
		if went < 2*enough && down < 2*enough {
			break
		}
	}
	b.drop(p, turned, &at, sf, floor.value, move)
	turned.T = at
	return turned
}

// A least is the smallest gap of some samples that all move alike. A gap changes by no more than the samples move, so one
// that was further off than that is not looked at again.
type least struct {
	of    []int
	look  func(i int) (gap, bound float64) // bound is what the gap can't have been below, −Inf where that is not known
	bound []float64                        // at the last look
	seen  []float64                        // went at the last look
	went  float64                          // how far the samples have moved in all
	last  int                              // index of the smallest gap last time: looked at first
}

func newLeast(of []int, look func(i int) (gap, bound float64)) *least {
	l := &least{of: of, look: look, bound: make([]float64, len(of)), seen: make([]float64, len(of))}
	for k := range of {
		l.bound[k] = math.Inf(-1)
	}
	return l
}

func (l *least) value() float64 {
	m := math.Inf(1)
	see := func(k int) {
		g, bound := l.look(l.of[k])
		l.bound[k], l.seen[k] = bound, l.went
		if g < m {
			m, l.last = g, k
		}
	}
	if len(l.of) == 0 {
		return m
	}
	first := l.last
	see(first)
	for k := range l.of {
		if k != first && l.bound[k]-(l.went-l.seen[k]) < m {
			see(k)
		}
	}
	return m
}

// drop lowers the base onto the floor along the seat's normal and returns how far it went.
func (b *Bench) drop(p *probe, turned mesh.Pose, at *r3.Vec, sf seatFrame, floorGap func() float64, move func(r3.Vec)) float64 {
	went := 0.0
	enough := b.closeEnough()
	for range 12 {
		g := floorGap()
		if math.IsInf(g, 1) { // the base hangs over no floor: bring its lowest point to the floor of the centre line
			g = math.Inf(1)
			for _, i := range p.base {
				q := r3.Add(turned.Rotate(p.samples[i].P), *at)
				g = math.Min(g, q.Z-b.Room.FloorZ(q.X))
			}
			move(r3.Scale(-g, sf.up))
			return went + math.Abs(g)
		}
		move(r3.Scale(-g, sf.up))
		went += math.Abs(g)
		if math.Abs(g) < enough {
			break
		}
	}
	return went
}

// behind are the samples of the rear third: those that the back of the counter can meet.
func (p *probe) behind() []int {
	var out []int
	for i, s := range p.samples {
		if s.P.X < p.dev.RimXMM {
			out = append(out, i)
		}
	}
	return out
}
