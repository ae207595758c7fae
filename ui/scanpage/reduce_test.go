package scanpage

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// wedge is a closed prism of 200 × 60 × 40 mm whose two ends differ.
func wedge() *mesh.Mesh {
	var b mesh.Builder
	for _, p := range []r3.Vec{
		{Y: -30},
		{X: 200, Y: -20},
		{X: 200, Y: 30},
		{Y: 30},
		{Y: -30, Z: 40},
		{X: 200, Y: -20, Z: 20},
		{X: 200, Y: 30, Z: 20},
		{Y: 30, Z: 40},
	} {
		b.AddVertex(p)
	}
	for i, q := range [][4]int32{{3, 2, 1, 0}, {4, 5, 6, 7}, {0, 1, 5, 4}, {2, 3, 7, 6}, {1, 2, 6, 5}, {3, 0, 4, 7}} {
		b.AddQuad(q[0], q[1], q[2], q[3], uint8(i))
	}
	return b.Mesh()
}

// run takes actions one after the other and returns the last one's effects.
func run(t *testing.T, s State, actions ...Action) (State, []Effect) {
	t.Helper()
	var e []Effect
	for _, a := range actions {
		s, e = Reduce(s, a)
	}
	return s, e
}

// ready is a page with a scan in its frame.
func ready(t *testing.T, p Purpose, side footwear.Side) State {
	t.Helper()
	s, _ := run(t, Start(), Open{"/d/a.stl", p})
	raw := &Raw{Mesh: wedge(), Info: mesh.FileInfo{UnitMM: 1, FileUnitMM: 1, Triangles: 12}}
	s, e := run(t, s, WasRead{s.Job, raw})
	m, ok := e[0].(Mend)
	require.True(t, ok)
	m.Shape.Mesh = wedge()
	s, e = run(t, s, WasMended{s.Job, &m.Shape})
	require.IsType(t, Find{}, e[0])
	s, e = run(t, s, WasFound{s.Job, Found{LengthMM: 200, Side: side}})
	require.IsType(t, Measure{}, e[0])
	s, _ = run(t, s, WasMeasured{s.Job, readOf(p)})
	return s
}

func readOf(p Purpose) *Read {
	r := &Read{Figures: []Figure{{"length", "200.0 mm", ""}}}
	if p == Device {
		r.Skin = wedge()
		for i := range r.Skin.Tag {
			r.Skin.Tag[i] = uint8(device.CupWall)
		}
		r.Device = &device.Device{Rigid: r.Skin.Clone()}
	}
	return r
}

func TestAFileComesToItsFrame(t *testing.T) {
	s := ready(t, Inside, footwear.RightSide)
	assert.Empty(t, s.NotYet())
	b := BandView(&s)
	assert.Equal(t, IsReady, b.Mark)
	assert.Contains(t, b.Sentence, "right, 200 mm long")
	assert.Equal(t, "as found", FrameView(&s))
	s, e := run(t, s, Use{})
	mk, ok := e[0].(Make)
	require.True(t, ok)
	assert.Equal(t, footwear.RightSide, mk.Side)
	assert.True(t, BandView(&s).Cancel)
	s, _ = run(t, s, WasUsed{s.Job, "In use."})
	assert.Equal(t, "In use.", BandView(&s).Sentence)
}

func TestUnitsAreAskedWhenTheyAreUnclear(t *testing.T) {
	m := wedge().Scaled(0.1)
	two := []mesh.UnitGuess{{Unit: mesh.Unit{Name: "cm", MM: 10}, LengthMM: 204}, {Unit: mesh.Unit{Name: "in", MM: 25.4}, LengthMM: 518}}
	cases := map[string]struct {
		raw     Raw
		asks    bool
		mm      float64
		guessed bool
	}{
		"the file says":        {raw: Raw{Info: mesh.FileInfo{UnitMM: 25.4}}, mm: 25.4},
		"one unit is possible": {raw: Raw{Guesses: two[:1]}, mm: 10, guessed: true},
		"two are":              {raw: Raw{Guesses: two, Ambiguous: true}, asks: true},
		"none is":              {asks: true},
		"the file is doubted":  {raw: Raw{Doubted: 1, Guesses: two[:1]}, asks: true},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			c.raw.Mesh = m
			s, _ := run(t, Start(), Open{"/d/a.stl", Last})
			s, e := run(t, s, WasRead{s.Job, &c.raw})
			if !c.asks {
				md, ok := e[0].(Mend)
				require.True(t, ok)
				assert.InDelta(t, c.mm, md.Shape.UnitMM, 0)
				assert.Equal(t, c.guessed, md.Shape.Guessed)
				return
			}
			assert.Equal(t, AskUnit, s.Stage)
			b := BandView(&s)
			assert.Equal(t, Asks, b.Mark)
			require.NotEmpty(t, b.Choices)
			assert.NotEmpty(t, s.NotYet())
			s, e = run(t, s, b.Choices[0].Action)
			require.IsType(t, Mend{}, e[0])
			assert.Equal(t, Mending, s.Stage)
		})
	}
}

func TestAUnitIsChangedAfterwards(t *testing.T) {
	s := ready(t, Last, footwear.RightSide)
	s, e := run(t, s, PickUnit{10})
	md, ok := e[0].(Mend)
	require.True(t, ok)
	assert.InDelta(t, 10, md.Shape.UnitMM, 0)
	assert.Zero(t, md.Shape.Raw.Info.UnitMM, "in the file's numbers again")
	_, e = run(t, s, PickUnit{25.4})
	assert.Empty(t, e, "while it works")
}

func TestABadFileLeavesWhatWasThere(t *testing.T) {
	s := ready(t, Inside, footwear.LeftSide)
	was := s.Shape
	s, _ = run(t, s, Open{"/d/broken.obj", Device})
	assert.Equal(t, "broken.obj", BandView(&s).Title)
	s, _ = run(t, s, Failed{s.Job, problem.Problem{File: "broken.obj", Limit: "no faces", Mend: "export it again"}})
	assert.Same(t, was, s.Shape)
	assert.Equal(t, Inside, s.Purpose)
	b := BandView(&s)
	assert.Contains(t, b.Problem, "broken.obj: no faces; export it again")
	assert.Contains(t, b.Problem, "a.stl stays")
	assert.Empty(t, s.NotYet(), "and can be used still")
}

func TestLateResultsAreDropped(t *testing.T) {
	s := ready(t, Inside, footwear.RightSide)
	job := s.Job
	s, _ = run(t, s, HalfTurn{drawing.Above})
	assert.True(t, s.Stale)
	for _, late := range []Action{
		WasRead{job, &Raw{}},
		WasMended{job, &Shape{}},
		WasFound{job, Found{LengthMM: 3}},
		WasMeasured{job, &Read{}},
		WasUsed{job, "x"},
		Failed{job, errors.New("x")},
		Progressed{job, 0.7, "x"},
	} {
		after, e := Reduce(s, late)
		assert.Equal(t, s, after)
		assert.Empty(t, e)
	}
	s, e := run(t, s, Cancel{})
	assert.Equal(t, []Effect{Stop{}}, e)
	assert.False(t, s.Busy())
	late, _ := run(t, s, WasMeasured{s.Job - 1, &Read{}})
	assert.Equal(t, s, late)
	_, e = run(t, s, Cancel{})
	assert.Empty(t, e)
}

// A movement in a drawing moves every point of the scan on the paper by just that, right or left.
func TestMovementsFollowThePaper(t *testing.T) {
	p := r3.Vec{X: 31, Y: 12, Z: 7}
	for _, side := range []footwear.Side{footwear.RightSide, footwear.LeftSide} {
		s := ready(t, Inside, side)
		s.Cuts = drawing.Cuts{XMM: 40, YMM: -5, ZMM: 9}
		for _, v := range drawing.Views {
			before := v.Project(s.Drawn().Place(p))
			moved, _ := run(t, s, Move{v, drawing.Pt{U: 3, V: -2}})
			after := v.Project(moved.Drawn().Place(p))
			assert.InDelta(t, before.U+3, after.U, 1e-9, "%v %s", v, side)
			assert.InDelta(t, before.V-2, after.V, 1e-9)
			assert.True(t, moved.Stale)

			turned, _ := run(t, s, Turn{v, 90})
			mid := v.Project(r3.Vec{X: 40, Y: -5, Z: 9})
			after = v.Project(turned.Drawn().Place(p))
			assert.InDelta(t, mid.U-(before.V-mid.V), after.U, 1e-9, "anticlockwise")
			assert.InDelta(t, mid.V+(before.U-mid.U), after.V, 1e-9)

			half, e := run(t, s, HalfTurn{v})
			require.IsType(t, Measure{}, e[0])
			assert.InDelta(t, 180, r3.Norm(half.Correction.RotationVectorDeg()), 1e-6)
		}
	}
}

func TestLettingGoMeasuresAnew(t *testing.T) {
	s := ready(t, Last, footwear.LeftSide)
	_, e := run(t, s, LetGo{})
	assert.Empty(t, e, "nothing was moved")
	s, e = run(t, s, Move{drawing.Side, drawing.Pt{U: 1}}, LetGo{})
	m, ok := e[0].(Measure)
	require.True(t, ok)
	assert.InDelta(t, 1, m.Pose.T.X, 1e-9)
	assert.Contains(t, FrameView(&s), "moved 1.0 mm 0.0 mm 0.0 mm")
	s, _ = run(t, s, WasMeasured{s.Job, readOf(Last)})
	assert.Contains(t, BandView(&s).Sentence, "moved it by hand")
	s, e = run(t, s, Restore{})
	require.IsType(t, Measure{}, e[0])
	assert.False(t, s.Corrected())
}

func TestThreePointsFindTheFrame(t *testing.T) {
	s := ready(t, Inside, footwear.LeftSide)
	s, e := run(t, s, SetTool{PointTool}, PickPoint{r3.Vec{X: 1}}, PickPoint{r3.Vec{X: 140, Y: 30}})
	assert.Empty(t, e)
	assert.Contains(t, ToolHelp(&s), "Point 3 of 3")
	require.Len(t, s.Drawn().Points, 2)
	assert.InDelta(t, 30, s.Drawn().Points[1].At.Y, 1e-9, "marked where it was clicked")
	s, e = run(t, s, PickPoint{r3.Vec{X: 130, Y: -35}})
	f, ok := e[0].(Find)
	require.True(t, ok)
	require.NotNil(t, f.Points)
	assert.InDelta(t, -30, f.Points[1].Y, 1e-9, "the scan is a left one")
	assert.Equal(t, footwear.SideUnknown, f.Side)
	s, _ = run(t, s, Failed{s.Job, errors.New("no shoe")})
	assert.Contains(t, BandView(&s).Problem, "no shoe")
	assert.NotNil(t, s.Shape)
}

func TestTheSideIsAsked(t *testing.T) {
	s := ready(t, Inside, footwear.SideUnknown)
	b := BandView(&s)
	assert.Equal(t, Asks, b.Mark)
	require.Len(t, b.Choices, 2)
	assert.Contains(t, s.NotYet(), "right or a left")
	s, e := run(t, s, b.Choices[1].Action)
	require.IsType(t, Measure{}, e[0])
	assert.True(t, s.Mirrored())
}

func TestWithoutAFrameItIsMovedByHand(t *testing.T) {
	s, _ := run(t, Start(), Open{"/d/a.stl", Last})
	s, _ = run(t, s, WasRead{s.Job, &Raw{Mesh: wedge(), Info: mesh.FileInfo{UnitMM: 1}}})
	s, _ = run(t, s, WasMended{s.Job, &Shape{Name: "a.stl", Mesh: wedge(), UnitMM: 1}})
	s, _ = run(t, s, Failed{s.Job, errors.New("no frame")})
	assert.Equal(t, PointTool, s.Tool)
	assert.Contains(t, BandView(&s).Sentence, "No frame was found")
	assert.NotEmpty(t, s.NotYet())
	b := s.Drawn().Bounds()
	assert.InDelta(t, 0, r3.Norm(r3.Add(b.Min, b.Max)), 1e-9, "in the middle of the drawings")
	s, _ = run(t, s, SetSide{footwear.RightSide}, Move{drawing.Side, drawing.Pt{U: 100}})
	_, e := run(t, s, LetGo{})
	assert.IsType(t, Measure{}, e[0])
}

func TestAPatchIsNamed(t *testing.T) {
	s := ready(t, Device, footwear.RightSide)
	s, _ = run(t, s, SetTool{PatchTool}, PickPatch{0})
	assert.Contains(t, ToolHelp(&s), "cup wall")
	require.Len(t, s.Drawn().Points, 1, "marked")
	assert.Equal(t, "cup wall", s.Drawn().Points[0].Name)
	same, e := run(t, s, NamePatch{device.CupWall})
	assert.Empty(t, e, "it is that already")
	assert.Equal(t, s, same)
	s, e = run(t, s, NamePatch{device.WedgeBase})
	assert.Equal(t, []Effect{Rename{s.Job, s.Read, 0, device.WedgeBase}}, e)
	refused, _ := run(t, s, Failed{s.Job, errors.New("no foot side would be left")})
	assert.Contains(t, BandView(&refused).Problem, "no foot side")
	assert.Empty(t, refused.NotYet(), "what was read stays")
	s, _ = run(t, s, WasMeasured{s.Job, readOf(Device)})
	assert.Equal(t, "The patch is wedge base now, no longer cup wall.", BandView(&s).Sentence)
	none, _ := run(t, s, PickPatch{-1}, NamePatch{device.Arch})
	assert.Same(t, s.Read, none.Read)
}

func TestThicknessesAreEntered(t *testing.T) {
	s := ready(t, Last, footwear.RightSide)
	s, _ = run(t, s, Enter{"lining_mm", "thick"})
	assert.Contains(t, FieldsView(&s)[1].Problem, "not a number")
	assert.Equal(t, "thick", FieldsView(&s)[1].Text)
	assert.NotEmpty(t, s.NotYet())
	s, _ = run(t, s, Enter{"lining_mm", "-1,5 mm"}, Step{"insole_mm", 4}, Drag{"sock_mm", 1.1})
	assert.Equal(t, Allowances{InsoleMM: 2, LiningMM: -1.5, SockMM: 1}, s.Allow)
	assert.Empty(t, s.NotYet())
	s, _ = run(t, s, SetPurpose{Device})
	assert.Empty(t, FieldsView(&s))
}

func TestThePurposeIsChanged(t *testing.T) {
	s := ready(t, Last, footwear.RightSide)
	inside, e := run(t, s, SetPurpose{Inside})
	require.IsType(t, Measure{}, e[0], "the frame is the same")
	assert.Equal(t, Inside, inside.Purpose)
	dev, e := run(t, s, SetPurpose{Device})
	require.IsType(t, Find{}, e[0])
	assert.True(t, dev.Found.Rough)
}

func TestCutsStayNearTheScan(t *testing.T) {
	s := ready(t, Inside, footwear.RightSide)
	s, _ = run(t, s, MoveCut{drawing.Behind, 9000}, StepCut{drawing.Above, -math.Pi})
	assert.InDelta(t, 205, s.Cuts.XMM, 1e-9)
	assert.Less(t, s.Cuts.ZMM, 8.0)
}

func TestWhatWasRepairedIsTold(t *testing.T) {
	s := ready(t, Inside, footwear.RightSide)
	s.Shape.Report = mesh.RepairReport{Repairs: []mesh.RepairStep{{Words: "2 holes were filled"}}}
	s.Found.Notes = []string{"the normals point into the room"}
	text := strings.Join(FileView(&s), "\n")
	assert.Contains(t, text, "12 triangles; units: mm, as the file says.")
	assert.Contains(t, text, "2 holes were filled.")
	assert.Contains(t, text, "The normals point into the room.")
	assert.Equal(t, "1\u00a0234\u00a0567", thousands(1234567))
}
