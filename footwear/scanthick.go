package footwear

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// inward moves the faces of a mesh along their normals into the room, each by its own distance (mm; negative: out of it).
// A vertex goes to the place that lies best by all its faces moved (least squares of the distances from their planes,
// Garland & Heckbert 1997, SIGGRAPH, with a small pull to stay), so that planes move exactly and edges stay edges. Where
// a rounded corner is tighter than the distance its faces would turn inside out: their vertices become one, at the place
// where the faces round about meet.
func inward(m *mesh.Mesh, mm func(face int) float64) []r3.Vec {
	q := quadrics{m: m, mm: mm, cluster: make([]int32, len(m.V))}
	for i := range q.cluster {
		q.cluster[i] = int32(i)
	}
	out := q.solve()
	const rounds = 12
	for range rounds {
		if !q.joinTurned(out) {
			break
		}
		out = q.solve()
	}
	return out
}

type quadrics struct {
	m       *mesh.Mesh
	mm      func(face int) float64
	cluster []int32 // vertex → vertex that stands for it
}

func (q *quadrics) root(v int32) int32 {
	for q.cluster[v] != v {
		q.cluster[v] = q.cluster[q.cluster[v]]
		v = q.cluster[v]
	}
	return v
}

// joinTurned joins the ends of edges that now run backward; no: there is none.
func (q *quadrics) joinTurned(now []r3.Vec) bool {
	joined := false
	for _, f := range q.m.F {
		for k := range 3 {
			u, v := f[k], f[(k+1)%3]
			a, b := q.root(u), q.root(v)
			if a == b {
				continue
			}
			if r3.Dot(r3.Sub(now[v], now[u]), r3.Sub(q.m.V[v], q.m.V[u])) < 0 {
				q.cluster[max(a, b)] = min(a, b)
				joined = true
			}
		}
	}
	return joined
}

// solve places every cluster.
func (q *quadrics) solve() []r3.Vec {
	n := len(q.m.V)
	a := make([][6]float64, n) // upper triangle of Σ w n nᵀ
	b := make([]r3.Vec, n)     // Σ w n (n·p₀ − mm)
	at := make([]r3.Vec, n)    // Σ w p
	weight := make([]float64, n)
	for i, f := range q.m.F {
		n, area := q.m.FaceNormal(i), q.m.FaceArea(i)
		r := [3]int32{q.root(f[0]), q.root(f[1]), q.root(f[2])}
		inside := r[0] == r[1] && r[1] == r[2]
		d := r3.Dot(n, q.m.V[f[0]]) - q.mm(i)
		for k, v := range r {
			if k > 0 && v == r[0] || k > 1 && v == r[1] {
				continue
			}
			weight[v] += area
			at[v] = r3.Add(at[v], r3.Scale(area, q.m.V[f[k]]))
			if inside {
				continue
			}
			a[v] = [6]float64{
				a[v][0] + area*n.X*n.X, a[v][1] + area*n.X*n.Y, a[v][2] + area*n.X*n.Z,
				a[v][3] + area*n.Y*n.Y, a[v][4] + area*n.Y*n.Z, a[v][5] + area*n.Z*n.Z,
			}
			b[v] = r3.Add(b[v], r3.Scale(area*d, n))
		}
	}
	out := make([]r3.Vec, n)
	for v := range out {
		if q.root(int32(v)) != int32(v) {
			continue
		}
		if weight[v] == 0 {
			out[v] = q.m.V[v]
			continue
		}
		// The pull keeps the vertex where its faces do not care.
		const pull = 1e-6
		w := pull * weight[v]
		p0 := r3.Scale(1/weight[v], at[v])
		if q.alone(int32(v)) {
			p0 = q.m.V[v]
		}
		var x mat.VecDense
		err := x.SolveVec(mat.NewSymDense(3, []float64{
			a[v][0] + w, a[v][1], a[v][2], a[v][1], a[v][3] + w, a[v][4], a[v][2], a[v][4], a[v][5] + w,
		}), mat.NewVecDense(3, []float64{b[v].X + w*p0.X, b[v].Y + w*p0.Y, b[v].Z + w*p0.Z}))
		out[v] = p0
		if p := (r3.Vec{}); err == nil || x.Len() == 3 {
			p = r3.Vec{X: x.AtVec(0), Y: x.AtVec(1), Z: x.AtVec(2)}
			if d := r3.Norm(r3.Sub(p, p0)); !math.IsNaN(d) && d < farInwardMM {
				out[v] = p
			}
		}
	}
	for v := range out {
		out[v] = out[q.root(int32(v))]
	}
	return out
}

// farInwardMM is farther than any vertex is moved; more is the meeting point of almost parallel planes.
const farInwardMM = 40.0

func (q *quadrics) alone(v int32) bool { return q.cluster[v] == v }
