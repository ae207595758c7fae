package console

import (
	"fmt"
	"os"
	"path/filepath"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/casebook"
	"lastroom/fit/sheet"
	"lastroom/internal/problem"
)

// batchRow is what came of one file of a batch.
type batchRow struct {
	File  string `json:"file"`
	Case  string `json:"case,omitempty"`
	Sheet string `json:"sheet,omitempty"`
	Error string `json:"error,omitempty"`
}

// sheets makes the bench sheets of several exchange files. One that can't be read stops no other; the exit status and the last line say
// that there were such.
func (c *call) sheets(files []string, out, form, paper, date string, o sheetOptions) (err error) {
	if out == "" {
		return problem.Problem{Field: "--out", Limit: "a folder is needed", Mend: "roomcheck sheet --case a.lastroom b.lastroom --out DIR"}
	}
	if o.refit != 0 {
		return problem.Problem{Field: "--refit", Limit: "a case has its change in it", Mend: "leave it out"}
	}
	if o.paper, err = sheet.ParsePaper(paper); err != nil {
		return err
	}
	if o.date, err = dayOf(date); err != nil {
		return err
	}
	if o.form, err = formOf("x." + form); err != nil {
		return problem.Problem{Field: "--form", Value: clipped(form), Limit: "one of pdf, txt, json", Mend: "leave it out for PDF"}
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return folderProblem(out, err)
	}
	show := progressOn(c.errOut)
	rows := []batchRow{}
	taken := map[string]bool{}
	bad := 0
	for i, f := range files {
		show(float64(i)/float64(len(files)), fmt.Sprintf("%d of %d, %s", i+1, len(files), filepath.Base(f)))
		row := batchRow{File: f}
		if err := c.sheetOfFile(f, out, o, taken, &row); err != nil {
			if c.ctx.Err() != nil {
				return c.ctx.Err()
			}
			row.Error, row.Sheet = err.Error(), ""
			bad++
		}
		rows = append(rows, row)
	}
	show(1, "")
	if c.asJSON {
		if err := c.json(map[string]any{"sheets": rows, "failed": bad}); err != nil {
			return err
		}
	} else {
		for _, r := range rows {
			if r.Error != "" {
				fmt.Fprintf(c.out, "FAILED  %s: %s\n", r.File, r.Error)
				continue
			}
			fmt.Fprintf(c.out, "%s  case %s  %s\n", r.Sheet, r.Case, r.File)
		}
		fmt.Fprintf(c.out, "%d of %d sheets made in %s. %s\n", len(files)-bad, len(files), out, fit.Caution)
	}
	if bad > 0 {
		return problem.Problem{Field: "--case", Value: fmt.Sprintf("%d of %d files", bad, len(files)), Limit: "no sheet could be made of them", Mend: "see the list above"}
	}
	return nil
}

// sheetOfFile makes the sheet of one exchange file: of the device as ordered, or of what is to be changed on it.
func (c *call) sheetOfFile(file, dir string, o sheetOptions, taken map[string]bool, row *batchRow) error {
	p, err := casebook.OpenPacket(file)
	if err != nil {
		return err
	}
	defer p.Close()
	if p.Case == nil {
		return problem.Problem{File: file, Limit: "it holds a shelf of shoes, no case", Mend: "give the file of a case"}
	}
	row.Case = p.Case.Code
	j, err := jobOfCase(p.Case, file)
	if err != nil {
		return err
	}
	o.code = p.Case.Code
	s, err := j.sheetOfChange(c, o)
	if err != nil {
		return err
	}
	name := p.Case.Code
	for n := 2; taken[name]; n++ {
		name = fmt.Sprintf("%s-%d", p.Case.Code, n)
	}
	taken[name] = true
	row.Sheet = filepath.Join(dir, name+o.form)
	return writeSheet(s, row.Sheet, o)
}

// sheetOfChange is the sheet of what makes the device as it is to be of the one as ordered; of an order, when nothing is changed.
func (j *job) sheetOfChange(c *call, o sheetOptions) (*sheet.Sheet, error) {
	bench, now, err := j.prepare(c)
	if err != nil {
		return nil, err
	}
	ordered, err := device.Build(j.ordered)
	if err != nil {
		return nil, err
	}
	sc := sheet.Case{Code: o.code, Date: o.date, DeviceName: j.device, Foot: j.foot}
	if sc.Before, sc.After, err = sheet.Compare(c.ctx, bench, ordered, now, j.foot, o.draws); err != nil {
		return nil, err
	}
	return sheet.Of(sc)
}
