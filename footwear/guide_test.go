package footwear

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEssentialsAreTenDifferentMeasuresWithReasons(t *testing.T) {
	seen := map[MeasureID]bool{}
	for _, e := range Essentials {
		assert.False(t, seen[e.ID], e.ID)
		seen[e.ID] = true
		assert.NotEmpty(t, e.Why, e.ID)
	}
}

func TestNearestIsOfTheKindAndTheSizeAndAllAssumed(t *testing.T) {
	for _, kind := range Kinds {
		for _, text := range []string{"EU 20", "EU 27", "EU 36", "EU 42", "EU 49", "UK 8.5", "US women 8", "US child 10", "MP 265", "MP 265/100"} {
			size, err := ParseSize(text)
			require.NoError(t, err, text)
			s, err := Nearest(kind, size)
			require.NoError(t, err, "%s %s", kind, text)
			assert.Equal(t, size, s.Size)
			assert.Empty(t, s.Validate(), "%s %s", kind, text)
			nominal, err := LastLengthMM(Size{System: size.System, Value: size.Value}, SizeOptions{})
			require.NoError(t, err)
			assert.InDelta(t, nominal, s.V(LastLength), 13, "%s %s", kind, text)
			for id, m := range s.M {
				assert.True(t, m.Assumed)
				assert.InDelta(t, AssumedPlusMinus(&s, MeasureID(id)), m.PlusMinus, 1e-9)
				assert.GreaterOrEqual(t, m.PlusMinus, 2*Infos[id].PlusMinus)
			}
		}
	}
	_, err := Nearest("trainer", Size{System: EU, Value: 400})
	assert.Error(t, err)
	court, err := Nearest("court shoe", Size{System: EU, Value: 39})
	require.NoError(t, err)
	assert.InDelta(t, 45, court.V(HeelRise), 1e-9)
	other, err := Nearest("other shoe", Size{System: EU, Value: 42})
	require.NoError(t, err)
	assert.Equal(t, "trainer", other.Kind)
}

// partial is a shoe of which only some measures were taken.
func partial(s Sheet, taken ...MeasureID) Sheet {
	p := Sheet{Kind: s.Kind, Size: s.Size}
	for _, id := range taken {
		p.M[id] = s.M[id]
	}
	return p
}

func essentialIDs() []MeasureID {
	var ids []MeasureID
	for _, e := range Essentials {
		ids = append(ids, e.ID)
	}
	return ids
}

func TestWhatIsTakenStaysAndTheRestMakesARoom(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 11))
	check := func(t *testing.T, p Sheet) {
		t.Helper()
		s, assumed, err := FillIn(p)
		require.NoError(t, err)
		for id := range NumMeasures {
			assert.NotEqual(t, p.Taken(id), slices.Contains(assumed, id), id)
			if p.Taken(id) {
				assert.Equal(t, p.M[id], s.M[id])
			} else {
				assert.True(t, s.M[id].Assumed)
				assert.InDelta(t, AssumedPlusMinus(&s, id), s.M[id].PlusMinus, 1e-9)
			}
		}
		assert.Empty(t, s.Contradictions(), "%s: %v", p.Kind, p.M)
		again, alike, err := FillIn(s)
		require.NoError(t, err)
		assert.Equal(t, s, again)
		assert.Equal(t, assumed, alike)
	}
	for _, s := range Demo().All() {
		check(t, partial(s, essentialIDs()...))
		check(t, partial(s))
		// Some of the measures of another shoe of about the size: what is assumed has to give way.
		var some []MeasureID
		for id := range NumMeasures {
			if random.IntN(2) == 0 {
				some = append(some, id)
			}
		}
		check(t, partial(s, some...))
		p := partial(s, some...)
		p.Kind = Kinds[random.IntN(len(Kinds))]
		check(t, p)
	}
}

func TestAssumedMeasuresFollowThoseThatWereTaken(t *testing.T) {
	s := demoSheet(t, "lace-dress")
	like, err := Nearest(s.Kind, s.Size)
	require.NoError(t, err)
	fillWith := func(set map[MeasureID]float64) Sheet {
		p := partial(s)
		for id, v := range set {
			p.M[id] = Measure{Value: v, PlusMinus: Infos[id].PlusMinus, Instrument: Infos[id].Instrument}
		}
		out, _, err := FillIn(p)
		require.NoError(t, err)
		return out
	}
	out := fillWith(map[MeasureID]float64{SeatWidth: like.V(SeatWidth) * 1.08})
	assert.InDelta(t, like.V(CounterWidth20)*1.08, out.V(CounterWidth20), 0.11)
	assert.InDelta(t, like.V(CounterWidth40)*1.08, out.V(CounterWidth40), 0.11)
	assert.InDelta(t, like.V(BallWidth), out.V(BallWidth), 1e-9)

	out = fillWith(map[MeasureID]float64{BallGirth: like.V(BallGirth) * 1.05})
	assert.InDelta(t, like.V(BallWidth)*1.05, out.V(BallWidth), 0.11)
	assert.InDelta(t, like.V(DepthBall)*1.05, out.V(DepthBall), 0.2, "as full as the like shoe")

	out = fillWith(map[MeasureID]float64{HeelRise: 50})
	lo, hi := RatedSeatAngleDeg(50)
	assert.InDelta(t, (lo+hi)/2, out.V(SeatAngle), 1.6)
	out = fillWith(map[MeasureID]float64{DepthToe: like.V(DepthToe) + 3})
	assert.Greater(t, out.V(DepthBall), like.V(DepthBall))
	out = fillWith(map[MeasureID]float64{ToplineBack: like.V(ToplineBack) * 0.9})
	assert.InDelta(t, like.V(CounterHeight)*0.9, out.V(CounterHeight), 0.11)
}

func TestATakenContradictionIsToldAndLeft(t *testing.T) {
	p := partial(demoSheet(t, "lace-dress"), essentialIDs()...)
	p.M[SeatWidth].Value = 93
	p.M[WaistWidth].Value = 52
	s, _, err := FillIn(p)
	require.NoError(t, err)
	assert.InDelta(t, 93, s.V(SeatWidth), 0)
	ps := s.Contradictions()
	require.NotEmpty(t, ps)
	assert.Equal(t, "seat_width_mm", ps[0].Field)
	assert.Contains(t, ps[0].Limit, "50 to 95 % of ball width")
	good, _, err := FillIn(partial(demoSheet(t, "lace-dress"), essentialIDs()...))
	require.NoError(t, err)
	assert.Empty(t, good.Contradictions())
}

// Taking what matters most, one after the other, leads to the nine essentials that a device feels before all others but
// the girth, which says what the width says, the width at 10 mm beside the one at 20, and the back curve.
func TestWhatMattersMostIsAmongTheEssentials(t *testing.T) {
	allowed := append(essentialIDs(), BallGirth, CounterWidth10, BackCurveSeat)
	s := demoSheet(t, "knit-trainer")
	p := partial(s)
	for n := range 3 {
		full, _, err := FillIn(p)
		require.NoError(t, err)
		worst, mm := MattersMost(context.Background(), full)
		assert.Contains(t, allowed, worst, "measure %d", n+1)
		assert.Greater(t, mm, 2.0)
		p.M[worst] = s.M[worst]
	}
}

func TestTenMeasuresMakeAUsefulRoom(t *testing.T) {
	for _, c := range []struct{ shoe, like string }{{"lace-dress", "leather-trainer"}, {"running-shoe", "lace-dress"}} {
		s := demoSheet(t, c.shoe)
		other := demoSheet(t, c.like)
		like, err := Nearest(other.Kind, s.Size)
		require.NoError(t, err)
		truth, err := newReference(&s)
		require.NoError(t, err)
		seen := func(p Sheet) Sheet { // what is seen without measuring
			p.Outline, p.ToeShape = s.Outline, s.ToeShape
			return p
		}
		none, _ := fillFrom(seen(partial(s)), &like)
		before, ok := truth.lost(&none)
		require.True(t, ok)
		ten, _ := fillFrom(seen(partial(s, essentialIDs()...)), &like)
		after, ok := truth.lost(&ten)
		require.True(t, ok)
		assert.Less(t, after, 2.0, "%s, the rest as %s: %.2f mm lost without any measure", c.shoe, c.like, before)
		assert.Less(t, after, before)

		full, _, err := FillIn(partial(s, essentialIDs()...))
		require.NoError(t, err)
		_, mm := MattersMost(context.Background(), full)
		assert.Less(t, mm, 2.0, "what any measure that is left may cost")
	}
}

func TestWhatADeviceDoesNotFeelMattersLittle(t *testing.T) {
	s, _, err := FillIn(partial(demoSheet(t, "court-45"), essentialIDs()...))
	require.NoError(t, err)
	for id := range NumMeasures {
		if s.Taken(id) || slices.Contains(nearDevices, id) {
			continue
		}
		mm, err := EffectMM(s, id)
		require.NoError(t, err)
		assert.Less(t, mm, 1.0, id)
	}
}

// The closed forms: both walls of the counter move by half of what its width is off, and the tilt of the floor by nothing.
func TestEffectAgainstClosedForms(t *testing.T) {
	s := demoSheet(t, "lace-dress")
	for id := range NumMeasures {
		s.M[id].Assumed = false
	}
	s.M[BallWidth].PlusMinus = 4
	mm, err := EffectMM(s, BallWidth)
	require.NoError(t, err)
	assert.InDelta(t, 2, mm, 0.2, "half a side at the tread line")
	s.M[GiveVamp].PlusMinus = 4
	mm, err = EffectMM(s, GiveVamp)
	require.NoError(t, err)
	assert.InDelta(t, 0, mm, 1e-9)
	r, err := newReference(&s)
	require.NoError(t, err)
	mm, ok := r.lost(&s)
	require.True(t, ok)
	assert.InDelta(t, 0, mm, 1e-9, "nothing in its own room")

	ended, stop := context.WithCancel(context.Background())
	stop()
	id, _ := MattersMost(ended, s)
	assert.Equal(t, NumMeasures, id)
	s.M[LastLength].Value = 10
	_, err = EffectMM(s, BallWidth)
	assert.Error(t, err)
}
