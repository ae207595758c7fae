package sheet

import (
	"errors"
	"io"
	"math"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/plot/vg/draw"

	"lastroom/fit/drawing"
)

// A Handout is one page for the person who wears the device: a title, drawings side by side, words under heads, and what is to be kept in
// mind at the foot.
type Handout struct {
	Title  string
	Lead   []string
	Scenes []HandoutScene
	Blocks []Block
	Foot   string
	Date   time.Time
}

// A HandoutScene is a drawing with what stands under it.
type HandoutScene struct {
	View    drawing.View
	Scene   *drawing.Scene
	Marks   []drawing.Mark
	Left    bool // the device is a left one: the drawing is turned over
	Caption string
}

// A Block is some sentences under a head.
type Block struct {
	Head  string
	Lines []string
}

var errTooMuch = errors.New("sheet: there is more to say than one page holds")

// WriteHandout writes the page. Letters get smaller until all is on it.
func WriteHandout(w io.Writer, h *Handout, paper Paper) error {
	for size := 11.5; size >= 7.5; size -= 0.5 {
		doc, fits := h.lay(paper, size)
		if fits {
			return doc.Output(w)
		}
	}
	return errTooMuch
}

// lay lays the page out with letters of that size; fits is false when it is too small.
func (h *Handout) lay(paper Paper, size float64) (doc *fpdf.Fpdf, fits bool) {
	width, height := paper.sizeMM()
	p := &writer{w: width, h: height, y: marginMM}
	p.doc = fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: width, Ht: height}})
	p.doc.SetCreationDate(h.Date)
	p.doc.SetModificationDate(h.Date)
	p.doc.SetCatalogSort(true)
	p.doc.SetAutoPageBreak(false, 0)
	p.doc.SetMargins(0, 0, 0)
	p.doc.SetCellMargin(0)
	p.doc.AddUTF8FontFromBytes(face, "", liberationsansregular.TTF)
	p.doc.AddUTF8FontFromBytes(face, "B", liberationsansbold.TTF)
	p.doc.SetTitle(h.Title, true)
	p.doc.SetLineJoinStyle("round")
	p.doc.AddPage()
	p.plain()
	full := width - 2*marginMM
	p.write(marginMM, full, "B", size+6, h.Title)
	p.y += 1.5
	for _, l := range h.Lead {
		p.write(marginMM, full, "B", size+1, l)
	}
	p.y += 2
	if n := len(h.Scenes); n > 0 {
		const between, high = 4.0, 62.0
		wide := (full - between*float64(n-1)) / float64(n)
		low := p.y
		for i, s := range h.Scenes {
			left := marginMM + float64(i)*(wide+between)
			c := newCanvas(p.doc, left, p.y, wide, high, s.Left, &p.images)
			drawing.Draw(draw.New(c), s.View, s.Scene, drawing.Options{Marks: s.Marks}, 1)
			p.plain()
			at := p.y
			p.y += high + 1
			p.write(left, wide, "", size-1, s.Caption)
			low, p.y = math.Max(low, p.y), at
		}
		p.y = low + 2
	}
	for _, b := range h.Blocks {
		p.write(marginMM, full, "B", size+1, b.Head)
		for _, l := range b.Lines {
			p.write(marginMM+3, full-3, "", size, "· "+l)
		}
		p.y += 1.6
	}
	p.doc.SetLineWidth(0.2)
	p.doc.Line(marginMM, p.y, width-marginMM, p.y)
	p.y += 1
	p.write(marginMM, full, "", size, h.Foot)
	return p.doc, p.y <= height-marginMM
}

// write writes a paragraph.
func (p *writer) write(left, wide float64, style string, size float64, words string) {
	p.font(style, size)
	for _, l := range p.wrap(words, wide) {
		p.line(left, size, l)
	}
}
