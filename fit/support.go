package fit

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// An Axis is the subtalar joint axis of a right foot, along which it runs forward, medially and up. Degrees.
type Axis struct {
	InclinationDeg, DeviationDeg   float64    // to the ground, and to the foot's midline
	InclinationBand, DeviationBand [2]float64 // how far people differ
	BesideMM                       float64    // where its plan trace crosses the heel's widest place, medially of the bisection
}

// DefaultAxis is the published average: 42° and 16° (a deviation of 23° is published too), between people roughly 20 to
// 68° and 4 to 47° (Isman & Inman 1969; from memory). That its trace crosses the bisection at the heel's widest place is
// an assumption.
func DefaultAxis() Axis {
	return Axis{InclinationDeg: 42, DeviationDeg: 16, InclinationBand: [2]float64{20, 68}, DeviationBand: [2]float64{4, 47}}
}

// Validate refuses what no axis is.
func (a Axis) Validate() problem.Problems {
	var ps problem.Problems
	check := func(field string, v float64) {
		if !(v >= 0 && v <= 89) { // also catches NaN
			ps = append(ps, problem.Problem{Field: field, Value: fmt.Sprintf("%g°", v), Limit: "0 to 89°", Mend: "leave it out for the published average"})
		}
	}
	check("axis inclination", a.InclinationDeg)
	check("axis deviation", a.DeviationDeg)
	return ps
}

// Unit is the axis' direction in the room's frame: (cos i·cos d, cos i·sin d, sin i).
func (a Axis) Unit() r3.Vec {
	si, ci := math.Sincos(a.InclinationDeg * math.Pi / 180)
	sd, cd := math.Sincos(a.DeviationDeg * math.Pi / 180)
	return r3.Vec{X: ci * cd, Y: ci * sd, Z: si}
}

// LeverMM is the lever arm of a vertical force at a point so far in front of the heel's widest place and medially of the
// bisection: its distance in plan from the axis times cos(inclination). Medial of the axis is positive (the force inverts),
// lateral negative (it pronates). A vertical force ignores height differences.
func (a Axis) LeverMM(forwardMM, medialMM float64) float64 {
	sd, cd := math.Sincos(a.DeviationDeg * math.Pi / 180)
	plan := (medialMM-a.BesideMM)*cd - forwardMM*sd
	return plan * math.Cos(a.InclinationDeg*math.Pi/180)
}

// leverBand is the smallest and the largest size of a lever over the band of axes.
func (a Axis) leverBand(forwardMM, medialMM float64) (lo, hi float64) {
	lo, hi = math.Inf(1), 0
	const steps = 12
	for i := range steps + 1 {
		for j := range steps + 1 {
			b := a
			b.InclinationDeg = a.InclinationBand[0] + (a.InclinationBand[1]-a.InclinationBand[0])*float64(i)/steps
			b.DeviationDeg = a.DeviationBand[0] + (a.DeviationBand[1]-a.DeviationBand[0])*float64(j)/steps
			l := math.Abs(b.LeverMM(forwardMM, medialMM))
			lo, hi = math.Min(lo, l), math.Max(hi, l)
		}
	}
	return lo, hi
}

// A Figure is one measure of support, beside those of the device as ordered and of the plain reference device.
type Figure struct {
	Key, Name, Unit string
	Now             float64
	Lo, Hi          float64 // a band where the figure is an estimate; equal to Now where it is computed
	Ordered, Plain  float64
	Words           string // what a change of it means
}

// tiltUnder is the tilt in degrees of a plate b wide and l long on a foundation k (N/mm³) under a force at eccentricity e:
// M/(k·l·b³/12) up to b/6, then a triangle over 3(b/2 − e); it tips beyond b/2 (calc: elastic foundation, Johnson 1985).
func tiltUnder(k, b, l, force, e float64) float64 {
	e = math.Abs(e)
	switch {
	case e >= b/2:
		return 90
	case e <= b/6:
		return force * e / (k * l * b * b * b / 12) * 180 / math.Pi
	default:
		over := 3 * (b/2 - e)
		return 2 * force / (l * over) / (k * over) * 180 / math.Pi
	}
}

// stripNPerMM is the stiffness of a flat strip, simply supported over span, under a force in its middle: 48·E·I/span³ with
// I = b·t³/12 (Euler and Bernoulli).
func stripNPerMM(eMPa, b, t, span float64) float64 {
	return 48 * eMPa * b * t * t * t / 12 / (span * span * span)
}

// cuppedMM4 is the second moment of area of a half-round shell of mean radius r and thickness t about the axis through its
// centroid, as a thin ring: r³·t·(π/2 − 4/π).
func cuppedMM4(r, t float64) float64 { return r * r * r * t * (math.Pi/2 - 4/math.Pi) }

// cuppedOverFlat is the same over that of the sheet before it was bent, πr wide.
func cuppedOverFlat(r, t float64) float64 { return cuppedMM4(r, t) / (math.Pi * r * t * t * t / 12) }

// offCentreMM is the eccentricity at which tilts are compared.
const offCentreMM = 10

// wearYears is the time for which the wear of a foam block is estimated.
const wearYears = 1

// foamLoss is the share of its height that an EVA block loses on the lateral side in a year, as a band: 3 to 12 % at 60
// Shore A and 80 kg, in proportion to body mass and inversely to hardness. An estimate from memory.
func foamLoss(shoreA, massKG float64) (lo, hi float64) {
	s := 60 / math.Max(shoreA, 10) * massKG / 80
	return 0.03 * s * wearYears, math.Min(0.12*s*wearYears, 0.6)
}

// figuresOf are the support figures of one device at its settled pose, in the order in which they are shown. Ordered and
// Plain are left zero.
func (b *Bench) figuresOf(d *device.Device, r *Result, axis Axis) []Figure {
	base, st := d.Base, r.Base
	k := b.foundation(d)
	weight := r.Foot.BodyMassKG * gravity / 2
	lateral, medial := axis.LeverMM(0, -base.LateralMM), axis.LeverMM(0, base.MedialMM)
	latLo, latHi := axis.leverBand(0, -base.LateralMM)
	medLo, medHi := axis.leverBand(0, base.MedialMM)
	invert, evert := b.motionLeft(d, r.Settled)
	o := d.Options
	shell, _ := device.FindMaterial(o.Material)
	span := math.Max(d.FrontXMM-d.RimXMM, 1)
	lift := 0.0
	for _, c := range r.FootRoom {
		if c.Key == heelLift {
			lift = -c.LeftMM
		}
	}
	exact := func(key, name, unit string, v float64, words string) Figure {
		return Figure{Key: key, Name: name, Unit: unit, Now: v, Lo: v, Hi: v, Words: words}
	}
	band := func(key, name, unit string, v, lo, hi float64, words string) Figure {
		return Figure{Key: key, Name: name, Unit: unit, Now: v, Lo: lo, Hi: hi, Words: words}
	}
	out := []Figure{
		exact("base_width_mm", "base width", "mm", base.WidthMM, "a wider base steadies the heel in the frontal plane"),
		exact("base_medial_mm", "base medial of the heel bisection", "mm", base.MedialMM, "more of it resists pronation"),
		exact("base_lateral_mm", "base lateral of the heel bisection", "mm", base.LateralMM, "more of it steadies a laterally unstable foot"),
		exact("base_area_mm2", "base area", "mm²", base.AreaMM2, "more area, less pressure on the seat"),
		exact("contact_area_mm2", "area of the base that touches the seat", "mm²", b.contactArea(d, r.Settled), "less than the base's area: it stands on an edge"),
		exact("rotational_stiffness_nmm_per_rad", "rotational stiffness in the frontal plane", "N·mm/rad", st.RotationalNMMPerRad, "wedge, board and the insole on it in series, K·L·b³/12"),
		exact("tilt_off_centre_deg", fmt.Sprintf("tilt under half the body weight %d mm off centre", offCentreMM), "°",
			tiltUnder(k, math.Max(base.WidthMM, 1e-3), math.Max(base.LengthMM, 1e-3), weight, offCentreMM), "less is steadier"),
		band("lever_lateral_mm", "lever of the lateral base edge about the subtalar axis", "mm", math.Abs(lateral), latLo, latHi,
			"a longer lateral lever quickens pronation at heel contact"),
		band("lever_medial_mm", "lever of the medial base edge about the subtalar axis", "mm", math.Abs(medial), medLo, medHi,
			"a longer medial lever resists pronation more"),
		exact("motion_invert_deg", "roll left before a wall stops it, inverting", "°", invert, "walls of the shoe hold the device too"),
		exact("motion_evert_deg", "roll left before a wall stops it, everting", "°", evert, "walls of the shoe hold the device too"),
		band("strip_n_per_mm", "shell in front of the cup as a flat strip", "N/mm", stripNPerMM(shell.FlexuralMPa, shellStripMM, o.ShellThicknessMM, span),
			stripNPerMM(shell.FlexuralLo, shellStripMM, o.ShellThicknessMM, span), stripNPerMM(shell.FlexuralHi, shellStripMM, o.ShellThicknessMM, span),
			"for comparison only: measured arch stiffness does not follow thickness cubed (3.4 against 2.6 mm: 1.3 times measured, 2.24 by the formula; Tavera Pelaez 2023, J Foot Ankle Res 16)"),
		exact("cupped_over_flat", "stiffness of the cupped section over the flat strip", "times",
			cuppedOverFlat(d.HeelHalfWidthMM, o.ShellThicknessMM), "cupping dominates thickness"),
		exact("cup_hold", "cup depth against the height of the heel's widest place", "", o.CupDepthMM/math.Max(heelWaistMM(d), 1), "a deeper cup holds the heel more"),
		exact("heel_lift_over_usual_mm", "heel lift over what is usual in this kind of shoe", "mm", lift, "above zero the heel may slip out"),
		exact("mass_g", "weight", "g", d.MassG, ""),
	}
	if o.WedgeMaterial == device.EVA && o.WedgeBuild != device.Flat && o.WedgeBuild != device.Open {
		lo, hi := foamLoss(o.WedgeHardnessShoreA, r.Foot.BodyMassKG)
		h := math.Max(d.HeelSeatMM-o.ShellThicknessMM, 0)
		out = append(out, band("foam_loss_mm", "height lost at the lateral edge of the foam block in a year (estimate)", "mm",
			(lo+hi)/2*h, lo*h, hi*h, "foam softens heel contact and wears, first at the lateral edge; polypropylene does neither (common practice, no source)"))
	}
	return out
}

// shellStripMM is the width of the strip that stands for the shell.
const shellStripMM = 60

// heelWaistMM is the height of the heel's widest place, 25 mm at a foot of 266 (from memory).
func heelWaistMM(d *device.Device) float64 { return 25.0 / 266 * d.Options.FootLengthMM }

// contactArea is the area of the base within a tenth of a millimetre of the floor.
func (b *Bench) contactArea(d *device.Device, settled mesh.Pose) float64 {
	const touchMM = 0.1
	p := newProbe(d)
	area, hint := 0.0, int32(-1)
	for _, i := range p.base {
		h := b.tree.NearestFrom(settled.Apply(p.samples[i].P), hint)
		hint = h.Face
		if !h.Beyond && h.Signed < touchMM {
			area += math.Max(0, -r3.Dot(settled.Rotate(p.samples[i].A), h.Normal))
		}
	}
	return area
}

// ContactOutline is the outline of what touches the seat at the settled pose: the convex hull of the samples of the base that
// lie within a tenth of a millimetre of the floor, counterclockwise from above, in the room's frame, mm. Fewer than three points
// touch: nil.
func (b *Bench) ContactOutline(d *device.Device, r *Result) [][2]float64 {
	const touchMM = 0.1
	p := newProbe(d)
	hint := int32(-1)
	var at [][2]float64
	for _, i := range p.base {
		q := r.Settled.Apply(p.samples[i].P)
		h := b.tree.NearestFrom(q, hint)
		hint = h.Face
		if !h.Beyond && h.Signed < touchMM && footwear.Zone(b.Room.Walls.Tag[h.Face]).Floor() {
			at = append(at, [2]float64{q.X, q.Y})
		}
	}
	return hull(at)
}

// hull is the convex hull of points, counterclockwise (Andrew 1979, "Another efficient algorithm for convex hulls in two
// dimensions", Inf Process Lett 9:216; from memory).
func hull(p [][2]float64) [][2]float64 {
	slices.SortFunc(p, func(a, b [2]float64) int {
		if d := cmp.Compare(a[0], b[0]); d != 0 {
			return d
		}
		return cmp.Compare(a[1], b[1])
	})
	half := func(p [][2]float64) [][2]float64 {
		var out [][2]float64
		for _, q := range p {
			for len(out) > 1 {
				a, b := out[len(out)-2], out[len(out)-1]
				if (b[0]-a[0])*(q[1]-a[1])-(b[1]-a[1])*(q[0]-a[0]) > 0 {
					break
				}
				out = out[:len(out)-1]
			}
			out = append(out, q)
		}
		return out
	}
	lower := half(p)
	slices.Reverse(p)
	upper := half(p)
	if len(lower) < 2 || len(upper) < 2 {
		return nil
	}
	out := append(lower[:len(lower)-1:len(lower)-1], upper[:len(upper)-1]...)
	if len(out) < 3 {
		return nil
	}
	return out
}

// mostMotionDeg is the roll beyond which it does not matter what stops it.
const mostMotionDeg = 15

// motionLeft is how far the settled device can still roll about the middle of its base, inverting and everting, until a
// wall beside it has yielded its give: the first order of each sample's gap, degrees.
func (b *Bench) motionLeft(d *device.Device, settled mesh.Pose) (invert, evert float64) {
	p := newProbe(d)
	centre := settled.Apply(r3.Vec{X: d.RimXMM})
	along := settled.Rotate(r3.Vec{X: 1})
	invert, evert = mostMotionDeg, mostMotionDeg
	hint := int32(-1)
	for i := range p.samples {
		q := settled.Apply(p.samples[i].P)
		h := b.tree.NearestFrom(q, hint)
		hint = h.Face
		if h.Beyond || footwear.Zone(b.Room.Walls.Tag[h.Face]).Floor() {
			continue
		}
		perRad := r3.Dot(h.Normal, r3.Cross(along, r3.Sub(q, centre))) // how the gap grows as it inverts
		left := math.Max(h.Signed+b.giveMM(b.Room, footwear.Zone(b.Room.Walls.Tag[h.Face])), 0) / math.Max(math.Abs(perRad), 1e-9) * 180 / math.Pi
		if perRad < 0 {
			invert = math.Min(invert, left)
		} else {
			evert = math.Min(evert, left)
		}
	}
	return invert, evert
}

// Support is what a device gives in this room, beside what the device as ordered and the plain reference device (Default
// for the same foot and heel rise; the smallest feet have no room for its bevels, and it is upright there) give in it. A device that
// does not come to rest gives no figures.
func (b *Bench) Support(ctx context.Context, now, ordered *device.Device, foot Foot, axis Axis) ([]Figure, error) {
	plain := device.Default()
	plain.FootLengthMM, plain.HeelRiseMM, plain.Sex = now.Options.FootLengthMM, now.Options.HeelRiseMM, now.Options.Sex
	reference, err := device.Build(plain)
	if err != nil {
		plain.BevelMedialDeg, plain.BevelLateralDeg, plain.BevelBackDeg, plain.BevelFrontDeg = 0, 0, 0, 0
		if reference, err = device.Build(plain); err != nil {
			return nil, err
		}
	}
	var all [3][]Figure
	for i, d := range []*device.Device{now, ordered, reference} {
		if i > 0 && d == now {
			all[i] = all[0]
			continue
		}
		r, err := b.Check(ctx, d, foot)
		if err != nil {
			return nil, err
		}
		if r.Status != Converged {
			if i == 0 {
				return nil, fmt.Errorf("the device did not come to rest in this shoe (%s), so its support is not known", r.Status)
			}
			continue
		}
		all[i] = b.figuresOf(d, r, axis)
	}
	value := func(list []Figure, key string) float64 {
		for _, f := range list {
			if f.Key == key {
				return f.Now
			}
		}
		return math.NaN()
	}
	for i := range all[0] {
		all[0][i].Ordered = value(all[1], all[0][i].Key)
		all[0][i].Plain = value(all[2], all[0][i].Key)
	}
	return all[0], nil
}
