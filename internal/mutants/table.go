package main

// A mutant is one deliberate fault.
type mutant struct {
	kind     string // sign, factor, axis, side, unit
	file     string // from the module's root
	old, new string // old stands in the file exactly once
	tests    string // what to run first: a pattern of test names; then the whole package
}

const (
	sizeTests    = "Size|Last|Convert|Round"
	seatTests    = "Foundation|Force|Punch|Eccentric|Mirror|Turning|Box|AV"
	supportTests = "Lever|Tilt|Foam|Strip|Shell|Rotational|Lifts|Support|TheBase|Motion"
	checkTests   = "Finding|Sides|Overlaps|Exact|Cures|ForeBar|Intended|Roll|Insole|Bevel|Open"
)

var mutants = []mutant{
	// Sizes.
	{"factor", "footwear/size.go", "parisPointMM     = 20.0 / 3", "parisPointMM     = 20.0 / 3.01", sizeTests},
	{"unit", "footwear/size.go", "barleycornMM     = 25.4 / 3", "barleycornMM     = 25.0 / 3", sizeTests},
	{"factor", "footwear/size.go", "childLastPerFoot = 1.08", "childLastPerFoot = 1.05", sizeTests},
	{"factor", "footwear/size.go", "return 2 * barleycornMM", "return 3 * barleycornMM", sizeTests},
	{"sign", "footwear/size.go", "return footMM + allowanceMM(sy, o)", "return footMM - allowanceMM(sy, o)", sizeTests},
	{"sign", "footwear/size.go", "return 25 - 1\n", "return 25 + 1\n", sizeTests},
	{"side", "footwear/size.go", "return 12 - usChildOffset", "return 12", sizeTests},
	{"unit", "footwear/size.go", "return lastMM / childLastPerFoot", "return lastMM * childLastPerFoot", sizeTests},

	// Seating: energy, force, second derivative.
	{"factor", "fit/newton.go", "b.energy += stiff * t.d * t.d / 2", "b.energy += stiff * t.d * t.d", seatTests},
	{"sign", "fit/newton.go", "f := r3.Scale(-stiff*t.d, t.along[0])", "f := r3.Scale(stiff*t.d, t.along[0])", seatTests},
	{"axis", "fit/newton.go", "m := r3.Scale(1/arm, r3.Cross(r, f))", "m := r3.Scale(1/arm, r3.Cross(f, r))", seatTests},
	{"unit", "fit/newton.go", "w := r3.Vec{X: step[3] / s.armMM, Y: step[4] / s.armMM, Z: step[5] / s.armMM}", "w := r3.Vec{X: step[3], Y: step[4], Z: step[5]}", seatTests},
	{"sign", "fit/newton.go", "b.energy -= r3.Dot(l.ForceN, p)", "b.energy += r3.Dot(l.ForceN, p)", seatTests},
	{"factor", "fit/touch.go", "stiff = -t.k * s.scale * t.share", "stiff = -2 * t.k * s.scale * t.share", seatTests},
	{"axis", "fit/touch.go", "r3.Dot(pose.Rotate(m.A), t.along[0])", "r3.Dot(m.A, t.along[0])", seatTests},

	// Support.
	{"sign", "fit/stability.go", "(0.137505 * (254 - 2.54*shoreA))", "(0.137505 * (254 + 2.54*shoreA))", supportTests},
	{"factor", "fit/stability.go", "return eMPa * (1 - nu) / ((1 + nu) * (1 - 2*nu) * hMM)", "return eMPa * (1 - nu) / ((1 + nu) * (1 - nu) * hMM)", supportTests},
	{"factor", "fit/stability.go", "math.Pow(base.WidthMM, 3) / 12", "math.Pow(base.WidthMM, 2) / 12", supportTests},
	{"factor", "fit/stability.go", "return wedge * seat / (wedge + seat)", "return wedge + seat", supportTests},
	{"axis", "fit/support.go", "return r3.Vec{X: ci * cd, Y: ci * sd, Z: si}", "return r3.Vec{X: ci * sd, Y: ci * cd, Z: si}", supportTests},
	{"sign", "fit/support.go", "(medialMM-a.BesideMM)*cd - forwardMM*sd", "(medialMM-a.BesideMM)*cd + forwardMM*sd", supportTests},
	{"factor", "fit/support.go", "return plan * math.Cos(a.InclinationDeg*math.Pi/180)", "return plan * math.Sin(a.InclinationDeg*math.Pi/180)", supportTests},
	{"side", "fit/support.go", "axis.LeverMM(0, -base.LateralMM), axis.LeverMM(0, base.MedialMM)", "axis.LeverMM(0, -2*base.LateralMM), axis.LeverMM(0, base.LateralMM/2)", supportTests},
	{"unit", "fit/support.go", "return force * e / (k * l * b * b * b / 12) * 180 / math.Pi", "return force * e / (k * l * b * b * b / 12)", supportTests},
	{"factor", "fit/support.go", "over := 3 * (b/2 - e)", "over := 2 * (b/2 - e)", supportTests},
	{"factor", "fit/support.go", "return 48 * eMPa * b * t * t * t / 12", "return 48 * eMPa * b * t * t / 12", supportTests},
	{"sign", "fit/support.go", "(math.Pi/2 - 4/math.Pi)", "(math.Pi/2 + 4/math.Pi)", supportTests},
	{"side", "fit/support.go", "if perRad < 0 {\n\t\t\tinvert", "if perRad > 0 {\n\t\t\tinvert", supportTests},

	// Where it is meant to lie.
	{"sign", "fit/place.go", "b.Room.FloorZ(back)-b.Room.FloorZ(front), front-back", "b.Room.FloorZ(front)-b.Room.FloorZ(back), front-back", checkTests},
	{"factor", "fit/place.go", "s, c := math.Sincos(deg * math.Pi / 360)", "s, c := math.Sincos(deg * math.Pi / 180)", checkTests},
	{"sign", "fit/place.go", "move(r3.Scale(-g, sf.forward))", "move(r3.Scale(g, sf.forward))", checkTests},

	// Findings.
	{"sign", "fit/finding.go", "w.VolumeMM3 -= area * h.Signed", "w.VolumeMM3 += area * h.Signed", checkTests},
	{"sign", "fit/finding.go", "limit := -f.GiveMM", "limit := f.GiveMM", checkTests},
	{"factor", "fit/finding.go", "f.PlusMinusMM = math.Hypot(b.Room.PlusMinusMM(f.Zone), deviceSigmaMM)", "f.PlusMinusMM = b.Room.PlusMinusMM(f.Zone) + deviceSigmaMM", checkTests},
	{"side", "fit/finding.go", "if q.Y >= 0 {\n\t\treturn \"medial\"", "if q.Y < 0 {\n\t\treturn \"medial\"", checkTests},
	{"side", "fit/finding.go", "footwear.BallMedial:\n\t\treturn \"medial\"", "footwear.BallMedial:\n\t\treturn \"lateral\"", checkTests},
	{"sign", "fit/finding.go", "case over <= blocked:", "case over <= -blocked:", checkTests},
	{"sign", "fit/finding.go", "f.GrindDepthMM = limit + sure*f.PlusMinusMM - f.GapMM", "f.GrindDepthMM = limit - sure*f.PlusMinusMM - f.GapMM", checkTests},
	{"axis", "fit/finding.go", "w.GrindDirection = pose.Inverse().Rotate(h.Normal)", "w.GrindDirection = pose.Rotate(h.Normal)", checkTests},

	// Room for the foot.
	{"sign", "fit/foot.go", "r.ToeTipXMM() - top.heelX - f.LengthMM", "r.ToeTipXMM() + top.heelX - f.LengthMM", checkTests},
	{"sign", "fit/foot.go", "lift -= r.Sheet.V(footwear.InsoleHeel)", "lift += r.Sheet.V(footwear.InsoleHeel)", checkTests},
	{"side", "fit/foot.go", "z := a.Z + (b.Z-a.Z)*(x-a.X)/(b.X-a.X)", "z := a.Z + (b.Z-a.Z)*(b.X-x)/(b.X-a.X)", checkTests},
}
