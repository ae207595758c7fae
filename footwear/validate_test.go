package footwear

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/internal/problem"
)

func fields(ps problem.Problems) []string {
	var out []string
	for _, p := range ps {
		out = append(out, p.Field)
	}
	return out
}

func TestInfosAreComplete(t *testing.T) {
	keys := map[string]bool{}
	for id := range NumMeasures {
		info := Infos[id]
		require.NotEmpty(t, info.Key)
		assert.False(t, keys[info.Key], "%s stands twice", info.Key)
		keys[info.Key] = true
		found, ok := MeasureByKey(info.Key)
		assert.True(t, ok)
		assert.Equal(t, id, found)
		assert.True(t, strings.HasSuffix(info.Key, "_"+info.Unit), "%s tells its unit", info.Key)
		assert.LessOrEqual(t, info.Lo, info.BandLo, info.Key)
		assert.Less(t, info.BandLo, info.BandHi, info.Key)
		assert.LessOrEqual(t, info.BandHi, info.Hi, info.Key)
		assert.Contains(t, Instruments, info.Instrument, info.Key)
		assert.Positive(t, info.PlusMinus, info.Key)
		assert.Contains(t, []Spread{Normal, Even}, info.Kind, info.Key)
		assert.NotEmpty(t, info.Grade, info.Key)
		assert.NotEmpty(t, info.Name)
		assert.True(t, strings.HasSuffix(info.What, "."), info.Key)
		assert.Regexp(t, `read|memory|calc|practice`, info.Source, "%s tells how its source is known", info.Key)
	}
	_, ok := MeasureByKey("hat_size_mm")
	assert.False(t, ok)
	assert.Equal(t, "no measure", NumMeasures.String())
}

// Widths and lengths ± 1.5 mm (Lee, Lin & Wang 2014, J Foot Ankle Res, read); girths ± 3, heights ± 1, angles ± 1° (soft).
func TestUsualPlusMinus(t *testing.T) {
	for _, id := range []MeasureID{LastLength, BallWidth, WaistWidth, SeatWidth, CounterWidth10, CounterWidth20, CounterWidth40, CounterWidthTop, SeatLength} {
		assert.Equal(t, 1.5, Infos[id].PlusMinus, id.String())
	}
	for _, id := range []MeasureID{BallGirth, InstepGirth} {
		assert.Equal(t, 3.0, Infos[id].PlusMinus, id.String())
	}
	for _, id := range []MeasureID{CounterHeight, HeelRise, ToeSpring, DepthInstep, DepthBall, DepthToe, ToplineMedial, ToplineLateral, ToplineBack, SeatAngle} {
		assert.Equal(t, 1.0, Infos[id].PlusMinus, id.String())
	}
}

func TestZeroSheetIsRefusedNotPanicking(t *testing.T) {
	var s Sheet
	ps := s.Validate()
	for _, field := range []string{"id", "name", "kind", "closure", "outline", "size.system", "last_length_mm"} {
		assert.Contains(t, fields(ps), field)
	}
	assert.NotEmpty(t, s.BandNotes())
	for _, n := range s.BandNotes() {
		assert.Contains(t, n.String(), "no reason given")
	}
}

// Every measure: below, above, no number; its ± and its instrument.
func TestHardLimitsOfEveryMeasure(t *testing.T) {
	for id := range NumMeasures {
		info := id.Info()
		for _, v := range []float64{info.Lo - 0.01, info.Hi + 0.01, math.NaN(), math.Inf(1), math.Inf(-1)} {
			s := shoe(t, "knit-trainer")
			s.M[id].Value = v
			ps := s.Validate()
			require.Len(t, ps, 1, "%s = %g", id, v)
			assert.Equal(t, info.Key, ps[0].Field)
			assert.NotEmpty(t, ps[0].Value)
			assert.Contains(t, ps[0].Limit, quantity(info.Hi, info.Unit))
			assert.NotEmpty(t, ps[0].Mend)
		}
		for _, v := range []float64{-0.1, math.NaN(), math.Inf(1), 1000} {
			s := shoe(t, "knit-trainer")
			s.M[id].PlusMinus = v
			assert.Equal(t, []string{info.Key + ".plus_minus"}, fields(s.Validate()), "± %g", v)
		}
		s := shoe(t, "knit-trainer")
		s.M[id].Instrument = "stick"
		assert.Equal(t, []string{info.Key + ".instrument"}, fields(s.Validate()))
	}
}

// One change to a sound shoe, within the hard limits, that another measure contradicts.
func TestContradictions(t *testing.T) {
	for _, tc := range []struct {
		name  string
		id    MeasureID
		value float64
		field string
	}{
		{"seat longer than 45 % of the last", SeatLength, 130, "seat_length_mm"},
		{"seat shorter than 15 %", SeatLength, 30, "seat_length_mm"},
		{"ball narrower than 22 % of the last", BallWidth, 60, "ball_width_mm"},
		{"waist wider than the ball", WaistWidth, 101, "waist_width_mm"},
		{"seat wider than the ball", SeatWidth, 98, "seat_width_mm"},
		{"counter at 10 mm off the seat", CounterWidth10, 75, "counter_width_10_mm"},
		{"counter at 10 mm inside the feather line", CounterWidth10, 55, "counter_width_10_mm"},
		{"counter jumps", CounterWidth20, 80, "counter_width_20_mm"},
		{"counter widens upwards", CounterWidth40, 76, "counter_width_40_mm"},
		{"topline gapes", CounterWidthTop, 90, "counter_width_top_mm"},
		{"feather line takes the whole seat", FeatherHeel, 30, "feather_heel_mm"},
		{"counter over the topline", CounterHeight, 71, "counter_height_mm"},
		{"seat falls further than the rise", SeatAngle, 12, "seat_angle_deg"},
		{"toe stands up", ToeSpring, 60, "toe_spring_mm"},
		{"girth shorter than round the diamond", BallGirth, 220, "ball_girth_mm"},
		{"girth longer than round the box", BallGirth, 305, "ball_girth_mm"},
		{"instep girth longer than its box", InstepGirth, 340, "instep_girth_mm"},
		{"instep girth shorter than its diamond", InstepGirth, 200, "instep_girth_mm"},
		{"toes deeper than the ball", DepthToe, 52, "depth_ball_mm"},
		{"ball deeper than the instep", DepthBall, 69, "depth_ball_mm"},
		{"insole fills the toe box", InsoleForefoot, 15, ""},
		{"back curve too deep", BackCurveTop, 30, "back_curve_top_mm"},
		{"seat a bowl", SeatCupping, 10, "seat_cupping_mm"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			s := shoe(t, "knit-trainer")
			require.GreaterOrEqual(t, tc.value, tc.id.Info().Lo)
			require.LessOrEqual(t, tc.value, tc.id.Info().Hi)
			s.M[tc.id].Value = tc.value
			if tc.field == "" { // this needs a shallow toe box as well
				s.M[DepthToe].Value = 20
				tc.field = "depth_toe_mm"
			}
			ps := s.Validate()
			require.NotEmpty(t, ps)
			i := slices.Index(fields(ps), tc.field)
			require.GreaterOrEqual(t, i, 0, "%v", fields(ps))
			assert.Regexp(t, `^at (least|most) .*(mm|°), as `, ps[i].Limit)
			assert.NotEmpty(t, ps[i].Value)
			assert.NotEmpty(t, ps[i].Mend)
		})
	}
}

// The bounds of the ball girth are geometry: every convex outline that reaches its whole width and depth lies between
// the diamond and the box. An ellipse does (perimeter of 50 × 35 half axes 269.1184490736, calc).
func TestGirthBoundsHoldAnEllipse(t *testing.T) {
	s := shoe(t, "knit-trainer")
	s.M[BallWidth].Value, s.M[DepthBall].Value, s.M[BallGirth].Value = 100, 70, 269.1184490736
	s.M[DepthInstep].Value = 72
	assert.NotContains(t, fields(s.Validate()), "ball_girth_mm")
}

// A fillet of radius r stands r − √(r² − (r−h)²) inside the wall at height h: r 12, h 2 → 12 − √(144 − 100) (calc).
func TestFeatherInset(t *testing.T) {
	assert.InDelta(t, 12-math.Sqrt(44), featherInsetMM(12, 2), exact)
	assert.InDelta(t, 12, featherInsetMM(12, 0), exact)
	assert.Zero(t, featherInsetMM(8, 10))
}

func TestWordsAreChecked(t *testing.T) {
	for field, spoil := range map[string]func(*Sheet){
		"id": func(s *Sheet) { s.ID = "Knit Trainer" }, "name": func(s *Sheet) { s.Name = "  " },
		"kind": func(s *Sheet) { s.Kind = "hat" }, "closure": func(s *Sheet) { s.Closure = "glue" },
		"outline": func(s *Sheet) { s.Outline = "bent" }, "toe_shape": func(s *Sheet) { s.ToeShape = "" },
		"sole_stiffness": func(s *Sheet) { s.SoleStiffness = "hard" }, "note": func(s *Sheet) { s.Note = strings.Repeat("x", 3000) },
		"reasons":     func(s *Sheet) { s.Reasons = map[string]string{"hat_size_mm": "large"} },
		"size.value":  func(s *Sheet) { s.Size.Value = 4200 },
		"graded_from": func(s *Sheet) { s.GradedFrom = Size{System: "xx", Value: 42} },
	} {
		s := shoe(t, "knit-trainer")
		spoil(&s)
		assert.Equal(t, []string{field}, fields(s.Validate()))
	}
	s := shoe(t, "knit-trainer")
	s.Reasons = map[string]string{"toe_spring_mm": " "}
	assert.Equal(t, []string{"reasons"}, fields(s.Validate()))
}

// Seat angles rated best: 4–5° at 25 mm, 10–11° at 50, 16–18° at 75 (Witana, Goonetilleke et al. 2009, Ergonomics
// 52:617, n = 32, read).
func TestRatedSeatAngle(t *testing.T) {
	for _, tc := range []struct{ rise, lo, hi float64 }{{25, 4, 5}, {50, 10, 11}, {75, 16, 18}, {0, 0, 0}} {
		lo, hi := RatedSeatAngleDeg(tc.rise)
		assert.InDelta(t, tc.lo, lo, exact)
		assert.InDelta(t, tc.hi, hi, exact)
	}
	for rise := 0.0; rise <= 130; rise++ {
		lo, hi := RatedSeatAngleDeg(rise)
		assert.LessOrEqual(t, lo, hi)
	}
}

func TestBandNotesGiveTheReason(t *testing.T) {
	s := shoe(t, "knit-trainer")
	require.Empty(t, s.BandNotes())
	s.M[ToeSpring].Value = 28
	notes := s.BandNotes()
	require.Len(t, notes, 1)
	assert.Equal(t, "toe spring 28 mm, usually 0 to 25 mm: no reason given", notes[0].String())
	s.Reasons = map[string]string{"toe_spring_mm": "a test shoe"}
	assert.Equal(t, "a test shoe", s.BandNotes()[0].Reason)
	// Toe spring falls with heel height (read): what is usual on a flat shoe is not on a high heel.
	s.M[ToeSpring].Value, s.M[HeelRise].Value = 20, 75
	_, hi := Band(&s, ToeSpring)
	assert.Less(t, hi, 20.0)
	// Seat to ball width 0.62 to 0.80 (Golding 1902, read).
	lo, hi := Band(&s, SeatWidth)
	assert.InDelta(t, 62, lo, exact)
	assert.InDelta(t, 80, hi, exact)
}
