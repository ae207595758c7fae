package trace

import "math"

// paperMM is how far a sheet's sides are from their nominal length. ISO 216 allows 1.5 mm up to 150 mm and 2 mm up to
// 600 mm (from memory); office paper is cut much closer (common practice, no source).
const paperMM = 0.4

// scanShare is how far a flat scanner's scale may be off, when the sheet's own edges are not to be seen. Common practice,
// no source.
const scanShare = 0.005

// A spread is what the ± of a distance between two edges of an outline is made of, 95 of a hundred.
type spread struct {
	fixed   float64 // mm
	edge    float64 // mm: of one edge against its neighbours
	tone    float64 // mm: how far blur moves the outline's two edges, both inward or both outward
	sheet   float64 // mm: how far it moves those of the sheet, the same way
	share   float64 // of the distance, in every direction
	turn    float64 // of the outline's axis against the sheet's long side, rad
	between [2]float64
}

// errorOf sums up what is open about a distance on an outline whose axis lies at an angle (rad) to the sheet's long side.
func errorOf(v *view, line outline, turn, colourPx float64) spread {
	// The scatter of the points, faired over eleven of them: the middle weight is 0.21, so 0.46 of it is left; two edges,
	// twice sigma.
	noise := 2 * math.Sqrt2 * 0.46 * line.noiseMM
	pixel := (0.1 + colourPx*math.Sqrt2) / v.pxPerMM
	bow := v.bowMM + 0.15*v.lensMM
	e := spread{
		fixed: norm(noise, pixel, bow, v.noiseMM, math.Sqrt2*v.clickMM, 0.1*line.lineMM),
		sheet: 2 * toneShift(0.8) * v.blurMM, share: v.misfit / 2, turn: turn, between: [2]float64{v.long, v.short},
	}
	if line.lineMM == 0 {
		e.tone = 2 * toneShift(line.step) * line.blurMM
	}
	e.edge = norm(noise, pixel, e.tone/2)
	if v.wholePage {
		e.share = math.Hypot(e.share, scanShare)
	}
	return e
}

// along is the ± of a distance along the outline's axis, mm.
func (e spread) along(mm float64) float64 { return e.of(mm, e.turn) }

// across is that of one across it.
func (e spread) across(mm float64) float64 { return e.of(mm, e.turn+math.Pi/2) }

func (e spread) of(mm, turn float64) float64 {
	s, c := math.Sincos(turn)
	perMM := norm(c*c/e.between[0], s*s/e.between[1])
	return norm(e.fixed, e.tone+e.sheet*perMM*mm, e.share*mm, paperMM*perMM*mm)
}

func norm(v ...float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum)
}

// toneShift is how far blur may move the middle of an edge, as a share of its sigma, when the dark side is darker by step:
// the larger of what blur in linear light does, at the power 2.2 of a file's values, and blur of the values themselves.
func toneShift(step float64) float64 {
	dark := math.Pow(min(max(1-step, 0), 1), 1/toneCurve)
	half := math.Pow(max(1-step/2, 0.5), 1/toneCurve)
	most := 0.0
	for _, power := range []float64{1, 2.2} {
		d, h := math.Pow(dark, power), math.Pow(half, power)
		// The share of the step at the edge, as places on a Gaussian step near its middle.
		most = max(most, math.Abs((h-d)/(1-d)-0.5)*math.Sqrt(2*math.Pi))
	}
	return most
}
