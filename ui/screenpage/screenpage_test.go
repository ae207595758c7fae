package screenpage_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/ui/desk"
	"lastroom/ui/screenpage"
)

func run(s screenpage.State, as ...screenpage.Action) (screenpage.State, []screenpage.Effect) {
	var all []screenpage.Effect
	for _, a := range as {
		var es []screenpage.Effect
		s, es = screenpage.Reduce(s, a)
		all = append(all, es...)
	}
	return s, all
}

func pair(t *testing.T, i int, shoe string, alone, margin float64) fit.Screened {
	t.Helper()
	s, err := footwear.Demo().Find(shoe)
	require.NoError(t, err)
	d := &device.Device{Options: device.Default()}
	return fit.Screened{Pair: fit.Pair{Shoe: s, Device: d, DeviceName: "this device"}, Index: i, State: fit.Unsure, Alone: alone, MarginMM: margin, Reason: "cup rim"}
}

func judged() *desk.Answer { return &desk.Answer{Inputs: desk.Demo()} }

func shoes(s *screenpage.State) []string {
	var out []string
	for _, r := range screenpage.Table(s) {
		out = append(out, r.Shoe)
	}
	return out
}

func TestTheTableFillsSortsAndNarrows(t *testing.T) {
	s := screenpage.Start()
	assert.Contains(t, screenpage.Line(&s), "no verdict yet")
	s, es := run(s, screenpage.Open{Case: judged()})
	require.Len(t, es, 1)
	assert.Equal(t, screenpage.Shelf, es[0].(screenpage.Run).Mode)
	s, _ = run(s, screenpage.Came{Serial: 1, Pair: pair(t, 0, "lace-dress", 0.2, -1)}, screenpage.Came{Serial: 1, Pair: pair(t, 1, "extra-depth", 0.9, 0.5)},
		screenpage.Came{Serial: 9, Pair: pair(t, 2, "work-clog", 1, 1)}, screenpage.Progressed{Serial: 1, Done: 2, Of: 3, Doing: "2 of 3 pairs …"})
	assert.Equal(t, []string{"Extra-depth shoe", "Lace-up dress shoe"}, shoes(&s), "best first, as they come; nothing of another run")
	assert.Equal(t, "2 of 3 pairs …", screenpage.Line(&s))
	s, _ = run(s, screenpage.Came{Serial: 1, Pair: pair(t, 2, "rocker-shoe", 0.5, 0.1)}, screenpage.SortBy{Column: screenpage.ByShoe})
	assert.Equal(t, []string{"Extra-depth shoe", "Lace-up dress shoe", "Rocker-soled shoe"}, shoes(&s))
	s, _ = run(s, screenpage.SortBy{Column: screenpage.ByShoe})
	assert.Equal(t, []string{"Rocker-soled shoe", "Lace-up dress shoe", "Extra-depth shoe"}, shoes(&s), "the other way round")
	s, _ = run(s, screenpage.SortBy{Column: screenpage.ByMargin})
	assert.Equal(t, []string{"Extra-depth shoe", "Rocker-soled shoe", "Lace-up dress shoe"}, shoes(&s))
	s, _ = run(s, screenpage.Narrow{Text: "DRESS cup"})
	assert.Equal(t, []string{"Lace-up dress shoe"}, shoes(&s))
	assert.Equal(t, "1.0 mm past", screenpage.Table(&s)[0].ToLimit)
	s, _ = run(s, screenpage.Narrow{}, screenpage.SortBy{Column: screenpage.ByRank}, screenpage.PickBy{N: 1})
	assert.Contains(t, screenpage.Detail(&s), "Rocker-soled shoe · EU 42")

	bad := pair(t, 3, "court-45", 0, math.Inf(-1))
	bad.Err = errors.New("no room")
	rows := []fit.Screened{pair(t, 1, "extra-depth", 0.9, 0.5), bad}
	rows[0].Odds = &fit.Odds{Fit: 0.93}
	s, _ = run(s, screenpage.Ended{Serial: 1, Rows: rows})
	assert.False(t, s.Running)
	table := screenpage.Table(&s)
	assert.Equal(t, "unsure, 93 of 100", table[0].Odds)
	assert.Equal(t, "no room", table[1].Reason)
	stopped, es := run(s, screenpage.Stop{})
	assert.Empty(t, es)
	assert.Equal(t, s.Serial, stopped.Serial)
}

func TestAPairOpensOnTheDesk(t *testing.T) {
	s, _ := run(screenpage.Start(), screenpage.Open{Case: judged()}, screenpage.Came{Serial: 1, Pair: pair(t, 0, "extra-depth", 0.9, 0.5)})
	_, es := run(s, screenpage.Try{})
	require.Len(t, es, 1)
	try := es[0].(screenpage.Take).Action.(desk.Try)
	assert.Equal(t, "extra-depth", try.ShoeID)
	assert.Nil(t, try.Options, "the device stays")
	d, _ := desk.Reduce(desk.Start(desk.Demo()), try)
	assert.Equal(t, "extra-depth", d.ShoeID)
	assert.Equal(t, try.Size, d.Size)
	assert.Equal(t, desk.Demo().Device, d.Device)

	p := pair(t, 0, "extra-depth", 0.9, 0.5)
	preset := device.Presets()[1]
	p.DeviceName, p.Device = preset.Name, &device.Device{Options: preset.Options}
	s, _ = run(s, screenpage.SetMode{Mode: screenpage.Presets}, screenpage.Came{Serial: 2, Pair: p})
	_, es = run(s, screenpage.Try{})
	try = es[0].(screenpage.Take).Action.(desk.Try)
	require.NotNil(t, try.Options)
	d, _ = desk.Reduce(desk.Start(desk.Demo()), try)
	assert.Equal(t, preset.ID, d.PresetID)
	assert.Equal(t, d.Device, d.Ordered)
}

func TestOneDeviceForTheTickedShoes(t *testing.T) {
	s, _ := run(screenpage.Start(), screenpage.Open{Case: judged()}, screenpage.Came{Serial: 1, Pair: pair(t, 0, "extra-depth", 0.9, 0.5)}, screenpage.Came{Serial: 1, Pair: pair(t, 1, "lace-dress", 0.2, -1)})
	none, es := run(s, screenpage.SetMode{Mode: screenpage.Several})
	assert.Equal(t, []screenpage.Effect{screenpage.Halt{}}, es)
	assert.Contains(t, screenpage.Line(&none), "Tick two shoes")
	s, es = run(s, screenpage.Tick{}, screenpage.PickBy{N: 1}, screenpage.Tick{}, screenpage.SetMode{Mode: screenpage.Several})
	require.Len(t, es, 1)
	assert.Len(t, es[0].(screenpage.Run).Shoes, 2)
	o := device.Default()
	o.CupDepthMM = 11
	best := fit.ForAll{
		Device: &device.Device{Options: o}, Changes: []fit.Change{{Words: "lower the rim"}, {Words: "follows", Follows: true}}, Work: fit.Grind, Fits: 2, MarginMM: 0.1,
		Lost: []string{"hold of the cup 79 %"}, In: []fit.Screened{pair(t, 0, "extra-depth", 0.9, 0.5), pair(t, 1, "lace-dress", 0.5, 0.1)},
	}
	s, _ = run(s, screenpage.Ended{Serial: s.Serial, Together: []fit.ForAll{best}})
	rows := screenpage.Table(&s)
	require.Len(t, rows, 1)
	assert.Equal(t, "fits in 2 of 2", rows[0].Odds)
	assert.Equal(t, "lower the rim — gives up: hold of the cup 79 %", rows[0].Reason)
	_, es = run(s, screenpage.Try{})
	assert.Equal(t, desk.Refitted{Options: o}, es[0].(screenpage.Take).Action)
	back, es := run(s, screenpage.SetMode{Mode: screenpage.Shelf}, screenpage.Failed{Serial: s.Serial + 1, Err: errors.New("out of memory")})
	assert.Len(t, es, 1)
	assert.Equal(t, "out of memory", screenpage.Line(&back))
}
