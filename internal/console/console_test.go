package console

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/fit"
)

func run(args ...string) (code int, out, errOut string) {
	var o, e bytes.Buffer
	code = Run(context.Background(), args, &o, &e)
	return code, o.String(), e.String()
}

func document(t *testing.T, text string) map[string]any {
	t.Helper()
	var v map[string]any
	require.NoError(t, json.Unmarshal([]byte(text), &v), text)
	return v
}

// textSTL writes triangles as text STL, nine numbers each; normals are left zero, as many programs do.
func textSTL(t *testing.T, name string, triangles ...[9]float64) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("solid s\n")
	for _, f := range triangles {
		fmt.Fprintf(&b, "facet normal 0 0 0\nouter loop\nvertex %g %g %g\nvertex %g %g %g\nvertex %g %g %g\nendloop\nendfacet\n",
			f[0], f[1], f[2], f[3], f[4], f[5], f[6], f[7], f[8])
	}
	b.WriteString("endsolid s\n")
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, []byte(b.String()), 0o600))
	return path
}

func quad(a, b, c, d [3]float64) [][9]float64 {
	return [][9]float64{
		{a[0], a[1], a[2], b[0], b[1], b[2], c[0], c[1], c[2]},
		{a[0], a[1], a[2], c[0], c[1], c[2], d[0], d[1], d[2]},
	}
}

// block is a box; inward turns its normals inwards.
func block(x0, x1, y0, y1, z0, z1 float64, inward bool) [][9]float64 {
	p := func(i, j, k int) [3]float64 {
		return [3]float64{[2]float64{x0, x1}[i], [2]float64{y0, y1}[j], [2]float64{z0, z1}[k]}
	}
	var t [][9]float64
	for _, q := range [][4][3]float64{
		{p(0, 0, 0), p(0, 1, 0), p(1, 1, 0), p(1, 0, 0)},
		{p(0, 0, 1), p(1, 0, 1), p(1, 1, 1), p(0, 1, 1)},
		{p(0, 0, 0), p(1, 0, 0), p(1, 0, 1), p(0, 0, 1)},
		{p(0, 1, 0), p(0, 1, 1), p(1, 1, 1), p(1, 1, 0)},
		{p(0, 0, 0), p(0, 0, 1), p(0, 1, 1), p(0, 1, 0)},
		{p(1, 0, 0), p(1, 1, 0), p(1, 1, 1), p(1, 0, 1)},
	} {
		if inward {
			q[1], q[3] = q[3], q[1]
		}
		t = append(t, quad(q[0], q[1], q[2], q[3])...)
	}
	return t
}

// trough leans its two walls out by gammaDeg from a floor of the width given; open at the top and the ends.
func trough(width, gammaDeg, high float64) [][9]float64 {
	out := high * math.Tan(gammaDeg*math.Pi/180)
	line := [][2]float64{{-width/2 - out, high}, {-width / 2, 0}, {width / 2, 0}, {width/2 + out, high}}
	var t [][9]float64
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		t = append(t, quad([3]float64{0, a[0], a[1]}, [3]float64{0, b[0], b[1]}, [3]float64{100, b[0], b[1]}, [3]float64{100, a[0], a[1]})...)
	}
	return t
}

func TestSeatGivesTheClosedForm(t *testing.T) {
	// A base of 62 between walls 60 apart that lean out 10° stands up (wb−Ws)/(2 tan γ) = 5.671282 (calc).
	room := textSTL(t, "room.stl", trough(60, 10, 50)...)
	body := textSTL(t, "body.stl", block(20, 80, -31, 31, 0, 15, false)...)
	code, out, errOut := run("seat", "--room", room, "--body", body, "--json")
	require.Equal(t, ExitOK, code, errOut)
	d := document(t, out)
	assert.Equal(t, "converged", d["status"])
	assert.InDelta(t, 5.671282, d["lift_mm"], 0.02)
	assert.InDelta(t, 0, d["min_gap_mm"], 0.01)
	assert.Less(t, d["residual_n"], 0.1)

	code, out, _ = run("seat", "--room", room, "--body", body)
	assert.Equal(t, ExitOK, code)
	assert.Contains(t, out, "converged")
}

func TestSeatSinksWhenTheBodyStartsHigh(t *testing.T) {
	room := textSTL(t, "room.stl", block(-100, 100, -50, 50, 0, 80, false)...)
	body := textSTL(t, "body.stl", block(-30, 30, -20, 20, 12, 30, true)...)
	code, out, errOut := run("seat", "--room", room, "--body", body, "--load-n", "50", "--json")
	require.Equal(t, ExitOK, code, errOut)
	d := document(t, out)
	assert.InDelta(t, -12, d["lift_mm"], 0.02)
	assert.Contains(t, fmt.Sprint(d["notes"]), "inside out")
}

func TestSeatWithoutSupportEndsWithThree(t *testing.T) {
	room := textSTL(t, "room.stl", quad([3]float64{0, -30, 0}, [3]float64{100, -30, 0}, [3]float64{100, -30, 50}, [3]float64{0, -30, 50})...)
	body := textSTL(t, "body.stl", block(20, 80, -10, 10, 0, 15, false)...)
	code, out, errOut := run("seat", "--room", room, "--body", body, "--json")
	assert.Equal(t, ExitNotConverged, code)
	assert.Equal(t, "no-support", document(t, out)["status"])
	assert.Contains(t, errOut, "did not converge")
}

func TestDistanceOfTheUnitCube(t *testing.T) {
	// (1.5,0,0) 0.5; (2,2,0) √2; (2,2,2) √3 past the wall; the middle 1 inside (calc).
	room := textSTL(t, "cube.stl", block(-1, 1, -1, 1, -1, 1, false)...)
	points := filepath.Join(t.TempDir(), "points.csv")
	require.NoError(t, os.WriteFile(points, []byte("x,y,z\n1.5,0,0\n2;2;0\n2 2 2\n# a remark\n\n0,0,0.25\n"), 0o600))
	code, out, errOut := run("distance", "--room", room, "--points", points)
	require.Equal(t, ExitOK, code, errOut)
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 5)
	for i, want := range []float64{-0.5, -math.Sqrt2, -math.Sqrt(3), 0.75} {
		got, err := strconv.ParseFloat(rows[i+1][3], 64)
		require.NoError(t, err)
		assert.InDelta(t, want, got, 1e-12)
	}
	assert.Equal(t, []string{"1", "0", "0"}, rows[1][4:])
}

func TestSizes(t *testing.T) {
	// FL 260: EU 41, UK 7.709 (ISO/TS 19407:2015's Paris point; read).
	code, out, _ := run("size", "--foot-mm", "260", "--json")
	require.Equal(t, ExitOK, code)
	got := map[string]float64{}
	for _, r := range document(t, out)["sizes"].([]any) {
		row := r.(map[string]any)
		got[row["system"].(string)] = row["exact"].(float64)
	}
	assert.InDelta(t, 41, got["eu"], 1e-3)
	assert.InDelta(t, 7.709, got["uk"], 1e-3)
	assert.InDelta(t, 8.709, got["us-men"], 1e-3)

	code, out, _ = run("size", "--from", "EU 41", "--to", "UK")
	assert.Equal(t, ExitOK, code)
	assert.Contains(t, out, "7.709")
	assert.NotContains(t, out, "Mondopoint")
}

func TestBadInputEndsWithTwoAndNamesTheMend(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "missing.stl")
	broken := filepath.Join(t.TempDir(), "broken.stl")
	require.NoError(t, os.WriteFile(broken, []byte("solid x\nfacet normal 0 0 0\nouter loop\nvertex 0 0 nan\n"), 0o600))
	good := textSTL(t, "good.stl", block(0, 1, 0, 1, 0, 1, false)...)
	csvFile := filepath.Join(t.TempDir(), "p.csv")
	require.NoError(t, os.WriteFile(csvFile, []byte("0,0,0\n1,NaN,2\n"), 0o600))
	for name, c := range map[string]struct {
		args []string
		says []string
	}{
		"no command":          {nil, []string{"roomcheck"}},
		"unknown command":     {[]string{"fitt"}, []string{"fitt"}},
		"unknown flag":        {[]string{"fit", "--shoo", "x"}, []string{"shoo"}},
		"no shoe":             {[]string{"fit"}, []string{"--shoe"}},
		"unknown shoe":        {[]string{"fit", "--shoe", "glass-slipper"}, []string{"glass-slipper"}},
		"size out of range":   {[]string{"fit", "--shoe", fit.Demo.ShoeID, "--size", "EU 99"}, []string{"99"}},
		"size of no system":   {[]string{"fit", "--shoe", fit.Demo.ShoeID, "--size", "XXL"}, []string{"XXL"}},
		"unknown device":      {[]string{"fit", "--shoe", fit.Demo.ShoeID, "--device", "magic"}, []string{"magic"}},
		"unknown key":         {[]string{"fit", "--shoe", fit.Demo.ShoeID, "--with", "colour=red"}, []string{"colour"}},
		"no value":            {[]string{"fit", "--shoe", fit.Demo.ShoeID, "--with", "insole_out"}, []string{"key=value"}},
		"not a number":        {[]string{"fit", "--shoe", fit.Demo.ShoeID, "--with", "cup_depth_mm=NaN"}, []string{"cup_depth_mm"}},
		"huge device":         {[]string{"fit", "--shoe", fit.Demo.ShoeID, "--with", "foot_length_mm=900"}, []string{"foot_length_mm", "340"}},
		"contradicting":       {[]string{"fit", "--shoe", fit.Demo.ShoeID, "--with", "shoe.ball_girth_mm=150"}, []string{"ball_girth_mm"}},
		"missing mesh":        {[]string{"seat", "--room", missing, "--body", good}, []string{missing}},
		"broken mesh":         {[]string{"seat", "--room", broken, "--body", good}, []string{broken}},
		"no weight":           {[]string{"seat", "--room", good, "--body", good, "--load-n", "-4"}, []string{"--load-n"}},
		"NaN point":           {[]string{"distance", "--room", good, "--points", csvFile}, []string{csvFile, "line 2"}},
		"no size":             {[]string{"size"}, []string{"--foot-mm"}},
		"NaN foot":            {[]string{"size", "--foot-mm", "NaN"}, []string{"NaN"}},
		"no target folder":    {[]string{"export", "--shoe", fit.Demo.ShoeID}, []string{"--out"}},
		"unknown system":      {[]string{"size", "--from", "EU 42", "--to", "parsec"}, []string{"parsec", "Mondopoint"}},
		"unknown shoe, shown": {[]string{"show", "glass-slipper"}, []string{"glass-slipper"}},
	} {
		t.Run(name, func(t *testing.T) {
			code, _, errOut := run(c.args...)
			assert.Equal(t, ExitBadInput, code, errOut)
			for _, s := range c.says {
				assert.Contains(t, errOut, s)
			}
		})
	}
	code, out, _ := run("fit", "--shoe", "glass-slipper", "--json")
	assert.Equal(t, ExitBadInput, code)
	assert.NotEmpty(t, document(t, out)["problems"])
}

func TestFitReportsWhatItPromises(t *testing.T) {
	code, out, errOut := run("fit", "--shoe", fit.Demo.ShoeID, "--size", fit.Demo.Size, "--device", fit.Demo.PresetID, "--with", "bevel_lateral_deg=0", "--with", "insole_out=no", "--json")
	require.Equal(t, ExitOK, code, errOut)
	d := document(t, out)
	assert.Equal(t, "converged", d["status"])
	assert.Contains(t, []any{"clear", "snug", "unsure", "blocked"}, d["verdict"].(map[string]any)["state"])
	for _, k := range []string{"ride_up_mm", "tilt_frontal_deg", "slip_forward_mm"} {
		assert.IsType(t, 0.0, d[k], k)
	}
	base := d["base"].(map[string]any)
	assert.InDelta(t, base["width_mm"].(float64), base["medial_mm"].(float64)+base["lateral_mm"].(float64), 1e-3)
	assert.Greater(t, base["area_mm2"], 500.0)
	f := d["findings"].([]any)
	require.NotEmpty(t, f)
	for _, one := range f {
		m := one.(map[string]any)
		assert.Len(t, m["at_mm"], 3)
		assert.Contains(t, []any{"intended", "settled"}, m["pose"])
		assert.NotEmpty(t, m["feature"])
		assert.NotEmpty(t, m["zone"])
	}
}

func TestOddsSayWhatDecides(t *testing.T) {
	code, out, errOut := run("odds", "--shoe", "running-shoe", "--draws", "200", "--json")
	require.Equal(t, ExitOK, code, errOut)
	d := document(t, out)
	assert.InDelta(t, 0.5, d["odds"], 0.5)
	assert.EqualValues(t, 200, d["draws"])
	require.Len(t, d["decides"], 2)
	assert.Contains(t, d["decides"].([]any)[0].(map[string]any)["sentence"], "again: it decides")
	assert.NotEmpty(t, d["findings"])
	code, _, errOut = run("odds", "--shoe", "running-shoe", "--draws", "1")
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errOut, "draws")
}

func TestRefitListsWhatCanBeDone(t *testing.T) {
	code, out, errOut := run("refit", "--shoe", "lace-dress", "--device", "everyday-block", "--keep", "cup_depth_mm=11..", "--allow", "grind", "--draws", "50", "--json")
	require.Equal(t, ExitOK, code, errOut)
	doc := document(t, out)
	assert.Equal(t, true, doc["fits"])
	assert.Contains(t, doc["limits"], "qualified practitioner")
	choices := doc["choices"].([]any)
	require.NotEmpty(t, choices)
	for _, c := range choices {
		c := c.(map[string]any)
		for _, key := range []string{"changes", "work", "state", "odds", "margin_mm", "base_width_mm", "rotational_stiffness_nmm_per_rad", "lever_lateral_mm", "lever_medial_mm", "why"} {
			assert.Contains(t, c, key)
		}
		assert.Equal(t, "grind", c["work"])
		assert.Greater(t, c["rotational_stiffness_nmm_per_rad"], 0.0)
		// The options are what --with takes: the device made so has that verdict, and the changes are among them.
		args := []string{"fit", "--shoe", "lace-dress", "--device", "everyday-block", "--json"}
		options := c["options"].(map[string]any)
		for key, value := range options {
			args = append(args, "--with", fmt.Sprintf("%s=%v", key, value))
		}
		for key, value := range c["changes"].(map[string]any) {
			assert.Equal(t, value, fmt.Sprint(options[key]), key)
		}
		code, out, errOut := run(args...)
		require.Equal(t, ExitOK, code, errOut)
		assert.Equal(t, c["verdict"], document(t, out)["verdict"].(map[string]any)["sentence"])
	}
	code, out, errOut = run("refit", "--shoe", "lace-dress", "--device", "everyday-block", "--allow", "shoe", "--draws", "0")
	require.Equal(t, ExitOK, code, errOut)
	assert.Contains(t, out, "as it is\n    It does not fit as it is")
	assert.Contains(t, out, "1. the shoe: ")
	assert.NotContains(t, out, "odds that it fits")
}

func TestScreenRanksTheShelf(t *testing.T) {
	dir := t.TempDir()
	code, out, errOut := run("screen", "--device", "everyday-block", "--foot-length-mm", "266", "--shelf", dir, "--best", "1", "--json")
	require.Equal(t, ExitOK, code, errOut)
	doc := document(t, out)
	assert.Equal(t, "shelf", doc["mode"])
	pairs := doc["pairs"].([]any)
	require.Greater(t, len(pairs), 20)
	first, last := pairs[0].(map[string]any), pairs[len(pairs)-1].(map[string]any)
	assert.Equal(t, "all draws", first["odds_of"])
	assert.Greater(t, first["odds"], last["odds"])
	assert.NotEmpty(t, first["reason"])
	code, out, errOut = run("screen", "--shoe", "rocker-shoe", "--presets", "--best", "0")
	require.Equal(t, ExitOK, code, errOut)
	assert.Contains(t, out, "Check in the shoe on the wearer")
	code, out, errOut = run("screen", "--device", "everyday-block", "--shoes", "extra-depth,rocker-shoe@EU 43", "--allow", "shoe", "--json")
	require.Equal(t, ExitOK, code, errOut)
	devices := document(t, out)["devices"].([]any)
	require.NotEmpty(t, devices)
	assert.Len(t, devices[0].(map[string]any)["in"], 2)
	code, _, errOut = run("screen", "--foot-length-mm", "26")
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errOut, "90 to 340 mm")
}

func TestOutcomesAreRecordedComparedAndLearntFrom(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "outcomes.json")
	add := func(args ...string) (int, string, string) {
		return run(append([]string{"outcome", "add", "--file", file, "--shoe", "lace-dress", "--device", "everyday-block", "--date", "2026-11-26"}, args...)...)
	}
	code, out, errOut := add("--case", "K-1", "--happened", "went-in")
	require.Equal(t, ExitOK, code, errOut)
	assert.Contains(t, out, "1 outcomes")
	code, _, errOut = add("--case", "K-2", "--happened", "ground", "--feature", "cup rim", "--zone", "counter lateral", "--ground-mm", "1.5")
	require.Equal(t, ExitOK, code, errOut)
	before, err := os.ReadFile(file)
	require.NoError(t, err)
	code, _, errOut = add("--case", "a name", "--happened", "went-in")
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errOut, "a code")
	after, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, before, after, "nothing that is stored is lost")

	picture := filepath.Join(dir, "r.png")
	code, out, errOut = run("outcome", "reliability", "--file", file, "--picture", picture, "--json")
	require.Equal(t, ExitOK, code, errOut)
	bins := document(t, out)["bins"].([]any)
	require.Len(t, bins, 5)
	assert.EqualValues(t, 2, bins[0].(map[string]any)["count"])
	assert.FileExists(t, picture)
	code, out, _ = run("outcome", "list", "--file", file)
	require.Equal(t, ExitOK, code)
	assert.Contains(t, out, "K-2")
	code, out, _ = run("outcome", "learn", "--file", file)
	require.Equal(t, ExitOK, code)
	assert.Contains(t, out, "counter")
	verdict := func(args ...string) any {
		code, out, errOut := run(append([]string{"fit", "--shoe", "lace-dress", "--device", "everyday-block", "--json"}, args...)...)
		require.Equal(t, ExitOK, code, errOut)
		return document(t, out)["ride_up_mm"]
	}
	assert.NotEqual(t, verdict(), verdict("--outcomes", file), "the walls yield as learnt")
	code, _, errOut = run("outcome", "list", "--file", filepath.Join(dir, "none.json"))
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errOut, "none.json")
}

func TestRefitRefusesBadWishes(t *testing.T) {
	for want, args := range map[string][]string{
		"keep": {"--keep", "colour=red"}, "allow": {"--allow", "wish"}, "--prefer": {"--prefer", "cup"}, "prefer": {"--prefer", "colour=1"},
	} {
		code, _, errOut := run(append([]string{"refit", "--shoe", "lace-dress"}, args...)...)
		assert.Equal(t, ExitBadInput, code)
		assert.Contains(t, errOut, want)
	}
}

func TestSupportStandsBesideTheDeviceAsOrdered(t *testing.T) {
	code, out, errOut := run("support", "--shoe", "extra-depth", "--with", "bevel_lateral_deg=0", "--json")
	require.Equal(t, ExitOK, code, errOut)
	lever := map[string]any{}
	for _, f := range document(t, out)["figures"].([]any) {
		if m := f.(map[string]any); m["key"] == "lever_lateral_mm" {
			lever = m
		}
	}
	require.NotEmpty(t, lever)
	assert.Greater(t, lever["now"], lever["ordered"], "an unbevelled lateral side lengthens the lateral lever (common practice, no source)")
	code, _, errOut = run("support", "--shoe", "extra-depth", "--axis-inclination-deg", "NaN")
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errOut, "axis inclination")
}

func TestLeftIsTheMirrorOfRight(t *testing.T) {
	_, right, _ := run("fit", "--shoe", fit.Demo.ShoeID, "--json")
	_, left, _ := run("fit", "--shoe", fit.Demo.ShoeID, "--with", "side=left", "--json")
	r, l := document(t, right), document(t, left)
	assert.Equal(t, r["verdict"], l["verdict"])
	assert.Equal(t, r["ride_up_mm"], l["ride_up_mm"])
	rf, lf := r["findings"].([]any)[0].(map[string]any), l["findings"].([]any)[0].(map[string]any)
	assert.Equal(t, rf["gap_mm"], lf["gap_mm"])
	assert.InDelta(t, -rf["at_mm"].([]any)[1].(float64), lf["at_mm"].([]any)[1], 1e-9)
}

func TestListsAndSheets(t *testing.T) {
	code, out, _ := run("shoes", "--json")
	require.Equal(t, ExitOK, code)
	assert.GreaterOrEqual(t, len(document(t, out)["shoes"].([]any)), 18)
	code, out, _ = run("shoes", "studed", "boot")
	assert.Equal(t, ExitOK, code)
	assert.Contains(t, out, "studded")
	code, out, _ = run("show", fit.Demo.ShoeID, "--size", "EU 43")
	assert.Equal(t, ExitOK, code)
	assert.Contains(t, out, "feather")
	code, out, _ = run("keys", "--json")
	require.Equal(t, ExitOK, code)
	have := map[string]bool{}
	for _, k := range document(t, out)["keys"].([]any) {
		have[k.(map[string]any)["key"].(string)] = true
	}
	for _, k := range []string{
		"wedge_build", "wedge_length_mm", "bevel_medial_deg", "bevel_lateral_deg", "bevel_back_deg", "contact_angle_deg", "motion_deg",
		"shell_thickness_mm", "cup_depth_mm", "heel_raise_mm", "cover_heel_mm", "insole_out", "foot_length_mm", "shoe.seat_width_mm",
	} {
		assert.True(t, have[k], k)
	}
	code, out, _ = run("presets")
	assert.Equal(t, ExitOK, code)
	assert.Contains(t, out, fit.Demo.PresetID)
	code, out, _ = run("help")
	assert.Equal(t, ExitOK, code)
	assert.Contains(t, out, "qualified practitioner")
}

func TestExportedFilesComeBack(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	code, out, errOut := run("export", "--shoe", fit.Demo.ShoeID, "--out", dir)
	require.Equal(t, ExitOK, code, errOut)
	assert.Contains(t, out, "room.stl")
	_, first, _ := run("fit", "--shoe", fit.Demo.ShoeID, "--json")
	code, again, errOut := run("fit", "--shoe", filepath.Join(dir, "shoe.json"), "--device", filepath.Join(dir, "device.json"), "--json")
	require.Equal(t, ExitOK, code, errOut)
	assert.Equal(t, document(t, first)["findings"], document(t, again)["findings"])

	code, out, errOut = run("seat", "--room", filepath.Join(dir, "room.stl"), "--body", filepath.Join(dir, "device-settled.stl"), "--json")
	assert.Contains(t, []int{ExitOK, ExitNotConverged}, code, errOut)
	assert.NotEmpty(t, document(t, out)["status"])
}

func TestDemoDrawsTheCuts(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "pictures")
	code, out, errOut := run("demo", "--out", dir)
	require.Equal(t, ExitOK, code, errOut)
	assert.Contains(t, out, "qualified practitioner")
	for _, n := range []string{"intended-behind.png", "settled-side.png", "settled-above.png"} {
		st, err := os.Stat(filepath.Join(dir, n))
		require.NoError(t, err)
		assert.Greater(t, st.Size(), int64(2000))
	}
}

func FuzzReadPoints(f *testing.F) {
	f.Add("x,y,z\n1,2,3\n")
	f.Add("1;2;3\n\n# r\n1e400,0,0\n")
	f.Add("\ufeff1\t2\t3")
	f.Fuzz(func(t *testing.T, text string) {
		points, err := readPoints(strings.NewReader(text), "points.csv")
		if err != nil {
			assert.Empty(t, points)
			assert.NotEmpty(t, err.Error())
			return
		}
		assert.NotEmpty(t, points)
		for _, p := range points {
			assert.LessOrEqual(t, math.Max(math.Abs(p.X), math.Max(math.Abs(p.Y), math.Abs(p.Z))), farthestAway)
		}
	})
}
