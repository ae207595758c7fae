package console

import (
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/internal/problem"
)

// refitReport is the JSON of `refit`.
type refitReport struct {
	Shoe     string       `json:"shoe"`
	Size     string       `json:"size"`
	Device   string       `json:"device"`
	Sentence string       `json:"sentence"`
	Fits     bool         `json:"fits"`
	AsIs     choiceJSON   `json:"as_is"`
	Choices  []choiceJSON `json:"choices"`
	Tried    int          `json:"tried"`
	Checked  int          `json:"seated_in_full"`
	Limits   string       `json:"limits"`
}

type choiceJSON struct {
	Changes     map[string]string `json:"changes"` // option → value, as --with takes them; "shoe" → another room
	Bench       []string          `json:"bench"`   // the same in words
	Follows     []string          `json:"follows,omitempty"`
	Options     device.Options    `json:"options"` // the whole device, nothing left automatic
	Work        fit.Work          `json:"work"`
	State       fit.State         `json:"state"`
	Verdict     string            `json:"verdict"`
	Odds        *num              `json:"odds"` // null: not asked for, or it did not come to rest
	Decides     []string          `json:"decides,omitempty"`
	MarginMM    num               `json:"margin_mm"`
	RideUpMM    num               `json:"ride_up_mm"`
	BaseWidthMM num               `json:"base_width_mm"`
	Rotational  num               `json:"rotational_stiffness_nmm_per_rad"`
	LeverLatMM  num               `json:"lever_lateral_mm"`
	LeverMedMM  num               `json:"lever_medial_mm"`
	SupportKept num               `json:"support_kept"`
	Lost        []string          `json:"lost,omitempty"`
	Support     []figureJSON      `json:"support"`
	Findings    []findingJSON     `json:"findings"`
	Why         string            `json:"why"`
}

func runRefit(c *call) error {
	var keep, prefer repeated
	var allow string
	o := fit.RefitOptions{Axis: fit.DefaultAxis()}
	read := jobFlags(c)
	c.flags.Var(&keep, "keep", "")
	c.flags.Var(&prefer, "prefer", "")
	c.flags.StringVar(&allow, "allow", "", "")
	c.flags.IntVar(&o.Draws, "draws", 2000, "")
	if err := c.parseFlags(); err != nil {
		return err
	}
	var ps problem.Problems
	for _, text := range keep {
		p, err := fit.ParsePin(text)
		if err != nil {
			ps = append(ps, asProblems(err)...)
			continue
		}
		o.Keep = append(o.Keep, p)
	}
	for _, text := range prefer {
		key, value, _ := strings.Cut(text, "=")
		w, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
		if err != nil {
			ps = append(ps, problem.Problem{Field: "--prefer", Value: clipped(text), Limit: "term=weight is needed", Mend: "for example cup=3; 1 is usual, 0 does not count"})
			continue
		}
		o.Prefer = append(o.Prefer, fit.Preference{Key: strings.TrimSpace(key), Weight: w})
	}
	for _, w := range strings.FieldsFunc(allow, func(r rune) bool { return r == ',' || r == ' ' }) {
		o.Allow = append(o.Allow, fit.Work(w))
	}
	if o.Draws == 0 {
		o.Draws = -1
	}
	j, err := read()
	if err != nil {
		ps = append(ps, asProblems(err)...)
	}
	if err := ps.Err(); err != nil {
		return err
	}
	bench, dev, err := j.prepare(c)
	if err != nil {
		return err
	}
	if o.Ordered, err = device.Build(j.ordered); err != nil {
		return err
	}
	if j.scanned != nil {
		o.Ordered = dev
	}
	o.Foot, o.Shoes, o.ShapeFromScan = j.foot, fit.UsualShoes(bench.Room), j.scanned != nil
	show := progressOn(c.errOut)
	o.Progress = func(p fit.RefitProgress) { show(p.Done, fmt.Sprintf("%s, %d tried", p.What, p.Tried)) }
	r, err := bench.Refit(c.ctx, dev, o)
	show(1, "")
	if err != nil {
		return err
	}
	rep := refitReport{
		Shoe: j.sheet.ID, Size: j.sheet.Size.String(), Device: j.device, Sentence: r.Sentence, Fits: r.Fits, AsIs: choiceOf(&r.AsIs),
		Choices: []choiceJSON{}, Tried: r.Tried, Checked: r.Checked, Limits: oddsLimits,
	}
	for i := range r.Choices {
		rep.Choices = append(rep.Choices, choiceOf(&r.Choices[i]))
	}
	if c.asJSON {
		return c.json(rep)
	}
	return printRefit(c, j, &rep)
}

func choiceOf(ch *fit.Choice) choiceJSON {
	out := choiceJSON{
		Changes: map[string]string{}, Bench: []string{}, Options: ch.Options, Work: ch.Work, State: ch.Result.Verdict.State, Verdict: ch.Result.Verdict.Sentence, MarginMM: num(ch.MarginMM),
		RideUpMM: num(ch.Result.RideUpMM), BaseWidthMM: num(ch.Device.Base.WidthMM), SupportKept: num(ch.SupportKept), Lost: ch.Lost, Why: ch.Why,
	}
	for _, c := range ch.Changes {
		out.Changes[c.Key] = c.To
		if c.Follows {
			out.Follows = append(out.Follows, c.Words)
		} else {
			out.Bench = append(out.Bench, c.Words)
		}
	}
	if ch.Odds != nil {
		fits := num(ch.Odds.Fit)
		out.Odds = &fits
		for _, d := range ch.Odds.Decides {
			out.Decides = append(out.Decides, d.Sentence())
		}
	}
	for _, f := range ch.Support {
		out.Support = append(out.Support, figureJSON{f.Key, f.Name, f.Unit, num(f.Now), num(f.Lo), num(f.Hi), num(f.Ordered), num(f.Plain), f.Words})
		switch f.Key {
		case "rotational_stiffness_nmm_per_rad":
			out.Rotational = num(f.Now)
		case "lever_lateral_mm":
			out.LeverLatMM = num(f.Now)
		case "lever_medial_mm":
			out.LeverMedMM = num(f.Now)
		}
	}
	out.Findings = findingsJSON(ch.Result, ch.Options.Side == device.Left)
	return out
}

func printRefit(c *call, j *job, r *refitReport) error {
	fmt.Fprintf(c.out, "%s, %s; device %s\n\n%s\n\n", j.sheet.Name, j.sheet.Size, j.device, r.Sentence)
	show := func(head string, ch *choiceJSON) {
		fmt.Fprintln(c.out, head)
		for _, b := range ch.Bench {
			fmt.Fprintf(c.out, "    %s\n", b)
		}
		for _, b := range ch.Follows {
			fmt.Fprintf(c.out, "    (it follows: %s)\n", b)
		}
		fmt.Fprintf(c.out, "    %s\n", ch.Verdict)
		line := fmt.Sprintf("%.1f mm to the limit, ", float64(ch.MarginMM))
		if ch.MarginMM < 0 {
			line = fmt.Sprintf("%.1f mm past the limit, ", -float64(ch.MarginMM))
		}
		if ch.Odds != nil {
			line = fmt.Sprintf("odds that it fits %.0f %%, ", 100*float64(*ch.Odds)) + line
		}
		fmt.Fprintf(c.out, "    %sbase %.1f mm wide, support kept %.0f %%", line, float64(ch.BaseWidthMM), 100*float64(ch.SupportKept))
		if len(ch.Lost) > 0 {
			fmt.Fprintf(c.out, " (%s)", strings.Join(ch.Lost, ", "))
		}
		fmt.Fprintln(c.out)
		if ch.Odds != nil && *ch.Odds > 0.1 && *ch.Odds < 0.9 && len(ch.Decides) > 0 {
			fmt.Fprintf(c.out, "    %s\n", ch.Decides[0])
		}
	}
	show("as it is", &r.AsIs)
	for i := range r.Choices {
		ch := &r.Choices[i]
		show(fmt.Sprintf("%d. %s: %s", i+1, ch.Work.Words(), ch.Why), ch)
	}
	fmt.Fprintf(c.out, "\n%d changes and combinations tried, %d seated in full.\n%s\n", r.Tried, r.Checked, r.Limits)
	return nil
}

// progressOn shows how far long work is on a terminal; nowhere else.
func progressOn(w io.Writer) func(done float64, what string) {
	f, ok := w.(*os.File)
	if !ok {
		return func(float64, string) {}
	}
	if info, err := f.Stat(); err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return func(float64, string) {}
	}
	return func(done float64, what string) {
		if what == "" {
			fmt.Fprint(f, "\r\x1b[K")
			return
		}
		fmt.Fprintf(f, "\r\x1b[K%3.0f %% %s", 100*done, what)
	}
}
