package footwear

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A contour is a closed section of a room in its own plane (u, v: Y, Z of a cross section, X, Z of a long section),
// with a zone a segment.
type contour struct {
	u, v []float64
	zone []Zone
	lid  bool // what is Open closes a section that was not closed
}

// crossSection cuts a room at X; the widest loop is the room's.
func crossSection(m *mesh.Mesh, x float64) contour {
	return cutRoom(m, mesh.Plane{Point: r3.Vec{X: x}, Normal: r3.Vec{X: 1}}, func(p r3.Vec) (float64, float64) { return p.Y, p.Z })
}

// longSection cuts a room along its length at Y.
func longSection(m *mesh.Mesh, y float64) contour {
	return cutRoom(m, mesh.Plane{Point: r3.Vec{Y: y}, Normal: r3.Vec{Y: 1}}, func(p r3.Vec) (float64, float64) { return p.X, p.Z })
}

func cutRoom(m *mesh.Mesh, pl mesh.Plane, uv func(r3.Vec) (float64, float64)) contour {
	var best contour
	wide := -1.0
	for _, loop := range m.Section(pl) {
		var c contour
		for i, p := range loop.P {
			u, v := uv(p)
			c.u, c.v = append(c.u, u), append(c.v, v)
			if i < len(loop.Tag) {
				c.zone = append(c.zone, Zone(loop.Tag[i]))
			}
		}
		if lo, hi := extent(c.u); loop.Closed && hi-lo > wide {
			best, wide = c, hi-lo
		}
	}
	return best
}

func extent(a []float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, x := range a {
		lo, hi = math.Min(lo, x), math.Max(hi, x)
	}
	return lo, hi
}

// at is point i, counted round the loop.
func (c *contour) at(i int) (u, v float64) {
	n := len(c.u)
	i = (i%n + n) % n
	return c.u[i], c.v[i]
}

// crossings are the u at which the loop passes a height.
func (c *contour) crossings(v float64) []float64 {
	var out []float64
	for i := range c.u {
		u0, v0 := c.at(i)
		u1, v1 := c.at(i + 1)
		if (v0 < v) != (v1 < v) {
			out = append(out, mix(u0, u1, (v-v0)/(v1-v0)))
		}
	}
	return out
}

// heights are the lowest and the highest v of the loop at u.
func (c *contour) heights(u float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i := range c.u {
		u0, v0 := c.at(i)
		u1, v1 := c.at(i + 1)
		if (u0 < u) != (u1 < u) {
			v := mix(v0, v1, (u-u0)/(u1-u0))
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	return lo, hi
}

// toplines are the two places where wall and opening meet: the one with the smaller u first. No opening: false.
func (c *contour) toplines() (a, b [2]float64, ok bool) {
	var ends [][2]float64
	for i := range c.zone {
		prev := c.zone[(i+len(c.zone)-1)%len(c.zone)]
		if (prev == Open) != (c.zone[i] == Open) {
			u, v := c.at(i)
			ends = append(ends, [2]float64{u, v})
		}
	}
	if len(ends) != 2 {
		return a, b, false
	}
	a, b = ends[0], ends[1]
	if a[0] > b[0] {
		a, b = b, a
	}
	return a, b, true
}

// opening is how wide the lid of an open section is, mm. The lid that belongs to the mesh of a closed room counts as roof.
func (c *contour) opening() float64 {
	wide := 0.0
	for i, z := range c.zone {
		if z == Open && c.lid {
			u0, v0 := c.at(i)
			u1, v1 := c.at(i + 1)
			wide += math.Hypot(u1-u0, v1-v0)
		}
	}
	return wide
}

// shutMM is the width up to which an opening is a hole in a scan, and no topline.
const shutMM = 8.0

// girth is the length of a tape round the loop.
func (c *contour) girth() float64 {
	pts := make([][2]float64, len(c.u))
	for i := range pts {
		pts[i] = [2]float64{c.u[i], c.v[i]}
	}
	return mesh.Perimeter2(mesh.ConvexHull2(pts))
}

// run is the part of the loop from its lowest place near u outward (towards larger u when sign is +1), up to the
// topline or the highest place, as distances from u and heights. There is none where no part of the loop lies at u.
func (c *contour) run(u, sign float64) []point2 {
	n := len(c.u)
	start, low := 0, math.Inf(1)
	for i := range c.u {
		u0, v0 := c.at(i)
		u1, v1 := c.at(i + 1)
		if (u0-u)*(u1-u) > 0 {
			continue
		}
		v := math.Min(v0, v1)
		if u0 != u1 {
			v = mix(v0, v1, (u-u0)/(u1-u0))
		}
		if v < low {
			start, low = i, v
		}
	}
	lo, _ := c.heights(u)
	if math.IsInf(lo, 0) {
		return nil
	}
	out := []point2{{0, lo}}
	u0, _ := c.at(start)
	step, i := -1, start
	if u1, _ := c.at(start + 1); (u1-u0)*sign > 0 {
		step, i = 1, start+1
	}
	for range n {
		p, v := c.at(i)
		if r := (p - u) * sign; r > out[len(out)-1].r+1e-9 || len(out) > 1 {
			out = append(out, point2{r, v})
		}
		next := c.zone[(i%n+n)%n]
		if step < 0 {
			next = c.zone[((i-1)%n+n)%n]
		}
		if next == Open || next == Roof {
			break
		}
		i += step
	}
	return out
}

// A corner is the feather line read off a run: the circle through its middle part and where the wall leaves it.
type corner struct {
	centre point2
	radius float64
	end    point2  // where the wall begins
	lean   float64 // of the wall there: growth of distance per mm of height
}

// Between these slopes a corner is neither floor, hollow as a seat may be, nor wall, leaning as it may.
const (
	cornerFromDeg = 22.0
	cornerToDeg   = 62.0
)

// readCorner fits a circle to the points of a run whose slope is that of a corner (least squares on
// r² + z² = 2ar + 2bz + c, Kåsa 1976). The wall begins where the run leaves that circle.
// OffMM is how far it then stands off.
func readCorner(run []point2, offMM float64) (corner, bool) {
	slope := func(i int) float64 {
		return math.Atan2(run[i+1].z-run[i].z, run[i+1].r-run[i].r) * 180 / math.Pi
	}
	first, last := -1, -1
	for i := 1; i+1 < len(run); i++ {
		s := (slope(i-1) + slope(i)) / 2
		if s >= cornerFromDeg && s <= cornerToDeg {
			if first < 0 {
				first = i
			}
			last = i
		} else if first >= 0 {
			break
		}
	}
	if last-first < 2 {
		return corner{}, false
	}
	k, ok := fitCircle(run[first : last+1])
	if !ok {
		return corner{}, false
	}
	end := last
	for end+1 < len(run) && math.Abs(math.Hypot(run[end+1].r-k.centre.r, run[end+1].z-k.centre.z)-k.radius) < offMM {
		end++
	}
	k.end = run[end]
	k.lean = (k.end.z - k.centre.z) / -(k.end.r - k.centre.r)
	return k, true
}

// foot is the distance at which the wall, taken straight down from where it begins, meets the line through the floor's
// middle with a slope.
func (k *corner) foot(z0, slope float64) float64 {
	// r = end.r + lean·(z − end.z) and z = z0 + slope·r
	return (k.end.r + k.lean*(z0-k.end.z)) / (1 - k.lean*slope)
}

func fitCircle(p []point2) (corner, bool) {
	var r0, z0 float64
	for _, q := range p {
		r0 += q.r / float64(len(p))
		z0 += q.z / float64(len(p))
	}
	var rr, rz, zz, rs, zs float64
	for _, q := range p {
		r, z := q.r-r0, q.z-z0
		s := r*r + z*z
		rr, rz, zz, rs, zs = rr+r*r, rz+r*z, zz+z*z, rs+r*s, zs+z*s
	}
	det := rr*zz - rz*rz
	if det < 1e-12 {
		return corner{}, false
	}
	a, b := (rs*zz-zs*rz)/(2*det), (zs*rr-rs*rz)/(2*det)
	return corner{centre: point2{a + r0, b + z0}, radius: math.Sqrt(a*a + b*b + (rr+zz)/float64(len(p)))}, true
}

// evenRun is a run at even steps of its length, each point on the parabola that fits its surroundings best (Savitzky &
// Golay 1964, Anal. Chem. 36:1627), up to where a corner can be.
func evenRun(run []point2) []point2 {
	const step, half, longest = 0.5, 5, 120.0 // mm, steps, mm
	if len(run) < 2 {
		return run
	}
	even := []point2{run[0]}
	at, next := 0.0, step
	for i := 1; i < len(run) && at < longest; i++ {
		d := math.Hypot(run[i].r-run[i-1].r, run[i].z-run[i-1].z)
		for next <= at+d && d > 0 {
			t := (next - at) / d
			even = append(even, point2{mix(run[i-1].r, run[i].r, t), mix(run[i-1].z, run[i].z, t)})
			next += step
		}
		at += d
	}
	// The weights of a parabola over an even window: (3m(m+1)−1 − 5j²) up to a factor.
	var weight [2*half + 1]float64
	sum := 0.0
	for j := -half; j <= half; j++ {
		weight[j+half] = 3*half*(half+1) - 1 - 5*float64(j*j)
		sum += weight[j+half]
	}
	if len(even) <= 2*half {
		return even
	}
	out := make([]point2, len(even))
	copy(out, even)
	for i := half; i+half < len(even); i++ {
		var p point2
		for j := -half; j <= half; j++ {
			w := weight[j+half] / sum
			p.r, p.z = p.r+w*even[i+j].r, p.z+w*even[i+j].z
		}
		out[i] = p
	}
	return out[:len(out)-half]
}
