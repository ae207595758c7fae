package trace

import (
	"context"
	"math"
	"slices"
)

// closingMM are the gaps, as half of them, over which a pencil line is taken to go on.
var closingMM = []float64{0.6, 1.5, 3}

// A pencil line is thinner than this, mm.
const mostLineMM = 4.0

// pencilOutline finds the middle of a closed line drawn on the sheet.
func pencilOutline(ctx context.Context, f *flat) (outline, failure, error) {
	f.makeCells()
	paper := f.paper(steepness[0], shadedRim, true)
	light := f.light(paper)
	if light == nil {
		return outline{}, nothing, nil
	}
	ratio := f.over(light, paper)
	dark := newGrey(f.w, f.h)
	for i, v := range ratio.v {
		dark.v[i] = 1 - v
	}
	smooth := dark.smoothed(0.2 * f.pxPerMM)
	// How dark the line is: the darkest thousandth of the sheet, which a line of half a millimetre always covers.
	sorted := slices.Clone(smooth.v)
	slices.Sort(sorted)
	peak := sorted[len(sorted)-1-len(sorted)/1000]
	spread := sorted[len(sorted)*3/4] - sorted[len(sorted)/4]
	level := max(0.3*peak, 3*spread)
	if level < 0.02 || level > 0.7*peak {
		return outline{}, nothing, nil
	}
	why := nothing
	for _, gap := range closingMM {
		if err := ctx.Err(); err != nil {
			return outline{}, nothing, err
		}
		loop, rim := enclosed(&smooth, level, gap*f.pxPerMM)
		if loop == nil {
			continue
		}
		o := lineOutline(&dark, loop, f.pxPerMM, gap, float64(level))
		switch {
		case !plausible(o.p) || o.contour < 0.6:
			continue
		case rim || f.reachesRim(o.p):
			why = atRim
			continue
		}
		return o, nothing, nil
	}
	return outline{}, why, nil
}

// enclosed is the border of what a dark line encloses with the line itself, grown by gap (px).
func enclosed(g *grey, level float32, gap float64) (loop []Point, rim bool) {
	on := make([]bool, len(g.v))
	for i, v := range g.v {
		on[i] = v > level
	}
	// Specks are not part of a line.
	labels, sizes := components(on, g.w, g.h)
	for i, l := range labels {
		if l >= 0 && float64(sizes[l]) < 8*gap {
			on[i] = false
		}
	}
	on = grown(on, g.w, g.h, int(math.Round(gap)))
	labels, sizes = components(inverse(on), g.w, g.h)
	// Outside is what hangs together with the rim.
	outside := make([]bool, len(sizes))
	for x := range g.w {
		for _, i := range []int{x, (g.h-1)*g.w + x} {
			if labels[i] >= 0 {
				outside[labels[i]] = true
			}
		}
	}
	for y := range g.h {
		for _, i := range []int{y * g.w, y*g.w + g.w - 1} {
			if labels[i] >= 0 {
				outside[labels[i]] = true
			}
		}
	}
	mask := newGrey(g.w, g.h)
	for i, l := range labels {
		if l < 0 || !outside[l] {
			mask.v[i] = 1
		}
	}
	soft := mask.smoothed(max(1, gap/2))
	rimmed := false
	for x := range g.w {
		for _, i := range []int{x, (g.h-1)*g.w + x} {
			rimmed = rimmed || soft.v[i] > 0.5
			soft.v[i] = 0
		}
	}
	for y := range g.h {
		for _, i := range []int{y * g.w, y*g.w + g.w - 1} {
			rimmed = rimmed || soft.v[i] > 0.5
			soft.v[i] = 0
		}
	}
	return widestLoop(contours(&soft, 0.5)), rimmed
}

// grown sets all within n cells along rows and columns.
func grown(on []bool, w, h, n int) []bool {
	row := make([]bool, len(on))
	for y := range h {
		last := -2*n - w
		for x := 0; x < w+n; x++ {
			if x < w && on[y*w+x] {
				last = x
			}
			if c := x - n; c >= 0 && last >= c-n {
				row[y*w+c] = true
			}
		}
	}
	out := make([]bool, len(on))
	for x := range w {
		last := -2*n - h
		for y := 0; y < h+n; y++ {
			if y < h && row[y*w+x] {
				last = y
			}
			if c := y - n; c >= 0 && last >= c-n {
				out[c*w+x] = true
			}
		}
	}
	return out
}

// lineOutline moves each point of a loop that runs outside of a line to the line's middle: the centre of its darkness.
func lineOutline(dark *grey, loop []Point, pxPerMM, gapMM, level float64) outline {
	base := spaced(loop, pitchMM*pxPerMM)
	base, _ = faired(base, 6)
	const sampleMM = 0.1
	before := int((gapMM + 1) / sampleMM)
	after := int((gapMM + mostLineMM) / sampleMM)
	prof := make([]float64, before+after+1)
	move := make([]float64, len(base))
	clear := make([]bool, len(base))
	var width []float64
	found := 0
	for i, p := range base {
		out := outward(base, i)
		along := out.normal().times(0.25 * pxPerMM)
		for k := range prof {
			q := p.plus(out.times(float64(before-k) * sampleMM * pxPerMM))
			prof[k] = (dark.at(q.X, q.Y) + dark.at(q.X+along.X, q.Y+along.Y) + dark.at(q.X-along.X, q.Y-along.Y)) / 3
		}
		at, w, ok := ridge(prof, 0.7*level)
		if !ok || w*sampleMM > mostLineMM {
			continue
		}
		move[i], clear[i] = (float64(before)-at)*sampleMM*pxPerMM, true
		width = append(width, w*sampleMM)
		found++
	}
	bridge(move, clear)
	steady(move, 0.4*pxPerMM)
	moved := make([]Point, len(base))
	for i, p := range base {
		moved[i] = p.plus(outward(base, i).times(move[i])).times(1 / pxPerMM)
	}
	fair, noise := faired(moved, 5)
	return outline{
		p: spaced(fair, pitchMM), noiseMM: noise, contour: float64(found) / float64(len(base)),
		lineMM: median(append(width, 0)[:max(len(width), 1)]),
	}
}

// ridge finds the first hump of a profile over a level, from the outside in: the centre of what lies over half its
// height, and its width there.
func ridge(prof []float64, level float64) (at, width float64, ok bool) {
	k := slices.IndexFunc(prof, func(v float64) bool { return v > level })
	if k < 0 {
		return 0, 0, false
	}
	top := k
	for i := k; i < len(prof) && prof[i] > level; i++ {
		if prof[i] > prof[top] {
			top = i
		}
	}
	half := prof[top] / 2
	lo, hi := top, top
	for lo > 0 && prof[lo-1] > half {
		lo--
	}
	for hi+1 < len(prof) && prof[hi+1] > half {
		hi++
	}
	if lo == 0 || hi == len(prof)-1 {
		return 0, 0, false
	}
	a := float64(lo) - (prof[lo]-half)/(prof[lo]-prof[lo-1])
	b := float64(hi) + (prof[hi]-half)/(prof[hi]-prof[hi+1])
	return (a + b) / 2, b - a, true
}
