package photopage

import (
	"lastroom/footwear"
	"lastroom/footwear/trace"
	"lastroom/internal/problem"
	"lastroom/ui/history"
)

// A Stage is how far a photo has come.
type Stage string

// The stages.
const (
	Idle    Stage = ""
	Loading Stage = "loading"
	Tracing Stage = "tracing"
	Filling Stage = "filling" // of a sheet
)

// State is everything that the page shows. It is a value: Reduce returns a new one and leaves the old one be.
type State struct {
	Job   uint64 // number of the work that is asked for last
	Stage Stage

	opening [2]string // path and name of the photo on its way

	Path, Name string
	Picture    *trace.Picture // nil before the first photo
	Corners    [4]trace.Point
	Known      bool // the corners were found or set
	Set        bool // the corners were set by the person
	Moved      bool // the corners were moved since the outline was read
	Held       int  // corner that keys move, 0 to 3

	Sheet        trace.Paper
	What         trace.What
	Side         trace.Side
	EdgeHeightMM float64
	Typed        string
	Refused      *problem.Problem

	Read    *trace.Tracing // nil until it is read, and when it could not be
	Problem string
	Done    string

	steps history.Steps[lain]
}

// Start is the page before a photo.
func Start() State { return State{What: trace.Insole} }

// Busy says whether something is being worked on.
func (s *State) Busy() bool { return s.Stage != Idle }

// Options are what is known of the photo.
func (s *State) Options() trace.Options {
	o := trace.Options{Sheet: s.Sheet, Side: s.Side, What: s.What, EdgeHeightMM: s.EdgeHeightMM}
	if s.What == trace.Pencil {
		o.EdgeHeightMM = 0
	}
	if s.Set {
		c := s.Corners
		o.Corners = &c
	}
	return o
}

// An Action is an intention of the person or a report of the work in the background.
type Action interface{ action() }

// Intentions.
type (
	// Open asks for a photo.
	Open struct{ Path, Name string }
	// Cancel stops what is being worked on.
	Cancel struct{}
	// SetSheet says which sheet it is.
	SetSheet struct{ Paper trace.Paper }
	// SetWhat says what lies on it.
	SetWhat struct{ What trace.What }
	// SetSide says which foot it is for.
	SetSide struct{ Side trace.Side }
	// Enter is a text entered for the height of the edge.
	Enter struct{ Text string }
	// Step moves that height by N steps.
	Step struct{ N int }
	// Drag moves it along its track.
	Drag struct{ Value float64 }
	// MoveCorner puts a corner to a place.
	MoveCorner struct {
		Corner int
		At     trace.Point
	}
	// NudgeCorner moves the held corner by pixels of the file.
	NudgeCorner struct{ DX, DY float64 }
	// HoldCorner picks the corner that keys move.
	HoldCorner struct{ Corner int }
	// LetGo ends a movement: the outline is read anew.
	LetGo struct{}
	// FindCorners looks for the corners again.
	FindCorners struct{}
	// Apply fills a sheet with what was read.
	Apply struct{ New bool }
	// Undo takes the last correction back.
	Undo struct{}
	// Redo does again what was taken back last.
	Redo struct{}
)

// Reports of the work; those of another Job are dropped.
type (
	// WasLoaded brings the photo.
	WasLoaded struct {
		Job     uint64
		Picture *trace.Picture
	}
	// WasTraced brings what was read.
	WasTraced struct {
		Job  uint64
		Read *trace.Tracing
	}
	// WasFilled says which sheet was filled.
	WasFilled struct {
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
func (Cancel) action()      {}
func (SetSheet) action()    {}
func (SetWhat) action()     {}
func (SetSide) action()     {}
func (Enter) action()       {}
func (Step) action()        {}
func (Drag) action()        {}
func (MoveCorner) action()  {}
func (NudgeCorner) action() {}
func (HoldCorner) action()  {}
func (LetGo) action()       {}
func (FindCorners) action() {}
func (Apply) action()       {}
func (Undo) action()        {}
func (Redo) action()        {}
func (WasLoaded) action()   {}
func (WasTraced) action()   {}
func (WasFilled) action()   {}
func (Failed) action()      {}

// An Effect is what has to be done outside. A later one of the page stops an earlier one.
type Effect interface{ effect() }

// Effects.
type (
	// Load asks for the photo.
	Load struct {
		Job        uint64
		Path, Name string
	}
	// Trace asks for the outline.
	Trace struct {
		Job        uint64
		Path, Name string
		Options    trace.Options
	}
	// Fill asks for a sheet with what was read.
	Fill struct {
		Job     uint64
		Name    string // of the photo
		Read    *trace.Tracing
		New     bool // a sheet of its own; otherwise that of the shoe in use
		Changes []Change
	}
	// Stop stops the work.
	Stop struct{}
	// Log asks for a line in the event log.
	Log struct{ Line string }
)

// A Change is a measure that a sheet gets.
type Change struct {
	ID footwear.MeasureID
	M  footwear.Measure
}

func (Load) effect()  {}
func (Trace) effect() {}
func (Fill) effect()  {}
func (Stop) effect()  {}
func (Log) effect()   {}
