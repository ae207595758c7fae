package console

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/problem"
)

type shoeRow struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Kind string `json:"kind"`
	Size string `json:"size"`
	Own  bool   `json:"own"`
	Scan string `json:"scan,omitempty"`
	Note string `json:"note,omitempty"`
}

func runShoes(c *call) error {
	var own string
	c.flags.StringVar(&own, "shelf", "", "")
	words, err := c.parse()
	if err != nil {
		return err
	}
	view, err := viewShelf(c, own)
	if err != nil {
		return err
	}
	found := view.Search(strings.Join(words, " "))
	rows := make([]shoeRow, len(found))
	for i, s := range found {
		shoe, err := view.Find(s.ID)
		if err != nil {
			return err
		}
		rows[i] = rowOf(shoe)
	}
	if c.asJSON {
		return c.json(map[string]any{"shoes": rows})
	}
	if len(rows) == 0 {
		fmt.Fprintln(c.out, "no shoe answers to these words")
		return nil
	}
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	for _, r := range rows {
		fmt.Fprintln(w, r)
	}
	return w.Flush()
}

func runPresets(c *call) error {
	if err := c.parseFlags(); err != nil {
		return err
	}
	type row struct {
		ID   string `json:"id"`
		Name string `json:"name"`
		For  string `json:"for"`
	}
	var rows []row
	for _, p := range device.Presets() {
		rows = append(rows, row{p.ID, p.Name, p.For})
	}
	if c.asJSON {
		return c.json(map[string]any{"presets": rows})
	}
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	for _, r := range rows {
		fmt.Fprintf(w, "%s\t%s\t%s\n", r.ID, r.Name, r.For)
	}
	return w.Flush()
}

func runShow(c *call) error {
	var own, size string
	c.flags.StringVar(&own, "shelf", "", "")
	c.flags.StringVar(&size, "size", "", "")
	rest, err := c.parse()
	if err != nil {
		return err
	}
	if len(rest) != 1 {
		return problem.Problem{Field: "arguments", Value: strings.Join(rest, " "), Limit: "one shoe is needed", Mend: "roomcheck show SHOE; see roomcheck shoes"}
	}
	s, err := findShoe(own, rest[0], size)
	if err != nil {
		return err
	}
	if c.asJSON {
		return footwear.WriteSheet(c.out, s)
	}
	fmt.Fprintf(c.out, "%s (%s), %s, %s\n%s\n\n", s.Name, s.ID, s.Kind, s.Size, s.Note)
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "measure\tvalue\t±\tunit\ttaken with")
	for id, m := range s.M {
		info := footwear.MeasureID(id).Info()
		with := string(m.Instrument)
		if m.Assumed {
			with = "assumed"
		}
		fmt.Fprintf(w, "%s\t%.4g\t%.2g\t%s\t%s\n", info.Name, m.Value, m.PlusMinus, info.Unit, with)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	insole := "the insole stays in"
	if s.InsoleRemovable {
		insole = "the insole can be taken out"
	}
	fmt.Fprintf(c.out, "\n%s; closes by %s; outline %s, toe %s; sole %s\n", insole, s.Closure, s.Outline, s.ToeShape, s.SoleStiffness)
	if ps := s.Validate(); len(ps) > 0 {
		return ps.In(rest[0])
	}
	return nil
}
