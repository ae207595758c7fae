package footwear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDemoShoes(t *testing.T) {
	for _, s := range Demo().All() {
		t.Run(s.ID, func(t *testing.T) {
			assert.Empty(t, s.Validate())
		})
	}
}

func TestParseSize(t *testing.T) {
	for text, want := range map[string]Size{
		"EU 42": {EU, 42, 0}, "eu42": {EU, 42, 0}, "EU-42": {EU, 42, 0}, "EU 42,5": {EU, 42.5, 0}, "42 eu": {EU, 42, 0},
		"UK 8 1/2": {UK, 8.5, 0}, "UK 8½": {UK, 8.5, 0}, "US men 9": {USMen, 9, 0}, "US W 8": {USWomen, 8, 0},
		"US men's 9.5": {USMen, 9.5, 0}, "9 US men’s": {USMen, 9, 0}, "MP 265": {Mondopoint, 265, 0},
		"mondopoint 265/105": {Mondopoint, 265, 105}, "Mondopoint 265 x 105": {Mondopoint, 265, 105},
		"UK child 10": {UKChild, 10, 0}, "us-child 10": {USChild, 10, 0}, "UK 8, width +1": {UK, 8, 1}, "UK 8 width -2": {UK, 8, -2},
		"us-men 9": {USMen, 9, 0}, "uk 8-1/2": {UK, 8.5, 0},
	} {
		got, err := ParseSize(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
		again, err := ParseSize(got.String())
		require.NoError(t, err, got.String())
		assert.Equal(t, got, again)
	}
}
