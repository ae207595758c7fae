package footwear

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// The reference body that MattersMost judges by: it fills the lower part of the room with referenceMM to spare on all
// sides, from the back to the tread line and up to referenceHighMM over the floor, which is where devices lie.
const (
	referenceMM     = 2.0
	referenceHighMM = 20.0
)

// coarse is the density of rooms that are only compared with each other: their errors are alike.
var coarse = density{floor: 5, feather: 4, wall: 13, top: 4, heel: 16, toe: 12, stepMM: 8}

// A reference is the reference body in a room, by its points, as they lie on the seat (bodyFromRoom).
type reference struct {
	sheet Sheet
	like  Sheet // what measures that are not taken follow
	body  []r3.Vec
	clear []float64 // mm to spare in its own room
}

// onSeat is the pose in which the reference body lies in a room: on the floor of the seat, falling as the seat does, so
// that a seat that only lies otherwise in the world changes nothing.
func onSeat(f *form) mesh.Pose {
	slope := math.Atan(f.bottom.slope(f.heel))
	seat := r3.Vec{Z: f.insole(0)}
	p := mesh.PoseAbout(r3.Vec{}, r3.Vec{Y: -slope}, r3.Vec{})
	p.T = r3.Add(p.T, seat)
	return p
}

// newReference makes the body for a sheet's room.
func newReference(s *Sheet) (*reference, error) {
	f, err := newForm(s, false)
	if err != nil {
		return nil, err
	}
	walls := lowWalls(f)
	normals := walls.VertexNormals()
	tree := mesh.NewTree(walls)
	bodyFromRoom := onSeat(f).Inverse()
	like, err := Nearest(s.Kind, s.Size)
	if err != nil {
		return nil, err
	}
	r := &reference{sheet: *s, like: like}
	for i, v := range walls.V {
		over := v.Z - f.bottom.z(v.X)
		if v.X > f.tread || over > referenceHighMM {
			continue
		}
		// Normals point out of the room.
		p := r3.Sub(v, r3.Scale(referenceMM, normals[i]))
		h := tree.Nearest(p)
		if h.Beyond || h.Signed < referenceMM/2 {
			continue // where walls come together no body of that kind has room
		}
		r.body = append(r.body, bodyFromRoom.Apply(p))
		r.clear = append(r.clear, h.Signed)
	}
	return r, nil
}

// lowWalls are the walls of a coarse room behind the toes and below the lid and roof.
func lowWalls(f *form) *mesh.Mesh {
	m := f.loft(coarse)
	return m.Subset(func(face int) bool {
		if z := Zone(m.Tag[face]); z == Open || z == Roof {
			return false
		}
		for _, v := range m.F[face] {
			p := m.V[v]
			if p.X < f.tread+25 && p.Z-f.bottom.z(p.X) < referenceHighMM+25 {
				return true
			}
		}
		return false
	})
}

// lost is the largest loss of clearance, mm, anywhere on the body when it lies in another sheet's room; ok is false when
// that sheet makes no room.
func (r *reference) lost(s *Sheet) (mm float64, ok bool) {
	f, err := newForm(s, false)
	if err != nil {
		return 0, false
	}
	tree := mesh.NewTree(lowWalls(f))
	roomFromBody := onSeat(f)
	for i, p := range r.body {
		if h := tree.Nearest(roomFromBody.Apply(p)); !h.Beyond {
			mm = math.Max(mm, r.clear[i]-h.Signed)
		}
	}
	return mm, true
}

// effect is how much clearance the reference body may lose because a measure is off by its ±, mm: the larger of both
// ways. Assumed measures follow it as in FillIn. Where a whole ± makes no room, the measure can't be off by so much, and a
// half or a quarter of it is taken.
func (r *reference) effect(id MeasureID) float64 {
	worst := 0.0
	for _, way := range []float64{1, -1} {
		for _, part := range []float64{1, 0.5, 0.25} {
			s := r.sheet
			m, info := &s.M[id], &Infos[id]
			m.Value = min(max(m.Value+way*part*m.PlusMinus, info.Lo), info.Hi)
			m.Assumed = false
			s, _ = fillFrom(s, &r.like)
			if mm, ok := r.lost(&s); ok {
				worst = math.Max(worst, mm)
				break
			}
		}
	}
	return worst
}

// EffectMM is how much clearance a device near all walls may lose anywhere because a measure is off by its ±: a
// reference body with 2 mm to spare, up to 20 mm over the floor, from the back to the tread line, is laid on the seat of
// the room made with the measure's ± added and taken away, other assumed measures following it. The error is that the sheet makes no room.
func EffectMM(s Sheet, id MeasureID) (float64, error) {
	r, err := newReference(&s)
	if err != nil {
		return 0, err
	}
	return r.effect(id), nil
}

// nearDevices are the measures that a device can feel: those that place floor and walls up to the reference body's height.
// What the others do to it is less than 1 mm (tested).
var nearDevices = []MeasureID{
	LastLength, BallWidth, BallGirth, WaistWidth, SeatWidth, CounterWidth10, CounterWidth20, CounterWidth40, BackCurveSeat,
	SeatCupping, FeatherHeel, SeatAngle, SeatLength, HeelRise, ShankSagitta,
}

// MattersMost is the assumed measure that is most worth taking next: the one with the largest EffectMM, which it returns
// too. It is NumMeasures when every measure that a device can feel was taken, when the sheet makes no room, or when the
// context ends. Of a sheet as FillIn returns it; it takes a second or two.
func MattersMost(ctx context.Context, s Sheet) (MeasureID, float64) {
	best, most := NumMeasures, 0.0
	r, err := newReference(&s)
	if err != nil {
		return best, 0
	}
	for _, id := range nearDevices {
		if ctx.Err() != nil {
			return NumMeasures, 0
		}
		if s.Taken(id) {
			continue
		}
		if mm := r.effect(id); mm > most {
			best, most = id, mm
		}
	}
	return best, most
}
