package footwear

import (
	"fmt"
	"math"
	"strconv"

	"lastroom/internal/problem"
)

// A System is a way to number shoe sizes.
type System string

// The size systems.
const (
	Mondopoint System = "mondopoint" // foot length in mm; width is the foot's breadth in mm
	EU         System = "eu"         // Paris points of 2/3 cm, from 0, on the last
	UK         System = "uk"         // adults: barleycorns of 1/3 inch on the last, less 25
	USMen      System = "us-men"     // UK + 1
	USWomen    System = "us-women"   // US men + 1 or + 1.5, see WomenRule
	USChild    System = "us-child"   // UK child + 1/3
	UKChild    System = "uk-child"   // barleycorns on the last, less 12
)

// Systems lists the size systems in the order in which tables show them.
var Systems = []System{Mondopoint, EU, UK, USMen, USWomen, UKChild, USChild}

var systemNames = map[System]string{
	Mondopoint: "Mondopoint", EU: "EU", UK: "UK", USMen: "US men", USWomen: "US women",
	UKChild: "UK child", USChild: "US child",
}

// Name is the system's name as it is printed.
func (sy System) Name() string {
	if n, ok := systemNames[sy]; ok {
		return n
	}
	return string(sy)
}

// Child says whether the system numbers children's sizes only.
func (sy System) Child() bool { return sy == UKChild || sy == USChild }

// StepMM is what one whole size adds to the last's length, mm.
func (sy System) StepMM() float64 {
	switch sy {
	case Mondopoint:
		return 1
	case EU:
		return parisPointMM
	default:
		return barleycornMM
	}
}

// A Size is a shoe size. Value is exact, not rounded: 41.25 is as good as 41. Width is the foot's breadth in mm for
// Mondopoint (0: not stated), and the number of width fittings from the shoe's standard one (0) for the others.
type Size struct {
	System System  `json:"system"`
	Value  float64 `json:"value"`
	Width  float64 `json:"width,omitempty"`
}

// An Allowance is what the EU size adds to the foot's length to get to the last's, for adults.
type Allowance string

// The two allowances in use; the zero value means TwoPoints.
const (
	TwoPoints Allowance = "two-points" // two Paris points, 13.33 mm
	FifteenMM Allowance = "15-mm"
)

// A WomenRule is how US women's sizes follow from US men's.
type WomenRule string

// The two rules in use; the zero value means PlusOne.
const (
	PlusOne        WomenRule = "plus-1"
	PlusOneAndHalf WomenRule = "plus-1.5"
)

// SizeOptions settles what the size systems leave open. The zero value is an adult's foot, two points, men + 1.
type SizeOptions struct {
	Allowance Allowance `json:"allowance,omitempty"` // EU and Mondopoint last from foot; "" = TwoPoints
	USWomen   WomenRule `json:"us_women,omitempty"`  // "" = PlusOne
	Child     bool      `json:"child,omitempty"`     // last = 1.08 × foot in every system; child systems always do so
}

const (
	parisPointMM     = 20.0 / 3
	barleycornMM     = 25.4 / 3
	childLastPerFoot = 1.08
	usChildOffset    = 1.0 / 3

	// FootMinMM and FootMaxMM bound the foot lengths that any size may stand for.
	FootMinMM = 90.0
	FootMaxMM = 340.0

	fittingsMax = 8.0 // width fittings from the standard one, either way
)

// barleycornOffset is the size 0 of an English or US system in barleycorns of last length.
func barleycornOffset(sy System, o SizeOptions) float64 {
	switch sy {
	case USMen:
		return 25 - 1
	case USWomen:
		if o.USWomen == PlusOneAndHalf {
			return 25 - 2.5
		}
		return 25 - 2
	case UKChild:
		return 12
	case USChild:
		return 12 - usChildOffset
	default: // UK
		return 25
	}
}

// lastFromFoot is the last's length for a foot in a system, mm.
func lastFromFoot(footMM float64, sy System, o SizeOptions) float64 {
	if o.Child || sy.Child() {
		return childLastPerFoot * footMM
	}
	return footMM + allowanceMM(sy, o)
}

func footFromLast(lastMM float64, sy System, o SizeOptions) float64 {
	if o.Child || sy.Child() {
		return lastMM / childLastPerFoot
	}
	return lastMM - allowanceMM(sy, o)
}

func allowanceMM(sy System, o SizeOptions) float64 {
	switch {
	case sy != EU && sy != Mondopoint:
		return 2 * barleycornMM
	case o.Allowance == FifteenMM:
		return 15
	default:
		return 2 * parisPointMM
	}
}

// LastLengthMM is the length of the last that a size stands for, mm, exact. It refuses what Check refuses.
func LastLengthMM(s Size, o SizeOptions) (float64, error) {
	if err := s.Check(o); err != nil {
		return 0, err
	}
	return lastOf(s, o), nil
}

func lastOf(s Size, o SizeOptions) float64 {
	switch s.System {
	case Mondopoint:
		return lastFromFoot(s.Value, Mondopoint, o)
	case EU:
		return s.Value * parisPointMM
	default:
		return (s.Value + barleycornOffset(s.System, o)) * barleycornMM
	}
}

// FootLengthMM is the length of the foot that a size stands for, mm, exact. It refuses what Check refuses.
func FootLengthMM(s Size, o SizeOptions) (float64, error) {
	if err := s.Check(o); err != nil {
		return 0, err
	}
	return footOf(s, o), nil
}

func footOf(s Size, o SizeOptions) float64 {
	if s.System == Mondopoint {
		return s.Value
	}
	return footFromLast(lastOf(s, o), s.System, o)
}

// SizeFromFoot is the exact size of a foot in a system. Foot lengths outside FootMinMM to FootMaxMM are refused.
func SizeFromFoot(footMM float64, to System, o SizeOptions) (Size, error) {
	if err := checkFoot(footMM); err != nil {
		return Size{}, err
	}
	if to == Mondopoint {
		return checkedSize(Size{System: to, Value: footMM}, o)
	}
	return SizeFromLast(lastFromFoot(footMM, to, o), to, o)
}

// SizeFromLast is the exact size of a last of the given length in a system.
func SizeFromLast(lastMM float64, to System, o SizeOptions) (Size, error) {
	s := Size{System: to}
	switch to {
	case Mondopoint:
		s.Value = footFromLast(lastMM, to, o)
	case EU:
		s.Value = lastMM / parisPointMM
	default:
		s.Value = lastMM/barleycornMM - barleycornOffset(to, o)
	}
	return checkedSize(s, o)
}

func checkedSize(s Size, o SizeOptions) (Size, error) {
	if err := s.Check(o); err != nil {
		return Size{}, err
	}
	return s, nil
}

// Convert gives the size of the same foot in another system, exact. Width fittings are kept; a width is dropped where
// one system states it in mm and the other in fittings, as no published rule ties the two.
func Convert(s Size, to System, o SizeOptions) (Size, error) {
	footMM, err := FootLengthMM(s, o)
	if err != nil {
		return Size{}, err
	}
	if s.System == to {
		return s, nil
	}
	out, err := SizeFromFoot(footMM, to, o)
	if err != nil {
		return Size{}, err
	}
	if s.System != Mondopoint && to != Mondopoint {
		out.Width = s.Width
	}
	return out, nil
}

// A SizeRow is one line of a size table: the exact size, the size as it is sold, and the last's length.
type SizeRow struct {
	Exact        Size    `json:"exact"`
	Rounded      Size    `json:"rounded"`
	LastLengthMM float64 `json:"last_length_mm"`
	Sold         bool    `json:"sold"` // the system is used for feet of this length: child's sizes end at 13½, adults' start at 0
}

// SizeTable lists a foot's size in every system, in the order of Systems.
func SizeTable(footMM float64, o SizeOptions) ([]SizeRow, error) {
	rows := make([]SizeRow, 0, len(Systems))
	for _, sy := range Systems {
		s, err := SizeFromFoot(footMM, sy, o)
		if err != nil {
			return nil, err
		}
		r := SizeRow{Exact: s, Rounded: s.Rounded(), LastLengthMM: lastOf(s, o), Sold: true}
		switch {
		case sy.Child():
			r.Sold = r.Rounded.Value >= 0 && r.Rounded.Value <= 13.5
		case sy != EU && sy != Mondopoint:
			r.Sold = r.Rounded.Value >= 0
		}
		rows = append(rows, r)
	}
	return rows, nil
}

// Rounded is the nearest size as it is sold: half sizes, and intervals of 5 mm for Mondopoint (ISO 9407:2019 has 5 and
// 7.5 mm). Widths are kept.
func (s Size) Rounded() Size {
	step := 0.5
	if s.System == Mondopoint {
		step = 5
	}
	s.Value = math.Round(s.Value/step) * step
	return s
}

// String prints a size so that ParseSize reads it back, to a thousandth of a size, if it is not below zero.
func (s Size) String() string {
	v := shortNumber(s.Value)
	switch {
	case s.Width == 0:
		return s.System.Name() + " " + v
	case s.System == Mondopoint:
		return s.System.Name() + " " + v + "/" + shortNumber(s.Width)
	default:
		return fmt.Sprintf("%s %s, width %s", s.System.Name(), v, signed(s.Width))
	}
}

func signed(v float64) string {
	if v > 0 {
		return "+" + shortNumber(v)
	}
	return shortNumber(v)
}

// shortNumber prints at most three decimals and none that is zero.
func shortNumber(v float64) string {
	r := math.Round(v*1000) / 1000
	if r == 0 {
		r = 0 // no negative zero
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}

// Check refuses an unknown system, a number that is none, a foot length outside FootMinMM to FootMaxMM and a width that
// no foot has.
func (s Size) Check(o SizeOptions) error {
	if _, ok := systemNames[s.System]; !ok {
		return problem.Problem{
			Field: "size.system", Value: strconv.Quote(string(s.System)), Limit: "one of " + systemList(),
			Mend: "name the size system",
		}
	}
	if math.IsNaN(s.Value) || math.IsInf(s.Value, 0) {
		return problem.Problem{Field: "size.value", Value: fmt.Sprint(s.Value), Limit: "a finite number", Mend: "give the size as a number"}
	}
	if footMM := footOf(s, o); outside(footMM, FootMinMM, FootMaxMM) {
		// The limits in the words of the system itself, so that a person can mend the number that was typed.
		lo, hi := SizeLimits(s.System, o)
		return problem.Problem{
			Field: "size.value", Value: s.System.Name() + " " + shortNumber(s.Value),
			Limit: fmt.Sprintf("%s %s to %s (a foot of %g to %g mm)", s.System.Name(),
				shortNumber(lo), shortNumber(hi), FootMinMM, FootMaxMM),
			Mend: "check the number and the size system",
		}
	}
	lo, hi, unit := -fittingsMax, fittingsMax, "fittings from the standard width"
	if s.System == Mondopoint && s.Width != 0 {
		lo, hi, unit = 35, 150, "mm of foot breadth"
	}
	if math.IsNaN(s.Width) || outside(s.Width, lo, hi) {
		return problem.Problem{
			Field: "size.width", Value: fmt.Sprint(s.Width), Limit: fmt.Sprintf("%g to %g %s", lo, hi, unit),
			Mend: "leave the width out, or correct it",
		}
	}
	return nil
}

// SizeLimits gives the smallest and largest size of a system, those of feet of FootMinMM and FootMaxMM.
func SizeLimits(sy System, o SizeOptions) (lo, hi float64) {
	at := func(footMM float64) float64 {
		lastMM := lastFromFoot(footMM, sy, o)
		switch sy {
		case Mondopoint:
			return footMM
		case EU:
			return lastMM / parisPointMM
		default:
			return lastMM/barleycornMM - barleycornOffset(sy, o)
		}
	}
	return at(FootMinMM), at(FootMaxMM)
}

func checkFoot(footMM float64) error {
	if math.IsNaN(footMM) || outside(footMM, FootMinMM, FootMaxMM) {
		return problem.Problem{
			Field: "foot_length_mm", Value: fmt.Sprintf("%g mm", footMM),
			Limit: fmt.Sprintf("%g to %g mm", FootMinMM, FootMaxMM), Mend: "give the foot's length in millimetres",
		}
	}
	return nil
}

// outside allows for the last bits lost when a limit itself is converted there and back.
func outside(v, lo, hi float64) bool {
	const slack = 1e-9
	return v < lo-slack || v > hi+slack
}

func systemList() string {
	list := ""
	for i, sy := range Systems {
		if i > 0 {
			list += ", "
		}
		list += sy.Name()
	}
	return list
}
