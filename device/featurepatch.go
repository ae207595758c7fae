package device

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A Patch corrects the features of a device: the faces of one place get another name. Where is exactly one of Ball, Box
// and Flood. Points are in the device's frame, mm.
type Patch struct {
	Feature Feature
	Ball    *Ball
	Box     *r3.Box
	Flood   *Flood
}

// A Ball holds the faces whose middle is at most RadiusMM from its centre.
type Ball struct {
	Centre   r3.Vec
	RadiusMM float64
}

// A Flood begins at the face nearest to From and spreads over faces of the same feature, across edges that turn by at
// most TurnDeg.
type Flood struct {
	From    r3.Vec
	TurnDeg float64
}

// usualTurnDeg is the turn of a Flood that gives none: it stops at the edges of a wedge and of a rim.
const usualTurnDeg = 20

// Key is the feature's name as it is written in files and on the command line: wedge-base.
func (f Feature) Key() string { return strings.ReplaceAll(f.String(), " ", "-") }

// ParseFeature is the feature called by its name or key.
func ParseFeature(s string) (Feature, error) {
	want := strings.ReplaceAll(strings.ToLower(strings.TrimSpace(s)), " ", "-")
	var all []string
	for f := range NumFeatures {
		if f.Key() == want {
			return f, nil
		}
		all = append(all, f.Key())
	}
	p := problem.Problem{Field: "feature", Value: strconv.Quote(s), Limit: "one of " + strings.Join(all, ", "), Mend: "choose one of them"}
	if near := nearest(want, all); near != "" {
		p.Mend = "did you mean " + near + "?"
	}
	return NumFeatures, p
}

// ParsePatch reads a patch as it is written on the command line, in mm in the device's frame:
//
//	FEATURE@ball:X,Y,Z,RADIUS
//	FEATURE@box:X,Y,Z,X,Y,Z       two opposite corners
//	FEATURE@flood:X,Y,Z[,TURN]    a face, and how far (degrees) its neighbours may turn
func ParsePatch(s string) (Patch, error) {
	bad := func(why string) error {
		return problem.Problem{
			Field: "patch", Value: strconv.Quote(s), Limit: why,
			Mend: "write it as wedge-base@ball:40,0,0,8 or cup-rim@box:0,-40,10,60,40,30 or arch@flood:90,30,12",
		}
	}
	name, where, ok := strings.Cut(s, "@")
	if !ok {
		return Patch{}, bad("a feature, @ and a place are needed")
	}
	f, err := ParseFeature(name)
	if err != nil {
		return Patch{}, err
	}
	kind, list, _ := strings.Cut(where, ":")
	var v []float64
	for _, w := range strings.Split(list, ",") {
		x, err := strconv.ParseFloat(strings.TrimSpace(w), 64)
		if err != nil {
			return Patch{}, bad(strconv.Quote(w) + " is not a number")
		}
		v = append(v, x)
	}
	p := Patch{Feature: f}
	switch kind = strings.TrimSpace(kind); {
	case kind == "ball" && len(v) == 4:
		p.Ball = &Ball{r3.Vec{X: v[0], Y: v[1], Z: v[2]}, v[3]}
	case kind == "box" && len(v) == 6:
		p.Box = &r3.Box{
			Min: r3.Vec{X: min(v[0], v[3]), Y: min(v[1], v[4]), Z: min(v[2], v[5])},
			Max: r3.Vec{X: max(v[0], v[3]), Y: max(v[1], v[4]), Z: max(v[2], v[5])},
		}
	case kind == "flood" && (len(v) == 3 || len(v) == 4):
		p.Flood = &Flood{r3.Vec{X: v[0], Y: v[1], Z: v[2]}, usualTurnDeg}
		if len(v) == 4 {
			p.Flood.TurnDeg = v[3]
		}
	default:
		return Patch{}, bad("a ball has 4 numbers, a box 6, a flood 3 or 4")
	}
	return p, p.check()
}

func (p Patch) check() error {
	refuse := func(value, limit, mend string) error {
		return problem.Problem{Field: "patch", Value: value, Limit: limit, Mend: mend}
	}
	if p.Feature >= Cover {
		return refuse(p.Feature.String(), "no part of the rigid solid", "choose a feature of shell or wedge")
	}
	var v []float64
	places := 0
	at := func(q r3.Vec) { v = append(v, q.X, q.Y, q.Z) }
	if b := p.Ball; b != nil {
		places++
		at(b.Centre)
		v = append(v, b.RadiusMM)
		if !(b.RadiusMM > 0) {
			return refuse(mm(b.RadiusMM), "a radius above 0", "give one")
		}
	}
	if b := p.Box; b != nil {
		places++
		at(b.Min)
		at(b.Max)
	}
	if f := p.Flood; f != nil {
		places++
		at(f.From)
		if !(f.TurnDeg >= 0 && f.TurnDeg <= 180) {
			return refuse(deg(f.TurnDeg), "a turn of 0 to 180°", "give one")
		}
	}
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return refuse(fmt.Sprint(x), "finite numbers are needed", "set the place again")
		}
	}
	if places != 1 {
		return refuse(fmt.Sprintf("%d places", places), "one ball, box or flood", "give one place")
	}
	return nil
}

// Retag is the device with the features of a patch corrected; what follows from them (the base) is measured again. d
// is not changed; the two share what is not touched.
func Retag(d *Device, p Patch) (*Device, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	faces := p.faces(d.Rigid)
	if len(faces) == 0 {
		return nil, problem.Problem{Field: "patch", Limit: "no face of the device lies there", Mend: "points are in the frame of the device, in mm"}
	}
	out := *d
	out.Rigid = &mesh.Mesh{V: d.Rigid.V, F: d.Rigid.F, Tag: append([]uint8(nil), d.Rigid.Tag...)}
	base := p.Feature == WedgeBase
	for _, i := range faces {
		base = base || Feature(out.Rigid.Tag[i]) == WedgeBase
		out.Rigid.Tag[i] = uint8(p.Feature)
	}
	for _, f := range []Feature{FootSide, WedgeBase} {
		if !hasTag(out.Rigid, f) {
			return nil, problem.Problem{Field: "patch", Value: p.Feature.String(), Limit: "no " + f.String() + " would be left", Mend: "choose a smaller place"}
		}
	}
	if base {
		out.Base = taggedBase(out.Rigid, out.RimXMM)
		out.Base.LateralFacetDeg, out.Base.MedialFacetDeg = d.Base.LateralFacetDeg, d.Base.MedialFacetDeg
	}
	return &out, nil
}

func hasTag(m *mesh.Mesh, f Feature) bool {
	for _, t := range m.Tag {
		if t == uint8(f) {
			return true
		}
	}
	return false
}

// faces are those that lie in the patch's place.
func (p Patch) faces(m *mesh.Mesh) []int32 {
	if p.Flood != nil {
		return p.Flood.faces(m)
	}
	var in []int32
	for i, f := range m.F {
		c := r3.Scale(1.0/3, r3.Add(m.V[f[0]], r3.Add(m.V[f[1]], m.V[f[2]])))
		if b := p.Ball; b != nil && r3.Norm(r3.Sub(c, b.Centre)) <= b.RadiusMM {
			in = append(in, int32(i))
		}
		if b := p.Box; b != nil && c.X >= b.Min.X && c.Y >= b.Min.Y && c.Z >= b.Min.Z && c.X <= b.Max.X && c.Y <= b.Max.Y && c.Z <= b.Max.Z {
			in = append(in, int32(i))
		}
	}
	return in
}

func (f *Flood) faces(m *mesh.Mesh) []int32 {
	start := mesh.NewTree(m).Nearest(f.From).Face
	if start < 0 {
		return nil
	}
	s := newSkin(m)
	limit := math.Cos(f.TurnDeg*math.Pi/180) - 1e-9
	in := []int32{start}
	seen := map[int32]bool{start: true}
	for k := 0; k < len(in); k++ {
		for _, j := range s.next[in[k]] {
			if j >= 0 && !seen[j] && m.Tag[j] == m.Tag[start] && r3.Dot(s.normal[j], s.normal[in[k]]) >= limit {
				seen[j] = true
				in = append(in, j)
			}
		}
	}
	return in
}

// taggedBase measures the base that the tags of a mesh give, all but the angles of its facets.
func taggedBase(m *mesh.Mesh, rimX float64) Base {
	b := Base{BackXMM: math.Inf(1), FrontXMM: math.Inf(-1)}
	for i, f := range m.F {
		if Feature(m.Tag[i]) != WedgeBase {
			continue
		}
		b.AreaMM2 += m.FaceArea(i) * math.Abs(m.FaceNormal(i).Z)
		for _, v := range f {
			b.BackXMM, b.FrontXMM = min(b.BackXMM, m.V[v].X), max(b.FrontXMM, m.V[v].X)
		}
	}
	b.LengthMM = b.FrontXMM - b.BackXMM
	b.Outline = outlineOf(m, func(i int) bool { return Feature(m.Tag[i]) == WedgeBase }, b.BackXMM, b.FrontXMM)
	b.MedialMM, b.LateralMM = halfWidths(b.Outline, max(rimX, b.BackXMM))
	b.WidthMM = b.MedialMM + b.LateralMM
	return b
}
