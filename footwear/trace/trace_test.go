package trace

import (
	"bytes"
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// withinMM is how near a known outline has to come back.
const withinMM = 0.5

// read traces a picture.
func read(t testing.TB, file []byte, o Options) Tracing {
	t.Helper()
	tr, err := ReadPhoto(context.Background(), bytes.NewReader(file), "photo", o)
	require.NoError(t, err)
	return tr
}

// comesBack holds a tracing to the outline that was photographed: within the limit, and within its own ±.
func comesBack(t testing.TB, o made, tr Tracing) {
	t.Helper()
	for _, k := range []struct {
		name           string
		want, got, own float64
	}{
		{"length", o.length, tr.Length.Value, tr.Length.PlusMinus},
		{"seat", o.seat, tr.SeatWidth.Value, tr.SeatWidth.PlusMinus},
		{"waist", o.waist, tr.WaistWidth.Value, tr.WaistWidth.PlusMinus},
		{"ball", o.ball, tr.BallWidth.Value, tr.BallWidth.PlusMinus},
	} {
		assert.InDelta(t, k.want, k.got, withinMM, k.name)
		if k.want > 0 {
			assert.LessOrEqual(t, k.got-k.want, k.own, k.name)
			assert.LessOrEqual(t, k.want-k.got, k.own, k.name)
			assert.Less(t, k.own, 0.8, k.name)
		}
	}
}

func TestKnownOutlineFromStraightAbove(t *testing.T) {
	o := soleOutline(262, 66, 58, 94, 2.2, 5)
	tr := read(t, asPNG(t, plain(o).shot(t)), Options{})
	comesBack(t, o, tr)
	assert.Equal(t, A4, tr.Sheet)
	assert.Equal(t, Right, tr.Side)
}
