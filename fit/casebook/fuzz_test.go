package casebook

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/problem/problemtest"
)

// FuzzReadCase reads a case's JSON; what is read is told in words, compared, and gives back where the work stands.
func FuzzReadCase(f *testing.F) {
	c := Case{Format: caseFormat, Version: caseVersion, ID: strings.Repeat("ab", 16), Code: "A", Started: day}
	add := func() {
		doc, err := json.Marshal(c)
		require.NoError(f, err)
		f.Add(doc)
	}
	add()
	_, err := c.AddShoe(footwear.Demo().All()[0], false)
	require.NoError(f, err)
	d, err := c.AddDevice(device.Default(), "first", "")
	require.NoError(f, err)
	_, err = c.AddDevice(device.Default(), "second", d)
	require.NoError(f, err)
	c.AddNote(day, "a note")
	c.Feet = []Foot{{Side: "left", LengthMM: 260}}
	add()
	f.Add([]byte(`{"format":"lastroom-case","version":9}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := ReadCase(bytes.NewReader(data), "fuzz.json")
		if err != nil {
			for _, p := range problemtest.Of(t, err) {
				require.True(t, p.File != "" && p.Limit != "" && p.Mend != "", "%v", p)
			}
			return
		}
		require.Empty(t, c.Validate())
		require.Empty(t, Differences(&c, &c))
		c.Lines()
		c.LearnFrom()
		if s, err := c.Stands(); err == nil {
			require.Empty(t, s.Shoe.Validate())
			require.Empty(t, s.Now.Validate())
		} else {
			require.NotEmpty(t, err.Error())
		}
		doc, err := json.Marshal(c)
		require.NoError(t, err)
		again, err := ReadCase(bytes.NewReader(doc), "again.json")
		require.NoError(t, err)
		require.Empty(t, Differences(&c, &again))
		fold(string(data))
	})
}
