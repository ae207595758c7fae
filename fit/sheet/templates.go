package sheet

import (
	"fmt"
	"math"
	"strings"

	"lastroom/internal/lengths"
)

// A ruler is the ruler of a sheet: 100 mm, or 4 inches.
type ruler struct {
	lengthMM, tickMM float64
	ticks, long      int // ticks from end to end, and after how many a long one stands
	long1            int // what stands at the first long one
	unit             string
}

func rulerIn(u lengths.Unit) ruler {
	if u == lengths.Inch {
		return ruler{4 * lengths.InchMM, lengths.InchMM / 4, 16, 4, 1, u.String()}
	}
	return ruler{100, 10, 10, 5, 50, u.String()}
}

// sentence says how the scale of a print is checked.
func (r ruler) sentence() string {
	long := r.ticks / r.long * r.long1
	return fmt.Sprintf("Measure both rulers: each is %d %s long, across and along the page. If not, print again at 100 %% (no fitting to the page).", long, r.unit)
}

// template lays one template on a page of its own, at 1:1, with rulers and the dimensions of its section. One that is
// wider than the page lies along it, and one that is longer than the page is cut in parts.
func (p *writer) template(t *Template, sec *Section) {
	const pad, rulerWide = 2.0, 12.0
	lo, hi := t.bounds()
	lo[0], lo[1], hi[0], hi[1] = lo[0]-pad, lo[1]-pad, hi[0]+pad, hi[1]+pad
	long, high := hi[0]-lo[0], hi[1]-lo[1]
	full := p.w - 2*marginMM
	if t.Key != "long" && long < full-rulerWide {
		p.page()
		p.templateWords(t, marginMM, full, "")
		p.y += 2
		p.ruler(marginMM, p.y+6, false)
		p.y += 9
		p.ruler(p.w-marginMM, p.y, true)
		p.mark(marginMM, p.y+4, 0)
		f := flatPaper{left: marginMM + (full-rulerWide-long)/2, top: p.y + 6, lo: lo, hi: hi}
		p.draw(t, f)
		p.y = math.Max(f.top+high, p.y+rulerIn(p.told).lengthMM) + 3 // the upright ruler stands beside
		p.head(sec.Title)
		p.table(marginMM, full, []column{{"dimension", 4}, {"", 1.4}, {"how it is known", 6}}, threeColumns(sec.Rows))
		return
	}
	const overlap, rulerHigh, markWide, joinHigh = 10.0, 9.0, 6.0, 8.0
	free := p.bottom() - (marginMM + headMM) - rulerHigh
	parts := max(1, int(math.Ceil((long-overlap)/(free-overlap))))
	for i := range parts {
		part := ""
		if parts > 1 {
			part = fmt.Sprintf(", part %d of %d", i+1, parts)
		}
		p.page()
		f := flatPaper{left: marginMM + markWide, top: p.y, lo: lo, hi: hi, along: true}
		if parts > 1 {
			step := (long - overlap) / float64(parts)
			f.lo[0] = lo[0] + step*float64(i)
			f.hi[0] = f.lo[0] + step + overlap
		}
		p.ruler(marginMM, p.bottom()-1, false)
		p.ruler(p.w-marginMM, p.bottom()-rulerIn(p.told).lengthMM, true)
		p.mark(marginMM+3, p.y+55, 90)
		p.doc.ClipRect(f.left, f.top, high, f.hi[0]-f.lo[0], false)
		p.draw(t, f)
		p.doc.ClipEnd()
		if i > 0 {
			p.join(f, f.lo[0]+overlap/2, high)
		}
		if i < parts-1 {
			p.join(f, f.hi[0]-overlap/2, high)
		}
		left := f.left + high + 4
		wide := p.w - marginMM - rulerWide - left
		p.y += joinHigh
		p.templateWords(t, left, wide, part)
		p.y += 3
		p.textIn(left, wide, "B", 9, sec.Title)
		p.y++
		p.table(left, wide, []column{{"dimension", 3.2}, {"", 1.6}, {"how it is known", 4}}, threeColumns(sec.Rows))
	}
}

// templateWords say what a template is, how to hold it and how to check its scale.
func (p *writer) templateWords(t *Template, left, wide float64, part string) {
	p.textIn(left, wide, "B", 11, t.Title+", "+strings.ToUpper(p.s.Side)+" device"+part)
	p.textIn(left, wide, "", 8, t.Seen)
	p.textIn(left, wide, "", 8, t.Legend)
	p.textIn(left, wide, "B", 8, rulerIn(p.told).sentence())
}

// ruler draws the ruler from its left or its upper end.
func (p *writer) ruler(x, y float64, upright bool) {
	p.plain()
	line := func(a0, b0, a1, b1 float64) {
		if upright {
			p.doc.Line(x-b0, y+a0, x-b1, y+a1)
			return
		}
		p.doc.Line(x+a0, y-b0, x+a1, y-b1)
	}
	r := rulerIn(p.told)
	p.doc.SetLineWidth(0.25)
	line(0, 0, r.lengthMM, 0)
	for i := range r.ticks + 1 {
		at := r.tickMM * float64(i)
		tick := 2.0
		if i%r.long == 0 {
			tick = 3.5
		}
		line(at, 0, at, tick)
		p.font("", 6)
		number := fmt.Sprint(i / r.long * r.long1)
		switch {
		case i%r.long != 0:
		case upright:
			p.doc.Text(x-8.5, y+at+1, number)
		default:
			p.doc.Text(x+at+0.6, y-2, number)
		}
	}
	if !upright {
		p.font("", 7)
		p.doc.Text(x+r.lengthMM+8, y, r.unit)
	}
}

// mark writes the side and which side is up, beside the template.
func (p *writer) mark(x, y, turn float64) {
	p.font("B", 9)
	words := strings.ToUpper(p.s.Side) + ": this side up ↑"
	if turn == 0 {
		p.doc.Text(x, y, words)
		return
	}
	p.doc.TransformBegin()
	p.doc.TransformRotate(turn, x, y)
	p.doc.Text(x, y, words)
	p.doc.TransformEnd()
}

// join draws the line at which two parts meet.
func (p *writer) join(f flatPaper, u, high float64) {
	x, y := f.page([2]Number{Number(u), Number(f.hi[1])})
	p.doc.SetDashPattern([]float64{4, 1, 1, 1}, 0)
	p.doc.SetLineWidth(0.2)
	p.doc.Line(x, y, x+high, y)
	p.doc.SetDashPattern(nil, 0)
	p.font("", 7)
	p.doc.Text(x+high+1, y+1, "cut and join here")
}

// A flatPaper puts a part of a template on a page: u to the right and v up, or, along the page, u up and v to the left.
type flatPaper struct {
	left, top float64
	lo, hi    [2]float64
	along     bool
}

func (f flatPaper) page(p [2]Number) (x, y float64) {
	u, v := float64(p[0]), float64(p[1])
	if f.along {
		return f.left + f.hi[1] - v, f.top + f.hi[0] - u
	}
	return f.left + u - f.lo[0], f.top + f.hi[1] - v
}

func (t *Template) bounds() (lo, hi [2]float64) {
	lo, hi = [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	add := func(p [2]Number) {
		for k := range 2 {
			lo[k], hi[k] = math.Min(lo[k], float64(p[k])), math.Max(hi[k], float64(p[k]))
		}
	}
	for _, l := range t.Lines {
		for _, p := range l.Points {
			add(p)
		}
	}
	for _, s := range t.Spans {
		add(s.From)
		add(s.To)
	}
	const wide, tall = 9, 2 // of half a word
	for _, w := range t.Words {
		u, v := w.At[0], w.At[1]
		add([2]Number{u - wide, v - tall})
		add([2]Number{u + wide, v + tall})
	}
	return lo, hi
}

// A pen is how a kind of line is drawn; every kind differs in more than its grey.
type pen struct {
	widthMM float64
	dash    []float64
	grey    int
}

var pens = map[string]pen{
	edgeLine:   {0.4, nil, 0},
	bevelLine:  {0.3, []float64{3, 1.5}, 0},
	middleLine: {0.15, []float64{6, 1.5, 1, 1.5}, 60},
	planeLine:  {0.15, []float64{6, 1.5, 1, 1.5}, 60},
	coverLine:  {0.15, nil, 90},
	beforeLine: {0.3, []float64{0.5, 1}, 60},

	extensionLine: {0.1, nil, 60},
}

func (p *writer) draw(t *Template, f flatPaper) {
	for _, l := range t.Lines {
		k := pens[l.Kind]
		p.doc.SetLineWidth(k.widthMM)
		p.doc.SetDashPattern(k.dash, 0)
		p.doc.SetDrawColor(k.grey, k.grey, k.grey)
		for i, q := range l.Points {
			x, y := f.page(q)
			if i == 0 {
				p.doc.MoveTo(x, y)
				continue
			}
			p.doc.LineTo(x, y)
		}
		if l.Closed {
			p.doc.ClosePath()
		}
		p.doc.DrawPath("D")
	}
	p.plain()
	for _, s := range t.Spans {
		p.span(s, f)
	}
	for _, w := range t.Words {
		p.font("B", 8)
		x, y := f.page(w.At)
		half := p.doc.GetStringWidth(w.Text) / 2
		if !f.along {
			p.doc.Text(x-half, y+1, w.Text)
			continue
		}
		p.doc.TransformBegin()
		p.doc.TransformRotate(90, x, y)
		p.doc.Text(x-half, y+1, w.Text)
		p.doc.TransformEnd()
	}
}

// span draws a length: arrows between its ends and its words beside them.
func (p *writer) span(s Span, f flatPaper) {
	x0, y0 := f.page(s.From)
	x1, y1 := f.page(s.To)
	n := math.Hypot(x1-x0, y1-y0)
	if n == 0 {
		return
	}
	ux, uy := (x1-x0)/n, (y1-y0)/n
	p.doc.SetLineWidth(0.15)
	p.doc.Line(x0, y0, x1, y1)
	for _, end := range [2][3]float64{{x0, y0, 1}, {x1, y1, -1}} {
		x, y, way := end[0], end[1], end[2]
		p.doc.Line(x, y, x+way*2*ux-0.7*uy, y+way*2*uy+0.7*ux)
		p.doc.Line(x, y, x+way*2*ux+0.7*uy, y+way*2*uy-0.7*ux)
	}
	p.font("", 8)
	words := p.told.Tell(s.Text)
	w := p.doc.GetStringWidth(words)
	mx, my := (x0+x1)/2, (y0+y1)/2
	if math.Abs(uy) > math.Abs(ux) {
		p.doc.TransformBegin()
		p.doc.TransformRotate(90, mx, my)
		p.doc.Text(mx-w/2, my+4, words)
		p.doc.TransformEnd()
		return
	}
	p.doc.Text(mx-w/2, my+4, words)
}
