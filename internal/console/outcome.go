package console

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"time"

	"lastroom/fit"
	"lastroom/fit/casebook"
	"lastroom/fit/drawing"
	"lastroom/internal/problem"
)

// readOutcomes reads a file of outcomes; with missing, a file that is not there has none.
func readOutcomes(name string, missing bool) ([]fit.Outcome, error) {
	if strings.HasSuffix(name, ".db") {
		return outcomesOfBook(name)
	}
	f, err := os.Open(name)
	if missing && errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, problem.Problem{File: name, Field: "--file", Limit: "can't be read", Value: err.Error(), Mend: "check the name and that you may read it"}
	}
	defer f.Close()
	return fit.ReadOutcomes(f, name)
}

// outcomesOfBook are those of all cases of a casebook.
func outcomesOfBook(name string) ([]fit.Outcome, error) {
	b, err := casebook.Open(context.Background(), name, casebook.Settings{ReadOnly: true})
	if err != nil {
		return nil, err
	}
	defer b.Close()
	return b.Outcomes(context.Background())
}

// writeOutcomes puts the file in place in one step, so that what was there is never lost half way.
func writeOutcomes(name string, list []fit.Outcome) error {
	var b bytes.Buffer
	if err := fit.WriteOutcomes(&b, list); err != nil {
		return err
	}
	bad := func(err error) error {
		return problem.Problem{File: name, Field: "--file", Limit: "can't be written", Value: err.Error(), Mend: "check the folder; what was in the file is unchanged"}
	}
	t, err := os.CreateTemp(filepath.Dir(name), ".outcomes-*")
	if err != nil {
		return bad(err)
	}
	defer os.Remove(t.Name())
	_, err = t.Write(b.Bytes())
	if err == nil {
		err = t.Sync()
	}
	if closeErr := t.Close(); err == nil {
		err = closeErr
	}
	if err == nil {
		err = os.Rename(t.Name(), name)
	}
	if err != nil {
		return bad(err)
	}
	return nil
}

func runOutcome(c *call) error {
	var file, code, date, happened, feature, zone, note, picture string
	var ground float64
	c.flags.StringVar(&file, "file", "", "")
	c.flags.StringVar(&code, "case", "", "")
	c.flags.StringVar(&date, "date", time.Now().Format(time.DateOnly), "")
	c.flags.StringVar(&happened, "happened", "", "")
	c.flags.StringVar(&feature, "feature", "", "")
	c.flags.StringVar(&zone, "zone", "", "")
	c.flags.StringVar(&note, "note", "", "")
	c.flags.StringVar(&picture, "picture", "", "")
	c.flags.Float64Var(&ground, "ground-mm", 0, "")
	read := jobFlags(c)
	words, err := c.parse()
	if err != nil {
		return err
	}
	if len(words) != 1 {
		return problem.Problem{Field: "outcome", Limit: "one of add, list, reliability, learn", Mend: "see roomcheck help"}
	}
	if file == "" {
		return problem.Problem{Field: "--file", Limit: "a file of outcomes is needed", Mend: "give --file outcomes.json; add makes it"}
	}
	list, err := readOutcomes(file, words[0] == "add")
	if err != nil {
		return err
	}
	switch words[0] {
	case "add":
		if strings.HasSuffix(file, ".db") {
			return problem.Problem{File: file, Field: "--file", Limit: "outcomes of a casebook are kept with their cases", Mend: "add them in the window, or give a file that ends in .json"}
		}
		on, err := time.Parse(time.DateOnly, date)
		if err != nil {
			return problem.Problem{Field: "--date", Value: clipped(date), Limit: "a day such as 2026-11-26", Mend: "write year-month-day"}
		}
		j, err := read()
		if err != nil {
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
		if r.Status != fit.Converged {
			return fmt.Errorf("%w: %s", errNotConverged, r.Status)
		}
		odds, err := bench.Odds(c.ctx, dev, j.foot, fit.OddsOptions{})
		if err != nil {
			return err
		}
		o := bench.NewOutcome(code, on, dev, r, odds)
		o.Happened, o.Feature, o.Zone, o.GroundMM, o.Note = fit.Happened(happened), feature, zone, ground, note
		if err := o.Validate().Err(); err != nil {
			return err
		}
		if err := writeOutcomes(file, append(list, o)); err != nil {
			return err
		}
		if c.asJSON {
			return c.json(o)
		}
		fmt.Fprintf(c.out, "%s: %s in %s, odds given %.0f %%; %d outcomes in %s\n", o.Case, o.Happened, j.sheet.Name, 100*o.Odds, len(list)+1, file)
		return nil
	case "list":
		if c.asJSON {
			return c.json(map[string]any{"outcomes": list})
		}
		w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "case\tdate\tshoe\tsize\todds\thappened\tplace\tground mm")
		for _, o := range list {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%.0f %%\t%s\t%s %s\t%g\n", o.Case, o.Date, o.Shoe, o.Size, 100*o.Odds, o.Happened, o.Feature, o.Zone, o.GroundMM)
		}
		return w.Flush()
	case "reliability":
		return c.reliability(list, picture)
	case "learn":
		g := fit.LearnGives(list)
		if c.asJSON {
			rows := []map[string]any{}
			for _, f := range g.Factors {
				rows = append(rows, map[string]any{"wall": f.Wall, "closure": f.Closure, "factor": num(f.Factor), "lo": num(f.Lo), "hi": num(f.Hi), "outcomes": f.Outcomes})
			}
			return c.json(map[string]any{"gives": rows, "outcomes": len(list)})
		}
		if len(g.Factors) == 0 {
			fmt.Fprintln(c.out, "Nothing is learnt from these outcomes: the gives of the sheets stand.")
			return nil
		}
		w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "wall\tclosure\tgive × \t90 of 100\toutcomes")
		for _, f := range g.Factors {
			fmt.Fprintf(w, "%s\t%s\t%.2f\t%.2f to %.2f\t%d\n", f.Wall, f.Closure, f.Factor, f.Lo, f.Hi, f.Outcomes)
		}
		if err := w.Flush(); err != nil {
			return err
		}
		fmt.Fprintln(c.out, "\nThey hold only where --outcomes gives this file; leave it out and the gives of the sheets stand.")
		return nil
	}
	return problem.Problem{Field: "outcome", Value: clipped(words[0]), Limit: "one of add, list, reliability, learn", Mend: "see roomcheck help"}
}

func (c *call) reliability(list []fit.Outcome, picture string) error {
	const bins = 5
	found := fit.Reliability(list, bins)
	if picture != "" {
		var b bytes.Buffer
		if err := drawing.ReliabilityPNG(&b, found, false); err != nil {
			return err
		}
		if err := os.WriteFile(picture, b.Bytes(), 0o644); err != nil {
			return problem.Problem{File: picture, Field: "--picture", Limit: "can't be written", Value: err.Error(), Mend: "check the folder"}
		}
	}
	if c.asJSON {
		rows := []map[string]any{}
		for _, b := range found {
			row := map[string]any{"lo": num(b.Lo), "hi": num(b.Hi), "count": b.Count, "went_in": b.Good, "least": num(b.Least), "most": num(b.Most)}
			if !math.IsNaN(b.Said) {
				row["said"], row["came"] = num(b.Said), num(b.Came)
			}
			rows = append(rows, row)
		}
		return c.json(map[string]any{"bins": rows, "outcomes": len(list)})
	}
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "odds given\tdevices\twent in\tshare\t95 of 100")
	for _, b := range found {
		share := "–"
		if b.Count > 0 {
			share = fmt.Sprintf("%.0f %%", 100*b.Came)
		}
		fmt.Fprintf(w, "%.0f to %.0f %%\t%d\t%d\t%s\t%.0f to %.0f %%\n", 100*b.Lo, 100*b.Hi, b.Count, b.Good, share, 100*b.Least, 100*b.Most)
	}
	return w.Flush()
}
