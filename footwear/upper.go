package footwear

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/interp"
)

// An upper is what closes the room over the floor: how high the widest place lies, how high the crest, how full the
// arch between them, and where the topline runs. Heights are over the board (mm), by X (mm).
type upper struct {
	shoulder *interp.PiecewiseCubic // height of the widest place
	cone     *interp.PiecewiseCubic // height of the crest of the last; behind the instep it rises into the leg
	fullness *interp.PiecewiseCubic // exponent of the arch
	toeFull  float64                // the same at the toe tip

	throat   float64 // X where the opening ends in front
	lidBlend float64 // X from which the lid over the opening is the last's crest
	medial   *interp.PiecewiseCubic
	lateral  *interp.PiecewiseCubic // topline
}

// boot says whether the topline stands higher than the instep, so that the upper closes before the leg.
func (s *Sheet) boot() bool {
	return 0.5*(s.V(ToplineMedial)+s.V(ToplineLateral)) > 1.1*s.V(DepthInstep)
}

// throatOf is where the opening ends in front, as a share of the last's length, and how wide it is there as a share
// of the inside width. Common practice, no source.
func throatOf(s *Sheet) (share, width float64) {
	low := strings.Contains(s.Kind, "ballet") || strings.Contains(s.Kind, "court shoe")
	switch {
	case s.boot():
		return 0.40, 0.5
	case low:
		return 0.62, 0.8
	case s.Closure == "slip-on":
		return 0.56, 0.65
	case s.Closure == "strap" || s.Closure == "buckle":
		return 0.54, 0.6
	}
	return 0.48, 0.45
}

// underShare is how far the wall at the board stands inside its widest place, as a share of the height of that: the
// parabola between them leans out 24° at its foot. Common practice, no source.
const underShare = 0.22

// newUpper makes the upper but for its fullness at instep and tread line, which follows from the girths.
func newUpper(s *Sheet, o *outline, backTop float64) (*upper, error) {
	u := &upper{}
	depthIn, depthBall, depthToe := s.V(DepthInstep), s.V(DepthBall), s.V(DepthToe)
	if depthToe >= depthBall+5 {
		return nil, contradiction(DepthToe, s, fmt.Sprintf("less than 5 mm over the depth at the ball, %.4g mm", depthBall), "check the depths at ball and toes")
	}
	toeX := o.last - toeDepthBackMM
	rim := s.V(FeatherForefoot) + 3
	u.shoulder = newCurve([]float64{o.heel, o.instep, o.tread, toeX, o.last},
		[]float64{0.32 * depthIn, 0.32 * depthIn, math.Max(0.24*depthBall, rim), math.Max(0.42*depthToe, rim), math.Max(0.40*depthToe, rim)}, 0, free)

	// The toe: the arch ends at the toe tip; find the crest at which it is as deep as measured 20 mm behind.
	u.toeFull = toeShapeOf(s).roof
	tip := u.shoulder.Predict(o.last)
	eta := (toeX - o.tread) / (o.last - o.tread)
	crest := tip + (depthToe-tip)/arch(eta, u.toeFull)

	top := math.Max(s.V(ToplineMedial), s.V(ToplineLateral))
	share, open := throatOf(s)
	u.throat = share * o.last
	slope := math.Max((depthIn-depthBall)/(o.tread-o.instep), 0.05)
	xs := []float64{o.heel, o.ankle}
	ys := []float64{math.Max(2*math.Max(top, backTop), depthIn+20), math.Max(1.5*top, depthIn+10)}
	if s.boot() {
		xs, ys = append(xs, u.throat), append(ys, math.Max(1.04*top, depthIn+slope*(o.instep-u.throat)))
	}
	xs = append(xs, o.instep, o.tread, toeX, o.last)
	ys = append(ys, depthIn, depthBall, crest, math.Max(crest-0.15*toeDepthBackMM, tip))
	u.cone = newCurve(xs, ys, free, free)
	u.lidBlend = math.Min(u.throat, o.instep)
	u.setFullness(o, 2.2, 2.2)

	// The topline: level with the measured heights at the back and below the ankle, then to the throat.
	at := func(height float64) float64 {
		if s.boot() {
			return height
		}
		h := u.shoulder.Predict(u.throat)
		return h + (u.cone.Predict(u.throat)-h)*arch(open, u.fullness.Predict(u.throat))
	}
	back := s.V(BackCurveTop)
	line := func(id MeasureID) *interp.PiecewiseCubic {
		return newCurve([]float64{back, o.ankle, u.throat}, []float64{backTop, s.V(id), at(s.V(id))}, free, free)
	}
	u.medial, u.lateral = line(ToplineMedial), line(ToplineLateral)
	return u, nil
}

func (u *upper) setFullness(o *outline, instep, ball float64) {
	u.fullness = newCurve([]float64{o.heel, o.instep, o.tread}, []float64{2.2, instep, ball}, 0, 0)
}

// arch is the height of |q|^n + p^n = 1 over the place q from the middle, both as shares.
func arch(q, n float64) float64 {
	return math.Pow(math.Max(1-math.Pow(math.Min(math.Abs(q), 1), n), 0), 1/n)
}

// topline is the height of the topline over the board at X behind the throat.
func (u *upper) topline(x float64, medial bool) float64 {
	if medial {
		return u.medial.Predict(x)
	}
	return u.lateral.Predict(x)
}

// edge is the height where the wall ends and the lid or roof begins: the topline behind the throat, from there falling
// to the widest place.
func (u *upper) edge(o *outline, x float64, medial bool) float64 {
	if x <= u.throat {
		return u.topline(x, medial)
	}
	s := u.shoulder.Predict(u.throat)
	share := (u.topline(u.throat, medial) - s) / (u.cone.Predict(u.throat) - s)
	share *= 1 - smoothStep(x, u.throat, math.Min(u.throat+60, o.tread))
	return mix(u.shoulder.Predict(x), u.cone.Predict(x), share)
}

// crest is the height of the closed surface over the spine: the last's crest from the instep or throat forward; behind
// it, the lid a little over the topline.
func (u *upper) crest(o *outline, x float64) float64 {
	cone := u.cone.Predict(x)
	if x >= u.lidBlend {
		return cone
	}
	lid := math.Max(u.topline(x, true), u.topline(x, false)) + 4
	return mix(lid, cone, smoothStep(x, o.ankle, u.lidBlend))
}
