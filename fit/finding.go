package fit

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat/distuv"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

const (
	farMM = 10.0 // a pair farther apart than this is no finding

	// deviceSigmaMM is how well a device is made to its options: one standard deviation of a wall of it, from memory.
	deviceSigmaMM = 0.3
	// shellFlexMM is how far a shell in front of its wedge bends under standing load without harm, from memory.
	shellFlexMM = 1.0
	// bearingMM is the overlap that a loaded device may press into the floor and still count as lying on it; into a soft
	// insole it may press half its thickness (both from memory).
	bearingMM = 0.3
)

// aimMM is the gap aimed at: 0.5 to 1.5 mm a side at the counter, 0 to 1 at the seat's edge (common practice, no source).
func aimMM(z footwear.Zone) float64 {
	switch z {
	case footwear.CounterMedial, footwear.CounterLateral, footwear.WaistMedial, footwear.WaistLateral, footwear.BallMedial, footwear.BallLateral:
		return 0.5
	default:
		return 0
	}
}

type pair struct {
	feature device.Feature
	zone    footwear.Zone
	side    string
}

// findings are all pairs at one pose, in no order.
func (b *Bench) findings(p *probe, pose mesh.Pose, name PoseName, rollDeg float64) []Finding {
	found := map[pair]*Finding{}
	var keys []pair
	hits := make([]mesh.Hit, len(p.samples))
	hint := int32(-1)
	for i := range p.samples {
		if i > 0 && p.samples[i].Vertex == p.samples[i-1].Vertex {
			hits[i] = hits[i-1]
			continue
		}
		hits[i] = b.tree.NearestFrom(pose.Apply(p.samples[i].P), hint)
		hint = hits[i].Face
	}
	for i := range p.samples {
		s, h := &p.samples[i], &hits[i]
		if h.Beyond || h.Signed > farMM {
			continue
		}
		z := footwear.Zone(b.Room.Walls.Tag[h.Face])
		f := device.Feature(s.Tag)
		q := pose.Apply(s.P)
		k := pair{f, z, b.side(z, q)}
		w := found[k]
		if w == nil {
			w = &Finding{Feature: f, Zone: z, Side: k.side, Pose: name, RollDeg: rollDeg, GapMM: math.Inf(1)}
			found[k] = w
			keys = append(keys, k)
		}
		if h.Signed < w.GapMM && p.owns(i, z.Floor()) {
			w.GapMM, w.At, w.Wall = h.Signed, q, h.Point
			w.GrindDirection = pose.Inverse().Rotate(h.Normal)
		}
		if area := -r3.Dot(pose.Rotate(s.A), h.Normal); h.Signed < 0 && area > 0 {
			w.AreaMM2 += area
			w.VolumeMM3 -= area * h.Signed
		}
	}
	var out []Finding
	for _, k := range keys {
		if f := found[k]; !math.IsInf(f.GapMM, 1) {
			b.judge(f)
			out = append(out, *f)
		}
	}
	return out
}

// edgeRank orders the features that meet in an edge by which of them a finding there is called after: against the floor
// the base, against a wall the side that rises from it, since its bevel or trim is the cure.
func edgeRank(f device.Feature, floor bool) int {
	base := f == device.WedgeBase || f == device.Cap || f == device.ShellBottom
	switch {
	case base && floor:
		return 3
	case base:
		return 0
	case f == device.CupWall:
		return 1
	default:
		return 2
	}
}

// owns says whether a sample gives its vertex its name: among the samples of one vertex, which stand side by side, the
// one of highest rank, the first of equals.
func (p *probe) owns(i int, floor bool) bool {
	mine := edgeRank(device.Feature(p.samples[i].Tag), floor)
	v := p.samples[i].Vertex
	for k := i - 1; k >= 0 && p.samples[k].Vertex == v; k-- {
		if edgeRank(device.Feature(p.samples[k].Tag), floor) >= mine {
			return false
		}
	}
	for k := i + 1; k < len(p.samples) && p.samples[k].Vertex == v; k++ {
		if edgeRank(device.Feature(p.samples[k].Tag), floor) > mine {
			return false
		}
	}
	return true
}

// side says which part of a zone that runs all round a point lies in.
func (b *Bench) side(z footwear.Zone, q r3.Vec) string {
	switch z {
	case footwear.CounterMedial, footwear.WaistMedial, footwear.BallMedial:
		return "medial"
	case footwear.CounterLateral, footwear.WaistLateral, footwear.BallLateral:
		return "lateral"
	case footwear.CounterBack:
		return "back"
	case footwear.Toe:
		return "front"
	}
	if c := b.Room.HeelStationMM(); q.X < c && math.Abs(q.Y) < c-q.X {
		return "back"
	}
	if q.Y >= 0 {
		return "medial"
	}
	return "lateral"
}

// judge sets give, ±, odds, state and grind of a finding from its gap.
func (b *Bench) judge(f *Finding) {
	f.GiveMM = b.giveMM(b.Room, f.Zone)
	f.AimMM = aimMM(f.Zone)
	f.Bearing = f.Zone.Floor()
	if f.Bearing {
		f.AimMM = math.Inf(-1)
		f.GiveMM = bearingMM + insoleMM(b.Room, f.Zone)/2
		switch f.Feature {
		case device.ShellBottom, device.FrontEdge, device.Arch, device.LateralFlange:
			f.GiveMM += shellFlexMM
		}
		f.PlusMinusMM = deviceSigmaMM // the device lies on this wall: the wall's own ± moves both
	} else {
		f.PlusMinusMM = math.Hypot(b.Room.PlusMinusMM(f.Zone), deviceSigmaMM)
	}
	limit := -f.GiveMM
	over := (f.GapMM - limit) / f.PlusMinusMM
	if f.Bearing && f.Feature == device.WedgeBase && math.Abs(f.GapMM) <= bearingMM {
		over = math.Inf(1) // it lies there by construction
	}
	f.Odds = distuv.UnitNormal.CDF(over)
	blocked, sure := b.unsure.z()
	switch {
	case over <= blocked:
		f.State = Blocked
	case over < sure:
		f.State = Unsure
	case f.GapMM >= f.AimMM:
		f.State = Clear
	default:
		f.State = Snug
	}
	f.AimMM = aimMM(f.Zone)
	if f.State == Blocked || f.State == Unsure {
		f.GrindDepthMM = limit + sure*f.PlusMinusMM - f.GapMM
	} else {
		f.GrindDirection = r3.Vec{}
	}
}

// worstFirst orders findings by state, then by what is left over the give, then by what the eye would look at.
func worstFirst(f []Finding) {
	sort.SliceStable(f, func(i, j int) bool {
		a, b := &f[i], &f[j]
		if a.State != b.State {
			return a.State.Rank() > b.State.Rank()
		}
		if x, y := a.GapMM+a.GiveMM, b.GapMM+b.GiveMM; x != y {
			return x < y
		}
		if a.Feature != b.Feature {
			return a.Feature < b.Feature
		}
		if a.Zone != b.Zone {
			return a.Zone < b.Zone
		}
		if a.Side != b.Side {
			return a.Side < b.Side
		}
		return a.Pose < b.Pose
	})
}
