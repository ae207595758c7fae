package measurepage_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/ui/desk"
	"lastroom/ui/measurepage"
)

// run takes actions; rooms are made at once, which measure matters most is not asked.
func run(s measurepage.State, actions ...measurepage.Action) (measurepage.State, []measurepage.Effect) {
	var rest []measurepage.Effect
	for _, a := range actions {
		var effects []measurepage.Effect
		s, effects = measurepage.Reduce(s, a)
		for _, e := range effects {
			if b, ok := e.(measurepage.Build); ok {
				var more []measurepage.Effect
				s, more = measurepage.Reduce(s, measurepage.Built{Made: b.Work()})
				effects = append(effects, more...)
			}
		}
		rest = append(rest, effects...)
	}
	return s, rest
}

func start(t *testing.T) measurepage.State {
	t.Helper()
	s, _ := run(measurepage.Start(), measurepage.New{})
	require.NotNil(t, s.Shown)
	return s
}

func row(t *testing.T, s *measurepage.State, id footwear.MeasureID) measurepage.Row {
	t.Helper()
	for _, r := range measurepage.Rows(s) {
		if r.ID == id {
			return r
		}
	}
	t.Fatalf("%s is not listed", id)
	return measurepage.Row{}
}

func TestANewShoeIsAssumedAsAWhole(t *testing.T) {
	s := start(t)
	rows := measurepage.Rows(&s)
	assert.Len(t, rows, 10)
	for _, r := range rows {
		assert.Empty(t, r.FieldShow.Text, r.Name)
		assert.NotEmpty(t, r.Empty, "the assumed value stands in the empty field")
		assert.Contains(t, r.Word, "assumed ±")
		assert.Contains(t, r.Usually, " to ")
		assert.Equal(t, desk.WaitMark, r.Mark)
	}
	w := measurepage.WordsView(&s)
	assert.Contains(t, w.Count, "0 of the ten measured; 32 assumed from a trainer")
	assert.True(t, w.CanUse)
	assert.False(t, w.CanSave, "it has no name")
	assert.Contains(t, w.Notice, "name")
	assert.False(t, s.Dirty())
}

func TestARoomGrowsWithWhatIsEntered(t *testing.T) {
	s := start(t)
	before := s.Shown.Room
	s, effects := run(s, measurepage.Enter{Key: "seat_width_mm", Text: "66,5"})
	assert.IsType(t, measurepage.Build{}, effects[0])
	assert.IsType(t, measurepage.Rank{}, effects[len(effects)-1])
	assert.NotSame(t, before, s.Shown.Room)
	assert.InDelta(t, 66.5, s.Shown.Room.Sheet.V(footwear.SeatWidth), 0)
	assert.Equal(t, footwear.SeatWidth, s.Now, "what is entered is explained")
	r := row(t, &s, footwear.SeatWidth)
	assert.Equal(t, "66.5", r.FieldShow.Text)
	assert.Equal(t, "measured ±1.5 mm", r.Word)
	assert.Equal(t, desk.ClearMark, r.Mark)
	m := s.Draft.M[footwear.SeatWidth]
	assert.Equal(t, footwear.Measure{Value: 66.5, PlusMinus: 1.5, Instrument: footwear.InsideCalliper}, m)
	assert.True(t, s.Dirty())

	s, _ = run(s, measurepage.Enter{Key: "seat_width_mm", Text: " "})
	assert.False(t, s.Draft.Taken(footwear.SeatWidth), "an empty field is a measure that was not taken")
	assert.Contains(t, row(t, &s, footwear.SeatWidth).Word, "assumed")
	_, effects = run(s, measurepage.Enter{Key: "seat_width_mm", Text: ""})
	assert.Empty(t, effects, "nothing has changed")
}

func TestStepsStartFromWhatIsAssumed(t *testing.T) {
	s := start(t)
	assumed := s.Shown.Sheet.V(footwear.BallWidth)
	s, _ = run(s, measurepage.Step{Key: "ball_width_mm", N: 1})
	assert.True(t, s.Draft.Taken(footwear.BallWidth))
	assert.InDelta(t, assumed+0.5, s.Draft.V(footwear.BallWidth), 0.26)
	now := s.Draft.V(footwear.BallWidth)
	s, _ = run(s, measurepage.Step{Key: "ball_width_mm", N: -10})
	assert.InDelta(t, now-5, s.Draft.V(footwear.BallWidth), 1e-9)
	size := s.Draft.Size.Value
	s, _ = run(s, measurepage.Step{Key: measurepage.SizeKey, N: 1})
	assert.InDelta(t, size+0.5, s.Draft.Size.Value, 1e-9)
}

func TestWhatIsWrongIsToldAtOnce(t *testing.T) {
	for name, c := range map[string]struct {
		enter map[string]string
		at    footwear.MeasureID
		word  string
		mark  desk.Mark
		says  string
		room  bool
	}{
		"no number":       {map[string]string{"seat_width_mm": "wide"}, footwear.SeatWidth, "not taken over", desk.BlockedMark, "not a number", true},
		"no shoe":         {map[string]string{"seat_width_mm": "400"}, footwear.SeatWidth, "not taken over", desk.BlockedMark, "25 to 100 mm", true},
		"unusual":         {map[string]string{"ball_width_mm": "97", "seat_width_mm": "81"}, footwear.SeatWidth, "unusual", desk.UnsureMark, "usually 60.1 to 77.6 mm", true},
		"a contradiction": {map[string]string{"ball_width_mm": "97", "seat_width_mm": "95"}, footwear.SeatWidth, "contradicts", desk.BlockedMark, "50 to 95 % of ball width", false},
		"a seat that falls further than the rise": {map[string]string{"heel_rise_mm": "5", "seat_angle_deg": "12"}, footwear.SeatAngle, "contradicts", desk.BlockedMark, "heel rise", false},
	} {
		t.Run(name, func(t *testing.T) {
			s := start(t)
			for _, key := range []string{"ball_width_mm", "heel_rise_mm", "seat_width_mm", "seat_angle_deg"} {
				if text, ok := c.enter[key]; ok {
					s, _ = run(s, measurepage.Enter{Key: key, Text: text})
				}
			}
			r := row(t, &s, c.at)
			assert.Equal(t, c.word, r.Word)
			assert.Equal(t, c.mark, r.Mark)
			assert.Contains(t, r.Say, c.says)
			assert.Contains(t, r.Text(), c.says)
			assert.NotNil(t, s.Shown, "the last room stays")
			w := measurepage.WordsView(&s)
			assert.Equal(t, c.word == "unusual", w.CanUse)
			assert.Equal(t, !c.room, w.Stale)
			assert.NotEqual(t, desk.ClearMark, w.Mark)
			assert.NotContains(t, w.Notice, "_mm", "names, no keys")
			assert.Equal(t, !c.room, strings.Contains(w.Next, "last room"))
			s, effects := run(s, measurepage.Use{})
			if c.word != "unusual" {
				assert.Empty(t, effects)
				assert.Contains(t, s.Fault, "Not used")
			}
		})
	}
}

func TestAReasonIsEnoughForTheUnusual(t *testing.T) {
	s := start(t)
	s, _ = run(s, measurepage.Enter{Key: "ball_width_mm", Text: "97"}, measurepage.Enter{Key: "seat_width_mm", Text: "81"})
	assert.True(t, measurepage.ExplainedView(&s).Asks)
	s, _ = run(s, measurepage.Enter{Key: measurepage.ReasonKey, Text: "a very broad heel"})
	r := row(t, &s, footwear.SeatWidth)
	assert.Equal(t, desk.ClearMark, r.Mark)
	assert.Equal(t, "a very broad heel", r.Say)
	assert.Equal(t, "a very broad heel", measurepage.ExplainedView(&s).Reason)
	s, _ = run(s, measurepage.Enter{Key: measurepage.NameKey, Text: "Broad"})
	_, effects := run(s, measurepage.Save{})
	put := effects[0].(measurepage.Put)
	assert.Equal(t, map[string]string{"seat_width_mm": "a very broad heel"}, put.Sheet.Reasons)
	s, _ = run(s, measurepage.Enter{Key: measurepage.ReasonKey, Text: ""})
	assert.Equal(t, desk.UnsureMark, row(t, &s, footwear.SeatWidth).Mark)
}

func TestSavingAndUsing(t *testing.T) {
	s := start(t)
	s, effects := run(s, measurepage.Save{})
	assert.Empty(t, effects)
	assert.Contains(t, s.Fault, "no name")
	s, effects = run(s, measurepage.Use{})
	require.Len(t, effects, 1)
	assert.Equal(t, "Shoe in hand", effects[0].(measurepage.Try).Sheet.Name)

	s, _ = run(s, measurepage.Enter{Key: measurepage.NameKey, Text: "  Old walker "}, measurepage.Enter{Key: "waist_width_mm", Text: "70"})
	s, effects = run(s, measurepage.Save{})
	put := effects[0].(measurepage.Put)
	assert.Equal(t, "Old walker", put.Sheet.Name)
	assert.Zero(t, put.Stamp)
	own, err := shelf.Open(t.TempDir())
	require.NoError(t, err)
	shoe, err := own.Add(put.Sheet, shelf.Files{})
	require.NoError(t, err, "what is saved is a valid sheet")
	s, _ = run(s, measurepage.WasSaved{Shoe: shoe, Draft: s.Draft})
	assert.False(t, s.Dirty())
	assert.True(t, s.Editing())
	assert.Contains(t, measurepage.WordsView(&s).Notice, "on your shelf")

	// What was saved is taken up again: measures that were taken are, those that were assumed are not.
	again, _ := run(s, measurepage.Edit{Shoe: shoe}, measurepage.Step{Key: "waist_width_mm", N: 2})
	assert.Equal(t, "71.0", row(t, &again, footwear.WaistWidth).FieldShow.Text)
	assert.Contains(t, row(t, &again, footwear.SeatWidth).Word, "assumed")
	assert.Contains(t, measurepage.WordsView(&again).Title, "Edit Old walker")
	_, effects = run(again, measurepage.Save{})
	put = effects[0].(measurepage.Put)
	assert.Equal(t, shoe.Stamp, put.Stamp)
	assert.Equal(t, shoe.Sheet.ID, put.Sheet.ID)
	_, err = own.Replace(put.Sheet, put.Stamp)
	require.NoError(t, err)

	shoe.Scan = "scan.stl"
	scanned, _ := run(s, measurepage.Edit{Shoe: shoe})
	assert.Contains(t, measurepage.WordsView(&scanned).Count, "the room stays the scan's")
	s, _ = run(again, measurepage.CouldNot{Err: errors.New("no space left")})
	assert.Equal(t, desk.BlockedMark, measurepage.WordsView(&s).Mark)
	assert.Contains(t, measurepage.WordsView(&s).Notice, "no space left")
}

func TestLateResultsAreDropped(t *testing.T) {
	s := start(t)
	s, old := measurepage.Reduce(s, measurepage.Enter{Key: "seat_width_mm", Text: "64"})
	s, new := measurepage.Reduce(s, measurepage.Enter{Key: "seat_width_mm", Text: "68"})
	newer, older := new[0].(measurepage.Build).Work(), old[0].(measurepage.Build).Work()
	s, effects := measurepage.Reduce(s, measurepage.Built{Made: newer})
	assert.Len(t, effects, 1)
	s, effects = measurepage.Reduce(s, measurepage.Built{Made: older})
	assert.Empty(t, effects)
	assert.InDelta(t, 68, s.Shown.Sheet.V(footwear.SeatWidth), 0)
	s, _ = measurepage.Reduce(s, measurepage.Ranked{Advice: measurepage.Advice{Generation: s.Generation - 1, ID: footwear.HeelRise, MM: 4}})
	assert.Contains(t, measurepage.WordsView(&s).Next, "Finding")
	s, _ = measurepage.Reduce(s, measurepage.Ranked{Advice: measurepage.Advice{Generation: s.Generation, ID: footwear.HeelRise, MM: 4.04}})
	assert.Contains(t, measurepage.WordsView(&s).Next, "heel rise. While it is assumed, a device may have up to 4.0 mm less room")
	s, _ = measurepage.Reduce(s, measurepage.Ranked{Advice: measurepage.Advice{Generation: s.Generation, ID: footwear.NumMeasures}})
	assert.Contains(t, measurepage.WordsView(&s).Next, "Nothing")

	ended, stop := context.WithCancel(context.Background())
	stop()
	a := measurepage.Rank{Generation: 3, Sheet: s.Shown.Sheet}.Work(ended)
	assert.Equal(t, measurepage.Advice{Generation: 3, ID: footwear.NumMeasures}, a)
}

func TestGoingThroughTheMeasures(t *testing.T) {
	s := start(t)
	assert.Equal(t, footwear.LastLength, s.Now)
	s, _ = run(s, measurepage.Go{N: 2})
	assert.Equal(t, footwear.SeatWidth, s.Now)
	s, _ = run(s, measurepage.Go{N: -9})
	assert.Equal(t, footwear.LastLength, s.Now)
	s, _ = run(s, measurepage.ToggleAll{})
	assert.Len(t, measurepage.Rows(&s), int(footwear.NumMeasures))
	s, _ = run(s, measurepage.Go{N: 99})
	assert.Equal(t, footwear.GiveVamp, s.Now)
	e := measurepage.ExplainedView(&s)
	assert.Contains(t, e.With, "thumb")
	assert.Empty(t, e.Why)
	s, _ = run(s, measurepage.ToggleAll{})
	assert.Equal(t, footwear.LastLength, s.Now, "what is explained is listed")
	for _, id := range s.List() {
		s, _ = run(s, measurepage.Explain{ID: id})
		e := measurepage.ExplainedView(&s)
		assert.NotEmpty(t, e.Where)
		assert.Contains(t, e.With, string(id.Info().Instrument))
		assert.Contains(t, e.Why, "of the ten")
		assert.True(t, strings.HasSuffix(e.Value, "assumed"), e.Value)
	}
}

func TestKindSizeAndWords(t *testing.T) {
	s := start(t)
	s, _ = run(s, measurepage.Choose{Key: measurepage.KindKey, Value: "court shoe"})
	assert.Equal(t, "slip-on", s.Draft.Closure)
	assert.InDelta(t, 45, s.Shown.Sheet.V(footwear.HeelRise), 1)
	s, _ = run(s, measurepage.Choose{Key: measurepage.SystemKey, Value: "uk"})
	assert.Equal(t, footwear.UK, s.Draft.Size.System)
	s, _ = run(s, measurepage.Enter{Key: measurepage.SizeKey, Text: "400"})
	assert.Contains(t, measurepage.SizeView(&s).Problem, "400")
	assert.Equal(t, "400", measurepage.SizeView(&s).Text)
	s, _ = run(s, measurepage.Enter{Key: measurepage.SizeKey, Text: "5 1/2"})
	assert.Empty(t, measurepage.SizeView(&s).Problem)
	assert.InDelta(t, 5.5, s.Draft.Size.Value, 0)
	for _, f := range measurepage.ChoicesView(&s) {
		assert.True(t, slices.ContainsFunc(f.Choices, func(c desk.Choice) bool { return c.Value == f.Choice }), f.Key)
		for _, c := range f.Choices {
			out, _ := measurepage.Reduce(s, measurepage.Choose{Key: f.Key, Value: c.Value})
			for _, g := range measurepage.ChoicesView(&out) {
				if g.Key == f.Key {
					assert.Equal(t, c.Value, g.Choice, f.Key)
				}
			}
		}
	}
	same, effects := measurepage.Reduce(s, measurepage.Choose{Key: measurepage.KindKey, Value: "spaceship"})
	assert.Empty(t, effects)
	assert.Equal(t, s.Draft.Kind, same.Draft.Kind)
}

func TestANameThatIsTooLongIsTold(t *testing.T) {
	s := start(t)
	s, effects := run(s, measurepage.Enter{Key: measurepage.NameKey, Text: strings.Repeat("long ", 20)})
	assert.Empty(t, effects)
	w := measurepage.WordsView(&s)
	assert.Equal(t, desk.BlockedMark, w.Mark)
	assert.Equal(t, "Not taken over: name: at most 80 letters; shorten it.", w.Notice)
	s, _ = run(s, measurepage.Enter{Key: measurepage.NameKey, Text: "short"})
	assert.NotContains(t, measurepage.WordsView(&s).Notice, "Not taken over")
}

func FuzzEnter(f *testing.F) {
	f.Add("seat_width_mm", "66")
	f.Add("size", "1e9")
	f.Add("reason", "\x00")
	f.Fuzz(func(t *testing.T, key, text string) {
		s := measurepage.Start()
		s, _ = measurepage.Reduce(s, measurepage.Enter{Key: key, Text: text})
		for id := range footwear.NumMeasures {
			if s.Draft.Taken(id) {
				info := id.Info()
				assert.GreaterOrEqual(t, s.Draft.V(id), info.Lo)
				assert.LessOrEqual(t, s.Draft.V(id), info.Hi)
			}
		}
		measurepage.Rows(&s)
		measurepage.WordsView(&s)
	})
}
