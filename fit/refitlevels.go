package fit

import (
	"math"
	"slices"
	"strconv"

	"lastroom/device"
	"lastroom/footwear"
)

// A level is one option at one value that the search may try. A bevel past what the wedge's width (or start) lets it have
// takes the wedge's sides (or back) in with it: width is then the most and from the least that they may be; 0: as they are.
type level struct {
	key, value  string
	work        Work
	width, from float64
}

// on sets levels on options.
func on(o device.Options, levels ...level) (device.Options, error) {
	for _, l := range levels {
		if err := o.Set(l.key, l.value); err != nil {
			return o, err
		}
	}
	for _, l := range levels {
		if l.width > 0 {
			o.WedgeWidthMM = math.Min(o.WedgeWidthMM, l.width)
		}
		o.WedgeStartMM = math.Max(o.WedgeStartMM, l.from)
	}
	return o, nil
}

// eased is the level with the wedge's sides or back taken in just so far that it can be built, if that helps.
func eased(o device.Options, l level) level {
	const steps, stepMM = 6, 1.0
	side := l.key == "bevel_medial_deg" || l.key == "bevel_lateral_deg"
	if !side && (l.key != "bevel_back_deg" || o.WedgeBuild != device.Block) {
		return l
	}
	for i := range steps + 1 {
		t := l
		if i > 0 && side {
			t.width = math.Round(o.WedgeWidthMM - stepMM*float64(i))
		} else if i > 0 {
			t.from = math.Round(o.WedgeStartMM + stepMM*float64(i))
		}
		if with, err := on(o, t); err == nil && len(with.Validate()) == 0 {
			return t
		}
	}
	return l
}

// A start is a device that the search sets out from: today's, or one whose wedge, process or angles are of another kind, so
// that its surface has nothing in common with today's. set is what makes it; the rest follows from that.
type start struct {
	options device.Options
	work    Work
}

// The reach of the bench tool: what grinding leaves at least. Common practice, no source.
const (
	leastPolymerWedgeMM = 1   // a polymer wedge thinner than this chips
	leastFoamWedgeMM    = 2   // foam thinner than this tears
	leastCupMM          = 8   // a cup less deep holds no heel
	mostBevelDeg        = 50  // flatter, the edge of the base feathers away under the tool
	leastCoverMM        = 0.5 // a cover skived thinner tears
)

// starts are today's device and those of other kinds that the work allowed can make of it. Options must be resolved.
func starts(today device.Options, allow func(Work) bool) []start {
	out := []start{{today, NoWork}}
	add := func(o device.Options, w Work) {
		if allow(w) && len(o.Validate()) == 0 {
			if r := o.Resolved(); r != today {
				out = append(out, start{r, w})
			}
		}
	}
	for _, build := range []string{device.Block, device.ForeBar, device.Flat, device.Open} {
		if build != today.WedgeBuild {
			add(rebuilt(today, build), Lab)
		}
	}
	if today.ContactAngleDeg != 0 || today.MotionDeg != 0 {
		o := today
		o.ContactAngleDeg, o.MotionDeg = 0, 0
		add(o, Lab)
		if half := math.Round(today.MotionDeg); half != 0 && half/2 != today.MotionDeg {
			o = today
			o.MotionDeg = half / 2
			o.ContactAngleDeg = math.Min(o.ContactAngleDeg, o.MotionDeg)
			add(o, Lab)
		}
	}
	if today.Process == device.Formed {
		o := today
		o.Process = device.Milled
		if o.WedgeBuild == device.Block || o.WedgeBuild == device.ForeBar {
			o.WedgeMaterial, o.WedgeHardnessShoreA, o.CapMM = device.SamePolymer, 0, 0
		}
		if m, _ := device.FindMaterial(o.Material); !m.Milled {
			o.Material = "pa12"
		}
		add(o, Remake)
	}
	return out
}

// rebuilt is the device on another wedge build: what the build does not have is taken out, what it needs is automatic.
func rebuilt(o device.Options, build string) device.Options {
	had := o.WedgeBuild == device.Block || o.WedgeBuild == device.ForeBar
	o.WedgeBuild = build
	o.WedgeStartMM, o.WedgeBarMM = 0, 0
	if build == device.Flat || build == device.Open {
		o.WedgeWidthMM, o.WedgeLengthMM, o.ContactAngleDeg, o.MotionDeg, o.TiltDeg = 0, 0, 0, 0, 0
		o.HeelRaiseMM, o.CapMM, o.WedgeHardnessShoreA = 0, 0, 0
		return o
	}
	if build != device.Block {
		o.CapMM = 0
	}
	if !had {
		o.WedgeWidthMM, o.WedgeLengthMM = 0, 0
		o.WedgeMaterial = device.Auto
	}
	return o
}

// levels are what may be changed about a start, one option at a time.
func levels(o device.Options, room *footwear.Room, allow func(Work) bool) []level {
	var out []level
	number := func(w Work, key string, lo, hi float64, values ...float64) {
		if !allow(w) {
			return
		}
		now := o.Number(key)
		for _, v := range values {
			v = math.Round(v*100) / 100
			if v < lo-1e-9 || v > hi+1e-9 || math.Abs(v-now) < 1e-9 {
				continue
			}
			t := o
			text := strconv.FormatFloat(v, 'g', -1, 64)
			l := level{key: key, value: text, work: w}
			if t.Set(key, text) == nil && !slices.Contains(out, l) {
				out = append(out, eased(o, l))
			}
		}
	}
	word := func(w Work, key string, values ...string) {
		for _, v := range values {
			if allow(w) && o.Get(key) != v {
				out = append(out, level{key: key, value: v, work: w})
			}
		}
	}
	off := func(key string, by ...float64) []float64 {
		now := o.Number(key)
		for i := range by {
			by[i] += now
		}
		return by
	}
	block := o.WedgeBuild == device.Block || o.WedgeBuild == device.ForeBar
	inf := math.Inf(1)
	if block {
		sides := []string{"bevel_medial_deg", "bevel_lateral_deg", "bevel_back_deg", "bevel_front_deg"}
		for _, side := range sides {
			number(Grind, side, 0, mostBevelDeg, off(side, 4, 8, 12, 16, 20, 25, 30)...)
		}
		number(Grind, "wedge_length_mm", 25, inf, off("wedge_length_mm", -4, -8, -12, -16)...)
		number(Grind, "wedge_width_mm", 25, inf, off("wedge_width_mm", -2, -4, -6, -8)...)
		if o.WedgeBuild == device.Block {
			number(Grind, "wedge_start_mm", 0, inf, off("wedge_start_mm", 2, 4, 6)...)
			least := float64(leastPolymerWedgeMM)
			if o.WedgeMaterial == device.EVA {
				least = leastFoamWedgeMM
			}
			number(Grind, "wedge_min_thickness_mm", least, inf, off("wedge_min_thickness_mm", -0.5, -1, -1.5)...)
		} else {
			number(Grind, "wedge_bar_mm", 8, inf, off("wedge_bar_mm", -4, -8)...)
		}
	}
	number(Grind, "cup_depth_mm", leastCupMM, inf, off("cup_depth_mm", -1, -2, -3, -4)...)
	number(Grind, "arch_flange_mm", 3, inf, off("arch_flange_mm", -2, -4, -6, -8)...)
	number(Grind, "lateral_flange_mm", 1, inf, off("lateral_flange_mm", -1, -2, -3, -4)...)
	number(Grind, "width_trim_mm", 0, inf, off("width_trim_mm", 2, 4, 6, 8)...)
	number(Grind, "front_trim_mm", 0, inf, off("front_trim_mm", 3, 6, 10)...)
	if o.HasCover() {
		number(Grind, "cover_heel_mm", leastCoverMM, inf, off("cover_heel_mm", -0.5, -1)...)
		number(Grind, "cover_front_mm", leastCoverMM, inf, off("cover_front_mm", -0.5, -1)...)
		switch o.CoverExtent {
		case device.Full:
			word(Lab, "cover_extent", device.ToeCrease, device.FrontEdgeX, device.None)
		case device.ToeCrease:
			word(Lab, "cover_extent", device.FrontEdgeX, device.None)
		case device.FrontEdgeX:
			word(Lab, "cover_extent", device.None)
		}
	}
	if o.HasExtension() {
		number(Lab, "extension_mm", 1.5, inf, off("extension_mm", -1, -2)...)
	}
	if block {
		for _, side := range []string{"bevel_medial_deg", "bevel_lateral_deg"} {
			number(Lab, side, 0, mostBevelDeg, off(side, -10, -20, -30)...)
		}
		number(Lab, "wedge_length_mm", 25, inf, off("wedge_length_mm", 6, 12)...)
		number(Lab, "wedge_width_mm", 25, inf, off("wedge_width_mm", 3, 6)...)
		number(Lab, "heel_raise_mm", 0, inf, off("heel_raise_mm", -1, -2, -3, -4, -6)...)
		if o.WedgeMaterial == device.EVA && o.Process == device.Formed {
			number(Lab, "wedge_hardness_shore_a", 20, 80, off("wedge_hardness_shore_a", 10, 20)...)
		}
	}
	for _, mm := range []float64{-0.5, -0.8, -1, -1.2, -1.5, -1.8, -2} {
		v := math.Round((o.ShellThicknessMM+mm)*100) / 100
		if o.Process == device.Milled || slices.Contains(device.SheetsMM, v) {
			number(Remake, "shell_thickness_mm", 0, inf, v)
		}
	}
	number(Remake, "heel_width_mm", 0, inf, off("heel_width_mm", -2, -4)...)
	if rise := math.Round(room.Sheet.V(footwear.HeelRise)); math.Abs(rise-o.HeelRiseMM) >= 1 {
		number(Remake, "heel_rise_mm", 0, inf, rise)
	}
	return out
}
