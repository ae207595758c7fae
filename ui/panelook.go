package ui

import (
	"fmt"
	"image/color"

	"fyne.io/fyne/v2"

	"lastroom/fit/drawing"
	"lastroom/internal/lengths"
)

// How a drawing and the lines over it are laid out.

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
			l.hide()
		}
		return
	}
	k := d.pxPerUnit()
	for i, c := range d.view.CutLines(d.scene.Cuts) {
		d.lines[i].place(c, d.scene.Cuts, d.shown.Frame, k)
	}
}

// place puts a line where its cut is on a picture of k pixels a unit; it is hidden outside.
func (l *cutLine) place(c drawing.CutLine, cuts drawing.Cuts, f drawing.Frame, k float64) {
	unit := func(px float64) float32 { return float32(px / k) }
	l.of = c.Of
	x, y := f.Pixel(drawing.Pt{U: c.AtMM, V: c.AtMM})
	l.name.Text = cutName(c.Of, cuts.At(c.Of))
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
		setVisible(o, inside)
	}
}

func (l *cutLine) hide() {
	for _, o := range []fyne.CanvasObject{l.line, l.tab, l.name} {
		o.Hide()
	}
}

// ink colours a line; strong when its pane has the focus.
func (l *cutLine) ink(pal drawing.Palette, strong bool) {
	thin := pal.Cut
	thin.A = 0xA0
	l.line.StrokeColor, l.line.StrokeWidth = thin, 1
	l.tab.FillColor = pal.Cut
	l.name.Color = pal.Paper
	if strong {
		l.line.StrokeColor, l.line.StrokeWidth = pal.Cut, 1.5
	}
}

func (r *paneRenderer) Refresh() {
	d := r.d
	pal := drawing.PaletteFor(d.look.Dark)
	d.veil.FillColor = color.Transparent
	if d.stale {
		veil := pal.Paper
		veil.A = 0x78
		d.veil.FillColor = veil
	}
	if d.shown == nil {
		d.veil.FillColor = pal.Paper
	}
	d.inkFrame()
	for _, l := range d.lines {
		l.ink(pal, d.focused)
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

// cutName is the axis of a cut and where it is, in whole mm or tenths of an inch.
func cutName(v drawing.View, mm float64) string {
	unit, digits := lengthUnit(), 0
	if unit == lengths.Inch {
		digits = 1
	}
	return fmt.Sprintf("%s %.*f", v.CutAxis(), digits, unit.From(mm)+0)
}
