package ui

import (
	"os"
	"testing"

	"fyne.io/fyne/v2/test"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/ui/desk"
)

func TestWithoutADisplayItSaysSo(t *testing.T) {
	env := func(m map[string]string) func(string) string { return func(k string) string { return m[k] } }
	require.NoError(t, Display(env(map[string]string{"DISPLAY": ":0"})))
	require.ErrorContains(t, Display(env(nil)), "roomcheck demo")
	require.ErrorContains(t, Display(env(map[string]string{"WAYLAND_DISPLAY": "wayland-0"})), "XWayland")
}

func TestTheScaleIsAppliedBeforeTheWindowOpens(t *testing.T) {
	t.Setenv("FYNE_SCALE", "")
	app := test.NewTempApp(t)
	require.NoError(t, ApplyScale(app, 0))
	assert.Empty(t, os.Getenv("FYNE_SCALE"), "nothing asked for, nothing kept")
	require.NoError(t, ApplyScale(app, 1.25))
	assert.Equal(t, "1.25", os.Getenv("FYNE_SCALE"))
	app.Preferences().SetFloat(scalePreference, 1.5)
	require.NoError(t, ApplyScale(app, 0))
	assert.Equal(t, "1.50", os.Getenv("FYNE_SCALE"))
	for _, bad := range []float64{-1, 0.1, 40} {
		require.ErrorContains(t, ApplyScale(app, bad), "0.7 to 3")
	}
}

func TestLookAndScaleAreKeptBetweenRuns(t *testing.T) {
	w, _ := open(t)
	w.do(desk.SetLook{Look: desk.DarkLook})
	w.do(desk.SetScale{Text: "1.3"})
	again := newWindow(w.app, desk.Demo(), nil, func(desk.Check) {}, func(sheet) {})
	assert.Equal(t, desk.DarkLook, again.state.Look)
	assert.InDelta(t, 1.3, again.state.Scale, 1e-9)
	assert.True(t, isDark())
}
