package footwear

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// synonyms are words that people use for a kind of shoe beside its own name.
var synonyms = map[string]string{
	"trainer":           "sneaker sports casual gym",
	"running shoe":      "runner jogging jogger trainer sneaker sports marathon",
	"court shoe":        "heel heels pump stiletto high-heeled ladies women office",
	"ballet flat":       "ballerina pump flats ladies women slipper",
	"dress shoe":        "oxford derby brogue loafer office formal smart business men",
	"studded boot":      "football soccer rugby cleat cleats studs hockey pitch grass",
	"indoor court shoe": "handball squash badminton volleyball tennis hall gym futsal sports",
	"hiking boot":       "walking trekking mountain outdoor hill trail",
	"safety boot":       "work steel toe cap site builder protective",
	"clog":              "work nurse kitchen ward hospital chef theatre",
	"school shoe":       "child children kids boy girl",
	"toddler shoe":      "infant baby child children kids first walker",
	"extra-depth shoe":  "diabetic orthopaedic wide deep comfort swollen",
	"rocker-soled shoe": "rolling orthopaedic hallux rigidus stiff",
	"cycling shoe":      "bike bicycle cleat cycle",
	"ankle boot":        "boots zip winter ladies women",
}

// fillers are words of a query that say nothing about a shoe.
var fillers = []string{"a", "an", "the", "for", "with", "and", "of", "in", "shoe", "shoes", "size"}

const (
	queryMax     = 200 // letters of a query that are read
	hitWhole     = 1.0
	hitStart     = 0.9
	hitInside    = 0.7
	hitMistyped  = 0.6
	weightOwn    = 1.0 // identifier, name and kind
	weightExtra  = 0.8 // synonyms, closure, shape
	weightNote   = 0.5
	insideLength = 3 // letters from which a part of a word counts
)

// A searchWord is a word that a shoe can be found by.
type searchWord struct {
	text   string
	weight float64
}

// Search lists the shoes that a text means, best first and equals by name. It forgives case, accents, the order of
// words, parts of words and typing errors (one in a word of four letters, two from eight), and knows common other names
// of each kind. Shoes that meet every word come alone; if none does, those that meet the most words come. An empty text
// lists all shoes.
func (c *Catalog) Search(text string) []Sheet {
	query := queryWords(text)
	if len(query) == 0 {
		if strings.TrimSpace(text) != "" && len(foldedWords(text)) == 0 {
			return nil // signs only
		}
		return c.All()
	}
	type hit struct {
		index, met int
		score      float64
	}
	var hits []hit
	most := 1
	for i := range c.sheets {
		h := hit{index: i}
		words := c.sheets[i].searchWords()
		for _, q := range query {
			if best := bestMatch(q, words); best > 0 {
				h.met++
				h.score += best
			}
		}
		most = max(most, h.met)
		hits = append(hits, h)
	}
	hits = slices.DeleteFunc(hits, func(h hit) bool { return h.met < most })
	slices.SortStableFunc(hits, func(a, b hit) int {
		switch { // the sheets are in the order of their names already
		case a.score > b.score:
			return -1
		case a.score < b.score:
			return 1
		}
		return a.index - b.index
	})
	var out []Sheet
	for _, h := range hits {
		out = append(out, c.sheets[h.index].clone())
	}
	return out
}

// queryWords are the telling words of a query.
func queryWords(text string) []string {
	if r := []rune(text); len(r) > queryMax {
		text = string(r[:queryMax])
	}
	return slices.DeleteFunc(foldedWords(text), func(w string) bool { return slices.Contains(fillers, w) })
}

func (s *Sheet) searchWords() []searchWord {
	var words []searchWord
	add := func(text string, weight float64) {
		// "slip-on" is found as slip, as on and as slipon.
		for _, w := range append(foldedWords(text), foldedWords(strings.ReplaceAll(text, "-", ""))...) {
			words = append(words, searchWord{w, weight})
		}
	}
	add(s.ID+" "+s.Name+" "+s.Kind, weightOwn)
	add(synonyms[s.Kind]+" "+s.Closure+" "+string(s.Outline)+" "+s.ToeShape+" "+s.SoleStiffness, weightExtra)
	add(s.Note, weightNote)
	return words
}

// foldedWords are the letters and digits of a text in lower case without accents, cut at everything else.
func foldedWords(text string) []string {
	var b strings.Builder
	for _, r := range norm.NFKD.String(strings.ToLower(text)) {
		switch {
		case unicode.Is(unicode.Mn, r) || r == '\'' || r == '’': // "men's" is one word
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			b.WriteRune(r)
		default:
			b.WriteByte(' ')
		}
	}
	return strings.Fields(b.String())
}

// bestMatch scores a word of the query against a shoe's words: 0 for no match, 1 for a whole word of its name.
func bestMatch(q string, words []searchWord) float64 {
	best := 0.0
	for _, w := range words {
		best = max(best, w.weight*match(q, w.text))
	}
	return best
}

func match(q, word string) float64 {
	switch {
	case q == word || q == word+"s" || q+"s" == word:
		return hitWhole
	case strings.HasPrefix(word, q):
		return hitStart
	case len(q) >= insideLength && strings.Contains(word, q):
		return hitInside
	}
	// Typing errors, in the whole word or in what of it has been typed so far.
	a, b := []rune(q), []rune(word)
	allowed := 0
	switch {
	case len(a) >= 8:
		allowed = 2
	case len(a) >= 4:
		allowed = 1
	}
	if allowed == 0 {
		return 0
	}
	best := 0.0
	for n := len(a) - allowed; n <= min(len(a)+allowed, len(b)); n++ {
		if d := typingErrors(a, b[:n]); d <= allowed {
			score := hitMistyped - 0.1*float64(d-1)
			if n < len(b) {
				score -= 0.1
			}
			best = max(best, score)
		}
	}
	return best
}

// typingErrors counts the letters added, left out, changed or swapped with their neighbour that make b of a (optimal
// string alignment: no letter is edited twice).
func typingErrors(a, b []rune) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
