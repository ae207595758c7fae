package ui

import (
	"fmt"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/fit/drawing"
	"lastroom/ui/desk"
)

// What mouse and keys do to a drawing.

// lineAt is the line near a place on the pane, -1 for none.
func (d *drawingPane) lineAt(at fyne.Position) int {
	if d.shown == nil || d.scene == nil {
		return -1
	}
	return lineNear(d.view, d.shown.Frame, d.scene.Cuts, d.pxPerUnit(), at)
}

// lineNear is which of a view's two lines is near a place on a picture of k pixels a unit, -1 for none.
func lineNear(v drawing.View, f drawing.Frame, cuts drawing.Cuts, k float64, at fyne.Position) int {
	const grip = 9
	best, which := float64(grip), -1
	for i, c := range v.CutLines(cuts) {
		x, y := f.Pixel(drawing.Pt{U: c.AtMM, V: c.AtMM})
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

// Scrolled goes nearer or farther, about the point under the mouse.
func (d *drawingPane) Scrolled(e *fyne.ScrollEvent) {
	if d.shown == nil || e.Scrolled.DY == 0 {
		return
	}
	d.zoom(zoomTimes(e), d.paperAt(e.Position))
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
	from := d.shown.Frame.Shown
	if d.near != nil { // the picture may still be on its way
		from = *d.near
	}
	near, ok := zoomed(from, drawing.ExtentOf(d.view, d.scene.Room), times, about)
	if !ok {
		return
	}
	d.near = near
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
	text := fmt.Sprintf("%s: %.0f mm, %.0f mm", d.view, p.U, p.V)
	if d.view == drawing.Behind {
		text = fmt.Sprintf("%s: %.0f mm, %.0f mm", d.view, -p.U+0, p.V)
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
	if d.scene == nil {
		return desktop.DefaultCursor
	}
	return lineCursor(d.view, d.scene.Cuts, d.held)
}

// TypedKey steps the cuts: left and right the upright line, up and down the level one, page keys the view's own cut.
func (d *drawingPane) TypedKey(k *fyne.KeyEvent) {
	step := 1.0
	if d.shift {
		step = 5
	}
	if way, ok := ways[k.Name]; ok {
		stepCuts(d.view, way, step, func(of drawing.View, mm float64) { d.do(desk.StepCut{View: of, MM: mm}) })
		return
	}
	switch k.Name {
	case fyne.KeyPlus, fyne.KeyEqual:
		d.zoom(zoomStep, d.crossing())
	case fyne.KeyMinus:
		d.zoom(1/zoomStep, d.crossing())
	case fyne.Key0:
		d.zoom(0, drawing.Pt{})
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
