package fit

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"sync"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A source is one thing that is not known exactly: a standard normal or even variable and what it moves.
type source struct {
	key, name string
	even      bool
	// grow is by how much the signed distance of each near sample grows with one unit of the variable, mm; nil: none.
	grow []float64
	// stiffen is by how much the logarithm of each near sample's stiffness grows; nil: none.
	stiffen []float64
	// room is by how much each question about the foot's room grows.
	room []float64
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

// sources finds what each uncertain measure moves: the shoe's by building the room again with the measure one standard
// deviation larger and smaller, the device's as an offset of its surface.
func (b *Bench) sources(ctx context.Context, m *model, p *probe, kept [2][]int, poses [2]mesh.Pose, o OddsOptions) error {
	ids := b.shoeSources()
	all := make([][2]source, len(ids))
	failed := make([]error, len(ids))
	next := make(chan int)
	var wg sync.WaitGroup
	done := 0
	var mu sync.Mutex
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				all[i], failed[i] = b.shoeSource(ids[i], m, p, kept, poses)
				mu.Lock()
				done++
				if o.Progress != nil {
					o.Progress(0.7 * float64(done) / float64(len(ids)))
				}
				mu.Unlock()
			}
		})
	}
	for i := range ids {
		if ctx.Err() != nil {
			break
		}
		next <- i
	}
	close(next)
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	for i := range ids {
		if failed[i] != nil {
			return failed[i]
		}
		for k := range 2 {
			m.poses[k].sources = append(m.poses[k].sources, all[i][k])
		}
		m.names = append(m.names, all[i][0])
	}
	b.deviceSources(m, p, kept)
	return nil
}

// shoeSource moves one measure by its standard deviation either way; where only one way is possible, that one counts.
func (b *Bench) shoeSource(id footwear.MeasureID, m *model, p *probe, kept [2][]int, poses [2]mesh.Pose) (out [2]source, err error) {
	info := id.Info()
	sigma := b.Room.Sheet.M[id].PlusMinus / 1.96
	even := info.Kind == footwear.Even
	if even {
		sigma = b.Room.Sheet.M[id].PlusMinus
	}
	for k := range out {
		out[k] = source{key: info.Key, name: info.Name, even: even, grow: make([]float64, len(kept[k])), stiffen: make([]float64, len(kept[k])), room: make([]float64, len(m.rooms))}
	}
	ways := 0.0
	for _, way := range []float64{1, -1} {
		s := b.Room.Sheet
		s.M[id].Value += way * sigma
		room, err := footwear.NewRoom(s, b.Room.InsoleIn)
		if err != nil {
			continue
		}
		ways++
		t := mesh.NewTree(room.Walls)
		look := seating{walls: Walls{Tree: t, Stiffness: foundations(room)}}
		for k, pose := range poses {
			hint := int32(-1)
			for at, i := range kept[k] {
				h := t.NearestFrom(pose.Apply(p.samples[i].P), hint)
				hint = h.Face
				if !h.Beyond {
					out[k].grow[at] += way * (h.Signed - m.poses[k].d[at])
					if soft := m.poses[k].k[at]; soft > 0 {
						out[k].stiffen[at] += way * math.Log(look.stiffness(h.Face, h.Point)/soft)
					}
				}
			}
		}
		other := &Bench{Room: room}
		for q, c := range other.footRoom(p.dev, m.res.Settled, m.res.Foot) {
			if c.Key == m.rooms[q].Key {
				out[0].room[q] += way * (c.LeftMM - m.rooms[q].LeftMM)
			}
		}
	}
	if ways == 0 {
		return out, problem.Problem{
			Field: info.Key, Value: fmt.Sprintf("%.4g ± %.2g %s", b.Room.Sheet.M[id].Value, b.Room.Sheet.M[id].PlusMinus, info.Unit),
			Limit: "no shoe has this measure one standard deviation larger or smaller", Mend: "measure it again",
		}
	}
	for k := range out {
		for at := range out[k].grow {
			out[k].grow[at] /= ways
			out[k].stiffen[at] /= ways
		}
	}
	for q := range out[0].room {
		out[0].room[q] /= ways
	}
	out[1].room = out[0].room
	return out, nil
}

// deviceSources are how well the device is made: an offset of each part of its surface of its own.
func (b *Bench) deviceSources(m *model, p *probe, kept [2][]int) {
	parts := []struct {
		key, name string
		has       func(device.Feature) bool
	}{
		{"device_cup", "width of the cup as made", func(f device.Feature) bool { return f == device.CupRim || f == device.CupWall }},
		{"device_arch", "arch and flanges as made", func(f device.Feature) bool {
			return f == device.Arch || f == device.LateralFlange || f == device.FrontEdge || f == device.ShellBottom
		}},
		{"device_wedge", "sides of the wedge as made", func(f device.Feature) bool {
			return f == device.WedgeMedialSide || f == device.WedgeLateralSide || f == device.WedgeBackSide || f == device.WedgeFrontSide
		}},
	}
	for _, part := range parts {
		for k := range m.poses {
			s := source{key: part.key, name: part.name, grow: make([]float64, len(kept[k]))}
			for at, i := range kept[k] {
				if part.has(device.Feature(p.samples[i].Tag)) {
					s.grow[at] = -deviceSigmaMM
				}
			}
			m.poses[k].sources = append(m.poses[k].sources, s)
		}
		m.names = append(m.names, source{key: part.key, name: part.name})
	}
}
