package device

// A Feature is a named part of a device's surface. It is the label (mesh.Mesh.Tag) of each face of a device.
type Feature uint8

// The features. FootSide is the upper face that carries the foot; ShellBottom the underside of the shell where no
// wedge covers it. WedgeBase is what the device stands on: both facets, with a cap or without, or the ground flat. Front
// and back sides are the wedge's own ends. Cap is the strip that the wear layer shows on the wedge's sides.
const (
	FootSide Feature = iota
	CupRim
	CupWall // outside of the heel cup above the wedge
	Arch    // medial underside and edge between cup and front edge
	LateralFlange
	ShellBottom
	FrontEdge
	WedgeBase
	WedgeMedialSide
	WedgeLateralSide
	WedgeBackSide
	WedgeFrontSide
	Cap
	Cover
	Extension
	NumFeatures
)

var featureNames = [NumFeatures]string{
	"foot side", "cup rim", "cup wall", "arch", "lateral flange", "shell bottom", "front edge", "wedge base",
	"wedge medial side", "wedge lateral side", "wedge back side", "wedge front side", "cap", "cover", "extension",
}

// String is the feature's name in plain words.
func (f Feature) String() string {
	if f >= NumFeatures {
		return "unknown feature"
	}
	return featureNames[f]
}
