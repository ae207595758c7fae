package trace

import (
	"errors"
	"math"
)

// A Paper is a size of sheet.
type Paper string

// The two papers. A sheet of another size looks like one of them when its sides have the same proportion: A3 and A5 are
// taken for A4.
const (
	AnyPaper Paper = ""       // by its proportion
	A4       Paper = "a4"     // 297 × 210 mm, ISO 216
	Letter   Paper = "letter" // 279.4 × 215.9 mm, 11 × 8½ inch
)

// Papers are those that are known.
var Papers = []Paper{A4, Letter}

// SizeMM is the long and the short side.
func (p Paper) SizeMM() (long, short float64) {
	if p == Letter {
		return 279.4, 215.9
	}
	return 297, 210
}

// A view is the sheet as the picture shows it.
type view struct {
	paper       Paper
	long, short float64  // mm
	corners     [4]Point // px of the picture, clockwise; the first two are the ends of a long side
	h           homography
	lens        lens
	misfit      float64 // of its proportion
	focal       float64 // px
	knownFocal  bool
	pxPerMM     float64 // at its coarsest

	bowMM   float64 // largest bow of a side that is left after the lens, mm
	lensMM  float64 // how much of a bow the lens took out, mm
	noiseMM float64 // what the scatter of the sides leaves open of a corner's place, mm
	blurMM  float64 // how soft the sheet's edges are, sigma, mm
	clickMM float64 // what clicks leave open, when no edge was found beside them, mm

	wholePage bool // the picture itself was taken for the sheet
	other     Paper
	otherFits float64 // misfit of the other paper
}

// A proportion that misses a sheet's by more than notSheet is none of it; two papers whose misfits differ by less than
// tooAlike can't be told apart. A4 and Letter differ by 0.09.
const (
	notSheet = 0.04
	tooAlike = 0.015

	// A focal length far from a phone's speaks against a paper, never enough to decide alone: by so much for a factor e.
	unusualFocal = 0.02
)

var (
	errNoSheet  = errors.New("no sheet")
	errTooAlike = errors.New("papers too alike")
)

// newView fits a sheet to four corners, clockwise, and where edges were found to the four sides: on the told paper or on
// the one whose proportion fits.
func newView(g *grey, corners [4]Point, sides *[4]side, told Paper, focal float64) (*view, error) {
	v := &view{corners: corners, lens: lensOf(g), knownFocal: focal > 0}
	ideal := corners
	if sides != nil {
		if bent := straightened(v.lens, *sides); math.Abs(bent.k) < 0.99*maxBend {
			v.lens = bent
		}
		var ls [4]line
		for i := range sides {
			ls[i] = fitLine(v.lens.ideals(sides[i].points))
		}
		for i := range ideal {
			p, ok := ls[(i+3)%4].meet(ls[i])
			if !ok {
				return nil, errNoSheet
			}
			ideal[i], v.corners[i] = p, v.lens.shown(p)
		}
	}
	if !convex(ideal) {
		return nil, errNoSheet
	}
	fits := map[Paper]placing{}
	for _, p := range Papers {
		fits[p] = placed(ideal, p, v.lens.mid, focal)
	}
	v.paper, v.other = A4, Letter
	if told == Letter || told == AnyPaper && fits[Letter].misfit < fits[A4].misfit {
		v.paper, v.other = Letter, A4
	}
	f := fits[v.paper]
	v.h, v.misfit, v.focal, v.otherFits = f.h, f.misfit, f.focal, fits[v.other].misfit
	unusual := func(p placing) float64 {
		if focal > 0 {
			return 0
		}
		return min(unusualFocal*math.Abs(math.Log(p.focal/(usualFocal*2*v.lens.r))), 0.95*tooAlike)
	}
	if told == AnyPaper {
		if v.misfit > notSheet {
			return nil, errNoSheet
		}
		if v.otherFits+unusual(fits[v.other])-v.misfit-unusual(f) < tooAlike {
			return v, errTooAlike
		}
	} else if math.IsInf(v.misfit, 1) {
		return nil, errNoSheet
	}
	v.long, v.short = v.paper.SizeMM()
	v.corners = rolled(v.corners, f.turn)
	if sides != nil {
		v.readSides(sides, f.turn)
	}
	v.pxPerMM = math.Inf(1)
	for _, p := range page(v.long, v.short) {
		v.pxPerMM = min(v.pxPerMM, v.h.scale(p))
	}
	return v, nil
}

// A placing is a paper laid on four corners.
type placing struct {
	turn          int // which corner is the paper's first
	h             homography
	misfit, focal float64
}

func placed(ideal [4]Point, p Paper, mid Point, focal float64) placing {
	best := placing{misfit: math.Inf(1)}
	for turn := range 2 {
		h, ok := homographyOf(page(p.SizeMM()), rolled(ideal, turn))
		if !ok {
			continue
		}
		if m, f := h.proportion(mid, focal); m < best.misfit {
			best = placing{turn, h, m, f}
		}
	}
	return best
}

// readSides takes from the sides how straight the sheet is, how sharp, and how well its corners are known.
func (v *view) readSides(sides *[4]side, turn int) {
	var ideal [4]Point
	for i, c := range v.corners {
		ideal[i] = v.lens.ideal(c)
	}
	back, ok := homographyOf(ideal, page(v.long, v.short))
	if !ok {
		return
	}
	c := page(v.long, v.short)
	for i := range sides {
		s := &sides[(i+turn)%4]
		a, b := c[i], c[(i+1)%4]
		l := line{a, b.minus(a).unit()}
		bent := func(bend func(Point) Point) bow {
			pts := make([]Point, len(s.points))
			for j, p := range s.points {
				pts[j] = back.apply(bend(p))
			}
			return fitBow(pts, l)
		}
		left := bent(v.lens.ideal)
		v.bowMM = max(v.bowMM, math.Abs(left.c))
		v.noiseMM = max(v.noiseMM, 3*left.rms/math.Sqrt(float64(len(s.points))))
		v.lensMM = max(v.lensMM, math.Abs(bent(func(p Point) Point { return p }).c-left.c))
		mid := l.at.plus(b).times(0.5)
		v.blurMM = max(v.blurMM, s.blurPx/v.h.scale(mid))
	}
}

// shown is where the picture has a place of the paper.
func (v *view) shown(paper Point) Point { return v.lens.shown(v.h.apply(paper)) }

// eye is where the camera was over the paper, mm, and how surely its height is known, as a share of it.
func (v *view) eye() (x, y, up, share float64) {
	x, y, up = v.h.eye(v.lens.mid, v.focal)
	if v.knownFocal {
		return x, y, up, 0.1
	}
	return x, y, up, 0.4
}

func page(long, short float64) [4]Point {
	return [4]Point{{0, 0}, {long, 0}, {long, short}, {0, short}}
}

func rolled(c [4]Point, by int) [4]Point {
	return [4]Point{c[by%4], c[(by+1)%4], c[(by+2)%4], c[(by+3)%4]}
}

func convex(c [4]Point) bool {
	for i := range c {
		if !(c[(i+1)%4].minus(c[i]).cross(c[(i+2)%4].minus(c[(i+1)%4])) > 0) {
			return false
		}
	}
	return true
}
