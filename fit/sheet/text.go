package sheet

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"lastroom/internal/lengths"
)

// WriteText writes the sheet as plain text in UTF-8, lengths in the unit. Templates need paper: of them only the words and lengths are told.
func WriteText(w io.Writer, s *Sheet, u lengths.Unit) error {
	t := &typist{w: w, lengths: u}
	t.line("%s: %s DEVICE", s.Title, strings.ToUpper(s.Side))
	t.line("%s", s.heading())
	for _, l := range s.subject() {
		t.line("%s", l)
	}
	t.head(s.stepsHead())
	t.table(s.stepHeads(), s.stepRows())
	for _, st := range s.states() {
		t.head(st.Head)
		t.line("%s", st.Sentence)
		for _, l := range st.sureness() {
			t.line("%s", l)
		}
		t.table(nil, threeColumns(st.Seating))
		t.line("room for the foot:")
		t.table(nil, threeColumns(st.FootRoom))
	}
	t.head("Findings")
	t.table(s.findingHeads(), s.findingRows())
	t.line("%s", s.findingsNote())
	t.head("Support")
	if kept := s.KeptSentence(); kept != "" {
		t.line("%s", kept)
	}
	t.table(s.supportHeads(), s.supportRows(u))
	t.line("%s", s.SupportHow)
	for i, sec := range s.Sections {
		t.head(sec.Title)
		t.table([]string{"dimension", "", "how it is known"}, threeColumns(sec.Rows))
		t.line("Template at 1:1 on paper. %s %s", s.Shapes[i].Seen, s.Shapes[i].Legend)
	}
	for _, st := range s.states() {
		t.head("In the shoe. " + st.Head)
		for _, l := range st.Pictures {
			t.line("%s", l)
		}
	}
	if s.Kind == "change" {
		t.head("The whole device when it is done")
		t.table([]string{"feature", "value", "how it is known"}, threeColumns(s.Order))
	}
	t.head("What it rests on")
	t.line("The foot:")
	t.table(nil, threeColumns(s.Foot))
	t.line("The shoe, %s:", s.Shoe.Name)
	t.table(nil, threeColumns(s.Measures))
	t.head("Cautions")
	for _, c := range s.Cautions {
		t.line("%s", c)
	}
	return t.err
}

// A typist writes lines and tables until an error.
type typist struct {
	w       io.Writer
	lengths lengths.Unit
	err     error
}

func (t *typist) line(format string, args ...any) {
	if t.err == nil {
		_, t.err = fmt.Fprintln(t.w, t.lengths.Tell(fmt.Sprintf(format, args...)))
	}
}

func (t *typist) head(words string) {
	t.line("\n%s\n%s", words, strings.Repeat("-", len([]rune(words))))
}

func (t *typist) table(heads []string, rows [][]string) {
	if t.err != nil {
		return
	}
	tw := tabwriter.NewWriter(t.w, 0, 0, 2, ' ', 0)
	if heads != nil {
		fmt.Fprintln(tw, strings.Join(heads, "\t"))
	}
	for _, r := range rows {
		fmt.Fprintln(tw, t.lengths.Tell(strings.Join(r, "\t")))
	}
	t.err = tw.Flush()
}

func threeColumns(rows []Row) [][]string {
	var out [][]string
	for _, r := range rows {
		out = append(out, []string{r.Name, r.Text, r.How})
	}
	return out
}

// heading is one line that says which case it is.
func (s *Sheet) heading() string {
	l := s.Date + ", Lastroom " + s.Program
	if s.Case != "" {
		l = "case " + s.Case + ", " + l
	}
	return l
}

// subject is what the sheet is about, a line each.
func (s *Sheet) subject() []string {
	device := "Device: " + s.Device.Name
	if s.Device.Scanned {
		device += ", from its scan"
	}
	device += fmt.Sprintf(", made for a foot of %.0f mm", s.Device.Options.FootLengthMM)
	shoe := fmt.Sprintf("Shoe: %s (%s), %s, ", s.Shoe.Name, s.Shoe.Kind, s.Shoe.Size)
	switch s.Shoe.Insole {
	case "in":
		shoe += "its insole in"
	case "out":
		shoe += "its insole out"
	default:
		shoe += "as scanned"
	}
	if s.Shoe.Change != "" {
		shoe += "; changed: " + s.Shoe.Change
	}
	return []string{device, shoe}
}

func (s *Sheet) states() []*State {
	if s.After == nil {
		return []*State{&s.Before}
	}
	return []*State{&s.Before, s.After}
}

// sureness is what is to stand beside a verdict: odds, what decides them, limits.
func (st *State) sureness() []string {
	var l []string
	if st.Odds != nil {
		l = append(l, st.Odds.Sentence)
		if len(st.Odds.Decides) > 0 {
			l = append(l, "What decides: "+strings.Join(st.Odds.Decides, "; ")+". Measure it again first.")
		}
	}
	return append(l, st.OddsNote, "Limits: "+st.Limits)
}

func (s *Sheet) stepsHead() string {
	if s.Kind == "change" {
		return "What to change"
	}
	return "What is ordered"
}

// stepHeads are the heads of the instructions; where all is new there is nothing to change from.
func (s *Sheet) stepHeads() []string {
	if s.Kind == "change" {
		return []string{"", "feature", "from", "to", "tool and check", "work"}
	}
	return []string{"", "feature", "from", "to", "tool and check"}
}

func (s *Sheet) stepRows() [][]string {
	var rows [][]string
	for _, st := range s.Steps {
		number := fmt.Sprint(st.Number)
		if st.Number == 0 {
			number = "follows"
		}
		r := []string{number, st.Feature, st.From, st.To, st.Tool}
		if s.Kind == "change" {
			r = append(r, st.Work)
		}
		rows = append(rows, r)
	}
	return rows
}

func (s *Sheet) findingHeads() []string {
	heads := []string{"", "feature", "place in the shoe", "pose", "give", "before: gap, state, odds"}
	if s.After != nil {
		return append(heads, "after: gap, state, odds")
	}
	heads[5] = "gap, state, odds"
	return heads
}

func (s *Sheet) findingRows() [][]string {
	var rows [][]string
	for i := range s.Findings {
		f := &s.Findings[i]
		r := []string{fmt.Sprint(f.Number), f.Feature, f.Place, f.Pose, f.Give, f.Before.Words()}
		if s.After != nil {
			r = append(r, f.After.Words())
		}
		rows = append(rows, r)
	}
	return rows
}

func (s *Sheet) findingsNote() string {
	if s.FindingsLeft == 0 {
		return s.FindingsHow
	}
	return fmt.Sprintf("%d more places are clear and not listed. %s", s.FindingsLeft, s.FindingsHow)
}

func (s *Sheet) supportHeads() []string {
	if s.After != nil {
		return []string{"figure", "ordered", "before", "after", "band", "what a change of it means"}
	}
	return []string{"figure", "ordered", "now", "band", "what a change of it means"}
}

func (s *Sheet) supportRows(u lengths.Unit) [][]string {
	var rows [][]string
	for _, f := range s.Support {
		unit := u.Instead(f.Unit)
		bare := func(text string) string { return strings.TrimSuffix(u.Tell(text+" "+f.Unit), " "+unit) }
		cell := func(v Number) string { return bare(short(float64(v))) }
		name := f.Name
		if unit != "" {
			name += ", " + unit
		}
		r := []string{name, cell(f.Ordered), cell(f.Before)}
		if s.After != nil {
			r = append(r, cell(f.After))
		}
		rows = append(rows, append(r, bare(f.Band), f.Words))
	}
	return rows
}
