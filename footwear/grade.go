package footwear

import (
	"fmt"
	"math"

	"lastroom/internal/problem"
)

// A GradeRule says how a measure follows the size. Graded has the formulas.
type GradeRule string

// The grading rules.
const (
	GradeFixed       GradeRule = "fixed"           // angles, radii, cupping, rises, back curve, give, insole
	GradeLength      GradeRule = "length"          // with the last's length
	GradeLengthShare GradeRule = "share of length" // in proportion to the last's length
	GradeGirth       GradeRule = "girth"           // three quarters of the length's step, and the width fitting
	GradeInstepGirth GradeRule = "instep girth"    // the same millimetres as the ball girth
	GradeBallWidth   GradeRule = "ball width"      // one third of the girth's step
	GradeWidthShare  GradeRule = "share of width"  // in proportion to ball width
	GradeDepthShare  GradeRule = "share of girth"  // in proportion to ball girth
	GradeHeight      GradeRule = "height"          // as the outer ankle bone rises with the foot
)

const (
	// Girth per millimetre of last: 6.35 mm for 8.4667 mm in English and US sizes, 5.0 for 6.6667 in EU sizes, which is
	// one and the same ratio; and 6.35 mm a width fitting (US patent 1,948,547, 1934; read).
	girthPerLength = 0.75
	fittingGirthMM = 6.35
	widthPerGirth  = 1.0 / 3 // ball width to girth, about (read: 2.12 mm at 6.35)

	// Geometric grading takes a width fitting as the same share of any girth: 6.35 mm of 250 (calc).
	fittingShare = fittingGirthMM / 250

	// The outer ankle bone rises by 0.144 mm a millimetre of foot in men, 0.127 in women (ANSUR II 2012, read); the
	// topline and the counter keep below it. The power makes the same step at a 52 mm quarter on a 280 mm last (calc).
	heightPerLength = 0.14
	heightPower     = 0.75

	// A pattern is graded over part of the size range only; beyond it a new last is made (common practice, no source).
	gradeReach = 0.20
)

// GradeOptions settles how a shoe is graded. The zero value is arithmetic, for an adult.
type GradeOptions struct {
	// Geometric: girths and widths change by the percentage by which the length changes, heights by three quarters of
	// it. Otherwise (arithmetic) they change by constant steps in millimetres. The length follows the size in both.
	Geometric bool        `json:"geometric,omitempty"`
	Sizes     SizeOptions `json:"sizes,omitzero"`
}

// Graded is the shoe in another size. With d the change of the last's length and q its ratio (sizes of different
// systems are compared by the foot they stand for), k the number of width fittings, and G = 0.75 d + 6.35 k:
//
//	rule             arithmetic                geometric
//	length           + d                       × q
//	girths           + G                       × q (1 + 6.35/250)^k
//	ball width       + G/3                     × q (1 + 6.35/250)^k
//	heights          + 0.14 d                  × q^0.75
//	shares           in proportion to last length, ball width or ball girth
//	fixed            none                      none
//
// Where both sizes are Mondopoint with a width, ball width changes as the foot's breadth, so that G is three times the
// change; with only one width it is an error. To the size it has the shoe is unchanged, and up and down again gives the
// same numbers to rounding (1e-12 relative). The ± stay those of the shoe that was measured; GradedFrom tells its size.
//
// Errors: a size that Check refuses, a change of more than a fifth of the last's length, or a graded sheet that is not
// valid.
func (s Sheet) Graded(to Size, o GradeOptions) (Sheet, error) {
	out := s.clone()
	if err := to.Check(o.Sizes); err != nil {
		return Sheet{}, err
	}
	if err := s.Size.Check(o.Sizes); err != nil {
		return Sheet{}, err
	}
	if to == s.Size {
		return out, out.Validate().In(s.ID).Err()
	}
	step, ratio := lastChange(s.Size, to, o.Sizes)
	if reach := gradeReach * s.V(LastLength); math.Abs(step) > reach {
		return Sheet{}, problem.Problem{
			File: s.ID, Field: "size", Value: to.String(),
			Limit: fmt.Sprintf("this shoe's %s and %.0f mm of last more or less", s.Size, reach),
			Mend:  "choose a nearer size, or a shoe that is made near this size",
		}
	}
	fittings, err := fittingChange(s.Size, to, step)
	if err != nil {
		return Sheet{}, err
	}

	girthStep := girthPerLength*step + fittingGirthMM*fittings
	girthRatio := ratio * math.Pow(1+fittingShare, fittings)
	grow := func(id MeasureID, mm, factor float64) {
		if o.Geometric {
			out.M[id].Value *= factor
		} else {
			out.M[id].Value += mm
		}
	}
	// The leading measures first, as the shares follow them.
	for id := range NumMeasures {
		switch Infos[id].Grade {
		case GradeLength:
			grow(id, step, ratio)
		case GradeGirth, GradeInstepGirth:
			grow(id, girthStep, girthRatio)
		case GradeBallWidth:
			grow(id, girthStep*widthPerGirth, girthRatio)
		case GradeHeight:
			grow(id, heightPerLength*step, math.Pow(ratio, heightPower))
		}
	}
	for id := range NumMeasures {
		switch Infos[id].Grade {
		case GradeLengthShare:
			out.M[id].Value *= out.V(LastLength) / s.V(LastLength)
		case GradeWidthShare:
			out.M[id].Value *= out.V(BallWidth) / s.V(BallWidth)
		case GradeDepthShare:
			out.M[id].Value *= out.V(BallGirth) / s.V(BallGirth)
		}
	}

	out.Size = to
	switch s.GradedFrom {
	case Size{}:
		out.GradedFrom = s.Size
	case to:
		out.GradedFrom = Size{}
	}
	if err := out.Validate().In(s.ID).Err(); err != nil {
		return Sheet{}, err
	}
	return out, nil
}

// lastChange compares the lasts of two sizes, mm and ratio, by the foot they stand for, on one scale.
func lastChange(from, to Size, o SizeOptions) (step, ratio float64) {
	o.Child = o.Child || from.System.Child() || to.System.Child()
	a := lastFromFoot(footOf(from, o), EU, o)
	b := lastFromFoot(footOf(to, o), EU, o)
	return b - a, b / a
}

// fittingChange is the number of width fittings from one size to another, where the last changes by step.
func fittingChange(from, to Size, step float64) (float64, error) {
	inMM := func(s Size) bool { return s.System == Mondopoint && s.Width != 0 }
	switch {
	case inMM(from) && inMM(to):
		girth := (to.Width - from.Width) / widthPerGirth
		return (girth - girthPerLength*step) / fittingGirthMM, nil
	case inMM(from) != inMM(to):
		return 0, problem.Problem{
			Field: "size.width", Value: to.String(), Limit: "a breadth in mm says nothing beside a size without one: " + from.String(),
			Mend: "give both sizes as Mondopoint with breadth, or leave the breadth out",
		}
	}
	return to.Width - from.Width, nil
}
