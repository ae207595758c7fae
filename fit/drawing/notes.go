package drawing

import (
	"fmt"
	"math"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// notePlotter writes on the drawing: the measures of overlap and gap between their arrows, the numbers of the findings
// whose place lies in this cut, the names of the parts.
type notePlotter struct {
	s        *section
	scene    *Scene
	pal      Palette
	partsToo bool
}

func (n notePlotter) Plot(c draw.Canvas, p *plot.Plot) {
	k := inkOn(c, p)
	pl := &placer{c: c, pal: n.pal}
	for _, loops := range [][]loop{n.s.room, n.s.rigid, n.s.cover} {
		for i := range loops {
			for _, q := range loops[i].P {
				pl.dots = append(pl.dots, k.at(q))
			}
		}
	}
	pl.dots = append(pl.dots, k.cutDots(n.s, p)...)
	n.corners(c)
	if len(n.s.Overlaps) > 0 {
		o := n.s.Overlaps[0]
		pl.keepOff(k.at(o.Device), k.at(o.Wall))
		k.dimension(o.Device, o.Wall, draw.LineStyle{Color: n.pal.OverlapText, Width: edgeWidth})
		pl.put(label{overlapText(o), k.at(o.Device.lerp(o.Wall, 0.5)), n.pal.OverlapText, true, true})
	}
	if n.s.HasGap {
		g := n.s.Gap
		pl.keepOff(k.at(g.Device), k.at(g.Wall))
		k.dimension(g.Device, g.Wall, draw.LineStyle{Color: n.pal.Ink, Width: edgeWidth})
		pl.put(label{gapText(g), k.at(g.Device.lerp(g.Wall, 0.5)), n.pal.Ink, false, true})
	}
	for i, f := range n.scene.Findings {
		const most = 9 // more numbers than that hide the drawing
		if i >= most || !n.s.cuts.near(n.s.view, f.At) {
			continue
		}
		at := k.at(n.s.view.Project(f.At))
		if !c.Contains(at) {
			continue
		}
		k.diamond(at, 4, draw.LineStyle{Color: n.pal.Ink, Width: edgeWidth})
		if i == n.scene.Selected {
			k.diamond(at, 8, draw.LineStyle{Color: n.pal.Ink, Width: footWidth})
		}
		pl.put(label{strconv.Itoa(n.scene.number(i)), at, n.pal.Ink, true, false})
	}
	if n.partsToo {
		n.parts(k, pl)
	}
}

// cutDots are points along the lines of the two other cuts, for words to keep off.
func (k ink) cutDots(s *section, p *plot.Plot) []vg.Point {
	const dots = 100
	var out []vg.Point
	for _, cut := range s.view.CutLines(s.cuts) {
		for i := range dots + 1 {
			t := float64(i) / dots
			at := Pt{p.X.Min + (p.X.Max-p.X.Min)*t, cut.AtMM}
			if cut.Upright {
				at = Pt{cut.AtMM, p.Y.Min + (p.Y.Max-p.Y.Min)*t}
			}
			out = append(out, k.at(at))
		}
	}
	return out
}

func overlapText(c InCut) string { return fmt.Sprintf("overlap %.1f mm", -c.MM) }
func gapText(c InCut) string     { return fmt.Sprintf("gap %.1f mm", c.MM) }

// parts writes the names of what is drawn.
func (n notePlotter) parts(k ink, pl *placer) {
	if p, ok := highest(n.s.foot); ok {
		pl.put(label{text: "foot line", at: k.at(p), ink: n.pal.Foot})
	}
	if q, ok := sideways(n.s.cover); ok {
		pl.put(label{text: "cover", at: k.at(q), ink: n.pal.CoverEdge})
	}
	for _, part := range n.s.wedge {
		const seenMM2 = 4 // a sliver needs no name
		if overlapArea([]loop{{P: part, Closed: true}}, nil, 0.5) > seenMM2 {
			pl.put(label{text: "wedge", at: k.at(middle(part)), ink: n.pal.WedgeEdge})
			break
		}
	}
	if q, ok := sideways(n.s.rigid); ok {
		pl.put(label{text: "shell", at: k.at(q), ink: n.pal.ShellEdge})
	}
	if q, ok := sideways(n.s.room); ok {
		pl.put(label{text: "room", at: k.at(q), ink: n.pal.Ink})
	}
}

// corners writes which way the paper lies.
func (n notePlotter) corners(c draw.Canvas) {
	sty := (&placer{}).style(n.pal.Faint, false)
	words := [3][2]string{{"medial", "lateral"}, {"heel", "toe"}, {"heel", "toe"}}[n.s.view]
	y := c.Min.Y + 3
	c.FillText(sty, vg.Point{X: c.Min.X + 4, Y: y}, "\u2190 "+words[0])
	right := words[1] + " \u2192"
	c.FillText(sty, vg.Point{X: c.Max.X - 4 - sty.Width(right), Y: y}, right)
	if n.s.view == Above {
		c.FillText(sty, vg.Point{X: c.Min.X + 4, Y: c.Max.Y - 14}, "\u2191 medial")
	}
}

// dimension draws a measure from a to b: between arrows when there is room for them, else with the arrows outside.
func (k ink) dimension(a, b Pt, sty draw.LineStyle) {
	p, q := k.at(a), k.at(b)
	dx, dy := float64(q.X-p.X), float64(q.Y-p.Y)
	length := math.Hypot(dx, dy)
	if length < 0.5 || !k.c.Contains(p) || !k.c.Contains(q) {
		return
	}
	ux, uy := vg.Length(dx/length), vg.Length(dy/length)
	const head, tail, roomy = 5, 14, 26
	along := func(o vg.Point, t vg.Length) vg.Point { return vg.Point{X: o.X + ux*t, Y: o.Y + uy*t} }
	arrow := func(tip vg.Point, back vg.Length) { // back is the way from the tip to its tail
		s := vg.Length(1)
		if back < 0 {
			s = -1
		}
		foot := along(tip, s*head)
		k.c.FillPolygon(sty.Color, []vg.Point{
			tip, {X: foot.X - uy*2.2, Y: foot.Y + ux*2.2}, {X: foot.X + uy*2.2, Y: foot.Y - ux*2.2},
		})
		end := along(tip, back)
		k.c.StrokeLines(sty, k.c.ClipLinesXY([]vg.Point{tip, end})...)
	}
	k.c.StrokeLine2(sty, p.X, p.Y, q.X, q.Y)
	if length > roomy {
		arrow(p, head)
		arrow(q, -head)
		return
	}
	arrow(p, -tail)
	arrow(q, tail)
}

func (k ink) diamond(at vg.Point, r vg.Length, sty draw.LineStyle) {
	k.c.StrokeLines(sty, []vg.Point{
		{X: at.X - r, Y: at.Y}, {X: at.X, Y: at.Y + r}, {X: at.X + r, Y: at.Y}, {X: at.X, Y: at.Y - r}, {X: at.X - r, Y: at.Y},
	})
}

// highest is the middle of the longest line.
func highest(lines [][]Pt) (Pt, bool) {
	best, most := Pt{}, 0
	for _, l := range lines {
		if len(l) > most {
			best, most = l[len(l)/2], len(l)
		}
	}
	return best, most > 0
}

// sideways is the outline's point furthest to the right, a little above its lowest.
func sideways(loops []loop) (Pt, bool) {
	best, found := Pt{U: math.Inf(-1)}, false
	for i := range loops {
		loops[i].segments(func(a, b Pt, tag uint8) {
			if q := a.lerp(b, 0.5); q.U > best.U {
				best, found = q, true
			}
		})
	}
	return best, found
}

func middle(p []Pt) Pt {
	var sum Pt
	for _, q := range p {
		sum = sum.add(q)
	}
	return sum.scale(1 / float64(len(p)))
}
