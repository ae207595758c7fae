package drawing

import (
	"errors"
	"fmt"
	"image"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lastroom/footwear"
)

// Render draws a view of the room with the measure and the instrument that it is taken with, and its value in words.
func (t *Taking) Render(v View, value string, look Look, widthPx, heightPx int, scale float64) (*image.RGBA, error) {
	if t.room == nil || t.room.Closed == nil || len(t.room.Closed.V) == 0 {
		return nil, errors.New("drawing: there is no room to measure")
	}
	pal := look.palette()
	s := &section{view: v, cuts: t.Cuts, room: t.section(v)}
	return figure(v, t.Shown(v), pal, widthPx, heightPx, scale, wallPlotter{s, pal}, gridPlotter{pal}, takingPlotter{t, v, value, pal})
}

// takingPlotter draws the instrument, the distance between arrows and the value.
type takingPlotter struct {
	t     *Taking
	view  View
	value string
	pal   Palette
}

func (d takingPlotter) Plot(c draw.Canvas, p *plot.Plot) {
	k := inkOn(c, p)
	thin := draw.LineStyle{Color: d.pal.ShellEdge, Width: thinWidth}
	bold := draw.LineStyle{Color: d.pal.ShellEdge, Width: vg.Points(2)}
	tool := draw.LineStyle{Color: d.pal.WedgeEdge, Width: vg.Points(1.6)}
	if d.view != d.t.Best { // where the best view cuts
		for _, cut := range d.view.CutLines(d.t.Cuts) {
			if cut.Of == d.t.Best {
				a, b := Pt{p.X.Min, cut.AtMM}, Pt{p.X.Max, cut.AtMM}
				if cut.Upright {
					a, b = Pt{cut.AtMM, p.Y.Min}, Pt{cut.AtMM, p.Y.Max}
				}
				k.stroke([]Pt{a, b}, false, draw.LineStyle{Color: d.pal.Cut, Width: thinWidth, Dashes: cutDash})
			}
		}
	}
	notePlotter{s: &section{view: d.view}, pal: d.pal}.corners(c)
	if d.view == Above { // the whole shoe, of which the cut may show but a part
		k.stroke(d.t.plan(), true, draw.LineStyle{Color: d.pal.Faint, Width: thinWidth, Dashes: leaderDash})
	}
	m := d.t.marks[d.view]
	if m == nil {
		return
	}
	for _, l := range m.help {
		k.stroke(l[:], false, thin)
	}
	for _, l := range m.edge {
		k.stroke(l[:], false, tool)
	}
	for _, l := range m.legs {
		k.stroke(l[:], false, tool)
	}
	if len(m.legs) == 2 {
		k.arc(m.legs, bold)
	}
	if len(m.tape) > 1 {
		k.stroke(m.tape, len(m.tape) > 2, draw.LineStyle{Color: d.pal.WedgeEdge, Width: vg.Points(3)})
		k.stroke(m.tape, len(m.tape) > 2, draw.LineStyle{Color: d.pal.Paper, Width: vg.Points(1), Dashes: []vg.Length{vg.Points(1), vg.Points(5)}})
	}
	if m.radius > 0 {
		k.circle(m.centre, m.radius, tool)
	}
	if m.a != m.b {
		k.instrument(footwear.Infos[d.t.ID].Instrument, m.a, m.b, tool)
		k.dimension(m.a, m.b, bold)
	}
	if d.view != d.t.Best || d.value == "" {
		return
	}
	at := m.label
	if at == (Pt{}) {
		at = m.a.lerp(m.b, 0.5)
	}
	placer := &placer{c: c, pal: d.pal}
	placer.keepOff(k.at(m.a), k.at(m.b))
	for _, l := range d.t.section(d.view) {
		for _, q := range l.P {
			placer.dots = append(placer.dots, k.at(q))
		}
	}
	placer.put(label{d.value, k.at(at), d.pal.ShellEdge, true, true})
}

// arc is the part of a circle between two legs from one apex.
func (k ink) arc(legs [][2]Pt, sty draw.LineStyle) {
	apex := legs[0][0]
	at := func(l [2]Pt) (float64, float64) {
		d := l[1].sub(apex)
		return math.Atan2(d.V, d.U), math.Hypot(d.U, d.V)
	}
	from, r := at(legs[0])
	to, _ := at(legs[1])
	var line []Pt
	const steps = 24
	for i := range steps + 1 {
		s, c := math.Sincos(from + (to-from)*float64(i)/steps)
		line = append(line, apex.add(Pt{c, s}.scale(0.8*r)))
	}
	k.stroke(line, false, sty)
}

func (k ink) circle(centre Pt, r float64, sty draw.LineStyle) {
	var line []Pt
	const steps = 72
	for i := range steps {
		s, c := math.Sincos(2 * math.Pi * float64(i) / steps)
		line = append(line, centre.add(Pt{c * r, s * r}))
	}
	k.stroke(line, true, sty)
}

// instrument draws what a distance is taken with, schematically and in points: it does not grow with the shoe.
func (k ink) instrument(i footwear.Instrument, a, b Pt, sty draw.LineStyle) {
	p, q := k.at(a), k.at(b)
	dx, dy := float64(q.X-p.X), float64(q.Y-p.Y)
	length := math.Hypot(dx, dy)
	if length < 0.5 {
		return
	}
	ux, uy := vg.Length(dx/length), vg.Length(dy/length)
	on := func(o vg.Point, along, left vg.Length) vg.Point {
		return vg.Point{X: o.X + ux*along - uy*left, Y: o.Y + uy*along + ux*left}
	}
	line := func(pts ...vg.Point) { k.c.StrokeLines(sty, k.c.ClipLinesXY(pts)...) }
	full := vg.Length(length)
	switch i {
	case footwear.InsideCalliper, footwear.Calliper:
		// Two bowed legs that meet at a hinge.
		side := vg.Length(1)
		if ux < 0 || math.Abs(float64(ux)) < 0.1 && uy > 0 {
			side = -1
		}
		up := side * max(26, min(full*0.45, 60))
		hinge := on(p, full/2, up)
		for _, end := range []struct {
			tip vg.Point
			in  vg.Length
		}{{p, 1}, {q, -1}} {
			bow := on(end.tip, end.in*full*0.14, up*0.62)
			line(end.tip, on(end.tip, end.in*full*0.02, up*0.3), bow, hinge)
		}
		k.c.FillPolygon(sty.Color, []vg.Point{
			{X: hinge.X - 3, Y: hinge.Y - 3}, {X: hinge.X + 3, Y: hinge.Y - 3}, {X: hinge.X + 3, Y: hinge.Y + 3}, {X: hinge.X - 3, Y: hinge.Y + 3},
		})
	case footwear.InsideRule, footwear.Rule:
		// A stick with marks.
		line(on(p, 0, -4), on(q, 0, -4))
		for t := vg.Length(0); t <= full; t += 8 {
			line(on(p, t, -4), on(p, t, -8))
		}
		line(on(p, 0, -10), on(p, 0, 3))
		line(on(q, 0, -10), on(q, 0, 3))
	case footwear.DepthGauge:
		// A bridge across, with a pin through it.
		line(on(q, 0, -14), on(q, 0, 14))
		line(q, on(q, 16, 0))
	case footwear.HeightGauge:
		// A foot on the level and an arm at the height.
		line(on(p, 0, -9), on(p, 0, 9))
		line(on(q, 0, -9), on(q, 0, 9))
		line(p, on(q, 12, 0))
	case footwear.ContourGauge:
		for t := -5; t <= 5; t++ {
			o := vg.Length(4 * t)
			line(on(p, -16, o), on(p, -2, o))
		}
	case footwear.Thumb:
		// An arrow with a broad foot.
		line(on(p, -1, -7), on(p, -1, 7))
		line(on(p, -5, -7), on(p, -5, 7))
	}
}

// Says is where and with what the measure is taken, for who does not see the drawing.
func (t *Taking) Says() string {
	info := t.ID.Info()
	return fmt.Sprintf("%s, best seen %s (%s), taken with: %s. %s", info.Name, t.Best, t.Best.Label(t.Cuts), info.Instrument, info.What)
}
