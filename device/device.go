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

	// Heights above Z = 0 in mm of the foot side of the shell, without cover.
	HeelSeatMM float64 // lowest point of the cup
	FrontXMM   float64 // front edge of the shell on the heel bisection
	RimXMM     float64 // X of the widest place of the cup
	MassG      float64 // shell, wedge, cap, cover and extension

	ShellVolumeMM3, WedgeVolumeMM3, CapVolumeMM3, CoverVolumeMM3 float64

	Base Base
}

// A Base is what the device stands on: the wedge's base (or the ground flat of a flat or open build).
type Base struct {
	Outline                         [][2]float64 // X, Y, counterclockwise seen from above
	MedialMM, LateralMM             float64      // half widths from the heel bisection, at the heel's widest place of the base
	WidthMM                         float64      // MedialMM + LateralMM
	AreaMM2                         float64
	LengthMM                        float64
	BackXMM, FrontXMM               float64
	LateralFacetDeg, MedialFacetDeg float64 // rise of the facet away from the bisection, degrees; 0 is flat
}
