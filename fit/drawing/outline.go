package drawing

import (
	"errors"
	"fmt"
	"image"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
)

// A Span is a length on the paper with its words.
type Span struct {
	A, B Pt
	Text string
}

// RenderOutline draws a closed outline seen from above, with lengths between arrows, to scale: X to the right, Y up.
func RenderOutline(p []Pt, spans []Span, look Look, widthPx, heightPx int, scale float64) (*image.RGBA, error) {
	if len(p) < 3 {
		return nil, errors.New("drawing: there is no outline to draw")
	}
	lo, hi, _ := bounds([]loop{{P: p}})
	const marginMM = 12
	shown := Extent{lo.sub(Pt{marginMM, marginMM}), hi.add(Pt{marginMM, marginMM})}
	pal := look.palette()
	return figure(Above, shown, pal, widthPx, heightPx, scale, gridPlotter{pal}, outlinePlotter{p, spans, pal})
}

// figure draws what is plotted on a paper of its own, to scale; scale is of words and lines.
func figure(v View, shown Extent, pal Palette, widthPx, heightPx int, scale float64, plotted ...plot.Plotter) (*image.RGBA, error) {
	const largest = 8192
	if widthPx < 16 || heightPx < 16 || widthPx > largest || heightPx > largest {
		return nil, fmt.Errorf("drawing: a picture of %d by %d pixels: each side has to have 16 to %d", widthPx, heightPx, largest)
	}
	dpi := max(18, int(math.Round(72*scale)))
	c := vgimg.NewWith(
		vgimg.UseWH(vg.Length(widthPx)*72/vg.Length(dpi), vg.Length(heightPx)*72/vg.Length(dpi)), vgimg.UseDPI(dpi),
	)
	img, ok := c.Image().(*image.RGBA)
	if !ok {
		return nil, fmt.Errorf("drawing: a canvas of %T", c.Image())
	}
	on := draw.New(c)
	pl := newPlot(v, nil, Options{Words: true, Shown: &shown}, pal)
	pl.Add(plotted...)
	on.SetColor(pal.Paper)
	on.Fill(on.Rectangle.Path())
	sheet := draw.Crop(on, 4, -4, 3, -3)
	equalise(pl, sheet)
	pl.Draw(sheet)
	return img, nil
}

type outlinePlotter struct {
	p     []Pt
	spans []Span
	pal   Palette
}

func (d outlinePlotter) Plot(c draw.Canvas, p *plot.Plot) {
	k := inkOn(c, p)
	k.fill(d.p, fade(d.pal.Shell, 0x30))
	k.stroke(d.p, true, draw.LineStyle{Color: d.pal.ShellEdge, Width: wallWidth})
	k.stroke([]Pt{{p.X.Min, 0}, {p.X.Max, 0}}, false, draw.LineStyle{Color: d.pal.Faint, Width: thinWidth, Dashes: cutDash})
	notePlotter{s: &section{view: Above}, pal: d.pal}.corners(c)
	labels := &placer{c: c, pal: d.pal}
	for _, s := range d.spans {
		labels.keepOff(k.at(s.A), k.at(s.B))
	}
	for _, s := range d.spans {
		k.dimension(s.A, s.B, draw.LineStyle{Color: d.pal.Ink, Width: edgeWidth})
		labels.put(label{s.Text, k.at(s.A.lerp(s.B, 0.5)), d.pal.Ink, false, true})
	}
}

// Across is where a closed outline is cut by the line U = u: its lowest and highest V there.
func Across(p []Pt, u float64) (lo, hi Pt, ok bool) {
	lo, hi = Pt{u, math.Inf(1)}, Pt{u, math.Inf(-1)}
	for i, a := range p {
		b := p[(i+1)%len(p)]
		if (a.U < u) == (b.U < u) {
			continue
		}
		v := a.V + (b.V-a.V)*(u-a.U)/(b.U-a.U)
		lo.V, hi.V, ok = math.Min(lo.V, v), math.Max(hi.V, v), true
	}
	return lo, hi, ok
}
