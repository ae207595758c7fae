package device

import (
	"fmt"
	"math"
	"strings"

	"lastroom/internal/problem"
)

// A rule is one that the trade or the making has beyond an option's own limits. Broken rules are problems; those
// marked advice only notes (Notes).
type rule struct {
	field  string
	breaks func(o *Options) bool
	limit  func(o *Options) string
	mend   string
	advice bool
}

func says(s string) func(*Options) string { return func(*Options) string { return s } }

// needsBlock lists options that only a block or a bar can have.
func needsBlock(field, what string, set func(o *Options) bool) rule {
	return rule{
		field: field, breaks: func(o *Options) bool { return o.grounded() && set(o) },
		limit: func(o *Options) string { return article(o.WedgeBuild) + " build has no " + what + " of its own" },
		mend:  "set it to 0, or wedge_build to block or fore-bar",
	}
}

// rules are the rules of the trade: common practice, no source, unless a row says otherwise. What only shows on the
// shape (a bevel that eats the base away, a wedge wider than its cup) is in fitting.go.
var rules = []rule{
	{
		field:  "wedge_material",
		breaks: func(o *Options) bool { return o.Process == Milled && !oneOf(o.WedgeMaterial, Auto, SamePolymer) },
		limit:  says("a milled shell is one piece with its wedge, of the same polymer"),
		mend:   "set wedge_material to same or auto, or process to formed",
	},
	{
		field:  "wedge_material",
		breaks: func(o *Options) bool { return o.Process == Formed && o.WedgeMaterial == SamePolymer && !o.grounded() },
		limit:  says("a formed shell's wedge is added to the sheet: polypropylene or eva"),
		mend:   "set wedge_material to polypropylene, eva or auto, or process to milled",
	},
	{
		field: "material",
		breaks: func(o *Options) bool {
			m, ok := FindMaterial(o.Material)
			return ok && (o.Process == Formed && !m.Formed || o.Process == Milled && !m.Milled)
		},
		limit: func(o *Options) string {
			var can []string
			for _, m := range Materials {
				if o.Process == Formed && m.Formed || o.Process == Milled && m.Milled {
					can = append(can, m.Key)
				}
			}
			return "a " + o.Process + " shell is made of " + strings.Join(can, ", ")
		},
		mend: "choose one of them or the other process",
	},
	{
		field: "shell_thickness_mm",
		breaks: func(o *Options) bool {
			m, ok := FindMaterial(o.Material)
			return ok && (o.ShellThicknessMM < m.LeastThickMM || o.ShellThicknessMM > m.MostMM)
		},
		limit: func(o *Options) string {
			m, _ := FindMaterial(o.Material)
			return fmt.Sprintf("%g to %g mm in %s", m.LeastThickMM, m.MostMM, m.Name)
		},
		mend: "choose a thickness inside the limits or another material",
	},
	{
		field: "shell_thickness_mm", advice: true,
		breaks: func(o *Options) bool {
			return o.Process == Formed && strings.HasPrefix(o.Material, "pp") && nearestSheet(o.ShellThicknessMM) != o.ShellThicknessMM
		},
		limit: func(o *Options) string {
			return fmt.Sprintf("sheet is sold at 2 mm, 2.5 mm, 3 mm, 3.2 mm, 4 mm, 4.8 mm, 5 mm and 6 mm; the nearest is %g mm", nearestSheet(o.ShellThicknessMM))
		},
		mend: "take a sheet that is sold, or mill the shell",
	},
	{
		field: "cup_thinning_percent", advice: true,
		breaks: func(o *Options) bool { return o.Process == Milled && o.CupThinningPercent > 0 },
		limit:  says("a milled shell does not thin; the value has no effect"),
		mend:   "set it to 0",
	},
	needsBlock("wedge_width_mm", "width", func(o *Options) bool { return o.WedgeWidthMM != 0 }),
	needsBlock("wedge_length_mm", "base length", func(o *Options) bool { return o.WedgeLengthMM != 0 }),
	needsBlock("wedge_start_mm", "start", func(o *Options) bool { return o.WedgeStartMM != 0 }),
	needsBlock("contact_angle_deg", "contact angle", func(o *Options) bool { return o.ContactAngleDeg != 0 }),
	needsBlock("motion_deg", "motion", func(o *Options) bool { return o.MotionDeg != 0 }),
	needsBlock("tilt_deg", "tilt", func(o *Options) bool { return o.TiltDeg != 0 }),
	needsBlock("heel_raise_mm", "heel raise", func(o *Options) bool { return o.HeelRaiseMM != 0 }),
	needsBlock("cap_mm", "cap", func(o *Options) bool { return o.CapMM != 0 }),
	{
		field:  "wedge_bar_mm",
		breaks: func(o *Options) bool { return o.WedgeBuild != ForeBar && o.WedgeBarMM != 0 },
		limit:  says("only a fore bar has a bar length"),
		mend:   "set it to 0 or wedge_build to fore-bar",
	},
	{
		field:  "wedge_start_mm",
		breaks: func(o *Options) bool { return o.WedgeBuild == ForeBar && o.WedgeStartMM != 0 },
		limit:  says("a fore bar starts where its length says"),
		mend:   "set it to 0 and give wedge_bar_mm",
	},
	{
		field: "cap_mm",
		breaks: func(o *Options) bool {
			return o.CapMM != 0 && !o.grounded() && (o.WedgeBuild != Block || o.WedgeMaterial != EVA)
		},
		limit: says("only a foam block wears and takes a cap"),
		mend:  "set it to 0, or wedge_build to block and wedge_material to eva",
	},
	{
		field:  "wedge_hardness_shore_a",
		breaks: func(o *Options) bool { return o.WedgeHardnessShoreA != 0 && (o.WedgeMaterial != EVA || o.grounded()) },
		limit:  says("only a foam wedge has a hardness"),
		mend:   "set it to 0 or wedge_material to eva",
	},
	{
		field: "cup_depth_mm",
		breaks: func(o *Options) bool {
			f := filled(*o)
			return o.CupDepthMM > 0.55*f.HeelWidthMM
		},
		limit: func(o *Options) string {
			f := filled(*o)
			return fmt.Sprintf("at most %.1f mm for a heel %.4g mm wide", 0.55*f.HeelWidthMM, f.HeelWidthMM)
		},
		mend: "make the cup shallower",
	},
	{
		field:  "arch_height_mm",
		breaks: func(o *Options) bool { return o.ArchHeightMM > 0.2*o.FootLengthMM },
		limit: func(o *Options) string {
			return fmt.Sprintf("at most %.1f mm, a fifth of foot length", 0.2*o.FootLengthMM)
		},
		mend: "check the arch's height and the foot's length",
	},
	{
		field: "arch_flange_mm",
		breaks: func(o *Options) bool {
			return o.ArchFlangeMM > o.ArchHeightMM+12 || o.ArchFlangeMM != 0 && o.ArchFlangeMM < 0.3*o.ArchHeightMM
		},
		limit: func(o *Options) string {
			return fmt.Sprintf("%.1f to %.1f mm with an arch %.4g mm high", 0.3*o.ArchHeightMM, o.ArchHeightMM+12, o.ArchHeightMM)
		},
		mend: "bring the flange nearer to the arch's height",
	},
	{
		field:  "lateral_flange_mm",
		breaks: func(o *Options) bool { return o.LateralFlangeMM > 0.12*o.FootLengthMM },
		limit:  func(o *Options) string { return fmt.Sprintf("at most %.1f mm for this foot", 0.12*o.FootLengthMM) },
		mend:   "lower the flange",
	},
	{
		field: "heel_width_mm",
		breaks: func(o *Options) bool {
			return o.HeelWidthMM != 0 && (o.HeelWidthMM < 0.19*o.FootLengthMM || o.HeelWidthMM > 0.38*o.FootLengthMM)
		},
		limit: func(o *Options) string {
			return fmt.Sprintf("%.0f to %.0f mm for a foot %.4g mm long", 0.19*o.FootLengthMM, 0.38*o.FootLengthMM, o.FootLengthMM)
		},
		mend: "check heel width and foot length",
	},
	{
		field:  "width_trim_mm",
		breaks: func(o *Options) bool { return o.WidthTrimMM > 0.45*footBreadthMM(o.Sex != Woman, o.FootLengthMM) },
		limit: func(o *Options) string {
			return fmt.Sprintf("at most %.1f mm of a ball %.1f mm wide", 0.45*footBreadthMM(o.Sex != Woman, o.FootLengthMM),
				footBreadthMM(o.Sex != Woman, o.FootLengthMM))
		},
		mend: "trim less",
	},
	{
		field:  "front_trim_mm",
		breaks: func(o *Options) bool { return o.FrontTrimMM > 0.15*o.FootLengthMM },
		limit:  func(o *Options) string { return fmt.Sprintf("at most %.1f mm for this foot", 0.15*o.FootLengthMM) },
		mend:   "trim less",
	},
	{
		field: "heel_rise_mm",
		breaks: func(o *Options) bool {
			return -boardMM(o.HeelRiseMM, ballShare*o.FootLengthMM-o.FrontTrimMM) > 0.12*o.FootLengthMM
		},
		limit: says("such a heel is too steep for so short a foot"),
		mend:  "lower the heel rise",
	},
	{
		field: "cover_heel_mm",
		breaks: func(o *Options) bool {
			return o.HasCover() && math.Min(o.CoverHeelMM, o.CoverFrontMM) < 0.5
		},
		limit: says("a cover is at least 0.5 mm thick at heel and front"),
		mend:  "thicken it at both ends, or set cover_extent to none",
	},
}

func oneOf(s string, list ...string) bool {
	for _, c := range list {
		if s == c {
			return true
		}
	}
	return false
}

// nearestSheet is the polypropylene sheet sold that is nearest to the thickness; the thinner one on a tie.
func nearestSheet(thicknessMM float64) float64 {
	best := SheetsMM[0]
	for _, s := range SheetsMM {
		if math.Abs(s-thicknessMM) < math.Abs(best-thicknessMM) {
			best = s
		}
	}
	return best
}

// Validate returns every rule that the options break, the options' own limits first; nil when the device can be
// built. It finds the shape's own rules by fitting wedge and shell together.
func (o Options) Validate() problem.Problems {
	if ps := o.tabled(); len(ps) > 0 {
		return ps
	}
	_, ps := lay(o)
	return ps
}

// tabled checks limits and rules, all but those of the shape.
func (o *Options) tabled() problem.Problems {
	var ps problem.Problems
	for i := range keys {
		if p, bad := keys[i].bad(o); bad {
			ps = append(ps, p)
		}
	}
	if len(ps) > 0 {
		return ps // the rules below may take the limits for granted
	}
	return o.broken(false)
}

// Notes returns advice: what can be built as it stands but is better known beforehand.
func (o Options) Notes() problem.Problems { return o.broken(true) }

func (o *Options) broken(advice bool) problem.Problems {
	var ps problem.Problems
	for _, r := range rules {
		if r.advice != advice || !r.breaks(o) {
			continue
		}
		k, _ := FindKey(r.field)
		value := o.Get(r.field)
		if k.Unit == "°" {
			value += "°"
		} else if k.Unit != "" {
			value += " " + k.Unit
		}
		ps = append(ps, problem.Problem{Field: r.field, Value: value, Limit: r.limit(o), Mend: r.mend})
	}
	return ps
}

func article(word string) string {
	if word == Open {
		return "an " + word
	}
	return "a " + word
}
