package drawing

import (
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"lastroom/internal/lengths"
)

var handler = text.Plain{Fonts: font.NewCache(liberation.Collection())}

// Options say how a drawing is made. The zero value is a light drawing without words: no title, names, numbers, cut
// lines.
type Options struct {
	Look
	Title    bool
	Words    bool    // axes' numbers, measures, numbers of findings, directions
	Parts    bool    // names of the parts, in Words
	CutLines bool    // the lines of the two other cuts
	Shown    *Extent // nil: ExtentOf the room
	Marks    []Mark  // rings round places, with large numbers
	Flipped  bool    // the numbers of the marks are written as in a mirror, for a picture that is turned over afterwards
}

// A Look is what a person prefers of all drawings.
type Look struct {
	Dark    bool
	Lengths lengths.Unit // that numbers and words are told in
}

// A Mark is a place that matters, in the room's frame.
type Mark struct {
	Number int
	At     r3.Vec
}

// markPlotter draws a ring round each mark, and its number beside it.
type markPlotter struct {
	view  View
	marks []Mark
	pal   Palette
	flip  bool
}

func (m markPlotter) Plot(c draw.Canvas, p *plot.Plot) {
	const radius, size, corners = 11.0, 15.0, 48
	tx, ty := p.Transforms(&c)
	for i, k := range m.marks {
		at := m.view.Project(k.At)
		if at.U < p.X.Min || at.U > p.X.Max || at.V < p.Y.Min || at.V > p.Y.Max {
			continue // another view shows it
		}
		x, y := tx(at.U), ty(at.V)
		ring := make([]vg.Point, corners+1)
		for j := range ring {
			s, co := math.Sincos(2 * math.Pi * float64(j) / corners)
			ring[j] = vg.Point{X: x + vg.Length(radius*co), Y: y + vg.Length(radius*s)}
		}
		for _, l := range []draw.LineStyle{{Color: m.pal.Halo, Width: vg.Points(5)}, {Color: m.pal.Overlap, Width: vg.Points(2.4)}} {
			c.StrokeLines(l, ring)
		}
		f := sans(size)
		f.Weight = 2 // bold
		sty := text.Style{Color: m.pal.Ink, Font: f, XAlign: text.XCenter, YAlign: text.YCenter, Handler: handler}
		up := vg.Length(radius + 10)
		if i%2 == 1 { // two rings at one place keep their numbers apart
			up = -up
		}
		if !m.flip {
			c.FillText(sty, vg.Point{X: x, Y: y + up}, strconv.Itoa(k.Number))
			continue
		}
		c.Push()
		c.Translate(vg.Point{X: x, Y: y + up})
		c.Scale(-1, 1)
		c.FillText(sty, vg.Point{}, strconv.Itoa(k.Number))
		c.Pop()
	}
}

// Draw draws a view of the scene on any canvas and tells where its paper lies, taking pxPerPt pixels for a point.
func Draw(c draw.Canvas, v View, s *Scene, o Options, pxPerPt float64) (Frame, Measured) {
	cut := s.cut(v)
	return cut.draw(c, s, o, pxPerPt), cut.Measured
}

func (c *section) draw(on draw.Canvas, s *Scene, o Options, pxPerPt float64) Frame {
	v := c.view
	pal := o.palette()
	p := newPlot(v, s, o, pal)
	p.Add(wallPlotter{c, pal}, gridPlotter{pal}, devicePlotter{c, pal}, overlapPlotter{c, pal})
	if o.CutLines {
		p.Add(cutPlotter{c, pal})
	}
	if o.Words {
		p.Add(notePlotter{c, s, pal, o.Parts})
	}
	if len(o.Marks) > 0 {
		p.Add(markPlotter{v, o.Marks, pal, o.Flipped})
	}
	on.SetColor(pal.Paper)
	on.Fill(on.Rectangle.Path())
	sheet := on
	if o.Words {
		sheet = draw.Crop(on, 4, -4, 3, -3)
	}
	equalise(p, sheet)
	p.Draw(sheet)
	return frameOf(v, p, on, sheet, pxPerPt)
}

func newPlot(v View, s *Scene, o Options, pal Palette) *plot.Plot {
	p := plot.New()
	p.TextHandler = handler
	p.BackgroundColor = nil
	var shown Extent
	if o.Shown != nil {
		shown = *o.Shown
	} else {
		shown = ExtentOf(v, s.Room)
	}
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = shown.Lo.U, shown.Hi.U, shown.Lo.V, shown.Hi.V
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Padding = 2
		a.LineStyle = draw.LineStyle{Color: pal.Faint, Width: thinWidth}
		a.Tick.LineStyle = a.LineStyle
		a.Tick.Length = 3
		a.Tick.Label.Font = sans(8)
		a.Tick.Label.Color = pal.Faint
		a.Tick.Label.Handler = handler
		a.Tick.Marker = ruled{pal.lengths, v == Behind && a == &p.X}
	}
	if !o.Words {
		p.HideAxes()
	}
	if o.Title {
		p.Title.Text = pal.lengths.Tell(s.title(v))
		p.Title.TextStyle = text.Style{Color: pal.Ink, Font: sans(titleSize), XAlign: text.XCenter, YAlign: text.YTop, Handler: handler}
		p.Title.Padding = 4
	}
	return p
}

// ruled marks an axis each 10 mm and numbers it each 20, or each half inch and inch; mirrored axes count the other way.
type ruled struct {
	lengths  lengths.Unit
	mirrored bool
}

func (r ruled) everyMM() float64 {
	if r.lengths == lengths.Inch {
		return lengths.InchMM / 2
	}
	return 10
}

// Ticks are the marks between lo and hi.
func (r ruled) Ticks(lo, hi float64) []plot.Tick {
	var out []plot.Tick
	every := r.everyMM()
	const most = 200
	for hi-lo > most*every { // of what is far too large, as in a wrong unit
		every *= 10
	}
	for n := math.Ceil(lo / every); n*every <= hi; n++ {
		t := plot.Tick{Value: n * every}
		if math.Mod(n, 2) == 0 {
			shown := r.lengths.From(t.Value)
			if r.mirrored {
				shown = -shown
			}
			t.Label = fmt.Sprintf("%.0f", shown+0)
		}
		out = append(out, t)
	}
	return out
}

// gridPlotter draws a faint line at each mark of the axes.
type gridPlotter struct{ pal Palette }

func (g gridPlotter) Plot(c draw.Canvas, p *plot.Plot) {
	k := inkOn(c, p)
	sty := draw.LineStyle{Color: fade(g.pal.Faint, 0x30), Width: vg.Points(0.5)}
	for _, t := range (ruled{lengths: g.pal.lengths}).Ticks(p.X.Min, p.X.Max) {
		k.stroke([]Pt{{t.Value, p.Y.Min}, {t.Value, p.Y.Max}}, false, sty)
	}
	for _, t := range (ruled{lengths: g.pal.lengths}).Ticks(p.Y.Min, p.Y.Max) {
		k.stroke([]Pt{{p.X.Min, t.Value}, {p.X.Max, t.Value}}, false, sty)
	}
}

// A Picture is a drawing in pixels, with its frame, its numbers and its text.
type Picture struct {
	Image *image.RGBA
	Frame Frame
	Title string // view, cut and pose
	Says  string // what there is to see, with the picture's numbers
	Measured

	cut   *section
	shape *Shape // when it is a shape's picture
	body  *relief
}

// Name says what is at a point of the paper: see Scene.Name. On a shape's picture it is what is seen there.
func (p *Picture) Name(at Pt, withinMM float64) string {
	if p.shape == nil {
		return p.cut.name(at, withinMM)
	}
	face := p.FaceAt(at)
	if face < 0 || p.shape.Names == nil || p.shape.Mesh.Tag == nil {
		return ""
	}
	return p.shape.Names(p.shape.Mesh.Tag[face])
}

// FaceAt is the face that is seen at a point of the paper of a shape's picture, -1 for none.
func (p *Picture) FaceAt(at Pt) int32 {
	x, y := p.Frame.Pixel(at)
	if p.body == nil || x < 0 || y < 0 || int(x) >= p.body.width || int(y) >= p.body.height {
		return -1
	}
	return p.body.face[int(y)*p.body.width+int(x)]
}

// Render draws a picture of widthPx by heightPx pixels, scale pixels a point of text.
func Render(v View, s *Scene, o Options, widthPx, heightPx int, scale float64) (*Picture, error) {
	const largest = 8192
	if widthPx < 16 || heightPx < 16 || widthPx > largest || heightPx > largest {
		return nil, fmt.Errorf("drawing: a picture of %d by %d pixels: each side has to have 16 to %d", widthPx, heightPx, largest)
	}
	if s == nil || s.Room == nil || s.Room.Walls == nil || len(s.Room.Walls.V) == 0 {
		return nil, errors.New("drawing: the scene has no room")
	}
	dpi := max(18, int(math.Round(72*scale)))
	pxPerPt := float64(dpi) / 72
	c := vgimg.NewWith(
		vgimg.UseWH(vg.Length(float64(widthPx)/pxPerPt), vg.Length(float64(heightPx)/pxPerPt)), vgimg.UseDPI(dpi),
	)
	cut := s.cut(v)
	frame := cut.draw(draw.New(c), s, o, pxPerPt)
	img, ok := c.Image().(*image.RGBA)
	if !ok {
		return nil, fmt.Errorf("drawing: a canvas of %T", c.Image())
	}
	return &Picture{Image: img, Frame: frame, Title: o.Lengths.Tell(s.title(v)), Says: o.Lengths.Tell(says(s, cut.Measured)), Measured: cut.Measured, cut: cut}, nil
}

// PNG writes a titled drawing of a view as a PNG picture widthPx pixels wide; its height follows the paper's.
func PNG(w io.Writer, v View, s *Scene, widthPx int, dark bool) error {
	if s == nil || s.Room == nil || s.Room.Walls == nil {
		return errors.New("drawing: the scene has no room")
	}
	const axesPx, titlePx = 30, 40
	e := ExtentOf(v, s.Room)
	h := (e.Hi.V-e.Lo.V)/(e.Hi.U-e.Lo.U)*float64(widthPx-axesPx) + axesPx + titlePx
	o := Options{Look: Look{Dark: dark}, Title: true, Words: true, Parts: true, CutLines: true}
	pic, err := Render(v, s, o, widthPx, int(math.Round(h)), math.Max(1, float64(widthPx)/900))
	if err != nil {
		return err
	}
	return png.Encode(w, pic.Image)
}
