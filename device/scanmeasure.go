package device

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A sideFit is the side of a wedge as a surface: across = at + along·u + bend·u² + lean·z, u along the side.
type sideFit struct {
	at, along, bend, lean float64
	highMM                float64 // mean, along its slope
	sigma                 float64 // scatter of the faces, mm
	leanSE                float64 // standard error of lean from it
	ok                    bool
}

func (f sideFit) across(u, z float64) float64 { return f.at + f.along*u + f.bend*u*u + f.lean*z }

// fitSide fits the faces of one feature that pick chooses; pick gives the coordinates across and along the side and the
// height over the base. Evening out lays the edges of a side down, so the faces are taken where they lay before, and
// those near the base's and the shell's edge are left out.
func (m *featureMap) fitSide(f Feature, bent bool, pick func(p r3.Vec) (across, along, height float64, ok bool)) sideFit {
	var rows, inner []sideRow
	lo, hi, area := math.Inf(1), math.Inf(-1), 0.0
	edge := 0.0
	if m.restMM > 0 {
		edge = 0.5 + 2*m.restMM
	}
	for i := range m.s.centre {
		if m.tag[i] != f {
			continue
		}
		p := m.s.rawCentre(i)
		y, u, z, ok := pick(p)
		if !ok {
			continue
		}
		r := sideRow{y, u, z, m.s.area[i]}
		rows = append(rows, r)
		lo, hi, area = min(lo, u), max(hi, u), area+r.w
		if p.Z-m.baseZ(p) > edge && m.far[i] > m.thin.mm(p.X)+edge {
			inner = append(inner, r)
		}
	}
	if len(inner) >= 16 {
		rows = inner
	}
	s := fitRows(rows, bent)
	for range 3 { // without faces that belong to an edge or to a neighbour
		if !s.ok {
			break
		}
		limit := max(2.5*s.sigma, 0.02)
		s = fitRows(slices.DeleteFunc(slices.Clone(rows), func(r sideRow) bool { return math.Abs(r.y-s.across(r.u, r.z)) > limit }), bent)
	}
	s.highMM = area / max(hi-lo, 1)
	return s
}

// A sideRow is a face of a side: how far across and along it lies, its height and its area.
type sideRow struct{ y, u, z, w float64 }

func fitRows(rows []sideRow, bent bool) (s sideFit) {
	if len(rows) < 8 {
		return s
	}
	n := 3
	if bent {
		n = 4
	}
	a, v := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for _, r := range rows {
		addRow(a, v, []float64{1, r.z, r.u, r.u * r.u}[:n], r.y, r.w)
	}
	x, ok := solved(a, v)
	if !ok {
		return s
	}
	s = sideFit{at: x[0], lean: x[1], along: x[2], ok: true}
	if bent {
		s.bend = x[3]
	}
	var mean, w, rss, zz float64
	for _, r := range rows {
		mean += r.w * r.z
		w += r.w
	}
	mean /= w
	for _, r := range rows {
		d := r.y - s.across(r.u, r.z)
		rss += d * d
		zz += (r.z - mean) * (r.z - mean)
	}
	s.sigma = math.Sqrt(rss / float64(len(rows)))
	s.leanSE = s.sigma / math.Sqrt(max(zz, 1e-9))
	return s
}

// within says whether a face and all that touch it have the same name.
func (m *featureMap) within(i int) bool {
	for _, v := range m.s.m.F[i] {
		for _, j := range m.s.around(v) {
			if m.tag[j] != m.tag[i] {
				return false
			}
		}
	}
	return true
}

// wedgeFits are the four sides of a wedge.
type wedgeFits struct{ medial, lateral, back, front sideFit }

func (m *featureMap) fitWedge() wedgeFits {
	straight := func(p r3.Vec) (float64, float64, float64, bool) {
		return p.Y, p.X - m.centreX, p.Z, p.X > m.centreX && p.X < m.base.front-1
	}
	// An end meets the facets at the same X. The back is round: only its middle is taken.
	end := func(share float64) func(p r3.Vec) (float64, float64, float64, bool) {
		return func(p r3.Vec) (float64, float64, float64, bool) {
			return p.X, p.Y, p.Z - m.baseZ(p), math.Abs(p.Y) < share*m.base.half
		}
	}
	return wedgeFits{
		medial: m.fitSide(WedgeMedialSide, true, straight), lateral: m.fitSide(WedgeLateralSide, true, straight),
		back: m.fitSide(WedgeBackSide, true, end(0.4)), front: m.fitSide(WedgeFrontSide, false, end(0.85)),
	}
}

// baseZ is the height of the base at a point in plan.
func (m *featureMap) baseZ(p r3.Vec) float64 {
	z := m.facets[0].z(p)
	if len(m.facets) > 1 {
		z = math.Max(z, m.facets[1].z(p))
	}
	return z
}

// edgeOf is how far the base reaches across at u: where the side meets the base.
func (m *featureMap) edgeOf(s sideFit, u float64, at func(across float64) r3.Vec) float64 {
	y := s.across(u, 0)
	for range 4 {
		y = s.across(u, m.baseZ(at(y)))
	}
	return y
}

// measureBase fills in the base.
func (m *featureMap) measureBase(w wedgeFits, grounded bool) Base {
	b := Base{Outline: outlineOf(m.s.m, func(i int) bool { return m.tag[i] == WedgeBase }, m.base.back, m.base.front)}
	for i, t := range m.tag {
		if t == WedgeBase {
			b.AreaMM2 += m.s.area[i] * math.Abs(m.s.normal[i].Z)
		}
	}
	b.BackXMM, b.FrontXMM = m.base.back, m.base.front
	if grounded {
		b.FrontXMM = m.groundTip(b.Outline)
	} else {
		if w.back.ok && w.back.highMM > 1 {
			b.BackXMM = w.back.at
		}
		if w.front.ok && w.front.highMM > 1 {
			b.FrontXMM = w.front.at
		}
	}
	b.LengthMM = b.FrontXMM - b.BackXMM
	x := math.Max(m.centreX, b.BackXMM)
	b.MedialMM, b.LateralMM = halfWidths(b.Outline, x)
	if !grounded {
		onY := func(y float64) r3.Vec { return r3.Vec{X: x, Y: y} }
		if w.medial.ok && w.medial.highMM > 1 {
			b.MedialMM = m.edgeOf(w.medial, x-m.centreX, onY)
		}
		if w.lateral.ok && w.lateral.highMM > 1 {
			b.LateralMM = -m.edgeOf(w.lateral, x-m.centreX, onY)
		}
	}
	b.WidthMM = b.MedialMM + b.LateralMM
	if len(m.facets) > 1 {
		lat, med := m.facets[0], m.facets[1]
		if lat.z(r3.Vec{X: x, Y: -10}) < med.z(r3.Vec{X: x, Y: -10}) {
			lat, med = med, lat
		}
		b.LateralFacetDeg = math.Atan(-lat.b) * 180 / math.Pi
		b.MedialFacetDeg = math.Atan(med.b) * 180 / math.Pi
	}
	return b
}

// groundTip is the X of the pointed front end of a ground flat. There the underside leaves the plane so slowly that
// faces far ahead still seem to lie in it; but the width of the flat is well known and runs out as that of a cut through
// the round of the shell, as a power of the distance to the tip: width^2.5 goes to zero evenly (the exponent of the
// underside, as built).
func (m *featureMap) groundTip(outline [][2]float64) float64 {
	width := map[float64][2]float64{}
	for _, p := range outline {
		w, seen := width[p[0]]
		if !seen {
			w = [2]float64{p[1], p[1]}
		}
		width[p[0]] = [2]float64{min(w[0], p[1]), max(w[1], p[1])}
	}
	widest, at := 0.0, 0.0
	for _, p := range outline {
		if w := width[p[0]]; w[1]-w[0] > widest {
			widest, at = w[1]-w[0], p[0]
		}
	}
	a, v := mat.NewSymDense(2, nil), mat.NewVecDense(2, nil)
	for _, p := range outline {
		w := width[p[0]]
		if d := w[1] - w[0]; p[0] > at && d > 0.3*widest && d < 0.65*widest {
			addRow(a, v, []float64{1, p[0]}, math.Pow(d/widest, cupExponent), 1)
		}
	}
	x, ok := solved(a, v)
	if !ok || x[1] >= 0 {
		return m.base.front
	}
	return math.Min(math.Max(-x[0]/x[1], m.base.front-12), m.base.front)
}

// outlineOf is a patch of faces seen from above, counterclockwise, from cuts across it every millimetre between back and
// front.
func outlineOf(m *mesh.Mesh, in func(face int) bool, back, front float64) [][2]float64 {
	n := max(2, int(math.Ceil(front-back)))
	lo, hi := make([]float64, n+1), make([]float64, n+1)
	for k := range lo {
		lo[k], hi[k] = math.Inf(1), math.Inf(-1)
	}
	x := func(k int) float64 { return back + (front-back)*float64(k)/float64(n) }
	for i, f := range m.F {
		if !in(i) {
			continue
		}
		for e := range 3 {
			p, q := m.V[f[e]], m.V[f[(e+1)%3]]
			if p.X > q.X {
				p, q = q, p
			}
			from := int(math.Ceil((p.X - back) / (front - back) * float64(n)))
			for k := max(from, 0); k <= n && x(k) <= q.X; k++ {
				y := p.Y
				if q.X > p.X {
					y += (q.Y - p.Y) * (x(k) - p.X) / (q.X - p.X)
				}
				lo[k], hi[k] = min(lo[k], y), max(hi[k], y)
			}
		}
	}
	var out [][2]float64
	for k := range lo {
		if lo[k] <= hi[k] {
			out = append(out, [2]float64{x(k), lo[k]})
		}
	}
	for k := n; k >= 0; k-- {
		if lo[k] < hi[k] {
			out = append(out, [2]float64{x(k), hi[k]})
		}
	}
	return out
}

// A shellFit is what was measured on the shell.
type shellFit struct {
	cupMM, plateMM       float64 // thickness
	rimMM                float64 // across the rim of the cup
	depthMM              float64
	seatMM               float64
	cupWidthMM           float64 // outside, at the middle of its round
	archMM, lateralMM    float64 // highest edge over the middle
	insideRimRadiusMM    float64
	frontLeftMM, frontMM float64 // widths to either side at the front: medial, lateral
}

func (m *featureMap) measureShell(f *framing) shellFit {
	var cup, plate, rim [][2]float64
	var s shellFit
	skive := m.frontX - 0.09*m.frontX - 6
	for i, p := range m.s.centre {
		a := m.s.area[i]
		switch t := m.tag[i]; {
		case t == CupWall && !m.within(i):
			if m.touches(i, CupRim) {
				rim = append(rim, [2]float64{m.far[i], a})
			}
		case t == CupWall && p.X < m.centreX && !m.past[i]:
			cup = append(cup, [2]float64{m.far[i], a})
		case t == ShellBottom && p.X > math.Max(m.base.front+10, 0.42*m.frontX) && p.X < skive && m.within(i):
			plate = append(plate, [2]float64{m.far[i], a})
		}
	}
	s.cupMM, s.plateMM, s.rimMM = quantile(cup, 0.5), quantile(plate, 0.5), quantile(rim, 0.5)
	if s.plateMM == 0 {
		s.plateMM = s.cupMM
	}
	if s.cupMM == 0 {
		s.cupMM = s.plateMM
	}
	const bins = 24
	var top [bins]float64
	for k := range top {
		top[k] = math.Inf(-1)
	}
	inside := [][2]float64{}
	for _, p := range m.s.m.V {
		if a := math.Atan2(p.Y, m.centreX-p.X) / math.Pi * 2; p.X < m.centreX && math.Abs(a) < 1 {
			k := min(int((a+1)/2*bins), bins-1)
			top[k] = max(top[k], p.Z)
		}
	}
	for i, tri := range m.s.m.F {
		if m.tag[i] == FootSide && m.s.centre[i].X < m.centreX && m.touches(i, CupRim) {
			for _, v := range tri {
				p := m.s.m.V[v]
				inside = append(inside, [2]float64{math.Hypot(p.X-m.centreX, p.Y-m.leanOff(f, p.Z)), 1})
			}
		}
	}
	s.insideRimRadiusMM = quantile(inside, 0.6)
	n, sum := 0.0, 0.0
	for _, z := range top {
		if !math.IsInf(z, -1) {
			sum += z
			n++
		}
	}
	s.seatMM = f.deepest
	if !f.hollow {
		s.seatMM = m.throughSeat(f)
	}
	s.depthMM = sum/max(n, 1) - s.seatMM
	m.measureWidths(&s)
	return s
}

// leanOff is how far the axis of a leaning cup has moved sideways at height z.
func (m *featureMap) leanOff(f *framing, z float64) float64 {
	return -(z - f.deepest) * math.Tan(f.lean)
}

func (m *featureMap) touches(i int, f Feature) bool {
	for _, v := range m.s.m.F[i] {
		for _, j := range m.s.around(v) {
			if m.tag[j] == f {
				return true
			}
		}
	}
	return false
}

// throughSeat is where the deepest point of the cup would lie in a device whose heel is ground through: the round of the
// foot side is carried on below the hole, z = seat + k·ρ^2.5 (the exponent that cups are built with).
func (m *featureMap) throughSeat(f *framing) float64 {
	a, v := mat.NewSymDense(2, nil), mat.NewVecDense(2, nil)
	for i, p := range m.s.centre {
		rho := math.Hypot(p.X-m.centreX, p.Y)
		if m.tag[i] == FootSide && p.X < m.centreX && rho < 0.62*f.round.radius && m.within(i) {
			addRow(a, v, []float64{1, math.Pow(rho, cupExponent)}, p.Z, m.s.area[i])
		}
	}
	if x, ok := solved(a, v); ok {
		return math.Min(x[0], 0)
	}
	return 0
}

// measureWidths takes the widths and the heights of the edges.
func (m *featureMap) measureWidths(s *shellFit) {
	lo, hi := math.Inf(1), math.Inf(-1)
	middle := map[int][2]float64{} // by 4 mm of X: height of the foot side on the bisection, and how many
	edge := map[[2]int]float64{}
	for i, p := range m.s.centre {
		if math.Abs(p.X-m.centreX) < 2 {
			for _, v := range m.s.m.F[i] {
				y := m.s.m.V[v].Y
				lo, hi = min(lo, y), max(hi, y)
			}
		}
		x := int(p.X / 4)
		if m.tag[i] == FootSide && math.Abs(p.Y) < 4 {
			c := middle[x]
			middle[x] = [2]float64{c[0] + p.Z, c[1] + 1}
		}
		if u := p.X / m.frontX; u > 0.35 && u < 0.75 && (m.tag[i] == Arch || m.tag[i] == LateralFlange) {
			k := [2]int{x, sideIndex(p.Y)}
			for _, v := range m.s.m.F[i] {
				if z, seen := edge[k]; !seen || m.s.m.V[v].Z > z {
					edge[k] = m.s.m.V[v].Z
				}
			}
		}
	}
	s.cupWidthMM = hi - lo
	for x := range int(m.frontX/4) + 1 {
		c, ok := middle[x]
		if !ok {
			continue
		}
		if z, ok := edge[[2]int{x, 0}]; ok {
			s.archMM = max(s.archMM, z-c[0]/c[1])
		}
		if z, ok := edge[[2]int{x, 1}]; ok {
			s.lateralMM = max(s.lateralMM, z-c[0]/c[1])
		}
	}
	s.frontMM, s.frontLeftMM = 0, 0
	for _, v := range m.s.m.V {
		if v.X > 0.86*m.frontX {
			s.frontLeftMM, s.frontMM = max(s.frontLeftMM, v.Y), max(s.frontMM, -v.Y)
		}
	}
}

// device puts together what was found.
func (m *featureMap) device(f *framing, o ScanOptions, rep *ScanReport) *Device {
	solid := m.s.m.Clone()
	solid.Tag = make([]uint8, len(m.tag))
	var side float64
	for i, t := range m.tag {
		solid.Tag[i] = uint8(t)
		rep.FeatureAreas[t] += m.s.area[i]
		switch t {
		case WedgeMedialSide, WedgeLateralSide, WedgeBackSide, WedgeFrontSide:
			side += m.s.area[i]
		}
	}
	d := &Device{Rigid: solid, FrontXMM: m.frontX, RimXMM: m.centreX}
	build := Block
	switch {
	case side < 0.2*rep.FeatureAreas[WedgeBase] && !f.hollow:
		build = Open
	case side < 0.2*rep.FeatureAreas[WedgeBase]:
		build = Flat
	case m.base.back > 0.9*m.centreX:
		build = ForeBar
	}
	grounded := build == Flat || build == Open
	w := m.fitWedge()
	d.Base = m.measureBase(w, grounded)
	shell := m.measureShell(f)
	d.HeelSeatMM = shell.seatMM
	d.Options = m.options(build, d, shell, w, f, o, rep)
	m.weigh(d, shell, grounded)
	return d
}

// weigh estimates volumes and mass: the shell is its foot side times its thickness, the wedge the rest.
func (m *featureMap) weigh(d *Device, s shellFit, grounded bool) {
	all := math.Abs(d.Rigid.Volume())
	d.ShellVolumeMM3 = all
	if !grounded {
		var foot float64
		for i, t := range m.tag {
			if t == FootSide {
				foot += m.s.area[i]
			}
		}
		d.ShellVolumeMM3 = math.Min(foot*s.plateMM, all)
		d.WedgeVolumeMM3 = all - d.ShellVolumeMM3
	}
	shell, _ := FindMaterial(d.Options.Material)
	d.MassG = (d.ShellVolumeMM3*shell.DensityGCM3 + d.WedgeVolumeMM3*d.Options.wedgeDensity()) / 1000
}

// options writes down what was measured, as a prescription that Build accepts, and reports each measure.
func (m *featureMap) options(build string, d *Device, s shellFit, w wedgeFits, f *framing, so ScanOptions, rep *ScanReport) Options {
	o := so.Start
	o.Side = rep.Side
	o.WedgeBuild = build
	noise := rep.NoiseMM
	read := func(key, name string, v, pm float64, unit, note string) {
		rep.Measures = append(rep.Measures, ScanMeasure{key, name, v, pm, unit, true, note})
	}
	guess := func(key, name string, v, pm float64, unit, note string) {
		rep.Measures = append(rep.Measures, ScanMeasure{key, name, v, pm, unit, false, note})
	}
	length := d.FrontXMM
	read("length_mm", "length to the front edge on the bisection", length, 0.5+noise, "mm", "")
	if so.FootLengthMM > 0 {
		o.FootLengthMM = so.FootLengthMM
		guess("foot_length_mm", "foot length", o.FootLengthMM, 0, "mm", "given")
	} else {
		o.FootLengthMM = math.Round((length + o.FrontTrimMM) / ballShare)
		guess("foot_length_mm", "foot length", o.FootLengthMM, 12, "mm",
			fmt.Sprintf("the front edge lies %.4g mm behind the tread line", o.FrontTrimMM))
	}
	o.FrontTrimMM = clampTo("front_trim_mm", ballShare*o.FootLengthMM-length)
	read("shell_thickness_mm", "thickness of the shell in front of the wedge", s.plateMM, 0.15+noise/2, "mm", "median")
	read("cup_thickness_mm", "thickness of the shell in the cup", s.cupMM, 0.2+noise/2, "mm", "median")
	read("rim_width_mm", "width of the cup's rim", s.rimMM, 0.3+noise, "mm", "")
	read("cup_width_mm", "outer width of the cup", s.cupWidthMM, 0.5+noise, "mm", "at the middle of its round")
	o.ShellThicknessMM = clampTo("shell_thickness_mm", round(s.plateMM, 0.1))
	if o.Process == Formed {
		o.CupThinningPercent = clampTo("cup_thinning_percent", round(100*(1-s.cupMM/s.plateMM), 1))
	}
	seatNote, seatPM := "", 0.2+noise/2
	if build == Open {
		seatNote, seatPM = "the heel is ground through: the round of the cup carried on below the hole", 0.6+noise
	}
	read("heel_seat_mm", "height of the cup's deepest point over the base", s.seatMM, seatPM, "mm", seatNote)
	read("cup_depth_mm", "depth of the cup", s.depthMM, 0.4+seatPM, "mm", "mean height of the rim round the back")
	o.CupDepthMM = clampTo("cup_depth_mm", round(s.depthMM, 0.1))
	read("arch_edge_mm", "height of the medial edge over the middle", s.archMM, 1+noise, "mm", "highest")
	read("lateral_edge_mm", "height of the lateral edge over the middle", s.lateralMM, 1+noise, "mm", "highest")
	read("front_width_mm", "width at the front edge", s.frontMM+s.frontLeftMM, 0.5+noise, "mm", "")
	radius := cutProfile(1, heelWaistShare*o.FootLengthMM, cupExponent, o.CupDepthMM)
	rho, _, _, _ := radius.at(1)
	d.HeelHalfWidthMM = s.insideRimRadiusMM / rho
	o.HeelWidthMM = clampTo("heel_width_mm", round(2*d.HeelHalfWidthMM/cupShareOfHeel, 0.5))
	guess("heel_width_mm", "width of the heel it was made for", o.HeelWidthMM, 6, "mm", "from the cup, as cups are built here")

	lean := f.lean * 180 / math.Pi
	o.WedgeWidthMM, o.WedgeLengthMM, o.WedgeStartMM, o.WedgeBarMM, o.CapMM, o.HeelRaiseMM = 0, 0, 0, 0, 0, 0
	o.TiltDeg, o.ContactAngleDeg, o.MotionDeg = 0, 0, 0
	read("base_length_mm", "length of the base", d.Base.LengthMM, map[bool]float64{false: 0.8, true: 4}[o.grounded()]+noise, "mm", "")
	read("base_medial_mm", "base medial of the bisection", d.Base.MedialMM, 0.8+noise, "mm", "at the middle of the cup's round, or the back of a bar")
	read("base_lateral_mm", "base lateral of the bisection", d.Base.LateralMM, 0.8+noise, "mm", "")
	if o.grounded() {
		o.WedgeMinThicknessMM = Default().WedgeMinThicknessMM
		if f.hollow && math.Abs(lean) > 1 {
			rep.Notes = append(rep.Notes, fmt.Sprintf("the cup leans %.1f° against its ground base", lean))
		}
		return buildable(o, so.Start, rep)
	}
	bevel := func(key, name string, fit sideFit, sign float64, into *float64) {
		if !fit.ok || fit.highMM < 1 {
			guess(key, name, *into, 15, "°", "this side is too low to be measured")
			return
		}
		v := math.Atan(sign*fit.lean) * 180 / math.Pi
		read(key, name, v, 0.8+2*fit.leanSE*180/math.Pi+3*noise, "°", "")
		*into = clampTo(key, round(v, 0.5))
	}
	bevel("bevel_medial_deg", "bevel of the medial side", w.medial, 1, &o.BevelMedialDeg)
	bevel("bevel_lateral_deg", "bevel of the lateral side", w.lateral, -1, &o.BevelLateralDeg)
	bevel("bevel_back_deg", "bevel of the back", w.back, -1, &o.BevelBackDeg)
	bevel("bevel_front_deg", "bevel of the front", w.front, 1, &o.BevelFrontDeg)
	if len(m.facets) > 1 {
		contact, motion := d.Base.LateralFacetDeg, d.Base.LateralFacetDeg+d.Base.MedialFacetDeg
		read("contact_angle_deg", "contact angle", contact, 0.8+2*noise, "°", "against the cup taken as upright")
		read("motion_deg", "motion", motion, 0.4+noise, "°", "angle between the facets")
		o.ContactAngleDeg, o.MotionDeg = clampTo("contact_angle_deg", round(contact, 0.5)), clampTo("motion_deg", round(motion, 0.5))
	} else {
		read("tilt_deg", "lean of the cup against the base", lean, 0.6+2*noise, "°",
			"inverted positive; a contact angle without motion looks the same")
		if math.Abs(lean) > 0.6+2*noise {
			o.TiltDeg = clampTo("tilt_deg", round(lean, 0.5))
		}
		read("motion_deg", "motion", 0, leastDihedral, "°", "the base is one plane")
	}
	o.WedgeLengthMM = clampTo("wedge_length_mm", d.Base.FrontXMM)
	if w.medial.ok && w.lateral.ok {
		top := func(fit sideFit, sign float64) float64 { // where the side leaves the shell: its highest faces
			return sign * fit.across(0, m.topOf(fit, sign))
		}
		o.WedgeWidthMM = clampTo("wedge_width_mm", round(top(w.medial, 1)+top(w.lateral, -1), 0.5))
		read("wedge_width_mm", "width of the wedge where it leaves the shell", top(w.medial, 1)+top(w.lateral, -1), 2, "mm", "")
	}
	if build == ForeBar {
		o.WedgeBarMM = clampTo("wedge_bar_mm", d.Base.LengthMM)
	}
	under := s.seatMM - s.cupMM
	o.WedgeMinThicknessMM = clampTo("wedge_min_thickness_mm", round(under, 0.1))
	if extra := under - o.WedgeMinThicknessMM; extra > 0.1 {
		o.HeelRaiseMM = clampTo("heel_raise_mm", round(extra, 0.1))
	}
	read("wedge_min_thickness_mm", "wedge under the heel", under, 0.3+noise, "mm", "heel seat less the shell in the cup")
	return buildable(o, so.Start, rep)
}

// topOf is the height of the upper edge of a side at the middle of the cup's round.
func (m *featureMap) topOf(fit sideFit, sign float64) float64 {
	var z [][2]float64
	f := WedgeMedialSide
	if sign < 0 {
		f = WedgeLateralSide
	}
	for i, p := range m.s.centre {
		if m.tag[i] == f && p.X > m.centreX && math.Abs(p.X-m.centreX-2) < 6 {
			z = append(z, [2]float64{p.Z, m.s.area[i]})
		}
	}
	return quantile(z, 0.97)
}

func round(v, step float64) float64 { return math.Round(v/step) * step }

// clampTo brings a value within the limits of an option.
func clampTo(key string, v float64) float64 {
	k, _ := FindKey(key)
	return math.Min(math.Max(v, k.Min), k.Max)
}

// buildable takes back, one by one, what breaks a rule of prescriptions: a scanned device may be outside of them. The
// measures in the report stay.
func buildable(o, start Options, rep *ScanReport) Options {
	def := Default()
	for range 8 {
		ps := o.Validate()
		if len(ps) == 0 {
			return o
		}
		for _, p := range ps {
			k, ok := FindKey(p.Field)
			if !ok {
				continue
			}
			if k.IsNumber() {
				v, was := k.number(&def), k.number(&o)
				if k.Automatic && *was != 0 {
					*was = 0
				} else {
					*was = *v
				}
			} else {
				*k.word(&o) = *k.word(&def)
			}
			rep.Notes = append(rep.Notes, "as a prescription "+p.Error()+"; the usual is noted there instead")
		}
	}
	start.Side, start.WedgeBuild = o.Side, Block
	return start
}
