package ui

import (
	"fmt"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"

	"lastroom/footwear/trace"
	"lastroom/ui/photopage"
)

// photoPane shows the photo with the sheet's corners over it. Corners are dragged, or moved with the arrow keys: one is
// held, N goes to the next.
type photoPane struct {
	paneBase
	do       func(photopage.Action)
	function func(fyne.KeyName) bool

	is      photopage.State
	picture *canvas.Image
	back    *canvas.Rectangle
	edges   [4]*canvas.Line
	rings   [4]*canvas.Circle
	names   [4]*canvas.Text
	held    int // corner that is dragged, -1 for none
	moving  bool
}

var (
	_ fyne.Focusable     = (*photoPane)(nil)
	_ fyne.Draggable     = (*photoPane)(nil)
	_ fyne.Tappable      = (*photoPane)(nil)
	_ desktop.Keyable    = (*photoPane)(nil)
	_ desktop.Mouseable  = (*photoPane)(nil)
	_ desktop.Cursorable = (*photoPane)(nil)
)

func newPhotoPane(do func(photopage.Action), function func(fyne.KeyName) bool) *photoPane {
	p := &photoPane{
		do: do, function: function, held: -1, picture: &canvas.Image{FillMode: canvas.ImageFillContain},
		back: canvas.NewRectangle(color.Transparent),
	}
	p.self, p.frame = p, canvas.NewRectangle(color.Transparent)
	for i := range 4 {
		p.edges[i] = canvas.NewLine(nil)
		p.rings[i] = canvas.NewCircle(color.Transparent)
		p.names[i] = canvas.NewText(fmt.Sprint(i+1), nil)
		p.names[i].TextStyle.Bold = true
		p.names[i].TextSize = 12
	}
	p.ExtendBaseWidget(p)
	return p
}

func (p *photoPane) show(s *photopage.State) {
	if s.Picture != p.is.Picture {
		p.picture.Image = nil
		if s.Picture != nil {
			p.picture.Image = s.Picture.Image
		}
		p.picture.Refresh()
	}
	p.is = *s
	p.Refresh()
}

// fit is where the photo lies on the pane: its upper left corner, and the units a pixel of the file takes.
func (p *photoPane) fit() (at fyne.Position, unitPerPx float32) {
	pic := p.is.Picture
	if pic == nil || pic.Wide == 0 || pic.High == 0 {
		return fyne.Position{}, 1
	}
	size := p.Size()
	k := min(size.Width/float32(pic.Wide), size.Height/float32(pic.High))
	return fyne.NewPos((size.Width-k*float32(pic.Wide))/2, (size.Height-k*float32(pic.High))/2), k
}

// onPane is where a place of the photo stands.
func (p *photoPane) onPane(c trace.Point) fyne.Position {
	at, k := p.fit()
	return fyne.NewPos(at.X+k*float32(c.X), at.Y+k*float32(c.Y))
}

// onPhoto is the place of the photo under a place on the pane.
func (p *photoPane) onPhoto(q fyne.Position) trace.Point {
	at, k := p.fit()
	return trace.Point{X: float64((q.X - at.X) / k), Y: float64((q.Y - at.Y) / k)}
}

// cornerNear is the corner near a place on the pane, -1 for none.
func (p *photoPane) cornerNear(q fyne.Position) int {
	if !p.is.Known {
		return -1
	}
	const grip = 22
	best, which := float64(grip), -1
	for i, c := range p.is.Corners {
		at := p.onPane(c)
		if d := math.Hypot(float64(at.X-q.X), float64(at.Y-q.Y)); d < best {
			best, which = d, i
		}
	}
	return which
}

// MouseDown takes hold of a corner, and the focus.
func (p *photoPane) MouseDown(e *desktop.MouseEvent) {
	p.takeFocus()
	if p.held = p.cornerNear(e.Position); p.held >= 0 {
		p.do(photopage.HoldCorner{Corner: p.held})
	}
}

// MouseUp lets it go.
func (p *photoPane) MouseUp(*desktop.MouseEvent) { p.held = -1 }

// Dragged moves the corner that is held.
func (p *photoPane) Dragged(e *fyne.DragEvent) {
	if p.held < 0 {
		if p.held = p.cornerNear(fyne.NewPos(e.Position.X-e.Dragged.DX, e.Position.Y-e.Dragged.DY)); p.held < 0 {
			return
		}
	}
	p.moving = true
	p.do(photopage.MoveCorner{Corner: p.held, At: p.onPhoto(e.Position)})
}

// DragEnd lets go: the outline is read anew.
func (p *photoPane) DragEnd() {
	p.held = -1
	p.letGo()
}

func (p *photoPane) letGo() {
	if p.moving {
		p.moving = false
		p.do(photopage.LetGo{})
	}
}

// Cursor shows that a corner can be dragged.
func (p *photoPane) Cursor() desktop.Cursor { return desktop.CrosshairCursor }

// KeyUp forgets Shift, and ends a movement by arrow keys.
func (p *photoPane) KeyUp(k *fyne.KeyEvent) {
	p.paneBase.KeyUp(k)
	if _, arrow := ways[k.Name]; arrow {
		p.letGo()
	}
}

// TypedKey moves the held corner, or holds the next.
func (p *photoPane) TypedKey(k *fyne.KeyEvent) {
	step := 1.0
	if p.shift {
		step = 10
	}
	if way, ok := ways[k.Name]; ok {
		p.moving = true
		p.do(photopage.NudgeCorner{DX: step * way.U, DY: -step * way.V})
		return
	}
	if k.Name == fyne.KeyN {
		p.letGo()
		p.do(photopage.HoldCorner{Corner: (p.is.Held + 1) % 4})
		return
	}
	p.function(k.Name)
}

// FocusLost lets go.
func (p *photoPane) FocusLost() {
	p.letGo()
	p.paneBase.FocusLost()
}

// MinSize is small: the panes share what there is.
func (p *photoPane) MinSize() fyne.Size { return fyne.NewSize(200, 150) }

// CreateRenderer lays photo, sides and corners over each other.
func (p *photoPane) CreateRenderer() fyne.WidgetRenderer { return &photoPaneRenderer{p} }

type photoPaneRenderer struct{ p *photoPane }

func (r *photoPaneRenderer) MinSize() fyne.Size { return r.p.MinSize() }
func (r *photoPaneRenderer) Destroy()           {}

func (r *photoPaneRenderer) Layout(s fyne.Size) {
	for _, o := range []fyne.CanvasObject{r.p.back, r.p.picture, r.p.frame} {
		o.Move(fyne.NewPos(0, 0))
		o.Resize(s)
	}
	r.place()
}

// Corners are drawn in a light and a dark that stand out from any photo.
var (
	cornerInk  = color.NRGBA{0xD5, 0x5E, 0x00, 0xFF} // vermillion of the palette
	cornerHeld = color.NRGBA{0x00, 0x72, 0xB2, 0xFF}
)

func (r *photoPaneRenderer) place() {
	p := r.p
	for i := range 4 {
		a, b := p.onPane(p.is.Corners[i]), p.onPane(p.is.Corners[(i+1)%4])
		p.edges[i].Position1, p.edges[i].Position2 = a, b
		p.edges[i].StrokeColor, p.edges[i].StrokeWidth = cornerInk, 1.5
		radius := float32(9)
		ink := cornerInk
		if i == p.is.Held {
			radius, ink = 12, cornerHeld
		}
		p.rings[i].Position1, p.rings[i].Position2 = a.SubtractXY(radius, radius), a.AddXY(radius, radius)
		p.rings[i].StrokeColor, p.rings[i].StrokeWidth = ink, 3
		p.rings[i].FillColor = color.NRGBA{0xFF, 0xFF, 0xFF, 0x60}
		p.names[i].Color = color.Black
		size := p.names[i].MinSize()
		p.names[i].Resize(size)
		p.names[i].Move(a.SubtractXY(size.Width/2, size.Height/2))
		for _, o := range []fyne.CanvasObject{p.edges[i], p.rings[i], p.names[i]} {
			setVisible(o, p.is.Known)
		}
	}
}

func (r *photoPaneRenderer) Refresh() {
	p := r.p
	p.back.FillColor = shade(theme.ColorNameInputBackground)
	p.inkFrame()
	r.place()
	for _, o := range r.Objects() {
		if o != fyne.CanvasObject(p.picture) {
			o.Refresh()
		}
	}
}

func (r *photoPaneRenderer) Objects() []fyne.CanvasObject {
	p := r.p
	out := []fyne.CanvasObject{p.back, p.picture}
	for _, l := range p.edges {
		out = append(out, l)
	}
	for i := range 4 {
		out = append(out, p.rings[i], p.names[i])
	}
	return append(out, p.frame)
}
