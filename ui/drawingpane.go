package ui

import (
	"fmt"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/fit/drawing"
	"lastroom/ui/desk"
)

// drawingPane shows one view: a picture drawn in the background, and over it the lines of the two other cuts as objects
// of their own, so that they follow the mouse at once. Lines are dragged, or stepped with the arrow keys (Shift: further)
// when the pane has the focus; page keys step the pane's own cut.
type drawingPane struct {
	widget.BaseWidget
	view     drawing.View
	want     func(sheet)
	do       func(desk.Action)
	function func(fyne.KeyName) bool
	said     func(string) // what the mouse is over

	scene *drawing.Scene
	stale bool
	dark  bool
	near  *drawing.Extent // what is shown when it is not the whole

	asked  wish             // the last wish
	shown  *drawing.Picture // nil before the first
	spoken func(*drawing.Picture)

	picture *canvas.Image
	veil    *canvas.Rectangle
	frame   *canvas.Rectangle
	lines   [2]*cutLine
	shift   bool
	held    int // line that is dragged, -1 for none
	focused bool
}

// A wish is what a picture depends on: equal wishes have equal pictures.
type wish struct {
	answer        any
	pose          any
	selected      int
	cut           float64
	near          drawing.Extent
	dark          bool
	width, height int
}

// A cutLine is the line of another cut, with its name on a tab at its end.
type cutLine struct {
	of   drawing.View
	line *canvas.Line
	tab  *canvas.Rectangle
	name *canvas.Text
}

var (
	_ fyne.Focusable     = (*drawingPane)(nil)
	_ fyne.Draggable     = (*drawingPane)(nil)
	_ fyne.Tappable      = (*drawingPane)(nil)
	_ fyne.Scrollable    = (*drawingPane)(nil)
	_ desktop.Hoverable  = (*drawingPane)(nil)
	_ desktop.Keyable    = (*drawingPane)(nil)
	_ desktop.Mouseable  = (*drawingPane)(nil)
	_ desktop.Cursorable = (*drawingPane)(nil)
)

func newDrawingPane(v drawing.View, want func(sheet), do func(desk.Action), function func(fyne.KeyName) bool, said func(string)) *drawingPane {
	d := &drawingPane{
		view: v, want: want, do: do, function: function, said: said, held: -1,
		picture: &canvas.Image{FillMode: canvas.ImageFillStretch}, veil: canvas.NewRectangle(color.Transparent),
		frame: canvas.NewRectangle(color.Transparent),
	}
	for i := range d.lines {
		d.lines[i] = &cutLine{
			line: canvas.NewLine(color.Transparent), tab: canvas.NewRectangle(color.Transparent),
			name: canvas.NewText("", color.Transparent),
		}
		d.lines[i].name.TextSize = 10
		d.lines[i].tab.CornerRadius = 2
	}
	d.ExtendBaseWidget(d)
	return d
}

// show takes a scene; stale greys it.
func (d *drawingPane) show(s *drawing.Scene, answer any, stale bool) {
	d.scene, d.stale, d.dark = s, stale, isDark()
	d.wishFor(answer)
	d.Refresh()
}

// wishFor asks for a picture, unless the last wish was the same.
func (d *drawingPane) wishFor(answer any) {
	c := fyne.CurrentApp().Driver().CanvasForObject(d)
	if d.scene == nil || c == nil {
		return
	}
	scale := float64(c.Scale())
	size := d.Size()
	var near drawing.Extent
	if d.near != nil {
		near = *d.near
	}
	w := wish{
		answer, d.scene.PoseName, d.scene.Selected, d.scene.Cuts.At(d.view), near, d.dark,
		int(math.Round(float64(size.Width) * scale)), int(math.Round(float64(size.Height) * scale)),
	}
	if w == d.asked || w.width < 60 || w.height < 60 {
		return
	}
	d.asked = w
	d.want(sheet{
		view: d.view, scene: d.scene, width: w.width, height: w.height, scale: scale,
		options: drawing.Options{Dark: d.dark, Words: true, Parts: size.Width > 260, Shown: d.near},
		done: func(p *drawing.Picture, err error) {
			if err != nil {
				return
			}
			bridge(func() { d.take(p) })
		},
	})
}

func (d *drawingPane) take(p *drawing.Picture) {
	d.shown = p
	d.picture.Image = p.Image
	d.picture.Refresh()
	d.Refresh()
	if d.spoken != nil {
		d.spoken(p)
	}
}

// pxPerUnit is how many of the picture's pixels a unit of the window has.
func (d *drawingPane) pxPerUnit() float64 {
	if d.shown == nil || d.Size().Width == 0 {
		return 1
	}
	return d.shown.Frame.WidthPx / float64(d.Size().Width)
}

// paperAt is the point of the paper under a place on the pane.
func (d *drawingPane) paperAt(at fyne.Position) drawing.Pt {
	k := d.pxPerUnit()
	return d.shown.Frame.Paper(float64(at.X)*k, float64(at.Y)*k)
}

// lineAt is the line near a place on the pane, -1 for none.
func (d *drawingPane) lineAt(at fyne.Position) int {
	if d.shown == nil || d.scene == nil {
		return -1
	}
	const grip = 9
	best, which := float64(grip), -1
	k := d.pxPerUnit()
	for i, c := range d.view.CutLines(d.scene.Cuts) {
		x, y := d.shown.Frame.Pixel(drawing.Pt{U: c.AtMM, V: c.AtMM})
		off := math.Abs(y/k - float64(at.Y))
		if c.Upright {
			off = math.Abs(x/k - float64(at.X))
		}
		if off < best {
			best, which = off, i
		}
	}
	return which
}

// MouseDown takes hold of a line, and the focus.
func (d *drawingPane) MouseDown(e *desktop.MouseEvent) {
	d.held = d.lineAt(e.Position)
	d.takeFocus()
}

// MouseUp lets the line go.
func (d *drawingPane) MouseUp(*desktop.MouseEvent) { d.held = -1 }

// Dragged moves the line that is held.
func (d *drawingPane) Dragged(e *fyne.DragEvent) {
	if d.shown == nil || d.scene == nil {
		return
	}
	if d.held < 0 {
		from := fyne.NewPos(e.Position.X-e.Dragged.DX, e.Position.Y-e.Dragged.DY)
		if d.held = d.lineAt(from); d.held < 0 {
			return
		}
	}
	of := d.view.CutLines(d.scene.Cuts)[d.held].Of
	d.do(desk.MoveCut{View: of, MM: d.view.CutAt(of, d.paperAt(e.Position))})
}

// DragEnd lets the line go.
func (d *drawingPane) DragEnd() { d.held = -1 }

// Tapped takes the focus.
func (d *drawingPane) Tapped(*fyne.PointEvent) { d.takeFocus() }

func (d *drawingPane) takeFocus() {
	if c := fyne.CurrentApp().Driver().CanvasForObject(d); c != nil {
		c.Focus(d)
	}
}

const zoomStep = 1.25

// Scrolled goes nearer or farther, about the point under the mouse.
func (d *drawingPane) Scrolled(e *fyne.ScrollEvent) {
	if d.shown == nil || e.Scrolled.DY == 0 {
		return
	}
	times := zoomStep
	if e.Scrolled.DY < 0 {
		times = 1 / zoomStep
	}
	d.zoom(times, d.paperAt(e.Position))
}

// crossing is where the lines of the other two cuts meet.
func (d *drawingPane) crossing() drawing.Pt {
	if d.scene == nil {
		return drawing.Pt{}
	}
	return d.view.Project(r3.Vec{X: d.scene.Cuts.XMM, Y: d.scene.Cuts.YMM, Z: d.scene.Cuts.ZMM})
}

// zoom goes so many times nearer about a point of the paper; farther than the whole, or 0 times, is the whole.
func (d *drawingPane) zoom(times float64, about drawing.Pt) {
	if d.shown == nil || d.scene == nil {
		return
	}
	whole := drawing.ExtentOf(d.view, d.scene.Room)
	const nearestMM = 8 // wide
	e := d.shown.Frame.Shown
	if d.near != nil { // the picture may still be on its way
		e = *d.near
	}
	switch {
	case times == 0:
		d.near = nil
	case times < 1 && (e.Hi.U-e.Lo.U)/times >= whole.Hi.U-whole.Lo.U:
		d.near = nil
	case times > 1 && (e.Hi.U-e.Lo.U)/times < nearestMM:
		return
	default:
		e = e.Closer(times, about)
		d.near = &e
	}
	d.wishFor(d.asked.answer)
}

// MouseIn is part of hovering.
func (d *drawingPane) MouseIn(e *desktop.MouseEvent) { d.MouseMoved(e) }

// MouseMoved names what is under the mouse.
func (d *drawingPane) MouseMoved(e *desktop.MouseEvent) {
	if d.shown == nil {
		return
	}
	const withinMM = 4
	p := d.paperAt(e.Position)
	text := fmt.Sprintf("%s: %.0f, %.0f mm", d.view, p.U, p.V)
	if d.view == drawing.Behind {
		text = fmt.Sprintf("%s: %.0f, %.0f mm", d.view, -p.U+0, p.V)
	}
	if name := d.shown.Name(p, withinMM); name != "" {
		text = name + " (" + text + ")"
	}
	d.said(text)
}

// MouseOut forgets it.
func (d *drawingPane) MouseOut() { d.said("") }

// Cursor shows which way a line under the mouse can be dragged.
func (d *drawingPane) Cursor() desktop.Cursor {
	if d.held >= 0 && d.scene != nil {
		if d.view.CutLines(d.scene.Cuts)[d.held].Upright {
			return desktop.HResizeCursor
		}
		return desktop.VResizeCursor
	}
	return desktop.DefaultCursor
}

// KeyDown notes Shift.
func (d *drawingPane) KeyDown(k *fyne.KeyEvent) {
	if k.Name == desktop.KeyShiftLeft || k.Name == desktop.KeyShiftRight {
		d.shift = true
	}
}

// KeyUp forgets Shift.
func (d *drawingPane) KeyUp(k *fyne.KeyEvent) {
	if k.Name == desktop.KeyShiftLeft || k.Name == desktop.KeyShiftRight {
		d.shift = false
	}
}

// TypedKey steps the cuts: left and right the upright line, up and down the level one, page keys the view's own cut.
func (d *drawingPane) TypedKey(k *fyne.KeyEvent) {
	step := 1.0
	if d.shift {
		step = 5
	}
	lines := d.view.CutLines(drawing.Cuts{})
	move := func(upright bool, way float64) {
		for _, l := range lines {
			if l.Upright == upright {
				// The line goes the way of the key: U of the paper may run against the room's axis.
				at := d.view.CutAt(l.Of, drawing.Pt{U: way, V: way})
				d.do(desk.StepCut{View: l.Of, MM: math.Copysign(step, at)})
			}
		}
	}
	switch k.Name {
	case fyne.KeyPlus, fyne.KeyEqual:
		d.zoom(zoomStep, d.crossing())
	case fyne.KeyMinus:
		d.zoom(1/zoomStep, d.crossing())
	case fyne.Key0:
		d.zoom(0, drawing.Pt{})
	case fyne.KeyLeft:
		move(true, -1)
	case fyne.KeyRight:
		move(true, 1)
	case fyne.KeyUp:
		move(false, 1)
	case fyne.KeyDown:
		move(false, -1)
	case fyne.KeyPageUp:
		d.do(desk.StepCut{View: d.view, MM: step})
	case fyne.KeyPageDown:
		d.do(desk.StepCut{View: d.view, MM: -step})
	case fyne.KeySpace:
		d.do(desk.TogglePose{})
	default:
		d.function(k.Name)
	}
}

// TypedRune is part of having the focus.
func (d *drawingPane) TypedRune(rune) {}

// FocusGained draws the frame.
func (d *drawingPane) FocusGained() { d.focused = true; d.Refresh() }

// FocusLost takes it away.
func (d *drawingPane) FocusLost() { d.focused, d.shift = false, false; d.Refresh() }

// MinSize is small: the panes share what there is.
func (d *drawingPane) MinSize() fyne.Size { return fyne.NewSize(160, 110) }

// CreateRenderer lays picture, veil, lines and frame over each other.
func (d *drawingPane) CreateRenderer() fyne.WidgetRenderer { return &paneRenderer{d} }

type paneRenderer struct{ d *drawingPane }

func (r *paneRenderer) MinSize() fyne.Size { return r.d.MinSize() }
func (r *paneRenderer) Destroy()           {}

func (r *paneRenderer) Layout(s fyne.Size) {
	d := r.d
	for _, o := range []fyne.CanvasObject{d.picture, d.veil, d.frame} {
		o.Move(fyne.NewPos(0, 0))
		o.Resize(s)
	}
	d.wishFor(d.asked.answer)
	r.place()
}

// place puts the lines where the cuts are.
func (r *paneRenderer) place() {
	d := r.d
	if d.shown == nil || d.scene == nil {
		for _, l := range d.lines {
			l.line.Hide()
			l.tab.Hide()
			l.name.Hide()
		}
		return
	}
	k := d.pxPerUnit()
	f := d.shown.Frame
	unit := func(px float64) float32 { return float32(px / k) }
	for i, c := range d.view.CutLines(d.scene.Cuts) {
		l := d.lines[i]
		l.of = c.Of
		x, y := f.Pixel(drawing.Pt{U: c.AtMM, V: c.AtMM})
		l.name.Text = fmt.Sprintf("%s %.0f", c.Of.CutAxis(), d.scene.Cuts.At(c.Of)+0)
		size := l.name.MinSize()
		var tab fyne.Position
		inside := false
		if c.Upright {
			l.line.Position1, l.line.Position2 = fyne.NewPos(unit(x), unit(f.TopPx)), fyne.NewPos(unit(x), unit(f.LowPx))
			tab = fyne.NewPos(unit(x)-size.Width/2, unit(f.TopPx))
			inside = x >= f.LeftPx && x <= f.RightPx
		} else {
			l.line.Position1, l.line.Position2 = fyne.NewPos(unit(f.LeftPx), unit(y)), fyne.NewPos(unit(f.RightPx), unit(y))
			tab = fyne.NewPos(unit(f.RightPx)-size.Width-4, unit(y)-size.Height/2)
			inside = y >= f.TopPx && y <= f.LowPx
		}
		l.name.Move(tab)
		l.name.Resize(size)
		l.tab.Move(tab.SubtractXY(3, 1))
		l.tab.Resize(size.AddWidthHeight(6, 2))
		for _, o := range []fyne.CanvasObject{l.line, l.tab, l.name} {
			if inside {
				o.Show()
			} else {
				o.Hide()
			}
		}
	}
}

func (r *paneRenderer) Refresh() {
	d := r.d
	pal := drawing.PaletteFor(d.dark)
	d.veil.FillColor = color.Transparent
	if d.stale {
		veil := pal.Paper
		veil.A = 0x78
		d.veil.FillColor = veil
	}
	if d.shown == nil {
		d.veil.FillColor = pal.Paper
	}
	d.frame.StrokeColor, d.frame.StrokeWidth = shade(theme.ColorNameInputBorder), 1
	if d.focused {
		d.frame.StrokeColor, d.frame.StrokeWidth = shade(theme.ColorNamePrimary), 2
	}
	for _, l := range d.lines {
		thin := pal.Cut
		thin.A = 0xA0
		l.line.StrokeColor, l.line.StrokeWidth = thin, 1
		l.tab.FillColor = pal.Cut
		l.name.Color = pal.Paper
		if d.focused {
			l.line.StrokeColor, l.line.StrokeWidth = pal.Cut, 1.5
		}
	}
	r.place()
	for _, o := range r.Objects()[1:] {
		o.Refresh()
	}
}

func (r *paneRenderer) Objects() []fyne.CanvasObject {
	d := r.d
	out := []fyne.CanvasObject{d.picture, d.veil}
	for _, l := range d.lines {
		out = append(out, l.line, l.tab, l.name)
	}
	return append(out, d.frame)
}
