package ui

import (
	"bytes"
	"context"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/fit/drawing"
	"lastroom/ui/desk"
)

// answers are what has been judged once, for all tests: the same inputs have the same answer.
var (
	answers = map[desk.Inputs]*desk.Answer{}
	bench   = newJudge(func(desk.Action) {})
)

func answerTo(q desk.Check) (*desk.Answer, error) {
	a, ok := answers[q.Inputs]
	if !ok {
		var err error
		if a, err = bench.answer(context.Background(), &q); err != nil {
			return nil, err
		}
		answers[q.Inputs] = a
	}
	b := *a
	b.Generation = q.Generation
	return &b, nil
}

// open makes the window with all work done at once, on the test's goroutine.
func open(t *testing.T) (*Window, *bytes.Buffer) {
	t.Helper()
	app := test.NewTempApp(t)
	log := &bytes.Buffer{}
	var w *Window
	ask := func(q desk.Check) {
		a, err := answerTo(q)
		if err != nil {
			w.do(desk.Failed{Generation: q.Generation, Err: err})
			return
		}
		w.do(desk.Answered{Answer: a})
	}
	want := func(s sheet) { s.done(s.draw()) }
	w = newWindow(app, desk.Demo(), log, ask, want)
	w.shoesDir, w.aside = filepath.Join(t.TempDir(), "shoes"), func(f func()) { f() }
	w.win.Resize(fyne.NewSize(1280, 800))
	w.do(desk.Begin{})
	t.Cleanup(w.win.Close)
	return w, log
}

func (w *Window) number(t *testing.T, key string) *numberField {
	t.Helper()
	f, ok := w.inputs.rows[key].(*numberField)
	require.True(t, ok, key)
	return f
}

func press(f fyne.Focusable, names ...fyne.KeyName) {
	for _, n := range names {
		f.TypedKey(&fyne.KeyEvent{Name: n})
	}
}

func verdicts(log *bytes.Buffer) int { return strings.Count(log.String(), "verdict state=") }

func TestTheWindowOpensOnAVerdict(t *testing.T) {
	w, log := open(t)
	require.NotNil(t, w.state.Shown)
	assert.Equal(t, 1, verdicts(log))
	assert.Equal(t, w.state.Shown.Result.Verdict.Sentence, w.band.sentence.Text)
	assert.Contains(t, w.band.limits.Text, "qualified practitioner")
	for i, v := range drawing.Views {
		require.NotNil(t, w.panes[i].shown, v)
		assert.Contains(t, w.titles[i].Text, v.String())
		assert.Contains(t, w.texts[i].Text, "In this cut", "the picture's text")
	}
	assert.Equal(t, len(w.state.Shown.Result.Findings), w.lists.findings.Length())
}

func TestABadEntryStaysAndIsExplained(t *testing.T) {
	w, log := open(t)
	f := w.number(t, "bevel_medial_deg")
	c := w.win.Canvas()
	c.Focus(f.entry)
	f.entry.SetText("")
	test.Type(f.entry, "steep")
	press(f.entry, fyne.KeyReturn)
	assert.Equal(t, "steep", f.entry.Text)
	assert.True(t, f.problem.Visible())
	assert.Contains(t, f.problem.text.Text, `"steep": not a number`)
	assert.Contains(t, w.band.notice.Text, "last good entry")
	assert.Equal(t, 1, verdicts(log), "nothing new to judge")

	w.do(desk.Step{Key: "bevel_lateral_deg", N: -1}) // the window goes on
	assert.Equal(t, 2, verdicts(log))
	assert.Equal(t, "steep", f.entry.Text)
	press(f.entry, fyne.KeyEscape)
	f.entry.SetText("20")
	c.Unfocus()
	assert.False(t, f.problem.Visible())
	assert.InDelta(t, 20, w.state.Device.BevelMedialDeg, 0)
	assert.Equal(t, 3, verdicts(log))
}

func TestNumbersStepWithTheArrowKeys(t *testing.T) {
	w, log := open(t)
	w.inputs.fold.OpenAll()
	f := w.number(t, "cup_depth_mm")
	spec := f.shown.Spec
	at := w.state.Device.CupDepthMM
	w.win.Canvas().Focus(f.entry)
	assert.Contains(t, w.inputs.help.Text, spec.Limits(), "the focused field is explained")
	press(f.entry, fyne.KeyUp)
	assert.InDelta(t, spec.Stepped(at, 1), w.state.Device.CupDepthMM, 1e-9)
	assert.Equal(t, spec.Format(spec.Stepped(at, 1)), f.entry.Text)
	press(f.entry, fyne.KeyPageDown)
	assert.InDelta(t, spec.Stepped(spec.Stepped(at, 1), -10), w.state.Device.CupDepthMM, 1e-9)
	assert.Equal(t, 3, verdicts(log))
	w.do(desk.Undo{})
	w.do(desk.Undo{})
	assert.InDelta(t, at, w.state.Device.CupDepthMM, 1e-9)
	assert.Equal(t, spec.Format(at), f.entry.Text)
}

func TestTheVerdictFollowsADrag(t *testing.T) {
	w, log := open(t)
	f := w.number(t, "bevel_lateral_deg")
	f.track.Resize(fyne.NewSize(200, 12))
	before := verdicts(log)
	for _, x := range []float32{150, 110, 50} {
		f.track.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(x, 6)}})
	}
	f.track.DragEnd()
	assert.Equal(t, before+3, verdicts(log), "a verdict for each place")
	assert.InDelta(t, f.shown.Spec.Nearest(f.track.value(50)), w.state.Device.BevelLateralDeg, 1e-9)
	w.do(desk.Undo{})
	assert.InDelta(t, desk.Demo().Device.BevelLateralDeg, w.state.Device.BevelLateralDeg, 1e-9)
	test.Tap(f.track)
	assert.True(t, w.state.CanUndo())
}

func TestShoesAreFoundInSpiteOfTypingErrors(t *testing.T) {
	w, _ := open(t)
	s := w.inputs.shoes
	w.win.Canvas().Focus(s.search)
	test.Type(s.search, "hikng boot")
	require.NotEmpty(t, s.rows)
	press(s.search, fyne.KeyReturn)
	assert.Equal(t, "hiking-boot", w.state.ShoeID)
	assert.Equal(t, "hiking-boot", w.state.Shown.Inputs.ShoeID)
	assert.Contains(t, w.shoe.Text, "EU 42")
	press(s.search, fyne.KeyEscape)
	assert.GreaterOrEqual(t, len(s.rows), 18)
	s.list.Select(0)
	assert.Equal(t, s.rows[0].ID, w.state.ShoeID)
}

func TestCutsAreDraggedAndMoveInTheOthers(t *testing.T) {
	w, _ := open(t)
	side := w.panes[drawing.Side]
	k := float32(side.pxPerUnit())
	lineX := func(p *drawingPane) float32 {
		x, _ := p.shown.Frame.Pixel(drawing.Pt{U: p.scene.Cuts.XMM})
		return float32(x) / k
	}
	x := lineX(side)
	at := fyne.NewPos(x+2, side.Size().Height/3)
	side.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: at}})
	require.GreaterOrEqual(t, side.held, 0)
	was := w.panes[drawing.Behind].shown
	to := fyne.NewPos(x-30, at.Y)
	side.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: to}})
	side.DragEnd()
	assert.InDelta(t, side.paperAt(to).U, w.state.Cuts.XMM, 1e-6)
	assert.InDelta(t, x-30, lineX(side), 0.01, "the line is under the mouse")
	for _, l := range w.panes[drawing.Above].lines {
		if l.of == drawing.Behind {
			assert.InDelta(t, lineX(w.panes[drawing.Above]), l.line.Position1.X, 0.01)
		}
	}
	assert.NotSame(t, was, w.panes[drawing.Behind].shown, "the view along it is drawn anew")
	assert.Contains(t, w.titles[drawing.Behind].Text, "X = ")

	side.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(1, 1)}})
	assert.Equal(t, -1, side.held, "nothing to hold there")
}

func TestCutsAreSteppedWithKeys(t *testing.T) {
	w, _ := open(t)
	behind := w.panes[drawing.Behind]
	w.win.Canvas().Focus(behind)
	c := w.state.Cuts
	press(behind, fyne.KeyRight)
	assert.InDelta(t, c.YMM-1, w.state.Cuts.YMM, 1e-9, "right is lateral, seen from behind")
	press(behind, fyne.KeyUp)
	assert.InDelta(t, c.ZMM+1, w.state.Cuts.ZMM, 1e-9)
	behind.KeyDown(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	press(behind, fyne.KeyPageDown)
	assert.InDelta(t, c.XMM-5, w.state.Cuts.XMM, 1e-9)
	behind.KeyUp(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	pose := w.state.Pose
	press(behind, fyne.KeySpace)
	assert.NotEqual(t, pose, w.state.Pose)
	press(behind, fyne.KeyF6)
	assert.Equal(t, pose, w.state.Pose)
}

func TestTheWheelGoesNearerAboutTheMouse(t *testing.T) {
	w, _ := open(t)
	p := w.panes[drawing.Above]
	whole := p.shown.Frame
	at := fyne.NewPos(p.Size().Width/3, p.Size().Height/2)
	under := p.paperAt(at)
	p.Scrolled(&fyne.ScrollEvent{PointEvent: fyne.PointEvent{Position: at}, Scrolled: fyne.NewDelta(0, 10)})
	p.Scrolled(&fyne.ScrollEvent{PointEvent: fyne.PointEvent{Position: at}, Scrolled: fyne.NewDelta(0, 10)})
	assert.InDelta(t, whole.PxPerMM()*zoomStep*zoomStep, p.shown.Frame.PxPerMM(), 0.02*whole.PxPerMM())
	now := p.paperAt(at)
	assert.InDelta(t, under.U, now.U, 2, "about the same point, but for the axes' numbers")
	assert.InDelta(t, under.V, now.V, 2)
	press(p, fyne.KeyPlus)
	assert.NotNil(t, p.near)
	press(p, fyne.Key0)
	assert.Nil(t, p.near)
	assert.InDelta(t, whole.PxPerMM(), p.shown.Frame.PxPerMM(), 1e-9)
	press(p, fyne.KeyMinus)
	assert.Nil(t, p.near, "no farther than the whole")
	for range 40 {
		press(p, fyne.KeyPlus)
	}
	assert.Greater(t, p.shown.Frame.Shown.Hi.U-p.shown.Frame.Shown.Lo.U, 6.0, "nor nearer than a few millimetres")
}

func TestAnAutomaticNumberIsTold(t *testing.T) {
	w, _ := open(t)
	f := w.number(t, "wedge_width_mm")
	assert.Empty(t, f.entry.Text)
	assert.Regexp(t, `^auto \d+`, f.entry.PlaceHolder)
	assert.True(t, f.track.unset)
	w.do(desk.Enter{Key: "wedge_width_mm", Text: "52"})
	assert.Equal(t, "52", strings.TrimSuffix(f.entry.Text, ".0"))
	assert.False(t, f.track.unset)
}

func TestChoosingAFindingMovesTheCuts(t *testing.T) {
	w, _ := open(t)
	fs := w.state.Shown.Result.Findings
	require.Greater(t, len(fs), 2)
	w.lists.findings.Select(2)
	assert.Equal(t, 2, w.state.Selected)
	assert.Equal(t, desk.FindingsView(&w.state)[2].Text(), w.inputs.help.Text, "told in full")
	assert.InDelta(t, fs[2].At.X, w.state.Cuts.XMM, 1e-9)
	press(w.lists.findings, fyne.KeyF7)
	assert.Equal(t, 3, w.state.Selected)
	assert.Equal(t, fs[3].Pose, w.state.Pose)
	w.lists.footRoom.Select(0)
	assert.Equal(t, desk.FootRoomView(&w.state)[0].Text(), w.inputs.help.Text)
}

func TestFunctionKeysWorkInAnEntry(t *testing.T) {
	w, _ := open(t)
	f := w.number(t, "cup_depth_mm")
	w.win.Canvas().Focus(f.entry)
	pose := w.state.Pose
	press(f.entry, fyne.KeyF6)
	assert.NotEqual(t, pose, w.state.Pose)
	press(f.entry, fyne.KeyF3)
	assert.True(t, w.panes[drawing.Side].focused)
	press(w.panes[drawing.Side], fyne.KeyF8)
	assert.True(t, w.large.Visible())
	assert.False(t, w.board.Visible())
	press(w.panes[drawing.Side], fyne.KeyF8)
	assert.True(t, w.board.Visible())
	press(w.inputs.shoes.search, fyne.KeyF2)
	assert.True(t, w.panes[drawing.Behind].focused)
}

func TestEveryShortcutStandsOnceOnTheMenu(t *testing.T) {
	w, log := open(t)
	seen := map[string]string{}
	byName := map[string]*fyne.MenuItem{}
	for _, m := range w.menus.main.Items {
		for _, i := range m.Items {
			if i.Shortcut == nil {
				continue
			}
			name := i.Shortcut.ShortcutName()
			assert.Empty(t, seen[name], "%s: %s", name, i.Label)
			seen[name], byName[i.Label] = i.Label, i
		}
	}
	build := byName["Next wedge build"]
	require.NotNil(t, build)
	assert.Equal(t, &desktop.CustomShortcut{KeyName: fyne.KeyB, Modifier: fyne.KeyModifierControl | fyne.KeyModifierShift}, build.Shortcut)
	was := w.state.Device.WedgeBuild
	build.Action()
	assert.NotEqual(t, was, w.state.Device.WedgeBuild)
	assert.Equal(t, 2, verdicts(log))
	pick, ok := w.inputs.rows["wedge_build"].(*choiceField)
	require.True(t, ok)
	assert.Equal(t, w.state.Device.WedgeBuild, pick.pick.Selected)
	assert.False(t, w.menus.undo.Disabled)
	w.menus.undo.Action()
	assert.Equal(t, was, w.state.Device.WedgeBuild)
	assert.False(t, w.menus.redo.Disabled)
	assert.True(t, w.menus.undo.Disabled)
}

func TestTextsCloseWithEscape(t *testing.T) {
	w, _ := open(t)
	w.functionKey(fyne.KeyF1)
	require.Len(t, w.open, 1)
	assert.NotNil(t, w.win.Canvas().Overlays().Top())
	assert.True(t, w.functionKey(fyne.KeyEscape))
	assert.Empty(t, w.open)
	assert.Nil(t, w.win.Canvas().Overlays().Top())
	assert.False(t, w.functionKey(fyne.KeyEscape))
}

func TestHoveringNamesWhatIsThere(t *testing.T) {
	w, _ := open(t)
	above := w.panes[drawing.Above]
	at := w.state.Shown.Result.Findings[w.state.Selected].Wall
	x, y := above.shown.Frame.Pixel(drawing.Above.Project(at))
	k := above.pxPerUnit()
	above.MouseMoved(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(float32(x/k), float32(y/k))}})
	assert.Contains(t, w.pose.Text, "from above: ")
	above.MouseOut()
	assert.Equal(t, desk.PoseLine(&w.state), w.pose.Text)
}
