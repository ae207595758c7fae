package trace

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/png"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAPictureForAScreen(t *testing.T) {
	m := image.NewRGBA(image.Rect(0, 0, 300, 200))
	for y := range 200 {
		for x := range 300 {
			m.SetRGBA(x, y, color.RGBA{uint8(x / 2), uint8(y), 7, 0xFF})
		}
	}
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, m))
	p, err := ReadPicture(context.Background(), bytes.NewReader(b.Bytes()), "a.png", 100)
	require.NoError(t, err)
	assert.Equal(t, 3, p.Reduced)
	assert.Equal(t, image.Rect(0, 0, 100, 66), p.Image.Bounds())
	assert.Equal(t, [2]int{300, 200}, [2]int{p.Wide, p.High})
	at := p.Image.RGBAAt(50, 20)
	assert.InDelta(t, 75, at.R, 1)
	assert.InDelta(t, 61, at.G, 1)
	_, err = ReadPicture(context.Background(), bytes.NewReader(b.Bytes()[:b.Len()/2]), "a.png", 100)
	require.ErrorContains(t, err, "a.png")
}

// Each orientation brings every pixel of the stored picture to one place of the upright one; turned there is turned back.
func TestStoredAtTurnsThePictureWhole(t *testing.T) {
	const w, h = 5, 3
	for o := 1; o <= 8; o++ {
		uw, uh := w, h
		if o >= 5 {
			uw, uh = h, w
		}
		seen := map[[2]int]bool{}
		for y := range uh {
			for x := range uw {
				sx, sy := storedAt(x, y, w, h, o)
				require.True(t, sx >= 0 && sx < w && sy >= 0 && sy < h, "orientation %d", o)
				seen[[2]int{sx, sy}] = true
			}
		}
		assert.Len(t, seen, w*h, "orientation %d", o)
	}
	// 6: the stored picture is turned by a quarter to the right; its lower left corner comes to the upper left.
	x, y := storedAt(0, 0, w, h, 6)
	assert.Equal(t, [2]int{0, h - 1}, [2]int{x, y})
}
