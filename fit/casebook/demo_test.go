package casebook

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The invented clinic is what it says: each case really goes through the computation, and what it claims is found.
func TestTheInventedClinicIsWhatItSays(t *testing.T) {
	cases := DemoCases()
	require.GreaterOrEqual(t, len(cases), 12)
	for _, d := range cases {
		pairs, err := d.pairs(t.Context())
		require.NoError(t, err, d.Code)
		assert.NotEmpty(t, d.Claims, d.Code)
		for _, c := range d.Claims {
			p := pairs[c.Shoe]
			dev := p.now
			if c.Of == "ordered" {
				dev = p.ordered
			}
			r, err := p.bench.Check(t.Context(), dev, d.Foot.Measured())
			require.NoError(t, err, d.Code)
			assert.True(t, c.Holds(r), "%s, %s: %s", d.Code, c.Of, r.Verdict.Sentence)
		}
	}

	b := bookIn(t, t.TempDir())
	n, err := AddDemo(t.Context(), b)
	require.NoError(t, err)
	assert.Len(t, cases, n)
	n, err = AddDemo(t.Context(), b)
	require.NoError(t, err)
	assert.Zero(t, n, "a second time adds nothing")
	rep := requireSound(t, b)
	assert.Equal(t, len(cases), rep.Cases)
	for _, d := range cases {
		s, err := b.Get(t.Context(), d.Code)
		require.NoError(t, err)
		assert.Len(t, s.Case.Shoes, len(d.Shoes))
		if d.Outcome != nil {
			assert.Len(t, s.Case.Outcomes, 1)
		}
		_, err = s.Case.Stands()
		assert.NoError(t, err, d.Code)
	}
	two, err := b.Get(t.Context(), "DEMO-10-two-shoes")
	require.NoError(t, err)
	assert.Len(t, two.Case.Devices, 1, "one device for both")
	scan, err := b.Get(t.Context(), "DEMO-11-scan-of-a-last")
	require.NoError(t, err)
	assert.Len(t, scan.Case.Files, 1)
}
