package fit

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/problem"
)

var errPinned = errors.New("a pin is not held")

// What the search does at most, so that it ends in a few seconds.
const (
	mostListed  = 7  // choices
	beamToday   = 56 // carried on from step to step from today's device, and from another start
	beamOther   = 16
	depthToday  = 5 // changes at most
	depthOther  = 3
	checkRounds = 3 // of checks
	perRound    = 16
	thinRounds  = 2
)

// Refit searches for the smallest change that lets the device fit, over what o allows. Every number of the answer is of the
// full computation (Check, Odds, Support). It repeats exactly, and ends early with the context's error. Theory: see the
// package comment.
func (b *Bench) Refit(ctx context.Context, d *device.Device, o RefitOptions) (*Refit, error) {
	if o.Axis == (Axis{}) {
		o.Axis = DefaultAxis()
	}
	if o.Ordered == nil {
		o.Ordered = d
	}
	var ps problem.Problems
	for _, w := range o.Allow {
		if !slices.Contains(Works, w) {
			ps = append(ps, problem.Problem{Field: "allow", Value: clip(string(w)), Limit: "one of grind, lab, remake, shoe", Mend: "leave it out to allow all"})
		}
	}
	for _, p := range o.Prefer {
		if !slices.ContainsFunc(SupportTerms, func(t SupportTerm) bool { return t.Key == p.Key }) || !(p.Weight >= 0 && p.Weight <= 100) {
			ps = append(ps, problem.Problem{Field: "prefer", Value: clip(fmt.Sprintf("%s=%g", p.Key, p.Weight)), Limit: "a term of support and a weight from 0 to 100", Mend: "terms are " + strings.Join(termKeys(), ", ")})
		}
	}
	if err := ps.Err(); err != nil {
		return nil, err
	}
	allow := func(w Work) bool { return o.Allow == nil || slices.Contains(o.Allow, w) }
	say := func(done float64, tried int, what string) {
		if o.Progress != nil {
			o.Progress(RefitProgress{Done: done, Tried: tried, What: what})
		}
	}

	s := &search{b: b, o: &o, pinned: o.Keep, today: b.traitsOf(d, o.Axis), ordered: b.traitsOf(o.Ordered, o.Axis)}
	say(0, 0, "the device as it is")
	asIs, err := b.asItIs(ctx, d, s)
	if err != nil {
		return nil, err
	}
	out := &Refit{AsIs: *asIs, Limits: Caution, Tried: 1, Checked: 1}
	if asIs.Fits() { // the places taken alone may be in doubt while all draws together are not
		if err := b.complete(ctx, s, []*Choice{asIs}, func(float64) {}); err != nil {
			return nil, err
		}
		if out.AsIs = *asIs; asIs.Sure() {
			out.Fits = true
			out.Sentence = "No change is needed: " + asIs.fitWords()
			say(1, out.Tried, "done")
			return out, nil
		}
	}

	var list []*Choice
	if o.ShapeFromScan {
		if out.Likeness, err = b.likeness(ctx, d, asIs, o.Foot); err != nil {
			return nil, err
		}
	}
	if out.Likeness == nil || out.Likeness.Why == "" {
		found, err := b.searchDevice(ctx, d, s, allow, func(done float64, what string) { say(0.75*done, int(s.tried.Load()), what) })
		if err != nil {
			return nil, err
		}
		list = append(list, found...)
		out.Tried += int(s.tried.Load())
		for _, c := range s.all {
			if c.checked != nil || c.failed && len(c.picks) > 0 {
				out.Checked++
			}
		}
	}
	if allow(OtherShoe) {
		shoes, err := b.otherShoes(ctx, d, s)
		if err != nil {
			return nil, err
		}
		out.Tried += len(o.Shoes)
		out.Checked += len(o.Shoes)
		list = append(list, shoes...)
	}
	picked, fits := pickChoices(&out.AsIs, list)
	out.Fits = fits || asIs.Fits()
	done := []*Choice{&out.AsIs}
	done = append(done, picked...)
	if err := b.complete(ctx, s, done, func(share float64) { say(0.75+0.25*share, out.Tried, "odds and support of each choice") }); err != nil {
		return nil, err
	}
	for _, c := range picked {
		out.Choices = append(out.Choices, *c)
	}
	out.Sentence = out.sentence(&o)
	if out.Likeness != nil {
		out.Sentence += " " + out.Likeness.Words()
	}
	say(1, out.Tried, "done")
	return out, nil
}

func termKeys() []string {
	var keys []string
	for _, t := range SupportTerms {
		keys = append(keys, t.Key)
	}
	return keys
}

// fitWords says how sure a choice that fits is.
func (c *Choice) fitWords() string {
	words := fmt.Sprintf("%.1f mm to the nearest limit", c.MarginMM)
	if c.Odds != nil {
		words = fmt.Sprintf("nothing is blocked in %.0f of 100 draws of the measures, ", 100*c.Odds.Fit) + words
	}
	return words
}

func lowerFirst(s string) string {
	if s == "" || strings.HasPrefix(s, "No answer") {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// asItIs is the device without a change.
func (b *Bench) asItIs(ctx context.Context, d *device.Device, s *search) (*Choice, error) {
	r, err := b.Check(ctx, d, s.o.Foot)
	if err != nil {
		return nil, err
	}
	c := &Choice{Options: d.Options, Device: d, Room: b.Room, Work: NoWork, Result: r, MarginMM: r.MarginMM(), Why: "the device as it is"}
	c.SupportKept, c.Lost = supportKept(s.today, s.ordered, s.o.Prefer)
	return c, nil
}

// searchDevice is the front of what can be done to the device.
func (b *Bench) searchDevice(ctx context.Context, d *device.Device, s *search, allow func(Work) bool, say func(float64, string)) ([]*Choice, error) {
	var list []start
	var choices [][]level
	for _, st := range starts(d.Options, allow) {
		list, choices = append(list, st), append(choices, levels(st.options, b.Room, allow))
	}
	if s.o.levels != nil {
		list, choices = list[:1], [][]level{s.o.levels}
	}
	most := 0
	for _, c := range choices {
		most += len(c) + 1
	}
	for i, st := range list {
		done := 0
		for _, c := range choices[:i] {
			done += len(c) + 1
		}
		f, err := b.newFamily(ctx, st, choices[i], s.o, func(int) {})
		if err != nil {
			return nil, err
		}
		say(0.5*float64(done+len(choices[i])+1)/float64(most), "each change alone")
		if f != nil {
			s.families = append(s.families, f)
		}
	}
	for i, f := range s.families {
		s.beam, s.depth = beamOther, depthOther
		if f.work == NoWork {
			s.beam, s.depth = beamToday, depthToday
		}
		if err := s.grow(ctx, f, func(step, steps int) {
			say(0.5+0.25*(float64(i)+float64(step)/float64(steps))/float64(len(s.families)), "combinations")
		}); err != nil {
			return nil, err
		}
	}
	checks := perRound
	if s.o.perRound > 0 {
		checks = s.o.perRound
	}
	if err := s.confirm(ctx, checkRounds, checks, func(round int) {
		say(0.75+0.25*float64(round)/checkRounds, "the most promising in full")
	}); err != nil {
		return nil, err
	}
	for range thinRounds {
		if err := s.thin(ctx, checks); err != nil {
			return nil, err
		}
	}
	var out []*Choice
	for _, c := range s.front() {
		if len(c.picks) == 0 && c.family.work == NoWork {
			continue // as it is
		}
		c.checked.Changes = changes(s, d, c)
		out = append(out, c.checked)
	}
	return out, nil
}

// otherShoes tries the device as it is in other rooms.
func (b *Bench) otherShoes(ctx context.Context, d *device.Device, s *search) ([]*Choice, error) {
	all := make([]*Choice, len(s.o.Shoes))
	errs := make([]error, len(all))
	each(ctx, len(all), func(i int) {
		sh := &s.o.Shoes[i]
		room, err := footwear.NewRoom(sh.Sheet, !sh.InsoleOut)
		if err != nil {
			return // no such shoe
		}
		bench, err := NewBench(ctx, room)
		if err != nil {
			errs[i] = ctx.Err()
			return
		}
		bench = bench.WithUnsure(b.unsure).WithGives(b.gives)
		r, err := bench.Check(ctx, d, s.o.Foot)
		if err != nil {
			errs[i] = err
			return
		}
		c := &Choice{Options: d.Options, Device: d, Shoe: sh.Name, Room: room, Work: OtherShoe, Result: r, MarginMM: r.MarginMM(), Effort: 10 * float64(OtherShoe.Rank()), bench: bench}
		if sh.SameShoe {
			c.Effort = 5 // less than any work on the device
		}
		c.SupportKept, c.Lost = supportKept(bench.traitsOf(d, s.o.Axis), s.ordered, s.o.Prefer)
		c.Changes = []Change{{Key: "shoe", Name: "shoe", From: b.Room.Sheet.Name, To: sh.Name, Words: sh.Name, Work: OtherShoe}}
		all[i] = c
	})
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	var out []*Choice
	for i, c := range all {
		if errs[i] != nil {
			return nil, errs[i]
		}
		if c != nil && c.Result.Status == Converged {
			out = append(out, c)
		}
	}
	return out, nil
}

// complete adds odds and support figures to choices.
func (b *Bench) complete(ctx context.Context, s *search, list []*Choice, say func(float64)) error {
	for i, c := range list {
		if c.Result.Status != Converged || c.Support != nil {
			continue
		}
		bench := b
		if c.bench != nil {
			bench = c.bench
		}
		var err error
		c.sureFrom = b.unsure.Hi
		if s.o.Draws >= 0 {
			if c.Odds, err = bench.Odds(ctx, c.Device, s.o.Foot, OddsOptions{Draws: s.o.Draws}); err != nil {
				return err
			}
		}
		if c.Support, err = bench.Support(ctx, c.Device, s.o.Ordered, s.o.Foot, s.o.Axis); err != nil {
			return err
		}
		say(float64(i+1) / float64(len(list)))
	}
	return nil
}

// pickChoices takes at most mostListed of the choices that none beats and that really differ, least effort first, and says
// why each is listed; fits says whether any of them fits. Where none does they are the nearest misses.
func pickChoices(asIs *Choice, list []*Choice) (picked []*Choice, fits bool) {
	var front []*Choice
	for _, c := range list {
		beaten := beats(asIs.MarginMM, asIs.SupportKept, asIs.Effort, c.MarginMM, c.SupportKept, c.Effort)
		for _, k := range list {
			beaten = beaten || beats(k.MarginMM, k.SupportKept, k.Effort, c.MarginMM, c.SupportKept, c.Effort)
		}
		if !beaten {
			front = append(front, c)
		}
	}
	sort.SliceStable(front, func(i, j int) bool { return front[i].Effort < front[j].Effort })
	var fitting []*Choice
	for _, c := range front {
		if c.Fits() {
			fitting = append(fitting, c)
		}
	}
	add := func(c *Choice, why string) {
		if c == nil || len(picked) == mostListed {
			return
		}
		for _, p := range picked {
			if p == c {
				if !strings.Contains(p.Why, why) {
					p.Why += "; " + why
				}
				return
			}
			if sameChoice(p, c) {
				return
			}
		}
		c.Why = why
		picked = append(picked, c)
	}
	best := func(of []*Choice, better func(a, b *Choice) bool) *Choice {
		var m *Choice
		for _, c := range of {
			if m == nil || better(c, m) {
				m = c
			}
		}
		return m
	}
	margin := func(a, b *Choice) bool { return a.MarginMM > b.MarginMM }
	if len(fitting) == 0 {
		add(best(front, margin), "the nearest miss")
		for _, w := range Works {
			var of []*Choice
			for _, c := range front {
				if c.Work == w {
					of = append(of, c)
				}
			}
			if m := best(of, margin); m != nil && m.MarginMM > asIs.MarginMM {
				add(m, "the nearest miss by "+w.Words())
			}
		}
		return picked, false
	}
	add(best(fitting, func(a, b *Choice) bool { return a.Effort < b.Effort }), "the least work after which nothing is past its limit")
	var surely []*Choice
	for _, c := range fitting {
		if c.Sure() {
			surely = append(surely, c)
		}
	}
	add(best(surely, func(a, b *Choice) bool { return a.Effort < b.Effort }), "the least work after which it fits with the measuring ± included")
	add(best(fitting, func(a, b *Choice) bool { return a.SupportKept > b.SupportKept }), "keeps the most support")
	add(best(fitting, margin), "leaves the most room")
	for _, w := range Works {
		var of []*Choice
		for _, c := range fitting {
			if c.Work == w && (c.Sure() || len(surely) == 0) {
				of = append(of, c)
			}
		}
		add(best(of, func(a, b *Choice) bool { return a.SupportKept > b.SupportKept }), "keeps the most support of what "+w.Words()+" can do")
	}
	// Between them: what is farthest from what is listed.
	for n := -1; n < len(picked) && len(picked) < mostListed; {
		n = len(picked)
		var m *Choice
		far := 0.35
		for _, c := range fitting {
			near := math.Inf(1)
			for _, p := range picked {
				near = math.Min(near, gulf(p, c))
				if sameChoice(p, c) {
					near = 0
				}
			}
			if near > far {
				m, far = c, near
			}
		}
		add(m, "between the others in work, room and support")
	}
	sort.SliceStable(picked, func(i, j int) bool { return picked[i].Effort < picked[j].Effort })
	return picked, true
}

// gulf is how far two choices lie apart: 1 for 1 mm of margin, 10 % of support or another kind of work.
func gulf(a, b *Choice) float64 {
	g := math.Abs(math.Min(a.MarginMM, comfortMM)-math.Min(b.MarginMM, comfortMM)) + math.Abs(a.SupportKept-b.SupportKept)/0.1
	if a.Work != b.Work {
		g++
	}
	return g
}

// sameChoice says that two choices do not really differ: the same places are worked on, with nearly the same outcome.
func sameChoice(a, b *Choice) bool {
	if a.Work != b.Work || a.Shoe != b.Shoe || math.Abs(a.MarginMM-b.MarginMM) > 0.25 || math.Abs(a.SupportKept-b.SupportKept) > 0.03 {
		return false
	}
	return true
}

func (r *Refit) sentence(o *RefitOptions) string {
	pins := ""
	for _, p := range o.Keep {
		pins += ", " + p.Words()
	}
	switch {
	case r.AsIs.Fits() && len(r.Choices) > 0:
		return fmt.Sprintf("As it is it is more likely to fit than not (%s); the least that makes it surer: %s.", r.AsIs.fitWords(), r.Choices[0].ChangeWords())
	case r.AsIs.Fits():
		return fmt.Sprintf("As it is it is more likely to fit than not (%s), and nothing within these limits%s makes it surer.", r.AsIs.fitWords(), pins)
	case r.Fits && len(r.Choices) > 0:
		return fmt.Sprintf("The least after which nothing is past its limit: %s (%s).", r.Choices[0].ChangeWords(), r.Choices[0].fitWords())
	case len(r.Choices) > 0:
		c := r.Choices[0]
		for i := range r.Choices {
			if r.Choices[i].MarginMM > c.MarginMM {
				c = r.Choices[i]
			}
		}
		mm, where := c.Result.Tightest()
		return fmt.Sprintf("Nothing within these limits fits%s; the nearest miss is: %s (%s; %.1f mm past the limit).", pins, c.ChangeWords(), where, -mm)
	case r.Likeness != nil && r.Likeness.Why != "":
		return "Grind the scanned device where the findings say, to the depth they say, and scan it again."
	default:
		return fmt.Sprintf("Nothing within these limits fits%s, and no change brings it nearer.", pins)
	}
}
