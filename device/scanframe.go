package device

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A lie is how a device lies in its scan: where its origin is and which way its axes point, in the scan's coordinates.
// The axes are unit and right-handed: x forward, z up, y = z × x.
type lie struct{ o, x, y, z r3.Vec }

// newLie has z up and x as near to forward as that allows.
func newLie(o, forward, up r3.Vec) lie {
	z := unit(up)
	x := unit(r3.Sub(forward, r3.Scale(r3.Dot(forward, z), z)))
	return lie{o, x, r3.Cross(z, x), z}
}

// in gives a point of the scan in the frame of the device.
func (l lie) in(p r3.Vec) r3.Vec { return l.along(r3.Sub(p, l.o)) }

// along gives a direction of the scan in the frame of the device.
func (l lie) along(d r3.Vec) r3.Vec {
	return r3.Vec{X: r3.Dot(d, l.x), Y: r3.Dot(d, l.y), Z: r3.Dot(d, l.z)}
}

// out gives a direction of the device in the scan.
func (l lie) out(d r3.Vec) r3.Vec {
	return r3.Add(r3.Scale(d.X, l.x), r3.Add(r3.Scale(d.Y, l.y), r3.Scale(d.Z, l.z)))
}

// moved is the lie whose origin is at p (in the frame of l) and whose axes are turned: forward and up in the frame of l.
func (l lie) moved(p, forward, up r3.Vec) lie {
	return newLie(r3.Add(l.o, l.out(p)), l.out(forward), l.out(up))
}

// pose is the motion of the scan into the frame of the device.
func (l lie) pose() mesh.Pose {
	// The rows of the rotation are the axes (Shepperd 1978, J. Guidance & Control 1:223: divide by the largest).
	m := [3][3]float64{{l.x.X, l.x.Y, l.x.Z}, {l.y.X, l.y.Y, l.y.Z}, {l.z.X, l.z.Y, l.z.Z}}
	t := m[0][0] + m[1][1] + m[2][2]
	q := [4]float64{1 + t, 1 + 2*m[0][0] - t, 1 + 2*m[1][1] - t, 1 + 2*m[2][2] - t}
	i := slices.Index(q[:], slices.Max(q[:]))
	var r quat.Number
	switch i {
	case 0:
		r = quat.Number{Real: q[0], Imag: m[2][1] - m[1][2], Jmag: m[0][2] - m[2][0], Kmag: m[1][0] - m[0][1]}
	case 1:
		r = quat.Number{Real: m[2][1] - m[1][2], Imag: q[1], Jmag: m[0][1] + m[1][0], Kmag: m[0][2] + m[2][0]}
	case 2:
		r = quat.Number{Real: m[0][2] - m[2][0], Imag: m[0][1] + m[1][0], Jmag: q[2], Kmag: m[1][2] + m[2][1]}
	default:
		r = quat.Number{Real: m[1][0] - m[0][1], Imag: m[0][2] + m[2][0], Jmag: m[1][2] + m[2][1], Kmag: q[3]}
	}
	p := mesh.Pose{Q: quat.Scale(1/quat.Abs(r), r)}
	p.T = r3.Scale(-1, p.Rotate(l.o))
	return p
}

// lieOf is the lie whose pose is p.
func lieOf(p mesh.Pose) lie {
	inv := p.Inverse()
	return lie{inv.T, inv.Rotate(r3.Vec{X: 1}), inv.Rotate(r3.Vec{Y: 1}), inv.Rotate(r3.Vec{Z: 1})}
}

// What a scan must be like to be taken for a device. Common practice, no source: the widest limits of what is made.
const (
	leastLengthMM, mostLengthMM = 70.0, 300.0
	leastWidth, mostWidth       = 0.18, 0.75 // shares of length
	mostHeight                  = 0.55       // share of length
	mostThickMM                 = 11.0       // mean, wedge and all
	leastHollowMM               = 1.0
	leastScanFaces              = 500
)

// roughLie finds the long axis, the heel's end and the foot side from the whole of the surface; good to some
// degrees. The origin is under the rearmost point. sizeMM is the extent along the three axes.
func roughLie(s *skin) (l lie, sizeMM r3.Vec, err error) {
	centre := s.m.Centroid()
	cov := mat.NewSymDense(3, nil)
	for i, c := range s.centre {
		d := r3.Sub(c, centre)
		v := [3]float64{d.X, d.Y, d.Z}
		for j := range 3 {
			for k := j; k < 3; k++ {
				cov.SetSym(j, k, cov.At(j, k)+s.area[i]*v[j]*v[k])
			}
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(cov, true) {
		return l, sizeMM, scanProblem("surface", "", "its axes can't be found", "scan the device again")
	}
	var axes mat.Dense
	eigen.VectorsTo(&axes)
	axis := func(k int) r3.Vec { return unit(r3.Vec{X: axes.At(0, k), Y: axes.At(1, k), Z: axes.At(2, k)}) }
	l = newLie(centre, axis(2), axis(0)) // eigenvalues ascend
	box := l.bounds(s.m)
	sizeMM = r3.Sub(box.Max, box.Min)
	if err := believable(s, sizeMM); err != nil {
		return l, sizeMM, err
	}
	rise := hollow(s, l, box)
	if math.Abs(rise) < leastHollowMM {
		return l, sizeMM, scanProblem("shape", mm(math.Abs(rise))+" hollow", "neither face is hollow as the foot side of a shell is",
			"check that the file holds a foot orthosis, or give three points")
	}
	up := r3.Vec{Z: math.Copysign(1, rise)}
	l = l.moved(r3.Vec{}, r3.Vec{X: 1}, up)
	if heelIsAhead(s, l) {
		l = l.moved(r3.Vec{}, r3.Vec{X: -1}, r3.Vec{Z: 1})
	}
	box = l.bounds(s.m)
	return l.moved(r3.Vec{X: box.Min.X, Z: box.Min.Z}, r3.Vec{X: 1}, r3.Vec{Z: 1}), sizeMM, nil
}

func scanProblem(field, value, limit, mend string) problem.Problem {
	return problem.Problem{Field: field, Value: value, Limit: limit, Mend: mend}
}

// bounds is the box of the mesh in the frame of l.
func (l lie) bounds(m *mesh.Mesh) r3.Box {
	b := r3.Box{Min: r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}, Max: r3.Vec{X: math.Inf(-1), Y: math.Inf(-1), Z: math.Inf(-1)}}
	for _, v := range m.V {
		p := l.in(v)
		b.Min = r3.Vec{X: min(b.Min.X, p.X), Y: min(b.Min.Y, p.Y), Z: min(b.Min.Z, p.Z)}
		b.Max = r3.Vec{X: max(b.Max.X, p.X), Y: max(b.Max.Y, p.Y), Z: max(b.Max.Z, p.Z)}
	}
	return b
}

// believable says what keeps a surface of this size from being a device.
func believable(s *skin, size r3.Vec) error {
	switch {
	case size.X < leastLengthMM || size.X > mostLengthMM:
		return scanProblem("length", mm(size.X), mm(leastLengthMM)+" to "+mm(mostLengthMM)+" for a device", "check the unit of the file")
	case size.Y < leastWidth*size.X || size.Y > mostWidth*size.X || size.Z > mostHeight*size.X:
		return scanProblem("shape", mm(size.X)+" by "+mm(size.Y)+" by "+mm(size.Z), "not as long, wide and flat as a foot orthosis",
			"check that the file holds one device and nothing else")
	}
	var area float64
	for _, a := range s.area {
		area += a
	}
	if thick := 2 * math.Abs(s.m.Volume()) / area; thick > mostThickMM {
		return scanProblem("shape", mm(thick)+" thick on average", "at most "+mm(mostThickMM)+" for a shell with its wedge",
			"a last or the inside of a shoe is read as a shoe; give a device here")
	}
	return nil
}

// hollow is by how much the long edges stand over the middle along z, mm; negative when they hang below it.
func hollow(s *skin, l lie, box r3.Box) float64 {
	const slices = 20
	type slice struct{ lo, hi, edge, edgeA, mid, midA float64 }
	var sl [slices]slice
	for i := range sl {
		sl[i].lo, sl[i].hi = math.Inf(1), math.Inf(-1)
	}
	at := func(x float64) *slice {
		return &sl[min(max(int(slices*(x-box.Min.X)/(box.Max.X-box.Min.X)), 0), slices-1)]
	}
	for _, c := range s.centre {
		p := l.in(c)
		b := at(p.X)
		b.lo, b.hi = min(b.lo, p.Y), max(b.hi, p.Y)
	}
	for i, c := range s.centre {
		p := l.in(c)
		b := at(p.X)
		switch v := 2*(p.Y-b.lo)/(b.hi-b.lo) - 1; {
		case math.Abs(v) > 0.85:
			b.edge += s.area[i] * p.Z
			b.edgeA += s.area[i]
		case math.Abs(v) < 0.3:
			b.mid += s.area[i] * p.Z
			b.midA += s.area[i]
		}
	}
	sum, n := 0.0, 0.0
	for _, b := range sl {
		if b.edgeA > 0 && b.midA > 0 {
			sum += b.edge/b.edgeA - b.mid/b.midA
			n++
		}
	}
	return sum / max(n, 1)
}

// heelIsAhead says whether the end at large x is the heel's: the narrower one, with the wall of a cup.
func heelIsAhead(s *skin, l lie) bool {
	box := l.bounds(s.m)
	long := box.Max.X - box.Min.X
	var lo, hi [2]r3.Vec // of the two ends
	for k := range 2 {
		lo[k] = r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}
		hi[k] = r3.Scale(-1, lo[k])
	}
	for _, v := range s.m.V {
		p := l.in(v)
		k := 0
		if p.X > (box.Min.X+box.Max.X)/2 {
			k = 1
		}
		end := min(p.X-box.Min.X, box.Max.X-p.X) / long
		if end < 0.06 {
			lo[k].Z, hi[k].Z = min(lo[k].Z, p.Z), max(hi[k].Z, p.Z)
		}
		if end < 0.2 {
			lo[k].Y, hi[k].Y = min(lo[k].Y, p.Y), max(hi[k].Y, p.Y)
		}
	}
	tall := [2]float64{hi[0].Z - lo[0].Z, hi[1].Z - lo[1].Z}
	wide := [2]float64{hi[0].Y - lo[0].Y, hi[1].Y - lo[1].Y}
	return (tall[1]-tall[0])/(tall[0]+tall[1])+(wide[0]-wide[1])/(wide[0]+wide[1]) > 0
}

// rearmost is the X of the back of the cup: of a parabola through the rearmost points of strips along X, so that one
// point that is off moves it little.
func rearmost(s *skin, l lie) float64 {
	const strips, halfMM = 8, 12.0
	var back [strips]r3.Vec
	for k := range back {
		back[k].X = math.Inf(1)
	}
	for _, v := range s.m.V {
		if p := l.in(v); math.Abs(p.Y) < halfMM {
			k := min(int((p.Y+halfMM)/(2*halfMM)*strips), strips-1)
			if p.X < back[k].X {
				back[k] = p
			}
		}
	}
	rear := l.bounds(s.m).Min.X
	off := func(r3.Vec) float64 { return 0 }
	for range 3 {
		m, v := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
		for _, p := range back {
			if !math.IsInf(p.X, 1) && off(p) < 0.2 { // a strip may have no vertex on the rim
				addRow(m, v, []float64{1, p.Y, p.Y * p.Y}, p.X, 1)
			}
		}
		x, ok := solved(m, v)
		if !ok || x[2] <= 1e-4 {
			return rear
		}
		off = func(p r3.Vec) float64 { return p.X - x[0] - x[1]*p.Y - x[2]*p.Y*p.Y }
		rear = x[0] - x[1]*x[1]/(4*x[2])
	}
	return rear
}
