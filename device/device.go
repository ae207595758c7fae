package device

import "lastroom/internal/mesh"

// A Device is an orthosis built from its options (or, later, read from a scan), for the right side, in its own frame:
// millimetres, X forward along the heel bisection, Y medial, Z up; Z = 0 is the plane the base was made to stand on
// (the plane of the seat), X = 0 the rearmost point of the device, Y = 0 the heel bisection.
//
// Rigid is the solid that carries load and is seated: shell, wedge and cap, closed and oriented, a Feature a face.
// CoverSolid is the soft cover and forefoot extension, closed, or nil; it bends, so it is drawn and counted as height but
// not seated.
type Device struct {
	Options    Options
	Rigid      *mesh.Mesh
	CoverSolid *mesh.Mesh

	// HeelSeatMM is the height over Z = 0 of the lowest point of the cup's foot side, without cover. In an open build
	// that point is ground away and the height negative: the heel pad lies on the shoe's seat, and the rest of the foot
	// sits as much lower.
	HeelSeatMM      float64
	FrontXMM        float64 // front edge of the shell on the heel bisection
	RimXMM          float64 // X of the widest place of the cup
	HeelHalfWidthMM float64 // of the foot's heel in the cup at its widest: its rearmost point lies so far behind RimXMM
	MassG           float64 // shell, wedge, cap, cover and extension

	ShellVolumeMM3, WedgeVolumeMM3, CapVolumeMM3 float64
	CoverVolumeMM3                               float64 // with the extension

	Base Base
}

// A Base is what the device stands on: the wedge's base (or the ground flat of a flat or open build).
type Base struct {
	Outline [][2]float64 // X, Y, counterclockwise seen from above; an open build's hole is not in it

	// Half widths from the heel bisection at the heel's widest place (RimXMM), or at the back of a base that begins in
	// front of it.
	MedialMM, LateralMM float64
	WidthMM             float64 // MedialMM + LateralMM

	AreaMM2           float64 // in plan, without an open build's hole
	LengthMM          float64
	BackXMM, FrontXMM float64

	LateralFacetDeg, MedialFacetDeg float64 // rise of the facet away from the bisection; 0 is flat
}
