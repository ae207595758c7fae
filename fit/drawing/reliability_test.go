package drawing

import (
	"bytes"
	"image/png"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/fit"
)

func TestReliabilityIsDrawnWithItsCounts(t *testing.T) {
	bins := fit.Reliability([]fit.Outcome{{Odds: 0.8, Happened: fit.WentIn}, {Odds: 0.2, Happened: fit.SentBack}}, 5)
	var one, none bytes.Buffer
	require.NoError(t, ReliabilityPNG(&one, bins, false))
	require.NoError(t, ReliabilityPNG(&none, fit.Reliability(nil, 5), false))
	assert.NotEqual(t, one.Bytes(), none.Bytes())
	img, err := png.Decode(&one)
	require.NoError(t, err)
	assert.Equal(t, 640, img.Bounds().Dx())
	_, err = RenderReliability(bins, Look{Dark: true}, 1, 1, 1)
	assert.Error(t, err)
}
