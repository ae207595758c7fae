package fit

import (
	"math"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// gentMPa is Young's modulus of a solid elastomer by its Shore A hardness, MPa: Gent 1958,
// E = 0.0981(56 + 7.62336 S)/(0.137505(254 − 2.54 S)); for foam an order of magnitude only.
func gentMPa(shoreA float64) float64 {
	return 0.0981 * (56 + 7.62336*shoreA) / (0.137505 * (254 - 2.54*shoreA))
}

// layer is the foundation of a layer, N/mm³: K = E(1−ν)/((1+ν)(1−2ν)h) (Blankevoort et al. 1991, J Biomech 24:1019;
// Johnson 1985; the formula from memory), for ν below 0.5.
func layer(eMPa, nu, hMM float64) float64 {
	return eMPa * (1 - nu) / ((1 + nu) * (1 - 2*nu) * hMM)
}

// foundation is that of the wedge on the shoe's board, two springs in series, N/mm³. Without a wedge the shell's own
// thickness takes its place.
func (b *Bench) foundation(d *device.Device) float64 {
	o := d.Options
	shell, _ := device.FindMaterial(o.Material)
	e, nu := shell.FlexuralMPa, shell.Poisson
	high := d.HeelSeatMM - o.ShellThicknessMM
	switch {
	case o.WedgeBuild == device.Flat || o.WedgeBuild == device.Open:
		high = o.ShellThicknessMM
	case o.WedgeMaterial == device.EVA:
		e, nu = gentMPa(o.WedgeHardnessShoreA), 0.2
	case o.WedgeMaterial != device.SamePolymer:
		pp, _ := device.FindMaterial("pp-homo")
		e, nu = pp.FlexuralMPa, pp.Poisson
	}
	if math.IsNaN(e) || e <= 0 {
		return 0
	}
	wedge, seat := layer(e, nu, math.Max(high, 0.5)), b.wallStiffness(b.Room, footwear.Seat)
	return wedge * seat / (wedge + seat)
}

// stability is what the base gives at the settled pose.
func (b *Bench) stability(p *probe, settled mesh.Pose) Stability {
	base := p.dev.Base
	s := Stability{WidthMM: base.WidthMM, MedialMM: base.MedialMM, LateralMM: base.LateralMM, AreaMM2: base.AreaMM2}
	s.RotationalNMMPerRad = b.foundation(p.dev) * base.LengthMM * math.Pow(base.WidthMM, 3) / 12
	for _, corner := range [4][2]float64{{1, 1}, {1, -1}, {-1, 1}, {-1, -1}} {
		far, at := math.Inf(-1), -1
		for _, i := range p.base {
			q := p.samples[i].P
			if v := corner[0]*q.X + corner[1]*q.Y; v > far {
				far, at = v, i
			}
		}
		if at >= 0 {
			if h := b.tree.Nearest(settled.Apply(p.samples[at].P)); !h.Beyond {
				s.RockGapMM = math.Max(s.RockGapMM, h.Signed)
			}
		}
	}
	return s
}
