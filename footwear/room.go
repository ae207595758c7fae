package footwear

import (
	"math"

	"lastroom/internal/mesh"
)

// A Room is the inner cavity of one shoe in one size, right side, in the frame of the package (mm; X forward,
// Y medial, Z up; origin on the insole board under the rearmost inside point of the counter).
//
// Walls carries a Zone a face, its normals point out of the room, and it is open at the topline. Closed is the same
// surface with the virtual lid (zone Open) over the opening: closed and oriented, for volume, drawing and export.
// A room from a scan has the scan's surface, with what holes it has, and a sheet that was read off it.
type Room struct {
	Sheet    Sheet
	InsoleIn bool // the shoe's own insole lies in the shoe: the floor is its top
	Walls    *mesh.Mesh
	Closed   *mesh.Mesh
	Scan     *ScanReport // how it came from a scan; nil: it was built from its sheet

	shape shape
}

// A shape answers for the cavity: a form by its formulas, a scan by what was read off it. X and heights as of a Room.
type shape interface {
	places() places
	floorZ(x float64) float64
	floorSlope(x float64) float64 // dz/dx
	middleY(x float64) float64
	insole(x float64) float64        // thickness of the shoe's own insole that is in
	depth(x float64) float64         // over the floor
	toplineOver(medial bool) float64 // height of the topline over the floor below the ankle
}

// places are the X of where a room is measured.
type places struct{ back, heel, breast, ankle, waist, instep, tread, toe, throat float64 }

// shifted are places that lie farther forward.
func (p places) shifted(x float64) places {
	return places{p.back + x, p.heel + x, p.breast + x, p.ankle + x, p.waist + x, p.instep + x, p.tread + x, p.toe + x, p.throat + x}
}

func (f *form) places() places {
	return places{
		heel: f.heel, breast: f.bottom.breast, ankle: f.ankle, waist: f.waist, instep: f.instep, tread: f.tread, toe: f.last, throat: f.throat,
	}
}

func (f *form) floorZ(x float64) float64 { return f.bottom.z(x) + f.insole(x) }

func (f *form) floorSlope(x float64) float64 {
	const d = 1e-3
	return f.bottom.slope(x) + (f.insole(x+d)-f.insole(x-d))/(2*d)
}

func (f *form) middleY(x float64) float64 { return f.spine.Predict(x) }

func (f *form) toplineOver(medial bool) float64 {
	return f.topline(f.ankle, medial) - f.insole(f.ankle)
}

// NewRoom builds the cavity that a sheet describes, with the shoe's own insole in or out. Equal sheets give equal
// rooms. The error is a problem.Problem or problem.Problems: a measure out of range, or one that contradicts others.
func NewRoom(s Sheet, insoleIn bool) (*Room, error) {
	return newRoom(s, insoleIn, (*form).usualDensity)
}

// NewDraftRoom is the room by a mesh of a seventh of the faces, which lies some tenths of a millimetre beside the form: for a
// first look at many rooms, never for a result that counts.
func NewDraftRoom(s Sheet, insoleIn bool) (*Room, error) {
	return newRoom(s, insoleIn, (*form).draftDensity)
}

func newRoom(s Sheet, insoleIn bool, dense func(*form) density) (*Room, error) {
	if err := s.Validate().Err(); err != nil {
		return nil, err
	}
	f, err := newForm(&s, insoleIn)
	if err != nil {
		return nil, err
	}
	r := &Room{Sheet: s, InsoleIn: insoleIn, shape: f}
	r.Closed = f.loft(dense(f))
	r.Walls = r.Closed.Subset(func(face int) bool { return Zone(r.Closed.Tag[face]) != Open })
	return r, nil
}

// FloorZ is the height (mm) over the origin of the floor on the room's middle at X: the board, or the top of the
// shoe's own insole when it is in.
func (r *Room) FloorZ(x float64) float64 { return r.shape.floorZ(x) }

// FloorSlopeDeg is the slope of the floor at X along the room's middle, positive where it rises towards the toe.
func (r *Room) FloorSlopeDeg(x float64) float64 {
	return math.Atan(r.shape.floorSlope(x)) * 180 / math.Pi
}

// MiddleY is how far the room's middle lies medially of the heel-seat centre line at X, mm; 0 in a straight shoe.
func (r *Room) MiddleY(x float64) float64 { return r.shape.middleY(x) }

// HeelStationMM is the X of the widest place of the heel.
func (r *Room) HeelStationMM() float64 { return r.shape.places().heel }

// BreastMM is the X where the seat ends.
func (r *Room) BreastMM() float64 { return r.shape.places().breast }

// AnkleStationMM is the X at which the topline's height below the ankle bones is taken.
func (r *Room) AnkleStationMM() float64 { return r.shape.places().ankle }

// WaistStationMM is the X of the narrowest inside width between seat and ball.
func (r *Room) WaistStationMM() float64 { return r.shape.places().waist }

// InstepStationMM is the X at which depth and girth of the instep are taken.
func (r *Room) InstepStationMM() float64 { return r.shape.places().instep }

// TreadStationMM is the X of the tread line.
func (r *Room) TreadStationMM() float64 { return r.shape.places().tread }

// ToeDepthStationMM is the X at which the depth at the toes is taken, 20 mm behind the toe tip.
func (r *Room) ToeDepthStationMM() float64 { return r.shape.places().toe - toeDepthBackMM }

// ToeTipXMM is the X of the foremost inside point.
func (r *Room) ToeTipXMM() float64 { return r.shape.places().toe }

// ThroatMM is the X where the opening ends in front: behind it the room has no roof.
func (r *Room) ThroatMM() float64 { return r.shape.places().throat }

// DepthMM is the height (mm) of the room over its floor on its middle at X: up to the roof, and behind the throat up
// to the lid that stands for the closed shoe. In front of the toe tip and behind the back it is 0.
func (r *Room) DepthMM(x float64) float64 { return r.shape.depth(x) }

// ToplineMedialMM is the height of the topline over the floor below the inner ankle bone, mm.
func (r *Room) ToplineMedialMM() float64 {
	return r.shape.toplineOver(true)
}

// ToplineLateralMM is the height of the topline over the floor below the outer ankle bone, mm.
func (r *Room) ToplineLateralMM() float64 {
	return r.shape.toplineOver(false)
}

// ToplineBackMM is the height of the topline at the back over the floor at the rear end of the seat, mm.
func (r *Room) ToplineBackMM() float64 { return r.Sheet.V(ToplineBack) - r.onSheet() }

// CounterTopMM is the height of the stiff counter over the floor of the seat, mm.
func (r *Room) CounterTopMM() float64 { return r.Sheet.V(CounterHeight) - r.onSheet() }

// onSheet is what lies on the board that the sheet's heights count from, at the back: the insole. A scan's sheet counts
// from the floor as it is.
func (r *Room) onSheet() float64 {
	if r.Scan != nil {
		return 0
	}
	return r.shape.insole(0)
}

// insoleGive is the share of its thickness by which a shoe's own insole yields under a load. From memory, a default.
const insoleGive = 0.15

// liningGive is how far the lining over the lasted edge yields, mm. From memory, a default.
const liningGive = 0.3

// GiveMM is how far the wall of a zone yields without harm, mm: by the sheet for counter, waist (the quarter) and
// ball, toe and roof (the vamp). The board does not yield, the lining over its edge does a
// little; the shoe's own insole does, when it is in, by 15 % of its
// thickness. The opening is no wall and gives 0.
func (r *Room) GiveMM(z Zone) float64 {
	at := r.shape.places()
	heel, ball := r.shape.insole(at.heel), r.shape.insole(at.tread)
	switch z {
	case Seat:
		return insoleGive * heel
	case Feather:
		return liningGive + insoleGive*heel
	case Shank:
		return insoleGive * (heel + ball) / 2
	case Tread:
		return insoleGive * ball
	case CounterMedial, CounterLateral, CounterBack:
		return r.Sheet.V(GiveCounter)
	case WaistMedial, WaistLateral:
		return r.Sheet.V(GiveQuarter)
	case BallMedial, BallLateral, Toe, Roof:
		return r.Sheet.V(GiveVamp)
	}
	return 0
}

// sigma is one standard deviation of a measure: its ± over 1.96, and over √3 when the ± is the half width of an even
// spread.
func (r *Room) sigma(id MeasureID) float64 {
	pm := r.Sheet.M[id].PlusMinus
	if Infos[id].Kind == Even {
		return pm / math.Sqrt(3)
	}
	return pm / 1.96
}

// PlusMinusMM is one standard deviation (mm) of the place of a zone's wall, across the wall, from the ± of the measures
// that place it (first-order propagation, independent errors, root of the sum of squares):
//
//	side walls of counter, waist, ball   half that of the width there
//	back                                 that of the back curve at the seat (the rearmost point is the origin)
//	seat                                 that of the cupping over 60 mm, and of the insole when it is in
//	shank                                that of the sagitta, and of the insole
//	tread, from there forward            half that of the toe spring, and of the insole
//	feather line                         at 45°: (√2−1) × that of the radius, and half that of the seat width × sin 45°
//	toe                                  that of the last's length
//	roof                                 that of the depth at the ball
//	opening                              0
//
// In a room from a scan every wall has that of the scan (ScanReport.SigmaMM).
func (r *Room) PlusMinusMM(z Zone) float64 {
	if r.Scan != nil && z != Open {
		return r.Scan.SigmaMM
	}
	insole := func(id MeasureID) float64 {
		if r.InsoleIn {
			return r.sigma(id)
		}
		return 0
	}
	switch z {
	case Seat:
		return math.Hypot(r.sigma(SeatCupping), insole(InsoleHeel))
	case Shank:
		return math.Hypot(r.sigma(ShankSagitta), insole(InsoleHeel))
	case Tread:
		return math.Hypot(r.sigma(ToeSpring)/2, insole(InsoleForefoot))
	case Feather:
		return math.Hypot((math.Sqrt2-1)*r.sigma(FeatherHeel), r.sigma(SeatWidth)/2*math.Sqrt2/2)
	case CounterMedial, CounterLateral:
		return r.sigma(CounterWidth20) / 2
	case CounterBack:
		return r.sigma(BackCurveSeat)
	case WaistMedial, WaistLateral:
		return r.sigma(WaistWidth) / 2
	case BallMedial, BallLateral:
		return r.sigma(BallWidth) / 2
	case Toe:
		return r.sigma(LastLength)
	case Roof:
		return r.sigma(DepthBall)
	}
	return 0
}
