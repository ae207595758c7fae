package footwear

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/internal/problem"
)

func TestParseSize(t *testing.T) {
	for text, want := range map[string]Size{
		"EU 42": {EU, 42, 0}, "eu42": {EU, 42, 0}, "EU-42": {EU, 42, 0}, " Eu  42 ": {EU, 42, 0}, "EUR 42": {EU, 42, 0},
		"EU 42,5": {EU, 42.5, 0}, "EU 42.5": {EU, 42.5, 0}, "42 eu": {EU, 42, 0}, "size EU 42": {EU, 42, 0}, "EU: 42": {EU, 42, 0},
		"EU 41.25": {EU, 41.25, 0}, "EU children 24": {EU, 24, 0},
		"UK 8": {UK, 8, 0}, "UK 8.5": {UK, 8.5, 0}, "UK 8 1/2": {UK, 8.5, 0}, "UK 8½": {UK, 8.5, 0}, "UK 8 ½": {UK, 8.5, 0},
		"uk 8-1/2": {UK, 8.5, 0}, "UK women 5": {UK, 5, 0}, "UK 0": {UK, 0, 0},
		"US men 9": {USMen, 9, 0}, "us-men 9": {USMen, 9, 0}, "US men's 9.5": {USMen, 9.5, 0}, "9 US men’s": {USMen, 9, 0},
		"men's US 9": {USMen, 9, 0}, "USM 9": {USMen, 9, 0}, "US M 9": {USMen, 9, 0},
		"US W 8": {USWomen, 8, 0}, "us women 8": {USWomen, 8, 0}, "US (women) 8": {USWomen, 8, 0}, "usw8": {USWomen, 8, 0},
		"US child 10": {USChild, 10, 0}, "us-child 10": {USChild, 10, 0}, "us kids 10": {USChild, 10, 0}, "US 10 C": {USChild, 10, 0},
		"UK child 10": {UKChild, 10, 0}, "uk-child 10 1/2": {UKChild, 10.5, 0}, "UKC 10": {UKChild, 10, 0},
		"MP 265": {Mondopoint, 265, 0}, "mp265": {Mondopoint, 265, 0}, "mondopoint 265/105": {Mondopoint, 265, 105},
		"Mondopoint 265 x 105": {Mondopoint, 265, 105}, "MP 265×105": {Mondopoint, 265, 105}, "MP 265 105": {Mondopoint, 265, 105},
		"UK 8, width +1": {UK, 8, 1}, "UK 8 width -2": {UK, 8, -2}, "EU 42 fitting 1.5": {EU, 42, 1.5},
		"MP 265 width 105": {Mondopoint, 265, 105},
	} {
		t.Run(text, func(t *testing.T) {
			got, err := ParseSize(text)
			require.NoError(t, err)
			assert.Equal(t, want, got)
			again, err := ParseSize(got.String())
			require.NoError(t, err, got.String())
			assert.Equal(t, got, again)
		})
	}
}

func TestParseSizeRefuses(t *testing.T) {
	const systems = "Mondopoint, EU, UK, US men, US women, UK child, US child"
	for text, says := range map[string]string{
		"": systems, "42": systems, "JP 26": systems, "shoe": systems, "EU UK 42": systems, "US men women 9": systems,
		"US 9": "US men, US women or US child", "EU": "a number", "EU 42 43": "one number", "UK 8/9": "one number",
		"EU -42": "without a sign", "EU 420": "EU 15.5 to 53", "EU NaN": "nan", "EU ∞": "can't read", "EU 42 width": "one number",
		"MP 42": "Mondopoint 90 to 340", "MP 265 1/2": "one number", "UK 8 1/2 1/2": "one number", "EU 42 width 1 width 2": "one number",
		"EU 1e2": "EU", "EU 42 width 20": "fittings", "EU 99999999999999999999999999999999": "EU 15.5 to 53",
		"MP child 150": systems, "width": systems, "½ EU": "a number", "EU 42\x00": "can't read",
		strings.Repeat("EU 42 ", 20): "at most 64",
	} {
		t.Run(text, func(t *testing.T) {
			_, err := ParseSize(text)
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			assert.Contains(t, strings.ToLower(p.Error()), strings.ToLower(says))
			assert.NotEmpty(t, p.Mend)
			assert.Less(t, len(p.Error()), 400)
		})
	}
}

// Whatever is typed: no panic, a problem or a size that passes its own check and reads back.
func FuzzParseSize(f *testing.F) {
	for _, seed := range []string{"EU 42", "UK 8 1/2", "US W 8", "mondopoint 265/105", "UK 8, width +1", "½", "EU 41.3333333", "us men 9½", "/-+×x"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseSize(text)
		if err != nil {
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			return
		}
		require.NoError(t, s.Check(SizeOptions{}))
		again, err := ParseSize(s.String())
		require.NoError(t, err, s.String())
		require.InDelta(t, s.Value, again.Value, 0.0005)
		require.InDelta(t, s.Width, again.Width, 0.0005)
	})
}
