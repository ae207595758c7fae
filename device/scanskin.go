package device

import (
	"context"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A skin is a scanned surface made ready for questions: faces with normals, areas and neighbours.
type skin struct {
	m      *mesh.Mesh
	raw    []r3.Vec // the vertices before their noise was evened out
	normal []r3.Vec // unit; zero for a face without area
	centre []r3.Vec
	area   []float64  // mm²
	next   [][3]int32 // face over the edge from corner k to k+1, or -1
	first  []int32    // faces at vertex v: at[first[v]:first[v+1]]
	at     []int32
}

func newSkin(m *mesh.Mesh) *skin {
	s := &skin{
		m: m, raw: m.V, normal: make([]r3.Vec, len(m.F)), centre: make([]r3.Vec, len(m.F)), area: make([]float64, len(m.F)),
		next: make([][3]int32, len(m.F)), first: make([]int32, len(m.V)+1), at: make([]int32, 3*len(m.F)),
	}
	for _, f := range m.F {
		for _, v := range f {
			s.first[v+1]++
		}
	}
	for v := range m.V {
		s.first[v+1] += s.first[v]
	}
	fill := slices.Clone(s.first)
	for i, f := range m.F {
		for _, v := range f {
			s.at[fill[v]] = int32(i)
			fill[v]++
		}
	}
	for i, f := range m.F {
		for k := range 3 {
			s.next[i][k] = s.over(int32(i), f[k], f[(k+1)%3])
		}
	}
	s.measure()
	return s
}

// over is the other face on the edge a–b, one that runs along it the other way; -1 when there is none.
func (s *skin) over(face, a, b int32) int32 {
	for _, j := range s.around(a) {
		if j == face {
			continue
		}
		for k, f := 0, s.m.F[j]; k < 3; k++ {
			if f[k] == b && f[(k+1)%3] == a {
				return j
			}
		}
	}
	return -1
}

// around are the faces at a vertex.
func (s *skin) around(v int32) []int32 { return s.at[s.first[v]:s.first[v+1]] }

// measure sets normals, areas and centres from the vertices.
func (s *skin) measure() {
	for i, f := range s.m.F {
		a, b, c := s.m.V[f[0]], s.m.V[f[1]], s.m.V[f[2]]
		n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		l := r3.Norm(n)
		s.area[i] = l / 2
		s.normal[i] = r3.Vec{}
		if l > 0 {
			s.normal[i] = r3.Scale(1/l, n)
		}
		s.centre[i] = r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
	}
}

// rawCentre is the middle of a face as it was scanned.
func (s *skin) rawCentre(i int) r3.Vec {
	f := s.m.F[i]
	return r3.Scale(1.0/3, r3.Add(s.raw[f[0]], r3.Add(s.raw[f[1]], s.raw[f[2]])))
}

// edgeMM is the length of a usual edge: that of an equilateral triangle of the mean area.
func (s *skin) edgeMM() float64 {
	var sum float64
	for _, a := range s.area {
		sum += a
	}
	return math.Sqrt(sum / float64(max(len(s.area), 1)) * 4 / math.Sqrt(3))
}

// ringMean is the mean of the vertices that share a face with v.
func (s *skin) ringMean(v int32) (mean r3.Vec, n int) {
	for _, j := range s.around(v) {
		for _, w := range s.m.F[j] {
			if w != v {
				mean = r3.Add(mean, s.m.V[w])
				n++
			}
		}
	}
	if n > 0 {
		mean = r3.Scale(1/float64(n), mean)
	}
	return mean, n
}

// noiseMM is one standard deviation of the vertices' noise along the normal: that of the distance to the middle of the
// neighbours, from the median, so that edges and corners have no say; smooth curvature adds a little.
func (s *skin) noiseMM() float64 {
	normals := s.m.VertexNormals()
	step := max(1, len(s.m.V)/20000)
	var off []float64
	for v := 0; v < len(s.m.V); v += step {
		if mean, n := s.ringMean(int32(v)); n > 0 {
			off = append(off, math.Abs(r3.Dot(normals[v], r3.Sub(s.m.V[v], mean))))
		}
	}
	if len(off) == 0 {
		return 0
	}
	slices.Sort(off)
	// 1.4826 turns the median of |x| into σ (normal distribution); 1.08 = √(1 + 1/6), the mean of six has noise too.
	return off[len(off)/2] * 1.4826 / 1.08
}

const (
	quietMM    = 0.03 // noise below this is left as it is
	presmooth  = 0.5  // mm: over which vertices that lie denser are evened out
	creaseCos  = 0.55 // normals farther apart than this (about 57°) do not even each other out
	guideRings = 2
)

// quieted is the same surface with its noise evened out but not its edges: first face normals, each by those of its
// neighbours that lie not too far from it, then vertices so that the faces follow their normals (Sun, Rosin, Martin &
// Langbein 2007, Fast and effective feature-preserving mesh denoising, IEEE TVCG 13:925; the weights here compare
// normals that were evened out beforehand, as in Zhang, Deng, Bouaziz & Liu 2015, Guided mesh normal filtering, CGF 34:23).
func (s *skin) quieted(ctx context.Context, noiseMM float64) (*skin, error) {
	q := newSkin(&mesh.Mesh{V: slices.Clone(s.m.V), F: s.m.F})
	edge := q.edgeMM()
	for range int(math.Round(2 * (presmooth / edge) * (presmooth / edge))) {
		q.relax(0.5)
	}
	q.measure()
	rounds := int(math.Ceil(min(4+20*noiseMM/edge, 8)))
	n := slices.Clone(q.normal)
	guide, spare := make([]r3.Vec, len(n)), make([]r3.Vec, len(n))
	for round := range rounds {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		copy(guide, n)
		for range max(0, guideRings-round/3) {
			q.blurred(spare, guide)
			guide, spare = spare, guide
		}
		each(len(n), func(i int) {
			var sum r3.Vec
			for _, v := range q.m.F[i] {
				for _, j := range q.around(v) {
					if w := r3.Dot(guide[i], guide[j]) - creaseCos; w > 0 {
						sum = r3.Add(sum, r3.Scale(q.area[j]*w*w, n[j]))
					}
				}
			}
			spare[i] = unit(sum)
		})
		n, spare = spare, n
	}
	for range rounds + rounds/2 {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		q.follow(n)
	}
	q.measure()
	q.normal = n // less noisy than those of the moved vertices
	q.raw = s.m.V
	return q, nil
}

// relax moves each vertex a share of the way to the middle of its neighbours.
func (s *skin) relax(share float64) {
	moved := make([]r3.Vec, len(s.m.V))
	each(len(moved), func(v int) {
		moved[v] = s.m.V[v]
		if mean, n := s.ringMean(int32(v)); n > 0 {
			moved[v] = r3.Add(moved[v], r3.Scale(share, r3.Sub(mean, moved[v])))
		}
	})
	s.m.V = moved
}

// blurred sets to[i] to the mean of the normals of face i and those around it, by area.
func (s *skin) blurred(to, n []r3.Vec) {
	each(len(to), func(i int) {
		var sum r3.Vec
		for _, v := range s.m.F[i] {
			for _, j := range s.around(v) {
				sum = r3.Add(sum, r3.Scale(s.area[j], n[j]))
			}
		}
		to[i] = unit(sum)
	})
}

// follow moves each vertex towards the planes through the middles of its faces with the normals given.
func (s *skin) follow(n []r3.Vec) {
	each(len(s.m.F), func(i int) {
		f := s.m.F[i]
		s.centre[i] = r3.Scale(1.0/3, r3.Add(s.m.V[f[0]], r3.Add(s.m.V[f[1]], s.m.V[f[2]])))
	})
	each(len(s.m.V), func(v int) {
		var sum r3.Vec
		faces := s.around(int32(v))
		for _, j := range faces {
			sum = r3.Add(sum, r3.Scale(r3.Dot(n[j], r3.Sub(s.centre[j], s.m.V[v])), n[j]))
		}
		if len(faces) > 0 {
			s.m.V[v] = r3.Add(s.m.V[v], r3.Scale(1/float64(len(faces)), sum))
		}
	})
}

// each does n jobs, in parts side by side; job i must write to places of its own only.
func each(n int, job func(i int)) {
	const part = 4096
	var wait sync.WaitGroup
	var taken atomic.Int64
	for range min(runtime.GOMAXPROCS(0), n/part+1) {
		wait.Go(func() {
			for {
				from := int(taken.Add(part)) - part
				if from >= n {
					return
				}
				for i := from; i < min(from+part, n); i++ {
					job(i)
				}
			}
		})
	}
	wait.Wait()
}

// unit is v over its length, and zero for zero.
func unit(v r3.Vec) r3.Vec {
	if n := r3.Norm(v); n > 0 {
		return r3.Scale(1/n, v)
	}
	return r3.Vec{}
}
