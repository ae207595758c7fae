package mesh

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

// RepairOptions set what Repair does. The zero value is meant for scans of shoes and devices, in millimetres.
type RepairOptions struct {
	// WeldMM is the distance below which vertices are one. 0: a hundredth of the median edge, at most 0.05 mm.
	WeldMM float64
	// HoleMM is the longest border, all the way round, of a hole that is filled. 0: 100 mm, but at most 0.35 of the
	// length across the mesh, so that the top of a shoe stays open. Below 0: none is filled.
	HoleMM float64
	// IslandShare is the share of the whole area below which a separate piece is dropped. 0: one hundredth. Below 0:
	// all are kept.
	IslandShare float64
	// DoubleMM is how near all of a smaller shell must lie to a larger one to be the same surface taken twice, and be
	// dropped. 0: 0.5 mm. Below 0: none is.
	DoubleMM float64
}

// A RepairKind names one thing that Repair does or finds.
type RepairKind string

// The kinds, in the order in which they are looked for.
const (
	WeldedVertices  RepairKind = "welded_vertices"  // merged with another; size: the tolerance
	DegenerateFaces RepairKind = "degenerate_faces" // dropped: two corners in one place
	DuplicateFaces  RepairKind = "duplicate_faces"  // dropped: the same three corners
	SplitEdges      RepairKind = "split_edges"      // had more than two faces, and were parted
	CutSeams        RepairKind = "cut_seams"        // edges where the surface has one side only, and was cut
	TurnedFaces     RepairKind = "turned_faces"     // were wound against the others of their shell
	Islands         RepairKind = "dropped_islands"  // small pieces dropped; size: their area, mm²
	DoubleShells    RepairKind = "double_shells"    // dropped: a second copy of a larger shell; size: their area, mm²
	TurnedShells    RepairKind = "turned_shells"    // were inside out
	SplitVertices   RepairKind = "split_vertices"   // held parts together at a point only, and were parted
	FilledHoles     RepairKind = "filled_holes"     // size: the longest border
	LeftOpen        RepairKind = "left_open"        // openings too large to fill; size: the longest border
)

// repairWords make a sentence of a step: for one and for more, then what the size is.
var repairWords = map[RepairKind][3]string{
	WeldedVertices:  {"1 vertex was merged with another", "%d vertices were merged with others", "nearer than %.2g mm"},
	DegenerateFaces: {"1 face without area was dropped", "%d faces without area were dropped", ""},
	DuplicateFaces:  {"1 face that was there twice was dropped", "%d faces that were there twice were dropped", ""},
	SplitEdges:      {"1 edge of more than two faces was parted", "%d edges of more than two faces were parted", ""},
	CutSeams:        {"the surface was cut at 1 edge where it had one side only", "the surface was cut at %d edges where it had one side only", ""},
	TurnedFaces:     {"1 face that was turned round was turned back", "%d faces that were turned round were turned back", ""},
	Islands:         {"1 stray piece was dropped", "%d stray pieces were dropped", "%.3g mm² in all"},
	DoubleShells:    {"1 surface that was there twice was dropped", "%d surfaces that were there twice were dropped", "%.4g mm² in all"},
	TurnedShells:    {"1 surface that was inside out was turned", "%d surfaces that were inside out were turned", ""},
	SplitVertices:   {"1 vertex that joined parts at a point was parted", "%d vertices that joined parts at a point were parted", ""},
	FilledHoles:     {"1 hole was filled", "%d holes were filled", "up to %.3g mm round"},
	LeftOpen:        {"1 opening was left open", "%d openings were left open", "up to %.4g mm round"},
}

// A RepairStep is one thing done or found, with how many there were.
type RepairStep struct {
	Kind  RepairKind `json:"kind"`
	Count int        `json:"count"`
	Size  float64    `json:"size,omitempty"` // mm, or mm² of what was dropped; see the kinds
	Words string     `json:"words"`
}

// An Opening is a closed border of the surface that was left open.
type Opening struct {
	PerimeterMM float64
	Centre      r3.Vec // of the border, weighted by length
	Normal      r3.Vec // unit, out of the enclosed room through the opening; zero for a border without area
	SpanMM      float64
	Edges       int
}

// A Shell is one connected piece of the surface.
type Shell struct {
	Faces     int
	AreaMM2   float64
	VolumeMM3 float64 // with flat lids over its openings
	Openings  int
	Centroid  r3.Vec // of its surface
	Inner     bool   // it lies within a larger shell, and bounds a cavity of it
}

// A RepairReport is what Repair found and did.
type RepairReport struct {
	Repairs      []RepairStep `json:"repairs"`
	Openings     []Opening    `json:"-"`
	Shells       []Shell      `json:"-"` // largest area first
	ShellOf      []int32      `json:"-"` // a face: its shell
	FilledFrom   int          `json:"-"` // faces from this on fill holes; no scanner has seen them
	WeldMM       float64      `json:"weld_mm"`
	TrianglesIn  int          `json:"triangles_in"`
	TrianglesOut int          `json:"triangles"`
}

// Closed says that no opening was left.
func (r *RepairReport) Closed() bool { return len(r.Openings) == 0 }

// Count is how many of a kind there were.
func (r *RepairReport) Count(k RepairKind) int {
	for _, s := range r.Repairs {
		if s.Kind == k {
			return s.Count
		}
	}
	return 0
}

func (r *RepairReport) add(k RepairKind, count int, size float64) {
	if count == 0 {
		return
	}
	w := repairWords[k]
	words := w[0]
	if count > 1 {
		words = fmt.Sprintf(w[1], count)
	}
	if w[2] != "" {
		words += ", " + fmt.Sprintf(w[2], size)
	} else {
		size = 0
	}
	r.Repairs = append(r.Repairs, RepairStep{k, count, size, words})
}

// Repair makes a mesh as it comes from a scanner, in mm, fit for distances and sections: it welds vertices, drops faces
// without area and doubles, parts edges and vertices that hold more than one sheet, winds the faces of each shell alike
// and outward (an inner shell inward, as the wall of a cavity), drops stray pieces and shells taken twice, and fills
// small holes; a large opening stays and is reported. m is not changed. The same mesh gives the same result.
//
// Faces keep their order and their tags; those that fill holes come last, with tag 0. Nothing is moved but by welding.
// The error is a problem.Problem when the mesh can't serve, or ctx's when that ends. progress may be nil.
func Repair(ctx context.Context, m *Mesh, o RepairOptions, progress func(done, total float64)) (*Mesh, RepairReport, error) {
	r := mender{ctx: ctx, m: m, o: o}
	r.report.TrianglesIn = len(m.F)
	if err := m.Validate(); err != nil {
		return nil, r.report, err
	}
	steps := []func(){r.weld, r.dropDoubles, r.pair, r.windAlike, r.dropIslands, r.dropDoubleShells, r.windOutward, r.part, r.fill, r.sum}
	for i, step := range steps {
		if progress != nil {
			progress(float64(i), float64(len(steps)))
		}
		step()
		if err := ctx.Err(); err != nil {
			return nil, r.report, err
		}
		if r.err != nil {
			return nil, r.report, r.err
		}
	}
	if progress != nil {
		progress(float64(len(steps)), float64(len(steps)))
	}
	return r.m, r.report, nil
}

// A mender is the state of one repair. Steps set err when there is no point in going on.
type mender struct {
	ctx    context.Context
	m      *Mesh
	o      RepairOptions
	report RepairReport
	err    error

	next    [][3]int32 // a side of a face: 3·face + side of the one it is joined to, or -1
	shell   []int32    // a face: its shell
	shells  []Shell
	borders []border
	filled  int // first face that fills a hole
}

func (r *mender) refuse(field, value, limit, mend string) {
	r.err = problem.Problem{Field: field, Value: value, Limit: limit, Mend: mend}
}

// weld merges vertices and drops the faces that lose a corner by it.
func (r *mender) weld() {
	tol := r.o.WeldMM
	if tol == 0 {
		tol = min(0.01*medianEdgeMM(r.m), 0.05)
	}
	if !(tol >= 0 && tol <= 10) {
		r.refuse("weld_mm", fmt.Sprintf("%g mm", tol), "0 to 10 mm", "choose a smaller distance")
		return
	}
	r.report.WeldMM = tol
	used := make([]bool, len(r.m.V))
	vertices := 0
	for _, f := range r.m.F {
		for _, v := range f {
			if !used[v] {
				used[v] = true
				vertices++
			}
		}
	}
	before := len(r.m.F)
	r.m = r.m.Welded(tol)
	r.report.add(WeldedVertices, vertices-len(r.m.V), tol)
	r.report.add(DegenerateFaces, before-len(r.m.F), 0)
	if r.m.Area() == 0 {
		r.refuse("triangles", fmt.Sprintf("%d, none with area", before), "at least one with area", "scan or export the shape again")
	}
}

// medianEdgeMM is the median length of the sides of the faces, of at most about 100000 spread over the mesh.
func medianEdgeMM(m *Mesh) float64 {
	step := len(m.F)/33_000 + 1
	var l []float64
	for i := 0; i < len(m.F); i += step {
		f := m.F[i]
		for k := range 3 {
			if d := r3.Norm(r3.Sub(m.V[f[k]], m.V[f[(k+1)%3]])); d > 0 {
				l = append(l, d)
			}
		}
	}
	if len(l) == 0 {
		return 0
	}
	slices.Sort(l)
	return l[len(l)/2]
}

// dropDoubles keeps the first of the faces with the same three corners, whichever way they are wound.
func (r *mender) dropDoubles() {
	seen := make(map[[3]int32]struct{}, len(r.m.F))
	double := make([]bool, len(r.m.F))
	n := 0
	for i, f := range r.m.F {
		slices.Sort(f[:])
		if _, there := seen[f]; there {
			double[i] = true
			n++
			continue
		}
		seen[f] = struct{}{}
	}
	r.keep(func(i int) bool { return !double[i] })
	r.report.add(DuplicateFaces, n, 0)
}

// keep drops the other faces; vertices stay until the end. Joints to a dropped face are let go.
func (r *mender) keep(yes func(i int) bool) {
	to := make([]int32, len(r.m.F))
	n := int32(0)
	kept := &Mesh{V: r.m.V, F: r.m.F[:0:0]}
	if r.m.Tag != nil {
		kept.Tag = []uint8{}
	}
	for i, f := range r.m.F {
		if !yes(i) {
			to[i] = -1
			continue
		}
		to[i] = n
		n++
		kept.F = append(kept.F, f)
		if r.m.Tag != nil {
			kept.Tag = append(kept.Tag, r.m.Tag[i])
		}
	}
	if r.next != nil {
		next := make([][3]int32, 0, n)
		shell := make([]int32, 0, n)
		for i, s := range r.next {
			if to[i] < 0 {
				continue
			}
			for k, j := range s {
				if j >= 0 {
					s[k] = -1
					if g := to[j/3]; g >= 0 {
						s[k] = 3*g + j%3
					}
				}
			}
			next = append(next, s)
			shell = append(shell, r.shell[i])
		}
		r.next, r.shell = next, shell
	}
	r.m = kept
}

// sum drops unused vertices, orders the shells and judges what has come of it.
func (r *mender) sum() {
	r.m = r.m.Subset(func(int) bool { return true })
	for i := range r.shells {
		r.shells[i].Faces, r.shells[i].AreaMM2 = 0, 0
	}
	for i, s := range r.shell {
		r.shells[s].Faces++
		r.shells[s].AreaMM2 += r.m.FaceArea(i)
	}
	order := make([]int, len(r.shells))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(r.shells[b].AreaMM2, r.shells[a].AreaMM2) })
	rank := make([]int32, len(order))
	for i, s := range order {
		rank[s] = int32(i)
		r.report.Shells = append(r.report.Shells, r.shells[s])
	}
	for i, s := range r.shell {
		r.shell[i] = rank[s]
	}
	r.report.ShellOf = r.shell
	r.report.FilledFrom = r.filled
	r.report.TrianglesOut = len(r.m.F)
	open, edges := 0, 0
	var longest float64
	for _, o := range r.report.Openings {
		open++
		edges += o.Edges
		longest = max(longest, o.PerimeterMM)
	}
	r.report.add(LeftOpen, open, longest)
	if all := 3 * len(r.m.F) / 2; open > 20 && edges > all/4 {
		r.refuse("surface", fmt.Sprintf("%d openings with %d of about %d edges", open, edges, all),
			"the faces must hang together", "let the scanning program make one surface of the scan, or weld with a wider distance")
	}
}

// holeMM is the longest border that is filled.
func (r *mender) holeMM() float64 {
	if r.o.HoleMM != 0 {
		return r.o.HoleMM
	}
	return math.Min(100, 0.35*r.m.LengthAcross())
}
