package footwear

import "math"

// A point2 is a point of a half profile: the distance from the spine along the profile's ray, and a height (mm).
type point2 struct{ r, z float64 }

// A fillet is the rounded corner of a half profile: an arc that touches the floor at foot and the wall at head.
type fillet struct {
	centre     point2
	radius     float64
	foot       float64 // distance from the spine where the floor ends
	head       float64 // height over the board where the wall begins
	from, turn float64 // the arc's angle at the foot, and how far it turns to the head, radians
}

// newFillet finds the arc of a radius that touches a floor, given by its height at a distance from the spine, and a
// wall, given by its points by their height over the board. The wall must stand steeper than the floor.
func newFillet(floor func(r float64) float64, wall func(h float64) point2, floorH, radius float64) fillet {
	const d = 1e-4
	var f fillet
	f.radius = radius
	// For each place on the wall, the centre stands off by the radius along the wall's normal; the right place is
	// where the centre is as far from the floor. That distance grows about as fast as the height.
	place := func(h float64) (gap float64) {
		p, q := wall(h-d), wall(h+d)
		dr, dz := q.r-p.r, q.z-p.z
		n := math.Hypot(dr, dz)
		w := wall(h)
		f.head = h
		f.centre = point2{w.r - radius*dz/n, w.z + radius*dr/n}
		f.foot = below(floor, f.centre)
		up := f.centre.z - floor(f.foot)
		return math.Copysign(math.Hypot(f.centre.r-f.foot, up), up) - radius
	}
	// The lowest such place, going up.
	h := floorH
	for range 40 {
		next := h + radius/5
		if place(next) >= 0 {
			place(root(h, next, place))
			break
		}
		h = next
	}
	w := wall(f.head)
	f.from = math.Atan2(floor(f.foot)-f.centre.z, f.foot-f.centre.r)
	f.turn = math.Atan2(w.z-f.centre.z, w.r-f.centre.r) - f.from
	return f
}

// below is the distance from the spine of the point of a floor that is nearest to a point: a fixed point of
// u = r + slope(u)·(z − floor(u)), found by secants.
func below(floor func(r float64) float64, c point2) float64 {
	const d = 1e-4
	off := func(u float64) float64 {
		slope := (floor(u+d) - floor(u-d)) / (2 * d)
		return c.r + slope*(c.z-floor(u)) - u
	}
	u := c.r
	g := off(u)
	v := u + g
	for range 12 {
		h := off(v)
		if math.Abs(h) < 1e-9 || h == g {
			break
		}
		u, v, g = v, v-h*(v-u)/(h-g), h
	}
	return v
}

// at is a point of the arc, 0 at the floor and 1 at the wall.
func (f *fillet) at(v float64) point2 {
	a := f.from + v*f.turn
	return point2{f.centre.r + f.radius*math.Cos(a), f.centre.z + f.radius*math.Sin(a)}
}
