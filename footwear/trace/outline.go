package trace

import (
	"context"
	"math"
	"slices"
)

// An outline is a closed line on the sheet, mm from its first corner, turning from the long side to the short one.
type outline struct {
	p       []Point
	noiseMM float64 // scatter of its points along their normals, mm
	blurMM  float64 // softness of the edge, sigma, mm
	contour float64 // share of its points at which a clear step was found
	step    float64 // difference in brightness over the edge where it is large, as a share of the paper's
	lineMM  float64 // width of the pencil line, 0 without
}

// pitchMM is the distance between an outline's points.
const pitchMM = 0.5

// Bounds of what an insole can be, mm and shares: from an infant's to the largest shoe on the sheet.
const (
	leastLengthMM = 85.0
	leastSlender  = 0.2  // width by length
	mostSlender   = 0.75 //
	leastSolid    = 0.85 // area by that of its convex hull
)

// plausible says whether a closed line may be the outline of an insole.
func plausible(p []Point) bool {
	if len(p) < 8 {
		return false
	}
	a, h := math.Abs(area(p)), hull(p)
	long, wide := extents(h)
	return long >= leastLengthMM && wide > leastSlender*long && wide < mostSlender*long && a > leastSolid*math.Abs(area(h))
}

// extents are length along the direction in which a convex polygon is longest, and width square to it.
func extents(h []Point) (long, wide float64) {
	var dir Point
	for i, a := range h {
		for _, b := range h[i+1:] {
			if d := b.minus(a).norm(); d > long {
				long, dir = d, b.minus(a).unit()
			}
		}
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range h {
		lo, hi = min(lo, dir.cross(p)), max(hi, dir.cross(p))
	}
	return long, hi - lo
}

// failure says why no outline was found.
type failure int

const (
	nothing failure = iota // nothing of an insole's shape
	atRim                  // what there is reaches the sheet's edge
)

// Half way between paper (0) and insole (1) is where its outline is first looked for: that keeps shadows beside it out.
// An insole of two shades is looked for half way to the paler one, too, and taken when that adds much area.
const (
	halfway  = 0.5
	paleGain = 1.15
)

// insoleOutline finds a body that lies on the sheet: darker or brighter than paper.
func insoleOutline(ctx context.Context, f *flat) (outline, failure, error) {
	f.makeCells()
	o, why, err := f.bestBody(ctx, litRim)
	if len(o.p) == 0 && err == nil {
		// A shadow with a hard edge lies over a part of the rim, perhaps.
		if shaded, _, err := f.bestBody(ctx, shadedRim); err != nil || len(shaded.p) > 0 {
			return shaded, nothing, err
		}
	}
	return o, why, err
}

// bestBody is the clearest outline over all steepnesses of shadows, with paper followed from where the rim is at least so
// bright.
func (f *flat) bestBody(ctx context.Context, rimShare float64) (outline, failure, error) {
	var best outline
	var last []bool
	bestScore, bestArea, why := 0.0, 0.0, nothing
	for _, tol := range steepness {
		if err := ctx.Err(); err != nil {
			return outline{}, nothing, err
		}
		paper := f.paper(tol, rimShare, false)
		if slices.Equal(paper, last) {
			continue
		}
		last = paper
		dark, step, pale, rim := f.darkness(paper)
		if rim {
			why = atRim
		}
		if step == 0 {
			continue
		}
		smooth := dark.smoothed(0.35 * f.pxPerMM)
		o, ok := f.bodyAt(dark, &smooth, halfway)
		if pale < 0.8 {
			if both, found := f.bodyAt(dark, &smooth, pale/2); found && (!ok || math.Abs(area(both.p)) > paleGain*math.Abs(area(o.p))) {
				o, ok = both, true
			}
		}
		if !ok {
			continue
		}
		if f.reachesRim(o.p) {
			why = atRim
			continue
		}
		// The outline of an insole has a clear step nearly all round; that of a shadow or of half an insole has not. A part
		// of an insole is smaller than the whole.
		a := area(o.p)
		score := o.contour * a / area(hull(o.p))
		if a > paleGain*bestArea && score > 0.9*bestScore || score > 1.02*bestScore && paleGain*a > bestArea {
			o.step *= math.Abs(step)
			best, bestScore, bestArea = o, score, a
		}
	}
	if bestScore == 0 || best.contour < 0.6 {
		return outline{}, why, nil
	}
	return best, nothing, nil
}

// darkness is 0 on paper and 1 on the largest thing that is not paper; step is the difference in brightness between the
// two, as a share of the paper's, 0 when there is none; pale is the darkness of that thing's paler part. rim: it reaches
// the sheet's edge.
func (f *flat) darkness(paper []bool) (dark *grey, step, pale float64, rim bool) {
	light := f.light(paper)
	if light == nil {
		return nil, 0, 0, false
	}
	part, rim := f.largest(inverse(paper))
	if float64(len(part))*cellMM*cellMM < leastLengthMM*leastLengthMM*leastSlender*0.7 {
		return nil, 0, 0, false
	}
	ratio := f.over(light, paper)
	var inside []float64
	for _, i := range part {
		within := true
		for _, j := range neighbours(i, f.cw, f.ch) {
			within = within && j >= 0 && !paper[j]
		}
		if within {
			inside = append(inside, 1-f.level[i]/max(light[i], 0.01))
		}
	}
	if len(inside) == 0 {
		return nil, 0, 0, rim
	}
	step = median(inside)
	if math.Abs(step) < max(0.03, 2*ratio.noise) {
		return nil, 0, 0, rim
	}
	for i, v := range ratio.v {
		ratio.v[i] = (1 - v) / float32(step)
	}
	for i := range inside {
		inside[i] /= step
	}
	slices.Sort(inside)
	const palest = 6 // the paler sixth, its middle
	pale = max(inside[len(inside)/(2*palest)], 6*ratio.noise/math.Abs(step))
	return &ratio.grey, step, pale, rim
}

// bodyAt is the outline of the largest thing over a level of darkness; false when that is no insole's.
func (f *flat) bodyAt(dark, smooth *grey, level float64) (outline, bool) {
	loop := widestLoop(contours(smooth, float32(level)))
	if loop == nil {
		return outline{}, false
	}
	rough := make([]Point, len(loop))
	for i, p := range loop {
		rough[i] = p.times(1 / f.pxPerMM)
	}
	if !plausible(rough) {
		return outline{}, false
	}
	o := edgeOutline(dark, loop, f.pxPerMM, 0.8*level)
	return o, plausible(o.p)
}

func inverse(on []bool) []bool {
	out := make([]bool, len(on))
	for i, v := range on {
		out[i] = !v
	}
	return out
}

// reachesRim says whether the outline touches the strip along the sheet's edges.
func (f *flat) reachesRim(p []Point) bool {
	const near = rimMM + 0.6
	w, h := float64(f.w)/f.pxPerMM, float64(f.h)/f.pxPerMM
	return slices.ContainsFunc(p, func(q Point) bool {
		return q.X < near || q.Y < near || q.X > w-near || q.Y > h-near
	})
}

// edgeOutline moves each point of a rough loop (px) along its normal to where the picture is halfway between the level
// inside and that outside, both taken close by, where they differ by leastStep, and fairs the result (mm).
func edgeOutline(dark *grey, loop []Point, pxPerMM, leastStep float64) outline {
	base := spaced(loop, pitchMM*pxPerMM)
	base, _ = faired(base, 4)
	const reachMM, sampleMM = 2.6, 0.1
	n := int(reachMM / sampleMM)
	prof := make([]float64, 2*n+1)
	move := make([]float64, len(base))
	clear := make([]bool, len(base))
	var blur, steps []float64
	found := 0
	for i, p := range base {
		out := outward(base, i)
		along := out.normal().times(0.25 * pxPerMM)
		for k := range prof {
			q := p.plus(out.times(float64(k-n) * sampleMM * pxPerMM))
			prof[k] = (dark.at(q.X, q.Y) + dark.at(q.X+along.X, q.Y+along.Y) + dark.at(q.X-along.X, q.Y-along.Y)) / 3
		}
		third := len(prof) / 3
		in, beyond := median(prof[:third]), median(prof[2*third:])
		if in-beyond < leastStep {
			continue
		}
		at, wide, ok := crossing(prof, (in+beyond)/2, n)
		if !ok {
			continue
		}
		move[i], clear[i] = (at-float64(n))*sampleMM*pxPerMM, true
		blur, steps = append(blur, (in-beyond)*wide*sampleMM), append(steps, in-beyond)
		found++
	}
	bridge(move, clear)
	steady(move, 0.4*pxPerMM)
	moved := make([]Point, len(base))
	for i, p := range base {
		moved[i] = p.plus(outward(base, i).times(move[i])).times(1 / pxPerMM)
	}
	fair, noise := faired(moved, 5)
	o := outline{p: spaced(fair, pitchMM), noiseMM: noise, contour: float64(found) / float64(len(base))}
	if len(blur) > 0 {
		o.blurMM = median(blur) / math.Sqrt(2*math.Pi)
		slices.Sort(steps)
		o.step = steps[len(steps)*9/10]
	}
	return o
}

// crossing is where a profile falls through a level nearest to a sample, and one over its slope there.
func crossing(prof []float64, level float64, near int) (at, perSlope float64, ok bool) {
	best := math.Inf(1)
	for k := 0; k+1 < len(prof); k++ {
		if prof[k] < level || prof[k+1] >= level {
			continue
		}
		x := float64(k) + (prof[k]-level)/(prof[k]-prof[k+1])
		if d := math.Abs(x - float64(near)); d < best {
			best, at, ok = d, x, true
			lo, hi := max(0, k-2), min(len(prof)-1, k+3)
			perSlope = float64(hi-lo) / max(prof[lo]-prof[hi], 1e-6)
		}
	}
	return at, perSlope, ok
}

// bridge fills the values that are not known between those that are, round a closed line.
func bridge(v []float64, known []bool) {
	first := slices.Index(known, true)
	if first < 0 {
		return
	}
	n := len(v)
	last := first
	for k := 1; k <= n; k++ {
		i := (first + k) % n
		if !known[i] {
			continue
		}
		gap := (i - last + n - 1) % n
		for j := 1; j <= gap; j++ {
			t := float64(j) / float64(gap+1)
			v[(last+j)%n] = v[last]*(1-t) + v[i]*t
		}
		last = i
	}
}

// steady replaces values that stand out from the median of their neighbours by it.
func steady(v []float64, limit float64) {
	old := slices.Clone(v)
	const reach = 5
	near := make([]float64, 2*reach+1)
	for i := range v {
		for k := range near {
			near[k] = old[(i+k-reach+len(v))%len(v)]
		}
		if m := median(near); math.Abs(old[i]-m) > limit {
			v[i] = m
		}
	}
}
