package mesh

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSTLRoundTrip(t *testing.T) {
	m := sphere(25, 24)
	var b bytes.Buffer
	require.NoError(t, WriteSTL(&b, m, "solid ball"))
	back, err := ReadSTL(&b, "ball.stl")
	require.NoError(t, err)
	require.NoError(t, back.Closed())
	assert.Len(t, back.V, len(m.V))
	assert.Len(t, back.F, len(m.F))
	assert.InDelta(t, m.Volume(), back.Volume(), 1e-6*m.Volume())
}
