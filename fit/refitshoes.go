package fit

import (
	"fmt"

	"lastroom/footwear"
)

// UsualShoes are what a shoe itself can give: its insole taken out, where it is in and can be taken out, one width fitting
// more, and half a size up. Graded shoes are estimates; a maker may not sell them.
func UsualShoes(room *footwear.Room) []ShoeChange {
	s := room.Sheet
	var out []ShoeChange
	if room.InsoleIn && s.InsoleRemovable {
		out = append(out, ShoeChange{Name: "the shoe's own insole taken out", Sheet: s, InsoleOut: true, SameShoe: true})
	}
	if room.Scan != nil {
		return out // a scan is of one shoe
	}
	grade := func(name string, to footwear.Size) {
		opt := footwear.GradeOptions{Sizes: footwear.SizeOptions{Child: s.Size.System.Child()}}
		if g, err := s.Graded(to, opt); err == nil {
			out = append(out, ShoeChange{Name: fmt.Sprintf("%s, %s", name, to), Sheet: g, InsoleOut: !room.InsoleIn && s.InsoleRemovable})
		}
	}
	wider := s.Size
	if wider.System != footwear.Mondopoint {
		wider.Width++
		grade("one width fitting more", wider)
	}
	longer := s.Size
	longer.Value += 0.5
	if longer.System == footwear.Mondopoint {
		longer.Value += 4.5
		longer.Width = 0
	}
	grade("half a size up", longer)
	return out
}
