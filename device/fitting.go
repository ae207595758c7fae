package device

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

// A layout is the shape of one device before it is cut into faces: the shell, the wedge fitted under it, and where the
// wedge's sides leave the underside.
type layout struct {
	o                 Options // with everything automatic filled in
	sh                *shell
	w                 *wedge // nil for a flat or open build
	tops              map[place]topPoint
	frontEnd, backEnd [2][]spot  // medial, lateral; from the side to the bisection
	behind            [2]float64 // fore bar: where the underside behind it is divided
}

// A topPoint is where the wedge's side leaves the underside, and the point of the base below it.
type topPoint struct {
	spot
	base   r3.Vec
	nx, ny float64
}

// Least sizes of a base; below, a bevel has eaten it away. Common practice, no source.
const (
	leastHalfBaseMM = 10.0 // to either side of the bisection
	leastBaseMM     = 25.0 // length of a block's base
	leastBarMM      = 8.0  // length of a bar's base
)

// lay fits the device together. The options must have passed the rules of the table; what only shows on the shape
// comes back as problems.
func lay(o Options) (*layout, problem.Problems) {
	o = filled(o)
	if o.grounded() {
		sh := newShell(o, 0)
		return &layout{o: o, sh: sh}, nil
	}
	autoWidth, autoStart := o.WedgeWidthMM == 0, o.WedgeStartMM == 0
	sh := newShell(o, o.WedgeLengthMM)
	width := 2 * wedgeWidthShare * sh.c
	for try := 0; ; try++ {
		if autoWidth {
			o.WedgeWidthMM = width
		}
		if autoStart {
			o.WedgeStartMM = math.Max(sh.c-math.Min(o.WedgeWidthMM/2, wedgeWidthShare*sh.c), 0)
		}
		l, ps := layWedge(o)
		if l != nil && autoStart && o.WedgeBuild == ForeBar {
			l.o.WedgeStartMM = 0 // a bar starts where its length says: it has no such option
		}
		if ps == nil || !autoWidth || try == 14 {
			return l, ps
		}
		width *= 0.97
	}
}

func layWedge(o Options) (*layout, problem.Problems) {
	sh := newShell(o, o.WedgeLengthMM)
	l := &layout{o: o, sh: sh, w: newWedge(o, sh), tops: map[place]topPoint{}}
	if ps := l.room(); ps != nil {
		return nil, ps
	}
	l.raise()
	var check bevelCheck
	for _, at := range l.wedgePlaces() {
		x, y, nx, ny := l.w.planAt(at)
		sp, ok := sh.underAt(at, x, y)
		if !ok || sp.s > 0.99 {
			return nil, problem.Problems{l.tooWide(at)}
		}
		t := topPoint{spot: sp, base: l.w.foot(sp.p, nx, ny), nx: nx, ny: ny}
		l.tops[at] = t
		check.add(l, t)
	}
	if ps := check.problems(l); ps != nil {
		return nil, ps
	}
	for k, side := range [2]float64{1, -1} {
		var ok bool
		if l.frontEnd[k], ok = l.w.endSpots(sh, l.w.toe, tanDeg(o.BevelFrontDeg), +1, side, innerSteps); !ok {
			return nil, problem.Problems{l.endOff("bevel_front_deg", o.BevelFrontDeg)}
		}
		if !l.w.bar {
			continue
		}
		if l.backEnd[k], ok = l.w.endSpots(sh, l.w.heel, tanDeg(o.BevelBackDeg), -1, side, innerSteps); !ok {
			return nil, problem.Problems{l.endOff("bevel_back_deg", o.BevelBackDeg)}
		}
		for _, sp := range l.backEnd[k] {
			if sp.p.X < sh.c+0.5 {
				return nil, problem.Problems{{
					Field: "wedge_bar_mm", Value: mm(o.WedgeBarMM),
					Limit: fmt.Sprintf("the bar's back would reach behind the heel's centre at %.1f mm", sh.c),
					Mend:  "shorten the bar, lengthen the wedge or lower bevel_back_deg",
				}}
			}
		}
		l.behind[k] = l.backEnd[k][0].s
	}
	if front := l.frontMost(); front > sh.front-5 {
		return nil, problem.Problems{l.endOff("wedge_length_mm", o.WedgeLengthMM)}
	}
	return l, nil
}

func tanDeg(deg float64) float64 { return math.Tan(deg * math.Pi / 180) }

func mm(v float64) string { return fmt.Sprintf("%.4g mm", v) }

func deg(v float64) string { return fmt.Sprintf("%.4g°", v) }

// wedgePlaces are the half profiles that carry a wedge.
func (l *layout) wedgePlaces() []place {
	var at []place
	from := l.sh.c
	if l.w.bar {
		from = l.w.heel
	} else {
		for i := 1; i < fanSteps; i++ {
			at = append(at, l.fanPlace(i))
		}
	}
	for _, side := range [2]float64{1, -1} {
		for _, x := range steps(from, l.w.toe, alongMM) {
			at = append(at, place{u: x, side: side})
		}
	}
	return at
}

// room checks that the wedge's plan can lie under the shell at all.
func (l *layout) room() problem.Problems {
	w, sh, o := l.w, l.sh, l.o
	var ps problem.Problems
	if w.bar {
		if w.heel < sh.c+2 {
			ps = append(ps, problem.Problem{
				Field: "wedge_bar_mm", Value: mm(o.WedgeBarMM),
				Limit: fmt.Sprintf("at most %.1f mm: a fore bar lies between the heel's centre (%.1f mm) and wedge_length_mm (%.4g mm)",
					math.Max(o.WedgeLengthMM-sh.c-2, 0), sh.c, o.WedgeLengthMM),
				Mend: "shorten the bar or lengthen the wedge",
			})
		}
	} else if w.toe < sh.c+5 {
		ps = append(ps, problem.Problem{
			Field: "wedge_length_mm", Value: mm(o.WedgeLengthMM),
			Limit: fmt.Sprintf("at least %.1f mm: a block carries the heel's centre", sh.c+5),
			Mend:  "lengthen the wedge or build a fore bar",
		})
	}
	if most := 0.45 * o.FootLengthMM; w.toe > most {
		ps = append(ps, problem.Problem{
			Field: "wedge_length_mm", Value: mm(o.WedgeLengthMM),
			Limit: fmt.Sprintf("at most %.1f mm, 45 %% of foot length", most), Mend: "shorten the wedge",
		})
	}
	if !w.bar && w.back < leastHalfBaseMM {
		ps = append(ps, problem.Problem{
			Field: "wedge_start_mm", Value: mm(o.WedgeStartMM),
			Limit: fmt.Sprintf("at most %.1f mm: a block begins behind the heel's centre", sh.c-leastHalfBaseMM),
			Mend:  "start further back or build a fore bar",
		})
	}
	return ps
}

func (l *layout) tooWide(at place) problem.Problem {
	if at.fan && l.w.back > l.w.half {
		return problem.Problem{
			Field: "wedge_start_mm", Value: mm(l.o.WedgeStartMM),
			Limit: "the back of the wedge must leave the cup below its rim",
			Mend:  "start further forward (0 is automatic) or deepen the cup",
		}
	}
	return problem.Problem{
		Field: "wedge_width_mm", Value: mm(l.o.WedgeWidthMM),
		Limit: fmt.Sprintf("the wedge must leave the cup below its rim, which is %.1f mm wide outside", 2*l.sh.c),
		Mend:  "narrow the wedge (0 is automatic) or deepen the cup",
	}
}

func (l *layout) endOff(field string, v float64) problem.Problem {
	value := deg(v)
	if field == "wedge_length_mm" {
		value = mm(v)
	}
	return problem.Problem{
		Field: field, Value: value,
		Limit: "the wedge's end must leave the shell behind its front edge and inside its rim",
		Mend:  "lower the bevel or shorten or narrow the wedge",
	}
}

// raise lifts the heel until the wedge is nowhere thinner than it must be.
func (l *layout) raise() {
	least := l.o.WedgeMinThicknessMM + l.o.CapMM
	if l.w.bar {
		least = barLeastMM
	}
	if l.w.riseL == 0 && l.w.riseM == 0 && l.o.TiltDeg == 0 && l.w.toe <= l.sh.level {
		return // flat base under a level cup: the deepest line decides, and it already stands right
	}
	places := l.wedgePlaces()
	for range 3 {
		lift := 0.0
		for _, at := range places {
			r := l.sh.along(at)
			for k := 0; k <= 24; k++ {
				p := r.under(float64(k) / 24)
				if math.Abs(p.Y) > l.w.half {
					continue
				}
				short := least - (p.Z - l.w.baseZ(p.Y))
				lift = math.Max(lift, short/math.Max(l.sh.heelShare(p.X), 0.2))
			}
		}
		l.sh.z0 += lift
		if lift < 1e-6 {
			return
		}
	}
}

// A bevelCheck finds what the bevels leave: the least base to either side, and the steepest bevel that does not cut
// into the cup (a side may not lean under the underside where it leaves it).
type bevelCheck struct {
	most      [3]float64 // tangent: medial, lateral, back
	half      [2]float64 // medial, lateral
	back      float64    // X of the base's back end
	folded    bool
	populated bool
}

const (
	atMedial = iota
	atLateral
	atBack
)

func (b *bevelCheck) add(l *layout, t topPoint) {
	if !b.populated {
		*b = bevelCheck{most: [3]float64{9, 9, 9}, half: [2]float64{1e9, 1e9}, back: 1e9, populated: true}
	}
	e := t.base
	if t.at.fan {
		b.back = math.Min(b.back, e.X)
		sin, cos := math.Sincos(t.at.u)
		if (e.X-l.sh.c)*cos+e.Y*sin < leastHalfBaseMM {
			b.folded = true
		}
	} else {
		k := sideIndex(t.at.side)
		b.half[k] = math.Min(b.half[k], t.at.side*e.Y)
	}
	which := atMedial
	switch {
	case t.nx*t.nx > 0.5:
		which = atBack
	case t.ny > 0:
		which = atLateral
	}
	r := l.sh.along(t.at)
	for _, share := range [3]float64{0.98, 0.9, 0.75} {
		p := r.under(t.s * share)
		drop, in := t.p.Z-p.Z, (p.X-t.p.X)*t.nx+(p.Y-t.p.Y)*t.ny
		if drop > 1e-6 && p.Z > e.Z {
			b.most[which] = math.Min(b.most[which], in/drop)
		}
	}
}

func (b *bevelCheck) problems(l *layout) problem.Problems {
	o := &l.o
	var ps problem.Problems
	bevels := [3]struct {
		field string
		value float64
	}{{"bevel_medial_deg", o.BevelMedialDeg}, {"bevel_lateral_deg", o.BevelLateralDeg}, {"bevel_back_deg", o.BevelBackDeg}}
	for k, bv := range bevels {
		lower := "narrow the wedge (wedge_width_mm)"
		if k == atBack {
			lower = "start the wedge further forward (wedge_start_mm)"
		}
		if tanDeg(bv.value) > 0.98*b.most[k] {
			ps = append(ps, problem.Problem{
				Field: bv.field, Value: deg(bv.value),
				Limit: fmt.Sprintf("at most %.0f°: more would grind into the cup where this wedge leaves it",
					math.Max(math.Floor(math.Atan(0.98*b.most[k])*180/math.Pi), 0)),
				Mend: "lower the bevel, or " + lower + " so that it leaves the cup lower",
			})
		}
	}
	for k, half := range b.half {
		if half < leastHalfBaseMM {
			ps = append(ps, problem.Problem{
				Field: bevels[k].field, Value: deg(bevels[k].value),
				Limit: fmt.Sprintf("leaves %.1f mm of base beside the bisection; at least %.0f mm", half, leastHalfBaseMM),
				Mend:  "lower the bevel, thin or widen the wedge",
			})
		}
	}
	length, least, field, v := l.w.toe-b.back, leastBaseMM, "bevel_back_deg", o.BevelBackDeg
	if l.w.bar {
		length, least, field, v = l.w.toe-l.w.heel, leastBarMM, "wedge_bar_mm", o.WedgeBarMM
	}
	if length < least || b.folded {
		value := deg(v)
		if l.w.bar {
			value = mm(v)
		}
		ps = append(ps, problem.Problem{
			Field: field, Value: value,
			Limit: fmt.Sprintf("leaves a base %.1f mm long; at least %.0f mm, %.0f mm of it behind the heel's centre", length, least, leastHalfBaseMM),
			Mend:  "lower the bevel, thin or lengthen the wedge",
		})
	}
	return ps
}
