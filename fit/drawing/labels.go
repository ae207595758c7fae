package drawing

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// A label is a word that belongs to a place.
type label struct {
	text  string
	at    vg.Point
	ink   color.Color
	bold  bool
	frame bool // boxed: measures
}

// A placer puts words near their places so that they cover neither each other nor, as far as it can be helped, the
// outlines. It is greedy: earlier words choose first.
type placer struct {
	c     draw.Canvas
	pal   Palette
	taken []vg.Rectangle
	dots  []vg.Point // points of outlines to keep off
}

func (pl *placer) style(ink color.Color, bold bool) text.Style {
	f := sans(textSize)
	if bold {
		f.Weight = 2 // bold
	}
	return text.Style{Color: ink, Font: f, XAlign: text.XLeft, YAlign: text.YBottom, Handler: handler}
}

// put draws the word and, when it stands off its place, a leader to it.
func (pl *placer) put(l label) {
	l.text = pl.pal.lengths.Tell(l.text)
	sty := pl.style(l.ink, l.bold)
	const pad = 2
	w, h := sty.Width(l.text)+2*pad, sty.Height(l.text)+2*pad
	best, score := vg.Rectangle{}, math.Inf(1)
	for _, r := range []float64{10, 20, 34, 50, 70} {
		for k := range 16 {
			s, c := math.Sincos(float64(k) * math.Pi / 8)
			mid := vg.Point{
				X: l.at.X + vg.Length(c)*(vg.Length(r)+w/2),
				Y: l.at.Y + vg.Length(s)*(vg.Length(r)+h/2),
			}
			box := vg.Rectangle{Min: vg.Point{X: mid.X - w/2, Y: mid.Y - h/2}, Max: vg.Point{X: mid.X + w/2, Y: mid.Y + h/2}}
			if cost := pl.cost(box) + r/10; cost < score {
				best, score = box, cost
			}
		}
	}
	if math.IsInf(score, 1) {
		return
	}
	pl.taken = append(pl.taken, best)
	near := vg.Point{X: clampLength(l.at.X, best.Min.X, best.Max.X), Y: clampLength(l.at.Y, best.Min.Y, best.Max.Y)}
	if math.Hypot(float64(near.X-l.at.X), float64(near.Y-l.at.Y)) > 9 {
		pl.c.StrokeLine2(draw.LineStyle{Color: l.ink, Width: thinWidth}, l.at.X, l.at.Y, near.X, near.Y)
	}
	pl.c.FillPolygon(pl.pal.Halo, []vg.Point{best.Min, {X: best.Max.X, Y: best.Min.Y}, best.Max, {X: best.Min.X, Y: best.Max.Y}})
	if l.frame {
		pl.c.StrokeLines(draw.LineStyle{Color: l.ink, Width: thinWidth}, []vg.Point{
			best.Min, {X: best.Max.X, Y: best.Min.Y}, best.Max, {X: best.Min.X, Y: best.Max.Y}, best.Min,
		})
	}
	pl.c.FillText(sty, vg.Point{X: best.Min.X + pad, Y: best.Min.Y + pad}, l.text)
}

// keepOff keeps words from the stretch between two places.
func (pl *placer) keepOff(a, b vg.Point) {
	const pad = 7
	pl.taken = append(pl.taken, vg.Rectangle{
		Min: vg.Point{X: min(a.X, b.X) - pad, Y: min(a.Y, b.Y) - pad},
		Max: vg.Point{X: max(a.X, b.X) + pad, Y: max(a.Y, b.Y) + pad},
	})
}

// cost is infinite outside the canvas, and counts what the box would cover.
func (pl *placer) cost(box vg.Rectangle) float64 {
	if box.Min.X < pl.c.Min.X || box.Max.X > pl.c.Max.X || box.Min.Y < pl.c.Min.Y || box.Max.Y > pl.c.Max.Y {
		return math.Inf(1)
	}
	cost := 0.0
	for _, t := range pl.taken {
		if box.Min.X < t.Max.X && t.Min.X < box.Max.X && box.Min.Y < t.Max.Y && t.Min.Y < box.Max.Y {
			cost += 100
		}
	}
	for _, d := range pl.dots {
		if d.X > box.Min.X && d.X < box.Max.X && d.Y > box.Min.Y && d.Y < box.Max.Y {
			cost++
		}
	}
	return cost
}

func clampLength(v, lo, hi vg.Length) vg.Length { return max(lo, min(hi, v)) }
