package screenpage

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/ui/desk"
)

// Reduce is what an action makes of a state, and what has to be done for it. It is pure.
func Reduce(s State, a Action) (State, []Effect) {
	switch a := a.(type) {
	case Open:
		if a.Case == nil || s.Case != nil && s.Case.Inputs == a.Case.Inputs {
			return s, nil
		}
		s.Case = a.Case
		return begin(s)
	case SetMode:
		s.Mode = a.Mode
		return begin(s)
	case Begin:
		return begin(s)
	case Stop:
		if !s.Running {
			return s, nil
		}
		s.Running = false
		s.Serial++
		return s, []Effect{Halt{}}
	case SortBy:
		s.Back = s.Sort == a.Column && !s.Back
		s.Sort, s.Picked = a.Column, 0
	case Narrow:
		s.Filter, s.Picked = a.Text, 0
	case Tick:
		if p := s.pair(); p != nil && s.Mode == Shelf {
			ticked := map[string]bool{}
			maps.Copy(ticked, s.Ticked)
			if key := tickKey(p); ticked[key] {
				delete(ticked, key)
			} else {
				ticked[key] = true
			}
			s.Ticked = ticked
		}
	case Pick:
		s.Picked = s.within(a.Index)
	case PickBy:
		s.Picked = s.within(s.Picked + a.N)
	case Try:
		return s, s.try()
	case Came:
		if s.Running && a.Serial == s.Serial {
			i := slices.IndexFunc(s.Rows, func(r fit.Screened) bool { return r.Index == a.Pair.Index })
			s.Rows = slices.Clone(s.Rows)
			if i >= 0 {
				s.Rows[i] = a.Pair
			} else {
				s.Rows = append(s.Rows, a.Pair)
			}
			fit.Rank(s.Rows)
		}
	case Progressed:
		if s.Running && a.Serial == s.Serial {
			s.Done, s.Of, s.Doing = a.Done, a.Of, a.Doing
		}
	case Ended:
		if s.Running && a.Serial == s.Serial {
			s.Running = false
			if s.Mode == Several {
				s.Together = a.Together
			} else {
				s.Rows = a.Rows
			}
			s.Picked = s.within(s.Picked)
		}
	case Failed:
		if s.Running && a.Serial == s.Serial {
			s.Running, s.Failure = false, a.Err.Error()
		}
	}
	return s, nil
}

func begin(s State) (State, []Effect) {
	if s.Case == nil {
		return s, nil
	}
	s.Serial++
	s.Running, s.Done, s.Of, s.Doing, s.Failure, s.Picked = true, 0, 0, "", "", 0
	r := Run{Serial: s.Serial, Mode: s.Mode, Case: s.Case}
	if s.Mode == Several {
		s.Together = nil
		for _, row := range s.Rows {
			if s.Ticked[tickKey(&row)] {
				r.Shoes = append(r.Shoes, row.Shoe)
			}
		}
		if len(r.Shoes) < 2 {
			s.Running = false
			s.Failure = "Tick two shoes or more on the shelf first (Space), then come back here."
			return s, []Effect{Halt{}}
		}
		return s, []Effect{r}
	}
	s.Rows = nil
	return s, []Effect{r}
}

// tickKey says which shoe in which size.
func tickKey(p *fit.Screened) string { return p.Shoe.ID + " " + p.Shoe.Size.String() }

// pair is the picked pair of the table.
func (s *State) pair() *fit.Screened {
	t := sorted(s)
	if s.Mode == Several || s.Picked < 0 || s.Picked >= len(t) {
		return nil
	}
	return &t[s.Picked]
}

func (s *State) within(i int) int {
	n := len(sorted(s))
	if s.Mode == Several {
		n = len(s.Together)
	}
	return max(0, min(i, n-1))
}

// sorted are the rows that the filter leaves, as sorted.
func sorted(s *State) []fit.Screened {
	words := strings.Fields(strings.ToLower(s.Filter))
	var out []fit.Screened
	for _, r := range s.Rows {
		text := strings.ToLower(strings.Join([]string{r.Shoe.Name, r.Shoe.Kind, r.Shoe.Size.String(), r.DeviceName, string(r.State), r.Reason}, " "))
		if !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(text, w) }) {
			out = append(out, r)
		}
	}
	by := map[Column]func(a, b fit.Screened) int{
		ByShoe:   func(a, b fit.Screened) int { return cmp.Compare(a.Shoe.Name, b.Shoe.Name) },
		BySize:   func(a, b fit.Screened) int { return cmp.Compare(sizeOf(a.Shoe), sizeOf(b.Shoe)) },
		ByDevice: func(a, b fit.Screened) int { return cmp.Compare(a.DeviceName, b.DeviceName) },
		ByMargin: func(a, b fit.Screened) int { return cmp.Compare(b.MarginMM, a.MarginMM) },
	}[s.Sort]
	if by != nil {
		slices.SortStableFunc(out, by)
	}
	if s.Back {
		slices.Reverse(out)
	}
	return out
}

func sizeOf(s footwear.Sheet) float64 { return s.V(footwear.LastLength) }

// try opens the picked pair on the desk.
func (s *State) try() []Effect {
	if s.Mode == Several {
		if s.Picked >= len(s.Together) {
			return nil
		}
		o := s.Together[s.Picked].Device.Options
		return []Effect{Take{desk.Refitted{Options: o}}}
	}
	p := s.pair()
	if p == nil {
		return nil
	}
	t := desk.Try{ShoeID: p.Shoe.ID, Size: p.Shoe.Size, InsoleOut: p.InsoleOut}
	if s.Mode == Presets {
		o := p.Device.Options
		for _, preset := range device.Presets() {
			if preset.Name == p.DeviceName {
				t.PresetID, t.Options = preset.ID, &o
			}
		}
	}
	return []Effect{Take{t}}
}

// A Row is a line of the table.
type Row struct {
	Mark                              desk.Mark
	Ticked, Picked                    bool
	Odds, Shoe, Size, Device, ToLimit string
	Reason                            string
}

// Table is what the table shows.
func Table(s *State) []Row {
	if s.Mode == Several {
		return together(s)
	}
	list := sorted(s)
	rows := make([]Row, len(list))
	for i := range list {
		p := &list[i]
		r := Row{
			Mark: desk.Mark(p.State), Ticked: s.Ticked[tickKey(p)], Picked: i == s.Picked, Shoe: p.Shoe.Name, Size: p.Shoe.Size.String(), Device: p.DeviceName,
			Odds: fmt.Sprintf("%s, about %.0f %%", p.State, 100*p.Alone), ToLimit: limitText(p.MarginMM), Reason: p.Reason,
		}
		switch {
		case p.Draft:
			r.Odds = fmt.Sprintf("first look: %s", p.State)
			r.ToLimit = "about " + r.ToLimit
		case p.Odds != nil:
			r.Odds = fmt.Sprintf("%s, %.0f of 100", p.State, 100*p.Odds.Fit)
		}
		if p.InsoleOut {
			r.Shoe += ", insole out"
		}
		if p.Err != nil {
			r.Odds, r.ToLimit, r.Reason = "no answer", "", p.Err.Error()
		}
		rows[i] = r
	}
	return rows
}

func together(s *State) []Row {
	rows := make([]Row, len(s.Together))
	for i := range s.Together {
		f := &s.Together[i]
		r := Row{Picked: i == s.Picked, Mark: desk.BlockedMark, Odds: fmt.Sprintf("fits in %d of %d", f.Fits, len(f.In)), Device: "as it is", ToLimit: limitText(f.MarginMM)}
		if f.Fits == len(f.In) {
			r.Mark = desk.SnugMark
		} else if f.Fits > 0 {
			r.Mark = desk.UnsureMark
		}
		var words, in []string
		for _, c := range f.Changes {
			if !c.Follows {
				words = append(words, c.Words)
			}
		}
		if len(words) > 0 {
			r.Device = f.Work.Words()
		}
		for _, p := range f.In {
			in = append(in, fmt.Sprintf("%s, %s: %s", p.Shoe.Name, p.Shoe.Size, p.State))
		}
		r.Shoe = strings.Join(in, "; ")
		r.Reason = strings.Join(words, "; ")
		if len(f.Lost) > 0 {
			r.Reason += " — gives up: " + strings.Join(f.Lost, ", ")
		}
		rows[i] = r
	}
	return rows
}

func limitText(mm float64) string {
	if mm < -1e6 {
		return "no rest"
	}
	if mm < 0 {
		return fmt.Sprintf("%.1f mm past", -mm)
	}
	return fmt.Sprintf("%.1f mm", mm)
}

// Line says what is screened, how far it is, and what the odds are.
func Line(s *State) string {
	switch {
	case s.Case == nil:
		return "There is no verdict yet: go back to the fit and wait for it."
	case s.Failure != "":
		return s.Failure
	case s.Running && s.Doing != "":
		return s.Doing
	case s.Running:
		return "Beginning …"
	case s.Mode == Several:
		return fmt.Sprintf("One device for %d shoes, best first.", len(s.Ticked))
	}
	t := len(sorted(s))
	return fmt.Sprintf("%d of %d pairs shown. \"About\" are the odds of the place that decides, taken alone; the best have been drawn with every ±.", t, len(s.Rows))
}

// Detail is the picked row in full, since the table cuts what is long; and what the keys do.
func Detail(s *State) string {
	const keys = "Return opens it on the desk. Space ticks a shoe for one device in several."
	t := Table(s)
	if s.Picked < 0 || s.Picked >= len(t) {
		return keys
	}
	r := t[s.Picked]
	parts := []string{r.Shoe}
	for _, p := range []string{r.Size, r.Device, r.Odds, r.ToLimit, r.Reason} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	return strings.Join(parts, " · ") + "\n" + keys
}
