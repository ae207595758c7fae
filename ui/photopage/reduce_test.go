package photopage

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/footwear/trace"
	"lastroom/internal/problem"
)

func run(s State, actions ...Action) (State, []Effect) {
	var e []Effect
	for _, a := range actions {
		s, e = Reduce(s, a)
	}
	return s, e
}

func tracing() *trace.Tracing {
	m := func(v float64) footwear.Measure {
		return footwear.Measure{Value: v, PlusMinus: 0.4, Instrument: footwear.Photo}
	}
	return &trace.Tracing{
		Sheet: trace.A4, Side: trace.Right, SideGuessed: true, Length: m(262.3), SeatWidth: m(61), BallWidth: m(91), Swing: m(4),
		Outline: footwear.Swung, ToeShape: "round", SeatAtMM: 35, BallAtMM: 190, PxPerMM: 7,
		Corners: [4]trace.Point{{X: 10, Y: 10}, {X: 1990, Y: 12}, {X: 1985, Y: 1400}, {X: 12, Y: 1395}},
		Notes:   []string{"the sheet is bowed"},
	}
}

func loaded(t *testing.T) State {
	t.Helper()
	s, e := run(Start(), Open{"/d/p.jpg", "p.jpg"})
	require.Equal(t, []Effect{Load{s.Job, "/d/p.jpg", "p.jpg"}}, e)
	s, e = run(s, WasLoaded{s.Job, &trace.Picture{Wide: 2000, High: 1500, Reduced: 2}})
	require.Equal(t, []Effect{Trace{s.Job, "/d/p.jpg", "p.jpg", trace.Options{What: trace.Insole}}}, e)
	return s
}

func read(t *testing.T) State {
	t.Helper()
	s := loaded(t)
	s, _ = run(s, WasTraced{s.Job, tracing()})
	return s
}

func TestAPhotoIsRead(t *testing.T) {
	s := loaded(t)
	assert.Contains(t, NotesView(&s), "Nothing yet")
	s = read(t)
	assert.Empty(t, s.NotYet())
	b := BandView(&s)
	assert.Equal(t, "clear", b.Mark)
	assert.Equal(t, "A right insole, 262.3 ± 0.4 mm long, on an A4 sheet. The side is told by its shape.", b.Sentence)
	rows := ReadView(&s)
	assert.Equal(t, Row{"seat width", "61.0 ± 0.4 mm, 35 mm from the heel"}, rows[1])
	assert.Equal(t, "ball width", rows[2].Name, "there is no waist")
	assert.Equal(t, "The sheet is bowed.", NotesView(&s))
	s, e := run(s, Apply{New: true})
	f, ok := e[0].(Fill)
	require.True(t, ok)
	assert.True(t, f.New)
	require.Len(t, f.Changes, 3)
	assert.Equal(t, footwear.LastLength, f.Changes[0].ID)
	s, _ = run(s, WasFilled{s.Job, "Filled."})
	assert.Equal(t, "Filled.", BandView(&s).Sentence)
}

func TestCornersAreDraggedAndKept(t *testing.T) {
	s := read(t)
	s, e := run(s, MoveCorner{2, trace.Point{X: 5000, Y: -3}})
	assert.Empty(t, e)
	assert.Equal(t, trace.Point{X: 2000, Y: 0}, s.Corners[2], "within the picture")
	s, _ = run(s, HoldCorner{1}, NudgeCorner{-1, 2})
	assert.Equal(t, trace.Point{X: 1989, Y: 14}, s.Corners[1])
	s, e = run(s, LetGo{})
	tr, ok := e[0].(Trace)
	require.True(t, ok)
	require.NotNil(t, tr.Options.Corners)
	assert.Equal(t, s.Corners, *tr.Options.Corners)
	other := tracing()
	other.Corners[0].X = 99
	s, _ = run(s, WasTraced{s.Job, other})
	assert.InDelta(t, 10, s.Corners[0].X, 0, "where the person put them")
	s, e = run(s, FindCorners{})
	tr, ok = e[0].(Trace)
	require.True(t, ok)
	assert.Nil(t, tr.Options.Corners)
	s, _ = run(s, WasTraced{s.Job, other})
	assert.InDelta(t, 99, s.Corners[0].X, 0)
	_, e = run(s, LetGo{}, FindCorners{})
	assert.Empty(t, e)
}

func TestWithoutCornersTheyAreAskedFor(t *testing.T) {
	s := loaded(t)
	s, _ = run(s, Failed{s.Job, problem.Problem{File: "p.jpg", Field: "sheet", Limit: "no sheet is found", Mend: "click its corners"}})
	b := BandView(&s)
	assert.Equal(t, "blocked", b.Mark)
	assert.Contains(t, b.Problem, "click its corners")
	assert.True(t, s.Known)
	assert.InDelta(t, 240, s.Corners[0].X, 1e-9)
	assert.NotEmpty(t, s.NotYet())
	_, e := run(s, Apply{})
	assert.Empty(t, e)
	_, e = run(s, MoveCorner{0, trace.Point{X: 1, Y: 1}}, LetGo{})
	assert.IsType(t, Trace{}, e[0])
}

func TestWhatIsKnownIsToldAnew(t *testing.T) {
	cases := map[string]struct {
		do   Action
		want trace.Options
	}{
		"sheet":  {SetSheet{trace.Letter}, trace.Options{What: trace.Insole, Sheet: trace.Letter}},
		"side":   {SetSide{trace.Left}, trace.Options{What: trace.Insole, Side: trace.Left}},
		"height": {Enter{"4,5"}, trace.Options{What: trace.Insole, EdgeHeightMM: 4.5}},
		"step":   {Step{2}, trace.Options{What: trace.Insole, EdgeHeightMM: 1}},
		"drag":   {Drag{3.1}, trace.Options{What: trace.Insole, EdgeHeightMM: 3}},
		"pencil": {SetWhat{trace.Pencil}, trace.Options{What: trace.Pencil}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			s, e := run(read(t), c.do)
			require.Len(t, e, 1)
			tr, ok := e[0].(Trace)
			require.True(t, ok)
			assert.Equal(t, c.want, tr.Options)
			_, e = run(s, c.do)
			if name != "step" {
				assert.Empty(t, e, "said twice")
			}
		})
	}
	s, e := run(read(t), Enter{"thick"})
	assert.Empty(t, e)
	require.NotNil(t, s.Refused)
	assert.Equal(t, "thick", s.Typed)
	s, _ = run(s, Enter{""})
	assert.Nil(t, s.Refused)
}

func TestLateAndBadPhotosLeaveWhatWasThere(t *testing.T) {
	s := read(t)
	job, was := s.Job, s.Picture
	s, _ = run(s, Open{"/d/q.png", "q.png"})
	for _, late := range []Action{
		WasLoaded{job, &trace.Picture{}}, WasTraced{job, &trace.Tracing{}}, WasFilled{job, "x"}, Failed{job, errors.New("x")},
	} {
		after, e := Reduce(s, late)
		assert.Equal(t, s, after)
		assert.Empty(t, e)
	}
	stopped, e := run(s, Cancel{})
	assert.Equal(t, []Effect{Stop{}}, e)
	assert.Same(t, was, stopped.Picture)
	s, _ = run(s, Failed{s.Job, errors.New("q.png: damaged")})
	assert.Same(t, was, s.Picture)
	assert.NotNil(t, s.Read)
	assert.Equal(t, "q.png: damaged. p.jpg stays.", BandView(&s).Problem)
	assert.Empty(t, s.NotYet())
}
