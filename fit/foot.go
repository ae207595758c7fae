package fit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat/distuv"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A Foot is what is known of the foot. A zero value is filled from length and sex where that is possible.
type Foot struct {
	LengthMM       float64
	Sex            string  // "man" (also when empty), "woman", "child": which table the defaults come from
	AnkleHeightMM  float64 // lateral malleolus height
	InstepHeightMM float64 // no default: it does not follow from length (Hill et al. 2017, Appl Ergon 59:243)
	BallHeightMM   float64 // at the joints
	ToeHeightMM    float64 // no default
	BodyMassKG     float64
}

// Validate reports each value outside its limits.
func (f Foot) Validate() problem.Problems {
	var ps problem.Problems
	check := func(key string, v, lo, hi float64, unit string) {
		if v != 0 && !(v >= lo && v <= hi) { // also catches NaN
			ps = append(ps, problem.Problem{
				Field: key, Value: fmt.Sprintf("%g %s", v, unit), Limit: fmt.Sprintf("%g to %g %s", lo, hi, unit),
				Mend: "measure it again, or leave it out",
			})
		}
	}
	check("foot_length_mm", f.LengthMM, 90, 340, "mm")
	check("ankle_height_mm", f.AnkleHeightMM, 25, 110, "mm")
	check("instep_height_mm", f.InstepHeightMM, 25, 110, "mm")
	check("ball_height_mm", f.BallHeightMM, 15, 80, "mm")
	check("toe_height_mm", f.ToeHeightMM, 8, 50, "mm")
	check("body_mass_kg", f.BodyMassKG, 8, 250, "kg")
	switch f.Sex {
	case "", "man", "woman", "child":
	default:
		ps = append(ps, problem.Problem{Field: "sex", Value: f.Sex, Limit: "man, woman or child", Mend: "choose the table that the missing measures are taken from"})
	}
	return ps
}

// usualInsoleMM is the insole that a last's depth at the joints allows for (from memory).
const usualInsoleMM = 4

// filled sets what is missing from the foot's length: ANSUR II 2012 (Gordon et al., NATICK/TR-15/007; regressions and
// means computed from its public data): ankle height 33.89 + 0.1439·FL men, 31.42 + 0.1272·FL women; ball circumference
// in proportion 252.02/271.18 and 228.11/246.29; weight 85.52 and 67.76 kg. A last is joint girth / 5 deep at
// the joints (read), of which the foot has what its usual insole leaves. A child's ankle and ball follow the women's proportions, its weight grows with length³ (from memory).
func (f Foot) filled(deviceFootMM float64) Foot {
	if f.LengthMM == 0 {
		f.LengthMM = deviceFootMM
	}
	men := f.Sex == "" || f.Sex == "man"
	def := func(v *float64, m, w float64) {
		if *v == 0 {
			*v = w
			if men {
				*v = m
			}
		}
	}
	def(&f.AnkleHeightMM, 33.89+0.1439*f.LengthMM, 31.42+0.1272*f.LengthMM)
	def(&f.BallHeightMM, f.LengthMM*252.02/271.18/5-usualInsoleMM, f.LengthMM*228.11/246.29/5-usualInsoleMM)
	if f.Sex == "child" {
		def(&f.BodyMassKG, 0, 67.76*math.Pow(f.LengthMM/246.29, 3))
	}
	def(&f.BodyMassKG, 85.52, 67.76)
	return f
}

const heelLift = "heel_lift_mm"

// need is one question about the room above the device.
type need struct {
	key, name   string
	left, want  float64
	bad         float64 // left below this is blocked; between it and want is snug
	sigma       float64
	known       bool
	note        string
	notForState bool
}

// footRoom asks whether the foot still has its height and length above the settled device.
func (b *Bench) footRoom(d *device.Device, settled mesh.Pose, f Foot) []RoomCheck {
	r := b.Room
	top := footSide(d, settled)
	heelX := r.HeelStationMM()
	heelStack := top.stack(heelX, r.FloorZ(heelX)) - r.FloorZ(heelX)
	lift, liftLimit, liftNote := heelStack, 6.0, "in a low shoe about 6 mm"
	if !r.InsoleIn { // the foot stood on the insole before
		lift -= r.Sheet.V(footwear.InsoleHeel)
	}
	switch {
	case r.ToplineLateralMM() > 75:
		liftLimit, liftNote = 10, "in a boot about 10 mm"
	case r.Sheet.Closure == "slip-on":
		liftLimit, liftNote = 4, "in a slip-on 3 to 4 mm"
	}
	sheetH := 1.0 // heights repeat within about ±1 mm (soft)

	needs := []need{
		{
			key: heelLift, name: "heel lift",
			left: liftLimit - lift, want: 0, bad: -2, sigma: sheetH, known: true,
			note: fmt.Sprintf("the device lifts the heel by %.1f mm over what it stood on before; usual %s (common practice, no source)", lift, liftNote),
		},
		{
			key: "heel_inside_mm", name: "heel height inside the stiff counter",
			left: r.CounterTopMM() - heelStack, want: 30, bad: 20, sigma: sheetH, known: true,
			note: "the counter holds the heel; wanted heights are from memory, scaled for small feet",
		},
	}
	if s := f.LengthMM / 266; s < 0.9 { // counters of small shoes are lower in proportion
		needs[1].want *= s
		needs[1].bad *= s
	}
	ankle := f.AnkleHeightMM + heelStack - r.ToplineLateralMM()
	if ankle < -10 {
		needs = append(needs, need{
			key: "ankle_mm", name: "outer ankle bone against the topline", left: ankle, known: true, notForState: true,
			note: "the topline stands above the ankle bone, as in a boot: this question does not arise",
		})
	} else {
		needs = append(needs, need{
			key: "ankle_mm", name: "outer ankle bone above the topline", left: ankle, want: 5, bad: 3, sigma: math.Hypot(sheetH, ankleSigma(f)), known: true,
			note: "alarm when they come within 3 to 5 mm (from memory); ankle height entered, or from foot length (ANSUR II)",
		})
	}
	height := func(key, name string, x, foot float64, lack, note string) {
		left := r.FloorZ(x) + r.DepthMM(x) - top.stack(x, r.FloorZ(x))
		n := need{key: key, name: name, left: left, notForState: true, note: lack}
		if foot > 0 {
			n = need{key: key, name: name, left: left - foot, want: 0, bad: -r.GiveMM(footwear.Roof), sigma: math.Hypot(sheetH, 1.5), known: true, note: note}
		}
		needs = append(needs, n)
	}
	height("instep_mm", "height at the instep", r.InstepStationMM(), f.InstepHeightMM,
		"height left for the foot; instep height does not follow from foot length (Hill et al. 2017), so enter it", "instep height entered")
	height("ball_mm", "height at the ball joints", r.TreadStationMM(), f.BallHeightMM,
		"", "height at the joints entered, or joint girth / 5 less a usual insole, the girth from foot length (ANSUR II means)")
	height("toe_mm", "height at the toes", r.ToeDepthStationMM(), f.ToeHeightMM,
		"height left for the toes; enter the height of the big toe to judge it", "toe height entered")
	wantGap, badGap, gapNote := 10.0, 5.0, "adults 10 to 12 mm, warn below 10 mm, alert below 5 mm (Gonzalez Elena et al. 2019, BMC Musculoskelet Disord)"
	if f.Sex == "child" {
		wantGap, badGap, gapNote = 5, 3, "children 5 to 15 mm (Gonzalez Elena et al. 2019, BMC Musculoskelet Disord)"
	}
	needs = append(needs, need{
		key: "toe_gap_mm", name: "length in front of the toes", left: r.ToeTipXMM() - top.heelX - f.LengthMM,
		want: wantGap, bad: badGap, sigma: 1.5, known: true, note: gapNote,
	})

	blocked, sure := b.unsure.z()
	out := make([]RoomCheck, len(needs))
	for i, n := range needs {
		out[i] = RoomCheck{Key: n.key, Name: n.name, LeftMM: n.left, NeedMM: n.want, Note: n.note, Known: n.known, State: Clear, leastMM: n.bad, decides: !n.notForState}
		if n.notForState {
			continue
		}
		over := (n.left - n.bad) / n.sigma
		out[i].Odds = distuv.UnitNormal.CDF(over)
		switch {
		case over <= blocked:
			out[i].State = Blocked
		case over < sure:
			out[i].State = Unsure
		case n.left < n.want:
			out[i].State = Snug
		}
	}
	return out
}

func ankleSigma(f Foot) float64 {
	if f.AnkleHeightMM > 0 {
		return 1
	}
	return 5
}

// A surfaceTop is what carries the foot at a pose, cut along the heel bisection.
type surfaceTop struct {
	shell, cover []mesh.Polyline
	heelX        float64 // where the heel's rearmost point stands, if not further back than the counter
}

func footSide(d *device.Device, pose mesh.Pose) surfaceTop {
	along := mesh.Plane{Point: pose.Apply(r3.Vec{}), Normal: pose.Rotate(r3.Vec{Y: 1})}
	up := d.Rigid.Subset(func(f int) bool { return device.Feature(d.Rigid.Tag[f]) == device.FootSide })
	t := surfaceTop{shell: up.Transformed(pose).Section(along), heelX: math.Max(0, pose.Apply(r3.Vec{X: d.RimXMM - d.HeelHalfWidthMM}).X)}
	if d.CoverSolid != nil {
		t.cover = d.CoverSolid.Transformed(pose).Section(along)
	}
	return t
}

// heights are the lowest and the highest crossing of a cut with the vertical at X; ok is false where it has none.
func heights(cut []mesh.Polyline, x float64) (lo, hi float64, ok bool) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, pl := range cut {
		n := len(pl.P)
		if !pl.Closed {
			n--
		}
		for i := range n {
			a, b := pl.P[i], pl.P[(i+1)%len(pl.P)]
			if a.X > b.X {
				a, b = b, a
			}
			if x < a.X || x > b.X || b.X == a.X {
				continue
			}
			z := a.Z + (b.Z-a.Z)*(x-a.X)/(b.X-a.X)
			lo, hi = math.Min(lo, z), math.Max(hi, z)
		}
	}
	return lo, hi, hi >= lo
}

// stack is the height that the foot stands at over X: the shell, or the floor where there is none, and the cover on it.
func (t surfaceTop) stack(x, floorZ float64) float64 {
	z := floorZ
	if _, hi, ok := heights(t.shell, x); ok {
		z = math.Max(z, hi)
	}
	if lo, hi, ok := heights(t.cover, x); ok {
		z += hi - lo
	}
	return z
}
