package ui

import (
	"fmt"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/fit/drawing"
	"lastroom/internal/mesh"
	"lastroom/ui/scanpage"
)

// scanPane shows a scan in one view: body and cut in a picture, the lines of the other cuts over it. What mouse and arrow
// keys do is the tool's business.
type scanPane struct {
	paneBase
	view     drawing.View
	want     func(sheet)
	do       func(scanpage.Action)
	function func(fyne.KeyName) bool
	said     func(string)

	is    scanpage.State
	drawn *drawing.Shape // nil without a scan
	box   r3.Box         // of the scan when it last was let go
	near  *drawing.Extent
	look  drawing.Look

	asked scanWish
	shown *drawing.Picture

	picture *canvas.Image
	veil    *canvas.Rectangle
	hint    *canvas.Text
	lines   [2]*cutLine
	held    int
	moving  bool
}

// A scanWish is what a picture depends on.
type scanWish struct {
	shape         *scanpage.Shape
	read          *scanpage.Read
	pose          mesh.Pose
	mirrored, far bool
	stale         bool
	look          drawing.Look
	cut           float64
	points        [3]r3.Vec
	marked        int
	patch         int32
	shown         drawing.Extent
	width, height int
}

var (
	_ fyne.Focusable     = (*scanPane)(nil)
	_ fyne.Draggable     = (*scanPane)(nil)
	_ fyne.Tappable      = (*scanPane)(nil)
	_ fyne.Scrollable    = (*scanPane)(nil)
	_ desktop.Hoverable  = (*scanPane)(nil)
	_ desktop.Keyable    = (*scanPane)(nil)
	_ desktop.Mouseable  = (*scanPane)(nil)
	_ desktop.Cursorable = (*scanPane)(nil)
)

func newScanPane(v drawing.View, want func(sheet), do func(scanpage.Action), function func(fyne.KeyName) bool, said func(string)) *scanPane {
	p := &scanPane{
		view: v, want: want, do: do, function: function, said: said, held: -1,
		picture: &canvas.Image{FillMode: canvas.ImageFillStretch}, veil: canvas.NewRectangle(color.Transparent),
		hint: canvas.NewText("", color.Transparent),
	}
	p.self, p.frame = p, canvas.NewRectangle(color.Transparent)
	p.hint.Alignment = fyne.TextAlignCenter
	for i := range p.lines {
		p.lines[i] = newCutLine()
	}
	p.ExtendBaseWidget(p)
	return p
}

// show takes a state; drawn is its shape, box the part of space that is to be seen.
func (p *scanPane) show(s *scanpage.State, drawn *drawing.Shape, box r3.Box) {
	p.is, p.drawn, p.look = *s, drawn, lookNow()
	if box != p.box {
		p.box, p.near = box, nil
	}
	p.wish()
	p.Refresh()
}

// extent is the part of the paper that is shown.
func (p *scanPane) extent() drawing.Extent {
	if p.near != nil {
		return *p.near
	}
	return drawing.ExtentOfBox(p.view, p.box)
}

// wish asks for a picture, unless the last wish was the same.
func (p *scanPane) wish() {
	c := fyne.CurrentApp().Driver().CanvasForObject(p)
	if p.drawn == nil || c == nil {
		return
	}
	scale, size := float64(c.Scale()), p.Size()
	w := scanWish{
		shape: p.is.Shape, read: p.is.Read, pose: p.drawn.Pose, mirrored: p.drawn.Mirrored, far: p.drawn.Far,
		stale: p.is.Stale, look: p.look, cut: p.drawn.Cuts.At(p.view), marked: len(p.is.Points), patch: p.is.Patch, shown: p.extent(),
		width: int(math.Round(float64(size.Width) * scale)), height: int(math.Round(float64(size.Height) * scale)),
	}
	copy(w.points[:], p.is.Points)
	if w == p.asked || w.width < 60 || w.height < 60 {
		return
	}
	p.asked = w
	shown := w.shown
	p.want(sheet{
		view: p.view, shape: p.drawn, width: w.width, height: w.height, scale: scale,
		options: drawing.Options{Look: p.look, Words: true, Shown: &shown},
		done: func(pic *drawing.Picture, err error) {
			if err == nil {
				bridge(func() { p.take(pic) })
			}
		},
	})
}

func (p *scanPane) take(pic *drawing.Picture) {
	if p.drawn == nil {
		return
	}
	p.shown = pic
	p.picture.Image = pic.Image
	p.picture.Refresh()
	p.Refresh()
}

func (p *scanPane) pxPerUnit() float64 {
	if p.shown == nil || p.Size().Width == 0 {
		return 1
	}
	return p.shown.Frame.WidthPx / float64(p.Size().Width)
}

// paperAt is the point of the paper under a place on the pane.
func (p *scanPane) paperAt(at fyne.Position) drawing.Pt {
	k := p.pxPerUnit()
	return p.shown.Frame.Paper(float64(at.X)*k, float64(at.Y)*k)
}

// crossing is where the lines of the other two cuts meet.
func (p *scanPane) crossing() drawing.Pt {
	return p.view.Project(r3.Vec{X: p.is.Cuts.XMM, Y: p.is.Cuts.YMM, Z: p.is.Cuts.ZMM})
}

// MouseDown takes hold of a line when lines are dragged, and the focus.
func (p *scanPane) MouseDown(e *desktop.MouseEvent) {
	p.takeFocus()
	p.held = -1
	if p.shown != nil && p.is.Tool == scanpage.CutTool {
		p.held = lineNear(p.view, p.shown.Frame, p.is.Cuts, p.pxPerUnit(), e.Position)
	}
}

// MouseUp lets it go.
func (p *scanPane) MouseUp(*desktop.MouseEvent) { p.held = -1 }

// Dragged moves, turns, or drags a line.
func (p *scanPane) Dragged(e *fyne.DragEvent) {
	if p.shown == nil || p.drawn == nil {
		return
	}
	to := p.paperAt(e.Position)
	before := fyne.NewPos(e.Position.X-e.Dragged.DX, e.Position.Y-e.Dragged.DY)
	from := p.paperAt(before)
	switch p.is.Tool {
	case scanpage.MoveTool:
		p.moving = true
		p.do(scanpage.Move{View: p.view, By: drawing.Pt{U: to.U - from.U, V: to.V - from.V}})
	case scanpage.TurnTool:
		p.moving = true
		c := p.crossing()
		deg := (math.Atan2(to.V-c.V, to.U-c.U) - math.Atan2(from.V-c.V, from.U-c.U)) * 180 / math.Pi
		p.do(scanpage.Turn{View: p.view, Deg: math.Remainder(deg, 360)})
	case scanpage.CutTool:
		if p.held < 0 {
			if p.held = lineNear(p.view, p.shown.Frame, p.is.Cuts, p.pxPerUnit(), before); p.held < 0 {
				return
			}
		}
		of := p.view.CutLines(p.is.Cuts)[p.held].Of
		p.do(scanpage.MoveCut{View: of, MM: p.view.CutAt(of, to)})
	}
}

// DragEnd lets go.
func (p *scanPane) DragEnd() {
	p.held = -1
	p.letGo()
}

// Tapped picks a point or a patch.
func (p *scanPane) Tapped(e *fyne.PointEvent) {
	p.takeFocus()
	if p.shown == nil || p.drawn == nil {
		return
	}
	at := p.paperAt(e.Position)
	switch p.is.Tool {
	case scanpage.PointTool:
		const withinMM = 15
		if p.view == drawing.Above {
			under := p.is.Purpose != scanpage.Device || p.is.Far // a shoe's points lie on its underside, a device's on its edge
			if _, q, ok := p.drawn.Under(p.view, at, under); ok {
				p.do(scanpage.PickPoint{At: q})
			}
		} else if q, ok := p.drawn.OnCut(p.view, at, withinMM); ok {
			p.do(scanpage.PickPoint{At: q})
		}
	case scanpage.PatchTool:
		p.do(scanpage.PickPatch{Face: p.shown.FaceAt(at)})
	}
}

// Scrolled goes nearer or farther, about the point under the mouse.
func (p *scanPane) Scrolled(e *fyne.ScrollEvent) {
	if p.shown == nil || e.Scrolled.DY == 0 {
		return
	}
	p.zoom(zoomTimes(e), p.paperAt(e.Position))
}

func (p *scanPane) zoom(times float64, about drawing.Pt) {
	if p.shown == nil {
		return
	}
	from := p.shown.Frame.Shown
	if p.near != nil {
		from = *p.near
	}
	near, ok := zoomed(from, drawing.ExtentOfBox(p.view, p.box), times, about)
	if !ok {
		return
	}
	p.near = near
	p.wish()
}

// MouseIn is part of hovering.
func (p *scanPane) MouseIn(e *desktop.MouseEvent) { p.MouseMoved(e) }

// MouseMoved names what is under the mouse.
func (p *scanPane) MouseMoved(e *desktop.MouseEvent) {
	if p.shown == nil || p.drawn == nil {
		return
	}
	at := p.paperAt(e.Position)
	q := p.view.Lift(at, p.is.Cuts)
	text := fmt.Sprintf("%s: X %.0f mm, Y %.0f mm, Z %.0f mm", p.view, q.X+0, q.Y+0, q.Z+0)
	if name := p.shown.Name(at, 4); name != "" {
		text = name + " · " + text
	}
	p.said(text)
}

// MouseOut forgets it.
func (p *scanPane) MouseOut() { p.said("") }

// Cursor shows what a click does.
func (p *scanPane) Cursor() desktop.Cursor {
	switch p.is.Tool {
	case scanpage.PointTool, scanpage.PatchTool:
		return desktop.CrosshairCursor
	case scanpage.MoveTool, scanpage.TurnTool:
		return desktop.PointerCursor
	}
	return lineCursor(p.view, p.is.Cuts, p.held)
}

// KeyUp forgets Shift, and ends a movement by arrow keys.
func (p *scanPane) KeyUp(k *fyne.KeyEvent) {
	p.paneBase.KeyUp(k)
	if _, arrow := ways[k.Name]; arrow {
		p.letGo()
	}
}

// letGo ends a movement: what is read off the scan is read anew.
func (p *scanPane) letGo() {
	if p.moving {
		p.moving = false
		p.do(scanpage.LetGo{})
	}
}

// TypedKey moves, turns or steps the cuts.
func (p *scanPane) TypedKey(k *fyne.KeyEvent) {
	if way, ok := ways[k.Name]; ok {
		p.arrow(way)
		return
	}
	step := 1.0
	if p.shift {
		step = 5
	}
	switch k.Name {
	case fyne.KeyPlus, fyne.KeyEqual:
		p.zoom(zoomStep, p.crossing())
	case fyne.KeyMinus:
		p.zoom(1/zoomStep, p.crossing())
	case fyne.Key0:
		p.zoom(0, drawing.Pt{})
	case fyne.KeyPageUp:
		p.do(scanpage.StepCut{View: p.view, MM: step})
	case fyne.KeyPageDown:
		p.do(scanpage.StepCut{View: p.view, MM: -step})
	case fyne.KeySpace:
		p.do(scanpage.ToggleFar{})
	default:
		p.function(k.Name)
	}
}

// arrow is what an arrow key does that points along way.
func (p *scanPane) arrow(way drawing.Pt) {
	fine := 1.0
	if p.shift {
		fine = 0.1
	}
	switch p.is.Tool {
	case scanpage.MoveTool:
		p.moving = true
		p.do(scanpage.Move{View: p.view, By: drawing.Pt{U: fine * way.U, V: fine * way.V}})
	case scanpage.TurnTool:
		p.moving = true
		p.do(scanpage.Turn{View: p.view, Deg: fine * (way.V - way.U)})
	default:
		step := 1.0
		if p.shift {
			step = 5
		}
		stepCuts(p.view, way, step, func(of drawing.View, mm float64) { p.do(scanpage.StepCut{View: of, MM: mm}) })
	}
}

// FocusLost lets go.
func (p *scanPane) FocusLost() {
	p.letGo()
	p.paneBase.FocusLost()
}

// MinSize is small: the panes share what there is.
func (p *scanPane) MinSize() fyne.Size { return fyne.NewSize(160, 110) }

// CreateRenderer lays picture, veil, lines and frame over each other.
func (p *scanPane) CreateRenderer() fyne.WidgetRenderer { return &scanPaneRenderer{p} }

type scanPaneRenderer struct{ p *scanPane }

func (r *scanPaneRenderer) MinSize() fyne.Size { return r.p.MinSize() }
func (r *scanPaneRenderer) Destroy()           {}

func (r *scanPaneRenderer) Layout(s fyne.Size) {
	for _, o := range []fyne.CanvasObject{r.p.picture, r.p.veil, r.p.frame} {
		o.Move(fyne.NewPos(0, 0))
		o.Resize(s)
	}
	r.p.hint.Move(fyne.NewPos(0, s.Height/2-10))
	r.p.hint.Resize(fyne.NewSize(s.Width, 20))
	r.p.wish()
	r.place()
}

func (r *scanPaneRenderer) place() {
	p := r.p
	if p.shown == nil || p.drawn == nil {
		for _, l := range p.lines {
			l.hide()
		}
		return
	}
	for i, c := range p.view.CutLines(p.is.Cuts) {
		p.lines[i].place(c, p.is.Cuts, p.shown.Frame, p.pxPerUnit())
	}
}

func (r *scanPaneRenderer) Refresh() {
	p := r.p
	pal := drawing.PaletteFor(p.look.Dark)
	p.veil.FillColor = color.Transparent
	if p.is.Busy() && !p.moving && p.is.Stage != scanpage.Finding {
		veil := pal.Paper
		veil.A = 0x78
		p.veil.FillColor = veil
	}
	p.hint.Text = ""
	if p.drawn == nil || p.shown == nil {
		p.veil.FillColor = pal.Paper
		p.hint.Text, p.hint.Color, p.hint.TextSize = p.view.String(), pal.Faint, 13
	}
	p.inkFrame()
	for _, l := range p.lines {
		l.ink(pal, p.focused && p.is.Tool == scanpage.CutTool)
	}
	r.place()
	for _, o := range r.Objects()[1:] {
		o.Refresh()
	}
}

func (r *scanPaneRenderer) Objects() []fyne.CanvasObject {
	p := r.p
	out := []fyne.CanvasObject{p.picture, p.veil}
	for _, l := range p.lines {
		out = append(out, l.line, l.tab, l.name)
	}
	return append(out, p.hint, p.frame)
}
