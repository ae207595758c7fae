package fit

import (
	"math"

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
	// floorGap is the smallest distance of the base to the floor, infinite where the base hangs over none.
	floorGap := func() float64 {
		least := math.Inf(1)
		for _, i := range p.base {
			h := b.tree.NearestFrom(r3.Add(turned.Rotate(p.samples[i].P), at), hints[i])
			hints[i] = h.Face
			if !h.Beyond && footwear.Zone(b.Room.Walls.Tag[h.Face]).Floor() {
				least = math.Min(least, h.Signed)
			}
		}
		return least
	}
	behind := p.behind()
	backHints := make([]int32, len(behind))
	for k := range backHints {
		backHints[k] = -1
	}
	// backGap is the smallest distance of the rear to the back of the counter; where the device is lower than the whole of
	// it, along the seat to its lower edge.
	backGap := func() float64 {
		beside, under := math.Inf(1), math.Inf(1)
		for k, i := range behind {
			q := r3.Add(turned.Rotate(p.samples[i].P), at)
			h := b.back.NearestFrom(q, backHints[k])
			backHints[k] = h.Face
			if h.Beyond {
				under = math.Min(under, r3.Dot(r3.Sub(q, h.Point), sf.forward))
				continue
			}
			// Only the whole wall tells on which side of it a point lies: cut out alone, a rough back has ragged edges.
			w := b.tree.NearestFrom(q, hints[i])
			hints[i] = w.Face
			gap := math.Abs(h.Signed)
			if w.Signed < 0 && footwear.Zone(b.Room.Walls.Tag[w.Face]) == footwear.CounterBack {
				gap = -gap
			}
			beside = math.Min(beside, gap)
		}
		if math.IsInf(beside, 1) {
			return under
		}
		return beside
	}
	for range 12 {
		down := b.drop(p, turned, &at, sf, floorGap)
		back := 0.0
		for range 12 {
			g := backGap()
			at = r3.Sub(at, r3.Scale(g, sf.forward))
			back += math.Abs(g)
			if math.Abs(g) < closeEnoughMM {
				break
			}
		}
		if back < 2*closeEnoughMM && down < 2*closeEnoughMM {
			break
		}
	}
	b.drop(p, turned, &at, sf, floorGap)
	turned.T = at
	return turned
}

// drop lowers the base onto the floor along the seat's normal and returns how far it went.
func (b *Bench) drop(p *probe, turned mesh.Pose, at *r3.Vec, sf seatFrame, floorGap func() float64) float64 {
	went := 0.0
	for range 12 {
		g := floorGap()
		if math.IsInf(g, 1) { // the base hangs over no floor: bring its lowest point to the floor of the centre line
			g = math.Inf(1)
			for _, i := range p.base {
				q := r3.Add(turned.Rotate(p.samples[i].P), *at)
				g = math.Min(g, q.Z-b.Room.FloorZ(q.X))
			}
			*at = r3.Sub(*at, r3.Scale(g, sf.up))
			return went + math.Abs(g)
		}
		*at = r3.Sub(*at, r3.Scale(g, sf.up))
		went += math.Abs(g)
		if math.Abs(g) < closeEnoughMM {
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
