package shelf

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// FuzzReadStanding reads how a scan stands, the draft of a shoe, and makes identifiers of any name.
func FuzzReadStanding(f *testing.F) {
	var st Standing
	st.SetPose(mesh.PoseAbout(r3.Vec{X: 3}, r3.Vec{Z: 1}, r3.Vec{}))
	var b bytes.Buffer
	require.NoError(f, WriteStanding(&b, st))
	f.Add(b.Bytes())
	f.Add([]byte(`{"unit_mm":25.4,"side":"left","turn_wxyz":[0,0,0,0],"shift_mm":[1e6,-1e6,0],"insole_mm":-1e300}`))
	draft := draftForm{Format: draftFormat, Version: draftVersion, Stamp: 7}
	draft.Shoe.Sheet = footwear.Demo().All()[0]
	draft.Shoe.M = map[string]footwear.Measure{"last_length_mm": {Value: 280, PlusMinus: 2, Instrument: footwear.Calliper}}
	data, err := json.Marshal(draft)
	require.NoError(f, err)
	f.Add(data)
	f.Add([]byte("Größe 42 – breit"))
	f.Fuzz(func(t *testing.T, data []byte) {
		st, err := ReadStanding(bytes.NewReader(data), "fuzz")
		if err != nil {
			var p problem.Problem
			var ps problem.Problems
			if require.True(t, errors.As(err, &p) || errors.As(err, &ps), "%T", err); p.Limit == "" {
				p = ps[0]
			}
			require.True(t, p.File == "fuzz" && p.Limit != "" && p.Mend != "", "%v", p)
		} else {
			var b bytes.Buffer
			require.NoError(t, WriteStanding(&b, st))
			again, err := ReadStanding(&b, "again")
			require.NoError(t, err)
			require.Equal(t, st, again)
			if p, ok := st.PoseOf(); ok {
				at := p.Apply(r3.Vec{X: 100})
				require.InDelta(t, 100, r3.Norm(r3.Sub(at, p.T)), 1e-6)
			}
		}
		if d, err := readDraft(data); err == nil {
			for id := range footwear.NumMeasures {
				if d.Sheet.Taken(id) {
					require.True(t, d.Sheet.V(id) >= id.Info().Lo && d.Sheet.V(id) <= id.Info().Hi, "%s: %v", id, d.Sheet.V(id))
					require.False(t, math.IsNaN(d.Sheet.M[id].PlusMinus))
				}
			}
			if _, err := NewView([]Shoe{{Sheet: d.Sheet}}); err != nil {
				require.NotEmpty(t, err.Error())
			}
		} else {
			require.NotEmpty(t, err.Error())
		}
		require.Regexp(t, `^[a-z0-9]+(-[a-z0-9]+)*$`, IDFor(string(data)))
		require.LessOrEqual(t, len(named(string(data), ", EU 42")), max(nameLetters, len(", EU 42")))
	})
}
