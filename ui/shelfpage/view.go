package shelfpage

import (
	"fmt"
	"strings"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/ui/desk"
)

// A Row is a shoe in the list.
type Row struct {
	ID     string
	Name   string
	About  string // kind, size, whose
	Chosen bool
}

// Rows are the shoes that the search leaves.
func Rows(s *State) []Row {
	var out []Row
	for _, sheet := range s.list() {
		out = append(out, Row{sheet.ID, sheet.Name, about(s, &sheet), sheet.ID == s.Chosen})
	}
	return out
}

func about(s *State, sheet *footwear.Sheet) string {
	parts := []string{sheet.Kind, sheet.Size.String()}
	shoe, err := s.Shoes.Find(sheet.ID)
	switch {
	case sheet.ID == shelf.InHand:
		parts = append(parts, "being measured, not saved")
	case !shelf.Own(sheet.ID):
		parts = append(parts, "the program's")
	case err == nil && shoe.Scan != "":
		parts = append(parts, "with scan")
	}
	if sheet.ID == s.InUse {
		parts = append(parts, "in use")
	}
	return strings.Join(parts, " · ")
}

// Words is what the page says besides its list.
type Words struct {
	Count  string
	Mark   desk.Mark
	Notice string
	Undo   string // what the button says
	About  string // the chosen shoe in some sentences
	Grade  string // what the size field asks for
}

// WordsView is what the page says besides its list.
func WordsView(s *State) Words {
	own := len(s.Shoes.Own())
	w := Words{Count: fmt.Sprintf("%d shoes of your own, %d of the program's", own, len(s.Shoes.Search(""))-own), Undo: "Undo", Mark: desk.ClearMark}
	if own == 1 {
		w.Count = strings.Replace(w.Count, "1 shoes", "1 shoe", 1)
	}
	if s.CanUndo {
		verb := map[string]string{"deleted": "Bring back", "replaced": "Undo the change of"}[s.Last.What]
		name := s.Last.Name
		if name == "" {
			name = s.Last.ID
		}
		const most = 26 // letters that the button has room for
		if r := []rune(name); len(r) > most {
			name = string(r[:most-1]) + "…"
		}
		w.Undo = verb + " " + name
	}
	switch {
	case s.Fault != "":
		w.Mark, w.Notice = desk.BlockedMark, s.Fault
	case s.Done != "":
		w.Notice = s.Done
	case len(s.Problems) > 0:
		w.Mark = desk.UnsureMark
		w.Notice = fmt.Sprintf("Not read: %s", s.Problems[0].Error())
		if n := len(s.Problems) - 1; n > 0 {
			w.Notice += fmt.Sprintf(" (and %d more)", n)
		}
	case len(s.list()) == 0:
		w.Mark, w.Notice = desk.WaitMark, fmt.Sprintf("No shoe is found by “%s”.", s.Query)
		if s.OnlyOwn() {
			w.Notice += " F6 looks among the program's shoes too."
		}
	case own == 0:
		w.Mark = desk.SnugMark
		w.Notice = "No shoes of your own yet: measure one, import a file, or copy one of the program's shoes, which are listed until then."
	default:
		w.Notice = "They are kept in " + s.Folder
	}
	w.About, w.Grade = chosen(s)
	return w
}

// chosen says what the chosen shoe is.
func chosen(s *State) (about, grade string) {
	shoe, err := s.Shoes.Find(s.Chosen)
	if err != nil || s.Chosen == "" {
		return "", "size, such as EU 43"
	}
	sheet := &shoe.Sheet
	taken := 0
	for id := range footwear.NumMeasures {
		if sheet.Taken(id) {
			taken++
		}
	}
	lines := []string{
		fmt.Sprintf("%s, %s, %s.", sheet.Name, sheet.Kind, sheet.Size),
		fmt.Sprintf("%d measures taken, %d assumed.", taken, int(footwear.NumMeasures)-taken),
	}
	if sheet.GradedFrom != (footwear.Size{}) {
		lines = append(lines, fmt.Sprintf("Graded from %s.", sheet.GradedFrom))
	}
	if shoe.Scan != "" {
		lines = append(lines, "A scan lies beside it.")
	}
	lines = append(lines, fmt.Sprintf("Last %.0f mm, ball %.0f mm, waist %.0f mm, seat %.0f mm; heel rise %.0f mm.",
		sheet.V(footwear.LastLength), sheet.V(footwear.BallWidth), sheet.V(footwear.WaistWidth), sheet.V(footwear.SeatWidth), sheet.V(footwear.HeelRise)))
	if sheet.Note != "" {
		lines = append(lines, sheet.Note)
	}
	for _, n := range sheet.BandNotes() {
		lines = append(lines, n.String()+".")
	}
	next := sheet.Size
	next.Value++
	return strings.Join(lines, "\n"), "size, such as " + next.String()
}
