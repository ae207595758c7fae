package footwear

import (
	"fmt"
	"math"
	"slices"
)

// scannerPlusMinusMM is how well a scanner itself holds, a hand-held one, 95 of a hundred (common practice, no source).
const scannerPlusMinusMM = 0.5

// assumedTimes is how much wider the ± of a measure is that was taken from the nearest kind of shoe (ours).
const assumedTimes = 3.0

// sheetFromReading makes a sheet of what was read off a scan. What was not read is taken from the demo shoe that is
// nearest in what was, in proportion to the length, widths or girths as the measure grades, and marked as assumed, with
// three times the usual ±. The notes tell what had to give way to the rules between measures.
func sheetFromReading(sv *survey, r *ScanReading, o ScanOptions) (Sheet, []string) {
	like, how := nearestShoe(r, o.ShoeKind)
	s := like.clone()
	s.ID, s.Name, s.Reasons = o.ID, o.Name, nil
	if s.ID == "" {
		s.ID = "scan"
	}
	if s.Name == "" {
		s.Name = "Scanned shoe"
	}
	if o.ShoeKind != "" {
		s.Kind = o.ShoeKind
	}
	s.InsoleRemovable = false
	s.Note = fmt.Sprintf("Read off a scan with %.2f mm of noise. What it does not tell is taken from the %s.", r.NoiseMM, how)
	s.Size, s.GradedFrom = o.Size, Size{}
	if s.Size == (Size{}) {
		s.Size = Size{System: EU, Value: math.Round(2*sv.last/parisPointMM) / 2}
	}
	ratio := scaleOf(&like, r)
	scanner := o.PlusMinusMM
	if scanner == 0 {
		scanner = scannerPlusMinusMM
	}
	for id := range NumMeasures {
		info := &Infos[id]
		most := plusMinusMax(info)
		if v, ok := r.M[id]; ok {
			pm := math.Hypot(r.PlusMinus[id], scanner*scannerShare(id, sv.last))
			s.M[id] = Measure{Value: v, PlusMinus: math.Min(pm, most), Instrument: Scan}
			continue
		}
		s.M[id] = Measure{Value: like.V(id) * ratio(info.Grade), PlusMinus: math.Min(assumedTimes*info.PlusMinus, most), Instrument: Guess, Assumed: true}
	}
	s.M[InsoleHeel].Value, s.M[InsoleForefoot].Value = math.Max(o.InsoleMM, 0), math.Max(o.InsoleMM, 0)
	s.Outline = Straight
	swing := stationValue(sv.st, 0.9*sv.last, func(s *station) float64 { return s.middle })
	if math.Abs(swing) > 0.03*s.V(BallWidth) {
		s.Outline = Swung
	}
	return s, s.reconcile()
}

// scannerShare is how an error of the scanner's walls goes into a measure: whole into lengths, widths and depths, π-fold
// over the diameter into girths, and as an angle over the seat.
func scannerShare(id MeasureID, last float64) float64 {
	switch {
	case id == BallGirth || id == InstepGirth:
		return math.Pi
	case Infos[id].Unit == "deg":
		return 180 / math.Pi / (0.25 * last)
	}
	return 1
}

// scaleOf is the ratio between a scan and a shoe for each rule of grading.
func scaleOf(like *Sheet, r *ScanReading) func(GradeRule) float64 {
	over := func(id MeasureID, otherwise float64) float64 {
		if v, ok := r.M[id]; ok {
			return v / like.V(id)
		}
		return otherwise
	}
	length := over(LastLength, 1)
	width := over(BallWidth, length)
	girth := over(BallGirth, width)
	return func(g GradeRule) float64 {
		switch g {
		case GradeLength, GradeLengthShare:
			return length
		case GradeHeight:
			return math.Pow(length, heightPower)
		case GradeBallWidth, GradeWidthShare:
			return width
		case GradeGirth, GradeInstepGirth, GradeDepthShare:
			return girth
		}
		return 1
	}
}

// nearestShoe is the demo shoe, of a kind when one is given, that differs least from the reading in what was read: the
// root mean square of the differences, shoes brought to the same length, each against the usual band of its measure.
func nearestShoe(r *ScanReading, kind string) (Sheet, string) {
	best, least := Sheet{}, math.Inf(1)
	shoes := Demo().All()
	if kind != "" && slices.ContainsFunc(shoes, func(s Sheet) bool { return s.Kind == kind }) {
		shoes = slices.DeleteFunc(shoes, func(s Sheet) bool { return s.Kind != kind })
	}
	for _, s := range shoes {
		length := r.M[LastLength] / s.V(LastLength)
		sum, n := 0.0, 0.0
		for id := range NumMeasures {
			v, ok := r.M[id]
			if !ok || id == LastLength {
				continue
			}
			w := s.V(id)
			if Infos[id].Grade != GradeFixed {
				w *= length
			}
			d := (v - w) / (Infos[id].BandHi - Infos[id].BandLo)
			sum, n = sum+d*d, n+1
		}
		// Feet of other lengths have other shoes: a tenth of the length counts as much as a tenth of a band.
		d := math.Log(length)
		if off := math.Sqrt((sum + d*d) / math.Max(n, 1)); off < least {
			best, least = s, off
		}
	}
	return best, fmt.Sprintf("%s (%s)", best.Name, best.ID)
}

// reconcile brings values that no sheet may have to the nearest that it may, since a scan's walls stay what they are
// whatever its sheet says, and tells which. Assumed measures give way first.
func (s *Sheet) reconcile() []string {
	var notes []string
	move := func(id MeasureID, to float64, why string) {
		m := &s.M[id]
		if !m.Assumed {
			notes = append(notes, fmt.Sprintf("%s reads %s, %s: the sheet has %s", Infos[id].Name, quantity(m.Value, Infos[id].Unit), why, quantity(to, Infos[id].Unit)))
			m.PlusMinus = math.Min(math.Max(m.PlusMinus, math.Abs(to-m.Value)), plusMinusMax(&Infos[id]))
		}
		m.Value, m.Assumed = to, true
	}
	for range 6 {
		changed := false
		for id := range NumMeasures {
			if v, in := s.V(id), &Infos[id]; !(v >= in.Lo && v <= in.Hi) {
				to := math.Min(math.Max(v, in.Lo), in.Hi)
				if math.IsNaN(v) {
					to = in.BandLo
				}
				move(id, to, "which no shoe has")
				changed = true
			}
		}
		for i := range sheetRules {
			c := &sheetRules[i]
			if _, broken := c.check(s); !broken {
				continue
			}
			to := s.V(c.about)
			if c.lo != nil {
				to = math.Max(to, c.lo(s))
			}
			if c.hi != nil {
				to = math.Min(to, c.hi(s))
			}
			move(c.about, to, "though "+c.why)
			changed = true
		}
		if !changed {
			break
		}
	}
	return notes
}
