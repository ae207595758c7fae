package drawing

import (
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"lastroom/fit"
)

// RenderReliability draws what came of devices against the odds that were given for them: a point a bin with its 95 % interval
// and its count, and the line on which odds are right.
func RenderReliability(bins []fit.ReliabilityBin, dark bool, widthPx, heightPx int, scale float64) (*image.RGBA, error) {
	const largest = 8192
	if widthPx < 60 || heightPx < 60 || widthPx > largest || heightPx > largest {
		return nil, fmt.Errorf("drawing: a plot of %d by %d pixels: each side has to have 60 to %d", widthPx, heightPx, largest)
	}
	pal := PaletteFor(dark)
	dpi := max(18, int(math.Round(72*scale)))
	pxPerPt := float64(dpi) / 72
	c := vgimg.NewWith(vgimg.UseWH(vg.Length(float64(widthPx)/pxPerPt), vg.Length(float64(heightPx)/pxPerPt)), vgimg.UseDPI(dpi))
	on := draw.New(c)
	on.SetColor(pal.Paper)
	on.Fill(on.Rectangle.Path())
	p := plot.New()
	p.BackgroundColor = color.Transparent
	p.TextHandler = handler
	p.X.Label.Text, p.Y.Label.Text = "odds that were given, %", "went in, %"
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Min, a.Max = 0, 100
		a.Color, a.Label.TextStyle.Color, a.Tick.Color, a.Tick.Label.Color = pal.Faint, pal.Ink, pal.Faint, pal.Ink
		a.Label.TextStyle.Font, a.Tick.Label.Font = sans(textSize), sans(textSize)
		a.Label.TextStyle.Handler, a.Tick.Label.Handler = handler, handler
	}
	right, err := plotter.NewLine(plotter.XYs{{X: 0, Y: 0}, {X: 100, Y: 100}})
	if err != nil {
		return nil, err
	}
	right.LineStyle = draw.LineStyle{Color: pal.Faint, Width: thinWidth, Dashes: coverDash}
	p.Add(right)
	p.Add(binPlotter{bins, pal})
	p.Draw(draw.Crop(on, 6, -12, 4, -12))
	img, ok := c.Image().(*image.RGBA)
	if !ok {
		return nil, fmt.Errorf("drawing: a canvas of %T", c.Image())
	}
	return img, nil
}

// ReliabilityPNG writes the picture.
func ReliabilityPNG(w io.Writer, bins []fit.ReliabilityBin, dark bool) error {
	img, err := RenderReliability(bins, dark, 640, 560, 1.4)
	if err != nil {
		return err
	}
	return png.Encode(w, img)
}

// binPlotter draws each bin with its interval and its count.
type binPlotter struct {
	bins []fit.ReliabilityBin
	pal  Palette
}

func (b binPlotter) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	style := draw.TextStyle{Color: b.pal.Ink, Font: sans(textSize), Handler: handler}
	line := draw.LineStyle{Color: b.pal.ShellEdge, Width: edgeWidth}
	for _, bin := range b.bins {
		if bin.Count == 0 {
			continue
		}
		at := x(100 * bin.Said)
		c.StrokeLine2(line, at, y(100*bin.Least), at, y(100*bin.Most))
		for _, end := range []float64{bin.Least, bin.Most} {
			c.StrokeLine2(line, at-3, y(100*end), at+3, y(100*end))
		}
		c.DrawGlyph(draw.GlyphStyle{Color: b.pal.ShellEdge, Radius: vg.Points(4), Shape: draw.CircleGlyph{}}, vg.Point{X: at, Y: y(100 * bin.Came)})
		c.FillText(style, vg.Point{X: at + 6, Y: y(100*bin.Came) + 2}, fmt.Sprintf("%d of %d", bin.Good, bin.Count))
	}
}
