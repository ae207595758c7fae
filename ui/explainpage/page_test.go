package explainpage

import (
	"context"
	"regexp"
	"slices"
	"sort"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/internal/lengths"
)

var hole = regexp.MustCompile(`\{[a-z]+\}`)

// No language lacks a text, has one too many, or other places for numbers than English.
func TestNoTextIsMissingInAnyLanguage(t *testing.T) {
	english := TextsOf("en")
	require.Greater(t, len(english.by), 100)
	for _, code := range Codes {
		texts := TextsOf(code)
		assert.Equal(t, code, texts.Code)
		for key, want := range english.by {
			got := texts.by[key]
			assert.NotEmpty(t, strings.TrimSpace(got), "%s: %s", code, key)
			a, b := hole.FindAllString(want, -1), hole.FindAllString(got, -1)
			sort.Strings(a)
			sort.Strings(b)
			assert.Equal(t, a, b, "%s: %s", code, key)
			if code != "en" && len(want) > 25 {
				assert.NotEqual(t, want, got, "%s: %s is not translated", code, key)
			}
		}
		assert.Len(t, texts.by, len(english.by), code)
	}
	assert.Equal(t, "de", TextsOf("de-CH").Code)
	assert.Equal(t, "fr", TextsOf("fr_FR.UTF-8").Code)
	assert.Equal(t, "en", TextsOf("nl").Code)
	assert.Panics(t, func() { english.Say("no such text") })
}

// Lengths are told to half a millimetre, or to a sixteenth of an inch.
func TestLengthsArePlain(t *testing.T) {
	for mm, want := range map[float64]string{0.1: "1/16 inch", 1.6: "1/16 inch", 3.2: "1/8 inch", -4.8: "3/16 inch", 25.4: "1 inch", 30.2: "1 3/16 inches", 50.8: "2 inches"} {
		assert.Contains(t, TextsOf("en").In(lengths.Inch).length("touch.blocked", mm), "about "+want+".")
	}
	assert.Contains(t, TextsOf("de").In(lengths.Inch).length("touch.blocked", 3), "1/8 Zoll zu groß")
	assert.Contains(t, TextsOf("de").length("touch.blocked", 2.4), "2,5 mm zu groß")
	assert.Contains(t, TextsOf("en").length("touch.blocked", 0.1), "0.5 mm.")
}

// syllables counts groups of vowels, a silent e at the end left out: the usual estimate.
func syllables(word string) int {
	n, in := 0, false
	for _, r := range word {
		v := strings.ContainsRune("aeiouy", r)
		if v && !in {
			n++
		}
		in = v
	}
	if strings.HasSuffix(word, "e") && n > 1 && !strings.HasSuffix(word, "le") {
		n--
	}
	return max(n, 1)
}

// The English texts are for a reading age of about twelve: the Flesch-Kincaid grade, 0.39·words/sentences + 11.8·syllables/words − 15.59
// (Kincaid et al. 1975, Research Branch Report 8-75, from memory), is at most 6, the school year of that age.
func TestTheEnglishTextsReadAtTheAgeOfTwelve(t *testing.T) {
	words, sentences, syl := 0, 0, 0
	for key, text := range TextsOf("en").by {
		if strings.HasPrefix(key, "button.") || strings.HasPrefix(key, "label.") || strings.HasPrefix(key, "place.") || strings.HasPrefix(key, "word.") || strings.HasPrefix(key, "head.") {
			continue
		}
		sentences += max(1, strings.Count(text, ".")+strings.Count(text, "?")+strings.Count(text, ":"))
		for _, w := range strings.FieldsFunc(strings.ToLower(hole.ReplaceAllString(text, "three")), func(r rune) bool { return !unicode.IsLetter(r) && r != '\'' }) {
			words++
			syl += syllables(w)
		}
	}
	grade := 0.39*float64(words)/float64(sentences) + 11.8*float64(syl)/float64(words) - 15.59
	t.Logf("%d words, %d sentences: grade %.1f", words, sentences, grade)
	assert.Greater(t, words, 600)
	assert.Less(t, grade, 6.0)
}

// No degrees, no Latin, none of the bench's words.
func TestNoWordOfTheBenchIsToldToThePatient(t *testing.T) {
	banned := []string{
		"°", "degree", "medial", "lateral", "calcane", "pronat", "supinat", "invert", "evert", "bevel", "flange", "skive", "posting", "orthosis", "orthotic", "plantar",
		"frontal", "sagittal", "bisection", "feather line", "counter", "shank", "vamp", "polypropylene", "shore", "subtalar", "rearfoot",
	}
	for key, text := range TextsOf("en").by {
		for _, b := range banned {
			assert.NotContains(t, strings.ToLower(text), b, key)
		}
	}
	for _, code := range Codes {
		for key, text := range TextsOf(code).by {
			assert.NotContains(t, text, "°", "%s: %s", code, key)
			assert.NotContains(t, strings.ToLower(text), "medial", "%s: %s", code, key)
		}
	}
}

// caseOf is a case of a demo shoe and a preset.
func caseOf(t *testing.T, shoe, preset string) *Case {
	t.Helper()
	s, err := footwear.Demo().Find(shoe)
	require.NoError(t, err)
	p, err := device.FindPreset(preset)
	require.NoError(t, err)
	o, err := fit.MadeFor(p.Options, s)
	require.NoError(t, err)
	d, err := device.Build(o)
	require.NoError(t, err)
	room, err := footwear.NewRoom(s, true)
	require.NoError(t, err)
	b, err := fit.NewBench(context.Background(), room)
	require.NoError(t, err)
	r, err := b.Check(context.Background(), d, fit.Foot{InstepHeightMM: 60, BallHeightMM: 40})
	require.NoError(t, err)
	return &Case{Room: room, Before: r}
}

// Whatever the answer is, in every language it can be told: no text lacks, at most two places are shown, the caution stands there, and no
// number is asked of a place.
func TestEveryAnswerCanBeTold(t *testing.T) {
	states := map[string]bool{}
	for _, shoe := range []string{"lace-dress", "extra-depth", "ballet-flat", "school-shoe", "studded-soft", "court-45", "rocker-shoe"} {
		for _, preset := range []string{"everyday-block", "slim-dress", "upright-lateral", "open-low-volume"} {
			s, _ := footwear.Demo().Find(shoe)
			p, _ := device.FindPreset(preset)
			if o, err := fit.MadeFor(p.Options, s); err != nil {
				continue
			} else if _, err := device.Build(o); err != nil {
				continue
			}
			c := caseOf(t, shoe, preset)
			for _, code := range Codes {
				page := PageOf(TextsOf(code), c)
				states[word(c.Before)] = true
				assert.NotEmpty(t, page.Answer)
				assert.LessOrEqual(t, len(page.Places), mostPlaces)
				assert.NotEmpty(t, page.Mind)
				assert.Len(t, page.Watch, 3)
				assert.NotEmpty(t, page.Do)
				for _, place := range page.Places {
					assert.NotEmpty(t, place.Words(page.Texts))
				}
				all := strings.Join(slices.Concat(page.Answer, page.Means, page.Do, page.Watch, page.Care, []string{page.Odds, page.Mind}), " ")
				assert.NotContains(t, all, "{", "%s, %s", shoe, preset)
				if page.Odds != "" {
					assert.NotContains(t, page.Odds, "100 times out of 100", "nothing is told as sure")
				}
			}
			if c.Before.Verdict.State == fit.Blocked && c.Before.Status == fit.Converged {
				assert.NotEmpty(t, PageOf(TextsOf("en"), c).Places, "%s, %s: what is in the way is told", shoe, preset)
			}
		}
	}
	assert.True(t, states["blocked"] && states["unsure"])
	s := *caseOf(t, "lace-dress", "everyday-block")
	none := *s.Before
	none.Status = fit.NotConverged
	page := PageOf(TextsOf("fr"), &Case{Room: s.Room, Before: &none})
	assert.Empty(t, page.Odds)
	assert.Empty(t, page.Places)
}

// Every change that the search can propose has words of its own.
func TestEveryChangeHasWords(t *testing.T) {
	s := caseOf(t, "lace-dress", "everyday-block")
	b, err := fit.NewBench(context.Background(), s.Room)
	require.NoError(t, err)
	o, err := fit.MadeFor(mustPreset(t, "everyday-block").Options, s.Room.Sheet)
	require.NoError(t, err)
	d, err := device.Build(o)
	require.NoError(t, err)
	r, err := b.Refit(context.Background(), d, fit.RefitOptions{Draws: -1, Shoes: fit.UsualShoes(s.Room)})
	require.NoError(t, err)
	require.NotEmpty(t, r.Choices)
	for i := range r.Choices {
		c := &Case{Room: s.Room, Before: s.Before, Choice: &r.Choices[i]}
		for _, ch := range r.Choices[i].Changes {
			if !ch.Follows {
				assert.NotEqual(t, "do.other", changeKey(TextsOf("en"), &ch, c.Choice), "%s %s → %s", ch.Key, ch.From, ch.To)
			}
		}
		for _, code := range Codes {
			page := PageOf(TextsOf(code), c)
			assert.Len(t, page.Answer, 2)
			for _, place := range page.Places {
				assert.NotEmpty(t, place.After)
			}
		}
	}
}

func mustPreset(t *testing.T, id string) device.Preset {
	t.Helper()
	p, err := device.FindPreset(id)
	require.NoError(t, err)
	return p
}
