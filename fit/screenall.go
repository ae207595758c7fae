package fit

import (
	"context"
	"math"
	"slices"

	"lastroom/device"
)

// ForAll is one device in several shoes.
type ForAll struct {
	Device      *device.Device
	Changes     []Change // from the device asked for; none: as it is
	Work        Work
	In          []Screened // of each shoe, in the order asked
	Fits        int        // in so many of them nothing is past its limit
	MarginMM    float64    // the smallest of all
	SupportKept float64    // beside the device asked for
	Lost        []string   // what it gives up
}

// BestForAll looks for the one device that fits in most of several shoes ("the work shoe and the trainer"): the device as it
// is, and what the refit search of each shoe finds. The rooms are those of the pairs, whose devices must be the same. Best
// first: most shoes, then least given up for a margin of at least zero, then the larger margin.
func BestForAll(ctx context.Context, pairs []Pair, o RefitOptions) ([]ForAll, error) {
	if len(pairs) == 0 {
		return nil, nil
	}
	if o.Axis == (Axis{}) {
		o.Axis = DefaultAxis()
	}
	progress := o.Progress
	tell := func(done float64, what string) {
		if progress != nil {
			progress(RefitProgress{Done: done, What: what})
		}
	}
	asked := pairs[0].Device
	o.Ordered, o.Shoes, o.Draws = asked, nil, -1
	if o.Allow == nil {
		o.Allow = []Work{Grind, Lab, Remake}
	}
	benches := make([]*Bench, len(pairs))
	type candidate struct {
		device  *device.Device
		changes []Change
		work    Work
	}
	all := []candidate{{device: asked, work: NoWork}}
	for i := range pairs {
		b, err := pairs[i].bench(ctx, false)
		if err != nil {
			return nil, err
		}
		benches[i] = b
		tell(0.9*float64(i)/float64(len(pairs)), "refits in "+pairs[i].Shoe.Name)
		o.Progress = func(p RefitProgress) {
			if progress != nil {
				p.Done = 0.9 * (float64(i) + p.Done) / float64(len(pairs))
				progress(p)
			}
		}
		r, err := b.Refit(ctx, asked, o)
		if err != nil {
			return nil, err
		}
		for _, c := range r.Choices {
			known := slices.ContainsFunc(all, func(k candidate) bool { return k.device.Options == c.Options })
			if c.Device != nil && !known {
				all = append(all, candidate{c.Device, c.Changes, c.Work})
			}
		}
	}
	out := make([]ForAll, len(all))
	each(ctx, len(all), func(n int) {
		c := all[n]
		f := ForAll{Device: c.device, Changes: c.changes, Work: c.work, MarginMM: math.Inf(1)}
		for i, b := range benches {
			s := Screened{Pair: pairs[i], Index: i, State: Unsure, MarginMM: math.Inf(-1)}
			s.Device = c.device
			s.screen(ctx, b, newProbe(c.device), o.Foot)
			f.In = append(f.In, s)
			f.MarginMM = math.Min(f.MarginMM, s.MarginMM)
			if s.MarginMM >= 0 {
				f.Fits++
			}
		}
		f.SupportKept, f.Lost = supportKept(benches[0].traitsOf(c.device, o.Axis), benches[0].traitsOf(asked, o.Axis), o.Prefer)
		out[n] = f
	})
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	slices.SortStableFunc(out, func(a, b ForAll) int {
		first := func(x float64) int {
			switch {
			case x > 0:
				return -1
			case x < 0:
				return 1
			}
			return 0
		}
		if a.Fits != b.Fits {
			return b.Fits - a.Fits
		}
		if a.Fits == len(pairs) { // all fit: give up least
			if d := first(a.SupportKept - b.SupportKept); d != 0 {
				return d
			}
		}
		return first(a.MarginMM - b.MarginMM)
	})
	tell(1, "done")
	return out, nil
}
