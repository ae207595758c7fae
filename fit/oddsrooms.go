package fit

import (
	"context"
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A variation is the room with one measure of the shoe one standard deviation (of an even one: its whole ±) larger and
// smaller. It is built once a Bench, since it does not depend on the device: some 10 MB a bench.
type variation struct {
	id   footwear.MeasureID
	even bool
	ways []varied // larger, smaller; one where the other is no shoe
}

// A varied room has the same vertices as the nominal one, moved; where a measure changes how many there are, it has a tree
// of its own instead.
type varied struct {
	way     float64
	room    *footwear.Room // without walls
	move    []r3.Vec       // of each vertex, mm
	stiffen []float64      // of each vertex: by how much the logarithm of the foundation grows

	tree      *mesh.Tree
	stiffness []float64
}

// variationCache keeps a bench's variations.
type variationCache struct {
	mu   sync.Mutex
	all  []variation
	done bool
}

// shoeSources are the measures of the shoe with an uncertainty that the walls feel.
func (b *Bench) shoeSources() []footwear.MeasureID {
	var out []footwear.MeasureID
	for id := footwear.MeasureID(0); id < footwear.NumMeasures; id++ {
		switch id {
		case footwear.GiveCounter, footwear.GiveQuarter, footwear.GiveVamp:
			continue // the give is the limit, not the wall
		}
		if b.Room.Sheet.M[id].PlusMinus > 0 {
			out = append(out, id)
		}
	}
	return out
}

// variations builds them at the first call. A measure without any room one standard deviation to either side is an error.
func (b *Bench) variations(ctx context.Context, progress func(float64)) ([]variation, error) {
	c := b.varied
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.done {
		return c.all, nil
	}
	ids := b.shoeSources()
	all := make([]variation, len(ids))
	failed := make([]error, len(ids))
	var mu sync.Mutex
	done := 0
	each(ctx, len(ids), func(i int) {
		all[i], failed[i] = b.vary(ids[i])
		mu.Lock()
		defer mu.Unlock()
		if done++; progress != nil {
			progress(0.7 * float64(done) / float64(len(ids)))
		}
	})
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for _, err := range failed {
		if err != nil {
			return nil, err
		}
	}
	c.all, c.done = all, true
	return all, nil
}

// vary builds the room with one measure larger and smaller; where only one way is possible, that one counts.
func (b *Bench) vary(id footwear.MeasureID) (variation, error) {
	nominal := b.Room.Walls
	info := id.Info()
	m := b.Room.Sheet.M[id]
	v := variation{id: id, even: info.Kind == footwear.Even}
	sigma := m.PlusMinus / 1.96
	if v.even {
		sigma = m.PlusMinus
	}
	for _, way := range []float64{1, -1} {
		s := b.Room.Sheet
		s.M[id].Value += way * sigma
		room, err := footwear.NewRoom(s, b.Room.InsoleIn)
		if err != nil {
			continue
		}
		bare := *room
		bare.Walls = nil
		w := varied{way: way, room: &bare}
		at := b.foundations(room)
		if len(room.Walls.V) == len(nominal.V) && len(room.Walls.F) == len(nominal.F) {
			w.move, w.stiffen = make([]r3.Vec, len(nominal.V)), make([]float64, len(nominal.V))
			for i := range nominal.V {
				w.move[i] = r3.Sub(room.Walls.V[i], nominal.V[i])
				w.stiffen[i] = math.Log(at[i] / b.stiffness[i])
			}
		} else {
			w.tree, w.stiffness = mesh.NewTree(room.Walls), at
		}
		v.ways = append(v.ways, w)
	}
	if len(v.ways) == 0 {
		return v, problem.Problem{
			Field: info.Key, Value: fmt.Sprintf("%.4g ± %.2g %s", m.Value, m.PlusMinus, info.Unit),
			Limit: "no shoe has this measure one standard deviation larger or smaller", Mend: "measure it again",
		}
	}
	return v, nil
}

// A spot is where a sample is on the room: the corners of the nearest face with their shares, and the inward normal.
type spot struct {
	vertex [3]int32
	share  [3]float64
	normal r3.Vec
	signed float64
	soft   float64 // foundation there, N/mm³
	beyond bool
}

// spots finds those of the samples kept.
func (b *Bench) spots(p *probe, kept [2][]int, poses [2]mesh.Pose) (out [2][]spot) {
	tree := b.tree
	m := tree.Mesh()
	look := seating{walls: Walls{Tree: tree, Stiffness: b.stiffness}}
	for k, pose := range poses {
		hint := int32(-1)
		for _, i := range kept[k] {
			h := tree.NearestFrom(pose.Apply(p.samples[i].P), hint)
			hint = h.Face
			out[k] = append(out[k], spot{
				vertex: m.F[h.Face], share: corners(m, h.Face, h.Point), normal: h.Normal, signed: h.Signed,
				soft: look.stiffness(h.Face, h.Point), beyond: h.Beyond,
			})
		}
	}
	return out
}
