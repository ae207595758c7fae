package footwear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// noShape are the measures that a room's shape does not tell.
var noShape = map[MeasureID]bool{
	CounterHeight: true, InsoleHeel: true, InsoleForefoot: true, GiveCounter: true, GiveQuarter: true, GiveVamp: true,
}

func TestReadBack(t *testing.T) {
	for _, s := range Demo().All() {
		r, err := NewRoom(s, false)
		require.NoError(t, err, s.ID)
		got, err := MeasureRoom(r.Closed)
		require.NoError(t, err, s.ID)
		for id := range NumMeasures {
			if noShape[id] {
				continue
			}
			v, ok := got[id]
			if !ok {
				t.Errorf("%s %v not read", s.ID, id)
			}
			if math.Abs(v-s.V(id)) > 0.2 {
				t.Errorf("%s %v: sheet %.3f mesh %.3f", s.ID, id, s.V(id), v)
			}
		}
	}
}
