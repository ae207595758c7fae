package footwear

import (
	"fmt"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// Exponents of the arch: from a roof that rises almost straight to its ridge to one that is almost a box.
const (
	leastFullness = 1.05
	mostFullness  = 9.0
)

// solveGirths finds how full the arch is at the instep and at the tread line, so that a tape round the inside there
// reads the sheet's girths. The girth grows with the fullness. The insole does not count: girths are the bare shoe's.
func (f *form) solveGirths() error {
	bare := *f
	bare.insoleIn = false
	u := *f.upper
	bare.upper = &u
	solve := func(id MeasureID, x float64, set func(n float64)) (float64, error) {
		girth := func(n float64) float64 {
			set(n)
			return bare.girthAt(x)
		}
		lo, hi := girth(leastFullness), girth(mostFullness)
		want := f.sheet.V(id)
		if want < lo || want > hi {
			return 0, problem.Problem{
				Field: id.String(), Value: fmt.Sprintf("%.4g mm", want),
				Limit: fmt.Sprintf("%.0f to %.0f mm with the width and depth there", lo, hi),
				Mend:  "check the girth against the widths and the depth, one of them was taken elsewhere",
			}
		}
		return root(leastFullness, mostFullness, func(n float64) float64 { return girth(n) - want }), nil
	}
	ball, err := solve(BallGirth, f.tread, func(n float64) { u.setFullness(f.outline, 2.2, n) })
	if err != nil {
		return err
	}
	instep, err := solve(InstepGirth, f.instep, func(n float64) { u.setFullness(f.outline, n, ball) })
	if err != nil {
		return err
	}
	f.setFullness(f.outline, instep, ball)
	return nil
}

// girthAt is the length of a tape round the section at X.
func (f *form) girthAt(x float64) float64 {
	var pts [][2]float64
	for _, side := range []float64{1, -1} {
		p := f.newHalf(sideRay(x, side))
		add := func(n int, at func(v float64) point2) {
			for i := range n + 1 {
				q := at(float64(i) / float64(n))
				pts = append(pts, [2]float64{side * q.r, q.z})
			}
		}
		add(16, p.fillet.at)
		add(32, p.side)
		add(64, p.top)
	}
	return mesh.Perimeter2(mesh.ConvexHull2(pts))
}
