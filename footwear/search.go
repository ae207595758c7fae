package footwear

import (
	"slices"
	"strings"
)

// Search lists the shoes that a text means, best first; an empty text lists all.
func (c *Catalog) Search(text string) []Sheet {
	words := strings.Fields(strings.ToLower(text))
	var out []Sheet
	for i := range c.sheets {
		s := &c.sheets[i]
		in := strings.ToLower(s.ID + " " + s.Name + " " + s.Kind)
		if !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(in, w) }) {
			out = append(out, s.clone())
		}
	}
	return out
}
