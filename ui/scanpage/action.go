package scanpage

import (
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// An Action is an intention of the person or a report of the work in the background.
type Action interface{ action() }

// Intentions.
type (
	// Open asks for a file.
	Open struct {
		Path    string
		Purpose Purpose
	}
	// PickUnit answers which unit it is, in mm; for a file that is open it reads it anew in that unit.
	PickUnit struct{ MM float64 }
	// Cancel stops what is being worked on.
	Cancel struct{}
	// SetPurpose says what the scan is of.
	SetPurpose struct{ Purpose Purpose }
	// SetSide says which foot it is for.
	SetSide struct{ Side footwear.Side }
	// SetTool picks what mouse and arrow keys do.
	SetTool struct{ Tool Tool }
	// ToggleFar shows the far side, or the near one again.
	ToggleFar struct{}
	// MoveCut puts a view's cut to a place, mm.
	MoveCut struct {
		View drawing.View
		MM   float64
	}
	// StepCut moves a view's cut, mm.
	StepCut struct {
		View drawing.View
		MM   float64
	}
	// Move shifts the scan in a drawing, mm to the right and up.
	Move struct {
		View drawing.View
		By   drawing.Pt
	}
	// Turn turns the scan in a drawing, degrees anticlockwise on the paper, about where the other two cuts meet.
	Turn struct {
		View drawing.View
		Deg  float64
	}
	// LetGo ends a movement: measures are read anew.
	LetGo struct{}
	// HalfTurn turns the scan by 180° about a view's line of sight: Above swaps heel and toe, Side turns it upside down
	// with its toe behind, Behind upside down.
	HalfTurn struct{ View drawing.View }
	// Restore takes every correction back.
	Restore struct{}
	// PickPoint sets the next of the three points, in the drawings' frame.
	PickPoint struct{ At r3.Vec }
	// DropPoints forgets them.
	DropPoints struct{}
	// PickPatch picks the patch of a device that a face belongs to, -1 for none.
	PickPatch struct{ Face int32 }
	// NamePatch says which feature the picked patch belongs to.
	NamePatch struct{ Feature device.Feature }
	// Enter is a text entered in a field.
	Enter struct{ Key, Text string }
	// Step moves a number by N of its steps.
	Step struct {
		Key string
		N   int
	}
	// Drag moves a number along its track.
	Drag struct {
		Key   string
		Value float64
	}
	// Use makes the room, or the device, that is tried from now on.
	Use struct{}
	// Undo takes the last correction back.
	Undo struct{}
	// Redo does again what was taken back last.
	Redo struct{}
)

// Reports of the work; those of another Job are dropped.
type (
	// Progressed says how far it is.
	Progressed struct {
		Job   uint64
		Share float64
		Doing string
	}
	// WasRead brings what stands in the file.
	WasRead struct {
		Job uint64
		Raw *Raw
	}
	// WasMended brings the mended mesh.
	WasMended struct {
		Job   uint64
		Shape *Shape
	}
	// WasFound brings the frame.
	WasFound struct {
		Job   uint64
		Found Found
	}
	// WasMeasured brings what was read off.
	WasMeasured struct {
		Job  uint64
		Read *Read
	}
	// WasUsed says that a room or device was made, and its name.
	WasUsed struct {
		Job  uint64
		Text string
	}
	// Failed says that the work came to nothing, and why.
	Failed struct {
		Job uint64
		Err error
	}
)

func (Open) action()        {}
func (PickUnit) action()    {}
func (Cancel) action()      {}
func (SetPurpose) action()  {}
func (SetSide) action()     {}
func (SetTool) action()     {}
func (ToggleFar) action()   {}
func (MoveCut) action()     {}
func (StepCut) action()     {}
func (Move) action()        {}
func (Turn) action()        {}
func (LetGo) action()       {}
func (HalfTurn) action()    {}
func (Restore) action()     {}
func (PickPoint) action()   {}
func (DropPoints) action()  {}
func (PickPatch) action()   {}
func (NamePatch) action()   {}
func (Enter) action()       {}
func (Step) action()        {}
func (Drag) action()        {}
func (Use) action()         {}
func (Undo) action()        {}
func (Redo) action()        {}
func (Progressed) action()  {}
func (WasRead) action()     {}
func (WasMended) action()   {}
func (WasFound) action()    {}
func (WasMeasured) action() {}
func (WasUsed) action()     {}
func (Failed) action()      {}

// An Effect is what has to be done outside. A later one of the page stops an earlier one.
type Effect interface{ effect() }

// Effects.
type (
	// ReadFile asks for what stands in a file.
	ReadFile struct {
		Job  uint64
		Path string
	}
	// Mend asks for a mesh in millimetres that can be worked with.
	Mend struct {
		Job   uint64
		Shape Shape // without Mesh and Report
	}
	// Find asks for the frame.
	Find struct {
		Job     uint64
		Shape   *Shape
		Purpose Purpose
		Side    footwear.Side // when it is given
		Points  *[3]r3.Vec    // in the scan's frame, those of PointNames
	}
	// Measure asks for what can be read off in a frame.
	Measure struct {
		Job uint64
		Placed
	}
	// Rename asks for what was read off a device with the patch round a face given to another feature.
	Rename struct {
		Job     uint64
		Read    *Read
		Face    int32
		Feature device.Feature
	}
	// Make asks for the room or the device.
	Make struct {
		Job uint64
		Placed
		Allow Allowances
		Read  *Read
	}
	// Stop stops the work.
	Stop struct{}
	// Log asks for a line in the event log.
	Log struct{ Line string }
)

// Placed is a scan in its frame.
type Placed struct {
	Shape   *Shape
	Purpose Purpose
	Found   Found
	Pose    mesh.Pose // roomFromScan, corrected
	Moved   mesh.Pose // the correction alone
	Side    footwear.Side
}

func (ReadFile) effect() {}
func (Mend) effect()     {}
func (Find) effect()     {}
func (Measure) effect()  {}
func (Rename) effect()   {}
func (Make) effect()     {}
func (Stop) effect()     {}
func (Log) effect()      {}
