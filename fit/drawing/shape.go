package drawing

import (
	"errors"
	"fmt"
	"image"
	"image/color"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"lastroom/internal/mesh"
)

// A Shape is a mesh that is drawn as it lies, before anything is known about it: its body shaded, its cut as a line, with
// points and lengths that were read off it. A Shape and its Mesh are not changed once they are drawn.
type Shape struct {
	Mesh     *mesh.Mesh
	Pose     mesh.Pose // roomFromScan
	Mirrored bool      // in Y after Pose: a left one shown as a right one
	Far      bool      // the far side is shown, as through glass
	Cuts     Cuts
	Points   []Named  // marked with a cross and a word
	Lengths  []Length // drawn as dimensions
	Tints    func(tag uint8, p Palette) color.NRGBA
	Names    func(tag uint8) string // what a tag is called; nil: no names
}

// Named is a place with a word.
type Named struct {
	At   r3.Vec
	Name string
}

// A Length is a measure between two places, drawn in one view.
type Length struct {
	View View
	A, B r3.Vec
	Text string
}

// place brings a point of the mesh into the room's frame.
func (s *Shape) place(p r3.Vec) r3.Vec {
	q := s.Pose.Apply(p)
	if s.Mirrored {
		q.Y = -q.Y
	}
	return q
}

// Place brings a point of the mesh into the frame of the drawings.
func (s *Shape) Place(p r3.Vec) r3.Vec { return s.place(p) }

// Unplace brings a point of the drawings' frame back to the mesh.
func (s *Shape) Unplace(q r3.Vec) r3.Vec {
	if s.Mirrored {
		q.Y = -q.Y
	}
	return s.Pose.Inverse().Apply(q)
}

// Bounds is the box of the shape as it lies.
func (s *Shape) Bounds() r3.Box {
	lo := r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}
	hi := r3.Scale(-1, lo)
	for _, p := range s.Mesh.V {
		q := s.place(p)
		lo = r3.Vec{X: math.Min(lo.X, q.X), Y: math.Min(lo.Y, q.Y), Z: math.Min(lo.Z, q.Z)}
		hi = r3.Vec{X: math.Max(hi.X, q.X), Y: math.Max(hi.Y, q.Y), Z: math.Max(hi.Z, q.Z)}
	}
	return r3.Box{Min: lo, Max: hi}
}

// ExtentOfBox is what a view shows of a box, with a margin.
func ExtentOfBox(v View, b r3.Box) Extent {
	const marginMM = 12
	p, q := v.Project(b.Min), v.Project(b.Max)
	return Extent{
		Pt{math.Min(p.U, q.U) - marginMM, math.Min(p.V, q.V) - marginMM},
		Pt{math.Max(p.U, q.U) + marginMM, math.Max(p.V, q.V) + marginMM},
	}
}

// section is the shape's outline in a view's cut.
func (s *Shape) section(v View) []loop {
	pl := v.plane(s.Cuts)
	if s.Mirrored {
		pl.Point.Y, pl.Normal.Y = -pl.Point.Y, -pl.Normal.Y
	}
	lines := sectionAt(s.Mesh, s.Pose, pl)
	if s.Mirrored {
		for i := range lines {
			for k := range lines[i].P {
				lines[i].P[k].Y = -lines[i].P[k].Y
			}
		}
	}
	return loopsOf(v, lines)
}

// OnCut is the point of the shape's outline in a view's cut that is nearest to a point of the paper, in the drawings'
// frame. It is not found farther than withinMM.
func (s *Shape) OnCut(v View, p Pt, withinMM float64) (r3.Vec, bool) {
	best, found := r3.Vec{}, false
	for _, l := range s.section(v) {
		l.segments(func(a, b Pt, _ uint8) {
			q := nearestOn(a, b, p)
			if d := math.Hypot(q.U-p.U, q.V-p.V); d <= withinMM {
				withinMM, best, found = d, v.Lift(q, s.Cuts), true
			}
		})
	}
	return best, found
}

// Under is the face that is seen at a point of the paper, and the place on it in the drawings' frame: the nearest to who
// looks, with far the farthest.
func (s *Shape) Under(v View, p Pt, far bool) (face int32, at r3.Vec, ok bool) {
	look := v.facing()
	if far {
		look = r3.Scale(-1, look)
	}
	face, most := -1, math.Inf(-1)
	placed := make([]r3.Vec, len(s.Mesh.V))
	paper := make([]Pt, len(s.Mesh.V))
	for i, q := range s.Mesh.V {
		placed[i] = s.place(q)
		paper[i] = v.Project(placed[i])
	}
	for i, t := range s.Mesh.F {
		a, b, c := paper[t[0]], paper[t[1]], paper[t[2]]
		area := b.sub(a).cross(c.sub(a))
		if area == 0 {
			continue
		}
		wb, wc := p.sub(a).cross(c.sub(a))/area, b.sub(a).cross(p.sub(a))/area
		if wb < 0 || wc < 0 || wb+wc > 1 {
			continue
		}
		q := r3.Add(r3.Scale(1-wb-wc, placed[t[0]]), r3.Add(r3.Scale(wb, placed[t[1]]), r3.Scale(wc, placed[t[2]])))
		if z := r3.Dot(q, look); z > most {
			most, face, at = z, int32(i), q
		}
	}
	return face, at, face >= 0
}

// RenderShape draws a picture of a shape of widthPx by heightPx pixels, scale pixels a point of text. What Options say
// of parts and titles is not for shapes; Shown has to be set.
func RenderShape(v View, s *Shape, o Options, widthPx, heightPx int, scale float64) (*Picture, error) {
	const largest = 8192
	if widthPx < 16 || heightPx < 16 || widthPx > largest || heightPx > largest {
		return nil, fmt.Errorf("drawing: a picture of %d by %d pixels: each side has to have 16 to %d", widthPx, heightPx, largest)
	}
	if s == nil || s.Mesh == nil || len(s.Mesh.F) == 0 || o.Shown == nil {
		return nil, errors.New("drawing: there is no shape to draw")
	}
	dpi := max(18, int(math.Round(72*scale)))
	pxPerPt := float64(dpi) / 72
	c := vgimg.NewWith(
		vgimg.UseWH(vg.Length(float64(widthPx)/pxPerPt), vg.Length(float64(heightPx)/pxPerPt)), vgimg.UseDPI(dpi),
	)
	img, ok := c.Image().(*image.RGBA)
	if !ok {
		return nil, fmt.Errorf("drawing: a canvas of %T", c.Image())
	}
	pal := o.palette()
	on := draw.New(c)
	p := newPlot(v, nil, o, pal)
	sec := &section{view: v, cuts: s.Cuts, room: s.section(v)}
	p.Add(gridPlotter{pal}, shapePlotter{sec, s, pal, o.Words})
	on.SetColor(pal.Paper)
	on.Fill(on.Rectangle.Path())
	sheet := on
	if o.Words {
		sheet = draw.Crop(on, 4, -4, 3, -3)
	}
	equalise(p, sheet)
	frame := frameOf(v, p, on, sheet, pxPerPt)
	body := reliefOf(s, frame, s.Far)
	body.paint(img, s, pal)
	p.Draw(sheet)
	return &Picture{Image: img, Frame: frame, Says: o.Lengths.Tell(s.says(v, sec)), cut: &section{view: v}, shape: s, body: body}, nil
}

// says tells what there is to see.
func (s *Shape) says(v View, sec *section) string {
	lo, hi, ok := bounds(sec.room)
	text := fmt.Sprintf("%s, %s: ", v, v.Label(s.Cuts))
	if !ok {
		text += "the cut meets nothing."
	} else {
		text += fmt.Sprintf("the outline is %.1f mm across and %.1f mm high.", hi.U-lo.U, hi.V-lo.V)
	}
	for _, l := range s.Lengths {
		if l.View == v {
			text += " " + l.Text + "."
		}
	}
	return text
}

// shapePlotter draws the outline in the cut over the shaded body, points and lengths.
type shapePlotter struct {
	s     *section
	shape *Shape
	pal   Palette
	words bool
}

func (d shapePlotter) Plot(c draw.Canvas, p *plot.Plot) {
	k := inkOn(c, p)
	for i := range d.s.room {
		if l := &d.s.room[i]; l.Closed {
			k.fill(l.P, fade(d.pal.Shell, 0x20))
		}
	}
	for i := range d.s.room {
		l := &d.s.room[i]
		k.stroke(l.P, l.Closed, draw.LineStyle{Color: d.pal.ShellEdge, Width: wallWidth})
	}
	pl := &placer{c: c, pal: d.pal}
	for i := range d.s.room {
		for _, q := range d.s.room[i].P {
			pl.dots = append(pl.dots, k.at(q))
		}
	}
	if d.words {
		notePlotter{s: d.s, pal: d.pal}.corners(c)
		for _, l := range d.shape.Lengths {
			if l.View != d.s.view {
				continue
			}
			a, b := d.s.view.Project(l.A), d.s.view.Project(l.B)
			pl.keepOff(k.at(a), k.at(b))
			k.dimension(a, b, draw.LineStyle{Color: d.pal.Ink, Width: edgeWidth})
			pl.put(label{l.Text, k.at(a.lerp(b, 0.5)), d.pal.Ink, false, true})
		}
	}
	for _, n := range d.shape.Points {
		at := k.at(d.s.view.Project(n.At))
		if !c.Contains(at) {
			continue
		}
		k.diamond(at, 5, draw.LineStyle{Color: d.pal.Overlap, Width: wallWidth})
		if d.words {
			pl.put(label{n.Name, at, d.pal.OverlapText, true, false})
		}
	}
}
