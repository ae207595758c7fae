package console

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/casebook"
	"lastroom/internal/problem"
)

// bookFlag is the casebook that a command works on.
func (c *call) bookFlag() *string {
	var file string
	c.flags.StringVar(&file, "casebook", "", "")
	return &file
}

// book opens a casebook; what it has to tell is said.
func (c *call) book(file string, write bool) (*casebook.Book, error) {
	var s casebook.Settings
	if write { // reading needs no waiting
		s.Wait = 3 * time.Second
	}
	b, err := casebook.Open(c.ctx, file, s)
	if err != nil {
		return nil, err
	}
	for _, n := range b.Notices() {
		fmt.Fprintln(c.errOut, "roomcheck:", n)
	}
	why, readOnly := b.ReadOnly()
	if readOnly && !write {
		fmt.Fprintf(c.errOut, "roomcheck: the casebook is open for reading only: %s\n", why)
	}
	if readOnly && write {
		_ = b.Close()
		return nil, problem.Problem{File: b.File(), Limit: "it can only be read now: " + why, Mend: "close the other program or choose another file with --casebook"}
	}
	return b, nil
}

const caseDeeds = "list, show, new, add, note, history, undo, redo, export, import, verify, demo, forget, delete"

// caseCall is a `case` command with its flags read.
type caseCall struct {
	*call
	b               *casebook.Book
	words           []string
	text, out, code string
	accept, yes     bool
	read            func() (*job, error)
}

func runCase(c *call) error {
	k := caseCall{call: c}
	file := c.bookFlag()
	c.flags.StringVar(&k.text, "text", "", "")
	c.flags.StringVar(&k.out, "out", "", "")
	c.flags.StringVar(&k.code, "code", "", "")
	c.flags.BoolVar(&k.accept, "accept", false, "")
	c.flags.BoolVar(&k.yes, "yes", false, "")
	k.read = jobFlags(c)
	words, err := c.parse()
	if err != nil {
		return err
	}
	deeds := map[string]struct {
		do    func(*caseCall) error
		named bool // works on a case
		write bool
	}{
		"list": {(*caseCall).list, false, false}, "demo": {(*caseCall).demo, false, true}, "show": {(*caseCall).show, true, false}, "new": {(*caseCall).fresh, true, true},
		"add": {(*caseCall).add, true, true}, "note": {(*caseCall).note, true, true}, "history": {(*caseCall).history, true, false},
		"undo": {(*caseCall).undo, true, true}, "redo": {(*caseCall).redo, true, true}, "export": {(*caseCall).export, true, false},
		"import": {(*caseCall).take, true, true}, "verify": {(*caseCall).verify, false, false}, "forget": {(*caseCall).forget, true, true},
		"delete": {(*caseCall).remove, true, true},
	}
	if len(words) == 0 {
		return problem.Problem{Field: "case", Limit: "one of " + caseDeeds, Mend: "see roomcheck help"}
	}
	deed, ok := deeds[words[0]]
	if !ok {
		return problem.Problem{Field: "case", Value: clipped(words[0]), Limit: "one of " + caseDeeds, Mend: "see roomcheck help"}
	}
	k.words = words[1:]
	if deed.named && len(k.words) != 1 {
		return problem.Problem{Field: "case " + words[0], Limit: "one code is needed (for import: one file)", Mend: "see roomcheck case list"}
	}
	if k.b, err = c.book(*file, deed.write); err != nil {
		return err
	}
	defer k.b.Close()
	return deed.do(&k)
}

type caseRow struct {
	Code    string    `json:"code"`
	ID      string    `json:"id"`
	Changed time.Time `json:"changed"`
	Summary string    `json:"summary"`
}

func (k *caseCall) list() error {
	found, of := k.b.Search(strings.Join(k.words, " "), 0)
	if k.asJSON {
		rows := []caseRow{}
		for _, e := range found {
			rows = append(rows, caseRow{e.Code, e.ID, e.Changed, e.Summary})
		}
		return k.json(map[string]any{"cases": rows, "casebook": k.b.File()})
	}
	w := tabwriter.NewWriter(k.call.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "code\tchanged\twhat it has")
	for _, e := range found {
		fmt.Fprintf(w, "%s\t%s\t%s\n", e.Code, day(e.Changed), e.Summary)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(k.call.out, "\n%d of %d cases in %s\n", len(found), of, k.b.File())
	return nil
}

func day(t time.Time) string { return t.Local().Format("2006-01-02 15:04") }

func (k *caseCall) state() (casebook.State, error) { return k.b.Get(k.ctx, k.words[0]) }

func (k *caseCall) show() error {
	s, err := k.state()
	if err != nil {
		return err
	}
	if k.asJSON {
		return k.json(&s.Case)
	}
	fmt.Fprintln(k.call.out, strings.Join(s.Case.Lines(), "\n"))
	if s.Undo != "" {
		fmt.Fprintf(k.call.out, "undo would take back: %s\n", s.Undo)
	}
	if s.Redo != "" {
		fmt.Fprintf(k.call.out, "redo would do again: %s\n", s.Redo)
	}
	return nil
}

func (k *caseCall) said(s casebook.State, what string) error {
	if k.asJSON {
		return k.json(&s.Case)
	}
	fmt.Fprintf(k.call.out, "%s: %s\n", s.Case.Code, what)
	return nil
}

func (k *caseCall) fresh() error {
	s, err := k.b.New(k.ctx, k.words[0])
	if err != nil {
		return err
	}
	return k.said(s, "begun")
}

// add puts a shoe and a device, the foot and what is calculated for them into the case. With options of --with the device is kept as
// ordered and as changed.
func (k *caseCall) add() error {
	j, err := k.read()
	if err != nil {
		return err
	}
	s, err := k.state()
	if err != nil {
		return err
	}
	if j.scan != nil || j.scanned != nil {
		return problem.Problem{Field: "case add", Limit: "a shoe with a sheet and a device with options are needed", Mend: "put a scanned shoe on the shelf first; attach the scan of a device in the window"}
	}
	bench, dev, err := j.prepare(k.call)
	if err != nil {
		return err
	}
	r, err := bench.Check(k.ctx, dev, j.foot)
	if err != nil {
		return err
	}
	st, err := j.stand(r)
	if err != nil {
		return err
	}
	s, err = k.b.Change(k.ctx, s.Case.ID, s.Rev, func(c *casebook.Case) error { return c.Take(time.Now(), st) })
	if err != nil {
		return err
	}
	return k.said(s, r.Verdict.Sentence+"\n"+r.Verdict.Limits)
}

// stand is where the job stands, with what was calculated for it.
func (j *job) stand(r *fit.Result) (casebook.Stand, error) {
	report, err := json.Marshal(j.report(r, nil))
	return casebook.Stand{
		Foot: j.foot, Shoe: j.sheet, InsoleOut: j.insoleOut, Ordered: j.ordered, Now: j.options, Label: j.device, Result: r, Report: report,
	}, err
}

func (k *caseCall) note() error {
	if strings.TrimSpace(k.text) == "" {
		return problem.Problem{Field: "--text", Limit: "a note is needed", Mend: "give --text \"…\""}
	}
	s, err := k.state()
	if err != nil {
		return err
	}
	s, err = k.b.Change(k.ctx, s.Case.ID, s.Rev, func(c *casebook.Case) error { c.AddNote(time.Now(), k.text); return nil })
	if err != nil {
		return err
	}
	return k.said(s, "noted")
}

func (k *caseCall) history() error {
	s, err := k.state()
	if err != nil {
		return err
	}
	list, err := k.b.History(k.ctx, s.Case.ID)
	if err != nil {
		return err
	}
	if k.asJSON {
		return k.json(map[string]any{"case": s.Case.Code, "changes": list})
	}
	for _, h := range list {
		here := ""
		if h.Holds {
			here = "  (as it is now)"
		}
		fmt.Fprintf(k.call.out, "%s  %s  %s%s\n", day(h.At), h.Kind, h.Said, here)
	}
	return nil
}

func (k *caseCall) undo() error { return k.back("taken back", k.b.Undo) }
func (k *caseCall) redo() error { return k.back("done again", k.b.Redo) }

func (k *caseCall) back(what string, do func(ctx context.Context, id string) (casebook.State, error)) error {
	s, err := k.state()
	if err != nil {
		return err
	}
	said := s.Undo
	if what == "done again" {
		said = s.Redo
	}
	if s, err = do(k.ctx, s.Case.ID); err != nil {
		return err
	}
	return k.said(s, what+": "+said)
}

func (k *caseCall) export() error {
	if k.out == "" {
		return problem.Problem{Field: "--out", Limit: "a file is needed", Mend: "say where it goes, for example --out case.zip"}
	}
	s, err := k.state()
	if err != nil {
		return err
	}
	if err := k.b.ExportFile(k.ctx, s.Case.ID, k.out); err != nil {
		return err
	}
	return k.said(s, "written to "+k.out+". It has health data: send it as you would send a letter to a colleague.")
}

func (k *caseCall) take() error {
	p, err := casebook.OpenPacket(k.words[0])
	if err != nil {
		return err
	}
	defer p.Close()
	if p.Case == nil {
		return problem.Problem{File: k.words[0], Limit: "it holds a shelf of shoes, no case", Mend: "use roomcheck shelf import"}
	}
	s, err := k.b.Import(k.ctx, p, casebook.ImportOptions{Code: k.code, Accept: k.accept})
	if err != nil {
		return err
	}
	return k.said(s, "taken in from "+k.words[0])
}

func (k *caseCall) verify() error {
	rep, err := k.b.Verify(k.ctx)
	if err != nil {
		return err
	}
	if k.asJSON {
		if err := k.json(map[string]any{"casebook": k.b.File(), "cases": rep.Cases, "changes": rep.Changes, "files": rep.Files, "problems": rep.Problems}); err != nil {
			return err
		}
	} else {
		fmt.Fprintf(k.call.out, "%s: %d cases, %d changes, %d files, %d problems\n", k.b.File(), rep.Cases, rep.Changes, rep.Files, len(rep.Problems))
	}
	return rep.Problems.Err()
}

// demo puts the invented clinic into the book.
func (k *caseCall) demo() error {
	n, err := casebook.AddDemo(k.ctx, k.b)
	if err != nil {
		return err
	}
	if k.asJSON {
		return k.json(map[string]any{"added": n, "casebook": k.b.File()})
	}
	fmt.Fprintf(k.call.out, "%d invented cases added to %s\n", n, k.b.File())
	return nil
}

func (k *caseCall) forget() error {
	s, err := k.sure("forgets its history and all files that it no longer has")
	if err != nil {
		return err
	}
	if s, err = k.b.Forget(k.ctx, s.Case.ID); err != nil {
		return err
	}
	return k.said(s, "its past is deleted")
}

func (k *caseCall) remove() error {
	s, err := k.sure("deletes it for good, from the backups too")
	if err != nil {
		return err
	}
	if err := k.b.Delete(k.ctx, s.Case.ID); err != nil {
		return err
	}
	return k.said(s, "deleted for good; exported files and copies made elsewhere are not")
}

// sure is the case, when --yes was given.
func (k *caseCall) sure(what string) (casebook.State, error) {
	s, err := k.state()
	if err == nil && !k.yes {
		err = problem.Problem{Field: "--yes", Limit: "this " + what + "; nothing brings it back", Mend: "give --yes when you are sure"}
	}
	return s, err
}

// jobOfCase is the job that a case stands at.
func jobOfCase(k *casebook.Case, name string) (*job, error) {
	s, err := k.Stands()
	if err != nil {
		ps := asProblems(err)
		for i := range ps {
			ps[i].File = name
		}
		return nil, ps
	}
	return &job{sheet: s.Shoe, insoleOut: s.InsoleOut, options: s.Now, ordered: s.Ordered, device: s.Label, foot: s.Foot}, nil
}

// runOpen shows the case of an exchange file: a lab's way in. With --with it is a proposal, which --out writes as the same kind of file.
func runOpen(c *call) error {
	var out, text string
	var with repeated
	c.flags.StringVar(&out, "out", "", "")
	c.flags.StringVar(&text, "text", "", "")
	c.flags.Var(&with, "with", "")
	words, err := c.parse()
	if err != nil {
		return err
	}
	if len(words) != 1 {
		return problem.Problem{Field: "open", Limit: "one file is needed", Mend: "give the file that was sent"}
	}
	p, err := casebook.OpenPacket(words[0])
	if err != nil {
		return err
	}
	defer p.Close()
	if err := p.Check(); err != nil {
		return err
	}
	if p.Case == nil {
		return problem.Problem{File: words[0], Limit: "it holds a shelf of shoes, no case", Mend: "use roomcheck shelf import"}
	}
	if out == "" && text != "" || out != "" && len(with) == 0 && text == "" {
		return problem.Problem{Field: "--out", Limit: "a proposal goes with a file to write it to", Mend: "give --with key=value or --text, and --out FILE"}
	}
	j, err := jobOfCase(p.Case, words[0])
	if err != nil {
		return err
	}
	before := j.options
	for _, kv := range with {
		key, value, ok := strings.Cut(kv, "=")
		if !ok {
			return problem.Problem{Field: "--with", Value: clipped(kv), Limit: "key=value is needed", Mend: "see roomcheck keys"}
		}
		if err := j.set(strings.TrimSpace(key), strings.TrimSpace(value)); err != nil {
			return err
		}
	}
	if err := j.options.Validate().Err(); err != nil {
		return err
	}
	bench, dev, err := j.prepare(c)
	if err != nil {
		return err
	}
	r, err := bench.Check(c.ctx, dev, j.foot)
	if err != nil {
		return err
	}
	if out != "" {
		if err := c.propose(p, j, r, text, out); err != nil {
			return err
		}
	}
	if c.asJSON {
		return c.json(map[string]any{"case": p.Case, "fit": j.report(r, nil)})
	}
	fmt.Fprintln(c.out, strings.Join(p.Case.Lines(), "\n"))
	fmt.Fprintln(c.out)
	if before != j.options {
		was, err := device.Build(before)
		if err != nil {
			return err
		}
		for _, ch := range fit.ChangesBetween(was, dev) {
			fmt.Fprintf(c.out, "proposed: %s (%s)\n", ch.Words, ch.Work.Words())
		}
		fmt.Fprintln(c.out)
	}
	return j.print(c, r, nil)
}

// propose writes the packet's case with what is proposed as a new exchange file, by way of a casebook of its own.
func (c *call) propose(p *casebook.Packet, j *job, r *fit.Result, text, out string) (err error) {
	dir, err := os.MkdirTemp("", "lastroom-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	b, err := casebook.Open(c.ctx, dir+"/proposal.db", casebook.Settings{})
	if err != nil {
		return err
	}
	defer b.Close()
	s, err := b.Import(c.ctx, p, casebook.ImportOptions{})
	if err != nil {
		return err
	}
	st, err := j.stand(r)
	if err != nil {
		return err
	}
	if s, err = b.Change(c.ctx, s.Case.ID, s.Rev, func(k *casebook.Case) error {
		if err := k.Take(time.Now(), st); err != nil {
			return err
		}
		if text != "" {
			k.AddNote(time.Now(), text)
		}
		return nil
	}); err != nil {
		return err
	}
	return b.ExportFile(c.ctx, s.Case.ID, out)
}
