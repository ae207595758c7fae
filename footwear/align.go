package footwear

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A Side is the foot that a shoe is made for.
type Side string

// The sides. The zero value says that it is not known.
const (
	SideUnknown Side = ""
	RightSide   Side = "right"
	LeftSide    Side = "left"
)

// ThreePoints are picked on the bottom of a scan, in its own coordinates (mm): the rear end of the seat on its middle,
// and the ends of the tread line.
type ThreePoints struct {
	HeelBack, TreadMedial, TreadLateral r3.Vec
}

// AlignOptions settles what Align need not find. The zero value leaves all to the shape.
type AlignOptions struct {
	// Side, when it is known.
	Side Side
	// Points, when picked, say where heel, tread and sides are; they tell the side too. The exact frame still comes from
	// the shape.
	Points *ThreePoints
	// Correction is applied last, in the room's frame: how far the user turned and moved what was found.
	Correction mesh.Pose
}

// Odds say how clear the shape's answers are, from a half (a guess) to 1.
type Odds struct {
	Sole    float64 // which way is down
	HeelToe float64 // which end is the heel
	Side    float64 // right or left
}

// An Alignment is the frame found in a scan.
type Alignment struct {
	// Pose takes the scan into the frame of the package (roomFromScan): X forward along the heel-seat centre line, Z up,
	// origin on the board under the rearmost inside point. It is a rigid motion, so that a left shoe stays a left one
	// and has its medial side at −Y.
	Pose     mesh.Pose
	Side     Side
	SideWhy  string // what told the side, or why nothing does
	Odds     Odds
	LengthMM float64 // rearmost inside point to toe tip along X
	NoiseMM  float64 // one standard deviation of the scan's vertices across the surface
	InsideIn bool    // the normals pointed into the room; Apply turns them
	Notes    []string
}

// Apply brings a scan into the frame of the package as a right shoe: moved, a left one mirrored, normals out of the room.
func (a *Alignment) Apply(m *mesh.Mesh) *mesh.Mesh {
	out := m.Transformed(a.Pose)
	if a.InsideIn {
		out.F = turnedFaces(out.F)
	}
	if a.Side == LeftSide {
		out = out.MirroredY()
	}
	return out
}

// The size of a body that can be a last or the inside of a shoe (Infos has the limits of a last's length).
const (
	leastScanMM = 80.0
	mostScanMM  = 600.0
)

// Align finds the frame of a last or of the inside of a shoe, in whatever pose it was scanned; it may be open at the top,
// have holes and noise. Units are mm.
//
// First the axes: the plane in which the shape is most nearly its own mirror image is upright and runs along the shoe; in
// it, down is where most of the surface looks in one direction along the greatest length; the heel is the end where the
// shape is narrower below and higher above. Then, in rounds, exactly:
//
//	level across   the floor of seat and tread, mean of both
//	level along    the floor at the tread line, 0.70 of the length from the back, where it lies lowest
//	X              the middle between the walls over the seat, 5 to 18 % of the length from the back
//	origin         the seat's line taken back to under the rearmost point
//
// A shape that is its own mirror image top to bottom, or whose bottom is no shoe's, keeps the level of its axes; the
// notes say so. A side is named with odds of nine in ten or more, by how the toes swing, how the waist is hollow, and the
// topline's two heights. Error against a parametric room turned at random: below 0.05 mm and 0.02° without noise, 0.4 mm
// and 0.4° with noise of 0.3 mm at vertices 2.2 mm apart (tests); less the denser the scan.
func Align(ctx context.Context, m *mesh.Mesh, o AlignOptions) (Alignment, error) {
	var a Alignment
	if err := scanSize(m); err != nil {
		return a, err
	}
	if o.Side != SideUnknown && o.Side != RightSide && o.Side != LeftSide {
		return a, problem.Problem{Field: "side", Value: fmt.Sprintf("%q", clipped(string(o.Side))), Limit: "right or left", Mend: "name the side, or leave it to the shape"}
	}
	smooth, noise, err := smoothed(ctx, m)
	if err != nil {
		return a, err
	}
	a.NoiseMM = noise
	var axes scanAxes
	if o.Points != nil {
		axes, err = axesFromPoints(smooth, *o.Points)
	} else {
		axes, err = axesFromShape(ctx, smooth)
	}
	if err != nil {
		return a, err
	}
	a.InsideIn = axes.inward
	a.Odds.Sole, a.Odds.HeelToe = axes.soleOdds, axes.heelOdds
	a.Notes = append(a.Notes, axes.notes...)
	al := aligner{ctx: ctx, m: wallsOnly(smooth, axes.inward), noisy: noise >= cleanMM, pose: axes.pose, level: axes.level}
	if err := al.refine(); err != nil {
		return a, err
	}
	a.Notes = append(a.Notes, al.notes...)
	a.Pose, a.LengthMM = al.pose, al.last
	switch {
	case o.Points != nil:
		a.Side, a.Odds.Side, a.SideWhy = axes.side, 1, "the picked points tell the side"
	default:
		a.Side, a.Odds.Side, a.SideWhy = al.side()
	}
	if o.Side != SideUnknown {
		if a.Side != SideUnknown && a.Side != o.Side {
			a.Notes = append(a.Notes, fmt.Sprintf("the shape looks like a %s one (%s); %s was given", a.Side, a.SideWhy, o.Side))
		}
		a.Side, a.Odds.Side, a.SideWhy = o.Side, 1, "given"
	}
	a.Pose = o.Correction.Compose(a.Pose)
	return a, nil
}

// wallsOnly is a mesh every face of which is wall, so that what closes its sections can be told from it, looking outward.
func wallsOnly(m *mesh.Mesh, inward bool) *mesh.Mesh {
	out := &mesh.Mesh{V: m.V, F: m.F, Tag: make([]uint8, len(m.F))}
	for i := range out.Tag {
		out.Tag[i] = uint8(CounterBack)
	}
	if inward {
		out.F = turnedFaces(m.F)
	}
	return out
}

func turnedFaces(f [][3]int32) [][3]int32 {
	out := make([][3]int32, len(f))
	for i, c := range f {
		out[i] = [3]int32{c[0], c[2], c[1]}
	}
	return out
}

// scanSize refuses what can't be a shoe in millimetres.
func scanSize(m *mesh.Mesh) error {
	if err := m.Validate(); err != nil {
		return err
	}
	if len(m.F) < 100 {
		return problem.Problem{Field: "faces", Value: fmt.Sprint(len(m.F)), Limit: "at least 100", Mend: "scan or export the shape more finely"}
	}
	b := m.Bounds()
	d := r3.Norm(r3.Sub(b.Max, b.Min))
	if !(d >= leastScanMM && d <= 2*mostScanMM) {
		return problem.Problem{
			Field: "size", Value: fmt.Sprintf("%.4g mm corner to corner", d), Limit: fmt.Sprintf("%.0f to %.0f mm", leastScanMM, 2*mostScanMM),
			Mend: "give the file's units",
		}
	}
	return nil
}

// noFrame is the problem of a scan in which something can't be found.
func noFrame(what string) error {
	return problem.Problem{
		Field: "frame", Limit: what,
		Mend: "check that this is a last or the inside of one shoe, or pick three points: heel, tread medial, tread lateral",
	}
}

// turnAbout is the rotation by an angle (radians) about an axis through the origin.
func turnAbout(axis r3.Vec, rad float64) mesh.Pose {
	return mesh.PoseAbout(r3.Vec{}, r3.Scale(rad, axis), r3.Vec{})
}

// sidedOdds is the chance that a reading of a standard deviation has the right sign.
func sidedOdds(z float64) float64 { return 0.5 * math.Erfc(-math.Abs(z)/math.Sqrt2) }
