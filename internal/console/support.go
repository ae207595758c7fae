package console

import (
	"fmt"
	"text/tabwriter"

	"lastroom/device"
	"lastroom/fit"
)

// supportReport is the JSON of `support`.
type supportReport struct {
	Shoe    string       `json:"shoe"`
	Size    string       `json:"size"`
	Device  string       `json:"device"`
	Axis    axisJSON     `json:"subtalar_axis"`
	Figures []figureJSON `json:"figures"`
	Outline [][2]num     `json:"contact_outline_mm"` // of what touches the seat, room frame, counterclockwise from above
	Caution string       `json:"caution"`
}

type axisJSON struct {
	InclinationDeg  num    `json:"inclination_deg"`
	InclinationBand [2]num `json:"inclination_band_deg"`
	DeviationDeg    num    `json:"deviation_deg"`
	DeviationBand   [2]num `json:"deviation_band_deg"`
}

type figureJSON struct {
	Key     string `json:"key"`
	Name    string `json:"name"`
	Unit    string `json:"unit"`
	Now     num    `json:"now"`
	Lo      num    `json:"lo"`
	Hi      num    `json:"hi"`
	Ordered num    `json:"ordered"`
	Plain   num    `json:"plain"`
	Words   string `json:"words,omitempty"`
}

func runSupport(c *call) error {
	axis := fit.DefaultAxis()
	read := jobFlags(c)
	c.flags.Float64Var(&axis.InclinationDeg, "axis-inclination-deg", axis.InclinationDeg, "")
	c.flags.Float64Var(&axis.DeviationDeg, "axis-deviation-deg", axis.DeviationDeg, "")
	if err := c.parseFlags(); err != nil {
		return err
	}
	if err := axis.Validate().Err(); err != nil {
		return err
	}
	j, err := read()
	if err != nil {
		return err
	}
	bench, now, err := j.prepare(c)
	if err != nil {
		return err
	}
	ordered, err := device.Build(j.ordered)
	if err != nil {
		return err
	}
	figures, err := bench.Support(c.ctx, now, ordered, j.foot, axis)
	if err != nil {
		if c.ctx.Err() != nil {
			return err
		}
		return fmt.Errorf("%w: %w", errNotConverged, err)
	}
	rep := supportReport{
		Shoe: j.sheet.ID, Size: j.sheet.Size.String(), Device: j.device, Caution: fit.Caution,
		Axis: axisJSON{
			num(axis.InclinationDeg),
			[2]num{num(axis.InclinationBand[0]), num(axis.InclinationBand[1])},
			num(axis.DeviationDeg),
			[2]num{num(axis.DeviationBand[0]), num(axis.DeviationBand[1])},
		},
	}
	r, err := bench.Check(c.ctx, now, j.foot)
	if err != nil {
		return err
	}
	for _, p := range bench.ContactOutline(now, r) {
		if j.options.Side == device.Left {
			p[1] = -p[1]
		}
		rep.Outline = append(rep.Outline, [2]num{num(p[0]), num(p[1])})
	}
	for _, f := range figures {
		rep.Figures = append(rep.Figures, figureJSON{f.Key, f.Name, f.Unit, num(f.Now), num(f.Lo), num(f.Hi), num(f.Ordered), num(f.Plain), f.Words})
	}
	if c.asJSON {
		return c.json(rep)
	}
	fmt.Fprintf(c.out, "%s, %s; device %s\nsubtalar axis %.0f° up (people %.0f to %.0f), %.0f° medially (people %.0f to %.0f)\n\n", j.sheet.Name, j.sheet.Size, j.device,
		axis.InclinationDeg, axis.InclinationBand[0], axis.InclinationBand[1], axis.DeviationDeg, axis.DeviationBand[0], axis.DeviationBand[1])
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "figure\tnow\tband\tas ordered\tplain device\tunit\t")
	for _, f := range figures {
		band := ""
		if f.Lo != f.Hi {
			band = fmt.Sprintf("%.4g to %.4g", f.Lo, f.Hi)
		}
		fmt.Fprintf(w, "%s\t%.4g\t%s\t%.4g\t%.4g\t%s\t%s\n", f.Name, f.Now, band, f.Ordered, f.Plain, f.Unit, f.Words)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(c.out, "\n"+fit.Caution)
	return nil
}
