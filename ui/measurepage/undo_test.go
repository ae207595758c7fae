package measurepage_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/ui/desk"
	"lastroom/ui/measurepage"
)

func TestEveryChangeIsTakenBackAndDoneAgain(t *testing.T) {
	s := start(t)
	s, _ = run(s, measurepage.Enter{Key: "seat_width_mm", Text: "66"})
	drafts := []footwear.Sheet{s.Draft}
	for _, a := range []measurepage.Action{
		measurepage.Enter{Key: "seat_width_mm", Text: "67"},
		measurepage.Enter{Key: measurepage.SureKey, Text: "2,5"},
		measurepage.Choose{Key: measurepage.InstrumentKey, Value: string(footwear.Tape)},
		measurepage.Step{Key: "ball_width_mm", N: 1},
		measurepage.Enter{Key: "seat_width_mm", Text: ""},
		measurepage.Enter{Key: measurepage.NameKey, Text: "Walker"},
		measurepage.Enter{Key: measurepage.NoteKey, Text: "old"},
		measurepage.Enter{Key: measurepage.SizeKey, Text: "43"},
		measurepage.Choose{Key: measurepage.KindKey, Value: "court shoe"},
	} {
		s, _ = run(s, a, measurepage.Enter{Key: "heel_rise_mm", Text: "high"}) // what is refused is no step
		require.NotEqual(t, drafts[len(drafts)-1], s.Draft)
		drafts = append(drafts, s.Draft)
	}
	for i := len(drafts) - 2; i >= 0; i-- {
		s, _ = run(s, measurepage.Undo{})
		require.Equal(t, drafts[i], s.Draft)
		assert.Equal(t, s.Generation, s.Shown.Generation, "the room follows")
		assert.Empty(t, s.Refused)
	}
	assert.Equal(t, footwear.SeatWidth, s.Now, "the measure that became another is shown")
	for _, want := range drafts[1:] {
		s, _ = run(s, measurepage.Redo{})
		require.Equal(t, want, s.Draft)
	}
	assert.False(t, s.CanRedo())
	same, effects := run(s, measurepage.Redo{})
	assert.Equal(t, s, same)
	assert.Empty(t, effects)
	s, _ = run(s, measurepage.New{})
	assert.False(t, s.CanUndo(), "another shoe has no steps")
}

func TestUndoAfterSavingGoesOnWithTheSavedShoe(t *testing.T) {
	s := start(t)
	s, _ = run(s, measurepage.Enter{Key: measurepage.NameKey, Text: "Walker"}, measurepage.Enter{Key: "waist_width_mm", Text: "70"})
	s, effects := run(s, measurepage.Save{})
	put := effects[0].(measurepage.Put)
	put.Sheet.ID = "my-walker"
	s, effects = run(s, measurepage.WasSaved{Shoe: shelf.Shoe{Sheet: put.Sheet, Stamp: 7}, Draft: put.Draft})
	assert.Equal(t, []measurepage.Effect{measurepage.Forget{}}, effects)
	assert.False(t, s.Dirty())
	s, _ = run(s, measurepage.Undo{})
	assert.True(t, s.Dirty())
	assert.False(t, s.Draft.Taken(footwear.WaistWidth))
	assert.Equal(t, "my-walker", s.Draft.ID)
	s, _ = run(s, measurepage.Redo{})
	assert.False(t, s.Dirty(), "it is as it was saved")

	// What was entered while it was being saved is not saved.
	s, _ = run(s, measurepage.Enter{Key: "waist_width_mm", Text: "71"})
	s, effects = run(s, measurepage.Save{})
	put = effects[0].(measurepage.Put)
	s, _ = run(s, measurepage.Enter{Key: "waist_width_mm", Text: "72"}, measurepage.WasSaved{Shoe: shelf.Shoe{Sheet: put.Sheet, Stamp: 8}, Draft: put.Draft})
	assert.True(t, s.Dirty())
}

func TestADraftIsKeptAsLongAsItIsNotSaved(t *testing.T) {
	s := start(t)
	_, effects := run(s, measurepage.Go{N: 1}, measurepage.Enter{Key: "seat_width_mm", Text: "wide"})
	assert.Empty(t, effects, "nothing to keep yet")
	s, effects = run(s, measurepage.Enter{Key: "seat_width_mm", Text: "66"})
	assert.Contains(t, effects, measurepage.Effect(measurepage.Keep{Draft: shelf.Draft{Sheet: s.Draft}}))
	_, effects = run(s, measurepage.Undo{})
	assert.Contains(t, effects, measurepage.Effect(measurepage.Forget{}))
	_, effects = run(s, measurepage.New{})
	assert.Contains(t, effects, measurepage.Effect(measurepage.Forget{}), "given up")

	kept := shelf.Draft{Sheet: s.Draft, Stamp: 9, Scanned: true}
	next, effects := run(measurepage.Start(), measurepage.Resume{Draft: kept})
	assert.Contains(t, effects, measurepage.Effect(measurepage.Keep{Draft: kept}))
	assert.Equal(t, s.Draft, next.Draft)
	assert.True(t, next.Dirty())
	assert.Contains(t, measurepage.WordsView(&next).Notice, "not saved when the program ended")
	assert.NotNil(t, next.Shown)
}

func TestHowSureAMeasureIs(t *testing.T) {
	s := start(t)
	s, _ = run(s, measurepage.Explain{ID: footwear.SeatWidth}, measurepage.Step{Key: measurepage.SureKey, N: 1},
		measurepage.Choose{Key: measurepage.InstrumentKey, Value: string(footwear.Tape)})
	assert.False(t, s.Dirty(), "what is assumed has no ± of the person's")
	assert.False(t, measurepage.ExplainedView(&s).Taken)
	s, _ = run(s, measurepage.Enter{Key: measurepage.SureKey, Text: "2"})
	assert.Contains(t, measurepage.ExplainedView(&s).Sure.Problem, "assumed")

	s, _ = run(s, measurepage.Enter{Key: "seat_width_mm", Text: "66"}, measurepage.Enter{Key: measurepage.SureKey, Text: "2.5 mm"})
	e := measurepage.ExplainedView(&s)
	assert.True(t, e.Taken)
	assert.Empty(t, e.Sure.Problem)
	assert.Equal(t, "2.5", e.Sure.Text)
	assert.Equal(t, string(footwear.InsideCalliper), e.Instrument.Choice)
	assert.Equal(t, "measured ±2.5 mm", row(t, &s, footwear.SeatWidth).Word)
	s, _ = run(s, measurepage.Choose{Key: measurepage.InstrumentKey, Value: "divining rod"}, measurepage.Step{Key: measurepage.SureKey, N: -1},
		measurepage.Choose{Key: measurepage.InstrumentKey, Value: string(footwear.Calliper)}, measurepage.Enter{Key: "seat_width_mm", Text: "67"})
	assert.Equal(t, footwear.Measure{Value: 67, PlusMinus: 2.4, Instrument: footwear.Calliper}, s.Draft.M[footwear.SeatWidth], "another value, as sure")
	assert.InDelta(t, 2.4, s.Shown.Sheet.M[footwear.SeatWidth].PlusMinus, 0)
	for _, text := range []string{"0", "15.1", "-1", "sure"} {
		bad, _ := run(s, measurepage.Enter{Key: measurepage.SureKey, Text: text})
		e := measurepage.ExplainedView(&bad)
		assert.NotEmpty(t, e.Sure.Problem, text)
		assert.Equal(t, text, e.Sure.Text)
		assert.NotEmpty(t, bad.WhyNotUse())
	}
	usual, _ := run(s, measurepage.Enter{Key: measurepage.SureKey, Text: " "})
	assert.InDelta(t, footwear.SeatWidth.Info().PlusMinus, usual.Draft.M[footwear.SeatWidth].PlusMinus, 0)

	s, _ = run(s, measurepage.Choose{Key: measurepage.InstrumentKey, Value: string(footwear.Guess)})
	r := row(t, &s, footwear.SeatWidth)
	assert.Contains(t, r.Word, "guessed")
	assert.Equal(t, desk.WaitMark, r.Mark)
	assert.InDelta(t, footwear.AssumedPlusMinus(&s.Shown.Sheet, footwear.SeatWidth), s.Draft.M[footwear.SeatWidth].PlusMinus, 1e-9, "no surer than what is assumed")
}
