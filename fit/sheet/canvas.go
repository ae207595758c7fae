package sheet

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"strconv"
	"strings"

	"codeberg.org/go-pdf/fpdf"
	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// A canvas is a part of a PDF page as a vg.Canvas, so that what is drawn on a screen is drawn on paper by the same code.
// Its origin is the part's lower left corner, in points. A turned one is its mirror image, left for right, with words that
// stay readable.
type canvas struct {
	doc           *fpdf.Fpdf
	leftMM, lowMM float64 // of the origin, from the page's upper left corner
	width, height vg.Length
	turned        bool
	images        *int

	at    state
	stack []state
}

// state is what Push saves. The way from a point to the canvas is (xx·x + xy·y + x0, yx·x + yy·y + y0).
type state struct {
	xx, xy, yx, yy, x0, y0 float64
	width                  vg.Length
	ink                    color.Color
}

func newCanvas(doc *fpdf.Fpdf, leftMM, topMM, widthMM, heightMM float64, turned bool, images *int) *canvas {
	c := &canvas{
		doc: doc, leftMM: leftMM, lowMM: topMM + heightMM, width: vg.Length(widthMM) * vg.Millimeter, height: vg.Length(heightMM) * vg.Millimeter,
		turned: turned, images: images, at: state{xx: 1, yy: 1, ink: color.Black},
	}
	vg.Initialize(c)
	return c
}

// Size is the canvas' width and height.
func (c *canvas) Size() (w, h vg.Length) { return c.width, c.height }

// SetLineWidth sets the width of lines.
func (c *canvas) SetLineWidth(w vg.Length) {
	c.at.width = w
	c.doc.SetLineWidth(float64(w / vg.Millimeter))
}

// SetLineDash sets the dashes of lines.
func (c *canvas) SetLineDash(pattern []vg.Length, offset vg.Length) {
	d := make([]float64, len(pattern))
	for i, p := range pattern {
		d[i] = float64(p / vg.Millimeter)
	}
	c.doc.SetDashPattern(d, float64(offset/vg.Millimeter))
}

// SetColor sets the ink of lines, areas and words.
func (c *canvas) SetColor(ink color.Color) {
	if ink == nil {
		ink = color.Black
	}
	c.at.ink = ink
	n := color.NRGBAModel.Convert(ink).(color.NRGBA)
	r, g, b := int(n.R), int(n.G), int(n.B)
	c.doc.SetDrawColor(r, g, b)
	c.doc.SetFillColor(r, g, b)
	c.doc.SetTextColor(r, g, b)
	c.doc.SetAlpha(float64(n.A)/255, "Normal")
}

// Rotate turns what is drawn from now on, counterclockwise, in radians.
func (c *canvas) Rotate(rad float64) {
	s, k := math.Sincos(rad)
	a := c.at
	c.at.xx, c.at.xy = a.xx*k+a.xy*s, a.xy*k-a.xx*s
	c.at.yx, c.at.yy = a.yx*k+a.yy*s, a.yy*k-a.yx*s
}

// Translate moves what is drawn from now on.
func (c *canvas) Translate(p vg.Point) {
	x, y := float64(p.X), float64(p.Y)
	c.at.x0 += c.at.xx*x + c.at.xy*y
	c.at.y0 += c.at.yx*x + c.at.yy*y
}

// Scale stretches what is drawn from now on.
func (c *canvas) Scale(x, y float64) {
	c.at.xx, c.at.yx, c.at.xy, c.at.yy = c.at.xx*x, c.at.yx*x, c.at.xy*y, c.at.yy*y
}

// Push saves the state.
func (c *canvas) Push() { c.stack = append(c.stack, c.at) }

// Pop takes the saved state back.
func (c *canvas) Pop() {
	c.at = c.stack[len(c.stack)-1]
	c.stack = c.stack[:len(c.stack)-1]
	c.SetColor(c.at.ink)
	c.SetLineWidth(c.at.width)
}

// page is a point's place on the page, mm from its upper left corner.
func (c *canvas) page(p vg.Point) (x, y float64) {
	px, py := float64(p.X), float64(p.Y)
	x, y = c.at.xx*px+c.at.xy*py+c.at.x0, c.at.yx*px+c.at.yy*py+c.at.y0
	if c.turned {
		x = float64(c.width) - x
	}
	return c.leftMM + x/float64(vg.Millimeter), c.lowMM - y/float64(vg.Millimeter)
}

// Stroke draws a path as lines.
func (c *canvas) Stroke(p vg.Path) {
	if c.at.width > 0 {
		c.path(p)
		c.doc.DrawPath("D")
	}
}

// Fill fills a path.
func (c *canvas) Fill(p vg.Path) {
	c.path(p)
	c.doc.DrawPath("F")
}

func (c *canvas) path(p vg.Path) {
	for _, s := range p {
		switch s.Type {
		case vg.MoveComp:
			c.doc.MoveTo(c.page(s.Pos))
		case vg.LineComp:
			c.doc.LineTo(c.page(s.Pos))
		case vg.ArcComp:
			const stepRad = 0.05
			n := max(1, int(math.Ceil(math.Abs(s.Angle)/stepRad)))
			for i := range n + 1 {
				sin, cos := math.Sincos(s.Start + s.Angle*float64(i)/float64(n))
				c.doc.LineTo(c.page(vg.Point{X: s.Pos.X + s.Radius*vg.Length(cos), Y: s.Pos.Y + s.Radius*vg.Length(sin)}))
			}
		case vg.CurveComp:
			x, y := c.page(s.Pos)
			ax, ay := c.page(s.Control[0])
			if len(s.Control) == 1 {
				c.doc.CurveTo(ax, ay, x, y)
				continue
			}
			bx, by := c.page(s.Control[1])
			c.doc.CurveBezierCubicTo(ax, ay, bx, by, x, y)
		case vg.CloseComp:
			c.doc.ClosePath()
		}
	}
}

// FillString writes words from a point on their base line.
func (c *canvas) FillString(f font.Face, p vg.Point, words string) {
	style := ""
	if f.Font.Weight >= xfont.WeightMedium {
		style = "B"
	}
	c.doc.SetFont(face, style, float64(f.Font.Size))
	x, y := c.page(p)
	if c.turned {
		words = turnArrow(words)
		x -= c.doc.GetStringWidth(words)
	}
	turn := math.Atan2(c.at.yx, c.at.xx) * 180 / math.Pi
	if turn == 0 {
		c.doc.Text(x, y, words)
		return
	}
	c.doc.TransformBegin()
	c.doc.TransformRotate(turn, x, y)
	c.doc.Text(x, y, words)
	c.doc.TransformEnd()
}

// turnArrow is a word with an arrow, pointing the other way.
func turnArrow(words string) string {
	if w, ok := strings.CutPrefix(words, "← "); ok {
		return w + " →"
	}
	if w, ok := strings.CutSuffix(words, " →"); ok {
		return "← " + w
	}
	return words
}

// DrawImage puts a picture into a rectangle.
func (c *canvas) DrawImage(r vg.Rectangle, img image.Image) {
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		c.doc.SetError(err)
		return
	}
	*c.images++
	name := "picture-" + strconv.Itoa(*c.images)
	o := fpdf.ImageOptions{ImageType: "png"}
	c.doc.RegisterImageOptionsReader(name, o, &b)
	x0, y0 := c.page(r.Min)
	x1, y1 := c.page(r.Max)
	c.doc.ImageOptions(name, math.Min(x0, x1), math.Min(y0, y1), math.Abs(x1-x0), math.Abs(y1-y0), false, o, 0, "")
}
