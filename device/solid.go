package device

import (
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// weldMM merges points that two half profiles share; it is far below the smallest step between points.
const weldMM = 1e-7

// A solidBuilder turns columns into faces. Neighbouring columns are joined point by point; where a wedge ends, the
// end plane is a patch between the curve on the underside and the base's edge.
type solidBuilder struct {
	mesh.Builder
	l    *layout
	cols []column
	ids  []columnIDs
}

// columnIDs are the vertex numbers of a column's points.
type columnIDs struct{ foot, rim, down, side, inner []int32 }

// solid is the closed surface over the columns, a Feature a face.
func (l *layout) solid(cols []column) *mesh.Mesh { return l.faces(cols).Welded(weldMM) }

// faces is the same before points in the same place are made one.
func (l *layout) faces(cols []column) *mesh.Mesh {
	b := &solidBuilder{l: l, cols: cols, ids: make([]columnIDs, len(cols))}
	for i := range cols {
		c := &cols[i]
		b.ids[i] = columnIDs{b.add(c.foot), b.add(c.rim[:]), b.add(c.down), b.add(c.side), b.add(c.inner)}
	}
	for j := range len(cols) - 1 {
		b.join(j)
	}
	b.front(0, false)
	b.front(len(cols)-1, true)
	return b.Mesh()
}

func (b *solidBuilder) add(p []r3.Vec) []int32 {
	ids := make([]int32, len(p))
	for i, v := range p {
		ids[i] = b.AddVertex(v)
	}
	return ids
}

// strip joins two rows that run the way from foot side to underside; tag is asked for each step.
func (b *solidBuilder) strip(p, q []int32, tag func(k int) Feature) {
	for k := range len(p) - 1 {
		b.AddQuad(p[k], q[k], q[k+1], p[k+1], uint8(tag(k)))
	}
}

func (b *solidBuilder) join(j int) {
	c, d := &b.cols[j], &b.cols[j+1]
	p, q := b.ids[j], b.ids[j+1]
	heel := c.at.fan || d.at.fan
	medial := !heel && c.at.side > 0
	x := (c.foot[footSteps].X + d.foot[footSteps].X) / 2
	cup := heel || x < 1.5*b.l.sh.c

	b.strip(p.foot, q.foot, func(int) Feature { return FootSide })
	edge := flangeAt(cup, medial, CupRim)
	b.strip([]int32{p.foot[footSteps], p.rim[0], p.rim[1], p.down[0]}, []int32{q.foot[footSteps], q.rim[0], q.rim[1], q.down[0]},
		func(int) Feature { return edge })
	// The outer half of the underside is a flange, the inner half plain shell.
	wall := flangeAt(cup, medial, CupWall)
	b.strip(p.down, q.down, func(k int) Feature {
		if cup || k < downSteps/2 {
			return wall
		}
		return ShellBottom
	})

	switch {
	case c.kind == atEnd && d.kind == onWedge || c.kind == onWedge && d.kind == atEnd:
		b.strip(p.side, q.side, b.sideTag(c, d))
		b.endPatch(j)
	case c.kind == groundEnd && d.kind == ground || c.kind == ground && d.kind == groundEnd:
		b.endPatch(j)
	case c.kind == onWedge:
		b.strip(p.side, q.side, b.sideTag(c, d))
		b.strip(p.inner, q.inner, func(int) Feature { return WedgeBase })
	case c.kind == ground && d.kind == ground:
		b.strip(p.inner, q.inner, func(int) Feature { return WedgeBase })
	default:
		b.strip(p.inner, q.inner, func(int) Feature { return ShellBottom })
	}
}

func flangeAt(cup, medial bool, inCup Feature) Feature {
	switch {
	case cup:
		return inCup
	case medial:
		return Arch
	default:
		return LateralFlange
	}
}

// sideTag names the wedge's side between two columns; its last step is the cap when there is one.
func (b *solidBuilder) sideTag(c, d *column) func(int) Feature {
	f := WedgeMedialSide
	switch {
	case (c.normX+d.normX)/2 > 0.5:
		f = WedgeBackSide
	case c.side[0].Y+d.side[0].Y < 0:
		f = WedgeLateralSide
	}
	return func(k int) Feature {
		if k == sideSteps-1 && b.l.o.CapMM > 0 {
			return Cap
		}
		return f
	}
}

// endPatch fills the end plane of a wedge between columns j and j+1, one of which is its end on the underside and the
// other its base's edge.
func (b *solidBuilder) endPatch(j int) {
	up, low, flip := j, j+1, false
	if k := b.cols[j].kind; k == onWedge || k == ground {
		up, low, flip = j+1, j, true
	}
	top, bottom := &b.cols[up], &b.cols[low]
	rows := make([][]int32, sideSteps+1)
	rows[0], rows[sideSteps] = b.ids[up].inner, b.ids[low].inner
	for i := 1; i < sideSteps; i++ {
		row := make([]int32, innerSteps+1)
		for k := range row {
			t, e := top.inner[k], bottom.inner[k]
			share := b.l.sideShare(i, t.Z-e.Z)
			row[k] = b.AddVertex(r3.Add(t, r3.Scale(share, r3.Sub(e, t))))
		}
		if top.side != nil {
			row[0] = b.ids[up].side[i]
		}
		rows[i] = row
	}
	face := WedgeFrontSide
	if b.l.w != nil && b.l.w.bar && bottom.at.u == b.l.w.heel {
		face = WedgeBackSide
	}
	for i := range sideSteps {
		tag := face
		if i == sideSteps-1 && b.l.o.CapMM > 0 {
			tag = Cap
		}
		for k := range innerSteps {
			p, q, r, s := rows[i][k], rows[i+1][k], rows[i+1][k+1], rows[i][k+1]
			if flip {
				p, r = r, p
			}
			b.AddQuad(p, q, r, s, uint8(tag))
		}
	}
}

// front closes the shell at its front edge on one half.
func (b *solidBuilder) front(j int, flip bool) {
	id := b.ids[j]
	low := append(append([]int32{}, id.down...), id.inner[1:]...) // rim to bisection
	quad := func(p, q, r, s int32) {
		if flip {
			p, r = r, p
		}
		b.AddQuad(p, q, r, s, uint8(FrontEdge))
	}
	for k := range footSteps {
		quad(id.foot[k], id.foot[k+1], low[footSteps-k-1], low[footSteps-k])
	}
	quad(id.foot[footSteps], id.rim[0], id.rim[1], low[0])
}
