package ui

import (
	"image"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/fit/drawing"
	"lastroom/footwear"
)

// takingPane shows where a measure is taken on a room, in one view.
type takingPane struct {
	widget.BaseWidget
	slot int // which pane it is, for the painter
	want func(takingWish)

	is      takingLook
	asked   takingLook
	stale   bool
	picture *canvas.Image
	veil    *canvas.Rectangle
}

// takingLook is what a picture depends on.
type takingLook struct {
	room          *footwear.Room
	id            footwear.MeasureID
	view          drawing.View
	best          bool // the view in which the measure is seen best, whatever view it is
	value         string
	look          drawing.Look
	width, height int
	scale         float64
}

// takingWish is a picture that is wanted.
type takingWish struct {
	takingLook
	slot int
	done func(image.Image) // called on the painter's goroutine
}

// draw makes the picture; nil when it can't.
func (w takingWish) draw() image.Image {
	t := drawing.TakingOf(w.room, w.id)
	view := w.view
	if w.best {
		view = t.Best
	}
	img, err := t.Render(view, w.value, w.look, w.width, w.height, w.scale)
	if err != nil {
		return nil
	}
	return img
}

func newTakingPane(slot int, want func(takingWish)) *takingPane {
	p := &takingPane{slot: slot, want: want, picture: &canvas.Image{FillMode: canvas.ImageFillStretch}, veil: canvas.NewRectangle(color.Transparent)}
	p.ExtendBaseWidget(p)
	return p
}

// show takes what is to be seen; stale greys it.
func (p *takingPane) show(room *footwear.Room, id footwear.MeasureID, view drawing.View, best bool, value string, stale bool) {
	p.is.room, p.is.id, p.is.view, p.is.best, p.is.value, p.is.look = room, id, view, best, value, lookNow()
	p.stale = stale
	p.wish()
	p.Refresh()
}

// wish asks for a picture, unless the last wish was the same.
func (p *takingPane) wish() {
	c := fyne.CurrentApp().Driver().CanvasForObject(p)
	if c == nil || p.is.room == nil {
		return
	}
	size := p.Size()
	p.is.scale = float64(c.Scale())
	p.is.width, p.is.height = int(math.Round(float64(size.Width)*p.is.scale)), int(math.Round(float64(size.Height)*p.is.scale))
	if p.is == p.asked || p.is.width < 60 || p.is.height < 60 {
		return
	}
	p.asked = p.is
	p.want(takingWish{takingLook: p.is, slot: p.slot, done: func(img image.Image) {
		bridge(func() {
			p.picture.Image = img
			p.picture.Refresh()
		})
	}})
}

// MinSize is small: the picture is drawn to fit.
func (p *takingPane) MinSize() fyne.Size { return fyne.NewSize(120, 90) }

// CreateRenderer shows the picture and its veil.
func (p *takingPane) CreateRenderer() fyne.WidgetRenderer { return &takingRenderer{p} }

type takingRenderer struct{ p *takingPane }

func (r *takingRenderer) Layout(s fyne.Size) {
	for _, o := range r.Objects() {
		o.Move(fyne.NewPos(0, 0))
		o.Resize(s)
	}
	r.p.wish()
}

func (r *takingRenderer) MinSize() fyne.Size { return r.p.MinSize() }

func (r *takingRenderer) Refresh() {
	c := shade(theme.ColorNameBackground)
	if r.p.stale {
		red, green, blue, _ := c.RGBA()
		c = color.NRGBA{uint8(red >> 8), uint8(green >> 8), uint8(blue >> 8), 0x90}
	} else {
		c = color.Transparent
	}
	r.p.veil.FillColor = c
	r.p.wish()
	canvas.Refresh(r.p)
}

func (r *takingRenderer) Objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{r.p.picture, r.p.veil}
}

func (r *takingRenderer) Destroy() {}
