package casebook

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func codes(found []Entry) (out []string) {
	for _, e := range found {
		out = append(out, e.Code)
	}
	return out
}

func TestSearchFindsByEveryWordOfEveryPart(t *testing.T) {
	dir := t.TempDir()
	b := bookIn(t, dir)
	full(t, b, "F-1")
	plain := started(t, b, "G-2")
	noted(t, b, plain.Case.ID, "Ballen drückt; mentions F-1")
	for range 2 { // as written, and as read from the file
		for query, want := range map[string][]string{
			"":                       {"G-2", "F-1"},
			"f-1":                    {"F-1", "G-2"}, // the code goes before a later change
			"BALLEN druckt":          {"G-2"},
			"grosse":                 {"F-1"}, // ß is written so too
			"große":                  {"F-1"},
			"größe":                  {"F-1"},
			"grö":                    {"F-1"},
			"lace eu 42":             {"F-1"},
			"heel.jpg":               {"F-1"},
			"went-in medial_nowhere": nil,
			"walking right":          {"F-1"},
			"block pp-homo":          {"F-1"},
		} {
			found, of := b.Search(query, 0)
			assert.Equal(t, want, codes(found), query)
			assert.Equal(t, len(want), of, query)
		}
		require.NoError(t, b.Close())
		b = bookIn(t, dir)
	}
	found, of := b.Search("", 1)
	assert.Equal(t, []string{"G-2"}, codes(found))
	assert.Equal(t, 2, of)
	assert.Empty(t, found[0].Summary)
	_, err := b.Undo(t.Context(), plain.Case.ID)
	require.NoError(t, err)
	_, of = b.Search("ballen", 0)
	assert.Zero(t, of, "what was undone is not found")
}

// The words of 10,000 cases of the usual length, 600 letters.
func manyCases() *Book {
	b := &Book{}
	for i := range 10_000 {
		words := fmt.Sprintf("case-%05d %s", i, strings.Repeat("everyday block polypropylene right lace-up dress shoe ", 11))
		b.index = append(b.index, Entry{ID: fmt.Sprint(i), Code: fmt.Sprintf("case-%05d", i), folded: fmt.Sprintf("case-%05d", i), words: words})
	}
	return b
}

func TestSearchAmongTenThousand(t *testing.T) {
	b := manyCases()
	found, of := b.Search("dress 0123", 20)
	assert.Equal(t, 11, of) // 00123, 01230 to 01239
	assert.Len(t, found, 11)
	found, of = b.Search("shoe", 20)
	assert.Equal(t, 10_000, of)
	assert.Len(t, found, 20)
}

func BenchmarkSearchTenThousand(b *testing.B) {
	book := manyCases()
	for b.Loop() {
		book.Search("dress shoe nowhere", 50)
	}
}
