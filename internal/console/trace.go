package console

import (
	"fmt"
	"path/filepath"
	"text/tabwriter"

	"lastroom/footwear"
	"lastroom/footwear/trace"
	"lastroom/internal/problem"
)

// traceReport is what trace prints with --json.
type traceReport struct {
	Photo       string         `json:"photo"`
	What        trace.What     `json:"what"`
	Sheet       trace.Paper    `json:"sheet"`
	Side        trace.Side     `json:"side"`
	SideGuessed bool           `json:"side_guessed"`
	LengthMM    num            `json:"length_mm"`
	SeatMM      num            `json:"seat_width_mm"`
	WaistMM     *num           `json:"waist_width_mm"` // null: the outline has no waist
	BallMM      num            `json:"ball_width_mm"`
	SwingMM     num            `json:"swing_mm"`
	Outline     string         `json:"outline"`
	ToeShape    string         `json:"toe_shape"`
	PlusMinus   map[string]num `json:"plus_minus_mm"`
	Instrument  string         `json:"instrument"`
	PxPerMM     num            `json:"px_per_mm"`
	BowMM       num            `json:"sheet_bow_mm"`
	EyeHeightMM num            `json:"camera_height_mm"`
	CornersPx   [][2]num       `json:"corners_px"`
	PolygonMM   [][2]num       `json:"polygon_mm"`
	Notes       []string       `json:"notes"`
}

// traceRow is one measure of a tracing.
type traceRow struct {
	key, name string
	m         footwear.Measure
}

func traceRows(t *trace.Tracing) []traceRow {
	return []traceRow{
		{"length_mm", "length", t.Length},
		{"seat_width_mm", "seat width", t.SeatWidth},
		{"waist_width_mm", "waist width", t.WaistWidth},
		{"ball_width_mm", "ball width", t.BallWidth},
		{"swing_mm", "swing of the forefoot", t.Swing},
	}
}

func runTrace(c *call) error {
	var photo, sheet, what, side, corners string
	var edge float64
	c.flags.StringVar(&photo, "photo", "", "")
	c.flags.StringVar(&sheet, "sheet", "", "")
	c.flags.StringVar(&what, "what", "", "")
	c.flags.StringVar(&side, "side", "", "")
	c.flags.StringVar(&corners, "corners", "", "")
	c.flags.Float64Var(&edge, "edge-height-mm", 0, "")
	if err := c.parseFlags(); err != nil {
		return err
	}
	o := trace.Options{Sheet: trace.Paper(sheet), What: trace.What(what), Side: trace.Side(side), EdgeHeightMM: edge}
	if corners != "" {
		var p [4]trace.Point
		if n, err := fmt.Sscanf(corners, "%g,%g %g,%g %g,%g %g,%g", &p[0].X, &p[0].Y, &p[1].X, &p[1].Y, &p[2].X, &p[2].Y, &p[3].X, &p[3].Y); err != nil || n != 8 {
			return problem.Problem{Field: "--corners", Value: corners, Limit: "four pairs of pixels", Mend: `write --corners "x,y x,y x,y x,y"`}
		}
		o.Corners = &p
	}
	f, err := open(photo, "--photo")
	if err != nil {
		return err
	}
	defer f.Close()
	t, err := trace.ReadPhoto(c.ctx, f, filepath.Base(photo), o)
	if err != nil {
		return err
	}
	if c.asJSON {
		return c.json(reportTrace(&t))
	}
	return c.printTrace(&t)
}

func reportTrace(t *trace.Tracing) traceReport {
	r := traceReport{
		Photo: t.Name, What: t.What, Sheet: t.Sheet, Side: t.Side, SideGuessed: t.SideGuessed,
		LengthMM: num(t.Length.Value), SeatMM: num(t.SeatWidth.Value), BallMM: num(t.BallWidth.Value), SwingMM: num(t.Swing.Value),
		Outline: string(t.Outline), ToeShape: t.ToeShape, PlusMinus: map[string]num{}, Instrument: string(footwear.Photo),
		PxPerMM: num(t.PxPerMM), BowMM: num(t.BowMM), EyeHeightMM: num(t.EyeHeightMM), Notes: t.Notes,
	}
	if t.WaistWidth.Instrument != "" {
		w := num(t.WaistWidth.Value)
		r.WaistMM = &w
	}
	for _, row := range traceRows(t) {
		if row.m.Instrument != "" {
			r.PlusMinus[row.key] = num(row.m.PlusMinus)
		}
	}
	for _, p := range t.Corners {
		r.CornersPx = append(r.CornersPx, [2]num{num(p.X), num(p.Y)})
	}
	for _, p := range t.Polygon {
		r.PolygonMM = append(r.PolygonMM, [2]num{num(p.X), num(p.Y)})
	}
	if r.Notes == nil {
		r.Notes = []string{}
	}
	return r
}

func (c *call) printTrace(t *trace.Tracing) error {
	side := string(t.Side)
	switch {
	case t.Side == trace.AnySide:
		side = "not known"
	case t.SideGuessed:
		side += ", by its shape"
	}
	fmt.Fprintf(c.out, "%s: %s on %s, side %s\n\n", t.Name, t.What, t.Sheet, side)
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "measure\tmm\t±")
	for _, row := range traceRows(t) {
		if row.m.Instrument == "" {
			fmt.Fprintf(w, "%s\tnone\t\n", row.name)
			continue
		}
		fmt.Fprintf(w, "%s\t%.1f\t%.1f\n", row.name, row.m.Value, row.m.PlusMinus)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(c.out, "\noutline %s, toe %s\n", t.Outline, t.ToeShape)
	for _, n := range t.Notes {
		fmt.Fprintln(c.out, "note:", n)
	}
	return nil
}
