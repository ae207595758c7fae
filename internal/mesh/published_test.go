package mesh

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// The benchmarks that docs/performance.md tells of; `make bench` runs them several times and prints ratios. They report
// processor time beside the time of the clock, as the machine may be shared. With BENCH_DIR set, the meshes and points
// are left there as files, for another engine to be measured on the same.

// A load is what one benchmark works on: a loft of so many triangles as it comes out of a file.
type load struct {
	name      string
	triangles int
	stl       []byte
	mesh      *Mesh
	tree      *Tree
	field     *Field // of the last benchmark that built it
}

var loads = []func() *load{
	sync.OnceValue(func() *load { return newLoad("20k", 100, 101) }),
	sync.OnceValue(func() *load { return newLoad("100k", 200, 251) }),
	sync.OnceValue(func() *load { return newLoad("500k", 500, 501) }),
}

func newLoad(name string, around, along int) *load {
	var file bytes.Buffer
	must(WriteSTL(&file, cavity(around, along), name))
	m, err := ReadSTL(bytes.NewReader(file.Bytes()), name)
	must(err)
	if dir := os.Getenv("BENCH_DIR"); dir != "" {
		var points bytes.Buffer
		must(binary.Write(&points, binary.LittleEndian, devicePoints()))
		must(os.WriteFile(filepath.Join(dir, "loft-"+name+".stl"), file.Bytes(), 0o666))
		must(os.WriteFile(filepath.Join(dir, "points.f64"), points.Bytes(), 0o666))
	}
	return &load{name: name, triangles: 2 * around * (along - 1), stl: file.Bytes(), mesh: m, tree: NewTree(m)}
}

func must(err error) {
	if err != nil {
		panic(err)
	}
}

// devicePoints are 20,000 places on the two sides of a shell 3 mm thick on the loft's floor, row by row: from 4.2 mm
// inside the wall to 0.2 mm past it.
func devicePoints() []r3.Vec {
	const rows, across = 80, 125
	var p []r3.Vec
	for side := range 2 {
		for i := range rows {
			for j := range across {
				u, v := float64(i)/(rows-1), 2*float64(j)/(across-1)-1
				s := 0.06 + 0.62*u
				c, d := math.Cos(math.Pi*(1.5+0.4*v)), math.Sin(math.Pi*(1.5+0.4*v))
				end := math.Pow(1-math.Pow(math.Abs(2*s-1), 4), 0.35)
				y := end * (35 + 20*s) * math.Copysign(math.Pow(math.Abs(c), 0.8), c)
				z := end * (60 - 35*s) * math.Copysign(math.Pow(math.Abs(d), 0.8), d)
				gap := 1 + 1.2*math.Sin(9*u)*math.Cos(2*v) + 3*float64(side)
				in := 1 - gap/math.Hypot(y, z)
				p = append(p, vec(300*s, in*y, 60+in*z))
			}
		}
	}
	return p
}

func TestPublishedLoads(t *testing.T) {
	require.Len(t, devicePoints(), 20000)
	l := loads[0]()
	require.NoError(t, l.mesh.Closed())
	least, most := math.Inf(1), math.Inf(-1)
	for _, p := range devicePoints() {
		d := l.tree.Nearest(p).Signed
		least, most = math.Min(least, d), math.Max(most, d)
	}
	require.Negative(t, least)
	require.Greater(t, least, -0.5)
	require.Less(t, most, 6.0)
}

// measured runs do b.N times and reports processor time; do returns how many queries it made, if any.
func measured(b *testing.B, do func() (queries int)) {
	b.Helper()
	b.ReportAllocs()
	runtime.GC()
	queries := 0
	before := processorTime()
	for b.Loop() {
		queries += do()
	}
	spent := processorTime() - before
	b.ReportMetric(spent.Seconds()*1e3/float64(b.N), "cpu-ms/op")
	if queries > 0 {
		b.ReportMetric(float64(queries)/b.Elapsed().Seconds()/1e6, "Mq/s")
		b.ReportMetric(float64(queries)/spent.Seconds()/1e6, "cpu-Mq/s")
	}
}

func processorTime() time.Duration {
	var u syscall.Rusage
	must(syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func BenchmarkPublishedLoad(b *testing.B) {
	l := loads[2]()
	b.Run(l.name, func(b *testing.B) {
		measured(b, func() int {
			m, err := ReadSTL(bytes.NewReader(l.stl), l.name)
			must(err)
			if len(m.F) != l.triangles {
				b.Fatal(len(m.F))
			}
			return 0
		})
	})
}

func BenchmarkPublishedWeld(b *testing.B) {
	l := loads[2]()
	soup := exploded(l.mesh)
	b.Run(l.name, func(b *testing.B) {
		measured(b, func() int {
			if m := soup.Welded(stlWeldMM); len(m.V) != len(l.mesh.V) {
				b.Fatal(len(m.V))
			}
			return 0
		})
	})
}

// BenchmarkPublishedRepair mends the mesh as it is, where there is nothing to do but to look, and one with faces lost,
// turned round and doubled all over.
func BenchmarkPublishedRepair(b *testing.B) {
	l := loads[2]()
	damaged := l.mesh.Subset(func(face int) bool { return face%5003 != 0 })
	for i := 0; i < len(damaged.F); i += 3001 {
		f := damaged.F[i]
		damaged.F[i] = [3]int32{f[0], f[2], f[1]}
	}
	for i := 0; i < l.triangles/2; i += 4001 {
		damaged.F = append(damaged.F, damaged.F[i])
	}
	for _, c := range []struct {
		name string
		m    *Mesh
	}{{"clean", l.mesh}, {"damaged", damaged}} {
		b.Run(c.name+"/"+l.name, func(b *testing.B) {
			measured(b, func() int {
				m, _, err := Repair(context.Background(), c.m, RepairOptions{}, nil)
				must(err)
				if err := m.Closed(); err != nil {
					b.Fatal(err)
				}
				return 0
			})
		})
	}
}

func BenchmarkPublishedTree(b *testing.B) {
	for _, get := range loads {
		l := get()
		b.Run(l.name, func(b *testing.B) {
			measured(b, func() int { NewTree(l.mesh); return 0 })
		})
	}
}

// BenchmarkPublishedBoxes builds the boxes alone, without what only the sign needs.
func BenchmarkPublishedBoxes(b *testing.B) {
	for _, get := range loads {
		l := get()
		b.Run(l.name, func(b *testing.B) { measured(b, func() int { boxesAlone(l.mesh); return 0 }) })
	}
}

func boxesAlone(m *Mesh) *Tree {
	t := &Tree{m: m, topo: newTopology(m)}
	t.build()
	return t
}

func BenchmarkPublishedField(b *testing.B) {
	for _, get := range loads {
		l := get()
		b.Run(l.name, func(b *testing.B) {
			measured(b, func() int {
				var err error
				l.field, err = NewField(context.Background(), l.tree, FieldOptions{})
				must(err)
				return 0
			})
		})
	}
}

// sampledPasses is how often the sampled distances are read in one go: once is too short to measure.
const sampledPasses = 100

// BenchmarkPublishedQuery asks for the distance of all device points: exact without a hint, with the face of the point
// before, with the face of the same point 0.37 mm away; and sampled, value and gradient.
func BenchmarkPublishedQuery(b *testing.B) {
	points := devicePoints()
	for _, get := range loads {
		l := get()
		t := l.tree
		same := make([]int32, len(points))
		for i, p := range points {
			same[i] = t.Nearest(r3.Add(p, vec(0.3, 0.2, 0.1))).Face
		}
		for _, way := range []struct {
			name string
			all  func(from, to int) (sum float64)
		}{
			{"cold", func(from, to int) (sum float64) {
				for _, p := range points[from:to] {
					sum += t.Nearest(p).Signed
				}
				return sum
			}},
			{"last", func(from, to int) (sum float64) {
				hint := int32(-1)
				for _, p := range points[from:to] {
					h := t.NearestFrom(p, hint)
					hint = h.Face
					sum += h.Signed
				}
				return sum
			}},
			{"same", func(from, to int) (sum float64) {
				for i := from; i < to; i++ {
					sum += t.NearestFrom(points[i], same[i]).Signed
				}
				return sum
			}},
			{"sampled", func(from, to int) (sum float64) {
				for range sampledPasses {
					for _, p := range points[from:to] {
						sum += l.field.At(p).D
					}
				}
				return sum / sampledPasses
			}},
		} {
			b.Run(fmt.Sprintf("%s/%s", way.name, l.name), func(b *testing.B) {
				passes := 1
				if way.name == "sampled" {
					passes = sampledPasses
					if l.field == nil {
						var err error
						l.field, err = NewField(context.Background(), t, FieldOptions{})
						must(err)
					}
				}
				var mean float64
				measured(b, func() int {
					mean = shared(len(points), way.all) / float64(len(points))
					return passes * len(points)
				})
				b.ReportMetric(mean, "mean-mm")
			})
		}
	}
}

// shared splits 0 to n among as many goroutines as there are processors, and adds up what they return.
func shared(n int, part func(from, to int) float64) float64 {
	threads := runtime.GOMAXPROCS(0)
	if threads == 1 {
		return part(0, n)
	}
	sums := make([]float64, threads)
	var all sync.WaitGroup
	for k := range threads {
		all.Go(func() { sums[k] = part(n*k/threads, n*(k+1)/threads) })
	}
	all.Wait()
	var sum float64
	for _, s := range sums {
		sum += s
	}
	return sum
}

// BenchmarkPeerDistance asks for the distance of each vertex of the body of PEER_BODY from the room of PEER_ROOM, two STL files in mm, and
// of as many places in the room's box, without a hint and with the face that was nearest 0.37 mm away.
func BenchmarkPeerDistance(b *testing.B) {
	if os.Getenv("PEER_ROOM") == "" {
		b.Skip("PEER_ROOM and PEER_BODY name no files")
	}
	read := func(name string) *Mesh {
		f, err := os.Open(os.Getenv(name))
		must(err)
		defer f.Close()
		m, err := ReadSTL(f, name)
		must(err)
		return m
	}
	room := read("PEER_ROOM")
	tree := NewTree(room)
	box := room.Bounds()
	lo, hi := box.Min, box.Max
	near := read("PEER_BODY").V
	anywhere := make([]r3.Vec, len(near))
	draw := rand.New(rand.NewPCG(1, 2))
	for i := range anywhere {
		anywhere[i] = r3.Add(lo, vec(draw.Float64()*(hi.X-lo.X), draw.Float64()*(hi.Y-lo.Y), draw.Float64()*(hi.Z-lo.Z)))
	}
	for _, c := range []struct {
		name string
		p    []r3.Vec
		hint bool
	}{{"near", near, false}, {"near-hint", near, true}, {"far", anywhere, false}} {
		hints := make([]int32, len(c.p))
		for i, p := range c.p {
			hints[i] = -1
			if c.hint {
				hints[i] = tree.Nearest(r3.Add(p, vec(0.2, 0.2, 0.24))).Face
			}
		}
		b.Run(c.name, func(b *testing.B) {
			measured(b, func() int {
				for i, p := range c.p {
					tree.NearestFrom(p, hints[i])
				}
				return len(c.p)
			})
		})
	}
	b.Run("tree", func(b *testing.B) { measured(b, func() int { NewTree(room); return 0 }) })
	b.Run("boxes", func(b *testing.B) { measured(b, func() int { boxesAlone(room); return 0 }) })
}
