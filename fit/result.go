package fit

import (
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// A State says what one device feature has to do with one zone of the room.
type State string

// The states, from good to bad; Unsure means that the measuring uncertainty spans the limit of Blocked.
const (
	Clear   State = "clear"
	Snug    State = "snug"
	Unsure  State = "unsure"
	Blocked State = "blocked"
)

// Rank orders states from good (0) to bad (3).
func (s State) Rank() int {
	switch s {
	case Clear:
		return 0
	case Snug:
		return 1
	case Unsure:
		return 2
	default:
		return 3
	}
}

// A PoseName names where the device is taken to lie.
type PoseName string

// Intended is flat on the seat, back against the counter, sides ignored; Settled is where it comes to rest.
const (
	Intended PoseName = "intended"
	Settled  PoseName = "settled"
)

// A Finding is one device feature against one zone of the room at one pose. Points are in the room's frame, mm.
type Finding struct {
	Feature device.Feature
	Zone    footwear.Zone
	Side    string // medial, lateral, back or front: which part of a zone that runs all round
	Pose    PoseName
	RollDeg float64 // roll stage of a device with motion: degrees inverted (+) at which it was taken; 0 otherwise

	GapMM       float64 // exact signed distance at the tightest place, negative is overlap
	PlusMinusMM float64 // one standard deviation of GapMM from the shoe's and the device's ±
	GiveMM      float64 // how far this wall yields without harm
	AimMM       float64 // gap from which the pair counts as clear
	State       State
	Odds        float64 // chance that this place, taken alone, overlaps by no more than the give (± as normal); 0 to 1
	Bearing     bool    // this pair is meant to touch: it carries the device

	At, Wall  r3.Vec  // the device's point and the wall's nearest point
	AreaMM2   float64 // area of the feature past the wall
	VolumeMM3 float64 // volume of the overlap

	GrindDirection r3.Vec  // unit, device frame: the way material is taken off, from the surface into the device; zero when none
	GrindDepthMM   float64 // how much along it until the pair is no longer blocked or unsure; 0 when it is not
}

// A Status says how the seating ended.
type Status string

// The statuses. Only a Converged pose is used for an answer; that it comes to lie out of place is one too.
const (
	Converged    Status = "converged"
	NotConverged Status = "not-converged"
	NoSupport    Status = "no-support"   // nothing under the body holds it
	Stopped      Status = "stopped"      // cancelled
	OutOfPlace   Status = "out-of-place" // it rests so far from where it was put that it is not in the shoe
)

// A RoomCheck is one question about the foot above the device: is there height or length left?
type RoomCheck struct {
	Key    string  // heel_inside_mm, ankle_mm, instep_mm, ball_mm, toe_mm, toe_gap_mm
	Name   string  // in words
	LeftMM float64 // what is left; negative: it lacks
	NeedMM float64 // the least that is wanted
	State  State
	Odds   float64 // chance that it is not blocked, taken alone; 0 when it has no say
	Note   string  // why, and where the limit comes from
	Known  bool    // false: the foot's own measure is missing, LeftMM is the height left for the foot instead

	leastMM float64 // left below this is blocked
	decides bool    // it has a say in the verdict
}

// Stability is what the base gives, at the settled pose.
type Stability struct {
	WidthMM, MedialMM, LateralMM float64
	AreaMM2                      float64
	RotationalNMMPerRad          float64 // frontal plane, flat base on an elastic foundation: K·L·b³/12 (Johnson 1985)
	RockGapMM                    float64 // largest gap under a corner of the base at the settled pose: over 0.5 mm it rocks
}

// A Result is the whole answer for one device in one room. Poses are roomFromDevice.
type Result struct {
	Status     Status
	ResidualN  float64 // largest unbalanced force at the settled pose, N
	WithinMM   float64 // how far the settled pose is known where the device lies deep in a wall; 0: exactly
	Iterations int

	Intended, Settled mesh.Pose
	RideUpMM          float64 // how much higher the heel of the base lies than intended
	TiltFrontalDeg    float64 // settled against intended about X: inverted positive
	PitchDeg          float64 // about Y: heel up positive
	SlipForwardMM     float64 // along X
	StandsOnSides     bool    // the settled device no longer lies on the seat

	Findings []Finding // worst first; intended and settled
	Base     Stability
	FootRoom []RoomCheck
	Foot     Foot // with what was filled in

	Verdict Verdict
}

// A Verdict is the one plain sentence with what it rests on.
type Verdict struct {
	State    State
	Sentence string
	Limits   string  // what it does not know: always shown with it
	Odds     float64 // of the place that decides, taken alone; 0 to 1
	Worst    int     // index into Findings of that place, -1 if none
}
