package drawing

import (
	"math"
	"sort"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// SampleMM is the largest distance between points of the device's outline from which a cut is measured. Between two of
// them the distance to the wall changes by no more than half of it, and next to a straight wall not at all.
const SampleMM = 0.5

// An InCut is the distance of a point of a cut's outline from the wall: exact, in space, not in the plane of the cut.
type InCut struct {
	Feature device.Feature
	Zone    footwear.Zone
	MM      float64 // positive is a gap, negative the depth of an overlap
	Device  Pt      // the device's point, which lies in the cut
	Wall    Pt      // the wall's nearest point, seen on the paper
}

// A Measured is what a drawing says in numbers about its cut.
type Measured struct {
	Overlaps   []InCut // the deepest place of each feature past each zone, from 0.05 mm, deepest first
	Touching   []InCut // pairs that meet within 0.05 mm, the floor and bearing pairs left out
	Gap        InCut   // tightest gap of a pair that neither overlaps nor touches, the floor and bearing pairs left out
	HasGap     bool
	OverlapMM2 float64 // area of the device's section outside the room's
}

// seenOverlapMM is the depth from which an overlap is spoken of: half of the last digit shown.
const seenOverlapMM = 0.05

// measure finds the overlaps and the tightest gap of a section's outline among the walls. Whether a point is inside is
// told by the room's section, as the hatch is; how far it is from the wall by the tree.
func (c *section) measure(walls *mesh.Tree, bearing func(device.Feature, footwear.Zone) bool) Measured {
	type pair struct {
		f device.Feature
		z footwear.Zone
	}
	best := map[pair]InCut{}
	var order []pair
	hint := int32(-1)
	tags := walls.Mesh().Tag
	look := func(p, outwards Pt, tag uint8) {
		hit := walls.NearestFrom(c.view.Lift(p, c.cuts), hint)
		if math.IsInf(hit.Signed, 0) || int(hit.Face) >= len(tags) {
			return
		}
		hint = hit.Face
		d := math.Abs(hit.Signed)
		if winding(c.air, p) == 0 {
			if hit.Beyond { // past the topline, where there is no wall
				return
			}
			d = -d
		} else if d > seenOverlapMM && c.view.Project(hit.Point).sub(p).dot(outwards) < 0 {
			return // the wall lies behind this side of the device: another side is nearer to it
		}
		key := pair{device.Feature(tag), footwear.Zone(tags[hit.Face])}
		old, seen := best[key]
		if !seen {
			order = append(order, key)
		}
		if !seen || d < old.MM {
			best[key] = InCut{key.f, key.z, d, p, c.view.Project(hit.Point)}
		}
	}
	for i := range c.rigid {
		c.rigid[i].segments(func(a, b Pt, tag uint8) {
			outwards := b.sub(a).left().scale(-1)
			n := int(math.Ceil(math.Hypot(b.U-a.U, b.V-a.V) / SampleMM))
			for k := range n {
				look(a.lerp(b, float64(k)/float64(n)), outwards, tag)
			}
		})
	}
	var m Measured
	for _, key := range order {
		c := best[key]
		switch {
		case c.MM < -seenOverlapMM:
			m.Overlaps = append(m.Overlaps, c)
		case c.Zone.Floor() || bearing(key.f, key.z):
		case c.MM < seenOverlapMM:
			m.Touching = append(m.Touching, c)
		case !m.HasGap || c.MM < m.Gap.MM:
			m.Gap, m.HasGap = c, true
		}
	}
	sort.SliceStable(m.Overlaps, func(i, j int) bool { return m.Overlaps[i].MM < m.Overlaps[j].MM })
	if len(m.Overlaps) > 0 {
		m.OverlapMM2 = overlapArea(c.rigid, c.air, 0.1)
	}
	return m
}

// nearestOn is the point of the segment a b nearest to p.
func nearestOn(a, b, p Pt) Pt {
	d := b.sub(a)
	l2 := d.dot(d)
	if l2 == 0 {
		return a
	}
	t := p.sub(a).dot(d) / l2
	return a.lerp(b, math.Max(0, math.Min(1, t)))
}
