package device

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTenPresetsAreSoundPrescriptions(t *testing.T) {
	all := Presets()
	require.Len(t, all, 10)
	assert.Equal(t, DefaultPreset, all[0].ID)
	assert.Equal(t, 266.0, all[0].Options.FootLengthMM)
	names := map[string]bool{}
	for _, p := range all {
		assert.Empty(t, p.Options.Validate(), p.ID)
		assert.Empty(t, p.Options.Notes(), p.ID)
		assert.Regexp(t, `^[a-z]+(-[a-z]+)*$`, p.ID)
		assert.Greater(t, len(p.For), 60, "%s says for whom and why", p.ID)
		assert.False(t, names[p.Name], p.Name)
		names[p.Name] = true
		found, err := FindPreset(p.ID)
		require.NoError(t, err)
		assert.Equal(t, p, found)
	}
}

func TestUnknownPresetNamesTheNearest(t *testing.T) {
	_, err := FindPreset("everyday-blok")
	assert.ErrorContains(t, err, "did you mean everyday-block?")
	_, err = FindPreset("zzzzzzzz")
	assert.ErrorContains(t, err, "one of everyday-block, ")
}

func TestPresetSearchForgives(t *testing.T) {
	ids := func(text string) []string {
		var out []string
		for _, p := range Search(text) {
			out = append(out, p.ID)
		}
		return out
	}
	assert.Len(t, ids(""), 10)
	assert.Equal(t, []string{"studded-fore-bar"}, ids("Studed BOOT"))
	assert.Contains(t, ids("school"), "child")
	assert.Empty(t, ids("harpsichord"))
}
