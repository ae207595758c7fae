package sheet

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"lastroom/fit"
)

// leastFindings are listed in any case, where there are so many; drawnFindings is how many of a state a drawing numbers.
const leastFindings, drawnFindings = 6, 9

// findings lists each place before and after: all that are not clear, and the tightest others.
func (s *Sheet) findings(c Case) {
	s.FindingsHow = "Gap: exact distance between device and wall, calculated; below zero is overlap. ±: one standard deviation, from the ± of the " +
		"shoe's measures (listed with their instruments) and of how true a device is made. Give: how far the wall yields without harm, felt by thumb or by material."
	type place struct {
		Finding
		worst int
		least float64
		drawn bool
	}
	var order []string
	found := map[string]*place{}
	look := func(r *fit.Result, set func(*Finding, *Gap)) {
		if r.Status != fit.Converged {
			return
		}
		drawn := 0
		for i := range r.Findings {
			f := &r.Findings[i]
			if f.Pose == shownPose(r) {
				drawn++
			}
			if f.Bearing && f.Pose == fit.Intended {
				continue // where it is meant to lie, only the settled pose tells
			}
			of := findingOf(f)
			key := of.key()
			p := found[key]
			if p == nil {
				p = &place{Finding: of, least: math.Inf(1)}
				found[key] = p
				order = append(order, key)
			}
			p.drawn = p.drawn || f.Pose == shownPose(r) && drawn <= drawnFindings
			p.Give = short(f.GiveMM) + " mm"
			set(&p.Finding, &Gap{Number(noMinusZero(f.GapMM, 2)), Number(f.PlusMinusMM), Number(f.GiveMM), Number(100 * f.Odds), string(f.State)})
			p.worst = max(p.worst, f.State.Rank())
			if !f.Bearing {
				p.least = math.Min(p.least, f.GapMM)
			}
		}
	}
	look(c.Before.Result, func(f *Finding, g *Gap) { f.Before = g })
	if c.After != nil {
		look(c.After.Result, func(f *Finding, g *Gap) { f.After = g })
	}
	list := make([]*place, 0, len(order))
	for _, key := range order {
		list = append(list, found[key])
	}
	sort.SliceStable(list, func(i, j int) bool {
		if list[i].worst != list[j].worst {
			return list[i].worst > list[j].worst
		}
		return list[i].least < list[j].least
	})
	s.Findings = []Finding{}
	for _, p := range list {
		if p.worst == fit.Clear.Rank() && len(s.Findings) >= leastFindings && !p.drawn {
			s.FindingsLeft++
			continue
		}
		p.Number = len(s.Findings) + 1
		s.Findings = append(s.Findings, p.Finding)
	}
}

// findingOf is a finding without its gaps.
func findingOf(f *fit.Finding) Finding {
	pose := string(f.Pose)
	if f.RollDeg != 0 {
		pose += fmt.Sprintf(", rolled %.1f°", f.RollDeg)
	}
	return Finding{Feature: f.Feature.String(), Place: f.Place(), Pose: pose}
}

// key tells findings apart.
func (f *Finding) key() string { return strings.Join([]string{f.Feature, f.Place, f.Pose}, "|") }

// Words is the gap as a table shows it.
func (g *Gap) Words() string {
	if g == nil {
		return "not near"
	}
	return fmt.Sprintf("%+.1f ± %.1f mm, %s, %.0f %%", noMinusZero(float64(g.GapMM), 1), float64(g.PlusMinusMM), g.State, float64(g.OddsPercent))
}
