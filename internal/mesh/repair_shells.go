package mesh

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// dropShells drops the faces of the shells that are marked.
func (r *mender) dropShells(drop []bool) {
	to := make([]int32, len(r.shells))
	var kept []Shell
	for i, s := range r.shells {
		to[i] = int32(len(kept))
		if !drop[i] {
			kept = append(kept, s)
		}
	}
	if len(kept) == len(r.shells) {
		return
	}
	r.keep(func(f int) bool { return !drop[r.shell[f]] })
	r.shells = kept
	for i, s := range r.shell {
		r.shell[i] = to[s]
	}
}

// dropIslands drops the shells that are small beside the whole.
func (r *mender) dropIslands() {
	share := r.o.IslandShare
	if share == 0 {
		share = 0.01
	}
	if !(share < 1) {
		r.refuse("island_share", "1 or more", "below 1", "choose a smaller share")
		return
	}
	var total, largest float64
	for _, s := range r.shells {
		total += s.AreaMM2
		largest = max(largest, s.AreaMM2)
	}
	drop := make([]bool, len(r.shells))
	n, area := 0, 0.0
	for i, s := range r.shells {
		if s.AreaMM2 < share*total && s.AreaMM2 < largest {
			drop[i] = true
			n++
			area += s.AreaMM2
		}
	}
	r.dropShells(drop)
	r.report.add(Islands, n, area)
	// Pieces too small one by one but most of the surface together are no shape.
	if area > 0.5*total {
		r.refuse("surface", "more than half of it in small pieces", "the faces must hang together",
			"let the scanning program make one surface of the scan, or weld with a wider distance")
	}
}

// doubleSamples are how many vertices of a shell are held against a larger one.
const doubleSamples = 400

// dropDoubleShells drops each shell that lies along a larger one all over.
func (r *mender) dropDoubleShells() {
	near := r.o.DoubleMM
	if near == 0 {
		near = 0.5
	}
	if len(r.shells) < 2 || near < 0 {
		return
	}
	drop := make([]bool, len(r.shells))
	n, area := 0, 0.0
	order := r.bySize()
	trees := map[int]*Tree{}
	for at, i := range order {
		samples := r.samplesOf(int32(i), doubleSamples)
		for _, j := range order[:at] {
			if drop[j] || !r.boxOf(j, near).holds(samples) {
				continue
			}
			if trees[j] == nil {
				trees[j] = NewTree(r.shellMesh(j))
			}
			off := 0
			for _, p := range samples {
				if math.Abs(trees[j].Nearest(p).Signed) > near {
					off++
				}
			}
			if off <= len(samples)/50 {
				drop[i] = true
				n++
				area += r.shells[i].AreaMM2
				break
			}
		}
		if r.ctx.Err() != nil {
			return
		}
	}
	r.dropShells(drop)
	r.report.add(DoubleShells, n, area)
}

// mostCompared are how many of the largest shells are held against each other.
const mostCompared = 64

// bySize are the numbers of the largest shells, largest first.
func (r *mender) bySize() []int {
	order := make([]int, len(r.shells))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(r.shells[b].AreaMM2, r.shells[a].AreaMM2) })
	return order[:min(len(order), mostCompared)]
}

func (r *mender) shellMesh(id int) *Mesh {
	return r.m.Subset(func(f int) bool { return r.shell[f] == int32(id) })
}

// samplesOf are corners of about n faces of a shell, spread over it.
func (r *mender) samplesOf(id int32, n int) []r3.Vec {
	step := r.shells[id].Faces/n + 1
	var p []r3.Vec
	k := 0
	for f, s := range r.shell {
		if s != id {
			continue
		}
		if k%step == 0 {
			p = append(p, r.m.V[r.m.F[f][0]])
		}
		k++
	}
	return p
}

// A shellBox is the box of a shell.
type shellBox r3.Box

// boxOf is the box of a shell, grown by a margin.
func (r *mender) boxOf(id int, margin float64) shellBox {
	i := math.Inf(1)
	b := shellBox{Min: r3.Vec{X: i, Y: i, Z: i}, Max: r3.Vec{X: -i, Y: -i, Z: -i}}
	for f, s := range r.shell {
		if s != int32(id) {
			continue
		}
		for _, v := range r.m.F[f] {
			p := r.m.V[v]
			b.Min = r3.Vec{X: min(b.Min.X, p.X), Y: min(b.Min.Y, p.Y), Z: min(b.Min.Z, p.Z)}
			b.Max = r3.Vec{X: max(b.Max.X, p.X), Y: max(b.Max.Y, p.Y), Z: max(b.Max.Z, p.Z)}
		}
	}
	m := r3.Vec{X: margin, Y: margin, Z: margin}
	return shellBox{r3.Sub(b.Min, m), r3.Add(b.Max, m)}
}

func (b shellBox) holds(p []r3.Vec) bool {
	for _, q := range p {
		if q.X < b.Min.X || q.Y < b.Min.Y || q.Z < b.Min.Z || q.X > b.Max.X || q.Y > b.Max.Y || q.Z > b.Max.Z {
			return false
		}
	}
	return true
}

// sheetLike is the enclosed volume over area^1.5 (a sphere has 0.094, a shoe's last about 0.05) below which a surface
// encloses nothing to speak of, so that outward has no meaning.
const sheetLike = 0.002

// windOutward turns shells that are inside out. Openings get flat lids for the volume. A shell within a larger
// one is the wall of a cavity and is wound inward; a sheet stays as it was.
func (r *mender) windOutward() {
	for i := range r.shells {
		r.shells[i] = Shell{}
	}
	r.borders = r.findBorders()
	centre := make([]r3.Vec, len(r.shells))
	for f, id := range r.shell {
		s := &r.shells[id]
		a := r.m.FaceArea(f)
		t := r.m.F[f]
		mid := r3.Scale(1.0/3, r3.Add(r.m.V[t[0]], r3.Add(r.m.V[t[1]], r.m.V[t[2]])))
		s.Faces++
		s.AreaMM2 += a
		centre[id] = r3.Add(centre[id], r3.Scale(a, mid))
	}
	for i := range r.shells {
		if s := &r.shells[i]; s.AreaMM2 > 0 {
			s.Centroid = r3.Scale(1/s.AreaMM2, centre[i])
		}
	}
	for f, id := range r.shell {
		s := &r.shells[id]
		s.VolumeMM3 += r3.Dot(r3.Sub(r.m.V[r.m.F[f][0]], s.Centroid), r.m.areaVector(f)) / 3
	}
	for _, b := range r.borders {
		s := &r.shells[b.shell]
		s.Openings++
		s.VolumeMM3 += r3.Dot(r3.Sub(b.centre, s.Centroid), b.area) / 3
	}
	r.findInner()
	turned := make([]bool, len(r.shells))
	n := 0
	for i := range r.shells {
		s := &r.shells[i]
		inward := s.VolumeMM3 < 0
		if math.Abs(s.VolumeMM3) > sheetLike*math.Pow(s.AreaMM2, 1.5) && inward != s.Inner {
			turned[i] = true
			n++
			s.VolumeMM3 = -s.VolumeMM3
		}
	}
	if n > 0 {
		r.turn(func(f int) bool { return turned[r.shell[f]] })
		r.borders = r.findBorders()
	}
	r.report.add(TurnedShells, n, 0)
}

// findInner marks the closed shells that lie within an odd number of other closed ones.
func (r *mender) findInner() {
	if len(r.shells) < 2 {
		return
	}
	order := r.bySize()
	for at, i := range order {
		if r.shells[i].Openings > 0 {
			continue
		}
		sample := r.samplesOf(int32(i), 1)[:1]
		within := 0
		for _, j := range order[:at] {
			if r.shells[j].Openings > 0 || !r.boxOf(j, 0).holds(sample) {
				continue
			}
			if w := NewTree(r.shellMesh(j)).Winding(sample[0]); math.Abs(w) > 0.5 {
				within++
			}
		}
		r.shells[i].Inner = within%2 == 1
	}
}
