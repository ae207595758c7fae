package footwear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every demo shoe makes a closed, oriented room with the insole in and out, and opening it at the topline takes
// nothing but the lid away.
func TestDemoRoomsAreClosed(t *testing.T) {
	for _, s := range Demo().All() {
		for _, insoleIn := range []bool{false, true} {
			r, err := NewRoom(s, insoleIn)
			require.NoError(t, err, s.ID)
			assert.NoError(t, r.Closed.Validate(), s.ID)
			assert.NoError(t, r.Closed.Closed(), s.ID)
			assert.Positive(t, r.Closed.Volume(), s.ID)
			assert.Less(t, len(r.Walls.F), len(r.Closed.F), s.ID)
			for i := range r.Walls.F {
				require.NotEqual(t, Open, Zone(r.Walls.Tag[i]), s.ID)
			}
		}
	}
}
