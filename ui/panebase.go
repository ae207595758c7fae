package ui

import (
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/fit/drawing"
)

type focusable interface {
	fyne.CanvasObject
	fyne.Focusable
}

// paneBase is what every pane has that can get the focus: a frame that shows it, and the Shift key.
type paneBase struct {
	widget.BaseWidget
	self    focusable
	frame   *canvas.Rectangle
	shift   bool
	focused bool
}

func (b *paneBase) takeFocus() {
	if c := fyne.CurrentApp().Driver().CanvasForObject(b.self); c != nil {
		c.Focus(b.self)
	}
}

// Tapped takes the focus.
func (b *paneBase) Tapped(*fyne.PointEvent) { b.takeFocus() }

// KeyDown notes Shift.
func (b *paneBase) KeyDown(k *fyne.KeyEvent) {
	if k.Name == desktop.KeyShiftLeft || k.Name == desktop.KeyShiftRight {
		b.shift = true
	}
}

// KeyUp forgets Shift.
func (b *paneBase) KeyUp(k *fyne.KeyEvent) {
	if k.Name == desktop.KeyShiftLeft || k.Name == desktop.KeyShiftRight {
		b.shift = false
	}
}

// TypedRune is part of having the focus.
func (b *paneBase) TypedRune(rune) {}

// FocusGained draws the frame.
func (b *paneBase) FocusGained() { b.focused = true; b.Refresh() }

// FocusLost takes it away.
func (b *paneBase) FocusLost() { b.focused, b.shift = false, false; b.Refresh() }

// inkFrame colours the frame.
func (b *paneBase) inkFrame() {
	b.frame.StrokeColor, b.frame.StrokeWidth = shade(theme.ColorNameInputBorder), 1
	if b.focused {
		b.frame.StrokeColor, b.frame.StrokeWidth = shade(theme.ColorNamePrimary), 2
	}
}

// ways are the directions of the arrow keys on the paper.
var ways = map[fyne.KeyName]drawing.Pt{fyne.KeyLeft: {U: -1}, fyne.KeyRight: {U: 1}, fyne.KeyUp: {V: 1}, fyne.KeyDown: {V: -1}}

// stepCuts steps the cut whose line an arrow key moves in a view: the line goes the way of the key, and U of the paper may
// run against the axis of space.
func stepCuts(v drawing.View, way drawing.Pt, step float64, do func(of drawing.View, mm float64)) {
	for _, l := range v.CutLines(drawing.Cuts{}) {
		if l.Upright == (way.U != 0) {
			do(l.Of, math.Copysign(step, v.CutAt(l.Of, way)))
		}
	}
}

// lineCursor shows which way the line that is held can be dragged.
func lineCursor(v drawing.View, cuts drawing.Cuts, held int) desktop.Cursor {
	switch {
	case held < 0:
		return desktop.DefaultCursor
	case v.CutLines(cuts)[held].Upright:
		return desktop.HResizeCursor
	}
	return desktop.VResizeCursor
}

const zoomStep = 1.25

// zoomTimes is what a turn of the wheel does.
func zoomTimes(e *fyne.ScrollEvent) float64 {
	if e.Scrolled.DY < 0 {
		return 1 / zoomStep
	}
	return zoomStep
}

// zoomed goes from a part of the paper so many times nearer about a point; nil is the whole: from farther than it, and from 0
// times. ok is false when that is too near.
func zoomed(from, whole drawing.Extent, times float64, about drawing.Pt) (near *drawing.Extent, ok bool) {
	const nearestMM = 8 // wide
	wide := func(e drawing.Extent) float64 { return e.Hi.U - e.Lo.U }
	high := func(e drawing.Extent) float64 { return e.Hi.V - e.Lo.V }
	switch {
	case times == 0, times < 1 && wide(from)/times >= wide(whole) && high(from)/times >= high(whole):
		return nil, true
	case times > 1 && wide(from)/times < nearestMM:
		return nil, false
	}
	e := from.Closer(times, about)
	return &e, true
}
