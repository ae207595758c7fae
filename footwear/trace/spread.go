package trace

import "math"

// paperMM is how far a sheet's sides are from their nominal length. ISO 216 allows 1.5 mm up to 150 mm and 2 mm up to
// 600 mm (from memory); office paper is cut much closer (common practice, no source).
const paperMM = 0.4

// scanShare is how far a flat scanner's scale may be off, when the sheet's own edges are not to be seen. Common practice,
// no source.
const scanShare = 0.005

// A spread is what the ± of a distance on the sheet is made of, 95 of a hundred.
type spread struct {
	fixed        float64 // mm, for two edges
	share        float64 // of the distance, in every direction
	long, square float64 // the same along the outline's axis and across it
}

// errorOf sums up what is open about a distance between two edges of an outline whose axis lies at an angle (rad) to the
// sheet's long side.
func errorOf(v *view, line outline, turn float64) spread {
	var e spread
	// The scatter of the points, faired over eleven of them: the middle weight is 0.21, so 0.46 of it is left; two edges,
	// twice sigma.
	noise := 2 * math.Sqrt2 * 0.46 * line.noiseMM
	// How blur moves an edge between linear light and the file's own values: a quarter of its sigma either way.
	tone := 2 * 0.25 * line.blurMM
	pixel := 0.1 / v.pxPerMM
	if line.lineMM > 0 {
		tone = 0.1 * line.lineMM
	}
	bow := v.bowMM + 0.35*v.lensMM
	e.fixed = math.Sqrt(noise*noise + tone*tone + pixel*pixel + bow*bow + v.noiseMM*v.noiseMM + 2*v.clickMM*v.clickMM)
	e.share = v.misfit / 2
	if v.wholePage {
		e.share = math.Hypot(e.share, scanShare)
	}
	edge := math.Hypot(paperMM, 2*0.25*v.blurMM)
	co, s := math.Cos(turn), math.Sin(turn)
	along, across := edge/v.long, edge/v.short
	e.long = math.Hypot(along*co*co, across*s*s)
	e.square = math.Hypot(along*s*s, across*co*co)
	return e
}

func (e spread) along(mm float64) float64  { return hypot3(e.fixed, e.share*mm, e.long*mm) }
func (e spread) across(mm float64) float64 { return hypot3(e.fixed, e.share*mm, e.square*mm) }

func hypot3(a, b, c float64) float64 { return math.Hypot(a, math.Hypot(b, c)) }
