package desk_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/ui/desk"
)

func figures() []fit.Figure {
	return []fit.Figure{
		{Key: "base_width_mm", Name: "base width", Unit: "mm", Now: 40, Lo: 40, Hi: 40, Ordered: 50, Plain: 45, Words: "a wider base steadies"},
		{Key: "lever_lateral_mm", Name: "lateral lever", Unit: "mm", Now: 15, Lo: 7, Hi: 19, Ordered: 15, Plain: 12},
		{Key: "cup_hold", Name: "cup hold", Now: 0.5, Lo: 0.5, Hi: 0.5, Ordered: math.NaN(), Plain: 0.1},
		{Key: "rotational_stiffness_nmm_per_rad", Name: "stiffness", Unit: "N·mm/rad", Now: 2e6, Lo: 2e6, Hi: 2e6, Ordered: 1e5, Plain: 1e6},
	}
}

// What comes after the verdict belongs to that verdict: it is shown with it, and goes with the next.
func TestDepthBelongsToItsAnswer(t *testing.T) {
	s, _ := run(start(), desk.Begin{}, desk.Answered{Answer: answer(t, start())})
	assert.Empty(t, desk.SupportView(&s))
	assert.Empty(t, desk.VerdictView(&s).Odds)
	depth := desk.Depth{Support: figures(), Odds: &fit.Odds{Fit: 0.42, Draws: 400, Decides: []fit.Decider{{Key: "seat_width_mm", Name: "seat width", Share: 0.6}}}}
	late, _ := run(s, desk.Deepened{Generation: 99, Depth: depth})
	assert.Empty(t, desk.SupportView(&late), "of another answer")
	s, _ = run(s, desk.Deepened{Generation: s.Shown.Generation, Depth: depth})
	assert.Equal(t, "With every ± drawn together nothing is blocked in 42 of 100 draws (400 draws so far). Measure the seat width again: it decides.", desk.VerdictView(&s).Odds)
	rows := desk.SupportView(&s)
	require.Len(t, rows, 4)
	assert.Equal(t, "40.0 mm", rows[0].Now)
	assert.Equal(t, "ordered 50.0 mm · plain 45.0 mm", rows[0].Others)
	assert.Equal(t, "20 % less than ordered", rows[0].Change)
	assert.True(t, rows[0].Changed)
	assert.Equal(t, "as ordered", rows[1].Change)
	assert.Equal(t, "7.00 to 19.0 mm", rows[1].Band)
	assert.False(t, rows[2].Changed)
	assert.Contains(t, rows[2].Change, "does not come to rest")
	assert.Equal(t, "2000 N·m/rad", rows[3].Now)
	assert.Equal(t, "far more than ordered", rows[3].Change)
	list := desk.SupportRows(&s)
	require.Len(t, list, 5, "the figures, and whether it rocks")
	assert.Contains(t, list[1].Detail, "estimate, 7.00 to 19.0 mm")
	s, _ = run(s, desk.Answered{Answer: answer(t, s)})
	assert.Empty(t, desk.SupportView(&s))
}

// A preset is made for the shoe and the foot, as the command line makes it, and is then what was ordered.
func TestAPresetIsMadeForTheShoe(t *testing.T) {
	in := desk.Demo()
	preset, err := device.FindPreset(fit.Demo.PresetID)
	require.NoError(t, err)
	sheet, err := footwear.Demo().Find(fit.Demo.ShoeID)
	require.NoError(t, err)
	size, err := footwear.ParseSize(fit.Demo.Size)
	require.NoError(t, err)
	sheet, err = sheet.Graded(size, footwear.GradeOptions{})
	require.NoError(t, err)
	made, err := fit.MadeFor(preset.Options, sheet)
	require.NoError(t, err)
	assert.Equal(t, made, in.Device)
	assert.Equal(t, made, in.Ordered)

	s, _ := run(start(), desk.Choose{Key: "side", Value: device.Left}, desk.Enter{Key: "cup_depth_mm", Text: "12"}, desk.Choose{Key: "preset", Value: "open-low-volume"})
	assert.Equal(t, "open-low-volume", s.PresetID)
	assert.Equal(t, device.Left, s.Device.Side, "the side stays")
	assert.Equal(t, sheet.V(footwear.HeelRise), s.Device.HeelRiseMM)
	assert.Equal(t, s.Device, s.Ordered)
}

// A refit changes the device, one step back undoes it; what was ordered stays until it is said otherwise.
func TestARefitIsTakenOverAndBack(t *testing.T) {
	s := start()
	ordered := s.Ordered
	o := s.Device
	o.CupDepthMM = 11
	size := s.Size
	size.Value++
	s, es := run(s, desk.Refitted{Options: o, Size: &size})
	assert.Equal(t, 11.0, s.Device.CupDepthMM)
	assert.Equal(t, size, s.Size)
	assert.Equal(t, ordered, s.Ordered)
	assert.NotEmpty(t, es)
	now, _ := run(s, desk.TakeAsOrdered{})
	assert.Equal(t, now.Device, now.Ordered)
	s, _ = run(s, desk.Undo{})
	assert.Equal(t, desk.Demo(), s.Inputs)
	s, _ = run(s, desk.Refitted{Options: o, InsoleOut: true})
	assert.False(t, s.InsoleIn)
	assert.NotEmpty(t, s.Rules, "this insole can't be taken out")
}

// The odds between which a state is unsure are part of what an answer depends on, and are kept.
func TestTheLimitsOfUnsureAreSet(t *testing.T) {
	s := start()
	assert.Equal(t, fit.DefaultUnsure, s.Limits())
	s, es := run(s, desk.SetUnsure{Lo: "5", Hi: "95 %"})
	assert.Equal(t, fit.Unsureness{Lo: 0.05, Hi: 0.95}, s.Limits())
	require.Len(t, es, 2)
	assert.Equal(t, s.Limits(), es[0].(desk.Check).Inputs.Unsure)
	assert.Equal(t, desk.KeepUnsure{Limits: s.Limits()}, es[1])
	bad, es := run(s, desk.SetUnsure{Lo: "60", Hi: "95"})
	assert.Empty(t, es)
	assert.Equal(t, s.Limits(), bad.Limits())
	assert.Contains(t, bad.Refused, "unsure_lo")
}

// The joint axis is an input with the published average where nothing is entered.
func TestTheJointAxisIsEntered(t *testing.T) {
	s := start()
	assert.Equal(t, fit.DefaultAxis(), s.Axis())
	s, _ = run(s, desk.Enter{Key: "axis_inclination_deg", Text: "50"})
	assert.Equal(t, 50.0, s.Axis().InclinationDeg)
	assert.Equal(t, fit.DefaultAxis().DeviationDeg, s.Axis().DeviationDeg)
	s, _ = run(s, desk.Enter{Key: "axis_inclination_deg", Text: ""})
	assert.Equal(t, fit.DefaultAxis(), s.Axis())
}
