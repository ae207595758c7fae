package drawing

import (
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lastroom/device"
	"lastroom/footwear"
)

// ink brings paper onto a canvas, and strokes and fills clipped to it.
type ink struct {
	c    draw.Canvas
	x, y func(float64) vg.Length
}

func inkOn(c draw.Canvas, p *plot.Plot) ink {
	x, y := p.Transforms(&c)
	return ink{c, x, y}
}

func (k ink) at(p Pt) vg.Point { return vg.Point{X: k.x(p.U), Y: k.y(p.V)} }

func (k ink) line(p []Pt, closed bool) []vg.Point {
	out := make([]vg.Point, 0, len(p)+1)
	for _, q := range p {
		out = append(out, k.at(q))
	}
	if closed && len(out) > 0 {
		out = append(out, out[0])
	}
	return out
}

func (k ink) fill(p []Pt, col color.Color) {
	if clipped := k.c.ClipPolygonXY(k.line(p, false)); len(clipped) > 2 {
		k.c.FillPolygon(col, clipped)
	}
}

func (k ink) stroke(p []Pt, closed bool, sty draw.LineStyle) {
	k.c.StrokeLines(sty, k.c.ClipLinesXY(k.line(p, closed))...)
}

func (k ink) strokes(s []stroke, sty draw.LineStyle) {
	lines := make([][]vg.Point, len(s))
	for i, l := range s {
		lines[i] = []vg.Point{k.at(l.A), k.at(l.B)}
	}
	k.c.StrokeLines(sty, k.c.ClipLinesXY(lines...)...)
}

// mmPerPt is the length of a point on the paper.
func (k ink) mmPerPt() float64 { return 1 / float64(k.x(1)-k.x(0)) }

// wallPlotter draws the room: a band of the shoe's material, the wall as a thick line with ticks outwards, as built
// things are marked that do not give way, and the topline's opening as a dotted line.
type wallPlotter struct {
	s   *section
	pal Palette
}

func isWall(_, _ Pt, tag uint8) bool { return footwear.Zone(tag) != footwear.Open }
func isLid(_, _ Pt, tag uint8) bool  { return footwear.Zone(tag) == footwear.Open }

func (w wallPlotter) Plot(c draw.Canvas, p *plot.Plot) {
	k := inkOn(c, p)
	const materialPt = 22 // both sides of the wall; the inner half is covered by the room's air
	for i := range w.s.room {
		for _, line := range runs(&w.s.room[i], isWall) {
			k.stroke(line, false, draw.LineStyle{Color: w.pal.Upper, Width: materialPt})
		}
	}
	for i := range w.s.room {
		k.fill(w.s.room[i].P, w.pal.Paper)
		for _, line := range runs(&w.s.room[i], isLid) {
			k.stroke(line, false, draw.LineStyle{Color: w.pal.Faint, Width: thinWidth, Dashes: leaderDash})
		}
	}
	var ticks []stroke
	const spacingPt, lengthPt = 7, 5
	mm := k.mmPerPt()
	for i := range w.s.room {
		l := &w.s.room[i]
		for _, line := range runs(l, isWall) {
			k.stroke(line, false, draw.LineStyle{Color: w.pal.Ink, Width: wallWidth})
		}
		since := 0.0
		l.segments(func(a, b Pt, tag uint8) {
			d := b.sub(a)
			length := math.Hypot(d.U, d.V)
			if footwear.Zone(tag) == footwear.Open || length == 0 {
				return
			}
			out := d.left().scale(-1 / length).add(d.scale(0.6 / length)) // outwards, leaning
			for since += length; since >= spacingPt*mm; {
				since -= spacingPt * mm
				q := b.sub(d.scale(since / length))
				ticks = append(ticks, stroke{q, q.add(out.scale(lengthPt * mm))})
			}
		})
	}
	k.strokes(ticks, draw.LineStyle{Color: w.pal.Ink, Width: thinWidth})
}

// devicePlotter draws cover, shell, wedge, cap and foot line.
type devicePlotter struct {
	s   *section
	pal Palette
}

func (d devicePlotter) Plot(c draw.Canvas, p *plot.Plot) {
	k := inkOn(c, p)
	mm := k.mmPerPt()
	for i := range d.s.cover {
		k.fill(d.s.cover[i].P, d.pal.Cover)
		k.stroke(d.s.cover[i].P, true, draw.LineStyle{Color: d.pal.CoverEdge, Width: edgeWidth, Dashes: coverDash})
	}
	for i := range d.s.rigid {
		k.fill(d.s.rigid[i].P, d.pal.Shell)
	}
	for _, part := range d.s.wedge {
		k.fill(part, d.pal.Paper)
		k.fill(part, d.pal.Wedge)
		grain := hatch([]loop{{P: part, Closed: true}}, nil, 0, 5*mm)
		k.strokes(grain, draw.LineStyle{Color: d.pal.WedgeEdge, Width: thinWidth})
		k.stroke(part, true, draw.LineStyle{Color: d.pal.WedgeEdge, Width: edgeWidth})
	}
	for i := range d.s.rigid {
		l := &d.s.rigid[i]
		for _, line := range runs(l, func(_, _ Pt, tag uint8) bool { return !isWedge(tag) }) {
			k.stroke(line, false, draw.LineStyle{Color: d.pal.ShellEdge, Width: edgeWidth})
		}
		for _, line := range runs(l, func(_, _ Pt, tag uint8) bool { return device.Feature(tag) == device.Cap }) {
			k.stroke(line, false, draw.LineStyle{Color: d.pal.WedgeEdge, Width: 2 * wallWidth})
		}
	}
	for _, line := range d.s.foot {
		k.stroke(line, false, draw.LineStyle{Color: d.pal.Foot, Width: footWidth, Dashes: footDash})
	}
}

// overlapPlotter hatches crosswise what of the device lies past a wall.
type overlapPlotter struct {
	s   *section
	pal Palette
}

func (o overlapPlotter) Plot(c draw.Canvas, p *plot.Plot) {
	if len(o.s.Overlaps) == 0 {
		return
	}
	k := inkOn(c, p)
	mm := k.mmPerPt()
	k.strokes(hatch(o.s.rigid, o.s.air, 0, 0.8*mm), draw.LineStyle{Color: o.pal.OverlapWash, Width: vg.Points(1)})
	for _, angle := range []float64{45, -45} {
		k.strokes(hatch(o.s.rigid, o.s.air, angle, 3.5*mm), draw.LineStyle{Color: o.pal.Overlap, Width: edgeWidth})
	}
	// The wall shows through its overlap.
	for i := range o.s.room {
		for _, line := range runs(&o.s.room[i], isWall) {
			k.stroke(line, false, draw.LineStyle{Color: o.pal.Ink, Width: edgeWidth})
		}
	}
}

// cutPlotter draws the lines of the two other cuts.
type cutPlotter struct {
	s   *section
	pal Palette
}

func (l cutPlotter) Plot(c draw.Canvas, p *plot.Plot) {
	k := inkOn(c, p)
	sty := draw.LineStyle{Color: l.pal.Cut, Width: thinWidth, Dashes: cutDash}
	for _, cut := range l.s.view.CutLines(l.s.cuts) {
		a, b := Pt{p.X.Min, cut.AtMM}, Pt{p.X.Max, cut.AtMM}
		if cut.Upright {
			a, b = Pt{cut.AtMM, p.Y.Min}, Pt{cut.AtMM, p.Y.Max}
		}
		k.stroke([]Pt{a, b}, false, sty)
	}
}
