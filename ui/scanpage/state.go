package scanpage

import (
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
	"lastroom/ui/history"
)

// A Purpose is what a scan is of.
type Purpose string

// The purposes.
const (
	Last   Purpose = "last"   // the last that the shoe was made on
	Inside Purpose = "inside" // the inside of the shoe, scanned or cast
	Device Purpose = "device" // an orthosis
)

// A Stage is how far a file has come.
type Stage string

// The stages.
const (
	Idle    Stage = ""
	Reading Stage = "reading"
	AskUnit Stage = "units" // waits for the person
	Mending Stage = "mending"
	Finding Stage = "finding" // of the frame
	Using   Stage = "using"   // makes a room or a device of it
)

// A Tool is what mouse and arrow keys do in the drawings.
type Tool string

// The tools.
const (
	CutTool   Tool = "cuts"
	MoveTool  Tool = "move"
	TurnTool  Tool = "turn"
	PointTool Tool = "points"
	PatchTool Tool = "patches" // of a device
)

// Raw is what stands in a file.
type Raw struct {
	Mesh      *mesh.Mesh // in the unit UnitMM of Info, in the file's numbers when that is 0
	Info      mesh.FileInfo
	Guesses   []mesh.UnitGuess // when UnitMM is 0, likeliest first
	Ambiguous bool
	Doubted   float64 // unit that the file names and that would make something else than a shoe of it, mm; 0: none
}

// A Shape is a mended scan in millimetres.
type Shape struct {
	Name    string
	Path    string
	Raw     *Raw
	UnitMM  float64
	Guessed bool // the unit was guessed
	Mesh    *mesh.Mesh
	Report  mesh.RepairReport
}

// A Figure is a number that was read off the scan.
type Figure struct {
	Name  string
	Value string // with its unit, and ± where there is one
	About string // what it is
}

// Found is the frame of a scan with what was read off in it.
type Found struct {
	Pose     mesh.Pose // roomFromScan, without Correction
	Side     footwear.Side
	SideWhy  string
	SideOdds float64
	InsideIn bool  // the faces look into the room
	Read     *Read // what was read off on the way, if anything
	Rough    bool  // no frame was found: the scan lies as it came
	LengthMM float64
	NoiseMM  float64
	Notes    []string
}

// Read is what was read off in a frame.
type Read struct {
	Figures []Figure
	Lengths []drawing.Length // in the drawings' frame
	Notes   []string

	// Of a device: the device, and its surface in the scan's frame, each face with its feature. It is drawn in place of
	// the scan, face by face that of Device.Rigid.
	Device *device.Device
	Skin   *mesh.Mesh
}

// Allowances are thicknesses between what was scanned and the room, mm.
type Allowances struct {
	InsoleMM, LiningMM, SockMM float64
}

// State is everything that the page shows. It is a value: Reduce returns a new one and leaves the old one be.
type State struct {
	Job      uint64 // number of the work that is asked for last
	Stage    Stage
	Progress float64 // share done, 0 to 1
	Doing    string  // in words

	opening Opening // the file on its way
	raw     *Raw    // of it

	Purpose    Purpose
	Shape      *Shape // nil before the first
	Found      Found
	Correction mesh.Pose
	Read       *Read // nil while it is worked out
	Stale      bool  // Read is of another frame than the one shown
	Side       footwear.Side
	SideGiven  bool // by the person

	Tool    Tool
	Far     bool
	Cuts    drawing.Cuts
	Points  []r3.Vec // in the scan's frame: heel, tread medial, tread lateral
	Patch   int32    // face that was picked, -1 for none
	PatchIs device.Feature

	Allow   Allowances
	Typed   map[string]string
	Refused map[string]problem.Problem

	Problem string // why the last thing asked for was not done
	Done    string // what was last done

	steps history.Steps[lain]
}

// An Opening is a file that is being opened.
type Opening struct {
	Path, Name string
	Purpose    Purpose
	again      bool // it is open already, in another unit
}

// Start is the page before a file.
func Start() State { return State{Purpose: Inside, Tool: MoveTool, Patch: -1} }

// Busy says whether something is being worked on.
func (s *State) Busy() bool { return s.Stage != Idle && s.Stage != AskUnit }

// Mirrored says whether the drawings show the mirror image: a left one as a right one.
func (s *State) Mirrored() bool { return s.Side == footwear.LeftSide }

// Pose is roomFromScan with the correction.
func (s *State) Pose() mesh.Pose { return s.Correction.Compose(s.Found.Pose) }

// Corrected says whether the person moved what was found.
func (s *State) Corrected() bool { return s.Correction != mesh.Pose{} }

// Drawn is the shape as the drawings show it; nil without one.
func (s *State) Drawn() *drawing.Shape {
	if s.Shape == nil {
		return nil
	}
	d := &drawing.Shape{Mesh: s.Shape.Mesh, Pose: s.Pose(), Mirrored: s.Mirrored(), Far: s.Far, Cuts: s.Cuts}
	for i, p := range s.Points {
		d.Points = append(d.Points, drawing.Named{At: d.Place(p), Name: s.PointNames()[i]})
	}
	if s.Read != nil {
		if !s.Stale {
			d.Lengths = s.Read.Lengths
		}
		if s.Read.Skin != nil {
			d.Mesh, d.Tints = s.Read.Skin, FeatureTint
			d.Names = func(tag uint8) string { return device.Feature(tag).String() }
			if s.Patch >= 0 && int(s.Patch) < len(d.Mesh.F) {
				f := d.Mesh.F[s.Patch]
				middle := r3.Scale(1.0/3, r3.Add(d.Mesh.V[f[0]], r3.Add(d.Mesh.V[f[1]], d.Mesh.V[f[2]])))
				d.Points = append(d.Points, drawing.Named{At: d.Place(middle), Name: s.PatchIs.String()})
			}
		}
	}
	return d
}

// PointNames are what the three points are called.
func (s *State) PointNames() [3]string {
	if s.Purpose == Device {
		return [3]string{"1 heel", "2 front, middle", "3 medial"}
	}
	return [3]string{"1 heel", "2 tread, medial", "3 tread, lateral"}
}
