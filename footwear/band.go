package footwear

import (
	"fmt"
	"slices"
)

// highCut are the kinds of shoe whose topline lies above the ankle.
var highCut = []string{"hiking boot", "safety boot", "ankle boot"}

// fullLastMM is the last's length from which the handbooks' figures for adults hold; below it the bands of heights
// shrink in proportion (common practice, no source).
const fullLastMM = 260

// childLastMM is the last's length below which the bands of children's feet hold, which are wider for their length
// (common practice, no source).
const childLastMM = 235

// bandRules has the bands that follow from other measures of the sheet; Infos has the source of each. A measure without
// a rule has the band of its Info.
var bandRules = [NumMeasures]func(s *Sheet) (lo, hi float64){
	LastLength: func(s *Sheet) (float64, float64) {
		nominal, err := LastLengthMM(s.Size, SizeOptions{})
		if err != nil {
			return Infos[LastLength].BandLo, Infos[LastLength].BandHi
		}
		return nominal - 6, nominal + 12
	},
	BallWidth: func(s *Sheet) (float64, float64) {
		if s.V(LastLength) < childLastMM {
			return shareBand(s, LastLength, 0.33, 0.43)
		}
		return shareBand(s, LastLength, 0.29, 0.38)
	},
	BallGirth: func(s *Sheet) (float64, float64) {
		if s.V(LastLength) < childLastMM {
			return shareBand(s, LastLength, 0.85, 1.10)
		}
		return shareBand(s, LastLength, 0.78, 0.96)
	},
	WaistWidth: func(s *Sheet) (float64, float64) { return shareBand(s, BallWidth, 0.62, 0.85) },
	SeatWidth:  func(s *Sheet) (float64, float64) { return shareBand(s, BallWidth, 0.62, 0.80) },
	CounterWidth10: func(s *Sheet) (float64, float64) {
		over := s.V(SeatWidth) - 2*featherInsetMM(s.V(FeatherHeel), 10)
		return over - 3, over + 3
	},
	CounterWidth20: func(s *Sheet) (float64, float64) { return s.V(CounterWidth10) - 1, s.V(CounterWidth10) + 4 },
	CounterWidth40: func(s *Sheet) (float64, float64) { return s.V(CounterWidth20) - 6, s.V(CounterWidth20) },
	CounterWidthTop: func(s *Sheet) (float64, float64) {
		if s.highCut() {
			return s.V(CounterWidth20) - 3, s.V(CounterWidth20) + 14
		}
		return s.V(CounterWidth20) - 8, s.V(CounterWidth20) - 3
	},
	CounterHeight: func(s *Sheet) (float64, float64) { return 35 * s.smallness(), 55 * s.smallness() },
	SeatAngle: func(s *Sheet) (float64, float64) {
		lo, hi := RatedSeatAngleDeg(s.V(HeelRise))
		return max(0, lo-1.5), hi + 1.5
	},
	SeatLength: func(s *Sheet) (float64, float64) { return shareBand(s, LastLength, 0.20, 0.30) },
	ToeSpring: func(s *Sheet) (float64, float64) {
		// 25 mm on low heels, falling to 7.5 mm at a rise of 80 mm: "near 0 on high heels" (read); the line is ours.
		return 0, 25 - 0.35*max(0, s.V(HeelRise)-30)
	},
	DepthInstep: func(s *Sheet) (float64, float64) { return shareBand(s, BallGirth, 0.22, 0.36) },
	DepthBall:   func(s *Sheet) (float64, float64) { return shareBand(s, BallGirth, 0.165, 0.225) },
	DepthToe:    func(s *Sheet) (float64, float64) { return 20 * s.smallness(), 32 },
	InstepGirth: func(s *Sheet) (float64, float64) { return shareBand(s, BallGirth, 0.95, 1.15) },
	ToplineMedial: func(s *Sheet) (float64, float64) {
		if s.highCut() {
			return 80, 200
		}
		return 40 * s.smallness(), 62
	},
	ToplineLateral: func(s *Sheet) (float64, float64) {
		if s.highCut() {
			return 80, 200
		}
		return 38 * s.smallness(), 60
	},
	ToplineBack: func(s *Sheet) (float64, float64) {
		if s.highCut() {
			return 85, 220
		}
		point := s.V(LastLength)/5 + 3
		return point, point + 15
	},
	InsoleHeel: func(s *Sheet) (float64, float64) {
		if s.InsoleRemovable {
			return 3, 6
		}
		return 0, 4
	},
	InsoleForefoot: func(s *Sheet) (float64, float64) {
		if s.InsoleRemovable {
			return 3, 4
		}
		return 0, 3
	},
}

func shareBand(s *Sheet, of MeasureID, lo, hi float64) (float64, float64) {
	return lo * s.V(of), hi * s.V(of)
}

func (s *Sheet) highCut() bool { return slices.Contains(highCut, s.Kind) }

func (s *Sheet) smallness() float64 { return min(1, s.V(LastLength)/fullLastMM) }

// RatedSeatAngleDeg is the span of seat angles rated best at a heel rise: 4–5° at 25 mm, 10–11° at 50 and 16–18° at 75
// (Witana, Goonetilleke et al. 2009, Ergonomics 52:617, n = 32, read), straight lines between and beyond, never below 0.
func RatedSeatAngleDeg(heelRiseMM float64) (lo, hi float64) {
	between := func(at25, at50, at75 float64) float64 {
		if heelRiseMM <= 50 {
			return max(0, at25+(at50-at25)*(heelRiseMM-25)/25)
		}
		return at50 + (at75-at50)*(heelRiseMM-50)/25
	}
	return between(4, 10, 16), between(5, 11, 18)
}

// Band is where a measure of such a shoe usually lies, in the measure's unit. It may depend on the sheet's other
// measures, its size and its kind.
func Band(s *Sheet, id MeasureID) (lo, hi float64) {
	if rule := bandRules[id]; rule != nil {
		return rule(s)
	}
	return Infos[id].BandLo, Infos[id].BandHi
}

// A BandNote is a measure outside its usual band, with the sheet's reason.
type BandNote struct {
	ID            MeasureID
	Value, Lo, Hi float64
	Reason        string // "" when the sheet gives none
}

// String is the note as a sentence.
func (n BandNote) String() string {
	info := n.ID.Info()
	reason := n.Reason
	if reason == "" {
		reason = "no reason given"
	}
	return fmt.Sprintf("%s %s, usually %s to %s: %s", info.Name, quantity(n.Value, info.Unit),
		shortNumber(n.Lo), quantity(n.Hi, info.Unit), reason)
}

// BandNotes lists the measures outside their usual bands, in the order of Infos. The sheet stays valid with them.
func (s *Sheet) BandNotes() []BandNote {
	var notes []BandNote
	for id := range NumMeasures {
		if lo, hi := Band(s, id); outside(s.V(id), lo, hi) {
			notes = append(notes, BandNote{ID: id, Value: s.V(id), Lo: lo, Hi: hi, Reason: s.Reasons[id.String()]})
		}
	}
	return notes
}
