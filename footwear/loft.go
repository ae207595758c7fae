package footwear

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A density says how finely a form is meshed: rows of a half profile by range, columns of the fans, and the largest
// step between the stations of the sides.
type density struct {
	floor, feather, wall, top int
	heel, toe                 int // even
	stepMM                    float64
}

// usualDensity keeps the mesh within a few hundredths of a millimetre of the form; a high shaft gets more rows.
func (f *form) usualDensity() density {
	rows := int(math.Ceil(f.sheet.V(ToplineBack) / 4.5))
	return density{floor: 10, feather: 9, wall: min(max(rows, 13), 24), top: 14, heel: 36, toe: 52, stepMM: 3.5}
}

// draftDensity keeps the mesh within some tenths of a millimetre of the form.
func (f *form) draftDensity() density {
	d := f.usualDensity()
	return density{floor: 4, feather: 5, wall: (d.wall + 1) / 2, top: 4, heel: 18, toe: 16, stepMM: 8}
}

// A column is one half profile of the mesh: its vertices from the spine over floor and wall to the line above.
type column struct {
	ray ray
	v   []int32
}

// A lofter lays half profiles side by side round the plan and sews them together.
type lofter struct {
	f       *form
	d       density
	b       mesh.Builder
	columns []column
	spine   map[float64][2]int32 // first and last vertex of the half profiles that start at X
}

// loft meshes the form: closed, normals out of the room, a Zone a face.
func (f *form) loft(d density) *mesh.Mesh {
	l := lofter{f: f, d: d, spine: map[float64][2]int32{}}
	xs := f.stations(d.stepMM)
	// Round the plan from the widest place of the heel along the medial side, round the toe, back along the lateral
	// side and round the heel.
	for _, x := range xs {
		l.add(sideRay(x, 1))
	}
	toe := fanAngles(d.toe, f.toeRay, func(y ray) float64 { return f.reach(y, f.toeShoulder(y)) })
	for _, a := range toe {
		l.add(f.toeRay(a))
	}
	for i := len(xs) - 1; i >= 0; i-- {
		l.add(sideRay(xs[i], -1))
	}
	heel := fanAngles(d.heel, f.heelRay, func(y ray) float64 { return f.reach(y, 20) })
	snap(heel, math.Pi/4)
	snap(heel, 3*math.Pi/4)
	for i := len(heel) - 1; i >= 0; i-- {
		l.add(f.heelRay(heel[i]))
	}
	for i := range l.columns {
		l.sew(&l.columns[i], &l.columns[(i+1)%len(l.columns)])
	}
	return l.b.Mesh()
}

// stations are the X of the half profiles along the sides, heel to tread line; zones begin at stations.
func (f *form) stations(step float64) []float64 {
	knots := []float64{f.heel}
	for _, x := range []float64{f.bottom.breast, f.ankle, f.throat, f.waist, f.instep, f.tread} {
		at := len(knots)
		for at > 0 && knots[at-1] > x {
			at--
		}
		if at == 0 || x-knots[at-1] < 0.5 || at < len(knots) && knots[at]-x < 0.5 {
			continue
		}
		knots = append(knots, 0)
		copy(knots[at+1:], knots[at:])
		knots[at] = x
	}
	xs := knots[:1:1]
	for i := 1; i < len(knots); i++ {
		a, b := knots[i-1], knots[i]
		n := int(math.Ceil((b-a)/step - 1e-9))
		for k := 1; k < n; k++ {
			xs = append(xs, mix(a, b, float64(k)/float64(n)))
		}
		xs = append(xs, b)
	}
	return xs
}

// fanAngles are the inner angles of a fan, symmetrical, dense where the outline turns.
func fanAngles(n int, at func(float64) ray, reach func(ray) float64) []float64 {
	quarter := spread(n/2, func(v float64) (float64, float64) {
		y := at(v * math.Pi / 2)
		r := reach(y)
		return r * y.dx, r * y.dy
	})
	out := make([]float64, 0, n)
	for _, v := range quarter[1:] {
		out = append(out, v*math.Pi/2)
	}
	for i := len(out) - 2; i >= 0; i-- {
		out = append(out, math.Pi-out[i])
	}
	return out
}

// add draws a half profile and its vertices.
func (l *lofter) add(y ray) {
	p := l.f.newHalf(y)
	c := column{ray: y}
	put := func(q point2) {
		x := y.x0 + q.r*y.dx
		c.v = append(c.v, l.b.AddVertex(r3.Vec{X: x, Y: l.f.spine.Predict(x) + q.r*y.dy, Z: q.z}))
	}
	ends, known := l.spine[y.x0]
	if known {
		c.v = append(c.v, ends[0])
	} else {
		put(p.floor(0))
	}
	for i := 1; i <= l.d.floor; i++ {
		put(p.floor(float64(i) / float64(l.d.floor)))
	}
	for i := 1; i < l.d.feather; i++ {
		put(p.fillet.at(float64(i) / float64(l.d.feather)))
	}
	flat := func(at func(float64) point2) func(float64) (float64, float64) {
		return func(v float64) (float64, float64) { q := at(v); return q.r, q.z }
	}
	for _, v := range spread(l.d.wall, flat(p.side)) {
		put(p.side(v))
	}
	top := spread(l.d.top, flat(p.top))
	for _, v := range top[1:l.d.top] {
		put(p.top(v))
	}
	if known {
		c.v = append(c.v, ends[1])
	} else {
		put(p.top(1))
		l.spine[y.x0] = [2]int32{c.v[0], c.v[len(c.v)-1]}
	}
	l.columns = append(l.columns, c)
}

// sew lays the faces between two neighbouring half profiles.
func (l *lofter) sew(a, b *column) {
	zones := l.zonesBetween(a.ray, b.ray)
	featherEnd := l.d.floor + l.d.feather
	wallEnd := featherEnd + l.d.wall
	for i := 0; i+1 < len(a.v); i++ {
		z := zones.top
		switch {
		case i < l.d.floor:
			z = zones.floor
		case i < featherEnd:
			z = Feather
		case i < wallEnd:
			z = zones.wall
		}
		l.b.AddQuad(a.v[i], a.v[i+1], b.v[i+1], b.v[i], uint8(z))
	}
}

// snap moves the nearest of the angles onto one at which a zone ends.
func snap(angles []float64, to float64) {
	best := 0
	for i, a := range angles {
		if math.Abs(a-to) < math.Abs(angles[best]-to) {
			best = i
		}
	}
	angles[best] = to
}
