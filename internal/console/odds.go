package console

import (
	"fmt"
	"text/tabwriter"

	"lastroom/fit"
)

// oddsReport is the JSON of `odds`.
type oddsReport struct {
	Shoe     string            `json:"shoe"`
	Size     string            `json:"size"`
	Device   string            `json:"device"`
	Odds     num               `json:"odds"` // that nothing is blocked
	Draws    int               `json:"draws"`
	Lost     int               `json:"draws_without_rest"`
	RideUp   intervalJSON      `json:"ride_up_mm"`
	Findings []findingOddsJSON `json:"findings"`
	Rooms    []roomOddsJSON    `json:"foot_room"`
	Decides  []deciderJSON     `json:"decides"`
	Limits   string            `json:"limits"`
}

type intervalJSON struct {
	Lo  num `json:"lo"`
	Mid num `json:"mid"`
	Hi  num `json:"hi"`
}

type findingOddsJSON struct {
	Feature string       `json:"feature"`
	Zone    string       `json:"zone"`
	Side    string       `json:"side"`
	Pose    fit.PoseName `json:"pose"`
	Odds    num          `json:"odds"`
	State   fit.State    `json:"state"`
	GapMM   intervalJSON `json:"gap_mm"`
}

type roomOddsJSON struct {
	Key  string `json:"key"`
	Odds num    `json:"odds"`
}

type deciderJSON struct {
	Key      string `json:"key"`
	Share    num    `json:"share"`
	Sentence string `json:"sentence"`
}

const oddsLimits = "Odds hold for the ± entered with each measure; intervals hold 90 of a hundred draws. " + fit.Caution

func runOdds(c *call) error {
	var o fit.OddsOptions
	read := jobFlags(c)
	c.flags.IntVar(&o.Draws, "draws", 2000, "")
	c.flags.Uint64Var(&o.Seed, "seed", 1, "")
	if err := c.parseFlags(); err != nil {
		return err
	}
	j, err := read()
	if err != nil {
		return err
	}
	bench, dev, err := j.prepare(c)
	if err != nil {
		return err
	}
	odds, err := bench.Odds(c.ctx, dev, j.foot, o)
	if err != nil {
		return err
	}
	between := func(i fit.Interval) intervalJSON { return intervalJSON{num(i.LoMM), num(i.MidMM), num(i.HiMM)} }
	rep := oddsReport{
		Shoe: j.sheet.ID, Size: j.sheet.Size.String(), Device: j.device, Odds: num(odds.Fit), Draws: odds.Draws, Lost: odds.Lost,
		RideUp: between(odds.RideUp), Limits: oddsLimits,
	}
	for _, f := range odds.Findings {
		rep.Findings = append(rep.Findings, findingOddsJSON{f.Feature.String(), f.Zone.String(), f.Side, f.Pose, num(f.Good), f.State, between(f.Gap)})
	}
	for _, r := range odds.Rooms {
		rep.Rooms = append(rep.Rooms, roomOddsJSON{r.Key, num(r.Good)})
	}
	for _, d := range odds.Decides {
		rep.Decides = append(rep.Decides, deciderJSON{d.Key, num(d.Share), d.Sentence()})
	}
	if c.asJSON {
		return c.json(rep)
	}
	fmt.Fprintf(c.out, "%s, %s; device %s\nodds that nothing is blocked: %.0f %% of %d draws; ride-up %.1f to %.1f mm\n", j.sheet.Name, j.sheet.Size, j.device,
		100*odds.Fit, odds.Draws, odds.RideUp.LoMM, odds.RideUp.HiMM)
	for _, d := range odds.Decides {
		fmt.Fprintln(c.out, d.Sentence())
	}
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\nstate\tfeature\tzone\tpose\todds\tgap mm, 90 of 100")
	for _, f := range odds.Findings {
		if f.Good < 1 {
			fmt.Fprintf(w, "%s\t%s\t%s, %s\t%s\t%.0f %%\t%.1f to %.1f\n", f.State, f.Feature, f.Zone, f.Side, f.Pose, 100*f.Good, f.Gap.LoMM, f.Gap.HiMM)
		}
	}
	for _, r := range odds.Rooms {
		fmt.Fprintf(w, "\t%s\t\t\t%.0f %%\t\n", r.Key, 100*r.Good)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(c.out, "\n"+oddsLimits)
	return nil
}
