package ui

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"lastroom/ui/desk"
)

// mark is the sign of a state: a ring for clear, two bars for snug, a question mark for unsure, a cross for blocked,
// three dots for waiting. It is told by its shape; the colour comes on top.
type mark struct {
	widget.BaseWidget
	side float32
	is   desk.Mark
}

func newMark(side float32) *mark {
	m := &mark{side: side, is: desk.WaitMark}
	m.ExtendBaseWidget(m)
	return m
}

func (m *mark) set(is desk.Mark) {
	if m.is != is {
		m.is = is
		m.Refresh()
	}
}

// MinSize is the sign's.
func (m *mark) MinSize() fyne.Size { return fyne.NewSquareSize(m.side) }

// CreateRenderer makes the sign's shapes.
func (m *mark) CreateRenderer() fyne.WidgetRenderer {
	r := &markRenderer{m: m}
	r.build()
	return r
}

type markRenderer struct {
	m       *mark
	objects []fyne.CanvasObject
}

func (r *markRenderer) build() {
	side := r.m.Size().Width
	if h := r.m.Size().Height; h < side {
		side = h
	}
	side = min(side, r.m.side)
	at := func(x, y float32) fyne.Position {
		return fyne.NewPos((r.m.Size().Width-side)/2+x*side, (r.m.Size().Height-side)/2+y*side)
	}
	c := shade(stateColor(r.m.is))
	w := max(1.5, side/7)
	line := func(x1, y1, x2, y2 float32) fyne.CanvasObject {
		l := canvas.NewLine(c)
		l.StrokeWidth = w
		l.Position1, l.Position2 = at(x1, y1), at(x2, y2)
		return l
	}
	box := func(x1, y1, x2, y2 float32) fyne.CanvasObject {
		b := canvas.NewRectangle(c)
		b.Move(at(x1, y1))
		b.Resize(fyne.NewSize((x2-x1)*side, (y2-y1)*side))
		return b
	}
	switch r.m.is {
	case desk.ClearMark:
		ring := canvas.NewCircle(color.Transparent)
		ring.StrokeColor, ring.StrokeWidth = c, w
		ring.Position1, ring.Position2 = at(0.12, 0.12), at(0.88, 0.88)
		r.objects = []fyne.CanvasObject{ring}
	case desk.SnugMark:
		r.objects = []fyne.CanvasObject{box(0.22, 0.12, 0.42, 0.88), box(0.58, 0.12, 0.78, 0.88)}
	case desk.UnsureMark:
		t := canvas.NewText("?", c)
		t.TextSize, t.TextStyle.Bold, t.Alignment = side*0.95, true, fyne.TextAlignCenter
		size := t.MinSize()
		t.Resize(size)
		mid := at(0.5, 0.5)
		t.Move(fyne.NewPos(mid.X-size.Width/2, mid.Y-size.Height/2))
		r.objects = []fyne.CanvasObject{t}
	case desk.BlockedMark:
		r.objects = []fyne.CanvasObject{line(0.15, 0.15, 0.85, 0.85), line(0.15, 0.85, 0.85, 0.15)}
	default:
		r.objects = []fyne.CanvasObject{box(0.08, 0.42, 0.24, 0.58), box(0.42, 0.42, 0.58, 0.58), box(0.76, 0.42, 0.92, 0.58)}
	}
}

func (r *markRenderer) Layout(fyne.Size)             { r.build() }
func (r *markRenderer) MinSize() fyne.Size           { return r.m.MinSize() }
func (r *markRenderer) Refresh()                     { r.build(); canvas.Refresh(r.m) }
func (r *markRenderer) Objects() []fyne.CanvasObject { return r.objects }
func (r *markRenderer) Destroy()                     {}
