package help

import (
	"bytes"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEveryFieldIsExplained(t *testing.T) {
	topics := Topics()
	require.Greater(t, len(topics), 75)
	seen := map[string]bool{}
	for _, topic := range topics {
		assert.False(t, seen[topic.Key], topic.Key)
		seen[topic.Key] = true
		assert.NotEmpty(t, topic.What, "%s: what it is", topic.Key)
		assert.NotEmpty(t, topic.How, "%s: how it is measured", topic.Key)
		assert.NotEmpty(t, topic.Why, "%s: why it matters", topic.Key)
		found, ok := Find(topic.Key)
		require.True(t, ok)
		assert.Equal(t, topic, found)
	}
	for key := range read[map[string]extra]("fields.json") {
		assert.True(t, seen[key], "%s is no field", key)
	}
	_, ok := Find("no such field")
	assert.False(t, ok)
}

func TestTheGlossaryIsSearched(t *testing.T) {
	all := Glossary("")
	require.Greater(t, len(all), 30)
	for i, term := range all {
		assert.NotEmpty(t, term.Trade)
		assert.NotEmpty(t, term.Is)
		if i > 0 {
			assert.Less(t, all[i-1].Word, term.Word)
		}
	}
	found := Glossary("rearfoot HEEL")
	require.NotEmpty(t, found)
	assert.Equal(t, "heel wedge", found[0].Word)
	assert.Empty(t, Glossary("nothing such"))
}

func TestTheWalkIsShort(t *testing.T) {
	steps := Walk()
	assert.LessOrEqual(t, len(steps), 6)
	assert.GreaterOrEqual(t, len(steps), 4)
	assert.Contains(t, steps[len(steps)-1].Text, "not a trial")
	for _, s := range steps {
		assert.NotEmpty(t, s.Title)
		assert.Less(t, len(s.Text), 420)
	}
}

// The documents have the same texts as the window. UPDATE_GOLDEN=1 writes them anew.
func TestTheDocumentsHaveTheSameTexts(t *testing.T) {
	for name, write := range map[string]func(io.Writer) error{"../../docs/fields.md": WriteFields, "../../docs/glossary.md": WriteGlossary} {
		var b bytes.Buffer
		require.NoError(t, write(&b))
		if os.Getenv("UPDATE_GOLDEN") != "" {
			require.NoError(t, os.WriteFile(name, b.Bytes(), 0o644))
		}
		have, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.Equal(t, b.String(), string(have), "%s: make it anew with UPDATE_GOLDEN=1", name)
	}
}

// A text that tells lengths gives each of them its unit: else it would mix two when they are told in inches. What may stand bare are
// angles, shares, ratios, years, pages and sizes.
func TestEachLengthHasItsUnit(t *testing.T) {
	length := `[-+]?\d+(\.\d+)?`
	allowed := regexp.MustCompile(length + `( (to|and|or|by|against|±) ` + length + `)* ?mm[²³]?` + // with its unit
		`|\d+(\.\d+)?(( to |–)\d+(\.\d+)?)? ?[°%]` + `|(19|20)\d\d` + `|\b\d+:\d+` + `|(US|EU|UK) \d+` +
		`|\b[01]\.\d\d+( to [01]\.\d\d+)?` + `|\b0 \(automatic\)` + `|\b[a-z]+_\d+_mm|^0:| 0: `)
	seen := 0
	for _, topic := range Topics() {
		for _, text := range []string{topic.What, topic.How, topic.Why, topic.Limits} {
			if !strings.Contains(text, "mm") {
				continue
			}
			seen++
			assert.NotRegexp(t, `\d`, allowed.ReplaceAllString(text, "#"), "%s: %s", topic.Key, text)
		}
	}
	assert.Greater(t, seen, 50)
}
