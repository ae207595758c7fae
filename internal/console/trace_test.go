package console

import (
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// photoOfEllipse draws a dark ellipse, 240 × 88 mm, on an A4 sheet on a dark ground, straight from above, 4 px/mm.
func photoOfEllipse(t *testing.T) string {
	t.Helper()
	const scale, wide, high = 4, 1300, 950
	m := image.NewGray(image.Rect(0, 0, wide, high))
	for i := range m.Pix {
		x, y := (float64(i%wide)+0.5-56)/scale, (float64(i/wide)+0.5-55)/scale
		m.Pix[i] = 40
		if x > 0 && x < 297 && y > 0 && y < 210 {
			// About a pixel of blur at the ellipse's edge.
			u, v := (x-148.5)/120, (y-105)/44
			off := (math.Hypot(u, v) - 1) / math.Hypot(u/120, v/44) * math.Hypot(u, v) * scale
			m.Pix[i] = uint8(60 + 175*min(max(off+0.5, 0), 1))
		}
	}
	path := filepath.Join(t.TempDir(), "insole.png")
	f, err := os.Create(path)
	require.NoError(t, err)
	require.NoError(t, png.Encode(f, m))
	require.NoError(t, f.Close())
	return path
}

func TestTraceReadsAnOutline(t *testing.T) {
	photo := photoOfEllipse(t)
	code, out, errOut := run("trace", "--photo", photo, "--sheet", "a4", "--side", "right", "--json")
	require.Equal(t, ExitOK, code, errOut)
	d := document(t, out)
	assert.InDelta(t, 240, d["length_mm"], 0.5)
	assert.InDelta(t, 88, d["ball_width_mm"], 0.5)
	assert.InDelta(t, 88*0.8, d["seat_width_mm"], 0.5) // at a fifth of the length: √(1 − 0.6²)
	assert.Nil(t, d["waist_width_mm"])
	assert.InDelta(t, 0, d["swing_mm"], 0.3)
	assert.Equal(t, "a4", d["sheet"])
	assert.Equal(t, "right", d["side"])
	assert.Equal(t, "photo", d["instrument"])
	pm := d["plus_minus_mm"].(map[string]any)
	assert.InDelta(t, 0.4, pm["length_mm"], 0.3)
	assert.NotContains(t, pm, "waist_width_mm")
	assert.Len(t, d["corners_px"], 4)
	assert.Greater(t, len(d["polygon_mm"].([]any)), 500)

	code, out, _ = run("trace", "--photo", photo, "--corners", "56,55 1244,55 1244,895 56,895")
	assert.Equal(t, ExitOK, code)
	assert.Contains(t, out, "ball width")
	assert.Contains(t, out, "none")
}

func TestTraceRefusesWithAReason(t *testing.T) {
	text := filepath.Join(t.TempDir(), "photo.png")
	require.NoError(t, os.WriteFile(text, []byte("no picture"), 0o600))
	for name, c := range map[string]struct {
		args []string
		says string
	}{
		"no photo":     {nil, "--photo"},
		"no picture":   {[]string{"--photo", text}, "neither PNG nor JPEG"},
		"sheet":        {[]string{"--photo", text, "--sheet", "a3"}, "a4 or letter"},
		"side":         {[]string{"--photo", text, "--side", "both"}, "right or left"},
		"corners":      {[]string{"--photo", text, "--corners", "1,2 3"}, "four pairs"},
		"height":       {[]string{"--photo", text, "--edge-height-mm", "99"}, "0 to 30 mm"},
		"missing file": {[]string{"--photo", filepath.Join(t.TempDir(), "none.jpg")}, "none.jpg"},
	} {
		code, _, errOut := run(append([]string{"trace"}, c.args...)...)
		assert.Equal(t, ExitBadInput, code, name)
		assert.Contains(t, errOut, c.says, name)
	}
}
