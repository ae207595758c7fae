package ui

import (
	"context"
	"image/color"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/ui/desk"
	"lastroom/ui/scanpage"
)

func baseName(path string) string { return filepath.Base(path) }

// scanView is the page on which a scan gets its frame.
type scanView struct {
	win   *Window
	state scanpage.State
	start func(scanpage.Effect) // has it done in the background
	stop  func()

	band     *scanBand
	panes    [len(drawing.Views)]*scanPane
	titles   [len(drawing.Views)]*widget.Label
	frames   [len(drawing.Views)]*fyne.Container
	purpose  *choiceRow
	side     *choiceRow
	unit     *keySelect
	tools    *choiceRow
	help     *widget.Label
	far      *keyCheck
	halves   [2]*keyButton // half turns
	restore  *keyButton
	moved    *widget.Label
	patch    *keySelect
	patchRow *fyne.Container
	fields   map[string]*numberField
	room     *fyne.Container
	use      *keyButton
	facts    *widget.Label
	values   *widget.Label
	file     *widget.Label
	over     *widget.Label
	told     *container.AppTabs // what was read off, and of the file
	board    *fyne.Container
	large    *fyne.Container
	all      fyne.CanvasObject

	box   r3.Box
	boxOf boxKey
	quiet bool // choices are being shown, not made
}

// boxKey says of which scan, lying where, a box is.
type boxKey struct {
	shape *scanpage.Shape
	pose  mesh.Pose
	left  bool
}

func newScanView(w *Window, want func(sheet), start func(scanpage.Effect), stop func()) *scanView {
	v := &scanView{win: w, state: scanpage.Start(), start: start, stop: stop, fields: map[string]*numberField{}}
	v.band = newScanBand(v.do)
	v.band.function = w.functionKey
	for i, view := range drawing.Views {
		v.panes[i] = newScanPane(view, want, v.do, w.functionKey, func(t string) { setText(v.over, t) })
		v.titles[i] = widget.NewLabel("")
		v.titles[i].TextStyle.Bold = true
		v.titles[i].Truncation = fyne.TextTruncateEllipsis
		v.frames[i] = container.NewBorder(v.titles[i], nil, nil, nil, v.panes[i])
	}
	v.build()
	v.show()
	return v
}

// do takes an action of the page, on the window's thread.
func (v *scanView) do(a scanpage.Action) {
	var effects []scanpage.Effect
	v.state, effects = scanpage.Reduce(v.state, a)
	v.show()
	for _, e := range effects {
		switch e := e.(type) {
		case scanpage.Stop:
			v.stop()
		case scanpage.Log:
			v.win.line(e.Line)
		default:
			v.start(e)
		}
	}
}

func (v *scanView) build() {
	key := v.win.functionKey
	v.purpose = newChoiceRow(key, 1, func(p string) { v.do(scanpage.SetPurpose{Purpose: scanpage.Purpose(p)}) },
		string(scanpage.Inside), "the inside of a shoe, or a cast", string(scanpage.Last), "the last of a shoe", string(scanpage.Device), "a device")
	v.side = newChoiceRow(key, 2, func(s string) { v.do(scanpage.SetSide{Side: footwear.Side(s)}) },
		string(footwear.RightSide), "right", string(footwear.LeftSide), "left")
	units := make([]string, len(mesh.Units))
	for i, u := range mesh.Units {
		units[i] = u.Name
	}
	v.unit = newKeySelect(key, units, func(t string) {
		for _, u := range mesh.Units {
			if u.Name == t {
				v.do(scanpage.PickUnit{MM: u.MM})
			}
		}
	})
	tool := func(t string) { v.do(scanpage.SetTool{Tool: scanpage.Tool(t)}) }
	v.tools = newChoiceRow(key, 2, tool,
		string(scanpage.MoveTool), "Move", string(scanpage.TurnTool), "Turn", string(scanpage.CutTool), "Cuts",
		string(scanpage.PointTool), "Three points", string(scanpage.PatchTool), "Patches")
	v.help, v.moved, v.over = caption(""), caption(""), caption("")
	v.help.Wrapping, v.moved.Wrapping = fyne.TextWrapWord, fyne.TextWrapWord
	v.over.Truncation = fyne.TextTruncateEllipsis
	v.far = newKeyCheck(key, "look through to the far side (Space)", func(on bool) {
		if !v.quiet && on != v.state.Far {
			v.do(scanpage.ToggleFar{})
		}
	})
	v.restore = newKeyButton(key, "Back to what was found", func() { v.do(scanpage.Restore{}) })
	half := func(text string, view drawing.View) *keyButton {
		return newKeyButton(key, text, func() { v.do(scanpage.HalfTurn{View: view}) })
	}
	features := make([]string, 0, device.NumFeatures)
	for _, f := range scanpage.Features() {
		features = append(features, f.String())
	}
	v.patch = newKeySelect(key, features, func(t string) {
		for _, f := range scanpage.Features() {
			if f.String() == t {
				v.do(scanpage.NamePatch{Feature: f})
			}
		}
	})
	v.patchRow = row("this patch is", v.patch, 170)
	v.room = container.NewVBox()
	report := reporter{do: v.fieldDone, function: v.win.functionKey, explain: func(f desk.FieldShow) { setText(v.over, f.Help) }}
	for _, f := range scanpage.Fields {
		v.fields[f.Key] = newNumberField(report)
		v.room.Add(v.fields[f.Key].object())
	}
	v.use = newKeyButton(key, "", func() { v.do(scanpage.Use{}) })
	v.use.Importance = widget.HighImportance
	open := newKeyButton(key, "Open … (Ctrl+O)", v.win.askShape)
	back := newKeyButton(key, "Back to the fit (Esc)", func() { v.win.pages.turnTo(nil) })
	v.halves = [2]*keyButton{half("Heel and toe swap", drawing.Above), half("Upside down", drawing.Behind)}
	column := container.NewVBox(
		heading("This is"), v.purpose.all, row("foot", v.side.all, 170), row("unit of the file", v.unit, 90),
		heading("Put it right"), v.tools.all, v.help, v.patchRow, v.far,
		container.NewGridWithColumns(2, v.halves[0], v.halves[1]),
		v.restore, v.moved,
	)
	roomBox := container.NewVBox(heading("Between scan and room"), v.room)
	v.room = roomBox
	column.Add(roomBox)
	left := container.NewBorder(nil, container.NewVBox(widget.NewSeparator(), v.use, container.NewGridWithColumns(2, open, back)), nil, nil,
		container.NewVScroll(container.NewPadded(column)))

	v.facts, v.values, v.file = widget.NewLabel(""), widget.NewLabel(""), widget.NewLabel("")
	v.values.TextStyle.Bold = true
	v.file.Wrapping = fyne.TextWrapWord
	v.told = container.NewAppTabs(
		container.NewTabItem("Read off", container.NewScroll(container.NewHBox(v.values, v.facts))),
		container.NewTabItem("The file", container.NewVScroll(v.file)),
	)
	v.board, v.large = container.NewStack(), container.NewStack()
	v.large.Hide()
	v.arrange()
	middle := container.NewBorder(nil, v.over, nil, nil, container.NewStack(v.board, v.large))
	whole := container.NewHSplit(left, middle)
	whole.SetOffset(0.245)
	v.all = container.NewBorder(v.band.all, nil, nil, nil, whole)
}

// fieldDone brings what was done to a number field to the page.
func (v *scanView) fieldDone(a desk.Action) {
	switch a := a.(type) {
	case desk.Enter:
		v.do(scanpage.Enter{Key: a.Key, Text: a.Text})
	case desk.Step:
		v.do(scanpage.Step{Key: a.Key, N: a.N})
	case desk.Drag:
		v.do(scanpage.Drag{Key: a.Key, Value: a.Value})
	case desk.DragEnd:
		v.do(scanpage.LetGo{})
	}
}

func (v *scanView) object() fyne.CanvasObject { return v.all }

func (v *scanView) steps() (canUndo, canRedo bool) { return v.state.CanUndo(), v.state.CanRedo() }

func (v *scanView) undo() {
	for _, f := range v.fields {
		f.entry.commit() // what is being typed is a step too
	}
	v.do(scanpage.Undo{})
}

func (v *scanView) redo() { v.do(scanpage.Redo{}) }

func (v *scanView) turned() {
	v.show()
	v.win.win.Canvas().Focus(v.panes[drawing.Side])
}

// key does what a function key stands for on the page.
func (v *scanView) key(k fyne.KeyName) bool {
	switch k {
	case fyne.KeyF1:
		v.win.tell("Keys", scanKeysText)
	case fyne.KeyF2:
		v.focus(drawing.Behind)
	case fyne.KeyF3:
		v.focus(drawing.Side)
	case fyne.KeyF4:
		v.focus(drawing.Above)
	case fyne.KeyF8:
		v.enlarge()
	case fyne.KeyF5, fyne.KeyF6, fyne.KeyF7: // nothing to choose here
	case fyne.KeyEscape:
		if !v.state.Busy() && v.state.Stage != scanpage.AskUnit {
			return false
		}
		v.do(scanpage.Cancel{})
	default:
		return false
	}
	return true
}

const scanKeysText = `Drawings: arrow keys move or turn the scan by 1 mm or 1°, with Shift by a tenth; with the tool Cuts they move the two lines.
Page keys move the drawing's own cut. Space looks through to the far side. Plus and minus (or the wheel): nearer and
farther, 0 the whole. Ctrl+Z takes the last correction back, Ctrl+Shift+Z does it again. F2 F3 F4: drawing from behind, from the side, from above. F8: enlarge it, and back. Escape stops the work, or goes back to the fit.`

// focus gives a drawing the focus; when one is enlarged, it is this one then.
func (v *scanView) focus(d drawing.View) {
	if v.large.Visible() {
		v.showLarge(d)
	}
	v.win.win.Canvas().Focus(v.panes[d])
}

// enlarge shows the focused drawing alone, or all again.
func (v *scanView) enlarge() {
	if v.large.Visible() {
		v.large.Hide()
		v.arrange()
		v.board.Show()
		return
	}
	d := drawing.Side
	for i, p := range v.panes {
		if p.focused {
			d = drawing.Views[i]
		}
	}
	v.showLarge(d)
	v.win.win.Canvas().Focus(v.panes[d])
}

func (v *scanView) showLarge(d drawing.View) {
	v.board.Hide()
	v.board.Objects = nil
	v.large.Objects = []fyne.CanvasObject{v.frames[d]}
	v.large.Show()
	v.large.Refresh()
}

// arrange puts the drawings on the board as on a sheet of paper: from behind beside the side view, above below it.
func (v *scanView) arrange() {
	left := container.NewVSplit(v.frames[drawing.Behind], v.told)
	right := container.NewVSplit(v.frames[drawing.Side], v.frames[drawing.Above])
	left.SetOffset(0.5)
	right.SetOffset(0.47)
	split := container.NewHSplit(left, right)
	split.SetOffset(0.36)
	v.board.Objects = []fyne.CanvasObject{split}
	v.board.Refresh()
}

// show brings the state on the page.
func (v *scanView) show() {
	s := &v.state
	v.quiet = true
	defer func() { v.quiet = false }()
	v.band.show(scanpage.BandView(s))
	drawn := s.Drawn()
	v.frameBox(drawn)
	for i, view := range drawing.Views {
		v.panes[i].show(s, drawn, v.box)
		title := "Seen " + view.String()
		if drawn != nil {
			title += " · " + view.Label(s.Cuts)
		}
		setText(v.titles[i], title)
	}
	v.purpose.show(string(s.Purpose))
	v.side.show(string(s.Side))
	v.showUnit()
	v.showTools()
	setText(v.help, scanpage.ToolHelp(s))
	setText(v.moved, scanpage.FrameView(s))
	setEnabled(&v.restore.Button, s.Corrected() && !s.Busy())
	for _, b := range v.halves {
		setEnabled(&b.Button, s.Shape != nil && !s.Busy())
	}
	if v.far.Checked != s.Far {
		v.far.SetChecked(s.Far)
	}
	v.showPatch()
	fields := scanpage.FieldsView(s)
	for _, f := range fields {
		v.fields[f.Key].show(desk.FieldShow{
			Key: f.Key, Name: f.Name, Unit: f.Spec.Unit, Help: f.Help, Spec: f.Spec, Text: f.Text, Number: f.Number, Problem: f.Problem,
		})
	}
	setVisible(v.room, len(fields) > 0)
	setButton(&v.use.Button, scanpage.UseText(s))
	setEnabled(&v.use.Button, s.NotYet() == "")
	var names, values []string
	for _, f := range scanpage.FactsView(s) {
		names, values = append(names, f.Name), append(values, f.Value)
	}
	setText(v.facts, strings.Join(names, "\n"))
	setText(v.values, strings.Join(values, "\n"))
	setText(v.file, strings.Join(scanpage.FileView(s), "\n"))
	v.win.showMenus()
}

// frameBox keeps the part of space that the drawings show; it stands still while the scan is moved.
func (v *scanView) frameBox(drawn *drawing.Shape) {
	if drawn == nil || v.state.Stale && v.boxOf.shape == v.state.Shape && v.boxOf.left == drawn.Mirrored && v.state.Corrected() {
		return
	}
	if k := (boxKey{v.state.Shape, drawn.Pose, drawn.Mirrored}); k != v.boxOf {
		v.box, v.boxOf = drawn.Bounds(), k
	}
}

func (v *scanView) showUnit() {
	name := ""
	if s := v.state.Shape; s != nil {
		for _, u := range mesh.Units {
			if u.MM == s.UnitMM {
				name = u.Name
			}
		}
	}
	v.unit.show(name)
}

func (v *scanView) showTools() {
	v.tools.show(string(v.state.Tool))
	patches := v.tools.buttons[len(v.tools.buttons)-1]
	setVisible(patches, v.state.Purpose == scanpage.Device)
}

func (v *scanView) showPatch() {
	s := &v.state
	setVisible(v.patchRow, s.Purpose == scanpage.Device && s.Tool == scanpage.PatchTool)
	name := ""
	if s.Patch >= 0 {
		name = s.PatchIs.String()
	}
	v.patch.show(name)
	if s.Patch >= 0 {
		v.patch.Enable()
	} else {
		v.patch.Disable()
	}
}

func caption(text string) *widget.Label {
	l := widget.NewLabel(text)
	l.SizeName = theme.SizeNameCaptionText
	return l
}

func heading(text string) *widget.Label {
	l := widget.NewLabel(text)
	l.TextStyle.Bold = true
	return l
}

// row is a name with something of a width to choose beside it.
func row(name string, o fyne.CanvasObject, width float32) *fyne.Container {
	l := widget.NewLabel(name)
	l.Truncation = fyne.TextTruncateEllipsis
	return container.NewBorder(nil, nil, nil, fixedWidth(o, width), l)
}

func setEnabled(b *widget.Button, on bool) {
	switch {
	case on && b.Disabled():
		b.Enable()
	case !on && !b.Disabled():
		b.Disable()
	}
}

func setButton(b *widget.Button, text string) {
	if b.Text != text {
		b.SetText(text)
	}
}

// scanBand says what is going on and asks what has to be known.
type scanBand struct {
	do       func(scanpage.Action)
	back     *canvas.Rectangle
	edge     *canvas.Rectangle
	mark     *mark
	title    *widget.Label
	sentence *widget.Label
	problem  *widget.Label
	bar      *widget.ProgressBar
	cancel   *keyButton
	function func(fyne.KeyName) bool
	choices  *fyne.Container
	words    *fyne.Container
	ask      *fyne.Container
	going    *widget.ProgressBarInfinite
	told     [3]string
	shown    []string
	all      *fyne.Container
}

func newScanBand(do func(scanpage.Action)) *scanBand {
	b := &scanBand{
		do: do, function: func(fyne.KeyName) bool { return false }, back: canvas.NewRectangle(color.Transparent), edge: canvas.NewRectangle(color.Transparent), mark: newMark(30), title: widget.NewLabel(""),
		sentence: widget.NewLabel(""), problem: widget.NewLabel(""), bar: widget.NewProgressBar(), going: widget.NewProgressBarInfinite(), choices: container.NewHBox(),
	}
	b.title.TextStyle.Bold = true
	b.title.Truncation = fyne.TextTruncateEllipsis
	b.sentence.Wrapping, b.problem.Wrapping = fyne.TextWrapWord, fyne.TextWrapWord
	b.sentence.SizeName = theme.SizeNameSubHeadingText
	b.problem.Importance = widget.DangerImportance
	b.cancel = newKeyButton(b.key, "Stop (Esc)", func() { do(scanpage.Cancel{}) })
	sign := container.NewVBox(layout.NewSpacer(), container.NewCenter(b.mark), layout.NewSpacer())
	b.ask = container.NewPadded(b.choices)
	b.going.Stop()
	b.words = container.New(tight(7), b.title, b.sentence, b.problem, b.ask)
	work := container.NewVBox(layout.NewSpacer(), b.bar, b.going, b.cancel, layout.NewSpacer())
	body := container.NewBorder(nil, nil, fixedWidth(sign, 84), fixedWidth(work, 200), b.words)
	const height = 92
	floor := canvas.NewRectangle(color.Transparent)
	floor.SetMinSize(fyne.NewSize(1, height))
	b.all = container.NewStack(floor, b.back, container.NewBorder(nil, nil, fixedWidth(b.edge, 6), nil, container.NewPadded(body)))
	return b
}

// key passes a function key on.
func (b *scanBand) key(k fyne.KeyName) bool { return b.function(k) }

func (b *scanBand) show(s scanpage.Band) {
	c := shade(stateColor(desk.Mark(s.Mark)))
	b.back.FillColor, b.edge.FillColor = shade(colorBand), c
	b.back.Refresh()
	b.edge.Refresh()
	b.mark.set(desk.Mark(s.Mark))
	b.mark.Refresh()
	setText(b.title, s.Title)
	setText(b.sentence, s.Sentence)
	setText(b.problem, s.Problem)
	setVisible(b.problem, s.Problem != "")
	setVisible(b.cancel, s.Cancel)
	setVisible(b.bar, s.Progress >= 0)
	if going := s.Working && s.Progress < 0; going != b.going.Running() {
		if going {
			b.going.Start()
		} else {
			b.going.Stop()
		}
	}
	setVisible(b.going, s.Working && s.Progress < 0)
	if s.Progress >= 0 && b.bar.Value != s.Progress {
		b.bar.SetValue(s.Progress)
	}
	var texts []string
	for _, ch := range s.Choices {
		texts = append(texts, ch.Text)
	}
	if strings.Join(texts, "\n") != strings.Join(b.shown, "\n") {
		b.shown = texts
		b.choices.Objects = nil
		for _, ch := range s.Choices {
			b.choices.Add(newKeyButton(b.key, ch.Text, func() { b.do(ch.Action) }))
		}
		b.choices.Refresh()
	}
	setVisible(b.ask, len(texts) > 0)
	if told := [3]string{s.Title, s.Sentence, s.Problem}; told != b.told {
		b.told = told
		b.words.Refresh() // lines may be higher than those before
	}
}

// newScans makes the page of scans with its workers.
func (w *Window) newScans(ctx context.Context) *scanView {
	paint := newPainter()
	go paint.run(ctx)
	var v *scanView
	work := &scanWorker{report: func(a scanpage.Action) { bridge(func() { v.do(a) }) }, make: w.makeOfScan}
	v = newScanView(w, paint.want, func(e scanpage.Effect) {
		start := w.state.Device
		work.start(ctx, func(ctx context.Context) {
			if a := work.work(ctx, e, start); a != nil && ctx.Err() == nil {
				work.report(a)
			}
		})
	}, work.stop)
	return v
}
