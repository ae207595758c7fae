package ui

import (
	"context"
	"errors"
	"image"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/ui/desk"
	"lastroom/ui/refitpage"
)

// refitView is the page of refits.
type refitView struct {
	win   *Window
	state refitpage.State
	run   func(refitpage.Run)
	halt  func()
	draw  func(func()) // draws in the background

	title, sentence, limits *widget.Label
	bar                     *widget.ProgressBar
	doing                   *widget.Label
	works                   map[fit.Work]*keyCheck
	wishes                  map[string]*keyCheck
	typed                   *pageEntry
	refuse                  *widget.Label
	more                    *widget.Select
	search, apply           *keyButton
	list                    *refitList
	plot                    *choicesPane
	sections                [2]*sectionPane
	changes                 *widget.Label
	thumbs                  map[int]image.Image // small sections: 0 as it is, then the choices
	drawn                   *fit.Refit          // whose they are
	quiet                   bool
	all                     fyne.CanvasObject
}

func newRefitView(w *Window, run func(refitpage.Run), halt func(), draw func(func())) *refitView {
	v := &refitView{win: w, state: refitpage.Start(), run: run, halt: halt, draw: draw, works: map[fit.Work]*keyCheck{}, wishes: map[string]*keyCheck{}}
	v.build()
	v.show()
	return v
}

// newRefits is the page with its work in the background, until the context ends.
func (w *Window) newRefits(ctx context.Context) *refitView {
	var v *refitView
	jobs := newNewest(ctx, func(ctx context.Context, r refitpage.Run) {
		o := r.Options
		o.Shoes = fit.UsualShoes(r.Case.Room)
		o.Progress = func(p fit.RefitProgress) {
			bridge(func() { v.do(refitpage.Progressed{Serial: r.Serial, Progress: p}) })
		}
		found, err := r.Case.Bench.Refit(ctx, r.Case.Device, o)
		switch {
		case err == nil:
			bridge(func() { v.do(refitpage.Found{Serial: r.Serial, Refit: found}) })
		case !errors.Is(err, context.Canceled):
			bridge(func() { v.do(refitpage.Failed{Serial: r.Serial, Err: err}) })
		}
	})
	v = newRefitView(w, jobs.put, jobs.stop, w.aside)
	return v
}

func (v *refitView) do(a refitpage.Action) {
	var effects []refitpage.Effect
	v.state, effects = refitpage.Reduce(v.state, a)
	v.show()
	for _, e := range effects {
		switch e := e.(type) {
		case refitpage.Run:
			v.run(e)
		case refitpage.Halt:
			v.halt()
		case refitpage.Take:
			v.take(e.Choice)
		}
	}
}

// take brings a choice to the desk: one step that can be taken back there.
func (v *refitView) take(c *fit.Choice) {
	a := desk.Refitted{Options: v.state.Case.Inputs.Device, InsoleOut: !c.Room.InsoleIn && v.state.Case.Room.InsoleIn}
	for _, ch := range c.Changes {
		if ch.Key != "shoe" {
			a.Options = c.Options // which a scanned device gives way to
		}
	}
	if size := c.Room.Sheet.Size; size != v.state.Case.Room.Sheet.Size {
		a.Size = &size
	}
	v.win.pages.turnTo(nil)
	v.win.do(a)
}

func (v *refitView) build() {
	v.title, v.sentence, v.limits, v.doing = widget.NewLabel(""), widget.NewLabel(""), widget.NewLabel(""), widget.NewLabel("")
	v.title.TextStyle.Bold = true
	for _, l := range []*widget.Label{v.sentence, v.limits, v.doing} {
		l.Wrapping = fyne.TextWrapWord
	}
	v.sentence.SizeName = theme.SizeNameSubHeadingText
	v.limits.SizeName, v.doing.SizeName = theme.SizeNameCaptionText, theme.SizeNameCaptionText
	v.bar = widget.NewProgressBar()
	head := container.New(tight(7), v.title, v.sentence, v.limits)

	wants := container.NewVBox(heading("What may be done"))
	for _, w := range fit.Works {
		c := newKeyCheck(v.win.functionKey, w.Words(), func(on bool) {
			if !v.quiet {
				v.do(refitpage.AllowWork{Work: w, On: on})
			}
		})
		v.works[w] = c
		wants.Add(c)
	}
	wants.Add(heading("What must stay"))
	for _, wish := range refitpage.Wishes {
		c := newKeyCheck(v.win.functionKey, wish.Text, func(on bool) {
			if !v.quiet {
				v.do(refitpage.Keep{Pin: wish.Pin, On: on})
			}
		})
		v.wishes[wish.Pin] = c
		wants.Add(c)
	}
	v.typed = newPageEntry(v.win.functionKey, func(t string) { v.do(refitpage.TypePin{Text: t}) })
	v.typed.SetPlaceHolder("other: cup_depth_mm=14..")
	v.refuse = widget.NewLabel("")
	v.refuse.Wrapping = fyne.TextWrapWord
	v.refuse.Importance = widget.DangerImportance
	wants.Add(v.typed)
	wants.Add(v.refuse)
	wants.Add(heading("What matters more"))
	v.more = widget.NewSelect(refitpage.Weights(), func(t string) {
		if !v.quiet {
			v.do(refitpage.Matters{Term: t})
		}
	})
	wants.Add(v.more)
	v.search = newKeyButton(v.win.functionKey, "Search (F9)", func() { v.toggle() })
	v.search.Importance = widget.HighImportance
	back := newKeyButton(v.win.functionKey, "Back to the fit (Esc)", func() { v.win.pages.turnTo(nil) })
	left := container.NewBorder(nil, container.NewVBox(v.bar, v.doing, v.search, back), nil, nil, container.NewVScroll(wants))

	v.list = newRefitList(v)
	v.plot = newChoicesPane(v)
	for i := range v.sections {
		v.sections[i] = newSectionPane(v)
	}
	v.changes = widget.NewLabel("")
	v.changes.Wrapping = fyne.TextWrapWord
	v.apply = newKeyButton(v.win.functionKey, "Take it over on the desk (Return)", func() { v.do(refitpage.Apply{}) })
	v.apply.Importance = widget.HighImportance
	sections := container.NewGridWithColumns(2,
		container.NewBorder(heading("before"), nil, nil, nil, v.sections[0]),
		container.NewBorder(heading("after"), nil, nil, nil, v.sections[1]),
	)
	right := container.NewVSplit(container.NewBorder(heading("The choices"), nil, nil, nil, v.plot),
		container.NewBorder(nil, v.apply, nil, nil, container.NewVSplit(sections, container.NewVScroll(v.changes))))
	right.SetOffset(0.42)
	middle := container.NewHSplit(v.list, right)
	middle.SetOffset(0.5)
	whole := container.NewHSplit(container.NewPadded(left), middle)
	whole.SetOffset(0.2)
	v.all = container.NewBorder(container.NewPadded(head), nil, nil, nil, whole)
}

// toggle begins a search, or ends the one that runs.
func (v *refitView) toggle() {
	v.typed.commit()
	if v.state.Running {
		v.do(refitpage.Stop{})
		return
	}
	v.do(refitpage.Search{})
}

func (v *refitView) show() {
	s := &v.state
	v.quiet = true
	defer func() { v.quiet = false }()
	b := refitpage.BandView(s)
	setText(v.title, b.Title)
	setText(v.sentence, b.Sentence)
	setText(v.limits, b.Limits)
	setVisible(v.bar, b.Progress >= 0)
	setText(v.doing, b.Doing)
	if b.Progress >= 0 {
		v.bar.SetValue(b.Progress)
	}
	for w, c := range v.works {
		if c.Checked == s.Off[w] {
			c.SetChecked(!s.Off[w])
		}
	}
	for pin, c := range v.wishes {
		if c.Checked != s.Kept[pin] {
			c.SetChecked(s.Kept[pin])
		}
	}
	v.typed.show(s.Typed)
	setText(v.refuse, s.Refuse)
	setVisible(v.refuse, s.Refuse != "")
	more := s.More
	if more == "" {
		more = refitpage.Weights()[0]
	}
	if v.more.Selected != more {
		v.more.SetSelected(more)
	}
	text := "Search (F9)"
	if s.Running {
		text = "Stop (F9)"
	}
	if v.search.Text != text {
		v.search.SetText(text)
	}
	v.list.show(refitpage.Rows(s))
	v.plot.show(refitpage.Points(s))
	before, after := refitpage.Scenes(s)
	v.sections[0].show(before)
	v.sections[1].show(after)
	words := ""
	list := func(title string, pairs []refitpage.Pair) {
		if len(pairs) > 0 {
			words += title + "\n"
		}
		for _, p := range pairs {
			words += "  " + p.Name + ": " + p.Before + " → " + p.After
			if p.Change != "" {
				words += ", " + p.Change
			}
			words += "\n"
		}
	}
	list("Where it was not clear (negative is overlap):", refitpage.Findings(s))
	list("What it gives:", refitpage.Support(s))
	setText(v.changes, words)
	v.drawThumbs()
	if s.Choice() != nil {
		v.apply.Enable()
	} else {
		v.apply.Disable()
	}
}

// The small sections' size on the list, in pixels of the picture; they are shown at half of it.
const smallWidth, smallHeight = 208, 156

// thumbsFrom is how wide the list has to be for them.
const thumbsFrom = 360

// drawThumbs draws the small sections of what was found, in the background.
func (v *refitView) drawThumbs() {
	found := v.state.Found
	if found == v.drawn {
		return
	}
	v.drawn, v.thumbs = found, nil
	if found == nil {
		return
	}
	scenes := refitpage.Thumbs(&v.state)
	look := lookNow()
	v.draw(func() {
		thumbs := map[int]image.Image{}
		for i, s := range scenes {
			if pic, err := drawing.Render(drawing.Behind, s, drawing.Options{Look: look}, smallWidth, smallHeight, 1); err == nil {
				thumbs[i] = pic.Image
			}
		}
		bridge(func() {
			if v.drawn == found {
				v.thumbs = thumbs
				v.list.Refresh()
			}
		})
	})
}

func (v *refitView) object() fyne.CanvasObject { return v.all }

func (v *refitView) turned() {
	v.do(refitpage.Open{Case: v.win.state.Shown})
	if v.state.Found == nil && !v.state.Running && v.state.Case != nil {
		v.do(refitpage.Search{})
	}
	v.win.win.Canvas().Focus(v.list)
}

// key does what a function key stands for on the page.
func (v *refitView) key(k fyne.KeyName) bool {
	switch k {
	case fyne.KeyF9:
		v.toggle()
	case fyne.KeyF5:
		v.do(refitpage.PickBy{N: -1})
	case fyne.KeyF7:
		v.do(refitpage.PickBy{N: 1})
	case fyne.KeyEscape:
		if v.state.Running {
			v.do(refitpage.Stop{})
			return true
		}
		return false
	default:
		return false
	}
	return true
}

// showRefits turns to the page of refits.
func (w *Window) showRefits() { w.pages.turnTo(w.refits) }

// refitList is the list of choices.
type refitList struct {
	widget.List
	view *refitView
	rows []refitpage.Row
}

func newRefitList(v *refitView) *refitList {
	l := &refitList{view: v}
	l.Length = func() int { return len(l.rows) }
	l.CreateItem = func() fyne.CanvasObject { return newRefitItem() }
	l.UpdateItem = func(i widget.ListItemID, o fyne.CanvasObject) {
		if item, ok := o.(*refitItem); ok && i < len(l.rows) {
			item.show(l.rows[i], v.thumbs[0], v.thumbs[l.rows[i].Index+1])
			setVisible(item.thumbs, l.Size().Width >= thumbsFrom) // else the words need the room
			l.SetItemHeight(i, item.MinSize().Height)
		}
	}
	l.OnSelected = func(i widget.ListItemID) {
		if !v.quiet && i < len(l.rows) {
			v.do(refitpage.Pick{Index: l.rows[i].Index})
		}
	}
	l.ExtendBaseWidget(l)
	return l
}

func (l *refitList) show(rows []refitpage.Row) {
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
	if len(rows) == 0 {
		l.UnselectAll()
	}
}

// TypedKey goes through the list; Return takes the choice over.
func (l *refitList) TypedKey(k *fyne.KeyEvent) {
	n := map[fyne.KeyName]int{fyne.KeyUp: -1, fyne.KeyDown: 1}[k.Name]
	switch {
	case l.view.win.functionKey(k.Name):
	case k.Name == fyne.KeyReturn || k.Name == fyne.KeyEnter:
		l.view.do(refitpage.Apply{})
	case n != 0:
		l.view.do(refitpage.PickBy{N: n})
	default:
		l.List.TypedKey(k)
	}
}

// refitItem shows one choice: its state as a sign, and its lines.
type refitItem struct {
	widget.BaseWidget
	mark                           *mark
	title, change, fits, give, why *widget.Label
	before, after                  *canvas.Image
	thumbs                         *fyne.Container
	all                            *fyne.Container
}

func newRefitItem() *refitItem {
	r := &refitItem{mark: newMark(18)}
	line := func(l **widget.Label) fyne.CanvasObject {
		*l = widget.NewLabel("")
		(*l).Wrapping = fyne.TextWrapWord
		return *l
	}
	thumb := func(i **canvas.Image) fyne.CanvasObject {
		*i = &canvas.Image{FillMode: canvas.ImageFillContain}
		(*i).SetMinSize(fyne.NewSize(smallWidth/2, smallHeight/2))
		return *i
	}
	r.thumbs = container.NewVBox(thumb(&r.before), thumb(&r.after))
	r.all = container.NewBorder(nil, nil, fixedWidth(container.NewCenter(r.mark), 34), r.thumbs,
		container.New(tight(9), line(&r.title), line(&r.change), line(&r.fits), line(&r.give), line(&r.why)))
	r.title.TextStyle.Bold = true
	for _, l := range []*widget.Label{r.give, r.why} {
		l.SizeName = theme.SizeNameCaptionText
	}
	r.ExtendBaseWidget(r)
	return r
}

func (r *refitItem) show(row refitpage.Row, before, after image.Image) {
	for i, img := range []image.Image{before, after} {
		to := [2]*canvas.Image{r.before, r.after}[i]
		if to.Image != img {
			to.Image = img
			to.Refresh()
		}
	}
	setVisible(r.after, row.Index >= 0)
	r.mark.set(row.Mark)
	setText(r.title, row.Title)
	setText(r.change, row.Change)
	setText(r.fits, row.Fit)
	setText(r.give, row.Give)
	setText(r.why, row.Why)
}

// CreateRenderer shows the choice.
func (r *refitItem) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(r.all) }

// pictureOf is a picture that fills its place and is drawn anew in the background when what it shows or its size changes.
type pictureOf struct {
	widget.BaseWidget
	self       fyne.CanvasObject
	background func(func())
	draw       func(width, height int, scale float64) (image.Image, func()) // nil: nothing to show; the func is called with it on the window's thread
	picture    *canvas.Image
	serial     int
	min        fyne.Size
	pixels     float64 // a unit
}

func (p *pictureOf) again() {
	c := fyne.CurrentApp().Driver().CanvasForObject(p.self)
	size := p.Size()
	p.serial++
	serial := p.serial
	if c == nil || p.draw == nil || size.Width < 20 || size.Height < 20 {
		return
	}
	p.pixels = float64(c.Scale())
	w, h := int(math.Round(float64(size.Width)*p.pixels)), int(math.Round(float64(size.Height)*p.pixels))
	draw, scale := p.draw, p.pixels
	p.background(func() {
		img, then := draw(w, h, scale)
		bridge(func() {
			if serial != p.serial {
				return
			}
			p.picture.Image = img
			p.picture.Refresh()
			if then != nil {
				then()
			}
		})
	})
}

// Resize draws the picture anew.
func (p *pictureOf) Resize(s fyne.Size) {
	if s == p.Size() {
		return
	}
	p.BaseWidget.Resize(s)
	p.again()
}

// MinSize is small: the picture is drawn to fit.
func (p *pictureOf) MinSize() fyne.Size { return p.min }

// CreateRenderer shows the picture.
func (p *pictureOf) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(p.picture) }

// sectionPane is one cut of the page of refits.
type sectionPane struct {
	pictureOf
	scene *drawing.Scene
}

func newSectionPane(v *refitView) *sectionPane {
	p := &sectionPane{}
	p.self, p.picture, p.background, p.min = p, &canvas.Image{FillMode: canvas.ImageFillStretch}, v.draw, fyne.NewSize(120, 90)
	p.ExtendBaseWidget(p)
	return p
}

func (p *sectionPane) show(s *drawing.Scene) {
	if s == nil && p.scene == nil {
		return
	}
	p.scene = s
	look := lookNow()
	p.draw = func(w, h int, scale float64) (image.Image, func()) {
		if s == nil {
			return nil, nil
		}
		pic, err := drawing.Render(drawing.Behind, s, drawing.Options{Look: look, Words: true}, w, h, scale)
		if err != nil {
			return nil, nil
		}
		return pic.Image, nil
	}
	p.again()
}

// choicesPane is the plot of the choices: a point is picked with the mouse, or with the arrow keys.
type choicesPane struct {
	pictureOf
	view    *refitView
	points  []drawing.ChoicePoint
	plot    *drawing.ChoicesPlot
	look    drawing.Look
	focused bool
	frame   *canvas.Rectangle
}

func newChoicesPane(v *refitView) *choicesPane {
	p := &choicesPane{view: v, frame: canvas.NewRectangle(color.Transparent)}
	p.self, p.picture, p.background, p.min = p, &canvas.Image{FillMode: canvas.ImageFillStretch}, v.draw, fyne.NewSize(200, 150)
	p.frame.StrokeWidth = 2
	p.draw = func(int, int, float64) (image.Image, func()) { return nil, nil }
	p.ExtendBaseWidget(p)
	return p
}

func (p *choicesPane) show(points []drawing.ChoicePoint) {
	look := lookNow()
	same := len(points) == len(p.points) && p.plot != nil && look == p.look
	for i := range points {
		same = same && points[i] == p.points[i]
	}
	if same {
		return
	}
	p.points, p.look = points, look
	p.draw = func(w, h int, scale float64) (image.Image, func()) {
		if len(points) == 0 {
			return nil, nil
		}
		plot, err := drawing.RenderChoices(points, look, w, h, scale)
		if err != nil {
			return nil, nil
		}
		return plot.Image, func() { p.plot = plot }
	}
	p.again()
}

// Tapped picks the nearest choice.
func (p *choicesPane) Tapped(e *fyne.PointEvent) {
	p.view.win.win.Canvas().Focus(p)
	if p.plot == nil {
		return
	}
	if i := p.plot.Nearest(float64(e.Position.X)*p.pixels, float64(e.Position.Y)*p.pixels, 24*p.pixels); i >= 0 && i < len(p.points) {
		p.view.do(refitpage.Pick{Index: p.points[i].Number - 1})
	}
}

// FocusGained shows a frame.
func (p *choicesPane) FocusGained() { p.focused = true; p.refreshFrame() }

// FocusLost takes the frame away.
func (p *choicesPane) FocusLost() { p.focused = false; p.refreshFrame() }

func (p *choicesPane) refreshFrame() {
	p.frame.StrokeColor = nil
	if p.focused {
		p.frame.StrokeColor = theme.Color(theme.ColorNameFocus)
	}
	p.frame.Refresh()
}

// TypedRune does nothing.
func (p *choicesPane) TypedRune(rune) {}

// TypedKey goes from choice to choice.
func (p *choicesPane) TypedKey(k *fyne.KeyEvent) {
	switch {
	case p.view.win.functionKey(k.Name):
	case k.Name == fyne.KeyLeft || k.Name == fyne.KeyUp:
		p.view.do(refitpage.PickBy{N: -1})
	case k.Name == fyne.KeyRight || k.Name == fyne.KeyDown:
		p.view.do(refitpage.PickBy{N: 1})
	case k.Name == fyne.KeyReturn || k.Name == fyne.KeyEnter:
		p.view.do(refitpage.Apply{})
	}
}

// CreateRenderer shows the plot and the frame of the focus.
func (p *choicesPane) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.NewStack(p.picture, p.frame))
}
