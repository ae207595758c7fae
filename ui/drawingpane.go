package ui

import (
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"

	"lastroom/fit/drawing"
	"lastroom/ui/desk"
)

// drawingPane shows one view: a picture drawn in the background, and over it the lines of the two other cuts as objects
// of their own, so that they follow the mouse at once. Lines are dragged, or stepped with the arrow keys (Shift: further)
// when the pane has the focus; page keys step the pane's own cut.
type drawingPane struct {
	paneBase
	view     drawing.View
	want     func(sheet)
	do       func(desk.Action)
	function func(fyne.KeyName) bool
	said     func(string) // what the mouse is over

	scene *drawing.Scene
	stale bool
	look  drawing.Look
	near  *drawing.Extent // what is shown when it is not the whole

	asked  wish             // the last wish
	shown  *drawing.Picture // nil before the first
	spoken func(*drawing.Picture)

	picture *canvas.Image
	veil    *canvas.Rectangle
	lines   [2]*cutLine
	held    int // line that is dragged, -1 for none
}

// A wish is what a picture depends on: equal wishes have equal pictures.
type wish struct {
	answer        any
	pose          any
	selected      int
	cut           float64
	near          drawing.Extent
	look          drawing.Look
	width, height int
}

// A cutLine is the line of another cut, with its name on a tab at its end.
type cutLine struct {
	of   drawing.View
	line *canvas.Line
	tab  *canvas.Rectangle
	name *canvas.Text
}

func newCutLine() *cutLine {
	l := &cutLine{
		line: canvas.NewLine(color.Transparent), tab: canvas.NewRectangle(color.Transparent),
		name: canvas.NewText("", color.Transparent),
	}
	l.name.TextSize = 10
	l.tab.CornerRadius = 2
	return l
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
	}
	d.self, d.frame = d, canvas.NewRectangle(color.Transparent)
	for i := range d.lines {
		d.lines[i] = newCutLine()
	}
	d.ExtendBaseWidget(d)
	return d
}

// show takes a scene; stale greys it.
func (d *drawingPane) show(s *drawing.Scene, answer any, stale bool) {
	d.scene, d.stale, d.look = s, stale, lookNow()
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
		answer, d.scene.PoseName, d.scene.Selected, d.scene.Cuts.At(d.view), near, d.look,
		int(math.Round(float64(size.Width) * scale)), int(math.Round(float64(size.Height) * scale)),
	}
	if w == d.asked || w.width < 60 || w.height < 60 {
		return
	}
	d.asked = w
	d.want(sheet{
		view: d.view, scene: d.scene, width: w.width, height: w.height, scale: scale,
		options: drawing.Options{Look: d.look, Words: true, Parts: size.Width > 260, Shown: d.near},
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
