package device

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/internal/problem"
)

// brokenRules has a prescription for every rule of the table and of the shape.
var brokenRules = []struct {
	name   string
	change func(o *Options)
	field  string
	says   string
}{
	{"milled with foam", func(o *Options) { o.Process, o.WedgeMaterial = Milled, EVA }, "wedge_material", "of the same polymer"},
	{"formed in one piece", func(o *Options) { o.WedgeMaterial = SamePolymer }, "wedge_material", "is added to the sheet"},
	{"printed polymer formed", func(o *Options) { o.Material = "pa12" }, "material", "made of pp-homo, pp-co, carbon"},
	{"carbon milled", func(o *Options) { o.Process, o.Material = Milled, "carbon" }, "material", "made of pp-homo, pp-co, pa12, pa11"},
	{"too thick for carbon", func(o *Options) { o.Material = "carbon"; o.ShellThicknessMM = 4 }, "shell_thickness_mm", "1 to 3 mm"},
	{"too thin milled", func(o *Options) { o.Process, o.Material, o.ShellThicknessMM = Milled, "pa12", 1.2 }, "shell_thickness_mm", "1.5 to 5 mm"},
	{"flat with a width", func(o *Options) { o.WedgeBuild = Flat; o.WedgeWidthMM = 50 }, "wedge_width_mm", "a flat build has no width"},
	{"flat with a length", func(o *Options) { o.WedgeBuild = Flat; o.WedgeLengthMM = 60 }, "wedge_length_mm", "a flat build has no base length"},
	{"open with a start", func(o *Options) { o.WedgeBuild = Open; o.WedgeStartMM = 5 }, "wedge_start_mm", "an open build has no start"},
	{"open with a contact angle", func(o *Options) { o.WedgeBuild = Open; o.ContactAngleDeg = 4 }, "contact_angle_deg", "no contact angle"},
	{"flat with motion", func(o *Options) { o.WedgeBuild = Flat; o.MotionDeg = 4 }, "motion_deg", "no motion"},
	{"flat tilted", func(o *Options) { o.WedgeBuild = Flat; o.TiltDeg = 4 }, "tilt_deg", "no tilt"},
	{"flat raised", func(o *Options) { o.WedgeBuild = Flat; o.HeelRaiseMM = 4 }, "heel_raise_mm", "no heel raise"},
	{"flat with a cap", func(o *Options) { o.WedgeBuild = Flat; o.CapMM = 1 }, "cap_mm", "no cap"},
	{"block with a bar", func(o *Options) { o.WedgeBarMM = 20 }, "wedge_bar_mm", "only a fore bar"},
	{"bar with a start", func(o *Options) { o.WedgeBuild = ForeBar; o.WedgeStartMM = 5 }, "wedge_start_mm", "starts where its length says"},
	{"cap on polypropylene", func(o *Options) { o.CapMM = 1 }, "cap_mm", "only a foam block"},
	{"hardness of polypropylene", func(o *Options) { o.WedgeHardnessShoreA = 50 }, "wedge_hardness_shore_a", "only a foam wedge"},
	{"cup too deep", func(o *Options) { o.FootLengthMM, o.CupDepthMM = 150, 30 }, "cup_depth_mm", "at most 26.4 mm"},
	{"arch too high", func(o *Options) { o.FootLengthMM, o.ArchHeightMM = 150, 40 }, "arch_height_mm", "a fifth of foot length"},
	{"flange far over the arch", func(o *Options) { o.ArchFlangeMM = 45 }, "arch_flange_mm", "7.5 to 37.0 mm"},
	{"lateral flange too high", func(o *Options) { o.FootLengthMM, o.LateralFlangeMM = 160, 25 }, "lateral_flange_mm", "at most 19.2 mm"},
	{"heel width that is none", func(o *Options) { o.HeelWidthMM = 40 }, "heel_width_mm", "51 to 101 mm"},
	{"trimmed to a strip", func(o *Options) { o.FootLengthMM, o.WidthTrimMM, o.ArchHeightMM = 120, 40, 12 }, "width_trim_mm", "at most"},
	{"trimmed short", func(o *Options) { o.FootLengthMM, o.FrontTrimMM = 180, 35 }, "front_trim_mm", "at most 27.0 mm"},
	{"heel too high for the foot", func(o *Options) { o.FootLengthMM, o.HeelRiseMM = 150, 80 }, "heel_rise_mm", "too steep"},
	{"cover of nothing", func(o *Options) { o.CoverHeelMM = 0 }, "cover_heel_mm", "at least 0.5 mm"},
	{"sheet not sold", func(o *Options) { o.ShellThicknessMM = 3.5 }, "shell_thickness_mm", "the nearest is 3.2 mm"},
	{"milled shell thinned", func(o *Options) { o.Process = Milled }, "cup_thinning_percent", "no effect"},

	{"wedge wider than its cup", func(o *Options) { o.WedgeWidthMM = 90 }, "wedge_width_mm", "below its rim"},
	{"wedge behind its cup", func(o *Options) { o.WedgeStartMM, o.CupDepthMM, o.ShellThicknessMM = 0.5, 5, 6 }, "wedge_start_mm", "below its rim"},
	{"block in front of the heel", func(o *Options) { o.WedgeStartMM = 30 }, "wedge_start_mm", "begins behind the heel's centre"},
	{"block too short", func(o *Options) { o.WedgeLengthMM = 30 }, "wedge_length_mm", "carries the heel's centre"},
	{"block under the arch", func(o *Options) { o.WedgeLengthMM = 140 }, "wedge_length_mm", "45 % of foot length"},
	{"bar too long", func(o *Options) { o.WedgeBuild = ForeBar; o.WedgeBarMM = 40 }, "wedge_bar_mm", "between the heel's centre"},
	{"bar's back behind the centre", func(o *Options) {
		o.WedgeBuild, o.WedgeLengthMM, o.BevelBackDeg = ForeBar, 64, 45
		o.WedgeBarMM = 64 - newShell(filled(*o), 64).c - 2.5
	}, "wedge_bar_mm", "behind the heel's centre"},
	{"bevel into the cup", func(o *Options) { o.WedgeWidthMM, o.BevelMedialDeg = 60, 50 }, "bevel_medial_deg", "grind into the cup"},
	{"bevel eats the base", func(o *Options) { o.WedgeMinThicknessMM, o.BevelLateralDeg = 15, 45 }, "bevel_lateral_deg", "of base beside the bisection"},
	{"bevel eats the back", func(o *Options) {
		o.WedgeMinThicknessMM, o.BevelBackDeg, o.BevelMedialDeg, o.BevelLateralDeg = 15, 50, 0, 0
	}, "bevel_back_deg", "a base"},
}

func TestEachBrokenRuleSaysWhatAndHowToMend(t *testing.T) {
	for _, c := range brokenRules {
		t.Run(c.name, func(t *testing.T) {
			o := Default()
			c.change(&o)
			all := append(o.Validate(), o.Notes()...)
			var hit *problem.Problem
			for i := range all {
				if all[i].Field == c.field {
					hit = &all[i]
				}
			}
			require.NotNil(t, hit, "%v", all)
			assert.Contains(t, hit.Limit, c.says)
			assert.NotEmpty(t, hit.Value)
			assert.NotEmpty(t, hit.Mend)
		})
	}
}

func TestEveryRuleOfTheTableIsTested(t *testing.T) {
	for i, r := range rules {
		hit := false
		for _, c := range brokenRules {
			o := Default()
			c.change(&o)
			hit = hit || c.field == r.field && r.breaks(&o)
		}
		assert.True(t, hit, "rule %d, on %s", i, r.field)
		def := Default()
		assert.False(t, r.breaks(&def), "the default breaks rule %d, on %s", i, r.field)
	}
}

func TestBuildRefusesWhatValidateRefuses(t *testing.T) {
	for _, c := range brokenRules {
		o := Default()
		c.change(&o)
		_, err := Build(o)
		assert.Equal(t, len(o.Validate()) > 0, err != nil, c.name)
	}
}

func TestNumbersThatAreNone(t *testing.T) {
	for _, k := range Keys() {
		if !k.IsNumber() {
			continue
		}
		for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300} {
			o := Default()
			*k.number(&o) = v
			ps := o.Validate()
			require.NotEmpty(t, ps, "%s %g", k.Key, v)
			assert.Equal(t, k.Key, ps[0].Field)
		}
	}
	assert.NotEmpty(t, Options{}.Validate(), "the zero value is no device")
}

func TestADeviceLargerThanAnyShoeIsRefused(t *testing.T) {
	o := Default()
	o.FootLengthMM = 400
	ps := o.Validate()
	require.Len(t, ps, 1)
	assert.Equal(t, "foot_length_mm = 400 mm: 90 to 340 mm; choose a value inside the limits", ps[0].Error())
}

// A rule's limit is where it says: a hair inside is legal, a hair outside is not.
func TestLimitsOfTheShapeAreWhereTheyAre(t *testing.T) {
	o := Default()
	o.WedgeBuild = ForeBar
	o.BevelBackDeg = 0
	l, ps := lay(o)
	require.Empty(t, ps)
	most := l.o.WedgeLengthMM - l.sh.c - 2
	o.WedgeBarMM = most - 0.01
	assert.Empty(t, o.Validate())
	o.WedgeBarMM = most + 0.01
	assert.NotEmpty(t, o.Validate())
}

func TestResolvedFillsInAndBuildsTheSame(t *testing.T) {
	for _, b := range []string{Block, Flat, Open, ForeBar} {
		o := Default()
		o.WedgeBuild = b
		r := o.Resolved()
		assert.Positive(t, r.HeelWidthMM)
		assert.Positive(t, r.ArchFlangeMM)
		assert.NotEqual(t, Auto, r.WedgeMaterial)
		if !o.grounded() {
			assert.Positive(t, r.WedgeWidthMM)
			assert.Positive(t, r.WedgeLengthMM)
		}
		d, err := Build(o)
		require.NoError(t, err)
		assert.Equal(t, r, d.Options)
		if b == Block {
			again, err := Build(r)
			require.NoError(t, err, "%+v", r)
			assert.Equal(t, d.Base, again.Base)
		}
	}
	bad := Default()
	bad.CupDepthMM = -1
	assert.Equal(t, bad, bad.Resolved())
}

// What a device was built with, automatic values filled in, is a prescription again, and of the same device.
func TestTheOptionsOfABuiltDeviceBuildItAgain(t *testing.T) {
	for _, p := range Presets() {
		for _, build := range []string{Block, ForeBar, Flat, Open} {
			o := p.Options
			o.WedgeBuild = build
			d, err := Build(o)
			if err != nil {
				continue // not every preset goes with every build
			}
			require.Empty(t, d.Options.Validate(), "%s, %s", p.ID, build)
			again, err := Build(d.Options)
			require.NoError(t, err)
			assert.Equal(t, d.Options, again.Options)
			assert.InDelta(t, d.Base.AreaMM2, again.Base.AreaMM2, 1e-6, "%s, %s", p.ID, build)
		}
	}
}
