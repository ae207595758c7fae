package drawing

import (
	"fmt"
	"image"
	"image/png"
	"io"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lastroom/fit"
)

// RenderReliability draws what came of devices against the odds that were given for them: a point a bin with its 95 % interval
// and its count, and the line on which odds are right.
func RenderReliability(bins []fit.ReliabilityBin, look Look, widthPx, heightPx int, scale float64) (*image.RGBA, error) {
	paper, err := newPlotPaper("odds that were given, %", "went in, %", look, widthPx, heightPx, scale)
	if err != nil {
		return nil, err
	}
	p, pal := paper.plot, paper.pal
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 0, 100, 0, 100
	right, err := plotter.NewLine(plotter.XYs{{X: 0, Y: 0}, {X: 100, Y: 100}})
	if err != nil {
		return nil, err
	}
	right.LineStyle = draw.LineStyle{Color: pal.Faint, Width: thinWidth, Dashes: coverDash}
	p.Add(right)
	p.Add(binPlotter{bins, pal})
	p.Draw(draw.Crop(paper.on, 6, -12, 4, -12))
	return paper.image()
}

// ReliabilityPNG writes the picture.
func ReliabilityPNG(w io.Writer, bins []fit.ReliabilityBin, dark bool) error {
	img, err := RenderReliability(bins, Look{Dark: dark}, 640, 560, 1.4)
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
