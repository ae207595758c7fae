package casepage

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/casebook"
	"lastroom/footwear"
	"lastroom/internal/problem"
)

// mostRows are shown; more are found by more words.
const mostRows = 200

// Work does a job on a book. It may take seconds, and be called from any goroutine, one at a time.
func Work(ctx context.Context, b *casebook.Book, j Job) Done {
	d := Done{Job: j}
	d.Err = d.work(ctx, b, j)
	d.Rows, d.Of = b.Search(j.Query, mostRows)
	if d.Err == nil && d.Case != nil {
		d.ID = d.Case.Case.ID
		d.History, d.Err = b.History(ctx, d.ID)
	}
	return d
}

func (d *Done) work(ctx context.Context, b *casebook.Book, j Job) error {
	has := func(s casebook.State, err error) error {
		if err == nil {
			d.Case = &s
		}
		return err
	}
	edit := func(f func(*casebook.Case) error) error { return has(b.Change(ctx, j.ID, 0, f)) }
	switch j.Do {
	case Find:
		return nil
	case Show:
		return has(b.Get(ctx, j.ID))
	case New:
		return has(b.New(ctx, j.Text))
	case Take:
		return d.take(has(b.Get(ctx, j.ID)))
	case Keep:
		return edit(func(c *casebook.Case) error { return c.Take(time.Now(), j.Stand) })
	case Note:
		if strings.TrimSpace(j.Text) == "" {
			return problem.Problem{Field: "note", Limit: "it is empty", Mend: "write what is to be remembered"}
		}
		return edit(func(c *casebook.Case) error { c.AddNote(time.Now(), j.Text); return nil })
	case Came:
		return edit(func(c *casebook.Case) error {
			shoe, dev := "", ""
			if n := len(c.Results); n > 0 {
				shoe, dev = c.Results[n-1].Shoe, c.Results[n-1].Device
			}
			c.AddOutcome(time.Now(), shoe, dev, j.Outcome)
			return nil
		})
	case Attach:
		return d.attach(ctx, b, j)
	case Undo:
		return d.take(has(b.Undo(ctx, j.ID)))
	case Redo:
		return d.take(has(b.Redo(ctx, j.ID)))
	case Export:
		if err := b.ExportFile(ctx, j.ID, j.Path); err != nil {
			return err
		}
		d.Notice = "Written to " + j.Path + ". It has health data: send it as you would send a letter to a colleague."
		return nil
	case Import:
		return d.takeIn(ctx, b, j)
	case Accept:
		return d.accept(ctx, b, j)
	case Teach:
		var err error
		d.Outcomes, err = b.Outcomes(ctx)
		return err
	case Delete:
		if err := b.Delete(ctx, j.ID); err != nil {
			return err
		}
		d.Notice = "Deleted for good, from the backups too. Files that were exported are not."
		return nil
	case Invited:
		n, err := casebook.AddDemo(ctx, b)
		d.Notice = fmt.Sprintf("%d invented cases were added. They are no one's: delete them when you like.", n)
		return err
	}
	return problem.Problem{Field: string(j.Do), Limit: "nothing that a casebook does", Mend: "choose something else"}
}

// take adds where the case stands; a case that has nothing to stand on yet is no fault.
func (d *Done) take(err error) error {
	if err != nil {
		return err
	}
	s, err := d.Case.Case.Stands()
	if err == nil {
		d.Stand = &s
	} else if d.Job.Do == Take {
		if len(d.Case.Case.Shoes) == 0 && len(d.Case.Case.Devices) == 0 {
			return problem.Problem{Field: "case", Value: d.Case.Case.Code, Limit: "it has no shoe and no device yet", Mend: "begin a case from the desk instead"}
		}
		return err
	}
	return nil
}

func (d *Done) attach(ctx context.Context, b *casebook.Book, j Job) error {
	f, err := os.Open(j.Path)
	if err != nil {
		return problem.Problem{File: j.Path, Limit: "can't be read", Mend: "check the file"}
	}
	defer f.Close()
	kind := "paper"
	switch strings.ToLower(filepath.Ext(j.Path)) {
	case ".jpg", ".jpeg", ".png":
		kind = "photograph"
	case ".stl", ".obj", ".ply", ".3mf":
		kind = "scan"
	}
	s, _, err := b.Attach(ctx, j.ID, casebook.File{Kind: kind, Name: filepath.Base(j.Path)}, f)
	if err == nil {
		d.Case = &s
	}
	return err
}

// takeIn takes a case in, or, when the book has it, holds it against what is here.
func (d *Done) takeIn(ctx context.Context, b *casebook.Book, j Job) error {
	p, err := casebook.OpenPacket(j.Path)
	if err != nil {
		return err
	}
	defer p.Close()
	if p.Case == nil {
		return problem.Problem{File: j.Path, Limit: "it holds a shelf of shoes, no case", Mend: "take it in on the page of your shoes"}
	}
	here, err := b.Get(ctx, p.Case.ID)
	if err != nil {
		var absent problem.Problem
		if !errors.As(err, &absent) {
			return err
		}
		s, err := b.Import(ctx, p, casebook.ImportOptions{Code: j.Text})
		if err != nil {
			return err
		}
		d.Case, d.Notice = &s, "Case "+s.Case.Code+" was taken in."
		return nil
	}
	d.Case = &here
	theirs := *p.Case
	theirs.Code = here.Case.Code
	pr := &Proposal{Path: j.Path, ID: here.Case.ID, Code: here.Case.Code, Differences: casebook.Differences(&here.Case, &theirs)}
	if len(pr.Differences) == 0 {
		d.Notice = "Case " + here.Case.Code + " is here already, and nothing in it differs."
		return nil
	}
	if err := pr.compare(ctx, &here.Case, &theirs); err != nil {
		return err
	}
	d.Proposal = pr
	return nil
}

// compare seats both versions, where both have a pair to be seated.
func (p *Proposal) compare(ctx context.Context, here, there *casebook.Case) error {
	var devices [2]*device.Device
	var bench *fit.Bench
	for i, c := range []*casebook.Case{here, there} {
		s, err := c.Stands()
		if err != nil {
			return nil // nothing to be seated: the words have to do
		}
		room, err := footwear.NewRoom(s.Shoe, !s.InsoleOut)
		if err != nil {
			return err
		}
		if bench, err = fit.NewBench(ctx, room); err != nil {
			return err
		}
		if devices[i], err = device.Build(s.Now); err != nil {
			return err
		}
		r, err := bench.Check(ctx, devices[i], s.Foot)
		if err != nil {
			return err
		}
		mm, words := r.Tightest()
		of := &[]*Standing{&p.Here, &p.There}[i]
		**of = Standing{State: r.Verdict.State, Verdict: r.Verdict.Sentence, Limits: r.Verdict.Limits, Tightest: fmt.Sprintf("%s; %.1f mm to the limit", words, mm)}
		if r.Status != fit.Converged {
			(*of).Tightest = words
		}
	}
	for _, c := range fit.ChangesBetween(devices[0], devices[1]) {
		p.Changes = append(p.Changes, c.Words+" ("+c.Work.Words()+")")
	}
	kept, lost := bench.SupportKept(devices[1], devices[0], fit.DefaultAxis())
	p.Kept = fmt.Sprintf("It keeps %.0f %% of the support that the device has here.", 100*kept)
	if len(lost) > 0 {
		p.Kept += " It gives up: " + strings.Join(lost, ", ") + "."
	}
	return nil
}

func (d *Done) accept(ctx context.Context, b *casebook.Book, j Job) error {
	p, err := casebook.OpenPacket(j.Path)
	if err != nil {
		return err
	}
	defer p.Close()
	if p.Case == nil || p.Case.ID != j.ID {
		return problem.Problem{File: j.Path, Limit: "it is another file than the one that was looked at", Mend: "open it again"}
	}
	s, err := b.Import(ctx, p, casebook.ImportOptions{Accept: true})
	if err != nil {
		return err
	}
	d.Case, d.Notice = &s, "The proposal is accepted; Undo takes it back."
	return d.take(nil)
}
