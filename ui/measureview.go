package ui

import (
	"context"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/ui/desk"
	"lastroom/ui/help"
	"lastroom/ui/measurepage"
	"lastroom/ui/scanpage"
)

// measureView is the page on which a shoe is measured by hand.
type measureView struct {
	win   *Window
	state measurepage.State
	start func(measurepage.Effect) // has it done in the background

	band   *scanBand
	name   *pageEntry
	words  map[string]*choiceField
	size   *numberField
	rows   map[footwear.MeasureID]*measureRow
	list   *fyne.Container
	scroll *container.Scroll
	every  *keyCheck
	title  *widget.Label
	where  *widget.Label
	with   *widget.Label
	reason *pageEntry
	sure   *numberField // the ± of the present measure
	tool   *choiceField // and what it was taken with
	taken  *fyne.Container
	panes  [3]*takingPane // the measure's best view, and the two others
	save   *keyButton
	use    *keyButton
	all    fyne.CanvasObject
	quiet  bool // choices are being shown, not made
}

func newMeasureView(w *Window, want func(takingWish), start func(measurepage.Effect)) *measureView {
	v := &measureView{
		win: w, state: measurepage.Start(), start: start, words: map[string]*choiceField{}, rows: map[footwear.MeasureID]*measureRow{},
	}
	v.band = newScanBand(func(scanpage.Action) {}) // nothing to stop
	for i := range v.panes {
		v.panes[i] = newTakingPane(i, want)
	}
	v.build()
	return v
}

// do takes an action of the page, on the window's thread.
func (v *measureView) do(a measurepage.Action) {
	var effects []measurepage.Effect
	v.state, effects = measurepage.Reduce(v.state, a)
	v.show()
	for _, e := range effects {
		v.start(e)
	}
}

func (v *measureView) build() {
	report := reporter{do: v.fieldDone, function: v.win.functionKey, explain: func(f desk.FieldShow) {
		if id, ok := footwear.MeasureByKey(f.Key); ok {
			v.do(measurepage.Explain{ID: id})
		}
	}}
	v.name = newPageEntry(v.win.functionKey, func(t string) { v.do(measurepage.Enter{Key: measurepage.NameKey, Text: t}) })
	v.name.SetPlaceHolder("name of the shoe")
	shoe := container.NewVBox(v.name)
	more := container.NewVBox()
	for i, f := range measurepage.ChoicesView(&v.state) {
		c := newChoiceField(report)
		v.words[f.Key] = c
		if i < 2 { // kind and size system
			shoe.Add(c.object())
		} else {
			more.Add(c.object())
		}
	}
	v.size = newNumberField(report)
	shoe.Add(container.NewBorder(nil, nil, nil, v.size.entry, v.size.name))
	shoe.Add(v.size.problem)
	fold := widget.NewAccordion(widget.NewAccordionItem("More of the shoe", more))

	v.list = container.NewVBox()
	for _, id := range (&measurepage.State{All: true}).List() {
		r := newMeasureRow(report, func() { v.do(measurepage.Go{N: 1}); v.focusRow() })
		v.rows[id] = r
		v.list.Add(r.all)
	}
	v.scroll = container.NewVScroll(container.NewPadded(v.list))
	v.every = newKeyCheck(v.win.functionKey, "all 32 measures (F6)", func(on bool) {
		if !v.quiet && on != v.state.All {
			v.do(measurepage.ToggleAll{})
		}
	})

	v.title, v.where, v.with = heading(""), widget.NewLabel(""), widget.NewLabel("")
	v.title.SizeName = "subHeadingText"
	v.where.Wrapping, v.with.Wrapping = fyne.TextWrapWord, fyne.TextWrapWord
	v.reason = newPageEntry(v.win.functionKey, func(t string) { v.do(measurepage.Enter{Key: measurepage.ReasonKey, Text: t}) })
	v.reason.SetPlaceHolder("why it is so, if it is")

	v.sure, v.tool = newNumberField(report), newChoiceField(report)
	v.taken = container.NewVBox(
		container.NewHBox(widget.NewLabel("±"), v.sure.entry, fixedWidth(v.sure.unit, 34), widget.NewLabel("taken with"), fixedWidth(v.tool.pick, 150)),
		v.sure.problem)

	v.save = newKeyButton(v.win.functionKey, "", func() { v.win.onMeasures(measurepage.Save{}) })
	v.save.Importance = widget.HighImportance
	v.use = newKeyButton(v.win.functionKey, "Use it now (Ctrl+U)", func() { v.win.onMeasures(measurepage.Use{}) })
	fresh := newKeyButton(v.win.functionKey, "Begin another shoe", func() { v.leave(func() { v.do(measurepage.New{Kind: v.state.Draft.Kind, Size: v.state.Draft.Size}) }) })
	shoes := newKeyButton(v.win.functionKey, "My shoes (Ctrl+L)", v.win.showShoes)
	back := newKeyButton(v.win.functionKey, "Back to the fit (Esc)", func() { v.win.pages.turnTo(nil) })
	buttons := container.NewVBox(widget.NewSeparator(), v.save, container.NewGridWithColumns(2, v.use, shoes), container.NewGridWithColumns(2, fresh, back))
	left := container.NewBorder(container.NewVBox(heading("The shoe"), shoe), buttons, nil, nil, container.NewVScroll(fold))

	middle := container.NewBorder(container.NewBorder(nil, nil, heading("Its measures"), v.every), nil, nil, nil, v.scroll)
	text := container.New(tight(5), v.title, v.where, v.with, v.taken, v.reason)
	large := container.NewBorder(text, nil, nil, nil, v.panes[0])
	small := container.NewHSplit(v.panes[1], v.panes[2])
	figures := container.NewVSplit(large, small)
	figures.SetOffset(0.66)
	inner := container.NewHSplit(middle, figures)
	inner.SetOffset(0.385)
	whole := container.NewHSplit(container.NewPadded(left), inner)
	whole.SetOffset(0.225)
	v.all = container.NewBorder(v.band.all, nil, nil, nil, whole)
}

// fieldDone brings what was done to a field to the page.
func (v *measureView) fieldDone(a desk.Action) {
	switch a := a.(type) {
	case desk.Enter:
		v.do(measurepage.Enter{Key: a.Key, Text: a.Text})
	case desk.Step:
		v.do(measurepage.Step{Key: a.Key, N: a.N})
	case desk.Choose:
		v.do(measurepage.Choose{Key: a.Key, Value: a.Value})
	}
}

// commit takes over what is being typed.
func (v *measureView) commit() {
	v.name.commit()
	v.reason.commit()
	v.sure.entry.commit()
	v.size.entry.commit()
	for _, id := range v.state.List() {
		v.rows[id].field.entry.commit()
	}
}

func (v *measureView) object() fyne.CanvasObject { return v.all }

func (v *measureView) steps() (canUndo, canRedo bool) { return v.state.CanUndo(), v.state.CanRedo() }

func (v *measureView) undo() {
	v.commit() // what is being typed is a step too
	v.do(measurepage.Undo{})
	v.name.revert()
	v.reason.revert()
}

func (v *measureView) redo() {
	v.commit()
	v.do(measurepage.Redo{})
}

func (v *measureView) turned() {
	if v.state.Generation == 0 {
		v.do(measurepage.New{Kind: "", Size: v.win.state.Size})
	}
	v.show()
	v.focusRow()
}

// focusRow gives the present measure's entry the focus, and brings it into sight.
func (v *measureView) focusRow() {
	r := v.rows[v.state.Now]
	v.win.win.Canvas().Focus(r.field.entry)
	top, low := r.all.Position().Y, r.all.Position().Y+r.all.Size().Height
	at := v.scroll.Offset.Y
	if height := v.scroll.Size().Height; low > at+height {
		at = low - height + 12
	}
	v.scroll.ScrollToOffset(fyne.NewPos(0, min(at, top)))
}

// key does what a function key stands for on the page.
func (v *measureView) key(k fyne.KeyName) bool {
	switch k {
	case fyne.KeyF5, fyne.KeyF7, fyne.KeyF8:
		v.commit() // of the measure that is left
	}
	switch k {
	case fyne.KeyF1:
		if t, ok := help.Find("measure." + v.state.Now.Info().Key); ok {
			v.win.showTopic(&t, measureKeysText)
		}
	case fyne.KeyF5:
		v.do(measurepage.Go{N: -1})
		v.focusRow()
	case fyne.KeyF7:
		v.do(measurepage.Go{N: 1})
		v.focusRow()
	case fyne.KeyF6:
		v.do(measurepage.ToggleAll{})
	case fyne.KeyF8:
		if v.state.Next.Generation == v.state.Generation && v.state.Next.ID < footwear.NumMeasures {
			v.do(measurepage.Explain{ID: v.state.Next.ID})
			if _, listed := v.listed(v.state.Now); !listed {
				v.do(measurepage.ToggleAll{})
			}
			v.focusRow()
		}
	case fyne.KeyF2, fyne.KeyF3, fyne.KeyF4:
	default:
		return false
	}
	return true
}

func (v *measureView) listed(id footwear.MeasureID) (int, bool) {
	for i, l := range v.state.List() {
		if l == id {
			return i, true
		}
	}
	return 0, false
}

const measureKeysText = `Return takes a measure over and goes on to the next; F7 and F5: next measure, measure before. F8: the one most worth taking.
Up and down arrows step by a half, page keys by ten steps. An empty field is a measure that was not taken.
Tab goes on to the ± of the measure that is explained and to what it was taken with.
F6: all 32 measures, or the ten. Ctrl+Z takes the last change back, Ctrl+Shift+Z does it again. Ctrl+S saves, Ctrl+U uses the shoe as it is, Ctrl+L shows your shoes. Escape goes back to the fit.`

// show brings the state on the page.
func (v *measureView) show() {
	s := &v.state
	v.quiet = true
	defer func() { v.quiet = false }()
	w := measurepage.WordsView(s)
	v.band.show(scanpage.Band{Mark: scanpage.Mark(w.Mark), Title: w.Title + " · " + w.Count, Sentence: w.Notice + "\n" + w.Next, Progress: -1})
	v.name.show(s.Draft.Name)
	for _, f := range measurepage.ChoicesView(s) {
		v.words[f.Key].show(f)
	}
	v.size.show(measurepage.SizeView(s))
	listed, moved := map[footwear.MeasureID]bool{}, false
	for _, r := range measurepage.Rows(s) {
		listed[r.ID] = true
		moved = v.rows[r.ID].show(r) || !v.rows[r.ID].all.Visible() || moved
		setVisible(v.rows[r.ID].all, true)
	}
	for id, r := range v.rows {
		if !listed[id] {
			moved = moved || r.all.Visible()
			setVisible(r.all, false)
		}
	}
	if moved {
		v.list.Refresh()
		v.scroll.Refresh()
	}
	if v.every.Checked != s.All {
		v.every.SetChecked(s.All)
	}
	setButton(&v.save.Button, w.SaveText+" (Ctrl+S)")
	v.win.showMenus()
	setEnabled(&v.use.Button, w.CanUse)
	v.explain(w.Stale)
}

// explain shows how the present measure is taken.
func (v *measureView) explain(stale bool) {
	s := &v.state
	e := measurepage.ExplainedView(s)
	setText(v.title, e.Title)
	setText(v.where, e.Where)
	with := e.With
	if e.Why != "" {
		with += "\n" + e.Why
	}
	if e.Say != "" && e.Mark != desk.ClearMark {
		with += "\n" + e.Say
	}
	setText(v.with, with)
	v.sure.show(e.Sure)
	v.tool.show(e.Instrument)
	setVisible(v.taken, e.Taken)
	v.reason.show(e.Reason)
	setVisible(v.reason, e.Asks)
	if s.Shown == nil {
		return
	}
	best := drawing.TakingOf(s.Shown.Room, s.Now).Best
	v.panes[0].show(s.Shown.Room, s.Now, best, true, e.Value, stale)
	i := 1
	for _, view := range drawing.Views {
		if view != best {
			v.panes[i].show(s.Shown.Room, s.Now, view, false, "", stale)
			i++
		}
	}
}

// leave asks first when the draft would be lost.
func (v *measureView) leave(then func()) {
	v.commit()
	if !v.state.Dirty() {
		then()
		return
	}
	d := dialog.NewConfirm("The shoe that is being measured is not saved", "Give up what was entered?", func(yes bool) {
		if yes {
			then()
		}
	}, v.win.win)
	v.win.lay(d)
}

// edit takes up a shoe of the shelf.
func (v *measureView) edit(shoe shelf.Shoe) {
	v.leave(func() {
		v.do(measurepage.Edit{Shoe: shoe})
		v.win.pages.turnTo(v)
	})
}

// newMeasures makes the page with its workers.
func (w *Window) newMeasures(ctx context.Context) *measureView {
	var v *measureView
	report := func(a measurepage.Action) { bridge(func() { v.do(a) }) }
	build := newNewest(ctx, func(_ context.Context, b measurepage.Build) { report(measurepage.Built{Made: b.Work()}) })
	rank := newNewest(ctx, func(ctx context.Context, r measurepage.Rank) {
		if a := r.Work(ctx); ctx.Err() == nil {
			report(measurepage.Ranked{Advice: a})
		}
	})
	v = newMeasureView(w, w.takings(ctx), func(e measurepage.Effect) {
		switch e := e.(type) {
		case measurepage.Build:
			build.put(e)
		case measurepage.Rank:
			rank.put(e)
		case measurepage.Put:
			go func() { report(w.putShoe(e)) }()
		case measurepage.Try:
			v.do(w.tryShoe(e))
		case measurepage.Keep:
			w.keepDraft(e.Draft)
		case measurepage.Forget:
			w.forgetDraft()
		}
	})
	w.app.Settings().AddListener(func(fyne.Settings) { bridge(v.show) })
	return v
}

// takings is a painter of some panes: of each the newest wish.
func (w *Window) takings(ctx context.Context) func(takingWish) {
	var slots [3]*newest[takingWish]
	for i := range slots {
		slots[i] = newNewest(ctx, func(_ context.Context, wish takingWish) {
			if img := wish.draw(); img != nil {
				wish.done(img)
			}
		})
	}
	return func(wish takingWish) { slots[wish.slot%len(slots)].put(wish) }
}
