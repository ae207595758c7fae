package fit

import (
	"context"
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat/distuv"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A Bench is one room made ready for trying devices in it: the room and its exact nearest-point tree. It is built once a
// room, in some 20 ms, and safe for use by several goroutines. A sampled field of the whole room, which brings a device near
// before the exact distances have the last word, costs ten times that and saves nothing where the search ends well anyway
// (a check took 47 ms with it and 47 ms without): it is built for the first device that does not come to rest without.
type Bench struct {
	Room      *footwear.Room
	tree      *mesh.Tree
	back      *mesh.Tree // the back of the counter alone
	stiffness []float64  // N/mm³ at each vertex of the walls
	varied    *variationCache
	second    *secondTry
	unsure    Unsureness
	gives     Gives
	draft     bool // for a first look: less exact, and without the second try
}

// NewBench prepares a room. The error is the context's, or says what is wrong with the room.
func NewBench(ctx context.Context, room *footwear.Room) (*Bench, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	grow := mesh.NewTree
	if room.Scan != nil { // a scan's walls may be rough or open: its signs need more than the nearest face's normal
		grow = mesh.NewScanTree
	}
	t := grow(room.Walls)
	back := room.Walls.Subset(func(f int) bool { return footwear.Zone(room.Walls.Tag[f]) == footwear.CounterBack })
	if len(back.F) == 0 {
		return nil, problem.Problem{Field: "room", Limit: "a room needs a back of the counter", Mend: "align the scan so that the heel lies behind"}
	}
	b := &Bench{Room: room, tree: t, back: mesh.NewTree(back), varied: &variationCache{}, second: &secondTry{}, unsure: DefaultUnsure}
	b.stiffness = b.foundations(room)
	return b, nil
}

// Unsureness is between which odds a state is unsure, 0 to 1.
type Unsureness struct{ Lo, Hi float64 }

// DefaultUnsure is between 10 and 90 %.
var DefaultUnsure = Unsureness{0.1, 0.9}

// Validate refuses limits that leave no room for an answer.
func (u Unsureness) Validate() problem.Problems {
	if u.Lo > 0 && u.Lo < u.Hi && u.Hi < 1 {
		return nil
	}
	return problem.Problems{{
		Field: "unsure", Value: fmt.Sprintf("%g to %g %%", 100*u.Lo, 100*u.Hi), Limit: "two odds between 0 and 100 %, the lower first",
		Mend: "10 to 90 % is usual",
	}}
}

// z are the limits as standard normals.
func (u Unsureness) z() (lo, hi float64) {
	return distuv.UnitNormal.Quantile(u.Lo), distuv.UnitNormal.Quantile(u.Hi)
}

// WithUnsure is the same bench with other limits of unsure; the two share all that is heavy. Limits must be valid.
func (b *Bench) WithUnsure(u Unsureness) *Bench {
	c := *b
	c.unsure = u
	return &c
}

// foundations is the stiffness at each vertex of the walls: the geometric mean of the zones that meet there, so that it
// changes without a step from one zone to the next.
func (b *Bench) foundations(room *footwear.Room) []float64 {
	w := room.Walls
	sum, n := make([]float64, len(w.V)), make([]float64, len(w.V))
	for i, f := range w.F {
		l := math.Log(b.wallStiffness(room, footwear.Zone(w.Tag[i])))
		for _, v := range f {
			sum[v] += l
			n[v]++
		}
	}
	for v := range sum {
		sum[v] = math.Exp(sum[v] / math.Max(n[v], 1))
	}
	return sum
}

// A secondTry keeps the field once it was needed.
type secondTry struct {
	mu    sync.Mutex
	field *mesh.Field
}

// rest seats a device; where it does not come to rest at once, it is brought near by the field first. The error is the
// context's.
func (b *Bench) rest(ctx context.Context, p *probe, o SeatOptions) (Seating, error) {
	body, walls := Body{Samples: p.samples, Centre: p.centre}, Walls{Tree: b.tree, Stiffness: b.stiffness}
	s := Seat(ctx, body, walls, o)
	if s.Status == Converged || ctx.Err() != nil || b.draft {
		return s, ctx.Err()
	}
	var err error
	if walls.Field, err = b.second.brought(ctx, b.tree); err != nil {
		return s, err
	}
	first := s.Iterations
	o.AtCreases = true
	s = Seat(ctx, body, walls, o)
	s.Iterations += first
	return s, ctx.Err()
}

// brought is the field, built at the first call.
func (t *secondTry) brought(ctx context.Context, tree *mesh.Tree) (*mesh.Field, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	var err error
	if t.field == nil {
		t.field, err = mesh.NewField(ctx, tree, mesh.FieldOptions{SpacingMM: 1, BandMM: fieldBandMM})
	}
	return t.field, err
}

// fieldBandMM is how far from the walls the sampled field reaches: farther than one step of the seating goes.
const fieldBandMM = 5

// Tree is the exact nearest-point tree of the room's walls.
func (b *Bench) Tree() *mesh.Tree { return b.tree }

const (
	// boardStiffness is the foundation of a wall without give, N/mm³: fibre board of E about 100 MPa, 2 mm thick
	// (E/h; from memory). It only sets how sharply an edge dents the board: 0.05 to 0.1 mm.
	boardStiffness = 50.0
	// givePressure is the pressure at which a wall has yielded its give, N/mm² (from memory: of the order of the
	// plantar pressure in standing).
	givePressure = 0.1
)

// insoleMPa is the modulus of the shoe's own insole under a broad load, N/mm² (EVA or felt, from memory).
const insoleMPa = 2.0

// insoleMM is the thickness of the shoe's own insole under a zone while it is in.
func insoleMM(room *footwear.Room, z footwear.Zone) float64 {
	heel, ball := room.Sheet.V(footwear.InsoleHeel), room.Sheet.V(footwear.InsoleForefoot)
	switch {
	case !room.InsoleIn:
		return 0
	case z == footwear.Tread:
		return ball
	case z == footwear.Shank:
		return (heel + ball) / 2
	}
	return heel
}

// wallStiffness is the foundation of a zone, N/mm³: of floor and feather line that of the board and the insole on it (two
// springs in series; the lining over the edge yields, the edge does not), of the other walls that which yields the give.
func (b *Bench) wallStiffness(room *footwear.Room, z footwear.Zone) float64 {
	if z.Floor() || z == footwear.Feather {
		return 1 / (1/boardStiffness + insoleMM(room, z)/insoleMPa)
	}
	give := b.giveMM(room, z)
	if give <= givePressure/boardStiffness {
		return boardStiffness
	}
	return givePressure / give
}

// Quiet standing on both feet: half the body weight on a foot, 60.5 % of it under the heel and 7.8 % under the midfoot,
// which the shell carries (Cavanagh, Rodgers & Iiboshi 1987, Foot Ankle 7:262; from memory); what the forefoot and the
// toes carry passes in front of the device. A light push holds the heel back against the counter; friction between base
// and board, and the foot in its shoe, hold the device where it was put, up to 0.4 of the load (from memory), which is
// reached after two millimetres.
const (
	gravity     = 9.80665 // m/s², standard gravity (CGPM 1901)
	heelShare   = 0.605
	midShare    = 0.078
	heldBackN   = 5
	friction    = 0.4
	frictionsMM = 2
	balanced    = 5e-4 // share of the weight that may be left unbalanced
)

// loads are what acts on a device: the weight square to the floor under it, since friction takes what acts along it, the
// push and the friction along the seat. The weight stands aside mm medially of the bisection.
func (b *Bench) loads(p *probe, sf seatFrame, massKG, aside float64) ([]Load, []Hold) {
	weight := massKG * gravity / 2
	heel := r3.Vec{X: p.dev.RimXMM, Y: aside}
	mid := r3.Vec{X: (p.dev.RimXMM + p.dev.FrontXMM) / 2, Y: aside}
	slope := turn(r3.Vec{Y: 1}, -b.Room.FloorSlopeDeg(mid.X))
	loads := []Load{
		{ForceN: r3.Scale(-heelShare*weight, sf.up), At: heel},
		{ForceN: r3.Scale(-midShare*weight, slope.Rotate(r3.Vec{Z: 1})), At: mid},
		{ForceN: r3.Scale(-heldBackN, sf.forward), At: r3.Vec{X: heel.X}},
	}
	hold := Hold{At: r3.Vec{X: heel.X}, Along: sf.forward, NPerMM: friction * weight / frictionsMM, MostN: friction * weight}
	return loads, []Hold{hold}
}

// facetLeverMM is how far the load stands to the side of the bisection while the device lies on one facet of its roll.
const facetLeverMM = 6

// Check seats the device in the room and reports. It stops early when the context ends, with Status Stopped and the
// context's error. A pose that is not Converged gives no settled findings and no verdict of fit.
func (b *Bench) Check(ctx context.Context, d *device.Device, foot Foot) (*Result, error) {
	return b.check(ctx, newProbe(d), foot)
}

// check is Check of a device made ready.
func (b *Bench) check(ctx context.Context, p *probe, foot Foot) (*Result, error) {
	d := p.dev
	foot = foot.filled(d.Options.FootLengthMM)
	sf := b.seatFrame(d.Base)
	res := &Result{Status: Converged, Foot: foot}
	stages := rolls(d.Base)
	for i, roll := range stages {
		in := b.intended(p, roll)
		res.Findings = append(res.Findings, b.findings(p, in, Intended, roll)...)
		res.Intended = in
		if i > 0 && i < len(stages)-1 {
			continue // on the ridge between its facets it can't rest
		}
		aside := 0.0
		if len(stages) > 1 {
			aside = facetLeverMM
			if i == 0 {
				aside = -facetLeverMM
			}
		}
		loads, holds := b.loads(p, sf, foot.BodyMassKG, aside)
		seat, err := b.rest(ctx, p, SeatOptions{Start: in, Loads: loads, Holds: holds, ToleranceN: b.loose(balanced) * foot.BodyMassKG * gravity / 2})
		if err != nil {
			res.Status = Stopped
			return res, err
		}
		res.Iterations += seat.Iterations
		res.ResidualN = math.Max(res.ResidualN, seat.ResidualN)
		res.WithinMM = math.Max(res.WithinMM, seat.WithinMM)
		res.Settled = seat.Pose
		if seat.Status == Converged && left(in, seat.Pose) {
			seat.Status = OutOfPlace
		}
		if seat.Status != Converged {
			res.Status = seat.Status
			break
		}
		res.Findings = append(res.Findings, b.findings(p, seat.Pose, Settled, roll)...)
	}
	worstFirst(res.Findings)
	res.motion(sf, d)
	res.Base = b.stability(p, res.Settled)
	res.FootRoom = b.footRoom(d, res.Settled, foot)
	res.Verdict = res.judge()
	return res, nil
}

// loose is a tolerance, ten times as wide for a first look.
func (b *Bench) loose(tolerance float64) float64 {
	if b.draft {
		return 10 * tolerance
	}
	return tolerance
}

// left says that a device came to rest so far from where it was put that it lies in the shoe no more.
func left(in, settled mesh.Pose) bool {
	const farMM, farDeg = 25, 20
	d := settled.Compose(in.Inverse())
	at := in.Apply(r3.Vec{X: 60})
	return r3.Norm(r3.Sub(d.Apply(at), at)) > farMM || r3.Norm(d.RotationVectorDeg()) > farDeg
}

// heelOf is the point of the base whose height over the intended one is the ride-up, device frame.
func heelOf(d *device.Device) r3.Vec { return r3.Vec{X: (d.Base.BackXMM + d.Base.FrontXMM) / 2} }

// motion reads ride-up, tilt and slip off the last roll stage.
func (r *Result) motion(sf seatFrame, d *device.Device) {
	heel := heelOf(d)
	went := r3.Sub(r.Settled.Apply(heel), r.Intended.Apply(heel))
	r.RideUpMM = r3.Dot(went, sf.up)
	r.SlipForwardMM = r3.Dot(went, sf.forward)
	w := r.Settled.Compose(r.Intended.Inverse()).RotationVectorDeg()
	r.TiltFrontalDeg = r3.Dot(w, sf.forward)
	r.PitchDeg = w.Y
}
