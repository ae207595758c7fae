package refitpage

import (
	"fmt"
	"strings"

	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/ui/desk"
)

// A Row is a choice on the list; the first one is the device as it is.
type Row struct {
	Index  int    // −1: as it is
	Title  string // "1 · grind at the bench"
	Change string // what is done, in bench terms
	Fit    string // state, odds, margin
	Give   string // base width, support kept and what is lost
	Why    string
	Mark   desk.Mark
	Picked bool
}

// Text is the whole row in words.
func (r Row) Text() string {
	return strings.Join([]string{r.Title, r.Change, r.Fit, r.Give, r.Why}, ". ")
}

// Rows is the list of choices.
func Rows(s *State) []Row {
	if s.Found == nil {
		return nil
	}
	rows := []Row{row(&s.Found.AsIs, -1, "as it is", "no change", s.Picked == -1)}
	for i := range s.Found.Choices {
		c := &s.Found.Choices[i]
		rows = append(rows, row(c, i, fmt.Sprintf("%d · %s", i+1, c.Work.Words()), c.ChangeWords(), s.Picked == i))
	}
	return rows
}

func row(c *fit.Choice, i int, title, change string, picked bool) Row {
	r := Row{Index: i, Title: title, Change: change, Why: c.Why, Mark: desk.Mark(c.Result.Verdict.State), Picked: picked}
	parts := []string{string(c.Result.Verdict.State)}
	if c.Odds != nil {
		parts = append(parts, fmt.Sprintf("fits in %.0f of 100 draws", 100*c.Odds.Fit))
	}
	switch {
	case c.Result.Status != fit.Converged:
		parts = append(parts, "does not come to rest")
	case c.MarginMM < 0:
		parts = append(parts, fmt.Sprintf("%.1f mm past the limit", -c.MarginMM))
	default:
		parts = append(parts, fmt.Sprintf("%.1f mm to the limit", c.MarginMM))
	}
	r.Fit = strings.Join(parts, " · ")
	r.Give = fmt.Sprintf("base %.1f mm · support kept %.0f %%", c.Device.Base.WidthMM, 100*c.SupportKept)
	if len(c.Lost) > 0 {
		r.Give += ": " + strings.Join(c.Lost, ", ")
	}
	return r
}

// Band is what stands over the page.
type Band struct {
	Title, Sentence string
	Limits          string
	Progress        float64 // −1: nothing is searched
	Doing           string
}

// BandView says what was found, or what is being done.
func BandView(s *State) Band {
	b := Band{Title: "Smallest changes", Limits: fit.Caution, Progress: -1}
	switch {
	case s.Case == nil:
		b.Sentence = "There is no verdict yet: go back to the fit and wait for it."
	case s.Running:
		b.Sentence = "Searching …"
		b.Progress = s.Progress.Done
		b.Doing = fmt.Sprintf("%s · %d tried", s.Progress.What, s.Progress.Tried)
	case s.Failure != "":
		b.Sentence = s.Failure
	case s.Found != nil:
		b.Sentence = s.Found.Sentence
		b.Limits = fmt.Sprintf("%d changes and combinations tried, %d seated in full. %s", s.Found.Tried, s.Found.Checked, s.Found.Limits)
	default:
		b.Sentence = "Say what must stay and what may be done, then search."
	}
	return b
}

// Points is the plot of the choices.
func Points(s *State) []drawing.ChoicePoint {
	if s.Found == nil {
		return nil
	}
	var out []drawing.ChoicePoint
	for _, r := range Rows(s) {
		c := &s.Found.AsIs
		if r.Index >= 0 {
			c = &s.Found.Choices[r.Index]
		}
		if c.Result.Status != fit.Converged {
			continue
		}
		out = append(out, drawing.ChoicePoint{Number: r.Index + 1, MarginMM: c.MarginMM, Kept: c.SupportKept, Work: c.Work, Picked: r.Picked})
	}
	return out
}

// Thumbs are the same cut of the device as it is and of every choice, through the place that decides before.
func Thumbs(s *State) []*drawing.Scene {
	if s.Found == nil {
		return nil
	}
	t := *s
	t.Picked = -1
	before, _ := Scenes(&t)
	out := []*drawing.Scene{before}
	for i := range s.Found.Choices {
		t.Picked = i
		_, after := Scenes(&t)
		out = append(out, after)
	}
	return out
}

// Scenes are the same cut before and after the picked choice, at the pose and through the place that decides before.
func Scenes(s *State) (before, after *drawing.Scene) {
	if s.Found == nil {
		return nil, nil
	}
	a := &s.Found.AsIs
	pose := fit.Settled
	w := a.Result.Verdict.Worst
	if w >= 0 {
		pose = a.Result.Findings[w].Pose
	}
	before = drawing.NewScene(a.Room, a.Device, a.Result, pose)
	cuts := before.Cuts
	if w >= 0 {
		cuts = drawing.CutsThrough(a.Result.Findings[w].At)
	}
	before.Cuts, before.Selected = cuts, -1
	c := s.Choice()
	if c == nil {
		return before, nil
	}
	after = drawing.NewScene(c.Room, c.Device, c.Result, pose)
	after.Cuts, after.Selected = cuts, -1
	return before, after
}

// A Pair is a figure before and after.
type Pair struct{ Name, Before, After, Change string }

// Support compares the figures of the device as it is with those of the picked choice.
func Support(s *State) []Pair {
	c := s.Choice()
	if c == nil {
		return nil
	}
	var out []Pair
	for _, now := range c.Support {
		for _, was := range s.Found.AsIs.Support {
			if was.Key == now.Key {
				change, changed := desk.Compare(now.Now, was.Now, "before")
				if changed {
					out = append(out, Pair{now.Name, desk.Figure(was.Now, was.Unit), desk.Figure(now.Now, now.Unit), change})
				}
			}
		}
	}
	return out
}

// Findings compares the places that were not clear before with the same after the picked choice, and names what is new.
func Findings(s *State) []Pair {
	c := s.Choice()
	if c == nil {
		return nil
	}
	type key struct {
		feature, zone, side string
		pose                fit.PoseName
	}
	of := func(f *fit.Finding) key { return key{f.Feature.String(), f.Zone.String(), f.Side, f.Pose} }
	say := func(f *fit.Finding) string { return fmt.Sprintf("%.1f mm, %s", f.GapMM, f.State) }
	after := map[key]*fit.Finding{}
	for i := range c.Result.Findings {
		f := &c.Result.Findings[i]
		after[of(f)] = f
	}
	var out []Pair
	seen := map[key]bool{}
	add := func(f *fit.Finding, before, now string, change string) {
		out = append(out, Pair{f.Feature.String() + ", " + f.Place() + ", " + string(f.Pose), before, now, change})
	}
	for i := range s.Found.AsIs.Result.Findings {
		f := &s.Found.AsIs.Result.Findings[i]
		seen[of(f)] = true
		now := after[of(f)]
		if f.State.Rank() < fit.Unsure.Rank() && (now == nil || now.State.Rank() < fit.Unsure.Rank()) {
			continue
		}
		if now == nil {
			add(f, say(f), "no longer near", "")
			continue
		}
		add(f, say(f), say(now), "")
	}
	for i := range c.Result.Findings {
		if f := &c.Result.Findings[i]; !seen[of(f)] && f.State.Rank() >= fit.Unsure.Rank() {
			add(f, "not near", say(f), "new")
		}
	}
	return out
}
