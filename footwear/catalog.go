package footwear

import (
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"

	"lastroom/assets"
	"lastroom/internal/problem"
)

// A Catalog is a shelf of shoes, in the order of their names. The zero value is an empty one. It hands out copies.
type Catalog struct {
	sheets []Sheet
}

// NewCatalog makes a catalog. Every sheet has to be valid and every ID to stand once.
func NewCatalog(sheets []Sheet) (*Catalog, error) {
	var ps problem.Problems
	c := &Catalog{}
	seen := map[string]bool{}
	for i := range sheets {
		s := &sheets[i]
		ps = append(ps, s.Validate().In(s.ID)...)
		if seen[s.ID] {
			ps = append(ps, problem.Problem{File: s.ID, Field: "id", Value: strconv.Quote(s.ID), Limit: "stands twice", Mend: "give one shoe another identifier"})
		}
		seen[s.ID] = true
		c.sheets = append(c.sheets, s.clone())
	}
	slices.SortStableFunc(c.sheets, func(a, b Sheet) int { return strings.Compare(a.Name+"\x00"+a.ID, b.Name+"\x00"+b.ID) })
	return c, ps.Err()
}

// Demo is the catalog of invented shoes that the program carries. It is read once.
func Demo() *Catalog { return demo() }

var demo = sync.OnceValue(func() *Catalog {
	c, err := readCatalog(assets.Shoes, "shoes")
	if err != nil {
		panic("footwear: embedded shoes: " + err.Error())
	}
	return c
})

// readCatalog reads every JSON file of a folder as a shoe.
func readCatalog(fsys fs.FS, dir string) (*Catalog, error) {
	names, err := fs.Glob(fsys, dir+"/*.json")
	if err != nil {
		return nil, err
	}
	sheets := make([]Sheet, 0, len(names))
	for _, name := range names {
		f, err := fsys.Open(name)
		if err != nil {
			return nil, err
		}
		s, err := ReadSheet(f, name)
		if closeErr := f.Close(); err == nil {
			err = closeErr
		}
		if err != nil {
			return nil, err
		}
		sheets = append(sheets, s)
	}
	return NewCatalog(sheets)
}

// All lists the shoes in the order of their names.
func (c *Catalog) All() []Sheet {
	out := make([]Sheet, len(c.sheets))
	for i := range c.sheets {
		out[i] = c.sheets[i].clone()
	}
	return out
}

// Find gives the shoe with an identifier. For an unknown one the error names the nearest shoes.
func (c *Catalog) Find(id string) (Sheet, error) {
	for i := range c.sheets {
		if c.sheets[i].ID == id {
			return c.sheets[i].clone(), nil
		}
	}
	mend := "choose one from the list of shoes"
	if near := c.Search(strings.ReplaceAll(id, "-", " ")); len(near) > 0 && strings.TrimSpace(id) != "" {
		ids := []string{}
		for _, s := range near[:min(3, len(near))] {
			ids = append(ids, s.ID)
		}
		mend = "did you mean " + strings.Join(ids, " or ")
	}
	return Sheet{}, problem.Problem{
		Field: "shoe", Value: strconv.Quote(clipped(id)), Limit: fmt.Sprintf("not among the %d shoes", len(c.sheets)), Mend: mend,
	}
}

func (s *Sheet) clone() Sheet {
	out := *s
	out.Reasons = maps.Clone(s.Reasons)
	return out
}
