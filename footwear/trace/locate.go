package trace

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// minPxPerMM is how fine the picture must be at its coarsest place on the sheet: about 38 dots an inch.
const minPxPerMM = 1.5

// locate finds the sheet in the picture, or fits it to the corners that were given.
func locate(p *photo, name string, o Options) (*view, error) {
	v, err := look(p, name, o)
	if err != nil {
		return nil, err
	}
	if o.Sheet != AnyPaper && v.misfit > notSheet && v.otherFits < v.misfit/2 {
		return nil, bad(name, "sheet", string(o.Sheet), "its sides have the proportion of "+string(v.other), "name the sheet that was used")
	}
	if fine := v.pxPerMM * float64(p.reduced); fine < minPxPerMM {
		return nil, bad(name, "photo", fmt.Sprintf("%.2g px/mm on the sheet", fine), fmt.Sprintf("at least %.2g px/mm", minPxPerMM),
			"take the photo from nearer or with more pixels, the sheet filling most of it")
	}
	return v, nil
}

func look(p *photo, name string, o Options) (*view, error) {
	if o.Corners != nil {
		return clicked(p, name, o)
	}
	var q search
	plain, flat, factor := searchPictures(&p.grey)
	q.among(p, o, candidates(&plain, factor))
	if q.best == nil || q.support < 0.75 {
		q.among(p, o, candidates(&flat, factor))
	}
	switch {
	case q.best != nil:
		return q.best, nil
	case q.alike:
		return nil, bad(name, "sheet", "", "A4 and Letter can't be told apart under this slant", "say which sheet it is")
	}
	if v := wholePage(p, o); v != nil {
		return v, nil
	}
	if q.cut {
		return nil, bad(name, "sheet", "", "it is cut off by the edge of the picture", "take the photo with all four corners of the sheet in view")
	}
	return nil, bad(name, "sheet", "", "no A4 or Letter sheet is found", "lay the white sheet on a darker plain ground with all four corners in view, or give its corners")
}

// A search holds what came of looking closely at candidates.
type search struct {
	best    *view
	score   float64
	support float64 // share of the best one's sides that lies on an edge
	alike   bool    // one could be either paper
	cut     bool    // one is a sheet that the picture's rim cuts
}

// among looks closely at the few best candidates: all four sides have to lie on edges.
func (q *search) among(p *photo, o Options, all []candidate) {
	const most, leastFill = 6, 0.6 // an insole that reaches over the sheet's edge takes much away
	band := 0.024 * lensOf(&p.grey).r
	var seen []candidate
	tried := 0
	for _, c := range all {
		if c.fill < leastFill || len(seen) == most {
			return
		}
		if c.touches > 0.01 {
			if !q.cut && c.touches < 0.5 && c.step > 0.1 && c.area > 0.12 && tried < most {
				tried++
				q.cut = halfASheet(&p.grey, c, band)
			}
			continue
		}
		if slices.ContainsFunc(seen, func(s candidate) bool { return same(s, c) }) {
			continue
		}
		seen = append(seen, c)
		sides, ok := fitSides(&p.grey, c.corners, band)
		if !ok {
			continue
		}
		v, err := newView(&p.grey, c.corners, &sides, o.Sheet, p.focalPx)
		q.alike = q.alike || errors.Is(err, errTooAlike)
		if err != nil || !v.inside(&p.grey) {
			continue
		}
		support := 1.0
		for i := range sides {
			support *= sides[i].support
		}
		if c.area*support > q.score {
			q.best, q.score, q.support = v, c.area*support, support
		}
	}
}

// halfASheet says whether two or three sides of a candidate lie on edges, as when the picture's rim cuts a sheet.
func halfASheet(g *grey, c candidate, band float64) bool {
	sides, _ := fitSides(g, c.corners, band)
	n := 0
	for _, s := range sides {
		if s.support >= 0.5 {
			n++
		}
	}
	return n >= 2
}

// same says whether two candidates will lead to the same sheet.
func same(a, b candidate) bool {
	size := math.Sqrt(math.Abs(area(a.corners[:])))
	for _, p := range a.corners {
		if !slices.ContainsFunc(b.corners[:], func(q Point) bool { return q.minus(p).norm() < 0.012*size }) {
			return false
		}
	}
	return true
}

// inside says whether all corners lie in the picture.
func (v *view) inside(g *grey) bool {
	return !slices.ContainsFunc(v.corners[:], func(c Point) bool {
		return c.X < -0.5 || c.Y < -0.5 || c.X > float64(g.w)+0.5 || c.Y > float64(g.h)+0.5
	})
}

// clickPx is how far a click may lie beside a corner, in px of a picture of 1000 px diagonal.
const clickPx = 8.0

// clicked fits the sheet to given corners: to the edges that lie close to their sides or, without, to the clicks.
func clicked(p *photo, name string, o Options) (*view, error) {
	c := *o.Corners
	mid := centre(c[:])
	for i := range c {
		if !c[i].finite() || c[i].X < -0.5 || c[i].Y < -0.5 || c[i].X > float64(p.wide)+0.5 || c[i].Y > float64(p.high)+0.5 {
			return nil, bad(name, "corners", fmt.Sprintf("%.4g, %.4g", c[i].X, c[i].Y), fmt.Sprintf("inside the picture of %d × %d px", p.wide, p.high), "click the four corners of the sheet")
		}
	}
	slices.SortFunc(c[:], func(a, b Point) int {
		return cmp.Compare(math.Atan2(a.Y-mid.Y, a.X-mid.X), math.Atan2(b.Y-mid.Y, b.X-mid.X))
	})
	for i := range c {
		c[i] = c[i].times(1 / float64(p.reduced))
	}
	if !convex(c) {
		return nil, bad(name, "corners", "", "they make no four-sided figure", "click the four corners of the sheet")
	}
	reach := clickPx / 1000 * 2 * lensOf(&p.grey).r
	var v *view
	err := errNoSheet
	if sides, ok := fitSides(&p.grey, c, reach); ok {
		v, err = newView(&p.grey, c, &sides, o.Sheet, p.focalPx)
		for i := range c {
			if err == nil && !slices.ContainsFunc(v.corners[:], func(q Point) bool { return q.minus(c[i]).norm() < 2*reach }) {
				err = errNoSheet
			}
		}
	}
	if errors.Is(err, errNoSheet) {
		if v, err = newView(&p.grey, c, nil, o.Sheet, p.focalPx); err == nil {
			v.clickMM = 2 / float64(p.reduced) / v.pxPerMM
		}
	}
	switch {
	case errors.Is(err, errTooAlike):
		return nil, bad(name, "sheet", "", "A4 and Letter can't be told apart under this slant", "say which sheet it is")
	case err != nil:
		return nil, bad(name, "corners", "", "they are not those of an A4 or Letter sheet", "click the four corners of the sheet")
	}
	return v, nil
}

// wholePage takes a flat scan whose picture has a sheet's proportion and a bright rim for the sheet itself.
func wholePage(p *photo, o Options) *view {
	w, h := float64(p.w), float64(p.h)
	proportion := max(w, h) / min(w, h)
	for _, paper := range Papers {
		long, short := paper.SizeMM()
		if o.Sheet != AnyPaper && o.Sheet != paper || math.Abs(proportion*short/long-1) > 0.008 {
			continue
		}
		if !brightRim(&p.grey) {
			continue
		}
		v, err := newView(&p.grey, [4]Point{{0, 0}, {w, 0}, {w, h}, {0, h}}, nil, paper, p.focalPx)
		if err != nil {
			continue
		}
		v.wholePage = true
		return v
	}
	return nil
}

// brightRim says whether the outermost hundredth of the picture is bright and even.
func brightRim(g *grey) bool {
	n := max(2, min(g.w, g.h)/100)
	var rim []float64
	for y := 0; y < g.h; y += 2 {
		for x := 0; x < g.w; x += 2 {
			if x < n || y < n || x >= g.w-n || y >= g.h-n {
				rim = append(rim, float64(g.v[y*g.w+x]))
			}
		}
	}
	slices.Sort(rim)
	return rim[len(rim)/20] > 0.55 && rim[len(rim)/20] > 0.8*rim[len(rim)/2]
}
