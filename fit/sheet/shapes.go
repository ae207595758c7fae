package sheet

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/internal/mesh"
)

// A Template is a shape at full size: lines in mm, U to the right and V up on the paper, with lengths between arrows.
type Template struct {
	Key    string `json:"key"` // base, heel, long
	Title  string `json:"title"`
	Seen   string `json:"seen"` // from where, and how to hold it
	Lines  []Line `json:"lines"`
	Spans  []Span `json:"spans"`
	Words  []Word `json:"words"`
	Legend string `json:"legend"`
}

// A Word stands on a template, its middle at a point.
type Word struct {
	At   [2]Number `json:"at_mm"`
	Text string    `json:"text"`
}

// A Line is one line of a template. Its kinds: edge (an outline), bevel (where a bevel ends on the shell), middle (the heel
// bisection), plane (the plane of the base), cover, before (as it was),
// extension (from a place to the arrows of its length).
type Line struct {
	Kind   string      `json:"kind"`
	Name   string      `json:"name"`
	Closed bool        `json:"closed"`
	Points [][2]Number `json:"points_mm"`
}

// A Span is a length between two points of a template.
type Span struct {
	From [2]Number `json:"from_mm"`
	To   [2]Number `json:"to_mm"`
	Text string    `json:"text"`
}

// A Section is a list of dimensions, each with how it is known.
type Section struct {
	Key   string `json:"key"`
	Title string `json:"title"`
	Rows  []Row  `json:"rows"`
}

// The kinds of lines.
const (
	edgeLine   = "edge"
	bevelLine  = "bevel"
	middleLine = "middle"
	planeLine  = "plane"
	coverLine  = "cover"
	beforeLine = "before"

	extensionLine = "extension"
)

// A shaper lays a device's shapes on paper.
type shaper struct {
	dev    *device.Device
	before *device.Device // nil: there is none, or it is the same
	left   bool
	how    string

	scanned bool
}

func sectionsOf(c Case, to *fit.Choice) ([]Section, []Template) {
	s := shaper{dev: to.Device, left: to.Device.Options.Side == device.Left, how: howMade(c, to.Result), scanned: c.FromScan}
	if c.After != nil && c.Before.Device != to.Device {
		s.before = c.Before.Device
	}
	var sections []Section
	var templates []Template
	for _, make := range []func() (Section, Template){s.base, s.heel, s.long} {
		a, b := make()
		sections, templates = append(sections, a), append(templates, b)
	}
	return sections, templates
}

// howMade says how the device's dimensions are known.
func howMade(c Case, r *fit.Result) string {
	if c.FromScan {
		return "read off the scan (in trials true to about 0.2 mm in lengths and 1.3° in bevels)"
	}
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Bearing {
			return fmt.Sprintf("calculated from the order, ± %.1f mm as made (one standard deviation, from memory)", f.PlusMinusMM)
		}
	}
	return "calculated from the order"
}

// flat puts a point on the paper; U changes its sign on a left device.
func (s *shaper) flat(u, v float64) [2]Number {
	if s.left {
		u = -u
	}
	return [2]Number{Number(u), Number(v)}
}

func (s *shaper) above(p r3.Vec) [2]Number  { return s.flat(-p.Y, p.X) }
func (s *shaper) behind(p r3.Vec) [2]Number { return s.flat(-p.Y, p.Z) }
func (s *shaper) aside(p r3.Vec) [2]Number  { return s.flat(p.X, p.Z) }

func (s *shaper) line(kind, name string, closed bool, on func(r3.Vec) [2]Number, points []r3.Vec) Line {
	l := Line{Kind: kind, Name: name, Closed: closed}
	for _, p := range points {
		l.Points = append(l.Points, on(p))
	}
	return l
}

func (s *shaper) span(on func(r3.Vec) [2]Number, a, b r3.Vec) Span {
	return Span{From: on(a), To: on(b), Text: fmt.Sprintf("%.1f mm", r3.Norm(r3.Sub(a, b)))}
}

func (s *shaper) row(key, name string, mm float64) Row {
	return Row{key, name, fmt.Sprintf("%.1f mm", noMinusZero(mm, 1)), s.how}
}

func (s *shaper) angle(key, name string, deg float64) Row {
	how := "as ordered, from the perpendicular of the base; check with an angle gauge"
	if s.scanned {
		how = s.how + ", from the perpendicular of the base"
	}
	return Row{key, name, fmt.Sprintf("%.1f°", deg), how}
}

// station is where the base is measured across: the heel's widest place, or the back of a base that begins in front of it.
func station(d *device.Device) float64 { return math.Max(d.RimXMM, d.Base.BackXMM) }

// grounded says that the base is the ground underside of the shell, which has no bevels.
func (s *shaper) grounded() bool {
	b := s.dev.Options.WedgeBuild
	return b == device.Flat || b == device.Open
}

// wordsBesideMM is how far beside a line the middle of its words stands.
const wordsBesideMM = 12.0

func (s *shaper) base() (Section, Template) {
	b := s.dev.Base
	o := s.dev.Options
	sec := Section{"base", "Base, seen from above", []Row{
		s.row("base_width_mm", fmt.Sprintf("width between the bevel lines, %.1f mm from the back", station(s.dev)), b.WidthMM),
		s.row("base_medial_mm", "of it medially of the heel bisection", b.MedialMM),
		s.row("base_lateral_mm", "of it laterally of the heel bisection", b.LateralMM),
		s.row("base_back_mm", "base begins, from the back of the device", b.BackXMM),
		s.row("base_front_mm", "base ends, from the back of the device", b.FrontXMM),
		{"base_area_mm2", "area", fmt.Sprintf("%.0f mm²", b.AreaMM2), s.how},
	}}
	t := Template{
		Key: "base", Title: "Base of the device at 1:1",
		Seen: "Seen from above, toe up. Stand the device on it, the heel bisection on the chain line; to lay it on the upturned base, hold the sheet against the light and look through its back.",
		Legend: "Solid: edge of the base; its medial and lateral edges are the bevel lines. Dashed: where each bevel ends on the shell. " +
			"Chain line: heel bisection.",
	}
	if s.grounded() {
		t.Legend = "Solid: edge of the ground flat, the bevel lines of a device without a block. Chain line: heel bisection."
	}
	outline := make([]r3.Vec, 0, len(b.Outline))
	for _, p := range b.Outline {
		outline = append(outline, r3.Vec{X: p[0], Y: p[1]})
	}
	t.Lines = append(t.Lines, s.line(edgeLine, "edge of the base", true, s.above, outline))
	lo, hi := b.BackXMM, b.FrontXMM
	for _, side := range []struct {
		feature   device.Feature
		key, name string
		deg       float64
	}{
		{device.WedgeMedialSide, "bevel_medial_deg", "medial", o.BevelMedialDeg},
		{device.WedgeLateralSide, "bevel_lateral_deg", "lateral", o.BevelLateralDeg},
	} {
		if s.grounded() {
			break
		}
		sec.Rows = append(sec.Rows, s.angle(side.key, side.name+" bevel", side.deg))
		out := 0.0
		for _, run := range bevelRuns(s.dev.Rigid, side.feature) {
			t.Lines = append(t.Lines, s.line(bevelLine, fmt.Sprintf("%s bevel %s°", side.name, short(side.deg)), false, s.above, run))
			for _, p := range run {
				lo, hi = math.Min(lo, p.X), math.Max(hi, p.X)
				if math.Abs(p.Y) > math.Abs(out) {
					out = p.Y
				}
			}
		}
		if out != 0 {
			beside := out + math.Copysign(wordsBesideMM, out)
			t.Words = append(t.Words, Word{s.above(r3.Vec{X: station(s.dev), Y: beside}), fmt.Sprintf("%s %s°", side.name, short(side.deg))})
		}
	}
	t.Words = append(t.Words, Word{s.above(r3.Vec{X: hi + 9}), "toe ↑"})
	if o.WedgeBuild == device.Open {
		t.Legend += " The middle of this base is ground through."
	}
	t.Lines = append(t.Lines, s.line(middleLine, "heel bisection", false, s.above, []r3.Vec{{X: lo - 6}, {X: hi + 6}}))
	if s.before != nil {
		var was []r3.Vec
		for _, p := range s.before.Base.Outline {
			was = append(was, r3.Vec{X: p[0], Y: p[1]})
		}
		t.Lines = append(t.Lines, s.line(beforeLine, "edge of the base before", true, s.above, was))
		t.Legend += " Dotted: edge of the base before the change."
	}
	x := station(s.dev)
	const below = 4.0
	for _, y := range []float64{b.MedialMM, -b.LateralMM} {
		t.Lines = append(t.Lines, s.line(extensionLine, "where the width is taken", false, s.above, []r3.Vec{{X: x, Y: y}, {X: lo - below - 2, Y: y}}))
	}
	t.Spans = append(t.Spans, s.span(s.above, r3.Vec{X: lo - below, Y: b.MedialMM}, r3.Vec{X: lo - below, Y: -b.LateralMM}))
	return sec, t
}

// plumb is how far behind the very end of the base its section is taken, when it begins in front of the heel's widest place.
const plumb = 1.0

func (s *shaper) heel() (Section, Template) {
	x := s.dev.RimXMM
	if s.dev.Base.BackXMM > x {
		x = s.dev.Base.BackXMM + plumb
	}
	on := s.behind
	t := Template{
		Key: "heel", Title: "Section at the heel at 1:1",
		Seen:   fmt.Sprintf("Seen from behind, cut %.1f mm in front of the back of the device. Cut it out and hold it behind the heel.", x),
		Legend: "Solid: shell and wedge. Chain lines: heel bisection, and the plane of the base.",
	}
	plane := mesh.Plane{Point: r3.Vec{X: x}, Normal: r3.Vec{X: -1}}
	box := s.section(&t, on, plane)
	lo, hi, found := across(s.dev.Base.Outline, x)
	sec := Section{"heel", fmt.Sprintf("Heel section, %.1f mm in front of the back", x), []Row{
		s.row("outer_width_mm", "outer width of the shell here", box.hi.Y-box.lo.Y),
		s.row("rim_medial_mm", "medial edge over the plane of the base", s.edgeTop(plane, +1)),
		s.row("rim_lateral_mm", "lateral edge over the plane of the base", s.edgeTop(plane, -1)),
		s.row("heel_seat_mm", "lowest point of the cup over the plane of the base", s.dev.HeelSeatMM),
		s.row("cup_depth_mm", "depth of the cup", s.dev.Options.CupDepthMM),
		s.row("shell_thickness_mm", "shell, before forming thins it", s.dev.Options.ShellThicknessMM),
	}}
	t.Lines = append(t.Lines,
		s.line(middleLine, "heel bisection", false, on, []r3.Vec{{Z: box.lo.Z - 6}, {Z: box.hi.Z + 6}}),
		s.line(planeLine, "plane of the base", false, on, []r3.Vec{{Y: box.hi.Y + 4}, {Y: box.lo.Y - 4}}),
	)
	if found {
		sec.Rows = append(sec.Rows, s.row("base_width_here_mm", "width of the base here", hi-lo))
		t.Words = append(t.Words, Word{on(r3.Vec{Y: box.hi.Y + wordsBesideMM, Z: 12}), "medial"}, Word{on(r3.Vec{Y: box.lo.Y - wordsBesideMM, Z: 12}), "lateral"})
		t.Spans = append(t.Spans, s.span(on, r3.Vec{Y: hi, Z: -4}, r3.Vec{Y: lo, Z: -4}))
	}
	return sec, t
}

func (s *shaper) long() (Section, Template) {
	on := s.aside
	t := Template{
		Key: "long", Title: "Long section at 1:1",
		Seen:   "Seen from the lateral side, cut along the heel bisection. Cut it out and hold it beside the device.",
		Legend: "Solid: shell and wedge. Chain line: the plane of the base.",
	}
	b := s.dev.Base
	box := s.section(&t, on, mesh.Plane{Normal: r3.Vec{Y: -1}})
	sec := Section{"long", "Long section along the heel bisection", []Row{
		s.row("device_length_mm", "shell, from the back to its front edge", s.dev.FrontXMM),
		s.row("base_back_mm", "base begins, from the back", b.BackXMM),
		s.row("base_front_mm", "base ends, from the back", b.FrontXMM),
		s.row("heel_seat_mm", "lowest point of the cup over the plane of the base", s.dev.HeelSeatMM),
		s.row("rim_back_mm", "rim at the back over the plane of the base", box.back),
	}}
	if !s.grounded() {
		sec.Rows = append(sec.Rows,
			s.angle("bevel_back_deg", "back bevel", s.dev.Options.BevelBackDeg), s.angle("bevel_front_deg", "front bevel", s.dev.Options.BevelFrontDeg))
	}
	if s.dev.CoverSolid != nil {
		sec.Rows = append(sec.Rows, s.row("length_with_cover_mm", "with cover and extension, as they lie in the drawing", box.hi.X-box.lo.X))
	}
	t.Lines = append(t.Lines, s.line(planeLine, "plane of the base", false, on, []r3.Vec{{X: box.lo.X - 3}, {X: math.Min(box.hi.X, b.FrontXMM+40)}}))
	t.Words = append(t.Words, Word{on(r3.Vec{X: (b.BackXMM + b.FrontXMM) / 2, Z: -14}), toeArrow(s.left)})
	t.Spans = append(t.Spans, s.span(on, r3.Vec{X: b.BackXMM, Z: -5}, r3.Vec{X: b.FrontXMM, Z: -5}))
	return sec, t
}

// A bounds is what a section takes up, and how high its rearmost point's wall stands.
type bounds struct {
	lo, hi r3.Vec
	back   float64
}

// section adds the outlines of a cut: shell and wedge, cover, and how it was before.
func (s *shaper) section(t *Template, on func(r3.Vec) [2]Number, plane mesh.Plane) bounds {
	box := bounds{lo: r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}, hi: r3.Vec{X: math.Inf(-1), Y: math.Inf(-1), Z: math.Inf(-1)}}
	const heelOnlyMM = 20 // the rim at the back is the highest point so far from it
	for _, l := range s.dev.Rigid.Section(plane) {
		t.Lines = append(t.Lines, s.line(edgeLine, "shell and wedge", l.Closed, on, l.P))
		box.add(l.P)
		for _, p := range l.P {
			if p.X < heelOnlyMM {
				box.back = math.Max(box.back, p.Z)
			}
		}
	}
	if s.dev.CoverSolid != nil {
		for _, l := range s.dev.CoverSolid.Section(plane) {
			t.Lines = append(t.Lines, s.line(coverLine, "cover and extension", l.Closed, on, l.P))
			if plane.Normal.Y != 0 {
				box.add(l.P)
			}
		}
		t.Legend += " Thin: cover and extension."
	}
	if s.before != nil {
		for _, l := range s.before.Rigid.Section(plane) {
			t.Lines = append(t.Lines, s.line(beforeLine, "shell and wedge before", l.Closed, on, l.P))
		}
		t.Legend += " Dotted: before the change."
	}
	return box
}

func (b *bounds) add(points []r3.Vec) {
	for _, p := range points {
		b.lo = r3.Vec{X: math.Min(b.lo.X, p.X), Y: math.Min(b.lo.Y, p.Y), Z: math.Min(b.lo.Z, p.Z)}
		b.hi = r3.Vec{X: math.Max(b.hi.X, p.X), Y: math.Max(b.hi.Y, p.Y), Z: math.Max(b.hi.Z, p.Z)}
	}
}

// toeArrow points to the toe on the long section.
func toeArrow(left bool) string {
	if left {
		return "← toe"
	}
	return "toe →"
}

// edgeTop is how high the cut's edge stands on one side, medially positive.
func (s *shaper) edgeTop(plane mesh.Plane, side float64) float64 {
	top := 0.0
	for _, l := range s.dev.Rigid.Section(plane) {
		for _, p := range l.P {
			if side*p.Y > 0 {
				top = math.Max(top, p.Z)
			}
		}
	}
	return top
}

// across is where an outline is cut at x: its least and greatest Y there.
func across(outline [][2]float64, x float64) (lo, hi float64, ok bool) {
	pts := make([]drawing.Pt, len(outline))
	for i, p := range outline {
		pts[i] = drawing.Pt{U: p[0], V: p[1]}
	}
	a, b, ok := drawing.Across(pts, x)
	return a.V, b.V, ok
}

// bevelRuns are the lines along which a side of the wedge meets the shell, chained, seen in plan.
func bevelRuns(m *mesh.Mesh, side device.Feature) [][]r3.Vec {
	type edge [2]int32
	beyond := map[edge]device.Feature{}
	for i, f := range m.F {
		for k := range 3 {
			beyond[edge{f[(k+1)%3], f[k]}] = device.Feature(m.Tag[i])
		}
	}
	next := map[int32]int32{}
	into := map[int32]bool{}
	var starts []int32
	for i, f := range m.F {
		if device.Feature(m.Tag[i]) != side {
			continue
		}
		for k := range 3 {
			a, b := f[k], f[(k+1)%3]
			switch beyond[edge{a, b}] {
			case device.CupWall, device.CupRim, device.ShellBottom, device.Arch, device.LateralFlange, device.FootSide:
				next[a] = b
				into[b] = true
				starts = append(starts, a)
			}
		}
	}
	var runs [][]r3.Vec
	used := map[int32]bool{}
	for pass := range 2 { // lines with an end first, then rings
		for _, from := range starts {
			if used[from] || pass == 0 && into[from] {
				continue
			}
			run := []r3.Vec{m.V[from]}
			for at := from; !used[at]; {
				used[at] = true
				to, ok := next[at]
				if !ok {
					break
				}
				run = append(run, m.V[to])
				at = to
			}
			if len(run) > 2 {
				runs = append(runs, run)
			}
		}
	}
	return runs
}
