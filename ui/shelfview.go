package ui

import (
	"context"
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/ui/scanpage"
	"lastroom/ui/shelfpage"
)

// shelfView is the page of all shoes.
type shelfView struct {
	win   *Window
	state shelfpage.State
	start func(shelfpage.Job)
	room  func(shelf.Shoe) // has the chosen shoe's room made, for showRoom

	band    *scanBand
	search  *shelfEntry
	list    *shelfList
	theirs  *keyCheck
	about   *widget.Label
	size    *shelfEntry
	buttons map[shelfpage.Deed]*keyButton
	panes   [3]*takingPane
	all     fyne.CanvasObject
	quiet   bool
	of      string // whose room was asked for: identifier and stamp
}

func newShelfView(w *Window, want func(takingWish), start func(shelfpage.Job), room func(shelf.Shoe)) *shelfView {
	v := &shelfView{win: w, state: shelfpage.Start(), start: start, room: room, buttons: map[shelfpage.Deed]*keyButton{}}
	v.band = newScanBand(func(scanpage.Action) {}) // nothing to stop
	for i := range v.panes {
		v.panes[i] = newTakingPane(i, want)
	}
	v.build()
	return v
}

// do takes an action of the page, on the window's thread.
func (v *shelfView) do(a shelfpage.Action) {
	var jobs []shelfpage.Job
	v.state, jobs = shelfpage.Reduce(v.state, a)
	v.show()
	for _, j := range jobs {
		v.start(j)
	}
}

func (v *shelfView) build() {
	v.search = newShelfEntry(v, func() { v.win.win.Canvas().Focus(v.list) })
	v.search.SetPlaceHolder("find a shoe: name, kind, what it is for")
	v.search.OnChanged = func(t string) {
		if !v.quiet {
			v.do(shelfpage.Search{Text: t})
		}
	}
	v.search.OnSubmitted = func(string) { v.win.win.Canvas().Focus(v.list) }
	v.list = newShelfList(v)
	v.theirs = newKeyCheck(v.win.functionKey, "the program's shoes too (F6)", func(on bool) {
		if !v.quiet && on == v.state.OnlyOwn() {
			v.do(shelfpage.ToggleOwn{})
		}
	})
	v.about = widget.NewLabel("")
	v.about.Wrapping = fyne.TextWrapWord
	v.size = newShelfEntry(v, nil)
	v.size.OnChanged = func(t string) { v.do(shelfpage.TypeSize{Text: t}) }
	v.size.OnSubmitted = func(string) { v.do(shelfpage.Do{What: shelfpage.Grade}) }
	button := func(what shelfpage.Deed, text string) *keyButton {
		b := newKeyButton(v.win.functionKey, text, func() { v.do(shelfpage.Do{What: what}) })
		v.buttons[what] = b
		return b
	}
	use := button(shelfpage.Use, "Use it (Return)")
	use.Importance = widget.HighImportance
	export := newKeyButton(v.win.functionKey, "Export … (X)", v.win.askExport)
	v.buttons[shelfpage.ExportFile] = export
	deeds := container.NewVBox(
		use,
		container.NewGridWithColumns(2, button(shelfpage.Edit, "Edit (E)"), button(shelfpage.Copy, "Copy (C)")),
		container.NewBorder(nil, nil, nil, button(shelfpage.Grade, "Grade to this size"), v.size),
		container.NewGridWithColumns(2, export, button(shelfpage.Delete, "Delete (Del)")),
		button(shelfpage.Undo, "Undo"),
		widget.NewSeparator(),
		container.NewGridWithColumns(2, newKeyButton(v.win.functionKey, "Measure a shoe (Ctrl+M)", v.win.showMeasures), newKeyButton(v.win.functionKey, "Import … (I)", v.win.askImport)),
		newKeyButton(v.win.functionKey, "Back to the fit (Esc)", func() { v.win.pages.turnTo(nil) }),
	)
	left := container.NewBorder(container.NewVBox(v.search, v.theirs), nil, nil, nil, v.list)
	middle := container.NewBorder(nil, deeds, nil, nil, container.NewVScroll(v.about))
	figures := container.NewVSplit(v.panes[0], container.NewHSplit(v.panes[1], v.panes[2]))
	figures.SetOffset(0.5)
	inner := container.NewHSplit(container.NewPadded(middle), figures)
	inner.SetOffset(0.36)
	whole := container.NewHSplit(container.NewPadded(left), inner)
	whole.SetOffset(0.3)
	v.all = container.NewBorder(v.band.all, nil, nil, nil, whole)
}

func (v *shelfView) object() fyne.CanvasObject { return v.all }

func (v *shelfView) turned() {
	v.do(shelfpage.Using{ID: v.win.state.ShoeID})
	v.win.refreshShelf()
	if at := v.list.at(); at >= 0 {
		v.list.ScrollTo(at)
	}
	v.win.win.Canvas().Focus(v.list)
}

// key does what a function key stands for on the page.
func (v *shelfView) key(k fyne.KeyName) bool {
	switch k {
	case fyne.KeyF1:
		v.win.tell("Keys", shelfKeysText)
	case fyne.KeyF6:
		v.do(shelfpage.ToggleOwn{})
	case fyne.KeyF2, fyne.KeyF3, fyne.KeyF4, fyne.KeyF5, fyne.KeyF7, fyne.KeyF8:
	default:
		return false
	}
	return true
}

// steps says what can be taken back on the shelf; what was taken back stays so.
func (v *shelfView) steps() (canUndo, canRedo bool) { return v.state.CanUndo, false }

func (v *shelfView) undo() { v.do(shelfpage.Do{What: shelfpage.Undo}) }

func (v *shelfView) redo() {}

const shelfKeysText = `List: arrow keys go through the shoes; Return uses one, E edits, C copies, Del deletes, X exports, I imports.
Ctrl+Z brings back what was deleted or edited last, also in an earlier run. F6: the program's shoes too. Ctrl+M measures a shoe.
Tab goes on to the size to grade to and to the buttons. Escape goes back to the fit.`

// show brings the state on the page.
func (v *shelfView) show() {
	s := &v.state
	v.quiet = true
	defer func() { v.quiet = false }()
	w := shelfpage.WordsView(s)
	v.band.show(scanpage.Band{Mark: scanpage.Mark(w.Mark), Title: "My shoes · " + w.Count, Sentence: w.Notice, Progress: -1})
	if v.search.Text != s.Query {
		v.search.SetText(s.Query)
	}
	if v.theirs.Checked == s.OnlyOwn() {
		v.theirs.SetChecked(!s.OnlyOwn())
	}
	if len(s.Shoes.Own()) == 0 {
		v.theirs.Disable()
	} else {
		v.theirs.Enable()
	}
	v.list.show(shelfpage.Rows(s))
	setText(v.about, w.About)
	v.size.SetPlaceHolder(w.Grade)
	setButton(&v.buttons[shelfpage.Undo].Button, w.Undo+" (Ctrl+Z)")
	for what, b := range v.buttons {
		setEnabled(&b.Button, s.Not(what) == "")
	}
	v.win.showMenus()
	shoe, err := s.Shoes.Find(s.Chosen)
	if of := fmt.Sprint(s.Chosen, shoe.Stamp); err == nil && of != v.of {
		v.of = of
		v.room(shoe)
	}
}

// showRoom draws the chosen shoe's room, if it is still chosen.
func (v *shelfView) showRoom(id string, room *footwear.Room) {
	if id != v.state.Chosen {
		return
	}
	for i, p := range []struct {
		id   footwear.MeasureID
		view drawing.View
	}{{footwear.LastLength, drawing.Side}, {footwear.CounterWidth20, drawing.Behind}, {footwear.BallWidth, drawing.Above}} {
		v.panes[i].show(room, p.id, p.view, false, fmt.Sprintf("%.1f mm", room.Sheet.V(p.id)), false)
	}
}

// newShoes makes the page with its workers.
func (w *Window) newShoes(ctx context.Context) *shelfView {
	var v *shelfView
	rooms := newNewest(ctx, func(ctx context.Context, shoe shelf.Shoe) {
		if room, err := shoe.Room(ctx, shoe.Sheet.Size, false); err == nil {
			bridge(func() { v.showRoom(shoe.Sheet.ID, room) })
		}
	})
	v = newShelfView(w, w.takings(ctx), w.shelfJob, rooms.put)
	w.app.Settings().AddListener(func(fyne.Settings) { bridge(v.show) })
	return v
}
