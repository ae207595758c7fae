package console

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/internal/mesh"
)

// deviceScanFile writes a built device, turned, in the unit given, and returns the path.
func deviceScanFile(t *testing.T, name string, form mesh.Format, unitMM float64) string {
	t.Helper()
	d, err := device.Build(device.Default())
	require.NoError(t, err)
	m := d.Rigid.Transformed(mesh.PoseAbout(r3.Vec{}, r3.Vec{X: 2, Y: 0.4, Z: -1}, r3.Vec{X: 80})).Scaled(1 / unitMM)
	m.Tag = nil
	path := filepath.Join(t.TempDir(), name)
	f, err := os.Create(path)
	require.NoError(t, err)
	require.NoError(t, mesh.Write(f, m, name, form))
	require.NoError(t, f.Close())
	return path
}

func TestAScanIsADevice(t *testing.T) {
	path := deviceScanFile(t, "device.stl", mesh.STL, 1)
	code, built, _ := run("fit", "--shoe", "lace-dress", "--with", "foot_length_mm=266", "--with", "cover_extent=none", "--json")
	require.Equal(t, ExitOK, code)
	code, scanned, said := run("fit", "--shoe", "lace-dress", "--device", path, "--with", "foot_length_mm=266", "--json")
	require.Equal(t, ExitOK, code, said)
	type report struct {
		Side     string  `json:"side"`
		RideUpMM float64 `json:"ride_up_mm"`
	}
	var a, b report
	require.NoError(t, json.Unmarshal([]byte(built), &a))
	require.NoError(t, json.Unmarshal([]byte(scanned), &b))
	assert.Equal(t, "right", b.Side)
	assert.InDelta(t, a.RideUpMM, b.RideUpMM, 0.3)
}

func TestAScanTellsItsUnitOrIsTold(t *testing.T) {
	for _, c := range []struct {
		name   string
		form   mesh.Format
		unitMM float64
		with   []string
	}{
		{"centimetres without a word.obj", mesh.OBJ, 10, nil},
		{"inches that claim to be mm.ply", mesh.PLY, 25.4, []string{"--with", "scan_unit=in"}},
	} {
		path := deviceScanFile(t, c.name, c.form, c.unitMM)
		if c.form == mesh.OBJ {
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(path, regexp.MustCompile(`(?m)^#.*$`).ReplaceAll(text, nil), 0o600))
		}
		code, _, said := run(append([]string{"fit", "--shoe", "lace-dress", "--device", path, "--json"}, c.with...)...)
		assert.Equal(t, ExitOK, code, said)
	}
}

func TestAPatchRenamesAPlaceOfAScan(t *testing.T) {
	path := deviceScanFile(t, "device.stl", mesh.STL, 1)
	args := []string{"fit", "--shoe", "lace-dress", "--device", path, "--json", "--with"}
	code, _, said := run(append(args, "patch=wedge-lateral-side@ball:40,-30,8,6")...)
	assert.Equal(t, ExitOK, code, said)
	for _, bad := range []string{
		"patch=heel@ball:1,2,3,4", "patch=arch@ball:900,0,0,4", "scan_unit=furlong", "wedge_length_mm=60", "bevel_medial_deg=10",
	} {
		code, _, said := run(append(args, bad)...)
		assert.Equal(t, ExitBadInput, code, bad)
		assert.Contains(t, said, ";", "how to mend it")
	}
	code, _, _ = run("fit", "--shoe", "lace-dress", "--with", "patch=arch@ball:0,0,0,4")
	assert.Equal(t, ExitBadInput, code, "only a scan has patches")
	code, _, said = run("fit", "--shoe", "lace-dress", "--device", "nowhere.obj")
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, said, "nowhere.obj")
}
