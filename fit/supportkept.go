package fit

import (
	"fmt"
	"math"

	"lastroom/device"
)

// traits is what is known of a candidate without seating it: its options and what it stands on.
type traits struct {
	options    device.Options // resolved
	base       device.Base
	foundation float64 // N/mm³
	axis       Axis
}

func (b *Bench) traitsOf(d *device.Device, axis Axis) *traits {
	return &traits{options: d.Options, base: d.Base, foundation: b.foundation(d), axis: axis}
}

// pinFigures are the figures of support that follow from the traits alone, with their names.
var pinFigures = []struct {
	key, name, unit string
	of              func(*traits) float64
}{
	{"base_width_mm", "base width", "mm", func(t *traits) float64 { return t.base.WidthMM }},
	{"base_medial_mm", "base medial of the heel bisection", "mm", func(t *traits) float64 { return t.base.MedialMM }},
	{"base_lateral_mm", "base lateral of the heel bisection", "mm", func(t *traits) float64 { return t.base.LateralMM }},
	{"base_length_mm", "base length", "mm", func(t *traits) float64 { return t.base.LengthMM }},
	{"rotational_stiffness_nmm_per_rad", "rotational stiffness in the frontal plane", "N·mm/rad", (*traits).rotational},
	{"lever_medial_mm", "lever of the medial base edge", "mm", func(t *traits) float64 { return math.Abs(t.axis.LeverMM(0, t.base.MedialMM)) }},
	{"lever_lateral_mm", "lever of the lateral base edge", "mm", func(t *traits) float64 { return math.Abs(t.axis.LeverMM(0, -t.base.LateralMM)) }},
}

// PinFigures are the keys of the figures of support that a Pin can hold.
func PinFigures() []string {
	var keys []string
	for _, f := range pinFigures {
		keys = append(keys, f.key)
	}
	return keys
}

func isPinFigure(key string) bool {
	for _, f := range pinFigures {
		if f.key == key {
			return true
		}
	}
	return false
}

func (t *traits) figure(key string) float64 {
	for _, f := range pinFigures {
		if f.key == key {
			return f.of(t)
		}
	}
	return math.NaN()
}

// rotational is K·L·b³/12, as Stability.
func (t *traits) rotational() float64 {
	return t.foundation * t.base.LengthMM * math.Pow(t.base.WidthMM, 3) / 12
}

// shellStiffness compares shells: modulus times thickness. By the formula for strips it would go with thickness cubed,
// which measurements do not follow (3.4 against 2.6 mm: 1.3 times; Tavera Pelaez 2023, J Foot Ankle Res 16, read): 1.3 is
// the ratio of the thicknesses.
func (t *traits) shellStiffness() float64 {
	m, _ := device.FindMaterial(t.options.Material)
	return m.FlexuralMPa * t.options.ShellThicknessMM
}

// A SupportTerm is one thing that a device is ordered for. Weight is how much it counts in what is kept beside the others
// (ours, common practice, no source; a Preference multiplies it).
type SupportTerm struct {
	Key, Name string
	Weight    float64
	kept      func(now, ordered *traits) float64 // 0 to 1
}

// SupportTerms are what SupportKept weighs. A wider or stiffer base than ordered counts as kept, not as more; of a lever,
// a shell or an angle any change from what was ordered is a loss, since the prescription chose it.
var SupportTerms = []SupportTerm{
	{"steadiness", "steadiness in the frontal plane", 3, func(n, o *traits) float64 { return most(n.rotational(), o.rotational()) }},
	{"medial_lever", "medial lever", 2, func(n, o *traits) float64 { return most(n.figure("lever_medial_mm"), o.figure("lever_medial_mm")) }},
	{"lateral_lever", "lateral lever", 1, func(n, o *traits) float64 {
		return alike(n.figure("lever_lateral_mm"), o.figure("lever_lateral_mm"))
	}},
	{"base_length", "base length", 1, func(n, o *traits) float64 { return most(n.base.LengthMM, o.base.LengthMM) }},
	{"cup", "hold of the cup", 2, func(n, o *traits) float64 { return most(n.options.CupDepthMM, o.options.CupDepthMM) }},
	{"shell", "stiffness of the shell", 2, func(n, o *traits) float64 { return alike(n.shellStiffness(), o.shellStiffness()) }},
	{"arch", "height of the arch's edge", 1, func(n, o *traits) float64 { return most(n.options.ArchFlangeMM, o.options.ArchFlangeMM) }},
	{"lateral_edge", "height of the lateral edge", 0.5, func(n, o *traits) float64 { return most(n.options.LateralFlangeMM, o.options.LateralFlangeMM) }},
	{"reach", "width and reach of the front edge", 0.5, func(n, o *traits) float64 {
		return 1 - math.Min(1, math.Abs(n.options.FrontTrimMM-o.options.FrontTrimMM)/40+math.Abs(n.options.WidthTrimMM-o.options.WidthTrimMM)/80)
	}},
	{"angle", "contact angle, motion and tilt", 3, func(n, o *traits) float64 {
		off := math.Abs(n.options.ContactAngleDeg-o.options.ContactAngleDeg) + math.Abs(n.options.MotionDeg-o.options.MotionDeg) +
			math.Abs(n.options.TiltDeg-o.options.TiltDeg)
		return 1 - math.Min(1, off/8)
	}},
	{"raise", "heel raise", 1, func(n, o *traits) float64 {
		return 1 - math.Min(1, math.Abs(n.options.HeelRaiseMM-o.options.HeelRaiseMM)/8)
	}},
	{"width", "fit to the foot's heel", 1, func(n, o *traits) float64 {
		return 1 - math.Min(1, math.Abs(n.options.HeelWidthMM-o.options.HeelWidthMM)/10)
	}},
	{"cushion", "cushion of the cover", 0.5, func(n, o *traits) float64 { return most(n.cushion(), o.cushion()) }},
}

func (t *traits) cushion() float64 {
	switch t.options.CoverExtent {
	case device.None:
		return 0
	case device.FrontEdgeX:
		return t.options.CoverHeelMM
	}
	return t.options.CoverHeelMM + t.options.CoverFrontMM
}

// most is the share of what was there that is left, at most 1.
func most(now, was float64) float64 {
	if was <= 0 {
		return 1
	}
	return math.Max(0, math.Min(1, now/was))
}

// alike is the smaller over the larger.
func alike(now, was float64) float64 {
	hi := math.Max(now, was)
	if hi <= 0 {
		return 1
	}
	return math.Max(0, math.Min(now, was)/hi)
}

// SupportKept is the share of what the device as ordered gives that another keeps, 0 to 1, and what is lost, in words.
func (b *Bench) SupportKept(now, ordered *device.Device, axis Axis) (kept float64, lost []string) {
	return supportKept(b.traitsOf(now, axis), b.traitsOf(ordered, axis), nil)
}

// supportKept is the weighted mean of the terms, and what is lost in words, the largest loss first.
func supportKept(now, ordered *traits, prefer []Preference) (kept float64, lost []string) {
	type loss struct {
		weight float64
		words  string
	}
	var sum, whole float64
	var losses []loss
	for _, t := range SupportTerms {
		w := t.Weight
		for _, p := range prefer {
			if p.Key == t.Key {
				w *= p.Weight
			}
		}
		k := t.kept(now, ordered)
		sum += w * k
		whole += w
		if k < 0.97 {
			losses = append(losses, loss{w * (1 - k), fmt.Sprintf("%s %.0f %%", t.Name, 100*k)})
		}
	}
	for i := range losses { // few: the largest goes first
		for j := i; j > 0 && losses[j].weight > losses[j-1].weight; j-- {
			losses[j], losses[j-1] = losses[j-1], losses[j]
		}
	}
	for _, l := range losses {
		lost = append(lost, l.words)
	}
	if whole <= 0 {
		return 1, lost
	}
	return sum / whole, lost
}
