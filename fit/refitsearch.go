package fit

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync/atomic"

	"lastroom/device"
)

// A candidate is a set of levels of one family. margin and kept are estimates until it is checked.
type candidate struct {
	family *family
	picks  []int // rising

	estimate float64 // of the margin, by the family's sums
	margin   float64 // the estimate as corrected by what was checked, or what was checked
	ease     float64 // see marginOf
	kept     float64
	effort   float64
	work     Work

	checked *Choice // nil: not seated in full yet
	failed  bool    // it can't be built or does not come to rest
}

// comfortMM is the margin beyond which more is worth nothing: about twice the ± of a usual finding.
const comfortMM = 1.5

// worth rounds a margin (up to comfortMM) down to a tenth of a millimetre and support to half a per cent: less than that is
// no reason to do more work.
func worth(marginMM, kept float64) (m, k float64) {
	return math.Floor(math.Min(marginMM, comfortMM)*10) / 10, math.Round(kept*200) / 200
}

// beats says whether a is worth at least as much as b in margin and support kept for no more effort, and better in one.
func beats(aMargin, aKept, aEffort, bMargin, bKept, bEffort float64) bool {
	am, ak := worth(aMargin, aKept)
	bm, bk := worth(bMargin, bKept)
	if am < bm || ak < bk || aEffort > bEffort {
		return false
	}
	return am > bm || ak > bk || aEffort < bEffort
}

// unbeaten are the candidates that none beats, in order of effort.
func unbeaten(list []*candidate) []*candidate {
	list = slices.Clone(list)
	byMerit(list, func(c *candidate) [3]float64 {
		m, k := worth(c.margin, c.kept)
		return [3]float64{c.effort, -m, -k}
	})
	var front []*candidate // only what comes before can beat what comes after
	for _, c := range list {
		if !slices.ContainsFunc(front, func(f *candidate) bool {
			return beats(f.margin, f.kept, f.effort, c.margin, c.kept, c.effort)
		}) {
			front = append(front, c)
		}
	}
	return front
}

// byMerit sorts candidates by three numbers, the smaller first, and then by what they change.
func byMerit(list []*candidate, of func(*candidate) [3]float64) {
	slices.SortFunc(list, func(a, b *candidate) int {
		x, y := of(a), of(b)
		for i := range x {
			if x[i] < y[i] {
				return -1
			} else if x[i] > y[i] {
				return 1
			}
		}
		if d := strings.Compare(a.family.options.WedgeBuild+a.family.options.Process, b.family.options.WedgeBuild+b.family.options.Process); d != 0 {
			return d
		}
		return slices.Compare(a.picks, b.picks)
	})
}

// spread takes at most n of the list: of each kind of work an equal part, those that none of the same kind beats in merit
// and support first, and of these evenly from the most merit to the most support.
func spread(list []*candidate, n int, merit func(*candidate) float64) []*candidate {
	byWork := map[Work][]*candidate{}
	for _, c := range list {
		byWork[c.work] = append(byWork[c.work], c)
	}
	var out []*candidate
	kinds := len(byWork)
	for _, w := range append([]Work{NoWork}, Works...) {
		of := byWork[w]
		if len(of) == 0 {
			continue
		}
		share := (n - len(out)) / kinds
		kinds--
		// The first layer regardless of effort, then the second, and so on.
		byMerit(of, func(c *candidate) [3]float64 {
			m, k := worth(merit(c), c.kept)
			return [3]float64{-m, -k, c.effort}
		})
		took := 0
		for len(of) > 0 && took < share {
			var front, rest []*candidate
			kept := math.Inf(-1)
			for _, c := range of {
				if _, k := worth(c.margin, c.kept); k > kept {
					front, kept = append(front, c), k
				} else {
					rest = append(rest, c)
				}
			}
			if room := share - took; len(front) > room {
				for i := range room {
					out = append(out, front[i*(len(front)-1)/max(room-1, 1)])
				}
				break
			}
			out = append(out, front...)
			took += len(front)
			of = rest
		}
	}
	return out
}

// search is the running state of one Refit.
type search struct {
	b       *Bench
	o       *RefitOptions
	today   *traits
	ordered *traits
	pinned  []Pin

	families []*family
	all      []*candidate
	tried    atomic.Int64

	beam, depth int // how many are carried on from step to step, and how many changes at most
}

// effortOf counts work: its kind first (in tens), then the places, each by how far it goes, 1 to 2. A bevel counts a third: it
// is the first cure, a minute at the wheel that leaves the device as it is elsewhere (common practice, no source).
func (s *search) effortOf(o device.Options, work Work) float64 {
	e := 10 * float64(work.Rank())
	for _, k := range device.Keys() {
		if o.Get(k.Key) == s.today.options.Get(k.Key) {
			continue
		}
		place := 1.0
		if k.IsNumber() {
			place += math.Min(1, math.Abs(o.Number(k.Key)-s.today.options.Number(k.Key))/(20*k.Step))
		}
		switch {
		case strings.HasPrefix(k.Key, "bevel_"):
			place /= 3
		case k.Key == "wedge_width_mm":
			place *= 2 // both sides
		}
		e += place
	}
	return e
}

// weigh fills in what a candidate is worth; false where a pin forbids it.
func (s *search) weigh(c *candidate) bool {
	t := c.family.traitsWith(c.picks)
	for _, p := range s.pinned {
		if !p.holds(t, s.today) {
			return false
		}
	}
	c.work = c.family.work
	for _, p := range c.picks {
		if w := c.family.variants[p].work; w.Rank() > c.work.Rank() {
			c.work = w
		}
	}
	c.kept, _ = supportKept(t, s.ordered, s.o.Prefer)
	c.effort = s.effortOf(t.options, c.work)
	return true
}

// mayFitMM is how far below its limit a candidate may be estimated and still turn out to fit.
const mayFitMM = 0.4

// mostPicks is how many changes a candidate has at most.
const mostPicks = 8

// bundles are candidates that the bench makes in one go and that help only together: the same bevel on the sides, or all
// round.
func (s *search) bundles(f *family) []*candidate {
	at := map[[2]string]int{}
	for i, v := range f.variants {
		at[[2]string{v.key, v.value}] = i
	}
	var out []*candidate
	for i, v := range f.variants {
		if v.key != "bevel_medial_deg" {
			continue
		}
		l, ok := at[[2]string{"bevel_lateral_deg", v.value}]
		if !ok {
			continue
		}
		list := [][]int{{i, l}}
		if b, ok := at[[2]string{"bevel_back_deg", v.value}]; ok {
			list = append(list, []int{i, l, b})
		}
		for _, picks := range list {
			slices.Sort(picks)
			if c := (&candidate{family: f, picks: picks}); s.weigh(c) {
				out = append(out, c)
			}
		}
	}
	return out
}

// grow evaluates the family's combinations, one change more at each step, carrying on the best of the step before.
func (s *search) grow(ctx context.Context, f *family, progress func(step, steps int)) error {
	bias := 0.0
	if m, _, ok := f.marginOf(nil); ok && !math.IsInf(m, 0) {
		bias = f.res.MarginMM() - m // what summing up by cells costs
	}
	root := &candidate{family: f}
	if s.weigh(root) {
		root.margin = f.res.MarginMM()
		root.estimate = root.margin
		s.tried.Add(1)
		s.all = append(s.all, root)
	}
	carried := []*candidate{root}
	for step := range s.depth {
		seen := map[[mostPicks]int8]bool{}
		var next []*candidate
		if step == 0 {
			next = s.bundles(f)
		}
		for _, c := range carried {
			if len(c.picks) == mostPicks {
				continue
			}
			for v := range f.variants {
				if slices.ContainsFunc(c.picks, func(p int) bool { return f.variants[p].key == f.variants[v].key }) {
					continue
				}
				n := &candidate{family: f, picks: append(slices.Clone(c.picks), v)}
				slices.Sort(n.picks)
				var key [mostPicks]int8
				for i, p := range n.picks {
					key[i] = int8(p + 1)
				}
				if seen[key] {
					continue
				}
				seen[key] = true
				if s.weigh(n) {
					next = append(next, n)
				}
			}
		}
		each(ctx, len(next), func(i int) {
			m, ease, ok := f.marginOf(next[i].picks)
			next[i].estimate, next[i].margin, next[i].ease, next[i].failed = m+bias, m+bias, ease, !ok
			s.tried.Add(1)
		})
		if err := ctx.Err(); err != nil {
			return err
		}
		next = slices.DeleteFunc(next, func(c *candidate) bool { return c.failed })
		s.all = append(s.all, next...)
		progress(step+1, s.depth)
		if carried = spread(next, s.beam, func(c *candidate) float64 { return c.ease }); len(carried) == 0 {
			break
		}
	}
	return nil
}

// check seats candidates in full.
func (s *search) check(ctx context.Context, list []*candidate) error {
	each(ctx, len(list), func(i int) {
		c := list[i]
		choice, err := s.b.choose(ctx, c.family.optionsOf(c.picks), s)
		if err != nil {
			c.failed = true
			return
		}
		choice.Work, choice.Effort = c.work, c.effort
		c.checked = choice
		c.margin, c.kept = choice.MarginMM, choice.SupportKept
		c.failed = choice.Result.Status != Converged
	})
	return ctx.Err()
}

// choose builds and seats a device for the list; odds and figures come later, for those that stay.
func (b *Bench) choose(ctx context.Context, o device.Options, s *search) (*Choice, error) {
	d, err := device.Build(o)
	if err != nil {
		return nil, err
	}
	r, err := b.Check(ctx, d, s.o.Foot)
	if err != nil {
		return nil, err
	}
	c := &Choice{Options: d.Options, Device: d, Room: b.Room, Result: r, MarginMM: r.MarginMM()}
	t := b.traitsOf(d, s.o.Axis)
	for _, p := range s.pinned {
		if !p.holds(t, s.today) {
			return nil, errPinned // the estimate let it pass
		}
	}
	c.SupportKept, c.Lost = supportKept(t, s.ordered, s.o.Prefer)
	return c, nil
}

// apart counts in how many levels two candidates of one family differ.
func apart(a, b *candidate) int {
	i, j, n := 0, 0, 0
	for i < len(a.picks) || j < len(b.picks) {
		switch {
		case j == len(b.picks) || i < len(a.picks) && a.picks[i] < b.picks[j]:
			i++
			n++
		case i == len(a.picks) || b.picks[j] < a.picks[i]:
			j++
			n++
		default:
			i++
			j++
		}
	}
	return n
}

// confirm seats the most promising candidates in full, in rounds: what each round shows of the error of the estimate
// corrects the candidates that are like the checked one, and what a checked one beats is not worth a check.
func (s *search) confirm(ctx context.Context, rounds, perRound int, progress func(round int)) error {
	for round := range rounds {
		var checked []*candidate
		for _, c := range s.all {
			if c.checked != nil && !c.failed {
				checked = append(checked, c)
			}
		}
		var alive []*candidate
		for _, c := range s.all {
			if c.failed {
				continue
			}
			alive = append(alive, c)
			if c.checked != nil {
				continue
			}
			var near *candidate
			least := math.MaxInt
			for _, k := range checked {
				if k.family == c.family {
					if d := apart(c, k); d < least {
						near, least = k, d
					}
				}
			}
			if c.margin = c.estimate; near != nil {
				c.margin += (near.margin - near.estimate) / float64(least)
			}
		}
		var open []*candidate
		for _, c := range unbeaten(alive) {
			if c.checked == nil {
				open = append(open, c)
			}
		}
		if len(open) == 0 {
			return nil
		}
		// The least work that fits, and that which may (the estimate errs by some tenths), before the rest of the front.
		var list []*candidate
		for _, least := range []float64{0, -mayFitMM} {
			n := 0
			for _, c := range open {
				if n < perRound/4 && c.margin >= least && !slices.Contains(list, c) {
					list = append(list, c)
					n++
				}
			}
		}
		rest := slices.DeleteFunc(slices.Clone(open), func(c *candidate) bool { return slices.Contains(list, c) })
		list = append(list, spread(rest, perRound-len(list), func(c *candidate) float64 { return c.margin })...)
		if err := s.check(ctx, list); err != nil {
			return err
		}
		progress(round + 1)
	}
	return nil
}

// thin seats in full what is left of the front's candidates when one of their changes is left out: what only came along is
// found out so.
func (s *search) thin(ctx context.Context, most int) error {
	known := map[string]bool{}
	name := func(f *family, picks []int) string { return fmt.Sprintf("%p %v", f, picks) }
	for _, c := range s.all {
		if c.checked != nil || c.failed {
			known[name(c.family, c.picks)] = true
		}
	}
	var list []*candidate
	for _, c := range s.front() {
		for i := range c.picks {
			if len(list) == most {
				break
			}
			n := &candidate{family: c.family, picks: slices.Delete(slices.Clone(c.picks), i, i+1)}
			if key := name(n.family, n.picks); known[key] || len(n.picks) == 0 && n.family.work == NoWork || !s.weigh(n) {
				continue
			} else {
				known[key] = true
			}
			list = append(list, n)
		}
	}
	if err := s.check(ctx, list); err != nil {
		return err
	}
	s.all = append(s.all, list...)
	return nil
}

// front are the checked candidates that no other beats.
func (s *search) front() []*candidate {
	var checked []*candidate
	for _, c := range s.all {
		if c.checked != nil && !c.failed {
			checked = append(checked, c)
		}
	}
	return unbeaten(checked)
}
