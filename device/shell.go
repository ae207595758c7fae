package device

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// What the shape of the shell rests on besides the options. From memory unless said otherwise; all soft.
const (
	// The cup is narrower than the bare standing heel: it gathers the fat pad as a counter does.
	cupShareOfHeel = 0.86
	// Height of the heel's widest place over its lowest point, as a share of foot length (25 mm at 266).
	heelWaistShare = 0.094
	cupExponent    = 2.5
	archExponent   = 2.2
	// Top of the arch (medial) and the highest place of the lateral flange, shares of foot length from the back.
	archTopShare    = 0.43
	lateralTopShare = 0.36
	// The deepest line of the shell lifts under the arch by this share of the arch's height.
	archUnderBisection = 0.18
	// Below this share of foot length the arch's side gets no steeper.
	leastArchShare = 0.045
	// Share of the front edge's width that lies medial of the heel bisection.
	frontMedialShare = 0.51
	// Half width of the foot at the top of the arch, medial and lateral, as shares of foot breadth.
	archMedialShare  = 0.33
	archLateralShare = 0.355
	// How far the front edge falls back at its lateral and medial corner, shares of foot length: the metatarsal heads
	// stand in an arc.
	cornerLateralShare = 0.06
	cornerMedialShare  = 0.02
	frontEdgeMM        = 1.0  // thickness that the front edge is skived to
	frontCupMM         = 0.8  // hollow left across the front edge
	skiveShare         = 0.06 // of foot length
	rimBulge           = 0.25 // of the thickness: how far the rounded rim stands over the edges of its two faces
	rimRound           = 0.15 // of the thickness: width of the rounding at either face
	restMM             = 1.0  // least thickness that a flat build leaves under the heel
	openShare          = 0.4  // of the thickness: how far an open build grinds past the foot side
	barLeastMM         = 0.05 // a fore bar runs out on the underside of the cup to this thickness
)

// A shell is the thin sheet under the foot, as functions of place. Its foot side is a family of half profiles: in the
// heel they turn about the upright axis at X = c (the fan), forward of it each lies in a plane X = const (straight).
// The two join smoothly, since all that varies along X starts level at X = c.
type shell struct {
	o Options

	c, front          float64 // X of the fan's axis and of the front edge, mm
	radius, waistZ    float64 // widest place of the cup: half width, and height over its lowest point
	cutCup            float64 // height at which the foot side of the cup is cut
	z0, zf, slopeF    float64 // height of the foot side at heel and front edge; slope there
	level             float64 // X up to which the heel is level along the bisection
	archX, lateralX   float64
	lift              float64 // of the bisection under the arch
	cupT, midT        float64 // thickness in the cup and between cup and front edge
	tilt              float64 // radians, medial side up
	heel              halfProfile
	halfArch, halfEnd [2]float64 // half widths at the arch and at the front edge: medial, lateral
}

// A place names a half profile: in the fan by its angle u from +X (radians), otherwise by X (mm) and side, +1 medial
// and −1 lateral.
type place struct {
	fan  bool
	u    float64
	side float64
}

// newShell lays out the shell. wedgeX is the front end of the wedge's base.
func newShell(o Options, wedgeX float64) *shell {
	fl := o.FootLengthMM
	man := o.Sex != Woman
	sh := &shell{
		o:        o,
		front:    ballShare*fl - o.FrontTrimMM,
		radius:   o.HeelWidthMM * cupShareOfHeel / 2,
		waistZ:   heelWaistShare * fl,
		level:    math.Min(math.Max(wedgeX, 0.2*fl), 0.3*fl),
		archX:    archTopShare * fl,
		lateralX: lateralTopShare * fl,
		lift:     archUnderBisection * o.ArchHeightMM,
		midT:     o.ShellThicknessMM,
		cupT:     o.ShellThicknessMM,
		tilt:     o.TiltDeg * math.Pi / 180,
	}
	if o.Process == Formed {
		sh.cupT *= 1 - o.CupThinningPercent/100
	}
	// The rim's rounding stands over the foot side's edge: cut lower by as much.
	sh.cutCup = o.CupDepthMM
	for range 3 {
		_, _, dr, dz := cutProfile(sh.radius, sh.waistZ, cupExponent, sh.cutCup).at(1)
		sh.cutCup = o.CupDepthMM - sh.cupT*math.Max(rimBulge*dz-rimRound*dr, 0)/math.Hypot(dr, dz)
	}
	sh.heel = cutProfile(sh.radius, sh.waistZ, cupExponent, sh.cutCup)
	rho, _, dr, dz := sh.heel.at(1)
	n := math.Hypot(dr, dz)
	sh.c = rho + sh.cupT*math.Max(dz/n, (1-rimRound)*dz/n+rimBulge*dr/n)

	if o.grounded() {
		// Level far enough for the arch to lift the underside off the plane that it is ground to.
		sh.level = math.Max(wedgeLengthShare*fl, sh.c+0.12*fl)
	}

	breadth := footBreadthMM(man, fl)
	width := breadth - o.WidthTrimMM
	sh.halfEnd = [2]float64{width * frontMedialShare, width * (1 - frontMedialShare)}
	sh.halfArch = [2]float64{breadth * archMedialShare, breadth * archLateralShare}

	edge := math.Min(frontEdgeMM, sh.midT)
	slope := SeatAngleDeg(o.HeelRiseMM) * math.Pi / 180
	sh.zf = boardMM(o.HeelRiseMM, sh.front) + edge
	// The foot side falls on to the board's line by the skived thickness and 3°, so that of the underside only the
	// edge touches the board.
	sh.slopeF = math.Tan(slope-3*math.Pi/180) - (sh.midT-edge)/sh.skive()

	switch o.WedgeBuild {
	case Flat:
		sh.z0 = sh.rest()
		sh.lift = math.Max(sh.lift, sh.midT-sh.z0+1.5)
	case Open:
		sh.z0 = -math.Min(openShare*sh.cupT, sh.cupT-sh.rest())
		sh.lift = math.Max(sh.lift, sh.midT-sh.z0+1.5)
		sh.lift = math.Max(sh.lift, (0.4-sh.z0)/smooth((sh.level-sh.c)/(sh.archX-sh.c)))
	case ForeBar:
		sh.z0 = sh.cupT + barLeastMM + o.HeelRaiseMM
	default:
		sh.z0 = sh.cupT + o.WedgeMinThicknessMM + o.CapMM + o.HeelRaiseMM
	}
	return sh
}

// rest is the thickness that a flat build leaves under the heel.
func (sh *shell) rest() float64 { return math.Min(restMM, 0.5*sh.cupT) }

// deepest is the height of the foot side on the bisection.
func (sh *shell) deepest(x float64) float64 {
	if x <= sh.c {
		return sh.z0
	}
	return sh.sole(x) + sh.liftAt(x)
}

func (sh *shell) liftAt(x float64) float64 {
	return sh.lift * smooth((x-sh.c)/(sh.archX-sh.c)) * smooth((sh.front-x)/(sh.front-sh.archX))
}

// sole is deepest without the arch: level under the heel, then down to the board at the front edge.
func (sh *shell) sole(x float64) float64 {
	if x <= sh.level {
		return sh.z0
	}
	run := sh.front - sh.level
	t := (x - sh.level) / run
	return sh.z0 + (sh.zf-sh.z0)*t*t*(3-2*t) + run*sh.slopeF*t*t*(t-1)
}

// heelShare is how much of a lift of the heel arrives at X.
func (sh *shell) heelShare(x float64) float64 { return 1 - smooth((x-sh.level)/(sh.front-sh.level)) }

// skive is the length over which the front edge is thinned, no steeper than one in four.
func (sh *shell) skive() float64 {
	return math.Max(skiveShare*sh.o.FootLengthMM, 4*(sh.midT-math.Min(frontEdgeMM, sh.midT)))
}

// thickness is the thickness along the normal, mm.
func (sh *shell) thickness(x float64) float64 {
	fl := sh.o.FootLengthMM
	t := between(sh.cupT, sh.midT, (x-sh.c)/(0.15*fl))
	edge := math.Min(frontEdgeMM, sh.midT)
	return between(edge, t, (sh.front-x)/sh.skive())
}

// A station is a half profile of the straight part with all that it needs to be run through.
type station struct {
	x, side     float64
	profile     halfProfile
	width       float64
	deep        float64
	corner      float64 // how far the rim falls back
	power       float64 // of the falling back
	sinT, cosT  float64
	thicknessMM float64
}

func (sh *shell) station(x, side float64) station {
	fl := sh.o.FootLengthMM
	st := station{x: x, side: side, deep: sh.deepest(x), thicknessMM: sh.thickness(x)}
	heelHalf, _, _, _ := sh.heel.at(1)
	var top, flange, waist, p float64
	k := 0
	if side > 0 {
		top = sh.archX
		flange = math.Max(sh.o.ArchFlangeMM-sh.lift, 0.5)
		waist = math.Max(sh.o.ArchHeightMM-sh.lift, leastArchShare*fl)
		p = archExponent
		st.corner, st.power = cornerMedialShare*fl, 4
	} else {
		k = 1
		top = sh.lateralX
		flange = math.Max(sh.o.LateralFlangeMM-sh.liftAt(sh.lateralX), frontCupMM)
		waist = sh.waistZ
		p = cupExponent
		st.corner, st.power = cornerLateralShare*fl, 2
	}
	arch := sh.halfArch[k]
	if flange < waist {
		arch *= reach(p, flange/waist)
	}
	arch = math.Max(arch, heelHalf)
	var w, h, d, q float64
	if x <= top {
		t := (x - sh.c) / (top - sh.c)
		w, h = between(heelHalf, arch, t), between(sh.cutCup, flange, t)
		d, q = between(sh.waistZ, waist, t), between(cupExponent, p, t)
	} else {
		t := (x - top) / (sh.front - top)
		w, h = between(arch, sh.halfEnd[k], t), between(flange, frontCupMM, t)
		d, q = between(waist, sh.waistZ, t), between(p, cupExponent, t)
	}
	st.width = w
	st.profile = fitProfile(w, d, q, h)
	st.corner *= smooth((x - 0.45*fl) / (sh.front - 0.45*fl))
	st.sinT, st.cosT = math.Sincos(sh.tilt * sh.heelShare(x))
	return st
}

// at is the point of the foot side at s and its derivative by s.
func (st *station) at(s float64) (p, ds r3.Vec) {
	rho, z, dRho, dZ := st.profile.at(s)
	v := rho / st.width
	vq := math.Pow(v, st.power)
	y, dy := st.side*rho, st.side*dRho
	p = r3.Vec{
		X: st.x - st.corner*vq,
		Y: y*st.cosT - z*st.sinT,
		Z: st.deep + y*st.sinT + z*st.cosT,
	}
	ds = r3.Vec{Y: dy*st.cosT - dZ*st.sinT, Z: dy*st.sinT + dZ*st.cosT}
	if st.corner != 0 && v > 0 {
		ds.X = -st.corner * st.power * vq / v * dRho / st.width
	}
	return p, ds
}

// A runner runs through one half profile: it keeps what does not depend on s.
type runner struct {
	sh            *shell
	at            place
	mid, aft, fwd station
	sin, cos      float64
}

// stepMM is the step of the derivative along X; its error is below 1e-6 of the slope.
const stepMM = 1e-3

func (sh *shell) along(at place) runner {
	r := runner{sh: sh, at: at}
	if at.fan {
		r.sin, r.cos = math.Sincos(at.u)
		return r
	}
	r.mid = sh.station(at.u, at.side)
	r.aft, r.fwd = sh.station(at.u-stepMM, at.side), sh.station(at.u+stepMM, at.side)
	return r
}

// foot is the point of the foot side at s with its unit normal (towards the foot), and the unit tangent towards the rim.
func (r *runner) foot(s float64) (p, normal, tangent r3.Vec) {
	if r.at.fan {
		rho, z, dr, dz := r.sh.heel.at(s)
		n := math.Hypot(dr, dz)
		sinT, cosT := math.Sincos(r.sh.tilt)
		turned := func(radial, up float64) r3.Vec {
			y := radial * r.sin
			return r3.Vec{X: radial * r.cos, Y: y*cosT - up*sinT, Z: y*sinT + up*cosT}
		}
		p = r3.Add(r3.Vec{X: r.sh.c, Z: r.sh.z0}, turned(rho, z))
		return p, turned(-dz/n, dr/n), turned(dr/n, dz/n)
	}
	p, ds := r.mid.at(s)
	fwd, _ := r.fwd.at(s)
	aft, _ := r.aft.at(s)
	du := r3.Sub(fwd, aft)
	return p, r3.Unit(r3.Scale(r.at.side, r3.Cross(du, ds))), r3.Unit(ds)
}

// under is the point of the underside at s: the foot side offset along its normal by the thickness.
func (r *runner) under(s float64) r3.Vec {
	t := r.sh.cupT
	if !r.at.fan {
		t = r.mid.thicknessMM
	}
	p, n, _ := r.foot(s)
	return r3.Sub(p, r3.Scale(t, n))
}
