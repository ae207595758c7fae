package console

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// scanFileOf writes the room of a demo shoe as a scan: turned over, in a unit of so many mm, open at the top.
func scanFileOf(t *testing.T, id, name string, unitMM float64, left bool) string {
	t.Helper()
	s, err := footwear.Demo().Find(id)
	require.NoError(t, err)
	r, err := footwear.NewRoom(s, false)
	require.NoError(t, err)
	m := r.Walls.Clone()
	m.Tag = nil
	if left {
		m = m.MirroredY()
	}
	m = m.Transformed(mesh.PoseAbout(r3.Vec{X: 40}, r3.Vec{X: 2, Y: -1, Z: 0.4}, r3.Vec{X: 12, Y: 90, Z: -33})).Scaled(1 / unitMM)
	path := filepath.Join(t.TempDir(), name)
	f, err := os.Create(path)
	require.NoError(t, err)
	if filepath.Ext(name) == ".obj" { // without a word of the unit
		for _, v := range m.V {
			fmt.Fprintf(f, "v %.9g %.9g %.9g\n", v.X, v.Y, v.Z)
		}
		for _, c := range m.F {
			fmt.Fprintf(f, "f %d %d %d\n", c[0]+1, c[1]+1, c[2]+1)
		}
	} else {
		require.NoError(t, mesh.Write(f, m, "scan", mesh.FormatOf(name)))
	}
	require.NoError(t, f.Close())
	return path
}

func number64(t *testing.T, doc map[string]any, key string) float64 {
	t.Helper()
	v, ok := doc[key].(float64)
	require.True(t, ok, "%s is %v", key, doc[key])
	return v
}

func TestMeasureReadsAScan(t *testing.T) {
	path := scanFileOf(t, "running-shoe", "left.stl", 1, true)
	code, out, errOut := run("measure", "--shape", path, "--json")
	require.Equal(t, ExitOK, code, errOut)
	doc := document(t, out)
	s, err := footwear.Demo().Find("running-shoe")
	require.NoError(t, err)
	for key, id := range map[string]footwear.MeasureID{
		"length_mm": footwear.LastLength, "ball_width_mm": footwear.BallWidth, "ball_girth_mm": footwear.BallGirth, "waist_width_mm": footwear.WaistWidth,
		"seat_width_mm": footwear.SeatWidth, "counter_width_20_mm": footwear.CounterWidth20, "heel_rise_mm": footwear.HeelRise,
		"toe_spring_mm": footwear.ToeSpring, "depth_ball_mm": footwear.DepthBall, "topline_back_mm": footwear.ToplineBack, "seat_angle_deg": footwear.SeatAngle,
	} {
		assert.InDelta(t, s.V(id), number64(t, doc, key), 0.2, key)
	}
	assert.Greater(t, number64(t, doc, "heel_width_mm"), s.V(footwear.CounterWidth20)-0.2)
	assert.Equal(t, "left", doc["side"])
	assert.Equal(t, "mm", doc["unit"])
	assert.Equal(t, "the file", doc["unit_from"])
	assert.Equal(t, true, doc["open_top"])
	assert.Less(t, number64(t, doc, "roughness_mm"), 0.03)
	assert.Greater(t, number64(t, doc, "triangles"), 5000.0)
	assert.IsType(t, []any{}, doc["repairs"])
	assert.Contains(t, doc["not_read"], "give_counter_mm")
	assert.NotContains(t, doc["not_read"], "ball_width_mm")
	up := doc["frame"].(map[string]any)["up"].([]any)
	sum := 0.0
	for _, v := range up {
		sum += v.(float64) * v.(float64)
	}
	assert.InDelta(t, 1, math.Sqrt(sum), 1e-3)

	code, out, _ = run("measure", "--shape", path, "--side", "left")
	require.Equal(t, ExitOK, code)
	assert.Contains(t, out, "ball width")
	assert.Contains(t, out, "side: left (given)")
	assert.Contains(t, out, "not read:")
}

// Units come from the flag, the file or the size; where the size leaves them in doubt, the program asks.
func TestMeasureAsksForUnits(t *testing.T) {
	cm := scanFileOf(t, "court-45", "cm.obj", 10, false) // 25 cm across; 25 inches would be too long
	code, out, errOut := run("measure", "--shape", cm, "--json")
	require.Equal(t, ExitOK, code, errOut)
	doc := document(t, out)
	assert.Equal(t, "cm", doc["unit"])
	assert.Equal(t, "its size", doc["unit_from"])

	inches := scanFileOf(t, "court-45", "in.obj", 25.4, false) // 10.x units: inches, or a small shoe in cm
	code, out, errOut = run("measure", "--shape", inches, "--json")
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errOut, "is it")
	assert.Contains(t, errOut, "in (")
	assert.Contains(t, errOut, "cm (")
	assert.NotEmpty(t, document(t, out)["problems"])
	code, out, errOut = run("measure", "--shape", inches, "--units", "in", "--json")
	require.Equal(t, ExitOK, code, errOut)
	assert.InDelta(t, number64(t, doc, "length_mm"), number64(t, document(t, out), "length_mm"), 0.05)
}

func TestMeasureRefuses(t *testing.T) {
	file := scanFileOf(t, "court-45", "x.stl", 1, false)
	junk := filepath.Join(t.TempDir(), "junk.stl")
	require.NoError(t, os.WriteFile(junk, []byte("solid nothing\nendsolid nothing\n"), 0o600))
	box := textSTL(t, "box.stl", block(0, 300, 0, 100, 0, 60, false)...)
	for name, args := range map[string][]string{
		"no file":     {},
		"a missing":   {"--shape", file + "x"},
		"junk":        {"--shape", junk},
		"a box":       {"--shape", box, "--units", "mm"},
		"no unit":     {"--shape", file, "--units", "ell"},
		"a side":      {"--shape", file, "--side", "both"},
		"too large":   {"--shape", file, "--units", "m"},
		"an argument": {"--shape", file, "more"},
	} {
		code, _, errOut := run(append([]string{"measure"}, args...)...)
		assert.Equal(t, ExitBadInput, code, name)
		assert.NotEmpty(t, errOut, name)
	}
}

// A scan as the shoe gives the fit that the shoe it was made from gives.
func TestFitInAScannedShoe(t *testing.T) {
	path := scanFileOf(t, "running-shoe", "shoe.ply", 1, false)
	code, out, errOut := run("fit", "--shoe", path, "--json")
	require.Equal(t, ExitOK, code, errOut)
	got := document(t, out)
	code, out, errOut = run("fit", "--shoe", "running-shoe", "--with", "insole_out=yes", "--json")
	require.Equal(t, ExitOK, code, errOut)
	want := document(t, out)
	assert.Equal(t, "as scanned", got["insole"])
	assert.Equal(t, "right", got["side"])
	assert.InDelta(t, number64(t, want, "ride_up_mm"), number64(t, got, "ride_up_mm"), 0.2)
	assert.InDelta(t, number64(t, want, "pitch_deg"), number64(t, got, "pitch_deg"), 0.2)

	code, _, errOut = run("fit", "--shoe", path, "--size", "EU 43", "--json")
	require.Equal(t, ExitOK, code, errOut)
	assert.Contains(t, errOut, "graded")
	for name, args := range map[string][]string{
		"another wall":  {"--shoe", path, "--with", "shoe.ball_width_mm=90"},
		"no scan":       {"--shoe", "running-shoe", "--lining-mm", "1"},
		"much lining":   {"--shoe", path, "--lining-mm", "99"},
		"a strange end": {"--shoe", path, "--with", "side=both"},
	} {
		code, _, errOut := run(append([]string{"fit"}, args...)...)
		assert.Equal(t, ExitBadInput, code, name)
		assert.NotEmpty(t, errOut, name)
	}
}
