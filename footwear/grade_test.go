package footwear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func shoe(t *testing.T, id string) Sheet {
	t.Helper()
	s, err := Demo().Find(id)
	require.NoError(t, err)
	return s
}

func graded(t *testing.T, s Sheet, to Size, o GradeOptions) Sheet {
	t.Helper()
	g, err := s.Graded(to, o)
	require.NoError(t, err)
	return g
}

// in gives the shoe a size of another system that stands for the same foot, without a change of its measures.
func in(t *testing.T, s Sheet, sy System, o SizeOptions) Sheet {
	t.Helper()
	size, err := Convert(s.Size, sy, o)
	require.NoError(t, err)
	s.Size = size
	return s
}

// Per whole size: English and US 8.47 mm of length and 6.35 of ball girth, EU 6.67 and 5.0; ball width 2.12 mm at 6.35
// of girth (US patent 1,948,547, 1934, read; ball width read).
func TestGradingStepsPerWholeSize(t *testing.T) {
	for _, tc := range []struct {
		sy                   System
		length, girth, width float64
	}{
		{EU, 6.67, 5.00, 5.00 / 3},
		{UK, 8.47, 6.35, 2.12},
		{USMen, 8.47, 6.35, 2.12},
		{USWomen, 8.47, 6.35, 2.12},
		{UKChild, 8.47, 6.35, 2.12},
		{USChild, 8.47, 6.35, 2.12},
	} {
		t.Run(tc.sy.Name(), func(t *testing.T) {
			s := in(t, shoe(t, "lace-dress"), tc.sy, SizeOptions{})
			if tc.sy.Child() {
				s = in(t, shoe(t, "school-shoe"), tc.sy, SizeOptions{Child: true})
			}
			to := s.Size
			to.Value++
			g := graded(t, s, to, GradeOptions{})
			assert.InDelta(t, tc.length, g.V(LastLength)-s.V(LastLength), 0.005)
			assert.InDelta(t, tc.girth, g.V(BallGirth)-s.V(BallGirth), 0.005)
			assert.InDelta(t, tc.girth, g.V(InstepGirth)-s.V(InstepGirth), 0.005)
			assert.InDelta(t, tc.width, g.V(BallWidth)-s.V(BallWidth), 0.005)
		})
	}
}

// A width fitting is 6.35 mm of girth at the same length (US patent 1,948,547, 1934, read).
func TestGradingAWidthFitting(t *testing.T) {
	s := shoe(t, "leather-trainer")
	to := s.Size
	to.Width = 1
	g := graded(t, s, to, GradeOptions{})
	assert.Equal(t, s.V(LastLength), g.V(LastLength))
	assert.InDelta(t, 6.35, g.V(BallGirth)-s.V(BallGirth), exact)
	assert.InDelta(t, 6.35/3, g.V(BallWidth)-s.V(BallWidth), exact)
	assert.Equal(t, s.V(ToplineBack), g.V(ToplineBack), "heights do not follow the fitting")

	g = graded(t, s, to, GradeOptions{Geometric: true})
	assert.InDelta(t, s.V(BallGirth)*(1+6.35/250), g.V(BallGirth), exact)
}

// Seat width grades with ball width in proportion (Golding 1902, read), and the other widths with it; depth is a fixed
// share of joint girth (read: a fifth); angles, radii, cupping, rises, give and insole stay.
func TestGradingKeepsProportions(t *testing.T) {
	for _, s := range Demo().All() {
		for _, o := range []GradeOptions{{}, {Geometric: true}} {
			to := s.Size
			to.Value += 2.5
			g := graded(t, s, to, o)
			for id := range NumMeasures {
				now, was := g.V(id), s.V(id)
				switch Infos[id].Grade {
				case GradeWidthShare:
					assert.InDelta(t, was/s.V(BallWidth), now/g.V(BallWidth), exact, "%s %s", s.ID, id)
				case GradeDepthShare:
					assert.InDelta(t, was/s.V(BallGirth), now/g.V(BallGirth), exact, "%s %s", s.ID, id)
				case GradeLengthShare:
					assert.InDelta(t, was/s.V(LastLength), now/g.V(LastLength), exact, "%s %s", s.ID, id)
				case GradeFixed:
					assert.Equal(t, was, now, "%s %s", s.ID, id)
				default:
					assert.Greater(t, now, was, "%s %s", s.ID, id)
				}
				assert.Equal(t, s.M[id].PlusMinus, g.M[id].PlusMinus)
			}
		}
	}
}

// Heights rise gently: 0.14 mm a millimetre of last, the rise of the outer ankle bone (ANSUR II 2012: 0.144 men, 0.127
// women, read).
func TestGradingHeights(t *testing.T) {
	s := shoe(t, "lace-dress")
	g := graded(t, s, Size{EU, 45, 0}, GradeOptions{})
	for _, id := range []MeasureID{CounterHeight, ToplineMedial, ToplineLateral, ToplineBack} {
		assert.InDelta(t, 0.14*20, g.V(id)-s.V(id), exact, id.String())
	}
	g = graded(t, s, Size{EU, 45, 0}, GradeOptions{Geometric: true})
	assert.InDelta(t, math.Pow(300.0/280, 0.75), g.V(ToplineBack)/s.V(ToplineBack), exact)
}

// Geometric: the percentage by which the length changes is the percentage of girths and widths.
func TestGeometricGradingIsOnePercentage(t *testing.T) {
	s := shoe(t, "knit-trainer") // EU 42 on a 280 mm last
	g := graded(t, s, Size{EU, 45, 0}, GradeOptions{Geometric: true})
	for _, id := range []MeasureID{LastLength, BallWidth, BallGirth, InstepGirth, SeatWidth, CounterWidth20, DepthBall, SeatLength} {
		assert.InDelta(t, 300.0/280, g.V(id)/s.V(id), exact, id.String())
	}
}

func TestGradingToItsOwnSizeChangesNothing(t *testing.T) {
	for _, s := range Demo().All() {
		for _, o := range []GradeOptions{{}, {Geometric: true}} {
			assert.Equal(t, s, graded(t, s, s.Size, o))
		}
	}
}

// Up and down again, by way of other systems, half sizes and fittings, gives the sheet back.
func TestGradingThereAndBack(t *testing.T) {
	for _, s := range Demo().All() {
		for _, o := range []GradeOptions{{}, {Geometric: true}, {Sizes: SizeOptions{Allowance: FifteenMM, USWomen: PlusOneAndHalf}}} {
			if s.V(LastLength) < childLastMM {
				o.Sizes.Child = true
			}
			for _, step := range []float64{-3, -0.5, 0.5, 3} {
				for _, sy := range Systems {
					to := s.Size
					to.Value += step
					to, err := Convert(to, sy, o.Sizes)
					require.NoError(t, err)
					if sy != Mondopoint {
						to.Width = 1
					}
					there := graded(t, s, to, o)
					assert.Equal(t, to, there.Size)
					assert.Equal(t, s.Size, there.GradedFrom)
					back := graded(t, there, s.Size, o)
					assert.Equal(t, Size{}, back.GradedFrom)
					for id := range NumMeasures {
						assert.InEpsilon(t, 1+s.V(id), 1+back.V(id), 1e-12, "%s %s by %s", s.ID, id, to)
					}
				}
			}
		}
	}
}

// The way does not matter: one step to a size or two by way of another, and any name of the same size.
func TestGradingDoesNotDependOnTheWay(t *testing.T) {
	for _, o := range []GradeOptions{{}, {Geometric: true}} {
		s := shoe(t, "indoor-court")
		straight := graded(t, s, Size{EU, 45, 2}, o)
		twoSteps := graded(t, graded(t, s, Size{EU, 40.5, -1}, o), Size{EU, 45, 2}, o)
		uk, err := Convert(Size{EU, 45, 2}, UK, o.Sizes)
		require.NoError(t, err)
		named := graded(t, s, uk, o)
		for id := range NumMeasures {
			assert.InDelta(t, straight.V(id), twoSteps.V(id), 1e-9, id.String())
			assert.InDelta(t, straight.V(id), named.V(id), 1e-9, id.String())
		}
	}
}

// With a breadth in both Mondopoint sizes, ball width follows the breadth and girth three times as much.
func TestGradingByMondopointBreadth(t *testing.T) {
	s := in(t, shoe(t, "knit-trainer"), Mondopoint, SizeOptions{})
	s.Size.Width = 102
	to := Size{Mondopoint, s.Size.Value + 5, 106}
	g := graded(t, s, to, GradeOptions{})
	assert.InDelta(t, 5, g.V(LastLength)-s.V(LastLength), exact)
	assert.InDelta(t, 4, g.V(BallWidth)-s.V(BallWidth), exact)
	assert.InDelta(t, 12, g.V(BallGirth)-s.V(BallGirth), exact)

	_, err := s.Graded(Size{EU, 43, 0}, GradeOptions{})
	assert.ErrorContains(t, err, "size.width")
}

func TestGradingRefuses(t *testing.T) {
	s := shoe(t, "knit-trainer")
	for _, tc := range []struct {
		to   Size
		says string
	}{
		{Size{EU, 24, 0}, "choose a nearer size"},
		{Size{EU, 52, 0}, "choose a nearer size"},
		{Size{EU, math.NaN(), 0}, "finite"},
		{Size{EU, 420, 0}, "EU 15.5 to 53"},
		{Size{System("xx"), 42, 0}, "Mondopoint, EU"},
		{Size{}, "Mondopoint, EU"},
		{Size{EU, 42, 30}, "fittings"},
	} {
		_, err := s.Graded(tc.to, GradeOptions{})
		assert.ErrorContains(t, err, tc.says, tc.to.String())
	}
	var zero Sheet
	_, err := zero.Graded(Size{EU, 42, 0}, GradeOptions{})
	assert.Error(t, err)
	broken := s
	broken.M[BallWidth].Value = math.NaN()
	_, err = broken.Graded(Size{EU, 43, 0}, GradeOptions{})
	assert.ErrorContains(t, err, "ball_width_mm")
}
