package device

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Build makes the device. The error, if any, is the list of broken rules (problem.Problems).
func Build(o Options) (*Device, error) {
	if ps := o.tabled(); len(ps) > 0 {
		return nil, ps
	}
	l, ps := lay(o)
	if ps != nil {
		return nil, ps
	}
	cols := l.columns()
	d := &Device{
		Options:         l.o,
		Rigid:           l.solid(cols),
		HeelSeatMM:      l.sh.z0,
		FrontXMM:        l.sh.front,
		RimXMM:          l.sh.c,
		HeelHalfWidthMM: l.sh.radius,
	}
	d.Base = l.base(cols)
	all := d.Rigid.Volume()
	d.ShellVolumeMM3 = all
	if !l.o.grounded() {
		d.ShellVolumeMM3 = l.bareVolume(cols)
		d.CapVolumeMM3 = l.capVolume(cols)
		d.WedgeVolumeMM3 = all - d.ShellVolumeMM3 - d.CapVolumeMM3
	}
	shell, _ := FindMaterial(l.o.Material)
	grams := d.ShellVolumeMM3*shell.DensityGCM3 + d.WedgeVolumeMM3*l.o.wedgeDensity() +
		d.CapVolumeMM3*findSoft(CapMaterials, l.o.CapMaterial).DensityGCM3
	if l.o.HasCover() || l.o.HasExtension() {
		soft := l.soft()
		d.CoverSolid = soft.solid
		d.CoverVolumeMM3 = soft.coverMM3 + soft.extensionMM3
		grams += soft.coverMM3*findSoft(SoftMaterials, l.o.CoverMaterial).DensityGCM3 +
			soft.extensionMM3*findSoft(SoftMaterials, l.o.ExtensionMaterial).DensityGCM3
	}
	d.MassG = grams / 1000
	return d, nil
}

// bareVolume is the volume of the shell alone: the same columns with the underside carried on behind the wedge.
func (l *layout) bareVolume(cols []column) float64 {
	shell := make([]column, len(cols))
	for i, c := range cols {
		if c.kind == onWedge {
			c.inner = make([]r3.Vec, innerSteps+1)
			top := l.tops[c.at]
			c.inner[0] = top.p
			for k := 1; k <= innerSteps; k++ {
				t := float64(k) / innerSteps
				r := l.sh.along(place{c.at.fan, top.at.u + (c.at.u-top.at.u)*t, c.at.side})
				c.inner[k] = r.under(top.s * (1 - t))
			}
		}
		c.kind, c.side = bare, nil
		shell[i] = c
	}
	return l.faces(shell).Volume()
}

// base measures what the device stands on.
func (l *layout) base(cols []column) Base {
	var b Base
	for i := range cols {
		c := &cols[i]
		switch c.kind {
		case onWedge:
			b.Outline = append(b.Outline, [2]float64{c.side[sideSteps].X, c.side[sideSteps].Y})
		case ground:
			b.Outline = append(b.Outline, [2]float64{c.inner[0].X, c.inner[0].Y})
		}
	}
	// The columns run clockwise seen from above.
	for i, j := 0, len(b.Outline)-1; i < j; i, j = i+1, j-1 {
		b.Outline[i], b.Outline[j] = b.Outline[j], b.Outline[i]
	}
	b.BackXMM, b.FrontXMM = math.Inf(1), math.Inf(-1)
	for i, p := range b.Outline {
		q := b.Outline[(i+1)%len(b.Outline)]
		b.AreaMM2 += (p[0]*q[1] - q[0]*p[1]) / 2
		b.BackXMM, b.FrontXMM = math.Min(b.BackXMM, p[0]), math.Max(b.FrontXMM, p[0])
	}
	b.MedialMM, b.LateralMM = halfWidths(b.Outline, math.Max(l.sh.c, b.BackXMM))
	b.WidthMM = b.MedialMM + b.LateralMM
	b.LengthMM = b.FrontXMM - b.BackXMM
	if l.w != nil {
		b.LateralFacetDeg = l.o.ContactAngleDeg
		b.MedialFacetDeg = l.o.MotionDeg - l.o.ContactAngleDeg
	}
	b.AreaMM2 -= l.holeArea(cols)
	return b
}

// halfWidths is how far a closed outline reaches at x, medially and laterally.
func halfWidths(outline [][2]float64, x float64) (medial, lateral float64) {
	for i, p := range outline {
		q := outline[(i+1)%len(outline)]
		for _, y := range crossingsAt(p, q, x) {
			medial, lateral = math.Max(medial, y), math.Max(lateral, -y)
		}
	}
	return medial, lateral
}

// crossingsAt are the Y at which the edge p–q meets x; both ends when it lies along it.
func crossingsAt(p, q [2]float64, x float64) []float64 {
	const eps = 1e-9
	switch {
	case math.Abs(p[0]-x) < eps:
		return []float64{p[1]}
	case math.Abs(q[0]-x) < eps:
		return []float64{q[1]}
	case (p[0] < x) != (q[0] < x):
		return []float64{p[1] + (q[1]-p[1])*(x-p[0])/(q[0]-p[0])}
	default:
		return nil
	}
}

// holeArea is the plan area of the hole that an open build has under the heel.
func (l *layout) holeArea(cols []column) float64 {
	if l.o.WedgeBuild != Open {
		return 0
	}
	var area float64
	var p []r3.Vec
	for i := range cols {
		if c := &cols[i]; c.kind == ground {
			p = append(p, c.inner[innerSteps])
		}
	}
	for i := range p {
		q := p[(i+1)%len(p)]
		area += (q.X*p[i].Y - p[i].X*q.Y) / 2
	}
	return area
}

// capVolume is the volume of the wear layer: between ruled sides its plan area is quadratic in height, so Simpson's
// rule over bottom, middle and top is exact for the faceted solid.
func (l *layout) capVolume(cols []column) float64 {
	if l.o.CapMM == 0 {
		return 0
	}
	area := func(share float64) float64 {
		var p [][2]float64
		for i := range cols {
			if c := &cols[i]; c.kind == onWedge {
				low, up := c.side[sideSteps], c.side[sideSteps-1]
				p = append(p, [2]float64{low.X + (up.X-low.X)*share, low.Y + (up.Y-low.Y)*share})
			}
		}
		grow := tanDeg(l.o.BevelFrontDeg) * l.o.CapMM * share
		// The front end leans out: its two corners move forward along the sides' outline.
		p = append([][2]float64{{l.w.toe + grow, p[0][1]}}, append(p, [2]float64{l.w.toe + grow, p[len(p)-1][1]})...)
		var a float64
		for i := range p {
			q := p[(i+1)%len(p)]
			a += (q[0]*p[i][1] - p[i][0]*q[1]) / 2
		}
		return a
	}
	return l.o.CapMM / 6 * (area(0) + 4*area(0.5) + area(1))
}
