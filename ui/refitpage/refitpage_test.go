package refitpage_test

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/ui/desk"
	"lastroom/ui/refitpage"
)

func run(s refitpage.State, as ...refitpage.Action) (refitpage.State, []refitpage.Effect) {
	var all []refitpage.Effect
	for _, a := range as {
		var es []refitpage.Effect
		s, es = refitpage.Reduce(s, a)
		all = append(all, es...)
	}
	return s, all
}

// aCase is the demo case, judged.
func aCase(t *testing.T) *desk.Answer {
	t.Helper()
	in := desk.Demo()
	sheet, err := footwear.Demo().Find(in.ShoeID)
	require.NoError(t, err)
	room, err := footwear.NewRoom(sheet, true)
	require.NoError(t, err)
	b, err := fit.NewBench(context.Background(), room)
	require.NoError(t, err)
	d, err := device.Build(in.Device)
	require.NoError(t, err)
	r, err := b.Check(context.Background(), d, in.Foot)
	require.NoError(t, err)
	return &desk.Answer{Inputs: in, Room: room, Bench: b, Device: d, Result: r}
}

func found(a *desk.Answer) *fit.Refit {
	choice := func(w fit.Work, margin, kept float64) fit.Choice {
		return fit.Choice{
			Changes: []fit.Change{{Key: "cup_depth_mm", Words: "lower the rim of the cup by 2 mm, to 12 mm"}}, Device: a.Device, Room: a.Room, Result: a.Result,
			Work: w, MarginMM: margin, SupportKept: kept, Lost: []string{"hold of the cup 86 %"}, Odds: &fit.Odds{Fit: 0.5}, Why: "the least work",
			Support: []fit.Figure{{Key: "cup_hold", Name: "cup hold", Now: 0.4}},
		}
	}
	asIs := choice(fit.NoWork, -1, 1)
	asIs.Changes, asIs.Support = nil, []fit.Figure{{Key: "cup_hold", Name: "cup hold", Now: 0.5}}
	return &fit.Refit{AsIs: asIs, Choices: []fit.Choice{choice(fit.Grind, 0.2, 0.95), choice(fit.Lab, 0.4, 0.9)}, Sentence: "The least …", Limits: fit.Caution, Tried: 100}
}

func TestWishesBecomeTheSearch(t *testing.T) {
	a := aCase(t)
	s, es := run(refitpage.Start(), refitpage.Search{})
	assert.Empty(t, es, "there is nothing to search for")
	s, es = run(s, refitpage.Open{Case: a}, refitpage.AllowWork{Work: fit.OtherShoe}, refitpage.AllowWork{Work: fit.Remake},
		refitpage.Keep{Pin: "bevel_lateral_deg=same", On: true}, refitpage.Keep{Pin: "cover_extent=same", On: true}, refitpage.Keep{Pin: "cover_extent=same"},
		refitpage.TypePin{Text: " cup_depth_mm=12.. "}, refitpage.Matters{Term: fit.SupportTerms[0].Name}, refitpage.Search{})
	require.Len(t, es, 1)
	o := es[0].(refitpage.Run).Options
	assert.Equal(t, []fit.Work{fit.Grind, fit.Lab}, o.Allow)
	require.Len(t, o.Keep, 2)
	assert.Equal(t, "bevel_lateral_deg=same", o.Keep[0].String())
	assert.Equal(t, "cup_depth_mm=12..", o.Keep[1].String())
	require.Len(t, o.Prefer, 1)
	assert.Equal(t, fit.SupportTerms[0].Key, o.Prefer[0].Key)
	assert.True(t, s.Running)

	s, es = run(s, refitpage.TypePin{Text: "colour=red"}, refitpage.Stop{}, refitpage.Search{})
	assert.Equal(t, []refitpage.Effect{refitpage.Halt{}}, es, "a refused wish is not searched with")
	assert.Contains(t, s.Refuse, "roomcheck keys")
	for _, w := range fit.Works {
		s, _ = run(s, refitpage.AllowWork{Work: w})
	}
	s, es = run(s, refitpage.TypePin{}, refitpage.Search{})
	assert.Empty(t, es)
	assert.Contains(t, refitpage.BandView(&s).Sentence, "tick at least one")
}

func TestWhatIsFoundBelongsToItsSearch(t *testing.T) {
	a := aCase(t)
	s, _ := run(refitpage.Start(), refitpage.Open{Case: a}, refitpage.Search{}, refitpage.Progressed{Serial: 1, Progress: fit.RefitProgress{Done: 0.5, Tried: 7, What: "combinations"}})
	b := refitpage.BandView(&s)
	assert.Equal(t, 0.5, b.Progress)
	assert.Contains(t, b.Doing, "7 tried")
	late, _ := run(s, refitpage.Stop{}, refitpage.Found{Serial: 1, Refit: found(a)})
	assert.Nil(t, late.Found, "it was stopped")
	bad, _ := run(s, refitpage.Failed{Serial: 1, Err: errors.New("no rest")})
	assert.Equal(t, "no rest", refitpage.BandView(&bad).Sentence)

	s, _ = run(s, refitpage.Found{Serial: 1, Refit: found(a)})
	assert.Equal(t, -1.0, refitpage.BandView(&s).Progress)
	assert.Contains(t, refitpage.BandView(&s).Limits, "qualified practitioner")
	rows := refitpage.Rows(&s)
	require.Len(t, rows, 3)
	assert.True(t, rows[1].Picked, "the first choice is picked")
	assert.Contains(t, rows[1].Text(), "lower the rim of the cup by 2 mm")
	assert.Contains(t, rows[1].Fit, "fits in 50 of 100 draws")
	assert.Contains(t, rows[0].Fit, "1.0 mm past the limit")
	points := refitpage.Points(&s)
	require.Len(t, points, 3)
	assert.True(t, points[1].Picked)
	before, after := refitpage.Scenes(&s)
	require.NotNil(t, before)
	require.NotNil(t, after)
	assert.Equal(t, before.Cuts, after.Cuts, "the same cut")
	assert.Len(t, refitpage.Thumbs(&s), 3)
	assert.Equal(t, []refitpage.Pair{{Name: "cup hold", Before: "0.50", After: "0.40", Change: "20 % less than before"}}, refitpage.Support(&s))

	list := refitpage.Findings(&s)
	require.NotEmpty(t, list, "the demo case is not clear")
	assert.Equal(t, list[0].Before, list[0].After, "the choice made up here leaves them as they are")

	s, es := run(s, refitpage.PickBy{N: 5}, refitpage.Apply{})
	require.Len(t, es, 1)
	assert.Same(t, &s.Found.Choices[1], es[0].(refitpage.Take).Choice)
	s, es = run(s, refitpage.Pick{Index: -1}, refitpage.Apply{})
	assert.Empty(t, es, "the device as it is needs no taking over")
	_, after = refitpage.Scenes(&s)
	assert.Nil(t, after)

	same, _ := run(s, refitpage.Open{Case: a})
	assert.NotNil(t, same.Found, "the same case keeps what was found")
	other := *a
	other.Inputs.Device.CupDepthMM = 11
	gone, _ := run(s, refitpage.Open{Case: &other})
	assert.Nil(t, gone.Found)
}
