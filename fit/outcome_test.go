package fit

import (
	"bytes"
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/internal/problem"
)

func anOutcome(odds float64, what Happened) Outcome {
	o := Outcome{Case: "K-1", Date: "2026-11-26", Closure: "laces", Odds: odds, Happened: what, Places: []OutcomePlace{{"cup rim", "counter lateral", -0.4, 0.3, 0.5}}}
	if what == Rubbed || what == Ground {
		o.Feature, o.Zone = "cup rim", "counter lateral"
	}
	if what == Ground {
		o.GroundMM = 1
	}
	return o
}

func TestOutcomesComeBackAsWritten(t *testing.T) {
	b, d := trial{shoe: "lace-dress"}.parts(t)
	r, err := b.Check(context.Background(), d, Foot{})
	require.NoError(t, err)
	o := b.NewOutcome("K-17", time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC), d, r, &Odds{Fit: 0.25})
	assert.Empty(t, o.Validate())
	assert.Equal(t, 0.25, o.Odds)
	require.NotEmpty(t, o.Places)
	list := []Outcome{o, anOutcome(0.9, WentIn), anOutcome(0.3, Ground)}
	var w bytes.Buffer
	require.NoError(t, WriteOutcomes(&w, list))
	back, err := ReadOutcomes(&w, "x.json")
	require.NoError(t, err)
	assert.Equal(t, list, back)
}

func TestBadOutcomesAreRefusedByName(t *testing.T) {
	for text, says := range map[string]string{
		``: "not a file of outcomes", `{}`: "format", `{"format":"lastroom-outcomes","version":2,"outcomes":[]}`: "version", `{"colour":1}`: "not a file",
		`{"format":"lastroom-outcomes","version":1,"outcomes":[]} x`:                                                                                     "something follows",
		`{"format":"lastroom-outcomes","version":1,"outcomes":[{"case":"Jo Doe","date":"2026-11-26","odds":0.5,"happened":"went-in"}]}`:                  "outcomes[0].case",
		`{"format":"lastroom-outcomes","version":1,"outcomes":[{"case":"a","date":"x","odds":2,"happened":"rubbed"}]}`:                                   "outcomes[0].odds",
		`{"format":"lastroom-outcomes","version":1,"outcomes":[{"case":"a","date":"2026-11-26","odds":1,"happened":"ground","zone":"z","feature":"f"}]}`: "ground_mm",
	} {
		_, err := ReadOutcomes(strings.NewReader(text), "outcomes.json")
		require.Error(t, err, text)
		assert.Contains(t, err.Error(), "outcomes.json")
		assert.Contains(t, err.Error(), says)
	}
}

// Wilson's interval: 8 of 10 is 49.0 to 94.3 % (calc from the score formula).
func TestReliabilityCounts(t *testing.T) {
	var list []Outcome
	for i := range 10 {
		o := anOutcome(0.85, WentIn)
		if i >= 8 {
			o.Happened = SentBack
		}
		list = append(list, o)
	}
	list = append(list, anOutcome(1, WentIn))
	bins := Reliability(list, 5)
	require.Len(t, bins, 5)
	b := bins[4]
	assert.Equal(t, 11, b.Count)
	assert.Equal(t, 9, b.Good)
	assert.InDelta(t, (8.5+1)/11, b.Said, 1e-12)
	lo, hi := wilson(8, 10)
	assert.InDelta(t, 0.490, lo, 5e-4)
	assert.InDelta(t, 0.943, hi, 5e-4)
	assert.Zero(t, bins[0].Count)
	assert.True(t, math.IsNaN(bins[0].Came))
}

// A simulated clinic whose walls give twice what the sheets say: the update finds it, the more outcomes the surer.
func TestGivesAreLearntFromOutcomes(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	const truth = 2.0
	clinic := func(n int) []Outcome {
		var list []Outcome
		for range n {
			o := anOutcome(0.5, WentIn)
			o.Places[0].GapMM = -1.6 * rng.Float64()
			if o.Places[0].GapMM+0.3*rng.NormFloat64()+truth*0.5 < 0 {
				o.Happened, o.Feature, o.Zone = Rubbed, "cup rim", "counter lateral"
			}
			list = append(list, o)
		}
		return list
	}
	few, many := LearnGives(clinic(10)), LearnGives(clinic(400))
	require.Len(t, many.Factors, 1)
	f := many.Factors[0]
	assert.Equal(t, "counter", f.Wall)
	assert.Equal(t, "laces", f.Closure)
	assert.Equal(t, 400, f.Outcomes)
	assert.InDelta(t, truth, f.Factor, 0.15)
	assert.True(t, f.Lo < truth && truth < f.Hi)
	assert.Less(t, f.Hi-f.Lo, few.Factors[0].Hi-few.Factors[0].Lo)
	assert.Empty(t, LearnGives([]Outcome{anOutcome(0.5, SentBack)}).Factors, "sent back says nothing of a place")
}

// Without outcomes nothing changes, exactly; with them the wall yields as learnt, and going back is exact too.
func TestLearntGivesAreSwitchedOnAndOff(t *testing.T) {
	b, d := trial{shoe: "lace-dress"}.parts(t)
	was, err := b.Check(context.Background(), d, Foot{})
	require.NoError(t, err)
	none, err := b.WithGives(LearnGives(nil)).Check(context.Background(), d, Foot{})
	require.NoError(t, err)
	assert.Equal(t, was, none)
	soft := b.WithGives(Gives{Factors: []GiveFactor{{Wall: "counter", Closure: b.Room.Sheet.Closure, Factor: 3}}})
	now, err := soft.Check(context.Background(), d, Foot{})
	require.NoError(t, err)
	assert.InDelta(t, 3*b.Room.GiveMM(footwear.CounterLateral), soft.giveMM(b.Room, footwear.CounterLateral), 1e-12)
	assert.NotEqual(t, was.RideUpMM, now.RideUpMM, "softer walls")
	again, err := b.Check(context.Background(), d, Foot{})
	require.NoError(t, err)
	assert.Equal(t, was, again)
}

func FuzzReadOutcomes(f *testing.F) {
	var w bytes.Buffer
	_ = WriteOutcomes(&w, []Outcome{anOutcome(0.5, Rubbed)})
	f.Add(w.Bytes())
	f.Add([]byte(`{"format":"lastroom-outcomes","version":1,"outcomes":[{"odds":1e999}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := ReadOutcomes(bytes.NewReader(data), "fuzz.json")
		if err != nil {
			var p problem.Problem
			var ps problem.Problems
			require.True(t, errors.As(err, &p) || errors.As(err, &ps), "%v", err)
			return
		}
		LearnGives(list)
		Reliability(list, 10)
		var w bytes.Buffer
		require.NoError(t, WriteOutcomes(&w, list))
		back, err := ReadOutcomes(&w, "again.json")
		require.NoError(t, err)
		require.Len(t, back, len(list))
	})
}
