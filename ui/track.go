package ui

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// track is a thin line with a thumb: a number's place between its limits. It is dragged or tapped.
type track struct {
	widget.BaseWidget
	lo, hi, at float64
	unset      bool
	moved      func(float64)
	let        func()

	rail, done *canvas.Rectangle
	thumb      *canvas.Rectangle
}

var (
	_ fyne.Draggable     = (*track)(nil)
	_ fyne.Tappable      = (*track)(nil)
	_ desktop.Cursorable = (*track)(nil)
)

func newTrack(moved func(float64), let func()) *track {
	t := &track{moved: moved, let: let, hi: 1}
	t.rail, t.done, t.thumb = canvas.NewRectangle(color.Transparent), canvas.NewRectangle(color.Transparent), canvas.NewRectangle(color.Transparent)
	t.thumb.CornerRadius, t.rail.CornerRadius, t.done.CornerRadius = 2, 1, 1
	t.ExtendBaseWidget(t)
	return t
}

func (t *track) show(lo, hi, at float64, unset bool) {
	if t.lo != lo || t.hi != hi || t.at != at || t.unset != unset {
		t.lo, t.hi, t.at, t.unset = lo, hi, at, unset
		t.Refresh()
	}
}

const thumbWidth = 8

// value is the number under a place on the track.
func (t *track) value(x float32) float64 {
	w := t.Size().Width - thumbWidth
	if w <= 0 {
		return t.at
	}
	share := float64((x - thumbWidth/2) / w)
	return t.lo + max(0, min(1, share))*(t.hi-t.lo)
}

// Dragged moves the number.
func (t *track) Dragged(e *fyne.DragEvent) {
	t.moved(t.value(e.Position.X))
}

// DragEnd lets it go.
func (t *track) DragEnd() {
	t.let()
}

// Tapped puts the number there.
func (t *track) Tapped(e *fyne.PointEvent) {
	t.moved(t.value(e.Position.X))
	t.let()
}

// Cursor shows that it moves sideways.
func (t *track) Cursor() desktop.Cursor { return desktop.HResizeCursor }

// MinSize is a thin line's.
func (t *track) MinSize() fyne.Size { return fyne.NewSize(40, 12) }

// CreateRenderer draws rail and thumb.
func (t *track) CreateRenderer() fyne.WidgetRenderer { return &trackRenderer{t} }

type trackRenderer struct{ t *track }

func (r *trackRenderer) Layout(s fyne.Size) {
	t := r.t
	share := float32(0)
	if t.hi > t.lo {
		share = float32(max(0, min(1, (t.at-t.lo)/(t.hi-t.lo))))
	}
	x := share * (s.Width - thumbWidth)
	const rail = 3
	t.rail.Move(fyne.NewPos(0, (s.Height-rail)/2))
	t.rail.Resize(fyne.NewSize(s.Width, rail))
	t.done.Move(t.rail.Position())
	t.done.Resize(fyne.NewSize(x+thumbWidth/2, rail))
	t.thumb.Move(fyne.NewPos(x, 1))
	t.thumb.Resize(fyne.NewSize(thumbWidth, s.Height-2))
}

func (r *trackRenderer) MinSize() fyne.Size { return r.t.MinSize() }

func (r *trackRenderer) Refresh() {
	r.t.rail.FillColor = shade(theme.ColorNameInputBorder)
	r.t.done.FillColor = shade(theme.ColorNamePrimary)
	r.t.thumb.FillColor = shade(theme.ColorNamePrimary)
	r.t.thumb.StrokeColor, r.t.thumb.StrokeWidth = shade(theme.ColorNamePrimary), 0
	if r.t.unset { // hollow: not entered
		r.t.done.FillColor = r.t.rail.FillColor
		r.t.thumb.FillColor, r.t.thumb.StrokeWidth = shade(theme.ColorNameBackground), 1.5
	}
	r.Layout(r.t.Size())
	canvas.Refresh(r.t)
}

func (r *trackRenderer) Objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{r.t.rail, r.t.done, r.t.thumb}
}

func (r *trackRenderer) Destroy() {}
