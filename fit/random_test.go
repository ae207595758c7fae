package fit

import (
	"context"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"

	"lastroom/device"
	"lastroom/footwear"
)

var prescriptions = flag.Int("prescriptions", 40, "how many random prescriptions are tried")

// randomTrial is a random shoe, device and foot that keep the rules: a demo shoe in a random size with a few measures moved within
// twice their ±, a preset made for it with options moved anywhere within their limits, and a foot of some weight. Not every draw
// keeps the rules; then it is told why.
func randomTrial(rng *rand.Rand) (*footwear.Room, *device.Device, Foot, error) {
	shoes := footwear.Demo().All()
	s := shoes[rng.IntN(len(shoes))]
	to := s.Size
	to.Value += float64(rng.IntN(5) - 2)
	if g, err := s.Graded(to, footwear.GradeOptions{Sizes: sizesOf(s)}); err == nil {
		s = g
	}
	for range rng.IntN(6) {
		id := footwear.MeasureID(rng.IntN(int(footwear.NumMeasures)))
		s.M[id].Value += 2 * s.M[id].PlusMinus * (2*rng.Float64() - 1)
	}
	room, err := footwear.NewRoom(s, s.InsoleRemovable && rng.IntN(2) == 0)
	if err != nil {
		return nil, nil, Foot{}, err
	}
	presets := device.Presets()
	o, err := MadeFor(presets[rng.IntN(len(presets))].Options, s)
	if err != nil {
		return nil, nil, Foot{}, err
	}
	keys := device.Keys()
	for range rng.IntN(5) {
		sp := keys[rng.IntN(len(keys))]
		var text string
		switch {
		case len(sp.Choices) > 0:
			text = sp.Choices[rng.IntN(len(sp.Choices))]
		default:
			// Toward the limits, but near today's value more often: all the way in one of eight.
			now := o.Number(sp.Key)
			end := sp.Min + (sp.Max-sp.Min)*rng.Float64()
			text = fmt.Sprint(now + math.Pow(rng.Float64(), 3)*(end-now))
		}
		before := o
		if o.Set(sp.Key, text) != nil || o.Validate().Err() != nil {
			o = before
		}
	}
	d, err := device.Build(o)
	if err != nil {
		return nil, nil, Foot{}, err
	}
	return room, d, Foot{BodyMassKG: 20 + 110*rng.Float64()}, nil
}

// notNumbers lists where a value has a NaN.
func notNumbers(v reflect.Value, at string, out *[]string) {
	switch v.Kind() {
	case reflect.Float64:
		if math.IsNaN(v.Float()) {
			*out = append(*out, at)
		}
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			notNumbers(v.Elem(), at, out)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			notNumbers(v.Field(i), at+"."+v.Type().Field(i).Name, out)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			notNumbers(v.Index(i), fmt.Sprintf("%s[%d]", at, i), out)
		}
	}
}

// Random prescriptions go through the whole computation: no panic, no NaN, closed solids, forces in balance where it says so, states
// that follow from odds; of each fifth, figures of support. -prescriptions sets how many; each has a seed of its own, which a failure
// names.
func TestRandomPrescriptions(t *testing.T) {
	var mu sync.Mutex
	bodies, outside, creased, restless := 0, 0, 0, []string{}
	refused := map[string]int{}
	each(context.Background(), *prescriptions, func(i int) {
		seed := uint64(i)
		note := func(f func()) { mu.Lock(); defer mu.Unlock(); f() }
		rng := rand.New(rand.NewPCG(seed, 77))
		room, d, foot, err := randomTrial(rng)
		if err != nil {
			why := err.Error()
			if i := strings.IndexAny(why, "=0123456789"); i > 0 {
				why = why[:i]
			}
			note(func() { refused[why]++ })
			return
		}
		note(func() { bodies++ })
		name := fmt.Sprintf("seed %d: %s in %s %s", seed, d.Options.WedgeBuild, room.Sheet.ID, room.Sheet.Size)
		assert.NoError(t, d.Rigid.Closed(), name)
		assert.NoError(t, room.Closed.Closed(), name)
		b, err := NewBench(context.Background(), room)
		if !assert.NoError(t, err, name) {
			return
		}
		r, err := b.Check(context.Background(), d, foot)
		if !assert.NoError(t, err, name) {
			return
		}
		var bad []string
		notNumbers(reflect.ValueOf(r), "result", &bad)
		assert.Empty(t, bad, name)
		assert.NotEmpty(t, r.Verdict.Sentence, name)
		assert.Contains(t, r.Verdict.Limits, "qualified practitioner", name)
		if r.Status == OutOfPlace {
			assert.Equal(t, Blocked, r.Verdict.State, name)
			note(func() { outside++ })
			return
		}
		if r.Status != Converged {
			note(func() { restless = append(restless, name) })
			assert.Contains(t, r.Verdict.Sentence, "did not come to rest", name)
			return
		}
		weight := r.Foot.BodyMassKG * gravity / 2
		assert.LessOrEqual(t, r.ResidualN, 0.25*weight, name) // deep in the walls 2 % of what they push, which is many times the weight
		if r.WithinMM > 0 {
			assert.LessOrEqual(t, unbalancedAfresh(b, d, r), creaseShare, name)
			note(func() { creased++ })
		}
		for i := range r.Findings {
			f := &r.Findings[i]
			assert.False(t, f.Odds < 0 || f.Odds > 1 || f.GapMM > farMM, "%s: %+v", name, f)
			switch { // the state follows from the odds
			case f.State == Blocked:
				assert.LessOrEqual(t, f.Odds, DefaultUnsure.Lo+1e-9, name)
			case f.State == Unsure:
				assert.True(t, f.Odds > DefaultUnsure.Lo-1e-9 && f.Odds < DefaultUnsure.Hi+1e-9, name)
			default:
				assert.GreaterOrEqual(t, f.Odds, DefaultUnsure.Hi-1e-9, name)
			}
		}
		if seed%5 != 0 {
			return
		}
		figures, err := b.Support(context.Background(), d, d, foot, DefaultAxis())
		assert.NoError(t, err, name)
		for _, f := range figures {
			assert.False(t, math.IsNaN(f.Now), "%s: %s", name, f.Key)
		}
	})
	t.Logf("%d prescriptions, %d of them keep the rules, %d come to lie out of place, %d come to rest at creases, %d do not come to rest: %s", *prescriptions, bodies, outside, creased, len(restless), strings.Join(restless, "; "))
	t.Logf("refused: %v", refused)
	assert.Greater(t, bodies, *prescriptions/2)
	assert.LessOrEqual(t, float64(len(restless)), math.Max(1, 0.001*float64(bodies)))
}
