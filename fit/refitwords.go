package fit

import (
	"fmt"
	"math"
	"strings"

	"lastroom/device"
)

// changes lists what a candidate changes from today's device, in bench terms.
func changes(s *search, today *device.Device, c *candidate) []Change {
	now := c.checked
	work := map[string]Work{}
	for _, p := range c.picks {
		v := &c.family.variants[p]
		work[v.key] = v.work
	}
	var out []Change
	for _, k := range device.Keys() {
		from, to := today.Options.Get(k.Key), now.Options.Get(k.Key)
		if from == to {
			continue
		}
		ch := Change{Key: k.Key, Name: k.Name, Unit: k.Unit, From: from, To: to}
		var known bool
		if ch.Work, known = work[k.Key]; !known {
			ch.Work = c.work
			ch.Follows = k.Key != "wedge_build" && k.Key != "process" && k.Key != "contact_angle_deg" && k.Key != "motion_deg"
		}
		ch.Words = changeWords(&k, ch, today, now.Device)
		out = append(out, ch)
	}
	return out
}

// ChangesBetween lists what makes one device of another, in bench terms, each with the least kind of work that it takes.
func ChangesBetween(from, to *device.Device) []Change {
	var out []Change
	for _, k := range device.Keys() {
		a, b := from.Options.Get(k.Key), to.Options.Get(k.Key)
		if a == b || k.Key == "side" || k.Group == "foot" {
			continue
		}
		ch := Change{Key: k.Key, Name: k.Name, Unit: k.Unit, From: a, To: b}
		ch.Work = workOf(k.Key, to.Options.Number(k.Key)-from.Options.Number(k.Key))
		ch.Words = changeWords(&k, ch, from, to)
		out = append(out, ch)
	}
	return out
}

// workOf is the least work that changes an option by so much.
func workOf(key string, by float64) Work {
	switch key {
	case "bevel_medial_deg", "bevel_lateral_deg", "bevel_back_deg", "bevel_front_deg", "wedge_start_mm", "width_trim_mm", "front_trim_mm":
		if by > 0 {
			return Grind
		}
		if key == "width_trim_mm" || key == "front_trim_mm" {
			return Remake
		}
	case "wedge_length_mm", "wedge_width_mm", "wedge_bar_mm", "wedge_min_thickness_mm", "cover_heel_mm", "cover_front_mm":
		if by < 0 {
			return Grind
		}
	case "cup_depth_mm", "arch_flange_mm", "lateral_flange_mm":
		if by < 0 {
			return Grind
		}
		return Remake
	case "process", "material", "shell_thickness_mm", "cup_thinning_percent", "heel_width_mm", "heel_rise_mm", "arch_height_mm", "foot_length_mm", "sex":
		return Remake
	}
	return Lab
}

// ChangeWords is what is changed, in one line; what only follows is left out.
func (c *Choice) ChangeWords() string {
	var words []string
	for _, ch := range c.Changes {
		if !ch.Follows {
			words = append(words, ch.Words)
		}
	}
	if len(words) == 0 {
		return "no change"
	}
	return strings.Join(words, "; ")
}

func changeWords(k *device.Key, c Change, was, now *device.Device) string {
	a, b := was.Options.Number(c.Key), now.Options.Number(c.Key)
	a, b = math.Round(a*10)/10, math.Round(b*10)/10
	step := math.Round(math.Abs(b-a)*10) / 10
	off := func(before, after float64) string {
		// What other changes do to the base as well is not the bevel's doing.
		if d := before - after; math.Abs(d) >= 0.05 && (d > 0) == (b > a) {
			verb := "takes"
			if d < 0 {
				verb = "adds"
			}
			return fmt.Sprintf(" (%s %.1f mm of the base there)", verb, math.Abs(d))
		}
		return ""
	}
	bevel := func(side string, before, after float64) string {
		verb := "bevel"
		if b < a {
			verb = "build up"
		}
		return fmt.Sprintf("%s the %s side of the wedge from %.4g° to %.4g°%s", verb, side, a, b, off(before, after))
	}
	lower := func(what string) string {
		verb := "lower"
		if b > a {
			verb = "raise"
		}
		return fmt.Sprintf("%s %s by %.4g mm, to %.4g mm", verb, what, step, b)
	}
	switch c.Key {
	case "bevel_medial_deg":
		return bevel("medial", was.Base.MedialMM, now.Base.MedialMM)
	case "bevel_lateral_deg":
		return bevel("lateral", was.Base.LateralMM, now.Base.LateralMM)
	case "bevel_back_deg":
		return fmt.Sprintf("bevel the back of the wedge from %.4g° to %.4g°%s", a, b, off(-was.Base.BackXMM, -now.Base.BackXMM))
	case "bevel_front_deg":
		return fmt.Sprintf("bevel the front of the wedge from %.4g° to %.4g°", a, b)
	case "wedge_length_mm":
		if b < a {
			return fmt.Sprintf("shorten the base from the front by %.4g mm: it ends %.4g mm from the back of the device", step, b)
		}
		return fmt.Sprintf("lengthen the base to the front by %.4g mm: it ends %.4g mm from the back of the device", step, b)
	case "wedge_start_mm":
		return fmt.Sprintf("shorten the base from the back by %.4g mm: the block leaves the cup %.4g mm in front of the back", step, b)
	case "wedge_width_mm":
		if b < a {
			return fmt.Sprintf("narrow the wedge at the cup by %.4g mm, to %.4g mm (%.4g mm a side)", step, b, step/2)
		}
		return fmt.Sprintf("widen the wedge at the cup by %.4g mm, to %.4g mm", step, b)
	case "wedge_bar_mm":
		return fmt.Sprintf("shorten the bar by %.4g mm, to %.4g mm", step, b)
	case "wedge_min_thickness_mm":
		return fmt.Sprintf("thin the base by %.4g mm: %.4g mm of wedge are left at the thinnest", step, b)
	case "cup_depth_mm":
		return lower("the rim of the cup")
	case "arch_flange_mm":
		return lower("the medial edge at the arch")
	case "lateral_flange_mm":
		return lower("the lateral edge in front of the cup")
	case "width_trim_mm":
		return fmt.Sprintf("narrow the front edge by %.4g mm, both sides together", step)
	case "front_trim_mm":
		return fmt.Sprintf("shorten the front edge by %.4g mm: it ends %.4g mm behind the metatarsal heads", step, b)
	case "cover_heel_mm":
		return fmt.Sprintf("skive the cover at the heel by %.4g mm, to %.4g mm", step, b)
	case "cover_front_mm":
		return fmt.Sprintf("skive the cover at the front by %.4g mm, to %.4g mm", step, b)
	case "cover_extent":
		if c.To == device.None {
			return "take the cover off"
		}
		return "shorten the cover to the " + strings.ReplaceAll(c.To, "-", " ")
	case "wedge_build":
		return fmt.Sprintf("build the wedge as %s instead of %s", strings.ReplaceAll(c.To, "-", " "), strings.ReplaceAll(c.From, "-", " "))
	case "process":
		return fmt.Sprintf("make the shell anew, %s instead of %s", c.To, c.From)
	case "shell_thickness_mm":
		return fmt.Sprintf("make the shell anew, %.4g mm thick instead of %.4g mm", b, a)
	case "heel_width_mm":
		return fmt.Sprintf("make the shell anew for a heel %.4g mm wide instead of %.4g mm", b, a)
	case "heel_rise_mm":
		return fmt.Sprintf("make the shell anew for a heel rise of %.4g mm instead of %.4g mm", b, a)
	}
	unit := k.Unit
	if unit != "" && unit != "°" {
		unit = " " + unit
	}
	return fmt.Sprintf("%s: %s%s instead of %s%s", lowerFirst(k.Name), c.To, unit, c.From, unit)
}
