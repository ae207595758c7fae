package fit

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
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

// sources finds what each uncertain measure moves: the shoe's from the room's variations, the device's as an offset of its
// surface.
func (b *Bench) sources(ctx context.Context, m *model, p *probe, kept [2][]int, poses [2]mesh.Pose, o OddsOptions) error {
	defer b.deviceSources(m, p, kept)
	if b.Room.Scan != nil {
		b.scanSources(m)
		return nil
	}
	all, err := b.variations(ctx, o.Progress)
	if err != nil {
		return err
	}
	spots := b.spots(p, kept, poses)
	found := make([][2]source, len(all))
	each(ctx, len(all), func(i int) {
		found[i] = all[i].source(m, p, kept, poses, spots)
	})
	if err := ctx.Err(); err != nil {
		return err
	}
	for i := range found {
		for k := range 2 {
			m.poses[k].sources = append(m.poses[k].sources, found[i][k])
		}
		m.names = append(m.names, found[i][0])
	}
	return nil
}

// scanSources are how well a scanned room's walls are known: each wall stands off by the scan's standard deviation, on its
// own. The sheet of a scanned room is read off it, so its measures add nothing.
func (b *Bench) scanSources(m *model) {
	for _, wall := range []struct {
		key, name string
		zones     []footwear.Zone
	}{
		{"scan_medial", "medial wall in the scan", []footwear.Zone{footwear.CounterMedial, footwear.WaistMedial, footwear.BallMedial}},
		{"scan_lateral", "lateral wall in the scan", []footwear.Zone{footwear.CounterLateral, footwear.WaistLateral, footwear.BallLateral}},
		{"scan_back", "back of the counter in the scan", []footwear.Zone{footwear.CounterBack}},
		{"scan_floor", "floor in the scan", []footwear.Zone{footwear.Seat, footwear.Shank, footwear.Tread}},
		{"scan_feather", "edge of the floor in the scan", []footwear.Zone{footwear.Feather}},
	} {
		for k := range m.poses {
			s := source{key: wall.key, name: wall.name, grow: make([]float64, len(m.poses[k].d))}
			for at, z := range m.poses[k].zone {
				if slices.Contains(wall.zones, z) {
					s.grow[at] = b.Room.Scan.SigmaMM
				}
			}
			m.poses[k].sources = append(m.poses[k].sources, s)
		}
		m.names = append(m.names, source{key: wall.key, name: wall.name})
	}
}

// source is what a variation moves at the samples kept.
func (v *variation) source(m *model, p *probe, kept [2][]int, poses [2]mesh.Pose, spots [2][]spot) (out [2]source) {
	info := v.id.Info()
	for k := range out {
		out[k] = source{key: info.Key, name: info.Name, even: v.even, grow: make([]float64, len(kept[k])), stiffen: make([]float64, len(kept[k])), room: make([]float64, len(m.rooms))}
	}
	ways := float64(len(v.ways))
	for i := range v.ways {
		w := &v.ways[i]
		share := w.way / ways
		look := seating{walls: Walls{Tree: w.tree, Stiffness: w.stiffness}}
		for k, pose := range poses {
			hint := int32(-1)
			for at, i := range kept[k] {
				s := &spots[k][at]
				if s.beyond {
					continue
				}
				if w.tree == nil {
					for c, v := range s.vertex {
						out[k].grow[at] -= share * s.share[c] * r3.Dot(w.move[v], s.normal)
						out[k].stiffen[at] += share * s.share[c] * w.stiffen[v]
					}
					continue
				}
				h := w.tree.NearestFrom(pose.Apply(p.samples[i].P), hint)
				hint = h.Face
				if !h.Beyond {
					out[k].grow[at] += share * (h.Signed - s.signed)
					if s.soft > 0 {
						out[k].stiffen[at] += share * math.Log(look.stiffness(h.Face, h.Point)/s.soft)
					}
				}
			}
		}
		other := &Bench{Room: w.room, unsure: DefaultUnsure}
		for q, c := range other.footRoom(p.dev, m.res.Settled, m.res.Foot) {
			if c.Key == m.rooms[q].Key {
				out[0].room[q] += share * (c.LeftMM - m.rooms[q].LeftMM)
			}
		}
	}
	out[1].room = out[0].room
	return out
}

// deviceSources are how well the device is made: an offset of each part of its surface of its own.
func (b *Bench) deviceSources(m *model, p *probe, kept [2][]int) {
	parts := []struct {
		key, name string
		has       func(device.Feature) bool
	}{
		{"device_cup", "width of the cup on the device", func(f device.Feature) bool { return f == device.CupRim || f == device.CupWall }},
		{"device_arch", "height of arch and flanges on the device", func(f device.Feature) bool {
			return f == device.Arch || f == device.LateralFlange || f == device.FrontEdge || f == device.ShellBottom
		}},
		{"device_wedge", "sides of the wedge on the device", func(f device.Feature) bool {
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
