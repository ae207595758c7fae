package shelf

import (
	"bytes"
	"hash/fnv"
	"slices"

	"lastroom/footwear"
	"lastroom/internal/problem"
)

// A View is one's own shoes and the program's as they were at one moment: own ones first. It never changes and may be
// shared; nil is the program's shoes alone.
type View struct {
	all   *footwear.Catalog
	own   []Shoe
	shoes map[string]Shoe
}

// View looks at the shelf. Shoes that can't be read are left out and told as problems.
func (s *Shelf) View() (*View, problem.Problems) {
	all, ps := s.All()
	v, err := NewView(all)
	return v, append(ps, asProblems(err)...)
}

// NewView is a view of some shoes. Every sheet has to be valid and every identifier to be one's own and to stand once.
func NewView(own []Shoe) (*View, error) {
	v := &View{shoes: map[string]Shoe{}}
	sheets := footwear.Demo().All()
	for _, shoe := range own {
		if !Own(shoe.Sheet.ID) {
			return nil, problem.Problem{Field: "id", Value: shoe.Sheet.ID, Limit: "begins with " + prefix, Mend: "add the shoe to the shelf"}
		}
		sheets = append(sheets, shoe.Sheet)
		v.shoes[shoe.Sheet.ID] = shoe
	}
	var err error
	if v.all, err = footwear.NewCatalog(sheets); err != nil {
		return nil, err
	}
	for _, sheet := range v.all.All() {
		if shoe, ok := v.shoes[sheet.ID]; ok {
			v.own = append(v.own, shoe)
		}
	}
	return v, nil
}

// InHand is the identifier of a shoe that With puts into a view.
const InHand = "my-shoe-in-hand"

// With is the view with one more shoe that is on no shelf: one that is being measured. It has the identifier InHand.
func (v *View) With(sheet footwear.Sheet) (*View, error) {
	sheet.ID = InHand
	var b bytes.Buffer
	if err := footwear.WriteSheet(&b, sheet); err != nil {
		return v, err
	}
	h := fnv.New64a()
	_, _ = h.Write(b.Bytes())
	own := []Shoe{{Sheet: sheet, Stamp: max(1, h.Sum64())}}
	for _, shoe := range v.Own() {
		if shoe.Sheet.ID != InHand {
			own = append(own, shoe)
		}
	}
	return NewView(own)
}

// Own lists one's own shoes in the order of their names.
func (v *View) Own() []Shoe {
	if v == nil {
		return nil
	}
	return slices.Clone(v.own)
}

// Search lists the shoes that a text means, as footwear.Catalog.Search does, one's own in front; all for an empty text.
func (v *View) Search(text string) []footwear.Sheet {
	if v == nil {
		return footwear.Demo().Search(text)
	}
	found := v.all.Search(text)
	slices.SortStableFunc(found, func(a, b footwear.Sheet) int {
		switch ownA, ownB := Own(a.ID), Own(b.ID); {
		case ownA == ownB:
			return 0
		case ownA:
			return -1
		}
		return 1
	})
	return found
}

// SearchOwn is Search among one's own shoes.
func (v *View) SearchOwn(text string) []Shoe {
	var out []Shoe
	for _, sheet := range v.Search(text) {
		if Own(sheet.ID) {
			out = append(out, v.shoes[sheet.ID])
		}
	}
	return out
}

// Find gives the shoe with an identifier: one's own with its stamp, or one of the program's with stamp 0.
func (v *View) Find(id string) (Shoe, error) {
	if v == nil {
		sheet, err := footwear.Demo().Find(id)
		return Shoe{Sheet: sheet}, err
	}
	sheet, err := v.all.Find(id)
	if err != nil {
		return Shoe{}, err
	}
	shoe := v.shoes[id]
	shoe.Sheet = sheet
	return shoe, nil
}
