package footwear

import "math"

// stripZones are the zones of the faces between two neighbouring half profiles.
type stripZones struct{ floor, wall, top Zone }

// zonesBetween tells the zones by where the strip lies. Between seat end and waist the counter's side wall ends; the
// waist ends half way between waist and tread line. In the heel fan the back is what looks more backward than
// sideward; in the toe fan the ball's walls end a third of the way to the toe tip.
func (l *lofter) zonesBetween(a, b ray) stripZones {
	f := l.f
	medial := a.dy+b.dy > 0
	pick := func(m, l Zone) Zone {
		if medial {
			return m
		}
		return l
	}
	if a.fan == heelFan || b.fan == heelFan {
		z := stripZones{Seat, pick(CounterMedial, CounterLateral), Open}
		if -(a.dx + b.dx) > math.Abs(a.dy+b.dy) {
			z.wall = CounterBack
		}
		return z
	}
	if a.fan == toeFan || b.fan == toeFan {
		z := stripZones{Tread, Toe, Roof}
		y := ray{x0: f.tread, dx: (a.dx + b.dx) / 2, dy: (a.dy + b.dy) / 2, fan: toeFan}
		n := math.Hypot(y.dx, y.dy)
		y.dx, y.dy = y.dx/n, y.dy/n
		if y.dx*f.reach(y, f.toeShoulder(y)) < (f.last-f.tread)/3 {
			z.wall = pick(BallMedial, BallLateral)
		}
		return z
	}
	x := (a.x0 + b.x0) / 2
	z := stripZones{Shank, pick(WaistMedial, WaistLateral), Roof}
	if x < f.bottom.breast {
		z.floor = Seat
	}
	if x < f.throat {
		z.top = Open
	}
	switch {
	case x < math.Max(f.bottom.breast, f.ankle):
		z.wall = pick(CounterMedial, CounterLateral)
	case x > (f.waist+f.tread)/2:
		z.wall = pick(BallMedial, BallLateral)
	}
	return z
}
