package footwear

import (
	"math"
	"slices"
	"strings"

	"lastroom/internal/problem"
)

// An Essential is one of the ten measures that make a useful room, and what for.
type Essential struct {
	ID  MeasureID
	Why string
}

// Essentials are the ten measures to take when there is time for ten, in the order in which they are best taken: the
// frame first, then where a device touches. The first nine are those that cost a device the most clearance while they are
// only assumed, the girth left out, which says much the same as the width (MattersMost; a test takes them one by one);
// the tenth is the room over it, for the foot.
var Essentials = [10]Essential{
	{LastLength, "every other place is found along it"},
	{BallWidth, "all widths go with it, and the front of a device lies there"},
	{SeatWidth, "the base of a heel wedge stands between the seat's edges"},
	{FeatherHeel, "the rounded edge of the seat lifts a square base"},
	{CounterWidth20, "the heel cup stands between these walls"},
	{WaistWidth, "arch and flange of the shell stand between these walls"},
	{HeelRise, "it sets how steep the bottom is under the shell"},
	{SeatAngle, "it sets how the heel lies, and where the shank begins to turn"},
	{ShankSagitta, "the shell bridges this hollow or rides on this hump"},
	{DepthBall, "it is the room that the device leaves to the foot"},
}

// AssumedPlusMinus is the ± of a measure that is not taken but assumed from its kind of shoe: a quarter of the width of
// its usual band for such a sheet (half of what all kinds spread over, as the kind is known), at least twice and at most
// ten times the ± of measuring it. Common practice, no source: the rule is ours.
func AssumedPlusMinus(s *Sheet, id MeasureID) float64 {
	lo, hi := Band(s, id)
	usual := Infos[id].PlusMinus
	wide := math.Min(math.Max((hi-lo)/4, 2*usual), plusMinusMax(&Infos[id]))
	return math.Round(wide*10) / 10
}

// Taken says whether a measure was taken: it has an instrument and is not assumed.
func (s *Sheet) Taken(id MeasureID) bool { return s.M[id].Instrument != "" && !s.M[id].Assumed }

// alike is the kind that stands for one that the catalog does not have.
const alike = "trainer"

// Nearest is the catalog's shoe of a kind, brought to a size: of several the one nearest in size. A kind that the catalog
// does not have is taken for a trainer; far from the sizes in which its kind is made, the shoe of another kind that is
// nearest in size stands for it. Every measure is marked as assumed, with AssumedPlusMinus. The error is a size that Check
// refuses, or one that no shoe of the catalog can be brought to.
func Nearest(kind string, size Size) (Sheet, error) {
	if err := size.Check(SizeOptions{}); err != nil {
		return Sheet{}, err
	}
	bare := Size{System: size.System, Value: size.Value} // a width says nothing beside sheets without one
	type candidate struct {
		sheet Sheet
		score float64
	}
	if !slices.ContainsFunc(Demo().sheets, func(s Sheet) bool { return s.Kind == kind }) {
		kind = alike
	}
	var from []candidate
	for _, s := range Demo().All() {
		step, _ := lastChange(s.Size, bare, SizeOptions{})
		score := math.Abs(step)
		if s.Kind != kind {
			score += 1000 // behind all of the kind
		}
		from = append(from, candidate{s, score})
	}
	slices.SortStableFunc(from, func(a, b candidate) int {
		switch {
		case a.score < b.score:
			return -1
		case a.score > b.score:
			return 1
		}
		return strings.Compare(a.sheet.ID, b.sheet.ID)
	})
	for _, c := range from {
		s, err := gradedFar(c.sheet, bare)
		if err != nil {
			continue
		}
		s.Size, s.GradedFrom = size, Size{}
		for id := range NumMeasures {
			s.M[id] = Measure{Value: roundTo(s.V(id), 0.1), Instrument: Infos[id].Instrument, Assumed: true}
		}
		for id := range NumMeasures {
			s.M[id].PlusMinus = AssumedPlusMinus(&s, id)
		}
		return s, nil
	}
	return Sheet{}, problem.Problem{
		Field: "size", Value: size.String(), Limit: "no shoe of the catalog can be brought to it", Mend: "choose a size nearer to 20 to 48 EU",
	}
}

// gradedFar grades beyond the reach of one pattern, by at most three steps.
func gradedFar(s Sheet, to Size) (Sheet, error) {
	const steps = 3
	for range steps - 1 {
		step, _ := lastChange(s.Size, to, SizeOptions{})
		reach := 0.95 * gradeReach * s.V(LastLength)
		if math.Abs(step) <= reach {
			break
		}
		own, err := Convert(to, s.Size.System, SizeOptions{})
		if err != nil {
			return s, err
		}
		part := s.Size
		part.Value += (own.Value - part.Value) * reach / math.Abs(step)
		if s, err = s.Graded(part, GradeOptions{}); err != nil {
			return s, err
		}
	}
	return s.Graded(to, GradeOptions{})
}

func roundTo(v, step float64) float64 { return math.Round(v/step) * step }

// FillIn completes a sheet of which only some measures were taken: the others take their values from the nearest shoe of
// its kind, brought to its size and then to the measures that were taken (see fill), marked as assumed, with
// AssumedPlusMinus. They are moved as far as the rules between measures and NewRoom need it, measures that were taken
// are not. Words that are empty are the nearest shoe's too. It returns the measures that were assumed, in the order of
// Infos. FillIn of what it returned gives the same again.
//
// The error is Nearest's, or the measures that were taken and lie outside their limits, from which nothing follows. Those that
// contradict each other are left so: Validate and NewRoom tell.
func FillIn(partial Sheet) (Sheet, []MeasureID, error) {
	var ps problem.Problems
	for id := range NumMeasures {
		if p, out := partial.outOfLimits(id); out && partial.Taken(id) {
			ps = append(ps, p)
		}
	}
	if len(ps) > 0 {
		return Sheet{}, nil, ps
	}
	like, err := Nearest(partial.Kind, partial.Size)
	if err != nil {
		return Sheet{}, nil, err
	}
	s, assumed := fillFrom(partial, &like)
	return s, assumed, nil
}

// fillFrom is FillIn from a given shoe.
func fillFrom(partial Sheet, like *Sheet) (Sheet, []MeasureID) {
	s := partial.clone()
	s.takeWords(like)
	var assumed []MeasureID
	for id := range NumMeasures {
		if !s.Taken(id) {
			assumed = append(assumed, id)
			s.M[id] = like.M[id]
		}
	}
	fill(&s, like)
	for _, id := range assumed {
		info := &Infos[id]
		s.M[id].Value = roundTo(min(max(s.V(id), info.Lo), info.Hi), 0.1)
	}
	reconcile(&s, assumed)
	for _, id := range assumed {
		s.M[id].PlusMinus = AssumedPlusMinus(&s, id)
	}
	return s, assumed
}

// takeWords fills in the words that are empty. Whether insole and sole are so or so goes with the closure.
func (s *Sheet) takeWords(like *Sheet) {
	if s.Closure == "" {
		s.Closure, s.InsoleRemovable, s.Rocker = like.Closure, like.InsoleRemovable, like.Rocker
	}
	if s.Outline == "" {
		s.Outline = like.Outline
	}
	if s.ToeShape == "" {
		s.ToeShape = like.ToeShape
	}
	if s.SoleStiffness == "" {
		s.SoleStiffness = like.SoleStiffness
	}
}

// reconcile moves assumed measures until the sheet breaks no rule and draws a room, or no move helps any more.
func reconcile(s *Sheet, assumed []MeasureID) {
	const rounds = 40
	for range rounds {
		problems := s.Contradictions()
		if len(problems) == 0 || !s.relax(problems, assumed) {
			return
		}
	}
}

// Contradictions are what Validate says of the measures, words aside, and when that is nothing, what NewRoom says.
func (s *Sheet) Contradictions() problem.Problems {
	ps := s.rangeProblems()
	for i := range sheetRules {
		if p, broken := sheetRules[i].check(s); broken {
			ps = append(ps, p)
		}
	}
	if len(ps) > 0 {
		return ps
	}
	if _, err := newForm(s, false); err != nil {
		return asProblems(err)
	}
	return nil
}

func asProblems(err error) problem.Problems {
	switch e := err.(type) {
	case problem.Problems:
		return e
	case problem.Problem:
		return problem.Problems{e}
	}
	return problem.Problems{{Limit: err.Error()}}
}

// movers are the measures that mend a problem of one, besides itself; for others all are tried.
var movers = map[MeasureID][]MeasureID{
	ShankSagitta: {SeatAngle, SeatLength, HeelRise},
	BallGirth:    {DepthBall, BallWidth},
	InstepGirth:  {DepthInstep, WaistWidth, BallWidth},
}

// relax makes the smallest move of one assumed measure that leaves fewer problems; false when there is none.
func (s *Sheet) relax(problems problem.Problems, assumed []MeasureID) bool {
	about, known := MeasureByKey(problems[0].Field)
	try := assumed
	if known {
		try = nil
		if others, ok := movers[about]; ok {
			try = others
		} else {
			try = assumed
		}
		try = append([]MeasureID{about}, try...)
	}
	const shares = 20
	for k := range shares {
		share := 0.02 * float64(k+1)
		for _, id := range try {
			if !slices.Contains(assumed, id) {
				continue
			}
			was := s.V(id)
			size := max(math.Abs(was), 10*Infos[id].PlusMinus)
			for _, v := range []float64{was + share*size, was - share*size} {
				s.M[id].Value = roundTo(min(max(v, Infos[id].Lo), Infos[id].Hi), 0.1)
				if len(s.Contradictions()) < len(problems) {
					return true
				}
			}
			s.M[id].Value = was
		}
	}
	return false
}
