package drawing

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
)

// plotPaper is what a plot of numbers is drawn on: a canvas of pixels filled with paper, and a plot in its inks.
type plotPaper struct {
	canvas  *vgimg.Canvas
	on      draw.Canvas
	plot    *plot.Plot
	pal     Palette
	pxPerPt float64
}

// newPlotPaper is paper of widthPx by heightPx pixels, scale pixels a point of text.
func newPlotPaper(x, y string, look Look, widthPx, heightPx int, scale float64) (*plotPaper, error) {
	const least, largest = 60, 8192
	if widthPx < least || heightPx < least || widthPx > largest || heightPx > largest {
		return nil, fmt.Errorf("drawing: a plot of %d by %d pixels: each side has to have %d to %d", widthPx, heightPx, least, largest)
	}
	dpi := max(18, int(math.Round(72*scale)))
	p := &plotPaper{plot: plot.New(), pal: look.palette(), pxPerPt: float64(dpi) / 72}
	p.canvas = vgimg.NewWith(vgimg.UseWH(vg.Length(float64(widthPx)/p.pxPerPt), vg.Length(float64(heightPx)/p.pxPerPt)), vgimg.UseDPI(dpi))
	p.on = draw.New(p.canvas)
	p.on.SetColor(p.pal.Paper)
	p.on.Fill(p.on.Rectangle.Path())
	p.plot.BackgroundColor, p.plot.TextHandler = color.Transparent, handler
	p.plot.X.Label.Text, p.plot.Y.Label.Text = x, y
	for _, a := range []*plot.Axis{&p.plot.X, &p.plot.Y} {
		a.Color, a.Label.TextStyle.Color, a.Tick.Color, a.Tick.Label.Color = p.pal.Faint, p.pal.Ink, p.pal.Faint, p.pal.Ink
		a.Label.TextStyle.Font, a.Tick.Label.Font = sans(textSize), sans(textSize)
		a.Label.TextStyle.Handler, a.Tick.Label.Handler = handler, handler
	}
	return p, nil
}

// image is the picture.
func (p *plotPaper) image() (*image.RGBA, error) {
	img, ok := p.canvas.Image().(*image.RGBA)
	if !ok {
		return nil, fmt.Errorf("drawing: a canvas of %T", p.canvas.Image())
	}
	return img, nil
}
