package footwear

// An Instrument is what a measure is taken with.
type Instrument string

// The instruments. A sheet read from a file may name these and no others.
const (
	Calliper       Instrument = "calliper"
	InsideCalliper Instrument = "inside calliper"
	InsideRule     Instrument = "inside rule" // a sliding stick that is spread inside the shoe
	Tape           Instrument = "tape"
	Rule           Instrument = "rule"
	DepthGauge     Instrument = "depth gauge"
	HeightGauge    Instrument = "height gauge"
	RadiusGauge    Instrument = "radius gauge"
	AngleGauge     Instrument = "angle gauge"
	ContourGauge   Instrument = "contour gauge" // a comb of pins that takes a curve
	Thumb          Instrument = "thumb"         // pressed by hand, for the give of a wall
	LastSheet      Instrument = "last sheet"    // read off the sheet of the last that the shoe was made on
	Scan           Instrument = "scan"
	Photo          Instrument = "photo" // of the insole on a sheet of paper
	Guess          Instrument = "guess" // not measured
)

// Instruments lists them all.
var Instruments = []Instrument{
	Calliper, InsideCalliper, InsideRule, Tape, Rule, DepthGauge, HeightGauge, RadiusGauge, AngleGauge, ContourGauge,
	Thumb, LastSheet, Scan, Photo, Guess,
}

// A Spread says what the ± of a measure is.
type Spread string

// The two kinds of spread.
const (
	Normal Spread = "normal" // ± is 1.96 standard deviations of a normal distribution: 95 of 100 readings lie within it
	Even   Spread = "even"   // ± is half the width of a uniform distribution
)

// An Outline is the plan shape of a shoe.
type Outline string

// The two outlines.
const (
	Straight Outline = "straight" // the forefoot lies on the heel-seat centre line
	Swung    Outline = "swung"    // the forefoot swings to the medial side
)
