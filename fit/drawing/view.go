package drawing

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A View is the direction from which a cut is looked at.
type View uint8

// The views: Behind cuts at an X, Side at a Y, Above at a Z.
const (
	Behind View = iota
	Side
	Above
)

// Views are all views, in the order in which they are shown.
var Views = [...]View{Behind, Side, Above}

var viewNames = [...]string{"from behind", "from the side", "from above"}

// String is the view in words.
func (v View) String() string {
	if int(v) >= len(viewNames) {
		return "unknown view"
	}
	return viewNames[v]
}

// Slug is the view as a part of a file name.
func (v View) Slug() string { return [...]string{"behind", "side", "above"}[v%3] }

// CutAxis is the letter of the axis the view cuts at.
func (v View) CutAxis() string { return [...]string{"X", "Y", "Z"}[v%3] }

// A Pt is a point on the paper, in mm: U to the right, V up.
type Pt struct{ U, V float64 }

func (a Pt) sub(b Pt) Pt             { return Pt{a.U - b.U, a.V - b.V} }
func (a Pt) add(b Pt) Pt             { return Pt{a.U + b.U, a.V + b.V} }
func (a Pt) scale(k float64) Pt      { return Pt{a.U * k, a.V * k} }
func (a Pt) dot(b Pt) float64        { return a.U*b.U + a.V*b.V }
func (a Pt) cross(b Pt) float64      { return a.U*b.V - a.V*b.U }
func (a Pt) lerp(b Pt, t float64) Pt { return Pt{a.U + (b.U-a.U)*t, a.V + (b.V-a.V)*t} }
func (a Pt) left() Pt                { return Pt{-a.V, a.U} }

// Project is the point's place on the paper.
func (v View) Project(p r3.Vec) Pt {
	switch v {
	case Behind:
		return Pt{-p.Y, p.Z}
	case Side:
		return Pt{p.X, p.Z}
	default:
		return Pt{p.X, p.Y}
	}
}

// Lift is the point of the cut's plane that lies at p on the paper: the inverse of Project in that plane.
func (v View) Lift(p Pt, c Cuts) r3.Vec {
	switch v {
	case Behind:
		return r3.Vec{X: c.XMM, Y: -p.U, Z: p.V}
	case Side:
		return r3.Vec{X: p.U, Y: c.YMM, Z: p.V}
	default:
		return r3.Vec{X: p.U, Y: p.V, Z: c.ZMM}
	}
}

// Cuts are the places of the three cuts in the room's frame, mm.
type Cuts struct {
	XMM, YMM, ZMM float64
}

// CutsThrough are the cuts that meet at p.
func CutsThrough(p r3.Vec) Cuts { return Cuts{p.X, p.Y, p.Z} }

// At is the place of the view's own cut.
func (c Cuts) At(v View) float64 { return [...]float64{c.XMM, c.YMM, c.ZMM}[v%3] }

// Moved are the cuts with the view's own cut put to mm.
func (c Cuts) Moved(v View, mm float64) Cuts {
	switch v {
	case Behind:
		c.XMM = mm
	case Side:
		c.YMM = mm
	default:
		c.ZMM = mm
	}
	return c
}

// plane is the plane of the view's cut. Its normal points to the viewer, so that sections run counterclockwise round
// the inside on the paper.
func (v View) plane(c Cuts) mesh.Plane {
	axis := [...]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}}[v%3]
	facing := [...]r3.Vec{{X: -1}, {Y: -1}, {Z: 1}}[v%3]
	return mesh.Plane{Point: r3.Scale(c.At(v), axis), Normal: facing}
}

// Label is the cut in words: "cut at X = 24.0 mm".
func (v View) Label(c Cuts) string { return fmt.Sprintf("cut at %s = %.1f mm", v.CutAxis(), c.At(v)) }

// A CutLine is where another view's cut crosses this one's paper: upright lines stand at a U, level ones at a V.
type CutLine struct {
	Of      View // the view whose cut this is
	Upright bool
	AtMM    float64 // U of an upright line, V of a level one
}

// CutLines are the lines of the two other cuts on this view's paper.
func (v View) CutLines(c Cuts) [2]CutLine {
	switch v {
	case Behind:
		return [2]CutLine{{Side, true, -c.YMM}, {Above, false, c.ZMM}}
	case Side:
		return [2]CutLine{{Behind, true, c.XMM}, {Above, false, c.ZMM}}
	default:
		return [2]CutLine{{Behind, true, c.XMM}, {Side, false, c.YMM}}
	}
}

// CutAt is the place in the room's frame of a line of another view's cut that was dragged to p on this view's paper.
func (v View) CutAt(of View, p Pt) float64 {
	at := v.Lift(p, Cuts{})
	return CutsThrough(at).At(of)
}
