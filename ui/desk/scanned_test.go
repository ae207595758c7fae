package desk_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/ui/desk"
)

func TestAScannedDeviceStandsInUntilAnOptionIsChanged(t *testing.T) {
	scan := &desk.ScannedDevice{Name: "old pair", Device: &device.Device{}}
	s, es := run(start(), desk.UseScanned{Device: scan})
	require.NotEmpty(t, es)
	assert.Same(t, scan, s.Scanned)
	assert.Contains(t, desk.ShoeLine(&s), "device: old pair, scanned")
	kept, _ := run(s, desk.ChooseShoe{ID: "knit-trainer"}, desk.ToggleInsole{})
	assert.Same(t, scan, kept.Scanned, "another shoe, the same device")
	for name, a := range map[string]desk.Action{
		"option": desk.Step{Key: "cup_depth_mm", N: 1}, "preset": desk.Choose{Key: "preset", Value: device.Presets()[2].ID},
		"build": desk.NextBuild{}, "back": desk.UseScanned{},
	} {
		built, es := run(s, a)
		assert.Nil(t, built.Scanned, name)
		assert.NotEmpty(t, es, name)
		again, _ := run(built, desk.Undo{})
		assert.Same(t, scan, again.Scanned, name)
	}
	bad, _ := run(start(), desk.Enter{Key: "foot_length_mm", Text: "90"}, desk.UseScanned{Device: scan})
	assert.Empty(t, bad.Rules, "the options' rules are not the scan's")
}
