package fit

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"sort"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// OddsOptions says how odds are drawn. The zero value is 2000 draws from seed 1.
type OddsOptions struct {
	Draws int    // 0: 2000; at most 100000
	Seed  uint64 // 0: 1. Equal seeds give equal odds, also in parallel
	// Progress, when not nil, is told how much of the work is done, 0 to 1. It may be called from several goroutines.
	Progress func(done float64)
	// Partial, when not nil, is given the odds of the draws so far, each time that there are twice as many, from a hundred
	// on. The final odds do not depend on it.
	Partial func(*Odds)
}

// Odds is how sure an answer is, with the ± of every measure of shoe, device and foot taken through the computation.
type Odds struct {
	Fit      float64 // share of the draws in which nothing is blocked
	Draws    int
	Lost     int // draws in which the device did not come to rest; they count as not fitting
	RideUp   Interval
	Findings []FindingOdds
	Rooms    []RoomOdds
	Decides  []Decider // the measures that contribute most, most first
}

// An Interval holds 90 of a hundred draws.
type Interval struct{ LoMM, MidMM, HiMM float64 }

// FindingOdds is one pair of feature and zone at one pose.
type FindingOdds struct {
	Feature device.Feature
	Zone    footwear.Zone
	Side    string
	Pose    PoseName
	Good    float64 // share of draws in which it overlaps by no more than the give
	State   State
	Gap     Interval
}

// RoomOdds is one question about the room left for the foot.
type RoomOdds struct {
	Key  string
	Good float64
}

// A Decider is a measure that contributes to whether the device fits.
type Decider struct {
	Key, Name string
	Share     float64 // of the spread of the tightest margin that goes with this measure, 0 to 1
}

// Sentence says what to measure again.
func (d Decider) Sentence() string { return fmt.Sprintf("Measure the %s again: it decides.", d.Name) }

// Odds draws the measures of shoe and device within their ± and seats the device again in each draw. The cost is that of
// one room for each measure, and then a fraction of a millisecond a draw. It repeats exactly.
func (b *Bench) Odds(ctx context.Context, d *device.Device, foot Foot, o OddsOptions) (*Odds, error) {
	if o.Draws == 0 {
		o.Draws = 2000
	}
	if o.Draws < 10 || o.Draws > 100_000 {
		return nil, problem.Problem{Field: "draws", Value: fmt.Sprint(o.Draws), Limit: "10 to 100000", Mend: "2000 is usual"}
	}
	if o.Seed == 0 {
		o.Seed = 1
	}
	r, err := b.Check(ctx, d, foot)
	if err != nil {
		return nil, err
	}
	if r.Status != Converged {
		return nil, fmt.Errorf("the device did not come to rest in this shoe (%s), so there are no odds", r.Status)
	}
	m, err := b.model(ctx, d, r, o)
	if err != nil {
		return nil, err
	}
	return m.draw(ctx, o)
}

// A model is what is drawn from: both poses with their surroundings, the findings and the questions about the foot.
type model struct {
	res     *Result
	keys    []FindingOdds
	give    []float64
	bearing []bool
	poses   [2]*surroundings
	rooms   []RoomCheck
	names   []source // key, name and kind of each variable
	rideUp  float64
	unsure  Unsureness
}

// nearMM is how near a wall a sample must be to be kept.
const nearMM = 4.0

func (b *Bench) model(ctx context.Context, d *device.Device, r *Result, o OddsOptions) (*model, error) {
	p := newProbe(d)
	m := &model{res: r, rooms: r.FootRoom, rideUp: r.RideUpMM, unsure: b.unsure}
	sf := b.seatFrame(d.Base)
	poses := [2]mesh.Pose{r.Intended, r.Settled}
	index := map[FindingOdds]int{}
	var kept [2][]int
	for k, pose := range poses {
		s := &surroundings{pose: [2]PoseName{Intended, Settled}[k], centre: pose.Apply(p.centre), heel: pose.Apply(heelOf(d)), arm: 100, up: sf.up, forward: sf.forward}
		hint := int32(-1)
		for i := range p.samples {
			q := pose.Apply(p.samples[i].P)
			h := b.tree.NearestFrom(q, hint)
			hint = h.Face
			if h.Beyond || h.Signed > nearMM {
				continue
			}
			z := footwear.Zone(b.Room.Walls.Tag[h.Face])
			at := len(s.d)
			kept[k] = append(kept[k], i)
			s.d, s.n, s.p, s.zone = append(s.d, h.Signed), append(s.n, h.Normal), append(s.p, q), append(s.zone, z)
			area := math.Max(0, -r3.Dot(pose.Rotate(p.samples[i].A), h.Normal))
			look := seating{walls: Walls{Tree: b.tree, Stiffness: b.stiffness}}
			s.k = append(s.k, look.stiffness(h.Face, h.Point))
			s.stiff = append(s.stiff, area*s.k[at])
			group := -1
			if p.owns(i, z.Floor()) {
				key := FindingOdds{Feature: device.Feature(p.samples[i].Tag), Zone: z, Side: b.side(z, q), Pose: s.pose}
				f := Finding{Feature: key.Feature, Zone: z, Side: key.Side, Pose: s.pose}
				b.judge(&f)
				if f.decides() {
					var known bool
					if group, known = index[key]; !known {
						group = len(m.keys)
						index[key] = group
						m.keys, m.give, m.bearing = append(m.keys, key), append(m.give, f.GiveMM), append(m.bearing, f.Bearing)
					}
				}
			}
			s.group = append(s.group, group)
			if z == footwear.CounterBack && p.samples[i].P.X < d.RimXMM {
				s.back = append(s.back, at)
			}
			if f := device.Feature(p.samples[i].Tag); z.Floor() && f == device.WedgeBase {
				s.floor = append(s.floor, at)
			}
		}
		aside := 0.0
		if len(rolls(d.Base)) > 1 {
			aside = facetLeverMM // the last stage of a roll, as Result.Settled
		}
		loads, holds := b.loads(p, sf, r.Foot.BodyMassKG, aside)
		for _, l := range loads {
			s.loads = append(s.loads, Load{ForceN: l.ForceN, At: pose.Apply(l.At)})
		}
		s.slipped = r.SlipForwardMM
		for _, h := range holds {
			h.At = pose.Apply(h.At)
			s.holds = append(s.holds, h)
		}
		m.poses[k] = s
	}
	return m, b.sources(ctx, m, p, kept, poses, o)
}

// A result of one draw.
type drawn struct {
	gap    []float64 // of each finding
	room   []float64 // of each question, above its least
	rideUp float64
	margin float64 // the tightest of what decides, in standard deviations of nothing: mm over the limit
	lost   bool
	z      []float64
}

// draw runs the draws on every core and sums them up.
func (m *model) draw(ctx context.Context, o OddsOptions) (*Odds, error) {
	all := make([]drawn, o.Draws)
	for from, to := 0, 0; from < o.Draws; from = to {
		to = min(max(2*from, 100), o.Draws)
		const chunk = 25
		each(ctx, (to-from+chunk-1)/chunk, func(c int) {
			for i := from + c*chunk; i < min(from+(c+1)*chunk, to); i++ {
				all[i] = m.one(rand.New(rand.NewPCG(o.Seed, uint64(i))))
			}
		})
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if o.Progress != nil {
			o.Progress(0.7 + 0.3*float64(to)/float64(o.Draws))
		}
		if o.Partial != nil && to < o.Draws {
			o.Partial(m.sum(all[:to]))
		}
	}
	return m.sum(all), nil
}

// one draws every variable once.
func (m *model) one(rng *rand.Rand) drawn {
	z := make([]float64, len(m.names))
	for i := range z {
		if m.names[i].even {
			z[i] = 2*rng.Float64() - 1
		} else {
			z[i] = rng.NormFloat64()
		}
	}
	return m.at(z)
}

// at lays the device into the walls that follow from the variables.
func (m *model) at(z []float64) drawn {
	out := drawn{gap: make([]float64, len(m.keys)), room: make([]float64, len(m.rooms)), z: z, margin: math.Inf(1)}
	for i := range out.gap {
		out.gap[i] = math.Inf(1)
	}
	var d [2][]float64
	stiff := append([]float64(nil), m.poses[1].stiff...)
	for k, s := range m.poses {
		d[k] = append([]float64(nil), s.d...)
		for v, src := range s.sources {
			for at, g := range src.grow {
				d[k][at] += z[v] * g
			}
			if k == 1 {
				for at, g := range src.stiffen {
					stiff[at] *= math.Exp(z[v] * g)
				}
			}
		}
	}
	in, set := m.poses[0], m.poses[1]
	moved := in.lay(d[0])
	lift, ok := set.settle(d[1], stiff, moved)
	out.lost = !ok
	out.rideUp = m.rideUp + lift - r3.Dot(moved, in.up)
	for k, s := range m.poses {
		for at, g := range s.group {
			if g >= 0 {
				out.gap[g] = math.Min(out.gap[g], d[k][at])
			}
		}
	}
	for i, g := range out.gap {
		if !m.bearing[i] && !math.IsInf(g, 1) {
			out.margin = math.Min(out.margin, g+m.give[i])
		}
	}
	for q := range out.room {
		left := m.rooms[q].LeftMM
		for v := range m.names {
			if r := m.names[v].room; r != nil {
				left += z[v] * r[q]
			}
		}
		out.room[q] = left - m.rooms[q].leastMM
	}
	return out
}

// sum makes the odds of the draws.
func (m *model) sum(all []drawn) *Odds {
	o := &Odds{Draws: len(all)}
	n := float64(len(all))
	column := func(of func(*drawn) float64) []float64 {
		v := make([]float64, len(all))
		for i := range all {
			v[i] = of(&all[i])
		}
		return v
	}
	share := func(good func(*drawn) bool) float64 {
		c := 0.0
		for i := range all {
			if good(&all[i]) {
				c++
			}
		}
		return c / n
	}
	for i := range all {
		if all[i].lost {
			o.Lost++
		}
	}
	o.Fit = share(func(d *drawn) bool {
		if d.lost || d.rideUp > rideUpBlockedMM {
			return false
		}
		for i, g := range d.gap {
			if g < -m.give[i] {
				return false
			}
		}
		for q, left := range d.room {
			if left < 0 && m.rooms[q].decides {
				return false
			}
		}
		return true
	})
	o.RideUp = interval(column(func(d *drawn) float64 { return d.rideUp }))
	for i, key := range m.keys {
		key.Good = share(func(d *drawn) bool { return d.gap[i] >= -m.give[i] })
		key.Gap = interval(column(func(d *drawn) float64 { return d.gap[i] }))
		key.State = m.unsure.stateOf(key.Good, key.Gap.MidMM, aimMM(key.Zone), m.bearing[i])
		o.Findings = append(o.Findings, key)
	}
	sort.SliceStable(o.Findings, func(i, j int) bool { return o.Findings[i].Good < o.Findings[j].Good })
	for q := range m.rooms {
		if m.rooms[q].decides {
			o.Rooms = append(o.Rooms, RoomOdds{m.rooms[q].Key, share(func(d *drawn) bool { return d.room[q] >= 0 })})
		}
	}
	margin := column(func(d *drawn) float64 { return d.margin })
	for v := range m.names {
		c := stat.Correlation(column(func(d *drawn) float64 { return d.z[v] }), margin, nil)
		if !math.IsNaN(c) {
			o.Decides = append(o.Decides, Decider{m.names[v].key, m.names[v].name, c * c})
		}
	}
	sort.SliceStable(o.Decides, func(i, j int) bool { return o.Decides[i].Share > o.Decides[j].Share })
	if len(o.Decides) > 2 {
		o.Decides = o.Decides[:2]
	}
	return o
}

func (u Unsureness) stateOf(good, gap, aim float64, bearing bool) State {
	switch {
	case good <= u.Lo:
		return Blocked
	case good < u.Hi:
		return Unsure
	case bearing || gap >= aim:
		return Clear
	default:
		return Snug
	}
}

func interval(v []float64) Interval {
	sort.Float64s(v)
	q := func(p float64) float64 { return stat.Quantile(p, stat.Empirical, v, nil) }
	return Interval{q(0.05), q(0.5), q(0.95)}
}
