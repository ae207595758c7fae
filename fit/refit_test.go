package fit

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/footwear"
)

// dress is a device that a narrow shoe holds in several places at once.
var dress = trial{shoe: "lace-dress"}

// coarse is a small grid over what frees it.
var coarse = []level{
	{key: "cup_depth_mm", value: "12", work: Grind},
	{key: "cup_depth_mm", value: "11", work: Grind},
	{key: "arch_flange_mm", value: "14", work: Grind},
	{key: "width_trim_mm", value: "26", work: Grind},
	{key: "width_trim_mm", value: "30", work: Grind},
	{key: "bevel_back_deg", value: "36", work: Grind},
}

// everyCombination of levels, one value of a key at most.
func everyCombination(list []level) [][]level {
	out := [][]level{nil}
	for i := 0; i < len(list); {
		j := i
		for j < len(list) && list[j].key == list[i].key {
			j++
		}
		var next [][]level
		for _, c := range out {
			next = append(next, c)
			for _, l := range list[i:j] {
				next = append(next, append(slices.Clone(c), l))
			}
		}
		out, i = next, j
	}
	return out
}

// The search finds what trying every combination of a coarse grid in full finds (brute force), though it seats fewer.
func TestRefitMissesNothingThatTryingAllFinds(t *testing.T) {
	b, d := dress.parts(t)
	ctx := context.Background()
	o := RefitOptions{Axis: DefaultAxis(), Ordered: d, levels: coarse, perRound: 3}
	s := &search{b: b, o: &o, today: b.traitsOf(d, o.Axis), ordered: b.traitsOf(d, o.Axis)}
	_, err := b.searchDevice(ctx, d, s, func(Work) bool { return true }, func(float64, string) {})
	require.NoError(t, err)
	front := s.front()
	seated := 0
	for _, c := range s.all {
		if c.checked != nil {
			seated++
		}
	}

	all := everyCombination(coarse)
	require.Len(t, all, 36)
	assert.Less(t, seated, 2*len(all)/3, "the search seats fewer than all")
	type outcome struct{ margin, kept, effort float64 }
	truth := make([]outcome, len(all))
	each(ctx, len(all), func(i int) {
		opts, err := on(d.Options, all[i]...)
		if err != nil {
			panic(err)
		}
		dev, err := device.Build(opts)
		if err != nil {
			truth[i].margin = math.Inf(-1)
			return
		}
		r, err := b.Check(ctx, dev, o.Foot)
		if err != nil {
			panic(err)
		}
		kept, _ := supportKept(b.traitsOf(dev, o.Axis), s.ordered, nil)
		work := Grind
		if len(all[i]) == 0 {
			work = NoWork
		}
		truth[i] = outcome{r.MarginMM(), kept, s.effortOf(dev.Options, work)}
	})
	fits := 0
	t.Cleanup(func() { assert.NotZero(t, fits, "the case has an answer") })
	for i, x := range truth {
		if x.margin >= 0 {
			fits++
		}
		found := slices.ContainsFunc(front, func(c *candidate) bool {
			return c.margin >= x.margin-0.1 && c.kept >= x.kept-0.01 && c.effort <= x.effort+0.5
		})
		assert.True(t, found, "%v: margin %.2f, kept %.3f, effort %.1f is beaten by what was found", all[i], x.margin, x.kept, x.effort)
	}
	t.Logf("%d of %d combinations fit; the search seated %d", fits, len(all), seated)
}

// What the sums estimate is what the whole computation finds, where candidates are near their limit.
func TestRefitEstimatesAgreeWithTheWholeComputation(t *testing.T) {
	all := func(Work) bool { return true }
	for _, c := range []trial{dress, {shoe: "running-shoe", prescribe: func(o *device.Options) { o.BevelLateralDeg, o.BevelMedialDeg = 5, 5 }}} {
		b, d := c.parts(t)
		o := RefitOptions{Axis: DefaultAxis()}
		f, err := b.newFamily(context.Background(), start{options: d.Options}, levels(d.Options, b.Room, all), &o, func(int) {})
		require.NoError(t, err)
		require.NotNil(t, f)
		zero, _, ok := f.marginOf(nil)
		require.True(t, ok)
		bias := f.res.MarginMM() - zero
		assert.InDelta(t, 0, bias, 0.3, "summing up by cells")
		rng := rand.New(rand.NewPCG(5, 7))
		tried := 0
		for tried < 10 {
			picks := rng.Perm(len(f.variants))[:3]
			slices.Sort(picks)
			if f.variants[picks[0]].key == f.variants[picks[1]].key || f.variants[picks[1]].key == f.variants[picks[2]].key {
				continue
			}
			dev, err := device.Build(f.optionsOf(picks))
			if err != nil {
				continue
			}
			tried++
			r, err := b.Check(context.Background(), dev, o.Foot)
			require.NoError(t, err)
			m, _, ok := f.marginOf(picks)
			assert.True(t, ok)
			assert.InDelta(t, r.MarginMM(), m+bias, 0.5, "%s with %v", c.shoe, f.optionsOf(picks))
			tr := f.traitsWith(picks)
			assert.InDelta(t, dev.Base.MedialMM, tr.base.MedialMM, 1)
			assert.InDelta(t, dev.Base.LateralMM, tr.base.LateralMM, 1)
		}
	}
}

func refit(t *testing.T, c trial, o RefitOptions) *Refit {
	t.Helper()
	b, d := c.parts(t)
	o.Draws = -1
	r, err := b.Refit(context.Background(), d, o)
	require.NoError(t, err)
	return r
}

// A whole search: what it lists is held, fits, differs and says why; nothing listed is beaten by another.
func TestRefitOfATightShoe(t *testing.T) {
	cup, err := ParsePin("cup_depth_mm=11..")
	require.NoError(t, err)
	bevel, err := ParsePin("bevel_lateral_deg=same")
	require.NoError(t, err)
	var last RefitProgress
	b, d := dress.parts(t)
	r, err := b.Refit(context.Background(), d, RefitOptions{
		Keep: []Pin{cup, bevel}, Draws: 200, Allow: []Work{Grind, OtherShoe}, Shoes: UsualShoes(b.Room),
		Progress: func(p RefitProgress) { last = p },
	})
	require.NoError(t, err)
	assert.Equal(t, 1.0, last.Done)
	assert.Greater(t, r.Tried, 1000)
	assert.NotEmpty(t, r.Sentence)
	assert.Equal(t, Caution, r.Limits)
	assert.Less(t, r.AsIs.MarginMM, 0.0)
	require.NotEmpty(t, r.Choices)
	require.LessOrEqual(t, len(r.Choices), 7)
	assert.True(t, r.Fits)
	for i, c := range r.Choices {
		assert.True(t, c.Fits(), c.ChangeWords())
		assert.NotEmpty(t, c.Why)
		assert.NotEmpty(t, c.Changes)
		assert.GreaterOrEqual(t, c.Options.CupDepthMM, 11.0)
		assert.Equal(t, d.Options.BevelLateralDeg, c.Options.BevelLateralDeg)
		assert.Contains(t, []Work{Grind, OtherShoe}, c.Work)
		require.NotNil(t, c.Odds)
		require.NotEmpty(t, c.Support)
		fresh, err := device.Build(c.Options)
		require.NoError(t, err)
		bench, err := NewBench(context.Background(), c.Room)
		require.NoError(t, err)
		again, err := bench.Check(context.Background(), fresh, Foot{})
		require.NoError(t, err)
		assert.InDelta(t, again.MarginMM(), c.MarginMM, 1e-6, "the numbers are the whole computation's")
		for j, k := range r.Choices {
			if i != j {
				assert.False(t, beats(k.MarginMM, k.SupportKept, k.Effort, c.MarginMM, c.SupportKept, c.Effort))
			}
		}
	}
}

func TestRefitRepeatsExactlyAlsoInParallel(t *testing.T) {
	b, d := dress.parts(t)
	run := func() *Refit {
		r, err := b.Refit(context.Background(), d, RefitOptions{levels: coarse, Draws: -1, Allow: []Work{Grind}})
		require.NoError(t, err)
		return r
	}
	one := run()
	cores := runtime.GOMAXPROCS(1)
	other := run()
	runtime.GOMAXPROCS(cores)
	require.Len(t, other.Choices, len(one.Choices))
	assert.Equal(t, one.Sentence, other.Sentence)
	for i := range one.Choices {
		assert.Equal(t, one.Choices[i].Options, other.Choices[i].Options)
		assert.Equal(t, one.Choices[i].MarginMM, other.Choices[i].MarginMM)
		assert.Equal(t, one.Choices[i].Why, other.Choices[i].Why)
	}
}

func TestRefitCanBeStopped(t *testing.T) {
	b, d := dress.parts(t)
	ctx, stop := context.WithCancel(context.Background())
	_, err := b.Refit(ctx, d, RefitOptions{Draws: -1, Progress: func(p RefitProgress) {
		if p.Done > 0 {
			stop()
		}
	}})
	assert.ErrorIs(t, err, context.Canceled)
}

func TestNoChangeIsNeededWhereItFits(t *testing.T) {
	r := refit(t, trial{shoe: "extra-depth", insoleOut: true, prescribe: func(o *device.Options) {
		o.CoverExtent, o.WidthTrimMM = device.None, 28
		o.BevelMedialDeg, o.BevelLateralDeg, o.BevelBackDeg = 40, 40, 40
	}}, RefitOptions{})
	require.True(t, r.AsIs.Sure(), r.AsIs.Result.Verdict.Sentence)
	assert.True(t, r.Fits)
	assert.Empty(t, r.Choices)
	assert.Contains(t, r.Sentence, "No change is needed")
	// Where a place alone is in doubt, all draws together decide.
	b, d := trial{shoe: "running-shoe"}.parts(t)
	drawn, err := b.Refit(context.Background(), d, RefitOptions{Draws: 400})
	require.NoError(t, err)
	assert.Equal(t, Unsure, drawn.AsIs.Result.Verdict.State)
	assert.GreaterOrEqual(t, drawn.AsIs.Odds.Fit, 0.9)
	assert.Empty(t, drawn.Choices)
}

func TestWhereNothingFitsTheNearestMissIsNamed(t *testing.T) {
	r := refit(t, dress, RefitOptions{levels: coarse[2:3], Allow: []Work{Grind}})
	assert.False(t, r.Fits)
	assert.Contains(t, r.Sentence, "Nothing within these limits fits")
	for _, c := range r.Choices {
		assert.Greater(t, c.MarginMM, r.AsIs.MarginMM)
	}
}

// What is done to a scanned device is worked out on one built to its measures: the choices are those for the built device that was
// scanned, and the difference is told. A scan that no such device is like gets none.
func TestAScannedDeviceIsRefittedByItsLikeness(t *testing.T) {
	b, built := dress.parts(t)
	m := built.Rigid.Refined(func(_, _ r3.Vec) float64 { return 1.4 })
	m.Tag = nil
	scan, _, err := device.FromScan(context.Background(), m, device.ScanOptions{Start: built.Options, FootLengthMM: built.Options.FootLengthMM})
	require.NoError(t, err)
	o := RefitOptions{levels: coarse, Allow: []Work{Grind}, Draws: -1}
	want, err := b.Refit(context.Background(), built, o)
	require.NoError(t, err)
	require.Nil(t, want.Likeness)
	o.ShapeFromScan = true
	got, err := b.Refit(context.Background(), scan, o)
	require.NoError(t, err)
	require.NotNil(t, got.Likeness)
	assert.Empty(t, got.Likeness.Why)
	assert.Less(t, math.Abs(got.Likeness.OffMM), 0.3)
	assert.Contains(t, got.Sentence, "built to the measures of the scan")
	require.NotEmpty(t, want.Choices)
	require.NotEmpty(t, got.Choices)
	best := func(r *Refit) float64 {
		m := math.Inf(-1)
		for _, c := range r.Choices {
			m = math.Max(m, c.MarginMM)
		}
		return m
	}
	assert.InDelta(t, best(want), best(got), 0.3)

	strange := *scan
	strange.Options.CupDepthMM, strange.Options.ShellThicknessMM, strange.Options.ArchFlangeMM = 18, 5, 26
	got, err = b.Refit(context.Background(), &strange, o)
	require.NoError(t, err)
	assert.Empty(t, got.Choices)
	assert.Contains(t, got.Likeness.Why, "unlike")
	assert.Contains(t, got.Sentence, "Grind the scanned device")
}

// Common practice, no source: for an overlap at the seat's edge more bevel comes before anything else, and a tight back calls
// for a fore bar.
func TestRefitFollowsTheTrade(t *testing.T) {
	r := refit(t, trial{shoe: "extra-depth", insoleOut: true, prescribe: func(o *device.Options) {
		o.BevelLateralDeg, o.BevelMedialDeg, o.BevelBackDeg = 0, 0, 0
		o.CoverExtent, o.WidthTrimMM = device.None, 28 // only the seat's edge is in the way
	}}, RefitOptions{Allow: []Work{Grind}})
	require.True(t, r.Fits, r.Sentence)
	require.NotEmpty(t, r.Choices)
	for _, c := range r.Choices {
		t.Logf("%s %.1f margin %.2f kept %.3f: %s (%s)", c.Work, c.Effort, c.MarginMM, c.SupportKept, c.ChangeWords(), c.Why)
	}
	first := r.Choices[0]
	assert.Equal(t, Grind, first.Work)
	for _, c := range first.Changes {
		assert.Contains(t, []string{"bevel_medial_deg", "bevel_lateral_deg", "bevel_back_deg"}, c.Key, first.ChangeWords())
	}

	upright := trial{shoe: "studded-soft", prescribe: func(o *device.Options) {
		o.BevelBackDeg, o.BevelLateralDeg, o.BevelMedialDeg = 0, 0, 0
	}}
	_, d := upright.parts(t)
	assert.True(t, slices.ContainsFunc(starts(d.Options, func(Work) bool { return true }), func(s start) bool {
		return s.options.WedgeBuild == device.ForeBar && s.work == Lab
	}))
}

// Grinding takes off: no level of that work makes a bevel steeper, a base wider or anything higher.
func TestGrindingOnlyTakesOff(t *testing.T) {
	grows := map[string]bool{
		"bevel_medial_deg": true, "bevel_lateral_deg": true, "bevel_back_deg": true, "bevel_front_deg": true,
		"wedge_start_mm": true, "width_trim_mm": true, "front_trim_mm": true,
	}
	for _, shoe := range []string{"lace-dress", "running-shoe"} {
		sheet, err := footwear.Demo().Find(shoe)
		require.NoError(t, err)
		room, err := footwear.NewRoom(sheet, true)
		require.NoError(t, err)
		for _, p := range device.Presets() {
			o := p.Options.Resolved()
			for _, l := range levels(o, room, func(w Work) bool { return w == Grind }) {
				k, ok := device.FindKey(l.key)
				require.True(t, ok)
				require.True(t, k.IsNumber(), l.key)
				with, err := on(o, l)
				require.NoError(t, err)
				if grows[l.key] {
					assert.Greater(t, with.Number(l.key), o.Number(l.key), l.key)
				} else {
					assert.Less(t, with.Number(l.key), o.Number(l.key), l.key)
				}
				assert.LessOrEqual(t, with.WedgeWidthMM, o.WedgeWidthMM)
				assert.GreaterOrEqual(t, with.WedgeMinThicknessMM, math.Min(o.WedgeMinThicknessMM, leastPolymerWedgeMM))
				assert.Equal(t, o.ShellThicknessMM, with.ShellThicknessMM, "no shell is ground thinner")
			}
		}
	}
}

func TestPins(t *testing.T) {
	for text, back := range map[string]string{
		"bevel_lateral_deg=same": "bevel_lateral_deg=same", "motion_deg=4": "motion_deg=4", "cup_depth_mm=14..": "cup_depth_mm=14..",
		"base_width_mm = 50 .. 60": "base_width_mm=50..60", "wedge_build=Block": "wedge_build=block", "lever_medial_mm=..9": "lever_medial_mm=..9", "cup_depth_mm=0.5in..14mm": "cup_depth_mm=12.7..14",
	} {
		p, err := ParsePin(text)
		require.NoError(t, err, text)
		assert.Equal(t, back, p.String())
		assert.NotEmpty(t, p.Words())
	}
	for _, bad := range []string{"", "cup", "cup_depth_mm=", "cup_depth_mm=x", "cup_depth_mm=3..1", "cup_depth_mm=..", "nothing=same", "wedge_build=round", "cup_depth_mm=NaN", "bevel_lateral_deg=3in"} {
		_, err := ParsePin(bad)
		assert.Error(t, err, bad)
	}
	today := &traits{options: device.Default(), base: device.Base{WidthMM: 50, MedialMM: 25, LateralMM: 25}}
	narrower := &traits{options: device.Default(), base: device.Base{WidthMM: 48, MedialMM: 24, LateralMM: 24}}
	narrower.options.CupDepthMM = 12
	for text, holds := range map[string]bool{
		"base_width_mm=same": false, "base_width_mm=45..": true, "base_width_mm=..45": false, "cup_depth_mm=same": false, "cup_depth_mm=12": true,
		"cup_depth_mm=13..": false, "wedge_build=block": true, "wedge_build=flat": false, "wedge_build=same": true,
	} {
		p, err := ParsePin(text)
		require.NoError(t, err)
		assert.Equal(t, holds, p.holds(narrower, today), text)
	}
}

// Support kept: all of it for the device as ordered; of a narrower base the cube; what matters more counts more.
func TestSupportKept(t *testing.T) {
	o := &traits{options: device.Default().Resolved(), base: device.Base{WidthMM: 50, MedialMM: 25, LateralMM: 25, LengthMM: 60}, foundation: 10, axis: DefaultAxis()}
	kept, lost := supportKept(o, o, nil)
	assert.Equal(t, 1.0, kept)
	assert.Empty(t, lost)
	n := *o
	n.base.WidthMM = 40
	kept, lost = supportKept(&n, o, nil)
	whole := 0.0
	for _, term := range SupportTerms {
		whole += term.Weight
	}
	assert.InDelta(t, 1-3*(1-0.512)/whole, kept, 1e-12, "0.8³ of the steadiness, weight 3 (calc)")
	assert.Equal(t, []string{"steadiness in the frontal plane 51 %"}, lost)
	more, _ := supportKept(&n, o, []Preference{{"steadiness", 2}})
	assert.Less(t, more, kept)
	none, _ := supportKept(&n, o, []Preference{{"steadiness", 0}})
	assert.Equal(t, 1.0, none)
}

func TestRefitRefusesWhatIsNoChoice(t *testing.T) {
	b, d := dress.parts(t)
	_, err := b.Refit(context.Background(), d, RefitOptions{Allow: []Work{"magic"}, Prefer: []Preference{{"colour", 1}}})
	assert.ErrorContains(t, err, "allow")
	assert.ErrorContains(t, err, "prefer")
}
