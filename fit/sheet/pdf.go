package sheet

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/plot/vg/draw"

	"lastroom/fit/drawing"
	"lastroom/internal/lengths"
	"lastroom/internal/problem"
)

// A Paper is a size of page.
type Paper string

// The sizes of pages.
const (
	A4     Paper = "a4"
	Letter Paper = "letter"
)

// ParsePaper reads a size of page; empty is A4.
func ParsePaper(text string) (Paper, error) {
	switch p := Paper(strings.ToLower(text)); p {
	case "":
		return A4, nil
	case A4, Letter:
		return p, nil
	}
	return "", problem.Problem{Field: "paper", Value: text, Limit: "a4 or letter", Mend: "choose one of them"}
}

// sizeMM are a page's width and height.
func (p Paper) sizeMM() (w, h float64) {
	if p == Letter {
		return 215.9, 279.4
	}
	return 210, 297
}

const face = "Liberation Sans"

// The page, mm: the margin, the head with case and side, the foot with the cautions.
const (
	marginMM = 14.0
	headMM   = 13.0
	footMM   = 17.0
	linePerP = 0.43 // mm of line height per point of text
)

// A page writer lays the sheet out from top to bottom.
type writer struct {
	doc    *fpdf.Fpdf
	s      *Sheet
	told   lengths.Unit // what lengths are told in
	w, h   float64
	y      float64 // how far the page is filled
	images int
}

// WritePDF writes the sheet on pages of the paper, lengths in the unit.
func WritePDF(w io.Writer, s *Sheet, paper Paper, u lengths.Unit) error {
	width, height := paper.sizeMM()
	p := &writer{s: s, told: u, w: width, h: height}
	p.doc = fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: width, Ht: height}})
	date, err := time.Parse("2006-01-02", s.Date)
	if err != nil {
		return fmt.Errorf("sheet: its date: %w", err)
	}
	p.doc.SetCreationDate(date)
	p.doc.SetModificationDate(date)
	p.doc.SetCatalogSort(true)
	p.doc.SetAutoPageBreak(false, 0)
	p.doc.SetMargins(0, 0, 0)
	p.doc.SetCellMargin(0)
	p.doc.AddUTF8FontFromBytes(face, "", liberationsansregular.TTF)
	p.doc.AddUTF8FontFromBytes(face, "B", liberationsansbold.TTF)
	p.doc.SetTitle(fmt.Sprintf("%s, %s device, %s", s.Title, s.Side, s.heading()), true)
	p.doc.SetCreator("Lastroom "+s.Program, true)
	p.doc.SetDisplayMode("real", "single")
	p.doc.SetLineCapStyle("butt")
	p.doc.SetLineJoinStyle("round")

	p.first()
	for i, st := range s.states() {
		p.inTheShoe(st, s.scenes[i])
	}
	for i := range s.Shapes {
		p.template(&s.Shapes[i], &s.Sections[i])
	}
	p.restsOn()
	p.feet()
	return p.doc.Output(w)
}

func (p *writer) bottom() float64 { return p.h - marginMM - footMM }

// page begins a page, with the case and the side at its head.
func (p *writer) page() {
	p.doc.AddPage()
	p.plain()
	p.font("B", 11)
	p.doc.Text(marginMM, marginMM+4, p.s.Title)
	p.font("", 8.5)
	p.doc.Text(marginMM, marginMM+8.5, p.s.heading())
	side := strings.ToUpper(p.s.Side)
	p.font("B", 13)
	wide := p.doc.GetStringWidth(side) + 6
	p.doc.SetFillColor(0, 0, 0)
	p.doc.Rect(p.w-marginMM-wide, marginMM, wide, 8, "F")
	p.doc.SetTextColor(255, 255, 255)
	p.doc.Text(p.w-marginMM-wide+3, marginMM+6, side)
	p.plain()
	p.doc.SetLineWidth(0.5)
	p.doc.Line(marginMM, marginMM+headMM-3, p.w-marginMM, marginMM+headMM-3)
	p.y = marginMM + headMM
}

// feet writes the cautions and the number at the foot of each page.
func (p *writer) feet() {
	pages := p.doc.PageCount()
	for n := 1; n <= pages; n++ {
		p.doc.SetPage(n)
		p.plain()
		p.font("B", 7) // twice, for the page's own last font is not known here
		p.font("", 7)
		p.doc.SetLineWidth(0.2)
		top := p.h - marginMM - footMM + 3
		p.doc.Line(marginMM, top, p.w-marginMM, top)
		y := top + 3.2
		for _, c := range p.s.Cautions {
			for _, l := range p.wrap(c, p.w-2*marginMM) {
				p.doc.Text(marginMM, y, l)
				y += 7 * linePerP
			}
		}
		text := fmt.Sprintf("%s, page %d of %d", p.s.Side, n, pages)
		p.doc.Text(p.w-marginMM-p.doc.GetStringWidth(text), p.h-marginMM+3, text)
	}
}

func (p *writer) plain() {
	p.doc.SetAlpha(1, "Normal")
	p.doc.SetDashPattern(nil, 0)
	p.doc.SetDrawColor(0, 0, 0)
	p.doc.SetTextColor(0, 0, 0)
}

func (p *writer) font(style string, size float64) { p.doc.SetFont(face, style, size) }

// wrap breaks words into lines of the present font that are no wider than so many mm.
func (p *writer) wrap(words string, wide float64) []string {
	var lines []string
	for _, par := range strings.Split(p.told.Tell(words), "\n") {
		line := ""
		for _, word := range strings.Fields(par) {
			for line == "" && p.doc.GetStringWidth(word) > wide { // longer than a line: break it
				r := []rune(word)
				n := len(r) - 1
				for n > 1 && p.doc.GetStringWidth(string(r[:n])) > wide {
					n--
				}
				lines, word = append(lines, string(r[:n])), string(r[n:])
			}
			longer := word
			if line != "" {
				longer = line + " " + word
			}
			if p.doc.GetStringWidth(longer) > wide {
				lines, line = append(lines, line), word
				for p.doc.GetStringWidth(line) > wide {
					r := []rune(line)
					n := len(r) - 1
					for n > 1 && p.doc.GetStringWidth(string(r[:n])) > wide {
						n--
					}
					lines, line = append(lines, string(r[:n])), string(r[n:])
				}
				continue
			}
			line = longer
		}
		lines = append(lines, line)
	}
	return lines
}

// need begins a new page where so much does not fit on this one.
func (p *writer) need(mm float64) {
	if p.y+mm > p.bottom() {
		p.page()
	}
}

// text writes a paragraph.
func (p *writer) text(style string, size float64, words string) {
	p.textIn(marginMM, p.w-2*marginMM, style, size, words)
}

func (p *writer) textIn(left, wide float64, style string, size float64, words string) {
	p.font(style, size)
	for _, l := range p.wrap(words, wide) {
		p.need(size * linePerP)
		p.font(style, size)
		p.line(left, size, l)
	}
}

// line writes one line in the present font.
func (p *writer) line(left, size float64, words string) {
	p.y += size * linePerP
	p.doc.Text(left, p.y-0.25*size*linePerP, words)
}

func (p *writer) head(words string) {
	p.need(18)
	p.y += 2.5
	p.text("B", 10, words)
	p.y += 0.8
}

// A column of a table: its head and its share of the width.
type column struct {
	head  string
	share float64
}

const tablePt = 7.5

// table writes rows with rules between them; a row is never broken over pages unless it is taller than one.
func (p *writer) table(left, wide float64, cols []column, rows [][]string) {
	sum := 0.0
	for _, c := range cols {
		sum += c.share
	}
	line := tablePt * linePerP
	heads := func() {
		named := false
		for _, c := range cols {
			named = named || c.head != ""
		}
		if !named {
			return
		}
		cells := make([]string, len(cols))
		for i, c := range cols {
			cells[i] = c.head
		}
		p.row(left, wide/sum, cols, cells, "B")
	}
	heads()
	for _, r := range rows {
		p.font("", tablePt)
		tall := 1
		for i, cell := range r {
			tall = max(tall, len(p.wrap(cell, cols[i].share*wide/sum-1.5)))
		}
		if high := float64(tall)*line + 1.2; p.y+high > p.bottom() {
			p.page()
			heads()
		}
		p.row(left, wide/sum, cols, r, "")
	}
	p.y += 1.5
}

func (p *writer) row(left, unit float64, cols []column, cells []string, style string) {
	p.font(style, tablePt)
	line := tablePt * linePerP
	top, x, deep := p.y+0.6, left, 0.0
	for i, cell := range cells {
		y := top
		for _, l := range p.wrap(cell, cols[i].share*unit-1.5) {
			y += line
			p.doc.Text(x, y-0.25*line, l)
		}
		deep = math.Max(deep, y)
		x += cols[i].share * unit
	}
	p.y = deep + 0.6
	p.doc.SetLineWidth(0.1)
	if style != "" {
		p.doc.SetLineWidth(0.3)
	}
	p.doc.Line(left, p.y, x, p.y)
}

// first is what to do and what it does to the fit.
func (p *writer) first() {
	s := p.s
	p.page()
	for _, l := range s.subject() {
		p.text("", 9, l)
	}
	full := p.w - 2*marginMM
	p.head(s.stepsHead())
	cols := []column{{share: 1.1}, {share: 3}, {share: 1.7}, {share: 2.1}, {share: 6}, {share: 2}}
	p.table(marginMM, full, headed(cols, s.stepHeads()), s.stepRows())
	if s.Kind == "change" {
		for _, st := range s.Steps {
			if st.Number > 0 {
				p.text("", 8.5, fmt.Sprintf("%d. %s", st.Number, st.Words))
			}
		}
	}
	for _, st := range s.states() {
		p.head(st.Head)
		p.text("B", 9, st.Sentence)
		for _, l := range st.sureness() {
			p.text("", 8, l)
		}
	}
	p.head("Findings")
	cols = []column{{share: 0.6}, {share: 2.4}, {share: 2.6}, {share: 1.7}, {share: 1.2}, {share: 3.2}, {share: 3.2}}
	p.table(marginMM, full, headed(cols, s.findingHeads()), s.findingRows())
	p.text("", 7.5, s.findingsNote())
	p.head("Support")
	if kept := s.KeptSentence(); kept != "" {
		p.text("B", 9, kept)
	}
	cols = []column{{share: 3.6}, {share: 1.1}, {share: 1.1}, {share: 1.6}, {share: 5}}
	if s.After != nil {
		cols = []column{{share: 3.6}, {share: 1.1}, {share: 1.1}, {share: 1.1}, {share: 1.6}, {share: 5}}
	}
	p.table(marginMM, full, headed(cols, s.supportHeads()), s.supportRows(p.told))
	p.text("", 7.5, s.SupportHow)
}

// headed are as many columns as there are heads, with them.
func headed(cols []column, heads []string) []column {
	for i := range heads {
		cols[i].head = heads[i]
	}
	return cols[:len(heads)]
}

// inTheShoe draws the three sections of a state in its shoe, to scale.
func (p *writer) inTheShoe(st *State, pic pictures) {
	p.page()
	p.text("B", 10, "In the shoe. "+st.Head)
	p.text("", 7.5, "Drawn to scale, not at 1:1, cut where the heel is widest, along the centre line and low over the seat. Bold numbers are those of the findings. Numbers on the edges: "+p.told.String()+" from the back of the counter, medially of the centre line, over the ground.")
	wide := p.w - 2*marginMM
	const words = 9.0
	free := p.bottom() - p.y - 3*words
	asked := [3]float64{}
	sum := 0.0
	for i, v := range drawing.Views {
		e := drawing.ExtentOf(v, pic.scene.Room)
		asked[i] = math.Min(wide*(e.Hi.V-e.Lo.V)/(e.Hi.U-e.Lo.U)+8, 0.36*free)
		sum += asked[i]
	}
	shrink := math.Min(1, free/sum)
	for i, v := range drawing.Views {
		high := asked[i] * shrink
		c := newCanvas(p.doc, marginMM, p.y, wide, high, pic.left, &p.images)
		drawing.Draw(draw.New(c), v, pic.scene, drawing.Options{Look: drawing.Look{Lengths: p.told}, Words: true, Parts: true, CutLines: true}, 1)
		p.plain()
		p.y += high
		p.text("", 7.5, st.Pictures[i])
		p.y += 1
	}
}

// restsOn lists what the numbers rest on.
func (p *writer) restsOn() {
	s := p.s
	p.page()
	full := p.w - 2*marginMM
	cols := []column{{"", 4}, {"", 3}, {"how it is known", 6}}
	for _, st := range s.states() {
		p.head(st.Head + ": how it lies, and the room for the foot")
		p.table(marginMM, full, cols, append(threeColumns(st.Seating), threeColumns(st.FootRoom)...))
	}
	if s.Kind == "change" {
		p.head("The whole device when it is done")
		p.table(marginMM, full, cols, threeColumns(s.Order))
	}
	p.head("The foot")
	p.table(marginMM, full, cols, threeColumns(s.Foot))
	p.head("The shoe, " + s.Shoe.Name)
	p.table(marginMM, full, cols, threeColumns(s.Measures))
}
