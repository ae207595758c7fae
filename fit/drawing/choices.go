package drawing

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lastroom/fit"
)

// A ChoicePoint is one way out on the plot of choices.
type ChoicePoint struct {
	Number   int // as on the list; 0 is the device as it is
	MarginMM float64
	Kept     float64 // 0 to 1
	Work     fit.Work
	Picked   bool
}

// ChoicesPlot is the picture of the choices: room to the limit across, support kept upwards, the kind of work as shape and
// word. At says where each point lies, in pixels.
type ChoicesPlot struct {
	Image *image.RGBA
	At    [][2]float64
}

// shapeOf is the sign of a kind of work; each has another outline, so that colour is not needed.
func shapeOf(w fit.Work) draw.GlyphDrawer {
	switch w {
	case fit.Grind:
		return draw.TriangleGlyph{}
	case fit.Lab:
		return draw.SquareGlyph{}
	case fit.Remake:
		return draw.PyramidGlyph{}
	case fit.OtherShoe:
		return draw.PlusGlyph{}
	default:
		return draw.RingGlyph{}
	}
}

func workColor(w fit.Work, pal Palette) color.Color {
	switch w {
	case fit.Grind:
		return pal.ShellEdge
	case fit.Lab:
		return pal.WedgeEdge
	case fit.Remake:
		return pal.CoverEdge
	case fit.OtherShoe:
		return pal.Foot
	default:
		return pal.Ink
	}
}

// RenderChoices draws the plot in widthPx by heightPx pixels, scale pixels a point of text.
func RenderChoices(points []ChoicePoint, look Look, widthPx, heightPx int, scale float64) (*ChoicesPlot, error) {
	paper, err := newPlotPaper(look.Lengths.String()+" to the nearest limit (past it: below 0)", "support kept, %", look, widthPx, heightPx, scale)
	if err != nil {
		return nil, err
	}
	p, pal := paper.plot, paper.pal
	lo, hi := math.Inf(1), math.Inf(-1)
	least := 1.0
	for _, q := range points {
		margin := look.Lengths.From(q.MarginMM)
		lo, hi = math.Min(lo, margin), math.Max(hi, margin)
		least = math.Min(least, q.Kept)
	}
	if len(points) == 0 || math.IsInf(lo, 0) {
		lo, hi = look.Lengths.From(-1), look.Lengths.From(1)
	}
	pad := math.Max(0.15*(hi-lo), look.Lengths.From(0.2))
	p.X.Min, p.X.Max = math.Min(lo, 0)-pad, math.Max(hi, 0)+1.6*pad
	p.Y.Min, p.Y.Max = math.Floor(100*least)-2, 101.5
	p.Add(limitPlotter{pal})
	out := &ChoicesPlot{}
	kinds := map[fit.Work]bool{}
	for _, q := range points {
		s, err := plotter.NewScatter(plotter.XYs{{X: look.Lengths.From(q.MarginMM), Y: 100 * q.Kept}})
		if err != nil {
			return nil, fmt.Errorf("drawing: the plot of choices: %w", err)
		}
		s.GlyphStyle = draw.GlyphStyle{Color: workColor(q.Work, pal), Radius: vg.Points(5), Shape: shapeOf(q.Work)}
		p.Add(s)
		if !kinds[q.Work] {
			kinds[q.Work] = true
			word := q.Work.Words()
			if q.Work == fit.NoWork {
				word = "as it is"
			}
			p.Legend.Add(word, s)
		}
	}
	p.Legend.TextStyle.Font, p.Legend.TextStyle.Color, p.Legend.TextStyle.Handler = sans(textSize), pal.Ink, handler
	p.Legend.Top, p.Legend.Left = false, true
	p.Legend.YOffs, p.Legend.XOffs = vg.Points(4), vg.Points(6)
	p.Add(numberPlotter{points, pal})
	sheet := draw.Crop(paper.on, 6, -6, 4, -6)
	p.Draw(sheet)
	data := p.DataCanvas(sheet)
	x, y := p.Transforms(&data)
	for _, q := range points {
		px, py := float64(x(look.Lengths.From(q.MarginMM)))*paper.pxPerPt, float64(heightPx)-float64(y(100*q.Kept))*paper.pxPerPt
		out.At = append(out.At, [2]float64{px, py})
	}
	out.Image, err = paper.image()
	return out, err
}

// Nearest is the index of the point nearest to a pixel, -1 when none is within so many pixels.
func (p *ChoicesPlot) Nearest(x, y, within float64) int {
	best, far := -1, within
	for i, at := range p.At {
		if d := math.Hypot(at[0]-x, at[1]-y); d <= far {
			best, far = i, d
		}
	}
	return best
}

// limitPlotter draws the limit: right of it the device fits.
type limitPlotter struct{ pal Palette }

func (l limitPlotter) Plot(c draw.Canvas, p *plot.Plot) {
	x, _ := p.Transforms(&c)
	at := x(0)
	c.StrokeLine2(draw.LineStyle{Color: l.pal.Faint, Width: thinWidth, Dashes: coverDash}, at, c.Min.Y, at, c.Max.Y)
	style := draw.TextStyle{Color: l.pal.Faint, Font: sans(textSize), Handler: handler}
	c.FillText(style, vg.Point{X: at + 4, Y: c.Max.Y - 12}, "fits")
}

// numberPlotter writes the choices' numbers beside them, and rings the picked one.
type numberPlotter struct {
	points []ChoicePoint
	pal    Palette
}

func (n numberPlotter) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	style := draw.TextStyle{Color: n.pal.Ink, Font: sans(textSize), Handler: handler, YAlign: -0.4}
	for _, q := range n.points {
		at := vg.Point{X: x(n.pal.lengths.From(q.MarginMM)), Y: y(100 * q.Kept)}
		if q.Number > 0 {
			c.FillText(style, vg.Point{X: at.X + 8, Y: at.Y}, fmt.Sprint(q.Number))
		}
		if q.Picked {
			c.DrawGlyph(draw.GlyphStyle{Color: n.pal.Ink, Radius: vg.Points(10), Shape: draw.RingGlyph{}}, at)
		}
	}
}
