package console

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/sheet"
	"lastroom/internal/lengths"
	"lastroom/internal/problem"
)

// sheetOptions say how sheets are made.
type sheetOptions struct {
	refit int // entry of the search to carry out, from 1; 0: none
	draws int
	paper sheet.Paper
	unit  lengths.Unit // that lengths are told in
	date  time.Time
	code  string
	form  string // ending of the file: .pdf, .txt, .json
}

func runSheet(c *call) error {
	var out, paper, unit, date, form string
	var o sheetOptions
	var cases repeated
	read := jobFlags(c)
	c.flags.IntVar(&o.refit, "refit", 0, "")
	c.flags.IntVar(&o.draws, "draws", 2000, "")
	c.flags.StringVar(&paper, "paper", "a4", "")
	c.flags.StringVar(&unit, "lengths", "mm", "")
	c.flags.StringVar(&date, "date", "", "")
	c.flags.StringVar(&o.code, "code", "", "")
	c.flags.StringVar(&out, "out", "", "")
	c.flags.StringVar(&form, "form", "pdf", "")
	c.flags.Var(&cases, "case", "")
	more, err := c.parse()
	if err != nil {
		return err
	}
	if o.unit, err = unitOf(unit); err != nil {
		return err
	}
	if len(cases) > 0 {
		return c.sheets(append(cases, more...), out, form, paper, date, o)
	}
	if len(more) > 0 {
		return problem.Problem{Field: "arguments", Value: clipped(strings.Join(more, " ")), Limit: "files go with --case", Mend: "see roomcheck help"}
	}
	var ps problem.Problems
	note := func(err error) {
		if err != nil {
			ps = append(ps, asProblems(err)...)
		}
	}
	o.paper, err = sheet.ParsePaper(paper)
	note(err)
	o.date, err = dayOf(date)
	note(err)
	o.form, err = formOf(out)
	note(err)
	if o.refit < 0 {
		note(problem.Problem{Field: "--refit", Value: fmt.Sprint(o.refit), Limit: "1 or more", Mend: "see roomcheck refit for the numbers of the choices"})
	}
	j, err := read()
	note(err)
	if err := ps.Err(); err != nil {
		return err
	}
	s, err := j.sheetOf(c, o)
	if err != nil {
		return err
	}
	if err := writeSheet(s, out, o); err != nil {
		return err
	}
	fmt.Fprintf(c.out, "%s\n%s\n%s\n", out, s.Title+", "+s.Side+" device", fit.Caution)
	return nil
}

// unitOf is the unit that lengths are told in.
func unitOf(name string) (lengths.Unit, error) {
	u, ok := lengths.Of(name)
	if !ok {
		return u, problem.Problem{Field: "--lengths", Value: clipped(name), Limit: "mm or in", Mend: "choose one of them"}
	}
	return u, nil
}

// dayOf reads a day; empty is today.
func dayOf(text string) (time.Time, error) {
	if text == "" {
		return time.Now(), nil
	}
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return t, problem.Problem{Field: "--date", Value: clipped(text), Limit: "a day is needed", Mend: "write it as 2026-11-27"}
	}
	return t, nil
}

// formOf is the form that a file's name asks for.
func formOf(name string) (string, error) {
	form := strings.ToLower(filepath.Ext(name))
	switch form {
	case ".pdf", ".txt", ".json":
		return form, nil
	}
	return "", problem.Problem{Field: "--out", Value: clipped(name), Limit: "a file that ends in .pdf, .txt or .json", Mend: "say where the sheet goes, for example sheet.pdf"}
}

// writeSheet writes a sheet to a file; one that can't be finished is taken away again.
func writeSheet(s *sheet.Sheet, name string, o sheetOptions) error {
	err := writeFile(name, func(f *os.File) error {
		switch o.form {
		case ".txt":
			return sheet.WriteText(f, s, o.unit)
		case ".json":
			return sheet.WriteJSON(f, s)
		default:
			return sheet.WritePDF(f, s, o.paper, o.unit)
		}
	})
	var p problem.Problem
	if err != nil && !errors.As(err, &p) {
		os.Remove(name)
	}
	return err
}

// sheetOf calculates the job and makes its sheet.
func (j *job) sheetOf(c *call, o sheetOptions) (*sheet.Sheet, error) {
	bench, dev, err := j.prepare(c)
	if err != nil {
		return nil, err
	}
	ordered := dev
	if j.scanned == nil {
		if ordered, err = device.Build(j.ordered); err != nil {
			return nil, err
		}
	}
	sc := sheet.Case{Code: o.code, Date: o.date, DeviceName: j.device, FromScan: j.scanned != nil, Foot: j.foot}
	if o.refit > 0 {
		show := progressOn(c.errOut)
		r, err := bench.Refit(c.ctx, dev, fit.RefitOptions{
			Axis: fit.DefaultAxis(), Ordered: ordered, Foot: j.foot, Shoes: fit.UsualShoes(bench.Room), ShapeFromScan: j.scanned != nil, Draws: o.draws,
			Progress: func(p fit.RefitProgress) { show(p.Done, fmt.Sprintf("%s, %d tried", p.What, p.Tried)) },
		})
		show(1, "")
		if err != nil {
			return nil, err
		}
		if o.refit > len(r.Choices) {
			return nil, problem.Problem{Field: "--refit", Value: fmt.Sprint(o.refit), Limit: fmt.Sprintf("the search found %d choices", len(r.Choices)), Mend: "see roomcheck refit for them"}
		}
		sc.Before, sc.After = &r.AsIs, &r.Choices[o.refit-1]
		return sheet.Of(sc)
	}
	if sc.Before, err = sheet.AsIs(c.ctx, bench, dev, ordered, j.foot, o.draws); err != nil {
		return nil, err
	}
	return sheet.Of(sc)
}
