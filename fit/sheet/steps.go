package sheet

import (
	"fmt"
	"math"
	"strings"

	"lastroom/device"
)

// tools says, for each option, what it is worked with and what it is checked with (common practice, no source).
var tools = map[string]string{
	"side": "read off the order", "sex": "read off the order", "foot_length_mm": "foot measure",
	"heel_width_mm": "model; calliper", "arch_height_mm": "model; height gauge", "heel_rise_mm": "model on a heel block; height gauge",
	"heel_raise_mm": "wedge; height gauge", "tilt_deg": "model on a wedge; angle gauge",
	"process": "press, mill or printer", "material": "label of the sheet", "shell_thickness_mm": "thickness calliper",
	"cup_thinning_percent": "thickness calliper",
	"cup_depth_mm":         "grinding wheel, then fine belt; height gauge from the lowest point of the cup",
	"arch_flange_mm":       "grinding wheel, then fine belt; height gauge", "lateral_flange_mm": "grinding wheel, then fine belt; height gauge",
	"width_trim_mm": "grinding wheel; calliper across the front edge", "front_trim_mm": "grinding wheel; rule along the bisection",
	"wedge_build": "wedge taken off and built anew; template of the base", "wedge_width_mm": "grinding wheel; calliper where the wedge leaves the cup",
	"wedge_length_mm": "grinding wheel; template of the base, rule", "wedge_start_mm": "grinding wheel; template of the base, rule",
	"wedge_bar_mm": "grinding wheel; template of the base, rule", "wedge_min_thickness_mm": "flat grinding plate; thickness calliper",
	"contact_angle_deg": "flat grinding plate; angle gauge on the base", "motion_deg": "flat grinding plate; angle gauge on the base",
	"bevel_medial_deg":       "grinding wheel; angle gauge from the base, template of the base",
	"bevel_lateral_deg":      "grinding wheel; angle gauge from the base, template of the base",
	"bevel_back_deg":         "grinding wheel; angle gauge from the base, long template",
	"bevel_front_deg":        "grinding wheel; angle gauge from the base, long template",
	"wedge_material":         "label of the block",
	"wedge_hardness_shore_a": "hardness gauge, Shore A", "cap_mm": "glue, grinding wheel; thickness calliper", "cap_material": "label of the sheet",
	"cover_extent": "knife; rule", "cover_material": "label of the sheet",
	"cover_heel_mm": "skiving knife or belt; thickness calliper", "cover_front_mm": "skiving knife or belt; thickness calliper",
	"extension": "knife; rule", "extension_mm": "skiving knife or belt; thickness calliper", "extension_material": "label of the sheet",
	shoeKey: "none at the device: the shoe is changed",
}

// toMake is the work of a device that is ordered.
const toMake = "to make"

// shoeKey is the key of a change of the room.
const shoeKey = "shoe"

// stepsOf are the instructions: what changes, or, where nothing is changed, what is made.
func stepsOf(c Case) []Step {
	steps := []Step{}
	if c.After == nil {
		for _, r := range orderRows(c.Before.Device.Options, c.FromScan) {
			from := "new"
			if c.FromScan {
				from = "as scanned"
			}
			steps = append(steps, Step{
				Number: len(steps) + 1, Key: r.Key, Feature: r.Name, From: from, To: r.Text, Tool: tools[r.Key], Work: toMake,
				Words: r.Name + ": " + r.Text,
			})
		}
		return steps
	}
	var follow []Step
	for _, ch := range c.After.Changes {
		st := Step{Key: ch.Key, Feature: featureName(ch.Key, ch.Name), Tool: tools[ch.Key], Work: ch.Work.Words(), Words: ch.Words}
		st.From, st.To = valueText(ch.Key, ch.From), valueText(ch.Key, ch.To)
		if ch.Follows {
			follow = append(follow, st)
			continue
		}
		st.Number = len(steps) + 1
		steps = append(steps, st)
	}
	return append(steps, follow...)
}

// featureName is an option's name that can stand alone, without its group's heading.
func featureName(key, name string) string {
	switch {
	case strings.HasPrefix(key, "bevel_"):
		return "Bevel, " + strings.ToLower(name)
	case key == "wedge_length_mm":
		return "Base ends, from the back"
	case key == "wedge_start_mm":
		return "Wedge starts, from the back"
	case key == "wedge_build":
		return "Build of the heel wedge"
	case key == "wedge_width_mm":
		return "Wedge's width at the cup"
	case key == "wedge_min_thickness_mm":
		return "Wedge's least thickness"
	case key == "material" || key == "shell_thickness_mm":
		return "Shell: " + strings.ToLower(name)
	case name == "":
		return key
	}
	return name
}

// valueText is an option's value with its unit, rounded as a bench reads it.
func valueText(key, text string) string {
	k, ok := device.FindKey(key)
	if !ok || !k.IsNumber() {
		return spoken(key, text)
	}
	var o device.Options
	if o.Set(key, text) != nil {
		return text
	}
	v := short(o.Number(key))
	switch k.Unit {
	case "":
		return v
	case "°":
		return v + "°"
	default:
		return v + " " + k.Unit
	}
}

// spoken is a word of an option as one says it.
func spoken(key, word string) string {
	switch key {
	case "material":
		if m, ok := device.FindMaterial(word); ok {
			return m.Name
		}
	case "cover_material", "extension_material", "cap_material":
		for _, list := range [][]device.SoftMaterial{device.SoftMaterials, device.CapMaterials} {
			for _, m := range list {
				if m.Key == word {
					return m.Name
				}
			}
		}
	}
	return strings.ReplaceAll(word, "-", " ")
}

// orderRows are the options that say something about this device, in the order in which a prescription is written.
func orderRows(o device.Options, scanned bool) []Row {
	given := o
	o = o.Resolved()
	rows := []Row{}
	for _, k := range device.Keys() {
		if !says(&o, k.Key) {
			continue
		}
		how := "as ordered; check with: " + tools[k.Key]
		switch {
		case scanned:
			how = "read off the scan; check with: " + tools[k.Key]
		case k.Automatic && given.Number(k.Key) == 0:
			how = "left open in the order, chosen by rule; check with: " + tools[k.Key]
		}
		rows = append(rows, Row{k.Key, featureName(k.Key, k.Name), valueText(k.Key, o.Get(k.Key)), how})
	}
	return rows
}

// says tells whether an option has a say in the device.
func says(o *device.Options, key string) bool {
	block := o.WedgeBuild == device.Block || o.WedgeBuild == device.ForeBar
	switch key {
	case "sex":
		return false
	case "wedge_width_mm", "wedge_length_mm", "wedge_start_mm", "bevel_medial_deg", "bevel_lateral_deg", "bevel_back_deg", "bevel_front_deg",
		"wedge_material":
		return block
	case "wedge_min_thickness_mm":
		return o.WedgeBuild == device.Block
	case "wedge_bar_mm":
		return o.WedgeBuild == device.ForeBar
	case "wedge_hardness_shore_a":
		return block && o.WedgeMaterial == device.EVA
	case "contact_angle_deg", "motion_deg":
		return o.ContactAngleDeg != 0 || o.MotionDeg != 0
	case "tilt_deg", "heel_raise_mm":
		return o.Number(key) != 0
	case "cup_thinning_percent":
		return o.Process == device.Formed
	case "cap_mm", "cap_material":
		return block && o.CapMM > 0
	case "cover_material", "cover_heel_mm", "cover_front_mm":
		return o.HasCover()
	case "extension_mm", "extension_material":
		return o.HasExtension()
	}
	return true
}

// short is a number with at most one decimal place.
func short(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "not known"
	}
	if math.Abs(v) >= 1000 {
		return fmt.Sprintf("%.0f", v)
	}
	return strings.TrimSuffix(fmt.Sprintf("%.1f", noMinusZero(v, 1)), ".0")
}

// noMinusZero is v without the sign that it would be shown with as zero.
func noMinusZero(v float64, places int) float64 {
	if math.Abs(v) < 0.5*math.Pow(10, -float64(places)) {
		return 0
	}
	return v
}
