package console

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"lastroom/footwear"
	"lastroom/internal/problem"
)

// sizeReport is the JSON of `size`.
type sizeReport struct {
	FootMM num       `json:"foot_mm"`
	Sizes  []sizeRow `json:"sizes"`
}

type sizeRow struct {
	System       footwear.System `json:"system"`
	Name         string          `json:"name"`
	Exact        num             `json:"exact"`
	Rounded      num             `json:"rounded"`
	LastLengthMM num             `json:"last_length_mm"`
	Sold         bool            `json:"sold"`
}

func runSize(c *call) error {
	var foot float64
	var from, to string
	o, err := sizeOptions(c, func() {
		c.flags.Float64Var(&foot, "foot-mm", 0, "")
		c.flags.StringVar(&from, "from", "", "")
		c.flags.StringVar(&to, "to", "", "")
	})
	if err != nil {
		return err
	}
	switch {
	case (foot == 0) == (from == ""):
		return problem.Problem{Field: "size", Limit: "either --foot-mm or --from is needed", Mend: `for example: roomcheck size --foot-mm 260, or roomcheck size --from "EU 42" --to UK`}
	case from != "":
		s, err := footwear.ParseSize(from)
		if err != nil {
			return err
		}
		if foot, err = footwear.FootLengthMM(s, o); err != nil {
			return err
		}
	}
	rows, err := footwear.SizeTable(foot, o)
	if err != nil {
		return err
	}
	if to != "" {
		sy, err := systemNamed(to)
		if err != nil {
			return err
		}
		kept := rows[:0]
		for _, r := range rows {
			if r.Exact.System == sy {
				kept = append(kept, r)
			}
		}
		rows = kept
	}
	rep := sizeReport{FootMM: num(foot)}
	for _, r := range rows {
		rep.Sizes = append(rep.Sizes, sizeRow{r.Exact.System, r.Exact.System.Name(), num(r.Exact.Value), num(r.Rounded.Value), num(r.LastLengthMM), r.Sold})
	}
	if c.asJSON {
		return c.json(rep)
	}
	fmt.Fprintf(c.out, "foot length %.2f mm\n", foot)
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "system\texact\tas sold\tlast length mm")
	for _, r := range rep.Sizes {
		sold := fmt.Sprint(float64(r.Rounded))
		if !r.Sold {
			sold = "not sold"
		}
		fmt.Fprintf(w, "%s\t%.3f\t%s\t%.2f\n", r.Name, float64(r.Exact), sold, float64(r.LastLengthMM))
	}
	return w.Flush()
}

// sizeOptions adds the flags of the size conventions, parses, and reads them.
func sizeOptions(c *call, more func()) (footwear.SizeOptions, error) {
	var o footwear.SizeOptions
	eu := c.flags.String("eu-allowance", string(footwear.TwoPoints), "")
	women := c.flags.String("us-women", string(footwear.PlusOne), "")
	c.flags.BoolVar(&o.Child, "child", false, "")
	more()
	if err := c.parseFlags(); err != nil {
		return o, err
	}
	o.Allowance, o.USWomen = footwear.Allowance(strings.ToLower(*eu)), footwear.WomenRule(strings.ToLower(*women))
	if o.Allowance != footwear.TwoPoints && o.Allowance != footwear.FifteenMM {
		return o, problem.Problem{Field: "--eu-allowance", Value: *eu, Limit: "two-points or 15-mm", Mend: "choose the convention of the shoe's maker"}
	}
	if o.USWomen != footwear.PlusOne && o.USWomen != footwear.PlusOneAndHalf {
		return o, problem.Problem{Field: "--us-women", Value: *women, Limit: "plus-1 or plus-1.5", Mend: "choose the convention of the shoe's maker"}
	}
	return o, nil
}

// systemNamed finds a size system by its key or its name: "uk", "US men", "us-men".
func systemNamed(text string) (footwear.System, error) {
	fold := func(s string) string { return strings.ReplaceAll(strings.ToLower(strings.TrimSpace(s)), "-", " ") }
	names := make([]string, len(footwear.Systems))
	for i, sy := range footwear.Systems {
		if fold(text) == fold(string(sy)) || fold(text) == fold(sy.Name()) {
			return sy, nil
		}
		names[i] = sy.Name()
	}
	return "", problem.Problem{Field: "--to", Value: clipped(text), Limit: "one of " + strings.Join(names, ", "), Mend: "name one of these systems"}
}
