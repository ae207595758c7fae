package casebook

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
)

func TestACaseIsBroughtToWhereTheWorkStands(t *testing.T) {
	b := bookIn(t, t.TempDir())
	id := started(t, b, "A-1").Case.ID
	sheet, err := footwear.Demo().Find("lace-dress")
	require.NoError(t, err)
	preset, err := device.FindPreset("everyday-block")
	require.NoError(t, err)
	r := &fit.Result{Status: fit.Converged, Verdict: fit.Verdict{State: fit.Snug, Sentence: "It goes in.", Limits: fit.Caution, Odds: 0.8}}
	s := Stand{Shoe: sheet, Ordered: preset.Options, Now: preset.Options, Label: "walking", Result: r, Foot: fit.Foot{BodyMassKG: 70}}
	take := func() Case {
		t.Helper()
		st, err := b.Change(t.Context(), id, 0, func(c *Case) error { return c.Take(day, s) })
		require.NoError(t, err)
		back, err := st.Case.Stands()
		require.NoError(t, err)
		assert.Equal(t, s.Shoe, back.Shoe)
		assert.Equal(t, s.Now, back.Now)
		assert.Equal(t, s.Ordered, back.Ordered)
		assert.Equal(t, "walking", back.Label)
		assert.InDelta(t, 70, back.Foot.BodyMassKG, 0)
		return st.Case
	}
	c := take()
	assert.Equal(t, [3]int{1, 1, 1}, [3]int{len(c.Shoes), len(c.Devices), len(c.Results)})
	again := take()
	assert.Equal(t, c, again, "the same is nothing new")

	for _, bevel := range []float64{20, 24, 28} { // tried one after the other: one device as changed
		s.Now.BevelMedialDeg = bevel
		c = take()
	}
	assert.Equal(t, [3]int{1, 2, 2}, [3]int{len(c.Shoes), len(c.Devices), len(c.Results)})
	assert.Equal(t, c.Devices[0].Key, c.Devices[1].From)

	// Something came of it: what is tried next is another device.
	_, err = b.Change(t.Context(), id, 0, func(c *Case) error {
		c.AddOutcome(day, c.Shoes[0].Key, c.Devices[1].Key, fit.Outcome{
			Date: "2026-03-20", Shoe: sheet.ID, Size: sheet.Size.String(), Closure: sheet.Closure, Options: s.Now, Program: fit.Version, Odds: 0.8, Happened: fit.WentIn,
			Places: []fit.OutcomePlace{},
		})
		return nil
	})
	require.NoError(t, err)
	s.Now.BevelMedialDeg = 12
	c = take()
	assert.Len(t, c.Devices, 3)

	s.InsoleOut = true // another room: both are kept
	c = take()
	assert.Len(t, c.Shoes, 2)
	s.Now.Side, s.Ordered.Side = device.Left, device.Left
	c = take()
	assert.Len(t, c.Feet, 2)
	requireSound(t, b)

	empty := started(t, b, "A-2").Case
	_, err = empty.Stands()
	assert.Contains(t, limitOf(t, err), "a shoe and a device")
}
