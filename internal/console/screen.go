package console

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/internal/problem"
)

// screenReport is the JSON of `screen`.
type screenReport struct {
	Mode    string       `json:"mode"` // shelf, presets, several
	Pairs   []pairJSON   `json:"pairs,omitempty"`
	Devices []forAllJSON `json:"devices,omitempty"` // several: best first
	Limits  string       `json:"limits"`
}

type pairJSON struct {
	Shoe      string    `json:"shoe"`
	Name      string    `json:"name"`
	Size      string    `json:"size"`
	InsoleOut bool      `json:"insole_out"`
	Device    string    `json:"device"`
	State     fit.State `json:"state"`
	Odds      num       `json:"odds"`
	OddsOf    string    `json:"odds_of"` // all draws, the place that decides
	MarginMM  *num      `json:"margin_mm"`
	Reason    string    `json:"reason"`
	Verdict   string    `json:"verdict,omitempty"`
	Draft     bool      `json:"first_look,omitempty"` // by a coarser mesh: margin and state are about
	Error     string    `json:"error,omitempty"`
}

type forAllJSON struct {
	Changes     map[string]string `json:"changes"`
	Bench       []string          `json:"bench"`
	Options     device.Options    `json:"options"`
	Work        fit.Work          `json:"work"`
	Fits        int               `json:"fits_in"`
	Of          int               `json:"of"`
	MarginMM    num               `json:"margin_mm"`
	SupportKept num               `json:"support_kept"`
	Lost        []string          `json:"gives_up,omitempty"`
	In          []pairJSON        `json:"in"`
}

func runScreen(c *call) error {
	var own, shoe, shoes, size, dev, allow string
	var foot float64
	var best int
	var presets, quick bool
	var with repeated
	c.flags.StringVar(&own, "shelf", "", "")
	c.flags.StringVar(&shoe, "shoe", "", "")
	c.flags.StringVar(&shoes, "shoes", "", "")
	c.flags.StringVar(&size, "size", "", "")
	c.flags.StringVar(&dev, "device", "everyday-block", "")
	c.flags.StringVar(&allow, "allow", "", "")
	c.flags.Float64Var(&foot, "foot-length-mm", 0, "")
	c.flags.IntVar(&best, "best", 3, "")
	c.flags.BoolVar(&presets, "presets", false, "")
	c.flags.BoolVar(&quick, "first-look", false, "")
	c.flags.Var(&with, "with", "")
	if err := c.parseFlags(); err != nil {
		return err
	}
	if foot != 0 && !(foot >= footwear.FootMinMM && foot <= footwear.FootMaxMM) {
		return problem.Problem{
			Field: "--foot-length-mm", Value: fmt.Sprintf("%g mm", foot), Limit: fmt.Sprintf("%g to %g mm", footwear.FootMinMM, footwear.FootMaxMM), Mend: "measure the standing foot from heel to longest toe",
		}
	}
	show := progressOn(c.errOut)
	o := fit.ScreenOptions{Best: best, DraftsOnly: quick, Progress: func(p fit.ScreenProgress) {
		show(float64(p.Done)/float64(p.Of), p.Words())
	}}
	defer show(1, "")
	rep := screenReport{Limits: oddsLimits}
	if presets {
		sheet, err := findShoe(own, shoe, size)
		if err != nil {
			return err
		}
		rep.Mode = "presets"
		return c.screened(&rep, fit.AllPresets(sheet, false, foot), o)
	}
	j := &job{device: dev}
	if _, err := j.findDevice(dev); err != nil {
		return err
	}
	for _, kv := range with {
		key, value, _ := strings.Cut(kv, "=")
		if err := j.set(strings.TrimSpace(key), strings.TrimSpace(value)); err != nil {
			return err
		}
	}
	if foot != 0 {
		j.options.FootLengthMM = foot
	}
	if err := j.options.Validate().Err(); err != nil {
		return err
	}
	d, err := j.build(c)
	if err != nil {
		return err
	}
	o.Foot = j.foot
	o.Foot.LengthMM = d.Options.FootLengthMM
	if shoes != "" {
		return c.several(&rep, strings.Split(shoes, ","), own, allow, d, dev, j.foot)
	}
	rep.Mode = "shelf"
	var shelf []footwear.Sheet
	if isFile(own) {
		s, err := findShoe("", own, "")
		if err != nil {
			return err
		}
		shelf = []footwear.Sheet{s}
	} else {
		view, err := viewShelf(c, own)
		if err != nil {
			return err
		}
		shelf = view.Search("")
	}
	return c.screened(&rep, fit.OnShelf(d, dev, shelf, j.insoleOut), o)
}

// firstLook says what a first look is worth; the error is tested in fit.
const firstLook = "A first look, by a coarser mesh: nine of ten margins are right within 0.4 mm; seat what you choose before you trust it."

// screened screens pairs and reports them.
func (c *call) screened(rep *screenReport, pairs []fit.Pair, o fit.ScreenOptions) error {
	list, err := fit.Screen(c.ctx, pairs, o)
	if err != nil {
		return err
	}
	rep.Pairs = []pairJSON{}
	for i := range list {
		rep.Pairs = append(rep.Pairs, pairOf(&list[i]))
	}
	if c.asJSON {
		return c.json(rep)
	}
	if len(list) == 0 {
		fmt.Fprintln(c.out, "No shoe at hand suits this foot in any size.")
		return nil
	}
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "state\todds\tmargin mm\tshoe\tsize\tdevice\treason")
	for _, p := range rep.Pairs {
		margin, odds := "", ""
		if p.MarginMM != nil {
			margin = fmt.Sprintf("%.1f", float64(*p.MarginMM))
			if p.Draft {
				margin = "~" + margin
			}
			odds = fmt.Sprintf("%.0f %%", 100*float64(p.Odds))
			if p.OddsOf != "all draws" {
				odds = "~" + odds
			}
		}
		reason := p.Reason
		if p.Error != "" {
			reason = p.Error
		}
		out := ""
		if p.InsoleOut {
			out = ", insole out"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s%s\t%s\t%s\t%s\n", p.State, odds, margin, p.Name, out, p.Size, p.Device, reason)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(c.out, "\n~ before odds: of the place that decides, taken alone; the others are of all draws together.")
	if rep.Pairs[0].Draft {
		fmt.Fprintln(c.out, firstLook)
	}
	fmt.Fprintln(c.out, rep.Limits)
	return nil
}

func pairOf(s *fit.Screened) pairJSON {
	p := pairJSON{
		Shoe: s.Shoe.ID, Name: s.Shoe.Name, Size: s.Shoe.Size.String(), InsoleOut: s.InsoleOut, Device: s.DeviceName, State: s.State,
		Reason: s.Reason, Verdict: s.Verdict.Sentence, Draft: s.Draft, Odds: num(s.Chance()), OddsOf: "the place that decides",
	}
	if s.Odds != nil {
		p.OddsOf = "all draws"
	}
	if s.Err != nil {
		p.Error = s.Err.Error()
		return p
	}
	m := num(s.MarginMM)
	p.MarginMM = &m
	return p
}

// several looks for the one device that fits most of several shoes.
func (c *call) several(rep *screenReport, ids []string, own, allow string, d *device.Device, name string, foot fit.Foot) error {
	var pairs []fit.Pair
	for _, id := range ids {
		id, size, _ := strings.Cut(strings.TrimSpace(id), "@")
		s, err := findShoe(own, id, size)
		if err != nil {
			return err
		}
		pairs = append(pairs, fit.Pair{Shoe: s, Device: d, DeviceName: name})
	}
	show := progressOn(c.errOut)
	o := fit.RefitOptions{Foot: foot, Progress: func(p fit.RefitProgress) { show(p.Done, p.What) }}
	for _, w := range strings.FieldsFunc(allow, func(r rune) bool { return r == ',' || r == ' ' }) {
		o.Allow = append(o.Allow, fit.Work(w))
	}
	list, err := fit.BestForAll(c.ctx, pairs, o)
	if err != nil {
		return err
	}
	rep.Mode = "several"
	rep.Devices = []forAllJSON{}
	for i := range list {
		f := &list[i]
		out := forAllJSON{
			Changes: map[string]string{}, Bench: []string{}, Options: f.Device.Options, Work: f.Work, Fits: f.Fits, Of: len(pairs),
			MarginMM: num(f.MarginMM), SupportKept: num(f.SupportKept), Lost: f.Lost,
		}
		for _, ch := range f.Changes {
			out.Changes[ch.Key] = ch.To
			if !ch.Follows {
				out.Bench = append(out.Bench, ch.Words)
			}
		}
		for k := range f.In {
			out.In = append(out.In, pairOf(&f.In[k]))
		}
		rep.Devices = append(rep.Devices, out)
	}
	if c.asJSON {
		return c.json(rep)
	}
	for i, f := range rep.Devices {
		what := "the device as it is"
		if len(f.Bench) > 0 {
			what = f.Work.Words() + ": " + strings.Join(f.Bench, "; ")
		}
		fmt.Fprintf(c.out, "%d. fits in %d of %d; support kept %.0f %%: %s\n", i+1, f.Fits, f.Of, 100*float64(f.SupportKept), what)
		if len(f.Lost) > 0 {
			fmt.Fprintf(c.out, "   gives up: %s\n", strings.Join(f.Lost, ", "))
		}
		for _, p := range f.In {
			fmt.Fprintf(c.out, "   %s, %s: %s (%s)\n", p.Name, p.Size, p.State, p.Reason)
		}
	}
	fmt.Fprintln(c.out, "\n"+rep.Limits)
	return nil
}
