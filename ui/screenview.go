package ui

import (
	"context"
	"errors"
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/fit"
	"lastroom/ui/screenpage"
)

// screenView is the page of screening.
type screenView struct {
	win   *Window
	state screenpage.State
	run   func(screenpage.Run)
	halt  func()

	line, caution *widget.Label
	detail        *widget.Label
	bar           *widget.ProgressBar
	modes         map[screenpage.Mode]*keyButton
	filter        *pageEntry
	heads         []*keyButton
	list          *screenList
	again         *keyButton
	quiet         bool
	all           fyne.CanvasObject
}

// newScreens is the page with its work in the background, until the context ends.
func (w *Window) newScreens(ctx context.Context) *screenView {
	var v *screenView
	jobs := newNewest(ctx, func(ctx context.Context, r screenpage.Run) {
		ended, err := screened(ctx, r, func(a screenpage.Action) { bridge(func() { v.do(a) }) })
		switch {
		case err == nil:
			bridge(func() { v.do(ended) })
		case !errors.Is(err, context.Canceled):
			bridge(func() { v.do(screenpage.Failed{Serial: r.Serial, Err: err}) })
		}
	})
	v = newScreenView(w, jobs.put, jobs.stop)
	return v
}

// bestDrawn is for how many of the best pairs odds are drawn.
const bestDrawn = 3

// screened does the work of a run.
func screened(ctx context.Context, r screenpage.Run, tell func(screenpage.Action)) (screenpage.Ended, error) {
	in := r.Case.Inputs
	ended := screenpage.Ended{Serial: r.Serial}
	if r.Mode == screenpage.Several {
		var pairs []fit.Pair
		for _, s := range r.Shoes {
			pairs = append(pairs, fit.Pair{Shoe: s, InsoleOut: !in.InsoleIn && s.InsoleRemovable, Device: r.Case.Device, DeviceName: "this device"})
		}
		var err error
		ended.Together, err = fit.BestForAll(ctx, pairs, fit.RefitOptions{Foot: in.Foot, ShapeFromScan: in.Scanned != nil, Progress: func(p fit.RefitProgress) {
			tell(screenpage.Progressed{Serial: r.Serial, Done: int(100 * p.Done), Of: 100, Doing: fmt.Sprintf("%.0f %% · %s", 100*p.Done, p.What)})
		}})
		return ended, err
	}
	pairs := fit.AllPresets(r.Case.Room.Sheet, !r.Case.Room.InsoleIn, in.Foot.LengthMM)
	if r.Mode == screenpage.Shelf {
		pairs = fit.OnShelf(r.Case.Device, "this device", r.Shoes, !in.InsoleIn)
	}
	var err error
	ended.Rows, err = fit.Screen(ctx, pairs, fit.ScreenOptions{
		Foot: in.Foot, Best: bestDrawn,
		Each: func(s fit.Screened) { tell(screenpage.Came{Serial: r.Serial, Pair: s}) },
		Progress: func(p fit.ScreenProgress) {
			tell(screenpage.Progressed{Serial: r.Serial, Done: p.Done, Of: p.Of, Doing: p.Words() + " …"})
		},
	})
	return ended, err
}

func newScreenView(w *Window, run func(screenpage.Run), halt func()) *screenView {
	v := &screenView{win: w, state: screenpage.Start(), run: run, halt: halt, modes: map[screenpage.Mode]*keyButton{}}
	v.build()
	v.show()
	return v
}

func (v *screenView) do(a screenpage.Action) {
	var effects []screenpage.Effect
	v.state, effects = screenpage.Reduce(v.state, a)
	v.show()
	for _, e := range effects {
		switch e := e.(type) {
		case screenpage.Run:
			if e.Mode == screenpage.Shelf {
				e.Shoes = v.win.state.Shoes.Search("")
			}
			v.run(e)
		case screenpage.Halt:
			v.halt()
		case screenpage.Take:
			v.win.pages.turnTo(nil)
			v.win.do(e.Action)
		}
	}
}

// screenWidths are the widths of the table's columns; the reason has the rest.
var screenWidths = []float32{150, 240, 76, 150, 104}

func (v *screenView) build() {
	v.line, v.caution = widget.NewLabel(""), widget.NewLabel(fit.Caution)
	v.line.Wrapping, v.caution.Wrapping = fyne.TextWrapWord, fyne.TextWrapWord
	v.caution.SizeName = theme.SizeNameCaptionText
	v.detail = widget.NewLabel("")
	v.detail.Wrapping = fyne.TextWrapWord
	v.bar = widget.NewProgressBar()
	modes := container.NewHBox()
	for _, m := range []struct {
		mode screenpage.Mode
		text string
	}{
		{screenpage.Shelf, "This device on the whole shelf (F2)"}, {screenpage.Presets, "This shoe with every prescription (F3)"}, {screenpage.Several, "One device for the ticked shoes (F4)"},
	} {
		b := newKeyButton(v.win.functionKey, m.text, func() { v.do(screenpage.SetMode{Mode: m.mode}) })
		v.modes[m.mode] = b
		modes.Add(b)
	}
	v.filter = newPageEntry(v.win.functionKey, func(t string) { v.do(screenpage.Narrow{Text: t}) })
	v.filter.SetPlaceHolder("narrow: words of shoe, size, device, state, reason")
	v.filter.OnChanged = func(t string) {
		if !v.quiet {
			v.filter.shown = t
			v.do(screenpage.Narrow{Text: t})
		}
	}
	v.again = newKeyButton(v.win.functionKey, "Again (F9)", v.toggle)
	back := newKeyButton(v.win.functionKey, "Back to the fit (Esc)", func() { v.win.pages.turnTo(nil) })
	head := container.NewHBox(fixedWidth(widget.NewLabel(""), 66))
	for i, text := range screenpage.Columns {
		column := screenpage.Column(i)
		b := newKeyButton(v.win.functionKey, text, func() { v.do(screenpage.SortBy{Column: column}) })
		b.Alignment = widget.ButtonAlignLeading
		v.heads = append(v.heads, b)
		head.Add(fixedWidth(b, screenWidths[i]))
	}
	head.Add(widget.NewLabel("why"))
	v.list = newScreenList(v)
	top := container.NewVBox(container.NewBorder(nil, nil, modes, container.NewHBox(v.again, back)), v.line, v.bar, v.caution, v.filter, head)
	v.all = container.NewPadded(container.NewBorder(top, v.detail, nil, nil, v.list))
}

// toggle begins again, or ends the work.
func (v *screenView) toggle() {
	if v.state.Running {
		v.do(screenpage.Stop{})
		return
	}
	v.do(screenpage.Begin{})
}

func (v *screenView) show() {
	s := &v.state
	v.quiet = true
	defer func() { v.quiet = false }()
	setText(v.line, screenpage.Line(s))
	setVisible(v.bar, s.Running && s.Of > 0)
	if s.Of > 0 {
		v.bar.SetValue(float64(s.Done) / float64(s.Of))
	}
	for m, b := range v.modes {
		importance := widget.MediumImportance
		if m == s.Mode {
			importance = widget.HighImportance
		}
		if b.Importance != importance {
			b.Importance = importance
			b.Refresh()
		}
	}
	for i, b := range v.heads {
		text := screenpage.Columns[i]
		if screenpage.Column(i) == s.Sort {
			text += map[bool]string{false: " ▼", true: " ▲"}[s.Back]
		}
		if b.Text != text {
			b.SetText(text)
		}
	}
	text := "Again (F9)"
	if s.Running {
		text = "Stop (F9)"
	}
	if v.again.Text != text {
		v.again.SetText(text)
	}
	v.list.show(screenpage.Table(s))
	setText(v.detail, screenpage.Detail(s))
}

func (v *screenView) object() fyne.CanvasObject { return v.all }

func (v *screenView) turned() {
	v.do(screenpage.Open{Case: v.win.state.Shown})
	v.win.win.Canvas().Focus(v.list)
}

// key does what a function key stands for on the page.
func (v *screenView) key(k fyne.KeyName) bool {
	switch k {
	case fyne.KeyF2:
		v.do(screenpage.SetMode{Mode: screenpage.Shelf})
	case fyne.KeyF3:
		v.do(screenpage.SetMode{Mode: screenpage.Presets})
	case fyne.KeyF4:
		v.do(screenpage.SetMode{Mode: screenpage.Several})
	case fyne.KeyF5:
		v.do(screenpage.PickBy{N: -1})
	case fyne.KeyF7:
		v.do(screenpage.PickBy{N: 1})
	case fyne.KeyF9:
		v.toggle()
	case fyne.KeyEscape:
		if v.state.Running {
			v.do(screenpage.Stop{})
			return true
		}
		return false
	default:
		return false
	}
	return true
}

// showScreens turns to the page of screening.
func (w *Window) showScreens() { w.pages.turnTo(w.screens) }

// screenList is the table.
type screenList struct {
	widget.List
	view *screenView
	rows []screenpage.Row
}

func newScreenList(v *screenView) *screenList {
	l := &screenList{view: v}
	l.Length = func() int { return len(l.rows) }
	l.CreateItem = func() fyne.CanvasObject { return newScreenItem() }
	l.UpdateItem = func(i widget.ListItemID, o fyne.CanvasObject) {
		if item, ok := o.(*screenItem); ok && i < len(l.rows) {
			item.show(l.rows[i])
		}
	}
	l.OnSelected = func(i widget.ListItemID) {
		if !v.quiet {
			v.do(screenpage.Pick{Index: i})
		}
	}
	l.ExtendBaseWidget(l)
	return l
}

func (l *screenList) show(rows []screenpage.Row) {
	same := len(rows) == len(l.rows)
	for i := range rows {
		same = same && rows[i] == l.rows[i]
	}
	if same {
		return
	}
	l.rows = rows
	l.Refresh()
	for i, r := range rows {
		if r.Picked {
			l.Select(i)
		}
	}
}

// TypedKey goes through the table; Return opens the pair, Space ticks its shoe.
func (l *screenList) TypedKey(k *fyne.KeyEvent) {
	n := map[fyne.KeyName]int{fyne.KeyUp: -1, fyne.KeyDown: 1, fyne.KeyPageUp: -10, fyne.KeyPageDown: 10, fyne.KeyHome: -1e6, fyne.KeyEnd: 1e6}[k.Name]
	switch {
	case l.view.win.functionKey(k.Name):
	case k.Name == fyne.KeyReturn || k.Name == fyne.KeyEnter:
		l.view.do(screenpage.Try{})
	case k.Name == fyne.KeySpace:
		l.view.do(screenpage.Tick{})
	case n != 0:
		l.view.do(screenpage.PickBy{N: n})
	default:
		l.List.TypedKey(k)
	}
}

// screenItem is one row of the table.
type screenItem struct {
	widget.BaseWidget
	tick   *widget.Label
	mark   *mark
	cells  []*widget.Label
	reason *widget.Label
	all    *fyne.Container
}

func newScreenItem() *screenItem {
	r := &screenItem{tick: widget.NewLabel(""), mark: newMark(15), reason: widget.NewLabel("")}
	left := container.NewHBox(fixedWidth(r.tick, 30), fixedWidth(container.NewCenter(r.mark), 32))
	for _, w := range screenWidths {
		c := widget.NewLabel("")
		c.Truncation = fyne.TextTruncateEllipsis
		r.cells = append(r.cells, c)
		left.Add(fixedWidth(c, w))
	}
	r.reason.Truncation = fyne.TextTruncateEllipsis
	r.all = container.NewBorder(nil, nil, left, nil, r.reason)
	r.ExtendBaseWidget(r)
	return r
}

func (r *screenItem) show(row screenpage.Row) {
	tick := ""
	if row.Ticked {
		tick = "✓"
	}
	setText(r.tick, tick)
	r.mark.set(row.Mark)
	for i, t := range []string{row.Odds, row.Shoe, row.Size, row.Device, row.ToLimit} {
		setText(r.cells[i], t)
	}
	setText(r.reason, row.Reason)
}

// CreateRenderer shows the row.
func (r *screenItem) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(r.all) }
