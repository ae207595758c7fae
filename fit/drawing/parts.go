package drawing

import (
	"math"

	"lastroom/device"
)

func isWedge(tag uint8) bool {
	switch device.Feature(tag) {
	case device.WedgeBase, device.WedgeMedialSide, device.WedgeLateralSide, device.WedgeBackSide,
		device.WedgeFrontSide, device.Cap:
		return true
	}
	return false
}

// wedgeParts are the areas of an outline that belong to wedge and cap. Shell and wedge are one solid, so its section
// has no line between them; the line is drawn where the shell's underside goes on under the wedge: along the foot side,
// at the shell's thickness at either end of the wedge's outline.
func wedgeParts(l *loop) [][]Pt {
	n := len(l.P)
	if !l.Closed || n < 3 {
		return nil
	}
	start := -1 // a segment that is not wedge
	for i := range n {
		if !isWedge(l.tag(i)) {
			start = i
			break
		}
	}
	if start < 0 {
		return [][]Pt{l.P}
	}
	var out [][]Pt
	for k := 1; k <= n; k++ {
		i := (start + k) % n
		if !isWedge(l.tag(i)) {
			continue
		}
		run := []Pt{l.P[i]}
		for isWedge(l.tag((start + k) % n)) {
			run = append(run, l.P[(start+k+1)%n])
			k++
		}
		if len(run) > 2 || len(run) == 2 && run[0] != run[1] {
			out = append(out, append(run, underside(l, run[len(run)-1], run[0])...))
		}
	}
	return out
}

// underside is the line from a to b inside the outline that keeps from its foot side, going evenly from a's distance
// to b's. Without a foot side it is empty: the straight line.
func underside(l *loop, a, b Pt) []Pt {
	n := len(l.P)
	var foot []int // indices of the points of the foot side's longest run, in order
	var run []int
	for k := range 2 * n {
		i := k % n
		if device.Feature(l.tag(i)) != device.FootSide {
			run = nil
			continue
		}
		if run = append(run, i); len(run) > len(foot) && len(run) <= n {
			foot = append([]int(nil), run...)
		}
	}
	if len(foot) < 3 {
		return nil
	}
	at := func(p Pt) (int, float64) {
		best, d := 0, math.Inf(1)
		for k, i := range foot {
			q := l.P[i].sub(p)
			if h := math.Hypot(q.U, q.V); h < d {
				best, d = k, h
			}
		}
		return best, d
	}
	ka, da := at(a)
	kb, db := at(b)
	step := 1
	if kb < ka {
		step = -1
	}
	var out []Pt
	for k := ka; k != kb; k += step {
		if k == 0 || k == len(foot)-1 {
			continue
		}
		t := math.Abs(float64(k-ka)) / math.Abs(float64(kb-ka))
		dir := l.P[foot[k+1]].sub(l.P[foot[k-1]])
		length := math.Hypot(dir.U, dir.V)
		if length == 0 {
			continue
		}
		out = append(out, l.P[foot[k]].add(dir.left().scale((da+(db-da)*t)/length)))
	}
	return out
}

// footLines are the lines that carry the foot: the upper side of the cover where there is one, else the foot side of
// the shell. From above there is none: the whole drawing looks at it.
func footLines(v View, rigid, cover []loop) [][]Pt {
	if v == Above {
		return nil
	}
	var out [][]Pt
	for i := range cover {
		// A counterclockwise outline runs to the left along its upper side.
		out = append(out, runs(&cover[i], func(a, b Pt, _ uint8) bool { return b.U < a.U && a.U-b.U > math.Abs(a.V-b.V)/3 })...)
	}
	if len(out) > 0 {
		return out
	}
	for i := range rigid {
		out = append(out, runs(&rigid[i], func(_, _ Pt, tag uint8) bool { return device.Feature(tag) == device.FootSide })...)
	}
	return out
}

// runs are the longest stretches of a loop whose segments all hold the test.
func runs(l *loop, test func(a, b Pt, tag uint8) bool) [][]Pt {
	var out [][]Pt
	var open []Pt
	l.segments(func(a, b Pt, tag uint8) {
		if !test(a, b, tag) {
			if len(open) > 1 {
				out = append(out, open)
			}
			open = nil
			return
		}
		if open == nil {
			open = []Pt{a}
		}
		open = append(open, b)
	})
	if len(open) > 1 {
		if l.Closed && len(out) > 0 && out[0][0] == open[len(open)-1] {
			out[0] = append(open, out[0][1:]...)
		} else {
			out = append(out, open)
		}
	}
	return out
}
