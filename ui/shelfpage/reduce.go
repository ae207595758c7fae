package shelfpage

import (
	"lastroom/footwear"
	"lastroom/footwear/shelf"
)

// Reduce is what an action makes of a state, and what has to be done for it. It is pure: equal arguments, equal results.
func Reduce(s State, a Action) (State, []Job) {
	switch a := a.(type) {
	case Search:
		s.Query = a.Text
		s.keepChosen()
	case ToggleOwn:
		s.OwnOnly = !s.OwnOnly
		s.keepChosen()
	case Choose:
		s.Chosen, s.Fault, s.Done = a.ID, "", ""
	case TypeSize:
		s.Size, s.Fault = a.Text, ""
	case Do:
		return do(s, a.What)
	case Import:
		return s, []Job{{Do: ImportFile, Path: a.Path}}
	case Export:
		if why := s.Not(ExportFile); why != "" {
			s.Fault = why
			return s, nil
		}
		return s, []Job{{Do: ExportFile, ID: s.Chosen, Path: a.Path}}
	case Shelved:
		s.Shoes, s.Folder, s.Problems, s.Last, s.CanUndo = a.Shoes, a.Folder, a.Problems, a.Last, a.CanUndo
		s.keepChosen()
	case Using:
		s.InUse = a.ID
		s.keepChosen()
	case Did:
		s.Done, s.Fault = a.Text, ""
		if a.ID != "" {
			s.Chosen = a.ID
			if _, shown := s.place(); !shown { // what was made is to be seen
				s.Query = ""
			}
		}
		s.keepChosen()
	case CouldNot:
		s.Fault, s.Done = a.Err.Error(), ""
	}
	return s, nil
}

func do(s State, what Deed) (State, []Job) {
	if why := s.Not(what); why != "" {
		s.Fault, s.Done = why, ""
		return s, nil
	}
	job := Job{Do: what, ID: s.Chosen}
	switch what {
	case Undo:
		job.ID = ""
	case Grade:
		to, err := footwear.ParseSize(s.Size)
		if err != nil {
			s.Fault, s.Done = err.Error(), ""
			return s, nil
		}
		job.Size = to
	}
	return s, []Job{job}
}

// Not says why something can't be done; it is empty when it can.
func (s *State) Not(what Deed) string {
	if what == Undo {
		if !s.CanUndo {
			return "Nothing was deleted or edited."
		}
		return ""
	}
	if _, err := s.Shoes.Find(s.Chosen); err != nil || s.Chosen == "" {
		return "Choose a shoe from the list."
	}
	switch what {
	case Edit, Delete, ExportFile:
		if !shelf.Own(s.Chosen) {
			return "This is one of the program's shoes. Copy it; the copy is your own."
		}
		if s.Chosen == shelf.InHand {
			return "This shoe is not on the shelf yet. Save it on the page where it is measured."
		}
	case Copy, Grade:
		if s.Chosen == shelf.InHand {
			return "This shoe is not on the shelf yet. Save it on the page where it is measured."
		}
	}
	return ""
}

// place is where the chosen shoe stands in the list.
func (s *State) place() (int, bool) {
	for i, sheet := range s.list() {
		if sheet.ID == s.Chosen {
			return i, true
		}
	}
	return 0, false
}

// keepChosen chooses the shoe in use, or the first of the list, when the chosen one is no longer there.
func (s *State) keepChosen() {
	if _, there := s.place(); there {
		return
	}
	s.Chosen = s.InUse
	if _, there := s.place(); there {
		return
	}
	s.Chosen = ""
	if list := s.list(); len(list) > 0 {
		s.Chosen = list[0].ID
	}
}

// OnlyOwn says whether the program's shoes are left out: never, as long as there are none of one's own.
func (s *State) OnlyOwn() bool { return s.OwnOnly && len(s.Shoes.Own()) > 0 }

// list are the shoes that the search leaves.
func (s *State) list() []footwear.Sheet {
	found := s.Shoes.Search(s.Query)
	if !s.OnlyOwn() {
		return found
	}
	var own []footwear.Sheet
	for _, sheet := range found {
		if shelf.Own(sheet.ID) {
			own = append(own, sheet)
		}
	}
	return own
}
