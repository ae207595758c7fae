package ui

import (
	"context"
	"image"
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lastroom/fit/drawing"
	"lastroom/footwear/trace"
	"lastroom/ui/desk"
	"lastroom/ui/photopage"
	"lastroom/ui/scanpage"
)

// photoView is the page on which an insole's outline is read off a photo.
type photoView struct {
	win   *Window
	state photopage.State
	start func(photopage.Effect) // has it done in the background
	stop  func()

	band    *scanBand
	pane    *photoPane
	flat    *canvas.Image
	outline *outlinePane
	sheet   *choiceRow
	what    *choiceRow
	side    *choiceRow
	height  *numberField
	corners *widget.Label
	find    *keyButton
	fill    *keyButton
	fresh   *keyButton
	names   *widget.Label
	values  *widget.Label
	notes   *widget.Label
	all     fyne.CanvasObject

	of *trace.Tracing // what flat shows
}

func newPhotoView(w *Window, start func(photopage.Effect), stop func()) *photoView {
	v := &photoView{win: w, state: photopage.Start(), start: start, stop: stop}
	v.band = newScanBand(func(scanpage.Action) { v.do(photopage.Cancel{}) }) // its only action is to stop
	v.band.function = w.functionKey
	v.pane = newPhotoPane(v.do, w.functionKey)
	v.flat = &canvas.Image{FillMode: canvas.ImageFillContain}
	v.outline = newOutlinePane()
	v.build()
	v.show()
	return v
}

// do takes an action of the page, on the window's thread.
func (v *photoView) do(a photopage.Action) {
	var effects []photopage.Effect
	v.state, effects = photopage.Reduce(v.state, a)
	v.show()
	for _, e := range effects {
		switch e := e.(type) {
		case photopage.Stop:
			v.stop()
		case photopage.Log:
			v.win.line(e.Line)
		default:
			v.start(e)
		}
	}
}

func (v *photoView) build() {
	key := v.win.functionKey
	v.sheet = newChoiceRow(key, 3, func(p string) { v.do(photopage.SetSheet{Paper: trace.Paper(p)}) },
		string(trace.AnyPaper), "by its shape", string(trace.A4), "A4", string(trace.Letter), "Letter")
	v.what = newChoiceRow(key, 1, func(w string) { v.do(photopage.SetWhat{What: trace.What(w)}) },
		string(trace.Insole), "the insole itself", string(trace.Pencil), "its pencilled outline")
	v.side = newChoiceRow(key, 3, func(s string) { v.do(photopage.SetSide{Side: trace.Side(s)}) },
		string(trace.AnySide), "by its shape", string(trace.Right), "right", string(trace.Left), "left")
	v.height = newNumberField(reporter{do: v.fieldDone, function: v.win.functionKey, explain: func(desk.FieldShow) {}})
	v.corners = caption("")
	v.corners.Wrapping = fyne.TextWrapWord
	about := caption("How high the outline lies over the paper, at the insole's edge: what is nearer to the camera looks larger.")
	about.Wrapping = fyne.TextWrapWord
	v.find = newKeyButton(key, "Look for the corners again", func() { v.do(photopage.FindCorners{}) })
	v.fill = newKeyButton(key, "", func() { v.do(photopage.Apply{}) })
	v.fresh = newKeyButton(key, "Make a new shoe with it", func() { v.do(photopage.Apply{New: true}) })
	v.fill.Importance = widget.HighImportance
	open := newKeyButton(key, "Open … (Ctrl+O)", v.win.askShape)
	back := newKeyButton(key, "Back to the fit (Esc)", func() { v.win.pages.turnTo(nil) })
	column := container.NewVBox(
		heading("On the sheet lies"), v.what.all, heading("Sheet"), v.sheet.all, v.corners, v.find,
		heading("Foot"), v.side.all, heading("Edge"), v.height.object(), about,
	)
	left := container.NewBorder(nil, container.NewVBox(widget.NewSeparator(), v.fill, v.fresh, container.NewGridWithColumns(2, open, back)), nil, nil,
		container.NewVScroll(container.NewPadded(column)))
	v.names, v.values, v.notes = widget.NewLabel(""), widget.NewLabel(""), widget.NewLabel("")
	v.values.TextStyle.Bold = true
	v.notes.Wrapping = fyne.TextWrapWord
	read := container.NewVScroll(container.NewVBox(container.NewHBox(v.names, v.values), v.notes))
	right := container.NewVSplit(
		container.NewVSplit(titled("The sheet from straight above, and what was traced", v.flat), titled("The outline in its heel's frame", v.outline)),
		titled("Read off", read),
	)
	right.SetOffset(0.72)
	split := container.NewHSplit(titled("The photo, and the sheet's corners", v.pane), right)
	split.SetOffset(0.55)
	whole := container.NewHSplit(left, split)
	whole.SetOffset(0.245)
	v.all = container.NewBorder(v.band.all, nil, nil, nil, whole)
}

func titled(text string, o fyne.CanvasObject) fyne.CanvasObject {
	l := heading(text)
	l.Truncation = fyne.TextTruncateEllipsis
	return container.NewBorder(l, nil, nil, nil, o)
}

func (v *photoView) fieldDone(a desk.Action) {
	switch a := a.(type) {
	case desk.Enter:
		v.do(photopage.Enter{Text: a.Text})
	case desk.Step:
		v.do(photopage.Step{N: a.N})
	case desk.Drag:
		v.do(photopage.Drag{Value: a.Value})
	case desk.DragEnd:
		v.do(photopage.LetGo{})
	}
}

func (v *photoView) object() fyne.CanvasObject { return v.all }

func (v *photoView) steps() (canUndo, canRedo bool) { return v.state.CanUndo(), v.state.CanRedo() }

func (v *photoView) undo() {
	v.height.entry.commit() // what is being typed is a step too
	v.do(photopage.Undo{})
}

func (v *photoView) redo() { v.do(photopage.Redo{}) }

func (v *photoView) turned() {
	v.show()
	v.win.win.Canvas().Focus(v.pane)
}

// key does what a function key stands for on the page.
func (v *photoView) key(k fyne.KeyName) bool {
	switch k {
	case fyne.KeyF1:
		v.win.tell("Keys", photoKeysText)
	case fyne.KeyF2, fyne.KeyF3, fyne.KeyF4, fyne.KeyF5, fyne.KeyF6, fyne.KeyF7, fyne.KeyF8:
	case fyne.KeyEscape:
		if !v.state.Busy() {
			return false
		}
		v.do(photopage.Cancel{})
	default:
		return false
	}
	return true
}

const photoKeysText = `Photo: arrow keys move the held corner by a pixel of the photo, with Shift by ten; N holds the next corner.
Ctrl+Z takes the last correction back, Ctrl+Shift+Z does it again.
Escape stops the work, or goes back to the fit.`

// show brings the state on the page.
func (v *photoView) show() {
	s := &v.state
	b := photopage.BandView(s)
	band := scanpage.Band{Mark: scanpage.Mark(b.Mark), Title: b.Title, Sentence: b.Sentence, Problem: b.Problem, Progress: -1, Cancel: b.Working, Working: b.Working}
	v.band.show(band)
	v.pane.show(s)
	if s.Read != v.of {
		v.of = s.Read
		v.flat.Image = nil
		if s.Read != nil {
			v.flat.Image = flatPicture(s.Read)
		}
		v.flat.Refresh()
	}
	v.outline.show(s.Read)
	v.sheet.show(string(s.Sheet))
	v.what.show(string(s.What))
	v.side.show(string(s.Side))
	spec := photopage.HeightSpec
	f := desk.FieldShow{Key: spec.Key, Name: spec.Name, Unit: spec.Unit, Spec: spec, Text: spec.Format(s.EdgeHeightMM), Number: s.EdgeHeightMM}
	if s.Refused != nil {
		f.Text, f.Problem = s.Typed, s.Refused.Error()
	}
	v.height.show(f)
	setText(v.corners, photopage.CornersText(s))
	setEnabled(&v.find.Button, s.Set && !s.Busy())
	setButton(&v.fill.Button, v.win.fillText())
	ready := s.NotYet() == ""
	setEnabled(&v.fill.Button, ready)
	setEnabled(&v.fresh.Button, ready)
	var names, values []string
	for _, r := range photopage.ReadView(s) {
		names, values = append(names, r.Name), append(values, r.Text)
	}
	setText(v.names, strings.Join(names, "\n"))
	setText(v.values, strings.Join(values, "\n"))
	setText(v.notes, photopage.NotesView(s))
	v.win.showMenus()
}

// outlinePane draws the outline; it is small enough to be drawn at once.
type outlinePane struct {
	widget.BaseWidget
	read    *trace.Tracing
	drawn   outlineWish
	picture *canvas.Image
}

type outlineWish struct {
	read          *trace.Tracing
	look          drawing.Look
	width, height int
}

func newOutlinePane() *outlinePane {
	p := &outlinePane{picture: &canvas.Image{FillMode: canvas.ImageFillStretch}}
	p.ExtendBaseWidget(p)
	return p
}

func (p *outlinePane) show(t *trace.Tracing) {
	p.read = t
	p.draw()
}

func (p *outlinePane) draw() {
	c := fyne.CurrentApp().Driver().CanvasForObject(p)
	if c == nil {
		return
	}
	scale := float64(c.Scale())
	w := outlineWish{
		p.read, lookNow(), int(math.Round(float64(p.Size().Width) * scale)), int(math.Round(float64(p.Size().Height) * scale)),
	}
	if w == p.drawn || w.width < 60 || w.height < 60 {
		return
	}
	p.drawn = w
	var img image.Image
	if p.read != nil {
		if m, err := outlinePicture(p.read, w.look, w.width, w.height, scale); err == nil {
			img = m
		}
	}
	p.picture.Image = img
	p.picture.Refresh()
}

// MinSize is small: the panes share what there is.
func (p *outlinePane) MinSize() fyne.Size { return fyne.NewSize(160, 90) }

// CreateRenderer shows the picture.
func (p *outlinePane) CreateRenderer() fyne.WidgetRenderer { return &outlineRenderer{p} }

type outlineRenderer struct{ p *outlinePane }

func (r *outlineRenderer) MinSize() fyne.Size           { return r.p.MinSize() }
func (r *outlineRenderer) Layout(s fyne.Size)           { r.p.picture.Resize(s); r.p.draw() }
func (r *outlineRenderer) Refresh()                     { r.p.draw() }
func (r *outlineRenderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{r.p.picture} }
func (r *outlineRenderer) Destroy()                     {}

// newPhotos makes the page of photos with its worker.
func (w *Window) newPhotos(ctx context.Context) *photoView {
	var v *photoView
	work := &photoWorker{report: func(a photopage.Action) { bridge(func() { v.do(a) }) }, fill: w.fillSheet}
	v = newPhotoView(w, func(e photopage.Effect) {
		base := fillBase{size: w.state.Size}
		base.shoe, _ = w.shoeInUse()
		work.start(ctx, func(ctx context.Context) {
			if a := work.work(ctx, e, base); a != nil && ctx.Err() == nil {
				work.report(a)
			}
		})
	}, work.stop)
	return v
}

func (w *Window) openPhoto(path string) {
	w.pages.turnTo(w.photos)
	w.photos.do(photopage.Open{Path: path, Name: baseName(path)})
}
