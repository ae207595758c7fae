package footwear

import (
	"strconv"
	"strings"
	"unicode"

	"lastroom/internal/problem"
)

const sizeTextMax = 64 // bytes; a longer text is no size

// regionWords and wearerWords are the words a size may be written with, folded to lower case without apostrophes.
var (
	regionWords = map[string]string{
		"mp": "mp", "mondopoint": "mp", "mondo": "mp", "eu": "eu", "eur": "eu", "euro": "eu", "uk": "uk", "gb": "uk",
		"us": "us", "usa": "us",
	}
	wearerWords = map[string]string{
		"men": "men", "mens": "men", "man": "men", "male": "men", "m": "men",
		"women": "women", "womens": "women", "woman": "women", "female": "women", "ladies": "women", "w": "women",
		"child": "child", "childs": "child", "children": "child", "childrens": "child", "kid": "child", "kids": "child",
		"c": "child", "infant": "child", "junior": "child", "toddler": "child", "adult": "", "adults": "",
	}
	gluedWords = map[string][2]string{ // region and wearer in one word
		"usm": {"us", "men"}, "usw": {"us", "women"}, "usc": {"us", "child"}, "ukc": {"uk", "child"},
		"ukm": {"uk", "men"}, "ukw": {"uk", "women"},
	}
	systemOf = map[[2]string]System{
		{"mp", ""}: Mondopoint, {"eu", ""}: EU, {"eu", "men"}: EU, {"eu", "women"}: EU, {"eu", "child"}: EU,
		{"uk", ""}: UK, {"uk", "men"}: UK, {"uk", "women"}: UK, {"uk", "child"}: UKChild,
		{"us", "men"}: USMen, {"us", "women"}: USWomen, {"us", "child"}: USChild,
	}
)

// A sizeToken is a word, a number, or one of the marks / + - ½.
type sizeToken struct {
	word   string
	number float64
	digits bool
	mark   rune
}

// ParseSize reads a size as people write it: "EU 42", "eu42", "UK 8 1/2", "us men 9", "US W 8", "9 US men's",
// "MP 265", "mondopoint 265/105", "UK 8, width +1". Case, spaces and order do not matter, a decimal comma is as good as
// a point. It refuses what Size.Check refuses under the zero SizeOptions; errors name the systems.
func ParseSize(text string) (Size, error) {
	shown := text
	if len(shown) > sizeTextMax {
		shown = strings.ToValidUTF8(shown[:sizeTextMax], "") + "…"
	}
	bad := func(limit, mend string) (Size, error) {
		return Size{}, problem.Problem{Field: "size", Value: strconv.Quote(shown), Limit: limit, Mend: mend}
	}
	if len(text) > sizeTextMax {
		return bad("a size has at most 64 letters", `write a size such as "EU 42"`)
	}
	tokens, strange, ok := sizeTokens(text)
	if !ok {
		return bad("can't read the sign "+strconv.QuoteRune(strange), `write a size such as "EU 42" or "UK 8.5"`)
	}

	var region, wearer, unknown string
	var values, widths []float64
	clash, inWidth, half := false, false, 0
	set := func(at *string, to string) {
		clash = clash || (*at != "" && to != "" && *at != to)
		if to != "" {
			*at = to
		}
	}
	for i := 0; i < len(tokens); i++ {
		t := tokens[i]
		switch {
		case t.digits && inWidth:
			if i > 0 && tokens[i-1].mark == '-' {
				t.number = -t.number
			}
			widths, inWidth = append(widths, t.number), false
		case t.digits && isHalf(tokens[i:]):
			half++
			i += 2
		case t.digits:
			values = append(values, t.number)
		case t.mark == '½':
			half++
		case t.mark == '-' && !inWidth:
			return bad("below zero", "write the size without a sign")
		case t.mark != 0, t.word == "size", t.word == "x" && len(values) == 1:
		case t.word == "width" || t.word == "fitting":
			inWidth = true
		default:
			r, isRegion := regionWords[t.word]
			w, isWearer := wearerWords[t.word]
			g, isGlued := gluedWords[t.word]
			switch {
			case isRegion:
				set(&region, r)
			case isWearer:
				set(&wearer, w)
			case isGlued:
				set(&region, g[0])
				set(&wearer, g[1])
			default:
				unknown = t.word
			}
		}
	}

	sy, known := systemOf[[2]string{region, wearer}]
	switch {
	case unknown != "":
		return bad("no size system has the word "+strconv.Quote(unknown), "use one of "+systemList())
	case region == "":
		return bad("no size system", "put one of "+systemList()+" before the number")
	case region == "us" && wearer == "":
		return bad("US sizes differ by wearer", "say US men, US women or US child")
	case clash || !known:
		return bad("no one size system", "use one of "+systemList())
	case len(values) == 0:
		return bad("no number", "write "+sy.Name()+" and a number")
	case len(values)+half > 2 || len(values) == 2 && sy != Mondopoint || len(widths) > 1 || inWidth ||
		len(values) == 2 && len(widths) == 1 || half > 0 && sy == Mondopoint:
		return bad("more numbers than a size has", `write one number, and a width fitting as "width +1"`)
	}
	s := Size{System: sy, Value: values[0] + 0.5*float64(half)}
	if len(values) == 2 {
		widths = values[1:]
	}
	if len(widths) == 1 {
		s.Width = widths[0]
	}
	if err := s.Check(SizeOptions{}); err != nil {
		return Size{}, err
	}
	return s, nil
}

// isHalf says whether the tokens start with "1/2".
func isHalf(t []sizeToken) bool {
	return len(t) >= 3 && t[0].number == 1 && t[1].mark == '/' && t[2].digits && t[2].number == 2
}

// sizeTokens cuts a size's text up; it fails at the first sign that no size has.
func sizeTokens(text string) (tokens []sizeToken, strange rune, ok bool) {
	rs := []rune(strings.ToLower(text))
	for i := 0; i < len(rs); {
		r := rs[i]
		switch {
		case r == '\'' || r == '’' || r == '(' || r == ')' || r == '.' || r == ',' || r == ';' || r == ':' || r == '_' ||
			unicode.IsSpace(r):
			i++
		case r >= '0' && r <= '9':
			end, point := i, false
			for end < len(rs) && (isDigit(rs[end]) || !point && end+1 < len(rs) && (rs[end] == '.' || rs[end] == ',') && isDigit(rs[end+1])) {
				point = point || !isDigit(rs[end])
				end++
			}
			v, err := strconv.ParseFloat(strings.Replace(string(rs[i:end]), ",", ".", 1), 64)
			if err != nil {
				return nil, r, false
			}
			tokens = append(tokens, sizeToken{digits: true, number: v})
			i = end
		case r >= 'a' && r <= 'z':
			var w []rune
			for i < len(rs) && (rs[i] >= 'a' && rs[i] <= 'z' || rs[i] == '\'' || rs[i] == '’') {
				if rs[i] != '\'' && rs[i] != '’' {
					w = append(w, rs[i])
				}
				i++
			}
			tokens = append(tokens, sizeToken{word: string(w)})
		case r == '-' && i > 0 && (isDigit(rs[i-1]) || unicode.IsLetter(rs[i-1])): // a hyphen: "EU-42", "8-1/2"
			i++
		case r == '/' || r == '+' || r == '-' || r == '½':
			tokens = append(tokens, sizeToken{mark: r})
			i++
		case r == '×':
			tokens = append(tokens, sizeToken{word: "x"})
			i++
		default:
			return nil, r, false
		}
	}
	return tokens, 0, true
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }
