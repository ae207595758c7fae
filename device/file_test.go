package device

import (
	"bytes"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFileKeepsEveryOption(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for _, b := range []string{Block, Flat, Open, ForeBar} {
		for range 5 {
			o := randomOptions(rng, b)
			var w bytes.Buffer
			require.NoError(t, WriteOptions(&w, o))
			back, err := ReadOptions(&w, "device.json")
			require.NoError(t, err)
			assert.Equal(t, o, back)
		}
	}
}

func TestFileLeavesOutWhatIsDefault(t *testing.T) {
	o, err := ReadOptions(strings.NewReader(`{"format":"lastroom-device","version":1,"name":"n","for":"f","cup_depth_mm":12}`), "x")
	require.NoError(t, err)
	want := Default()
	want.CupDepthMM = 12
	assert.Equal(t, want, o)
}

func TestWriteRefusesWhatCannotBeRead(t *testing.T) {
	assert.Error(t, WriteOptions(&bytes.Buffer{}, Options{}))
}

func TestBadFilesSayWhere(t *testing.T) {
	const head = `{"format":"lastroom-device","version":1`
	for _, c := range []struct{ name, text, says string }{
		{"empty", ``, "bad.json: not a JSON object"},
		{"not an object", `[1]`, "not a JSON object"},
		{"cut off", head + `,"cup_depth_mm":`, "bad.json"},
		{"no format", `{"version":1}`, `format = "": "lastroom-device"`},
		{"another format", `{"format":"lastroom-shoe","version":1}`, `"lastroom-shoe"`},
		{"later version", `{"format":"lastroom-device","version":2}`, "version = 2: 1"},
		{"unknown option", head + `,"cup_deph_mm":12}`, "did you mean cup_depth_mm?"},
		{"twice", head + `,"cup_depth_mm":12,"cup_depth_mm":13}`, "cup_depth_mm: stands twice"},
		{"word for a number", head + `,"cup_depth_mm":"12"}`, "cup_depth_mm = \"12\""},
		{"number for a word", head + `,"wedge_build":3}`, "wedge_build = 3"},
		{"null", head + `,"cup_depth_mm":null}`, "5 to 35 mm"},
		{"huge number", head + `,"cup_depth_mm":1e999}`, "cup_depth_mm"},
		{"outside", head + `,"foot_length_mm":2660}`, "bad.json: foot_length_mm = 2660 mm: 90 to 340 mm"},
		{"broken rule", head + `,"wedge_build":"flat","wedge_length_mm":60}`, "a flat build has no base length"},
		{"two objects", head + `} {}`, "after the end"},
		{"nested", head + `,"cup_depth_mm":{"a":[1,2]}}`, "cup_depth_mm"},
		{"long name", head + `,"name":"` + strings.Repeat("n", 5000) + `"}`, "at most 4096 bytes"},
		{"too large", strings.Repeat(" ", 1<<20+1), "at most 1 MiB"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadOptions(strings.NewReader(c.text), "bad.json")
			require.Error(t, err)
			assert.Contains(t, err.Error(), "bad.json")
			assert.Contains(t, err.Error(), c.says)
		})
	}
}

func FuzzReadOptions(f *testing.F) {
	f.Add([]byte(`{"format":"lastroom-device","version":1}`))
	f.Add([]byte(`{"format":"lastroom-device","version":1,"wedge_build":"open","cup_depth_mm":9.5,"name":"x"}`))
	f.Add([]byte(`{"format":"lastroom-device","version":1,"wedge_build":"fore-bar","tilt_deg":-3,"wedge_bar_mm":12}`))
	f.Add([]byte(`{"format":"lastroom-device","version":1e0,"foot_length_mm":9e1,"heel_rise_mm":90}`))
	f.Add([]byte(`{"a":{"b":[[[`))
	f.Fuzz(func(t *testing.T, data []byte) {
		o, err := ReadOptions(bytes.NewReader(data), "f")
		if err != nil {
			return
		}
		d, err := Build(o)
		if err != nil {
			t.Fatalf("read without an error but not to be built: %v", err)
		}
		if err := d.Rigid.Validate(); err != nil {
			t.Fatal(err)
		}
		if err := d.Rigid.Closed(); err != nil {
			t.Fatalf("%v for %+v", err, o)
		}
		if v := d.Rigid.Volume(); !(v > 0) {
			t.Fatalf("volume %g", v)
		}
	})
}
