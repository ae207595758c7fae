package footwear

// A GradeRule says how a measure follows the size.
type GradeRule string

// The grading rules; Graded has the formulas.
const (
	GradeFixed       GradeRule = "fixed"           // angles, radii, cupping, rises, give, insole
	GradeLength      GradeRule = "length"          // with the last's length
	GradeLengthShare GradeRule = "share of length" // in proportion to the last's length
	GradeGirth       GradeRule = "girth"           // three quarters of the length's step, and the width fitting
	GradeInstepGirth GradeRule = "instep girth"    // the same millimetres as the ball girth
	GradeBallWidth   GradeRule = "ball width"      // one third of the girth's step
	GradeWidthShare  GradeRule = "share of width"  // in proportion to ball width
	GradeDepthShare  GradeRule = "share of girth"  // in proportion to ball girth
	GradeHeight      GradeRule = "height"          // with the height of the ankle bone
)
