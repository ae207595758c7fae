package footwear

// A Measure is one measured quantity of a shoe: its value in the unit of its MeasureInfo, its ± (95 %
// of readings lie within it for Kind normal, all for Kind even), the instrument it was taken with, and whether it was assumed.
type Measure struct {
	Value      float64    `json:"value"`
	PlusMinus  float64    `json:"plus_minus"`
	Instrument Instrument `json:"instrument"`
	Assumed    bool       `json:"assumed,omitempty"`
}

// MeasureID names a measure of the sheet; it indexes Sheet.M and Infos.
type MeasureID int

// The measures. Lengths and girths in mm, angles in degrees; Infos has the definition of each.
const (
	LastLength      MeasureID = iota // rearmost inside point to toe tip, along X
	BallWidth                        // inside width across the tread line, at its widest height
	BallGirth                        // tape round the inside at the tread line (convex hull)
	WaistWidth                       // narrowest inside width between seat and ball, at its widest height
	SeatWidth                        // heel-seat width: counter walls extended straight down to the board
	CounterWidth10                   // inside width 10 mm above the seat, at the widest place of the heel
	CounterWidth20                   // the same at 20 mm
	CounterWidth40                   // the same at 40 mm
	CounterWidthTop                  // the same at the topline
	CounterHeight                    // height of the stiff counter above the seat
	BackCurveSeat                    // how far the wall at the seat edge stands in front of the rearmost point
	BackCurveTop                     // how far the back topline stands in front of the rearmost point
	SeatCupping                      // hollow of the seat over 60 mm across
	FeatherHeel                      // radius of the feather line at the heel
	FeatherForefoot                  // radius of the feather line at the ball
	SeatAngle                        // slope of the seat, falling towards the toe, positive
	SeatLength                       // back to breast, along X
	HeelRise                         // height of the board at the rear end of the seat above the board at the tread line
	ShankSagitta                     // sagitta: largest distance of the bottom profile from the chord breast to tread
	ToeSpring                        // height of the board at the toe tip above the tread line
	DepthInstep                      // inside height over the board at the instep
	DepthBall                        // the same at the tread line
	DepthToe                         // the same 20 mm behind the toe tip
	InstepGirth                      // tape round the inside at the instep
	ToplineMedial                    // topline above the board, medial, below the ankle
	ToplineLateral                   // the same, lateral
	ToplineBack                      // topline above the seat at the back
	InsoleHeel                       // thickness of the shoe's own insole under the heel
	InsoleForefoot                   // the same at the tread line
	GiveCounter                      // how far the wall yields without harm: counter
	GiveQuarter                      // quarter (waist walls)
	GiveVamp                         // vamp (ball, toe, roof)
	NumMeasures
)

// A Sheet is a shoe as a sheet of measures. Right side; a left shoe has the mirrored room and the same sheet.
type Sheet struct {
	ID   string
	Name string
	Kind string // one of the kinds of shoe, "court shoe", "running shoe", …
	Size Size   // the size these measures stand for
	M    [NumMeasures]Measure

	GradedFrom Size // the size they were taken in, when Graded made them; the zero value: they were taken in Size

	InsoleRemovable bool
	Closure         string  // laces, slip-on, strap, zip, dial, buckle
	Outline         Outline // straight or swung
	ToeShape        string  // round, oval, square, pointed
	SoleStiffness   string  // soft, medium, stiff, rigid
	Rocker          bool
	Note            string            // what the shoe is, in our own words
	Reasons         map[string]string // measure key → why it lies outside the handbook's band
}

// V is the value of a measure.
func (s *Sheet) V(id MeasureID) float64 { return s.M[id].Value }
