package sheet

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/internal/lengths"
)

var today = time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)

// bench is the demo shoe, made ready once.
var bench = sync.OnceValues(func() (*fit.Bench, error) {
	shoe, err := footwear.Demo().Find(fit.Demo.ShoeID)
	if err != nil {
		return nil, err
	}
	room, err := footwear.NewRoom(shoe, true)
	if err != nil {
		return nil, err
	}
	return fit.NewBench(context.Background(), room)
})

// choice is a device in the demo shoe, with odds of so many draws and support; below zero without odds, at zero without both.
func choice(t *testing.T, o device.Options, draws int) *fit.Choice {
	t.Helper()
	b, err := bench()
	require.NoError(t, err)
	d, err := device.Build(o)
	require.NoError(t, err)
	ctx := context.Background()
	r, err := b.Check(ctx, d, fit.Foot{})
	require.NoError(t, err)
	c := &fit.Choice{Options: o, Device: d, Room: b.Room, Result: r}
	if draws > 0 {
		c.Odds, err = b.Odds(ctx, d, fit.Foot{}, fit.OddsOptions{Draws: draws})
		require.NoError(t, err)
	}
	if draws != 0 {
		c.Support, err = b.Support(ctx, d, d, fit.Foot{}, fit.DefaultAxis())
		require.NoError(t, err)
	}
	return c
}

func left() device.Options {
	o := device.Default()
	o.Side = device.Left
	o.BevelLateralDeg = 10
	o.CoverExtent = device.Full
	return o
}

// changed is a case of a left device that is bevelled further on its lateral side.
var changed = sync.OnceValue(func() func(*testing.T) Case {
	var c Case
	var once sync.Once
	return func(t *testing.T) Case {
		once.Do(func() {
			to := left()
			to.BevelLateralDeg = 40
			after := choice(t, to, -1)
			after.SupportKept, after.Lost = 0.93, []string{"lateral lever 81 %"}
			after.Changes = []fit.Change{
				{Key: "bevel_lateral_deg", Name: "Lateral", Unit: "°", From: "10", To: "40", Words: "bevel the lateral side of the wedge from 10° to 40°", Work: fit.Grind},
				{Key: "wedge_start_mm", Name: "Starts at", Unit: "mm", From: "4", To: "4.5", Words: "it keeps in place", Work: fit.Grind, Follows: true},
			}
			c = Case{Code: "Größe-7", Date: today, DeviceName: "everyday-block", Before: choice(t, left(), 60), After: after, Foot: fit.Foot{LengthMM: 266}}
		})
		return c
	}
})()

func TestTheSheetSaysWhatToDoAndWhatItRestsOn(t *testing.T) {
	c := changed(t)
	s, err := Of(c)
	require.NoError(t, err)
	assert.Equal(t, "left", s.Side)
	require.Len(t, s.Steps, 2)
	step := s.Steps[0]
	assert.Equal(t, []any{1, "Bevel, lateral", "10°", "40°"}, []any{step.Number, step.Feature, step.From, step.To})
	assert.Contains(t, step.Tool, "angle gauge")
	assert.Zero(t, s.Steps[1].Number, "what only follows has no number of its own")
	assert.Equal(t, "Support kept: 93 % of what was ordered (lateral lever 81 %).", s.KeptSentence())
	require.NotNil(t, s.Before.Odds)
	assert.InDelta(t, 100*c.Before.Odds.Fit, float64(s.Before.Odds.FitPercent), 1e-9)
	assert.NotEmpty(t, s.Before.Odds.Decides)
	require.Len(t, s.Support, len(c.After.Support))
	for i, f := range s.Support {
		assert.InDelta(t, c.Before.Support[i].Now, float64(f.Before), 1e-9)
		assert.InDelta(t, c.After.Support[i].Now, float64(f.After), 1e-9)
	}
	assert.Nil(t, s.After.Odds, "none were drawn")
	assert.NotEmpty(t, s.After.OddsNote)
	for _, st := range s.states() {
		assert.Contains(t, st.Limits, fit.Caution, "limits stand beside the verdict")
	}
	for _, rows := range [][]Row{s.Measures, s.Foot, s.Order, s.Before.Seating, s.Before.FootRoom, s.Sections[0].Rows, s.Sections[1].Rows, s.Sections[2].Rows} {
		require.NotEmpty(t, rows)
		for _, r := range rows {
			assert.NotEmpty(t, r.How, "%s: every number says how it is known", r.Name)
			assert.NotEmpty(t, r.Text, r.Name)
		}
	}
	require.Len(t, s.Measures, int(footwear.NumMeasures))
	assert.Regexp(t, `^inside rule, ± 1\.5 mm`, s.Measures[0].How)
}

// Nothing that is not clear is left out of the list, and before and after stand in one row.
func TestFindingsBeforeAndAfter(t *testing.T) {
	c := changed(t)
	s, err := Of(c)
	require.NoError(t, err)
	listed := map[string]Finding{}
	for i, f := range s.Findings {
		assert.Equal(t, i+1, f.Number)
		listed[f.key()] = f
	}
	count := func(r *fit.Result, gap func(Finding) *Gap) {
		for i := range r.Findings {
			g := &r.Findings[i]
			if g.State == fit.Clear || g.Bearing && g.Pose == fit.Intended {
				continue
			}
			of := findingOf(g)
			got := gap(listed[of.key()])
			if assert.NotNil(t, got, "%s at %s", g.Feature, g.Place()) {
				assert.InDelta(t, g.GapMM, float64(got.GapMM), 0.005)
				assert.Equal(t, string(g.State), got.State)
			}
		}
	}
	count(c.Before.Result, func(f Finding) *Gap { return f.Before })
	count(c.After.Result, func(f Finding) *Gap { return f.After })
}

func TestEveryOptionHasItsTool(t *testing.T) {
	for _, k := range device.Keys() {
		assert.NotEmpty(t, tools[k.Key], k.Key)
	}
}

// A left device's templates are those of the right one with U turned, and nothing else.
func TestALeftTemplateIsTheMirrorImage(t *testing.T) {
	o := left()
	a, err := Of(Case{Date: today, Before: choice(t, o, 0)})
	require.NoError(t, err)
	o.Side = device.Right
	b, err := Of(Case{Date: today, Before: choice(t, o, 0)})
	require.NoError(t, err)
	for i := range a.Shapes {
		require.Len(t, b.Shapes[i].Lines, len(a.Shapes[i].Lines))
		for k, l := range a.Shapes[i].Lines {
			for n, p := range l.Points {
				q := b.Shapes[i].Lines[k].Points[n]
				require.Equal(t, p[0], -q[0])
				require.Equal(t, p[1], q[1])
			}
		}
	}
	assert.Equal(t, a.Sections, b.Sections)
}

// A bevel of β moves the edge of the base in by height·tan β (closed form, calc): on the template the bevel line lies that
// far outside the base's edge at the heel's widest place.
func TestTheBevelLinesStandWhereTheBevelEnds(t *testing.T) {
	o := device.Default()
	o.BevelMedialDeg = 20
	d, err := device.Build(o)
	require.NoError(t, err)
	runs := bevelRuns(d.Rigid, device.WedgeMedialSide)
	require.NotEmpty(t, runs)
	checked := 0
	for _, p := range runs[0] {
		if math.Abs(p.X-d.RimXMM) > 8 {
			continue
		}
		_, hi, ok := across(d.Base.Outline, p.X)
		require.True(t, ok)
		assert.InDelta(t, p.Z*math.Tan(20*math.Pi/180), p.Y-hi, 0.15)
		checked++
	}
	assert.Positive(t, checked)
	for _, build := range []string{device.Flat, device.Open, device.ForeBar} {
		o := device.Default()
		o.WedgeBuild = build
		s, err := Of(Case{Date: today, Before: choice(t, o, 0)})
		require.NoError(t, err, build)
		bevels := 0
		for _, l := range s.Shapes[0].Lines {
			if l.Kind == bevelLine {
				bevels++
			}
		}
		assert.Equal(t, map[string]int{device.Flat: 0, device.Open: 0, device.ForeBar: 2}[build], bevels, build)
	}
}

func TestASheetNeedsAllOfItsCase(t *testing.T) {
	_, err := Of(Case{Date: today})
	require.Error(t, err)
	_, err = Of(Case{Before: choice(t, device.Default(), 0)})
	require.Error(t, err, "the date is no one else's to choose")
	_, err = ParsePaper("a3")
	assert.ErrorContains(t, err, "letter")
}

func TestTheSameCaseGivesTheSameBytes(t *testing.T) {
	write := func() []byte {
		s, err := Of(changed(t))
		require.NoError(t, err)
		var b bytes.Buffer
		require.NoError(t, WritePDF(&b, s, A4, lengths.MM))
		require.NoError(t, WriteText(&b, s, lengths.MM))
		require.NoError(t, WriteJSON(&b, s))
		return b.Bytes()
	}
	assert.True(t, bytes.Equal(write(), write()))
}

// The document is as docs/sheet.schema.json says, checked by a schema library, and the schema refuses what is not.
func TestJSONKeepsToItsSchema(t *testing.T) {
	schema, err := jsonschema.NewCompiler().Compile(filepath.Join("..", "..", "docs", "sheet.schema.json"))
	require.NoError(t, err)
	made := Case{Date: today, Before: choice(t, device.Default(), 0)}
	for _, c := range []Case{changed(t), made} {
		s, err := Of(c)
		require.NoError(t, err)
		var b bytes.Buffer
		require.NoError(t, WriteJSON(&b, s))
		read := func() map[string]any {
			v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b.Bytes()))
			require.NoError(t, err)
			return v.(map[string]any)
		}
		require.NoError(t, schema.Validate(read()))
		for name, spoil := range map[string]func(map[string]any){
			"no caution": func(d map[string]any) { delete(d, "cautions") },
			"other side": func(d map[string]any) { d["side"] = "both" },
			"text for mm": func(d map[string]any) {
				d["findings"].([]any)[0].(map[string]any)["before"].(map[string]any)["gap_mm"] = "1"
			},
			"unknown part": func(d map[string]any) { d["price"] = json.Number("3") },
		} {
			d := read()
			spoil(d)
			assert.Error(t, schema.Validate(d), name)
		}
	}
}

// The text of an invented case is kept as a whole: testdata/sheet.
func TestTheTextOfACase(t *testing.T) {
	s, err := Of(changed(t))
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, WriteText(&b, s, lengths.MM))
	golden := filepath.Join("..", "..", "testdata", "sheet", "left-bevel.txt")
	if os.Getenv("UPDATE_GOLDEN") != "" {
		require.NoError(t, os.WriteFile(golden, b.Bytes(), 0o600))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), b.String())
}
