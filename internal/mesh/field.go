package mesh

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

// FieldOptions set how fine and how wide a Field is. A zero means the default.
type FieldOptions struct {
	SpacingMM float64 // distance of the nodes, 0.05 to 50 mm; default 1
	BandMM    float64 // distances up to this are stored, at least two spacings; default 10
}

// A FieldSample is the value of a Field at a point.
type FieldSample struct {
	D    float64 // signed distance, mm, positive inside
	Grad r3.Vec  // exact gradient of D as interpolated: nearly, not exactly, of length 1
	Face int32   // nearest face at the nearest node: a hint for Tree.NearestFrom

	// Known is false in a cell with a node outside the band or past an open edge of the mesh. Then D is ±band, positive
	// past an open edge (the room ends there), Grad is zero, and Face may be -1.
	Known bool
}

// A Field is the signed distance of a mesh sampled on a grid, see the package comment. It does not change once made
// and may be read by many goroutines at once.
type Field struct {
	spacing, band float64
	perMM         float64
	origin        r3.Vec
	n             [3]int32 // bricks along each axis
	bricks        []int32  // brick → its number among the stored, or brickInside, brickOutside
	value         []float32
	face          []int32
	errorMM       float64
}

const (
	brickCells = 8
	brickSide  = brickCells + 1 // nodes: the last layer repeats the first one of the next brick
	brickNodes = brickSide * brickSide * brickSide

	brickInside  = -1 // farther than the band, inside or past an open edge
	brickOutside = -2

	mostBricks = 1 << 22 // of the table
	mostStored = 1 << 17 // 96 million nodes, 764 MB
)

// NewField samples the distance of t. It uses all processors, stops with ctx's error when ctx ends, and gives the same
// field whatever the number of processors.
func NewField(ctx context.Context, t *Tree, o FieldOptions) (*Field, error) {
	return newFieldBy(ctx, t, o, wideProcessor)
}

// newFieldBy is NewField with eight nodes at once or one at a time.
func newFieldBy(ctx context.Context, t *Tree, o FieldOptions, eightAtOnce bool) (*Field, error) {
	f, err := newFieldFrame(t, o)
	if err != nil {
		return nil, err
	}
	hits := make([]Hit, len(f.bricks))
	err = inParallel(ctx, len(f.bricks), func() func(int) {
		return func(i int) {
			hint := int32(-1)
			if i%batch != 0 {
				hint = hits[i-1].Face // of the same batch, so already there
			}
			hits[i] = t.NearestFrom(f.node(int32(i), brickCells/2, brickCells/2, brickCells/2), hint)
		}
	})
	if err != nil {
		return nil, err
	}
	var stored []int32
	reach := f.band + math.Sqrt(3)*brickCells/2*f.spacing
	for i, h := range hits {
		switch {
		case math.Abs(h.Signed) <= reach:
			f.bricks[i] = int32(len(stored))
			stored = append(stored, int32(i))
		case h.Signed > 0 || h.Beyond:
			f.bricks[i] = brickInside
		default:
			f.bricks[i] = brickOutside
		}
	}
	if len(stored) > mostStored {
		return nil, tooFine(o)
	}
	f.value = make([]float32, len(stored)*brickNodes)
	f.face = make([]int32, len(stored)*brickNodes)
	var flat []flatTri
	if eightAtOnce {
		flat = f.flatten(t)
	}
	err = inParallel(ctx, len(stored), func() func(int) {
		w := filler{f: f, t: t}
		if eightAtOnce {
			w.wide = newWideFiller(f, t, flat)
		}
		return func(i int) { w.fill(stored[i], hits[stored[i]].Face) }
	})
	if err != nil {
		return nil, err
	}
	err = inParallel(ctx, len(stored), func() func(int) { return func(i int) { f.seam(stored[i]) } })
	if err != nil {
		return nil, err
	}
	f.errorMM = f.measure(t, stored)
	return f, nil
}

// newFieldFrame checks the options and lays the bricks round the mesh.
func newFieldFrame(t *Tree, o FieldOptions) (*Field, error) {
	if o.SpacingMM == 0 {
		o.SpacingMM = 1
	}
	if o.BandMM == 0 {
		o.BandMM = 10
	}
	if !(o.SpacingMM >= 0.05 && o.SpacingMM <= 50) {
		return nil, problem.Problem{
			Field: "spacing_mm", Value: fmt.Sprintf("%g mm", o.SpacingMM), Limit: "0.05 to 50 mm",
			Mend: "choose another spacing",
		}
	}
	if !(o.BandMM >= 2*o.SpacingMM && o.BandMM <= 1000) {
		return nil, problem.Problem{
			Field: "band_mm", Value: fmt.Sprintf("%g mm", o.BandMM), Limit: "two spacings to 1000 mm",
			Mend: "choose another band",
		}
	}
	if len(t.tris) == 0 {
		return nil, problem.Problem{
			Field: "mesh", Value: "no face with area", Limit: "at least one", Mend: "export the mesh again",
		}
	}
	f := &Field{spacing: o.SpacingMM, band: o.BandMM, perMM: 1 / o.SpacingMM}
	b := t.m.Bounds()
	margin := o.BandMM + o.SpacingMM
	f.origin = r3.Sub(b.Min, r3.Vec{X: margin, Y: margin, Z: margin})
	size := r3.Add(r3.Sub(b.Max, f.origin), r3.Vec{X: margin, Y: margin, Z: margin})
	total := 1.0
	for k, s := range [3]float64{size.X, size.Y, size.Z} {
		n := math.Ceil(s / (brickCells * o.SpacingMM))
		if total *= n; total > mostBricks {
			return nil, tooFine(o)
		}
		f.n[k] = int32(n)
	}
	f.bricks = make([]int32, int(total))
	return f, nil
}

func tooFine(o FieldOptions) error {
	return problem.Problem{
		Field: "spacing_mm", Value: fmt.Sprintf("%g mm with a band of %g mm", o.SpacingMM, o.BandMM),
		Limit: "the field of so large a mesh would not fit into memory", Mend: "choose a wider spacing or a smaller mesh",
	}
}

// batch is how many calls in a row inParallel makes from one goroutine.
const batch = 64

// inParallel makes a function on each processor and calls them with 0 to n-1, in batches that ascend, until ctx ends.
func inParallel(ctx context.Context, n int, worker func() func(i int)) error {
	var next atomic.Int64
	var all sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			do := worker()
			for ctx.Err() == nil {
				from := int(next.Add(batch)) - batch
				if from >= n {
					return
				}
				for i := from; i < min(from+batch, n); i++ {
					do(i)
				}
			}
		})
	}
	all.Wait()
	return ctx.Err()
}

// brickAt is the position in the table of brick i.
func (f *Field) brickAt(i int32) (x, y, z int32) {
	return i % f.n[0], i / f.n[0] % f.n[1], i / (f.n[0] * f.n[1])
}

// node is the place of a node of brick i.
func (f *Field) node(i, x, y, z int32) r3.Vec {
	bx, by, bz := f.brickAt(i)
	return r3.Vec{
		X: f.origin.X + f.spacing*float64(bx*brickCells+x),
		Y: f.origin.Y + f.spacing*float64(by*brickCells+y),
		Z: f.origin.Z + f.spacing*float64(bz*brickCells+z),
	}
}

func nodeIndex(x, y, z int32) int { return int((z*brickSide+y)*brickSide + x) }

// set stores a hit at a node of stored brick i: the distance within the band; out of it, or past an open edge, an
// infinity of its sign, which makes every cell at that node unknown, and a face near the brick.
func (f *Field) set(i, x, y, z int32, h Hit, near int32) {
	k := int(f.bricks[i])*brickNodes + nodeIndex(x, y, z)
	v, face := h.Signed, h.Face
	if h.Beyond {
		v, face = math.Inf(1), near
	} else if math.Abs(v) > f.band {
		v, face = math.Copysign(math.Inf(1), v), near
	}
	f.value[k], f.face[k] = float32(v), face
}

// seam copies the last layers of stored brick i from its neighbours.
func (f *Field) seam(i int32) {
	bx, by, bz := f.brickAt(i)
	base := int(f.bricks[i]) * brickNodes
	for z := range int32(brickSide) {
		for y := range int32(brickSide) {
			x := int32(0)
			if y < brickCells && z < brickCells {
				x = brickCells
			}
			for ; x < brickSide; x++ {
				v, face := f.owned(bx*brickCells+x, by*brickCells+y, bz*brickCells+z)
				k := base + nodeIndex(x, y, z)
				f.value[k], f.face[k] = v, face
			}
		}
	}
}

// owned is what the brick that owns a node says of it; a node outside the table counts as the nearest inside.
func (f *Field) owned(x, y, z int32) (value float32, face int32) {
	x = min(max(x, 0), f.n[0]*brickCells-1)
	y = min(max(y, 0), f.n[1]*brickCells-1)
	z = min(max(z, 0), f.n[2]*brickCells-1)
	b := f.bricks[(z/brickCells*f.n[1]+y/brickCells)*f.n[0]+x/brickCells]
	switch b {
	case brickInside:
		return float32(math.Inf(1)), -1
	case brickOutside:
		return float32(math.Inf(-1)), -1
	}
	k := int(b)*brickNodes + nodeIndex(x%brickCells, y%brickCells, z%brickCells)
	return f.value[k], f.face[k]
}

// At is the trilinear value and its gradient at p. A cell with a node outside the band or past an open edge is not
// known.
func (f *Field) At(p r3.Vec) FieldSample {
	x, y, z := (p.X-f.origin.X)*f.perMM, (p.Y-f.origin.Y)*f.perMM, (p.Z-f.origin.Z)*f.perMM
	// Written so that NaN is outside.
	if !(x >= 0 && y >= 0 && z >= 0 &&
		x < float64(f.n[0]*brickCells) && y < float64(f.n[1]*brickCells) && z < float64(f.n[2]*brickCells)) {
		return f.unknown(x, y, z)
	}
	// Unsigned, so that the divisions by eight are shifts.
	ix, iy, iz := uint32(int32(x)), uint32(int32(y)), uint32(int32(z))
	b := f.bricks[(iz/brickCells*uint32(f.n[1])+iy/brickCells)*uint32(f.n[0])+ix/brickCells]
	if b < 0 {
		return f.unknown(x, y, z)
	}
	x -= float64(int32(ix))
	y -= float64(int32(iy))
	z -= float64(int32(iz))
	k := int(b)*brickNodes + int((iz%brickCells*brickSide+iy%brickCells)*brickSide+ix%brickCells)
	const dy, dz = brickSide, brickSide * brickSide
	v := f.value[k : k+dz+dy+2 : k+dz+dy+2]
	v000, v100, v010, v110 := float64(v[0]), float64(v[1]), float64(v[dy]), float64(v[dy+1])
	v001, v101, v011, v111 := float64(v[dz]), float64(v[dz+1]), float64(v[dz+dy]), float64(v[dz+dy+1])

	// Along X, then Y, then Z.
	a00, a10, a01, a11 := v100-v000, v110-v010, v101-v001, v111-v011
	c00, c10, c01, c11 := v000+x*a00, v010+x*a10, v001+x*a01, v011+x*a11
	a0, a1 := a00+y*(a10-a00), a01+y*(a11-a01)
	b0, b1 := c10-c00, c11-c01
	c0, c1 := c00+y*b0, c01+y*b1
	d := c0 + z*(c1-c0)
	if d-d != 0 { // one infinite node, whatever its weight, makes this NaN
		return f.unknownCell(v, f.face[k])
	}
	if x >= 0.5 {
		k++
	}
	if y >= 0.5 {
		k += dy
	}
	if z >= 0.5 {
		k += dz
	}
	return FieldSample{
		D:     d,
		Grad:  r3.Vec{X: f.perMM * (a0 + z*(a1-a0)), Y: f.perMM * (b0 + z*(b1-b0)), Z: f.perMM * (c1 - c0)},
		Face:  f.face[k],
		Known: true,
	}
}

// unknownCell is the answer for a cell with a node that is not known: free if any of them is inside.
func (f *Field) unknownCell(v []float32, face int32) FieldSample {
	s := FieldSample{D: -f.band, Face: face}
	const dy, dz = brickSide, brickSide * brickSide
	for _, k := range [8]int{0, 1, dy, dy + 1, dz, dz + 1, dz + dy, dz + dy + 1} {
		if math.IsInf(float64(v[k]), 1) {
			s.D = f.band
		}
	}
	return s
}

// unknown is the answer for a point, in grid units, in no stored brick: ±band by the nearest node.
func (f *Field) unknown(x, y, z float64) FieldSample {
	at := func(x float64, n int32) int32 { return int32(max(0, min(x, float64(n*brickCells)))) }
	v, face := f.owned(at(x, f.n[0]), at(y, f.n[1]), at(z, f.n[2]))
	return FieldSample{D: math.Copysign(f.band, float64(v)), Face: face}
}

// ErrorMM is the largest difference in mm between At and the exact distance at the check points that NewField
// tried, all of them where At is known.
func (f *Field) ErrorMM() float64 { return f.errorMM }

// BoundMM is what a known sample differs from the exact distance by at most, anywhere: see the package comment.
func (f *Field) BoundMM() float64 { return math.Sqrt(0.75) / f.perMM }

// measure compares At with the tree at points spread over the bricks by a fixed rule.
func (f *Field) measure(t *Tree, stored []int32) float64 {
	const points = 8192
	var worst float64
	seed := uint32(1)
	next := func() float64 { // a linear congruential generator (Knuth) is good enough to spread points
		seed = seed*1664525 + 1013904223
		return float64(seed>>8) / (1 << 24) * brickCells
	}
	for j := range points {
		corner := f.node(stored[j*len(stored)/points], 0, 0, 0)
		p := r3.Add(corner, r3.Scale(f.spacing, r3.Vec{X: next(), Y: next(), Z: next()}))
		s := f.At(p)
		if !s.Known {
			continue
		}
		if h := t.NearestFrom(p, s.Face); !h.Beyond {
			worst = math.Max(worst, math.Abs(h.Signed-s.D))
		}
	}
	return worst
}
