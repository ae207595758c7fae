// Package casepage is the page of cases without the window: what is found, which case is shown, what can be done with it, and the words
// for it. Work does one job on a casebook and says what came of it; Reduce brings that into the state. Nothing here draws.
package casepage

import (
	"fmt"
	"slices"
	"strings"

	"lastroom/fit"
	"lastroom/fit/casebook"
)

// State is everything that the page shows. It is a value.
type State struct {
	File     string // of the casebook; "" while there is none
	ReadOnly string // why it can only be read; "": it can be written
	Query    string
	Rows     []casebook.Entry // what the query finds, the latest changed first
	Of       int
	Picked   string          // identifier of the case that is shown; "": none
	Case     *casebook.State // as it was read; nil: not yet
	History  []casebook.Change
	On       string // identifier of the case that the desk works on: what changes there is kept in it
	OnCode   string
	Proposal *Proposal // another's version of a case, which waits for an answer
	Notice   string
	Failure  string
	Busy     bool
}

// A Proposal is a case that came back changed.
type Proposal struct {
	Path, ID, Code string
	Differences    []string // of the whole case, in words
	Changes        []string // of the device, in bench terms
	Here, There    Standing // the case as it is here, and as it came
	Kept           string   // of the support, from here to there
}

// Standing is how it fits, in words.
type Standing struct {
	State                     fit.State
	Verdict, Limits, Tightest string
}

// A Deed is what can be done.
type Deed string

// The deeds.
const (
	Find    Deed = "find"   // Text: the query
	Show    Deed = "show"   // reads a case
	New     Deed = "new"    // Text: its code
	Take    Deed = "take"   // gives the desk where the case stands
	Keep    Deed = "keep"   // keeps what stands on the desk
	Note    Deed = "note"   // Text
	Came    Deed = "came"   // Outcome
	Attach  Deed = "attach" // Path
	Undo    Deed = "undo"
	Redo    Deed = "redo"
	Export  Deed = "export" // Path
	Import  Deed = "import" // Path
	Accept  Deed = "accept" // the proposal
	Delete  Deed = "delete"
	Invited Deed = "demo"  // puts the invented clinic in
	Teach   Deed = "teach" // gathers what came of all devices
)

// writes says whether a deed changes the book.
func (d Deed) writes() bool { return !slices.Contains([]Deed{Find, Show, Take, Export, Teach}, d) }

// A Job is one thing to be done with the book. ID is the case.
type Job struct {
	Do             Deed
	ID, Text, Path string
	Query          string // what is searched meanwhile
	Stand          casebook.Stand
	Outcome        fit.Outcome
}

// Done is what came of a job. Rows are always those of the query.
type Done struct {
	Job      Job
	Rows     []casebook.Entry
	Of       int
	ID       string          // the case that is shown from now on; "": as before
	Case     *casebook.State // of it
	History  []casebook.Change
	Stand    *casebook.Stand // of Take
	Proposal *Proposal
	Outcomes []fit.Outcome // of Teach
	Notice   string
	Err      error
}

// An Action is an intention or a report.
type Action interface{ action() }

// Intentions and reports.
type (
	// Opened says that there is a book, or why there is none.
	Opened struct {
		File, ReadOnly string
		Notices        []string
		Err            error
	}
	// Search narrows the list.
	Search struct{ Text string }
	// Pick shows a case; PickBy goes on by so many.
	Pick   struct{ ID string }
	PickBy struct{ N int }
	// Do asks for a deed on the case that is shown.
	Do struct {
		What       Deed
		Text, Path string
		Outcome    fit.Outcome
	}
	// Stands says where the desk stands now: it is kept in the case that the desk works on.
	Stands struct{ Stand casebook.Stand }
	// Leave ends that the desk works on a case.
	Leave struct{}
	// Decline leaves a proposal.
	Decline struct{}
)

func (Opened) action()  {}
func (Search) action()  {}
func (Pick) action()    {}
func (PickBy) action()  {}
func (Do) action()      {}
func (Stands) action()  {}
func (Leave) action()   {}
func (Decline) action() {}
func (Done) action()    {}

// An Effect is what the window has to do: a Job, or TakeUp.
type Effect interface{ effect() }

// TakeUp puts on the desk where a case stands.
type TakeUp struct {
	Stand casebook.Stand
	Code  string
}

// ShowTaught shows what the outcomes of the book say of the odds, and what they teach.
type ShowTaught struct{ Outcomes []fit.Outcome }

func (Job) effect()        {}
func (ShowTaught) effect() {}
func (TakeUp) effect()     {}

// Reduce is what an action makes of a state, and what has to be done for it. It is pure.
func Reduce(s State, a Action) (State, []Effect) {
	switch a := a.(type) {
	case Opened:
		s.File, s.ReadOnly, s.Failure, s.Notice = a.File, a.ReadOnly, "", strings.Join(a.Notices, " ")
		if a.Err != nil {
			s.Failure = a.Err.Error()
			return s, nil
		}
		return s, []Effect{Job{Do: Find, Query: s.Query}}
	case Search:
		s.Query = a.Text
		return s.ask(Job{Do: Find})
	case Pick:
		if a.ID == s.Picked && s.Case != nil {
			return s, nil
		}
		s.Picked, s.Case, s.History = a.ID, nil, nil
		return s.ask(Job{Do: Show, ID: a.ID})
	case PickBy:
		if len(s.Rows) == 0 {
			return s, nil
		}
		i := slices.IndexFunc(s.Rows, func(e casebook.Entry) bool { return e.ID == s.Picked })
		return Reduce(s, Pick{ID: s.Rows[max(0, min(i+a.N, len(s.Rows)-1))].ID})
	case Do:
		if why := s.Not(a.What); why != "" {
			s.Failure = why
			return s, nil
		}
		j := Job{Do: a.What, ID: s.Picked, Text: a.Text, Path: a.Path, Outcome: a.Outcome}
		if a.What == Accept {
			j.ID, j.Path = s.Proposal.ID, s.Proposal.Path
		}
		return s.ask(j)
	case Stands:
		if s.On == "" || s.ReadOnly != "" {
			return s, nil
		}
		return s.ask(Job{Do: Keep, ID: s.On, Stand: a.Stand})
	case Leave:
		s.On, s.OnCode = "", ""
	case Decline:
		s.Proposal, s.Notice = nil, "The proposal is left; the case is as it was."
	case Done:
		return s.done(a)
	}
	return s, nil
}

// ask has a job done; what was told before is old.
func (s State) ask(j Job) (State, []Effect) {
	if s.File == "" {
		return s, nil
	}
	j.Query = s.Query
	s.Failure = ""
	if j.Do.writes() && j.Do != Keep {
		s.Notice = ""
	}
	s.Busy = true
	return s, []Effect{j}
}

func (s State) done(d Done) (State, []Effect) {
	s.Busy = false
	if d.Err != nil {
		s.Failure = d.Err.Error()
		return s, nil
	}
	if d.Job.Query == s.Query {
		s.Rows, s.Of = d.Rows, d.Of
	}
	if d.Notice != "" {
		s.Notice = d.Notice
	}
	if d.Proposal != nil {
		s.Proposal = d.Proposal
	} else if d.Job.Do == Accept {
		s.Proposal = nil
	}
	switch {
	case d.Job.Do == Delete:
		if s.On == d.Job.ID {
			s.On, s.OnCode = "", ""
		}
		s.Picked, s.Case, s.History = "", nil, nil
	case d.ID != "" && (d.Job.Do != Show && d.Job.Do != Keep || d.ID == s.Picked):
		s.Picked, s.Case, s.History = d.ID, d.Case, d.History
	}
	if d.Case != nil && d.Case.Case.ID == s.On {
		s.OnCode = d.Case.Case.Code
	}
	switch d.Job.Do {
	case Teach:
		return s, []Effect{ShowTaught{d.Outcomes}}
	case New: // the desk goes on in the new case
		s.On, s.OnCode = d.ID, d.Case.Case.Code
	case Take, Accept, Undo, Redo:
		if d.Stand != nil && (d.Job.Do == Take || s.On == d.ID) {
			s.On, s.OnCode = d.ID, d.Case.Case.Code
			return s, []Effect{TakeUp{Stand: *d.Stand, Code: s.OnCode}}
		}
	}
	return s, nil
}

// Not says why a deed can't be done now; "": it can.
func (s *State) Not(d Deed) string {
	switch {
	case s.File == "":
		return "There is no casebook."
	case d.writes() && s.ReadOnly != "":
		return "The casebook can only be read now: " + s.ReadOnly + "."
	case d == Find || d == New || d == Import || d == Invited || d == Teach:
		return ""
	case d == Accept:
		if s.Proposal == nil {
			return "There is no proposal."
		}
		return ""
	case s.Picked == "":
		return "Choose a case first."
	case d == Came && s.On != s.Picked:
		return "Open the case on the desk first: an outcome is held against what was calculated."
	case d == Undo && s.Case != nil && s.Case.Undo == "":
		return "Nothing is left to take back in this case."
	case d == Redo && s.Case != nil && s.Case.Redo == "":
		return "Nothing is left to do again in this case."
	}
	return ""
}

// Words are what stands on the page.
type Words struct {
	Title, Notice string
	Warn          bool   // the notice is a failure
	About         string // the case that is shown
	Remarks       string // what people wrote about it, as they wrote it
	History       string
	Undo, Redo    string
}

// WordsView is what the page says.
func WordsView(s *State) Words {
	w := Words{Title: "Cases", Undo: "Undo", Redo: "Redo"}
	switch {
	case s.Failure != "":
		w.Notice, w.Warn = s.Failure, true
	case s.Notice != "":
		w.Notice = s.Notice
	case s.ReadOnly != "":
		w.Notice, w.Warn = "It can only be read now: "+s.ReadOnly+".", true
	case s.On != "":
		w.Notice = "The desk works on case " + s.OnCode + ": every change there is kept as it is made."
	default:
		w.Notice = "The desk works on no case: nothing of it is kept. Return opens the chosen case there; F2 begins one with what stands there."
	}
	if s.File != "" {
		w.Title = fmt.Sprintf("Cases · %d of %d · %s", len(s.Rows), s.Of, s.File)
	}
	if s.Case == nil {
		return w
	}
	w.About, w.Remarks = strings.Join(s.Case.Case.Facts(), "\n"), strings.Join(s.Case.Case.Remarks(), "\n")
	var lines []string
	for i := len(s.History) - 1; i >= 0; i-- {
		h := s.History[i]
		mark := ""
		if h.Holds {
			mark = "  (as it is now)"
		}
		lines = append(lines, fmt.Sprintf("%s  %s  %s%s", h.At.Local().Format("2006-01-02 15:04"), h.Kind, h.Said, mark))
	}
	w.History = strings.Join(lines, "\n")
	if s.Case.Undo != "" {
		w.Undo = "Undo: " + clipped(s.Case.Undo)
	}
	if s.Case.Redo != "" {
		w.Redo = "Redo: " + clipped(s.Case.Redo)
	}
	return w
}

// clipped is a text that a button has room for; the history has it whole.
func clipped(text string) string {
	const most = 34
	if r := []rune(text); len(r) > most {
		return string(r[:most]) + "…"
	}
	return text
}
