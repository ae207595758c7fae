package footwear

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSearchFinds(t *testing.T) {
	for _, tc := range []struct{ name, text, first string }{
		{"name", "Knit trainer, soft", "knit-trainer"},
		{"identifier", "court-45", "court-45"},
		{"case", "KNIT", "knit-trainer"},
		{"word order", "trainer leather", "leather-trainer"},
		{"part of a word", "hik", "hiking-boot"},
		{"letters swapped", "hikign boot", "hiking-boot"},
		{"letter missing", "traner knit", "knit-trainer"},
		{"letter too many", "balllet", "ballet-flat"},
		{"two errors in a long word", "extradeepth", "extra-depth"},
		{"accents", "ballét flât", "ballet-flat"},
		{"another name", "sneaker knitted", "knit-trainer"},
		{"plural", "clogs", "work-clog"},
		{"football boots", "football boots soft", "studded-soft"},
		{"filler words", "shoe for cycling", "cycling-shoe"},
		{"closure", "boot zip", "ankle-boot"},
		{"two words for one", "steel toe cap", "safety-boot"},
		{"children", "kids strap", "school-shoe"},
		{"possessive", "nurse's clog", "work-clog"},
		{"one word of two unknown", "rocker zebra", "rocker-shoe"},
		{"mistyped start of a word", "todler", "toddler-shoe"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			got := Demo().Search(tc.text)
			require.NotEmpty(t, got)
			assert.Equal(t, tc.first, got[0].ID)
		})
	}
}

func TestSearchEmptyListsAllAndNonsenseNone(t *testing.T) {
	c := Demo()
	for _, text := range []string{"", "   ", "shoe", "the shoes"} {
		assert.Equal(t, c.All(), c.Search(text), "%q", text)
	}
	for _, text := range []string{"qqqqzzzz", "???", "12345678"} {
		assert.Empty(t, c.Search(text), "%q", text)
	}
}

func TestSearchNarrows(t *testing.T) {
	ids := func(text string) (out []string) {
		for _, s := range Demo().Search(text) {
			out = append(out, s.ID)
		}
		return out
	}
	assert.ElementsMatch(t, []string{"studded-soft", "studded-firm"}, ids("studded"))
	assert.ElementsMatch(t, []string{"studded-firm"}, ids("studded firm"))
	assert.Equal(t, ids("boot"), ids("boot"), "the same text gives the same order")
}

func TestSearchGivesCopies(t *testing.T) {
	got := Demo().Search("extra depth")
	require.NotEmpty(t, got)
	got[0].Reasons["depth_toe_mm"] = "changed"
	got[0].M[LastLength].Value = 1
	again, err := Demo().Find(got[0].ID)
	require.NoError(t, err)
	assert.NotEqual(t, "changed", again.Reasons["depth_toe_mm"])
	assert.Greater(t, again.V(LastLength), 100.0)
}

// Typing errors against what they mean: one edit is one, and the count is a distance.
func TestTypingErrors(t *testing.T) {
	for _, tc := range []struct {
		a, b string
		want int
	}{
		{"", "", 0},
		{"boot", "boot", 0},
		{"boot", "", 4},
		{"boot", "boat", 1},
		{"boot", "bot", 1},
		{"boot", "boots", 1},
		{"boot", "obot", 1},
		{"hiking", "hikign", 1},
		{"kitten", "sitting", 3},
		{"ca", "abc", 3},
	} {
		assert.Equal(t, tc.want, typingErrors([]rune(tc.a), []rune(tc.b)), "%s %s", tc.a, tc.b)
		assert.Equal(t, tc.want, typingErrors([]rune(tc.b), []rune(tc.a)), "%s %s", tc.b, tc.a)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	letters := []rune("abcd")
	for range 500 {
		word := make([]rune, 3+rng.IntN(6))
		for i := range word {
			word[i] = letters[rng.IntN(len(letters))]
		}
		i := rng.IntN(len(word))
		left := append(append([]rune{}, word[:i]...), word[i+1:]...)
		assert.LessOrEqual(t, typingErrors(word, left), 1)
		assert.Equal(t, 0, typingErrors(word, word))
	}
}
