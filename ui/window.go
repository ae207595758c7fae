package ui

import (
	"context"
	"fmt"
	"image/color"
	"io"
	"os"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/internal/lengths"
	"lastroom/ui/desk"
)

// Window is the program's window.
type Window struct {
	app   fyne.App
	win   fyne.Window
	log   io.Writer
	state desk.State
	ask   func(desk.Check) // has inputs judged; the answer comes as an action
	want  func(sheet)      // has a picture drawn
	stop  context.CancelFunc

	band    *verdictBand
	inputs  *inputs
	lists   *lists
	strip   *supportStrip
	menus   *menus
	panes   [len(drawing.Views)]*drawingPane
	titles  [len(drawing.Views)]*widget.Label
	texts   [len(drawing.Views)]*widget.Label
	shoe    *widget.Label
	pose    *widget.Label
	flip    *widget.Button  // the other pose
	over    string          // what the mouse is over
	board   *fyne.Container // all drawings and lists
	large   *fyne.Container // one drawing
	frames  [len(drawing.Views)]*fyne.Container
	open    []func() // dialogs, each closed by calling it
	pages   *pages
	refits  *refitView
	screens *screenView
	scans   *scanView
	photos  *photoView
	cases   *caseView
	explain *explainView

	caseWork *caseWork

	measures *measureView
	shoes    *shelfView
	shoesDir string          // folder of one's own shoes, "" for the usual one
	inHand   *footwear.Sheet // a measured shoe that is tried without being on the shelf
	aside    func(func())    // does work in the background
	kept     kept            // for the next start
	followed fyne.Focusable  // what was last scrolled to
}

// Options are how the window is made. The zero value keeps no log and opens the usual casebook.
type Options struct {
	Log      io.Writer // of events
	Casebook string    // file
}

// New makes the window on a case, and begins the work in the background.
func New(app fyne.App, start desk.Inputs, o Options) *Window {
	ctx, stop := context.WithCancel(context.Background())
	paint := newPainter()
	var w *Window
	judge := newJudge(func(a desk.Action) { bridge(func() { w.do(a) }) })
	w = newWindow(app, start, o.Log, judge.ask, paint.want)
	w.stop = stop
	w.scans, w.photos = w.newScans(ctx), w.newPhotos(ctx)
	w.measures, w.shoes = w.newMeasures(ctx), w.newShoes(ctx)
	w.refits, w.screens = w.newRefits(ctx), w.newScreens(ctx)
	if o.Casebook == "" {
		o.Casebook = app.Preferences().String(casebookPreference)
	}
	w.cases = w.newCases(o.Casebook)
	w.shoesDir = app.Preferences().String(shoesPreference)
	go w.keepInSight(ctx)
	go judge.run(ctx)
	go paint.run(ctx)
	return w
}

func newWindow(app fyne.App, start desk.Inputs, log io.Writer, ask func(desk.Check), want func(sheet)) *Window {
	w := &Window{app: app, log: log, state: desk.Start(start), ask: ask, want: want, stop: func() {}, aside: func(f func()) { go f() }}
	w.state.Look = desk.Look(app.Preferences().StringWithFallback(lookPreference, string(desk.SystemLook)))
	w.state.Lengths, _ = lengths.Of(app.Preferences().String(lengthsPreference))
	w.state.Scale = app.Preferences().FloatWithFallback(scalePreference, 1)
	if lo, hi := app.Preferences().Float(unsureLoPreference), app.Preferences().Float(unsureHiPreference); len((fit.Unsureness{Lo: lo, Hi: hi}).Validate()) == 0 {
		w.state.Unsure = fit.Unsureness{Lo: lo, Hi: hi}
	}
	app.Settings().SetTheme(paper{w.state.Look, w.state.Lengths})
	w.win = app.NewWindow("Lastroom")
	w.build()
	w.win.Resize(w.leftSize())
	app.Settings().AddListener(func(fyne.Settings) { bridge(w.show) })
	return w
}

// Names of what is kept between runs.
const (
	lookPreference    = "look"
	lengthsPreference = "lengths"
	scalePreference   = "interface_scale"

	unsureLoPreference = "unsure_from"
	unsureHiPreference = "unsure_to"
)

// ApplyScale sets the interface's scale, before the first window is made: wanted when it is not 0, else what was kept.
func ApplyScale(app fyne.App, wanted float64) error {
	if wanted == 0 {
		wanted = app.Preferences().FloatWithFallback(scalePreference, 1)
	}
	if wanted == 1 {
		return nil
	}
	if _, p := desk.ScaleSpec.Parse(strconv.FormatFloat(wanted, 'f', -1, 64)); p != nil {
		return p
	}
	return os.Setenv("FYNE_SCALE", strconv.FormatFloat(wanted, 'f', 2, 64))
}

// ShowAndRun shows the window, opens a file unless its name is empty, and stays until the window is closed.
func (w *Window) ShowAndRun(file string) {
	w.app.Lifecycle().SetOnStarted(func() {
		w.line("window ready")
		w.do(desk.Begin{})
		w.refreshShelf()
		w.resume()
		w.comeBack()
		if file != "" {
			w.Open(file)
		}
	})
	w.app.Lifecycle().SetOnStopped(w.stopped)
	w.win.ShowAndRun()
	w.stop()
}

// do takes an action: the new state is shown, the effects are set off. On the window's thread only.
func (w *Window) do(a desk.Action) {
	before, scanned := paper{w.state.Look, w.state.Lengths}, w.state.Scanned
	var effects []desk.Effect
	w.state, effects = desk.Reduce(w.state, a)
	if now := (paper{w.state.Look, w.state.Lengths}); now != before {
		w.app.Settings().SetTheme(now)
	}
	if w.state.Scanned != scanned {
		w.keepDevice(w.state.Scanned)
	}
	w.show()
	if _, answered := a.(desk.Answered); answered {
		w.keepStand()
	}
	for _, e := range effects {
		switch e := e.(type) {
		case desk.Check:
			w.ask(e)
		case desk.Log:
			w.line(e.Line)
		case desk.Keep:
			w.app.Preferences().SetString(lookPreference, string(e.Look))
			w.app.Preferences().SetString(lengthsPreference, e.Lengths.String())
			w.app.Preferences().SetFloat(scalePreference, e.Scale)
		case desk.KeepUnsure:
			w.app.Preferences().SetFloat(unsureLoPreference, e.Limits.Lo)
			w.app.Preferences().SetFloat(unsureHiPreference, e.Limits.Hi)
		}
	}
}

// line writes a line of the event log. A log that cannot be written must not stop the work.
func (w *Window) line(text string) {
	if w.log != nil {
		_, _ = fmt.Fprintln(w.log, text)
	}
}

// show brings the state on the window.
func (w *Window) show() {
	s := &w.state
	w.band.show(desk.VerdictView(s))
	w.inputs.show(s)
	w.lists.show(s)
	w.strip.show(desk.SupportView(s))
	w.showMenus()
	setText(w.shoe, desk.ShoeLine(s))
	w.showOver()
	if text := desk.OtherPoseLine(s); w.flip.Text != text {
		w.flip.SetText(text)
	}
	scene, stale := desk.SceneOf(s), desk.SceneStale(s)
	for i, v := range drawing.Views {
		w.panes[i].show(scene, s.Shown, stale)
		title := "Seen " + v.String()
		if scene != nil {
			title += " · " + v.Label(s.Cuts)
		}
		setText(w.titles[i], title)
	}
}

// showOver names what the mouse is over, or else the pose.
func (w *Window) showOver() {
	text := w.over
	if text == "" {
		text = desk.PoseLine(&w.state)
	}
	setText(w.pose, text)
}

func (w *Window) build() {
	w.band = newVerdictBand()
	w.inputs = newInputs(w.do, w.functionKey, &w.state)
	w.lists = newLists(w.do, w.functionKey, w.inputs.say)
	w.strip = newSupportStrip()
	w.shoe, w.pose = widget.NewLabel(""), widget.NewLabel("")
	w.flip = widget.NewButton("", func() { w.do(desk.TogglePose{}) })
	w.shoe.TextStyle.Bold = true
	w.pose.Truncation = fyne.TextTruncateEllipsis
	for i, v := range drawing.Views {
		w.panes[i] = newDrawingPane(v, w.want, w.do, w.functionKey, func(t string) { w.over = t; w.showOver() })
		w.titles[i], w.texts[i] = widget.NewLabel(""), widget.NewLabel("")
		w.titles[i].TextStyle.Bold = true
		w.titles[i].Truncation = fyne.TextTruncateEllipsis
		w.texts[i].Wrapping = fyne.TextWrapWord
		w.texts[i].SizeName = theme.SizeNameCaptionText
		text := w.texts[i]
		w.panes[i].spoken = func(p *drawing.Picture) { setText(text, p.Says) }
		w.frames[i] = container.NewBorder(w.titles[i], fixedHeight(container.NewVScroll(text), 46), nil, nil, w.panes[i])
	}
	w.board, w.large = container.NewStack(), container.NewStack()
	w.arrange()
	status := container.NewBorder(nil, nil, container.NewHBox(w.shoe, w.flip), nil, w.pose)
	middle := container.NewBorder(status, w.strip.all, nil, nil, container.NewStack(w.board, w.large))
	split := container.NewHSplit(w.inputs.all, middle)
	split.SetOffset(0.245)
	w.menus = w.newMenus()
	w.win.SetMainMenu(w.menus.main)
	w.showRecent()
	w.pages = newPages(container.NewBorder(w.band.all, nil, nil, nil, split), w.showMenus)
	w.win.SetContent(w.pages.all)
	w.win.SetOnDropped(w.dropped)
	w.win.Canvas().SetOnTypedKey(func(k *fyne.KeyEvent) { w.functionKey(k.Name) })
	w.large.Hide()
	w.show()
}

// arrange puts the drawings on the board as on a sheet of paper: from behind beside the side view, above below it; the
// lists have the corner.
func (w *Window) arrange() {
	left := container.NewVSplit(w.frames[drawing.Behind], w.lists.tabs)
	right := container.NewVSplit(w.frames[drawing.Side], w.frames[drawing.Above])
	left.SetOffset(0.54)
	right.SetOffset(0.47)
	sheet := container.NewHSplit(left, right)
	sheet.SetOffset(0.39)
	w.board.Objects = []fyne.CanvasObject{sheet}
	w.board.Refresh()
}

// focusPane gives a drawing the focus; when one is enlarged, it is this one then.
func (w *Window) focusPane(v drawing.View) {
	if w.large.Visible() {
		w.showLarge(v)
	}
	w.win.Canvas().Focus(w.panes[v])
}

// focusList opens one of the lists and gives it the focus.
func (w *Window) focusList(i int) {
	w.lists.tabs.SelectIndex(i)
	switch i {
	case 0:
		w.win.Canvas().Focus(w.lists.findings)
	case 1:
		w.win.Canvas().Focus(w.lists.footRoom)
	case 2:
		w.win.Canvas().Focus(w.lists.support)
	}
}

// enlarge shows the focused drawing alone, or all again.
func (w *Window) enlarge() {
	if w.large.Visible() {
		w.large.Hide()
		w.arrange()
		w.board.Show()
		return
	}
	v := drawing.Behind
	for i, p := range w.panes {
		if p.focused {
			v = drawing.Views[i]
		}
	}
	w.showLarge(v)
}

func (w *Window) showLarge(v drawing.View) {
	w.board.Hide()
	w.board.Objects = nil
	w.large.Objects = []fyne.CanvasObject{canvas.NewRectangle(color.Transparent), w.frames[v]}
	w.large.Show()
	w.large.Refresh()
	w.win.Canvas().Focus(w.panes[v])
}

// functionKey does what a function key stands for; it says whether it does.
func (w *Window) functionKey(k fyne.KeyName) bool {
	if len(w.open) == 0 && w.pages.key(k) {
		return true
	}
	switch k {
	case fyne.KeyF1:
		w.helpFor()
	case fyne.KeyF2:
		w.focusPane(drawing.Behind)
	case fyne.KeyF3:
		w.focusPane(drawing.Side)
	case fyne.KeyF4:
		w.focusPane(drawing.Above)
	case fyne.KeyF5:
		w.do(desk.SelectBy{N: -1})
	case fyne.KeyF6:
		w.do(desk.TogglePose{})
	case fyne.KeyF7:
		w.do(desk.SelectBy{N: 1})
	case fyne.KeyF8:
		w.enlarge()
	case fyne.KeyEscape:
		if n := len(w.open); n > 0 {
			w.open[n-1]()
			return true
		}
		return false
	default:
		return false
	}
	return true
}
