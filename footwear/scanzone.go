package footwear

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A scanned room has the zones of one that is built: where the floor ends is read off its sections, the rest goes by the
// same places (see zonesBetween). Rays run out from the middle as a form's half profiles do: in a fan about the widest
// place of the heel behind it, in one about the middle of the tread line in front of it, square to the middle between.

// A rim is where the floor ends on a ray and where the wall begins.
type rim struct {
	foot  float64 // distance from the ray's start at which the feather line begins
	floor float64 // Z there
	head  float64 // Z of its upper end
}

// A footprint has the rims round the plan.
type footprint struct {
	sv                      *survey
	heel, tread             float64 // X of the fans' centres, from the back
	heelY, treadY           float64
	heelFan, toeFan         []rim // by angle, from medial over the middle to lateral
	medialSides, lateralRim []rim // by station
}

const (
	heelRays = 37
	toeRays  = 49
)

// newFootprint reads the rims. At the toes, where a wall that leans out goes on as the corner does, the feather line ends
// no higher than its radius at the ball.
func newFootprint(sv *survey, featherForefoot float64) *footprint {
	f := &footprint{sv: sv, heel: heelShare * sv.last, tread: treadShare * sv.last}
	mid := func(s *station) float64 { return s.middle }
	f.heelY, f.treadY = stationValue(sv.st, f.heel, mid), stationValue(sv.st, f.tread, mid)
	for i := range sv.st {
		s := &sv.st[i]
		f.medialSides = append(f.medialSides, sv.rimOf(s.c.run(s.middle, 1), s.half()))
		f.lateralRim = append(f.lateralRim, sv.rimOf(s.c.run(s.middle, -1), s.half()))
	}
	f.heelFan = sv.fanRims(heelRays, r3.Vec{X: f.heel + sv.back, Y: f.heelY}, -1)
	f.toeFan = sv.fanRims(toeRays, r3.Vec{X: f.tread + sv.back, Y: f.treadY}, 1)
	near := 1
	if sv.noisy {
		near = 3 // a ray beside a wrong one is often wrong as well
	}
	for _, r := range []*[]rim{&f.medialSides, &f.lateralRim, &f.heelFan, &f.toeFan} {
		*r = steadied(*r, near)
	}
	for i := range f.toeFan {
		r := &f.toeFan[i]
		r.head = math.Min(r.head, r.floor+1.1*featherForefoot)
	}
	return f
}

// fanRims reads the rims of a fan: the rays leave the centre to the medial side, then forward (1) or backward (−1), then
// to the lateral side.
func (sv *survey) fanRims(n int, centre r3.Vec, forward float64) []rim {
	var near []int
	for i, f := range sv.m.F {
		for _, v := range f {
			if forward*(sv.m.V[v].X-centre.X) > -2 {
				near = append(near, i)
				break
			}
		}
	}
	end := part(sv.m, near)
	out := make([]rim, n)
	for i := range out {
		a := math.Pi * (float64(i) + 0.5) / float64(n)
		d := r3.Vec{X: forward * math.Sin(a), Y: math.Cos(a)}
		lines := end.Section(mesh.Plane{Point: centre, Normal: r3.Vec{X: -d.Y, Y: d.X}})
		c := outerContour(lines, func(p r3.Vec) (float64, float64) { return r3.Dot(r3.Sub(p, centre), d), p.Z })
		if len(c.u) < 6 {
			continue
		}
		_, reach := extent(c.u)
		out[i] = sv.rimOf(c.run(0, 1), reach)
	}
	return out
}

// rimOf reads where floor and feather line end on a run that reaches so far out. The floor is a parabola through what lies
// nearest the middle; it ends where the run leaves it. The feather line ends where the circle of the corner does, or where
// the run has turned almost upright.
func (sv *survey) rimOf(run []point2, reach float64) rim {
	if len(run) < 6 || reach <= 0 {
		return rim{}
	}
	within, offMM := 0.04, 0.02
	if sv.noisy {
		run = evenRun(run)
		within, offMM = 0.2, 0.12
	}
	foot := 0.5 * reach
	var line polynomial
	for range 4 {
		var p []point2
		for i := 1; i < len(run) && run[i-1].r < foot; i++ {
			// Points in proportion to length, so that the spacing of the mesh does not weigh.
			const even = 1.5
			a, b := run[i-1], run[i]
			for r := a.r; r < math.Min(b.r, 0.98*foot); r += even {
				p = append(p, point2{r, mix(a.z, b.z, (r-a.r)/(b.r-a.r))})
			}
		}
		q, ok := fitPolynomial(p, 2)
		if !ok {
			return rim{}
		}
		line = q
		end := len(run) - 1
		for i, pt := range run {
			if pt.r > 0.4*reach && pt.z-line.at(pt.r) > within {
				end = i
				break
			}
		}
		next := run[end].r
		if end > 0 {
			a, b := run[end-1], run[end]
			da, db := a.z-line.at(a.r), b.z-line.at(b.r)
			if db > da && b.r > a.r {
				next = mix(a.r, b.r, math.Min(math.Max((within-da)/(db-da), 0), 1))
			}
		}
		if math.Abs(next-foot) < 0.05 {
			break
		}
		foot = next
	}
	r := rim{foot: foot, floor: line.at(foot)}
	if k, ok := readCorner(run, offMM); ok && k.radius < 0.5*reach {
		// The arc has left the floor before it stood off by so much: d²/2r.
		r.foot -= math.Sqrt(2 * k.radius * within)
		r.head = k.wallFrom(run, 1.5*within)
	}
	// Without a circle, and against one that is found too low or too high: from where the run stands at 75°, and once
	// it has risen by a quarter of the reach.
	upright := math.Inf(1)
	for i := 1; i < len(run); i++ {
		if run[i].r > r.foot && run[i].z-run[i-1].z > 3.7*(run[i].r-run[i-1].r) {
			upright = run[i-1].z
			break
		}
	}
	if r.head <= r.floor+0.5 {
		r.head = upright
	}
	r.head = math.Min(r.head, r.floor+0.6*reach)
	return r
}

// wallFrom is the height at which a run leaves the circle of a corner upward: where it stands off by so much, less the
// way d that it takes to, d²/2r.
func (k *corner) wallFrom(run []point2, offMM float64) float64 {
	off := func(p point2) float64 { return math.Abs(math.Hypot(p.r-k.centre.r, p.z-k.centre.z) - k.radius) }
	way := math.Sqrt(2 * k.radius * offMM)
	for i := 1; i < len(run); i++ {
		a, b := run[i-1], run[i]
		if b.z < k.centre.z-0.35*k.radius || off(b) < offMM {
			continue
		}
		// Between the two the distance grows with the square of the way.
		da, db := math.Sqrt(off(a)), math.Sqrt(off(b))
		t := math.Min(math.Max((math.Sqrt(offMM)-da)/math.Max(db-da, 1e-9), 0), 1)
		return mix(a.z, b.z, t) - way
	}
	return k.end.z
}

// steadied replaces what was not read, and what stands alone, by the median of its neighbours, so many on each side.
func steadied(in []rim, least int) []rim {
	out := make([]rim, len(in))
	pick := func(i int, f func(rim) float64) float64 {
		for wide := least; wide < len(in); wide *= 2 {
			var v []float64
			for j := max(0, i-wide); j <= min(len(in)-1, i+wide); j++ {
				if in[j].foot > 0 {
					v = append(v, f(in[j]))
				}
			}
			if len(v) >= 2 {
				slices.Sort(v)
				if len(v)%2 == 1 {
					return v[len(v)/2]
				}
				return (v[len(v)/2-1] + v[len(v)/2]) / 2
			}
		}
		return f(in[i])
	}
	for i := range in {
		out[i] = rim{
			pick(i, func(r rim) float64 { return r.foot }), pick(i, func(r rim) float64 { return r.floor }),
			pick(i, func(r rim) float64 { return r.head }),
		}
	}
	return out
}

// A spot is a place of the plan as a ray sees it.
type spot struct {
	x, r   float64 // X from the back, distance along the ray
	dx, dy float64 // the ray's direction
	fan    fan
	rim    rim
}

// spotOf tells ray and rim of a place.
func (f *footprint) spotOf(p r3.Vec) spot {
	x := p.X - f.sv.back
	s := spot{x: x}
	inFan := func(rims []rim, cx, cy float64, forward float64, kind fan) spot {
		dx, dy := x-cx, p.Y-cy
		s.fan, s.r = kind, math.Hypot(dx, dy)
		if s.r < 1e-9 {
			s.rim = rims[len(rims)/2]
			return s
		}
		s.dx, s.dy = dx/s.r, dy/s.r
		a := math.Atan2(forward*dx, dy) / math.Pi * float64(len(rims)) // 0 medial to n lateral
		i := math.Min(math.Max(a-0.5, 0), float64(len(rims)-1))
		s.rim = between(rims, i)
		return s
	}
	switch {
	case x < f.heel:
		return inFan(f.heelFan, f.heel, f.heelY, -1, heelFan)
	case x > f.tread:
		return inFan(f.toeFan, f.tread, f.treadY, 1, toeFan)
	}
	v := p.Y - stationValue(f.sv.st, x, func(s *station) float64 { return s.middle })
	rims := f.medialSides
	s.dy = 1
	if v < 0 {
		rims, s.dy = f.lateralRim, -1
	}
	st := f.sv.st
	i := 0
	for i+2 < len(st) && st[i+1].x < x {
		i++
	}
	s.r = math.Abs(v)
	s.rim = between(rims, float64(i)+math.Min(math.Max((x-st[i].x)/(st[i+1].x-st[i].x), 0), 1))
	return s
}

func between(r []rim, i float64) rim {
	k := min(int(i), len(r)-2)
	t := i - float64(k)
	return rim{mix(r[k].foot, r[k+1].foot, t), mix(r[k].floor, r[k+1].floor, t), mix(r[k].head, r[k+1].head, t)}
}

// A zoner knows where the zones of a scanned room change.
type zoner struct {
	*footprint
	breast, ankle, waist, throat float64
	// shares of the way from the widest place to the crest at which the wall ends at the throat
	medialEdge, lateralEdge float64
	shoulder                []float64 // by station, steadied
}

// onFloorShare of the last's length is how near the floor, within the feather line, nothing else can lie: noise turns the normals
// of small faces any way.
const onFloorShare = 0.02

// zone tells the zone of a face by its middle and normal; lids are not its business.
func (z *zoner) zone(p, n r3.Vec) Zone {
	s := z.spotOf(p)
	floor := floorAt(z.sv.st, s.x)
	medial := s.dy > 0
	pick := func(m, l Zone) Zone {
		if medial {
			return m
		}
		return l
	}
	low := p.Z - floor
	switch {
	case s.r <= s.rim.foot && (n.Z < -0.6 && low < z.half(s.x) || math.Abs(low) < onFloorShare*z.sv.last):
		switch {
		case s.x > z.tread:
			return Tread
		case s.x < z.breast || s.x < z.heel:
			return Seat
		}
		return Shank
	case n.Z < 0.3 && p.Z <= s.rim.head:
		return Feather
	}
	if s.x > z.throat && low > z.edge(s.x, medial) {
		return Roof
	}
	switch {
	case s.fan == heelFan && -s.dx > math.Abs(s.dy):
		return CounterBack
	case s.x < math.Max(z.breast, z.ankle):
		return pick(CounterMedial, CounterLateral)
	case s.fan == toeFan:
		reach := s.dx * s.r
		if reach < (z.sv.last-z.tread)/3 {
			return pick(BallMedial, BallLateral)
		}
		return Toe
	case s.x > (z.waist+z.tread)/2:
		return pick(BallMedial, BallLateral)
	}
	return pick(WaistMedial, WaistLateral)
}

// half is half the height of the room over the floor: noise turns small faces of the roof downward too.
func (z *zoner) half(x float64) float64 {
	return stationValue(z.sv.st, x, func(s *station) float64 { return s.top - s.floor }) / 2
}

// edge is the height over the floor at which the wall ends and the roof begins, in front of the throat: there it falls
// from the topline to the widest place.
func (z *zoner) edge(x float64, medial bool) float64 {
	share := z.lateralEdge
	if medial {
		share = z.medialEdge
	}
	share *= 1 - smoothStep(x, z.throat, math.Min(z.throat+60, z.tread))
	i, t := stationPlace(z.sv.st, x)
	s := mix(z.shoulder[i], z.shoulder[i+1], t)
	top := stationValue(z.sv.st, x, func(s *station) float64 { return s.top - s.floor })
	return mix(s, top, share)
}

// stationPlace is the station before X and the share of the way to the next.
func stationPlace(st []station, x float64) (i int, t float64) {
	for i+2 < len(st) && st[i+1].x < x {
		i++
	}
	return i, math.Min(math.Max((x-st[i].x)/(st[i+1].x-st[i].x), 0), 1)
}

// shoulders are the heights of the widest place over the floor, the median of five stations.
func shoulders(st []station) []float64 {
	out := make([]float64, len(st))
	for i := range st {
		var v []float64
		for j := max(0, i-2); j <= min(len(st)-1, i+2); j++ {
			v = append(v, st[j].shoulder-st[j].floor)
		}
		slices.Sort(v)
		out[i] = v[len(v)/2]
	}
	return out
}
