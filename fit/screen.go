package fit

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"lastroom/device"
	"lastroom/footwear"
)

// A Pair is one device to be tried in one shoe of one size.
type Pair struct {
	Shoe       footwear.Sheet
	Room       *footwear.Room // of a scanned shoe; nil: it is built from Shoe
	InsoleOut  bool
	Device     *device.Device
	DeviceName string
}

// A Screened pair has what the whole computation says of it. Its odds are those of the place that decides, taken alone, until
// Odds are drawn for it.
type Screened struct {
	Pair
	Index    int  // of the pair in what was asked
	Draft    bool // the first look: by a coarser mesh of room and device; the whole computation comes after
	State    State
	MarginMM float64 // Result.MarginMM
	Alone    float64 // odds of the place that decides, taken alone; 0 to 1
	Odds     *Odds   // of all draws together; nil: not drawn
	Reason   string  // why it stands where it stands, in one phrase
	Verdict  Verdict
	Err      error // the room or the seating failed; the pair comes last
}

// Chance are the odds of all draws together where they are known, else those of the place that decides.
func (s *Screened) Chance() float64 {
	if s.Odds != nil {
		return s.Odds.Fit
	}
	return s.Alone
}

// ScreenOptions says how pairs are screened.
type ScreenOptions struct {
	Foot   Foot
	Unsure Unsureness // zero: DefaultUnsure
	Best   int        // for so many of the best, odds are drawn; 0: none
	Draws  int        // 0: 1000
	// DraftsOnly ends after the first look; otherwise there is one where there are more than DraftsFrom pairs.
	DraftsOnly bool
	// Each, when not nil, is given every pair as it is done, in no order, one at a time; those that were drafts come again, and
	// those whose odds are drawn.
	Each func(Screened)
	// Progress, when not nil, is told how far it is.
	Progress func(ScreenProgress)
}

// ScreenProgress is how far a screening is.
type ScreenProgress struct {
	Draft    bool // in the first look
	Done, Of int  // pairs
}

// Words are the progress in a line.
func (p ScreenProgress) Words() string {
	if p.Draft {
		return fmt.Sprintf("a first look: %d of %d pairs", p.Done, p.Of)
	}
	return fmt.Sprintf("%d of %d pairs", p.Done, p.Of)
}

// DraftsFrom is how many pairs are seated exactly at once; of more there is a first look before, in a quarter of the time, and the
// best of it are seated exactly first.
const DraftsFrom = 60

// Screen seats the device of every pair in its shoe, on every core, and ranks them: what fits first, by the odds (in steps
// of a twentieth, since a few draws more or less are no reason), then by margin. Memory does not grow with the number of
// pairs beyond what is answered. It repeats exactly; the error is the context's.
func Screen(ctx context.Context, pairs []Pair, o ScreenOptions) ([]Screened, error) {
	if o.Unsure == (Unsureness{}) {
		o.Unsure = DefaultUnsure
	}
	if o.Draws == 0 {
		o.Draws = 1000
	}
	out := make([]Screened, len(pairs))
	order := make([]int, len(pairs))
	for i := range order {
		order[i] = i
	}
	if o.DraftsOnly || len(pairs) > DraftsFrom {
		seatAll(ctx, out, order, pairs, o, true)
		ranked := slices.Clone(out)
		Rank(ranked)
		if o.DraftsOnly || ctx.Err() != nil {
			return ranked, ctx.Err()
		}
		for i := range ranked {
			order[i] = ranked[i].Index
		}
	}
	seatAll(ctx, out, order, pairs, o, false)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	Rank(out)
	for i := range out[:min(o.Best, len(out))] {
		s := &out[i]
		if s.Err != nil {
			break
		}
		b, err := s.bench(ctx, false)
		if err == nil {
			s.Odds, err = b.as(o.Unsure, false).Odds(ctx, s.Device, o.Foot, OddsOptions{Draws: o.Draws})
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err == nil {
			o.tell(s)
		}
	}
	Rank(out)
	return out, nil
}

// seatAll seats every pair, in that order; a first look goes from shoe to shoe.
func seatAll(ctx context.Context, out []Screened, order []int, pairs []Pair, o ScreenOptions, draft bool) {
	shared := share(pairs, draft)
	if draft {
		order = shared.byRoom()
	}
	var mu sync.Mutex
	done := 0
	each(ctx, len(order), func(k int) {
		i := order[k]
		s := Screened{Pair: pairs[i], Index: i, Draft: draft, State: Unsure, MarginMM: math.Inf(-1)}
		b, p, err := shared.take(ctx, i)
		if err != nil {
			s.Err = err
		} else {
			s.screen(ctx, b.as(o.Unsure, draft), p, o.Foot)
		}
		shared.give(i)
		if ctx.Err() != nil {
			return
		}
		out[i] = s
		mu.Lock()
		defer mu.Unlock()
		o.tell(&s)
		if done++; o.Progress != nil {
			o.Progress(ScreenProgress{Draft: draft, Done: done, Of: len(pairs)})
		}
	})
}

func (o *ScreenOptions) tell(s *Screened) {
	if o.Each != nil {
		o.Each(*s)
	}
}

// bench is the pair's room made ready; a scanned room has no draft.
func (p *Pair) bench(ctx context.Context, draft bool) (*Bench, error) {
	room := p.Room
	if room == nil {
		build := footwear.NewRoom
		if draft {
			build = footwear.NewDraftRoom
		}
		var err error
		if room, err = build(p.Shoe, !p.InsoleOut); err != nil {
			return nil, err
		}
	}
	return NewBench(ctx, room)
}

// as is the bench with other limits of unsure, for a first look or not.
func (b *Bench) as(u Unsureness, draft bool) *Bench {
	b = b.WithUnsure(u)
	b.draft = draft
	return b
}

func (s *Screened) screen(ctx context.Context, b *Bench, p *probe, foot Foot) {
	r, err := b.check(ctx, p, foot)
	if err != nil {
		s.Err = err
		return
	}
	s.State, s.Alone, s.Verdict = r.Verdict.State, r.Verdict.Odds, r.Verdict
	s.MarginMM, s.Reason = r.Tightest()
	if s.MarginMM >= comfortMM && s.State == Clear {
		s.Reason = "room on all sides"
	}
}

// Rank sorts best first; equals stay in the order in which they were asked.
func Rank(list []Screened) {
	slices.SortStableFunc(list, func(a, b Screened) int {
		worse := func(x float64) int { // of a
			switch {
			case x < 0:
				return 1
			case x > 0:
				return -1
			}
			return 0
		}
		if (a.Err == nil) != (b.Err == nil) {
			if a.Err != nil {
				return 1
			}
			return -1
		}
		if d := worse(math.Round(20*a.Chance()) - math.Round(20*b.Chance())); d != 0 {
			return d
		}
		if a.MarginMM != b.MarginMM {
			if a.MarginMM > b.MarginMM {
				return -1
			}
			return 1
		}
		return a.Index - b.Index
	})
}

// What a shoe must leave in front of the foot to be tried at all, mm over the foot's length: less than the alert limit of the
// toe gap (Gonzalez Elena et al. 2019, BMC Musculoskelet Disord, read) is no size for the foot; more than the most, the foot
// slides (from memory).
const (
	leastAllowanceMM = 5
	mostAllowanceMM  = 20
)

// SizesFor are the sizes of a shoe, graded from its sheet, that suit a foot's length: whole sizes of the EU and of children,
// halves of the UK and US, 5 mm steps of Mondopoint. Smallest first; none where the sheet can't be graded so far.
func SizesFor(s footwear.Sheet, footMM float64) []footwear.Sheet {
	step := 1.0
	switch s.Size.System {
	case footwear.UK, footwear.USMen, footwear.USWomen:
		step = 0.5
	case footwear.Mondopoint:
		step = 5
	}
	var out []footwear.Sheet
	opt := sizesOf(s)
	const reach = 30
	for n := -reach; n <= reach; n++ {
		to := s.Size
		to.Value += step * float64(n)
		if to.System == footwear.Mondopoint && n != 0 {
			to.Width = 0
		}
		last, err := footwear.LastLengthMM(to, opt)
		if err != nil || last-footMM < leastAllowanceMM || last-footMM > mostAllowanceMM {
			continue
		}
		g, err := s.Graded(to, footwear.GradeOptions{Sizes: opt})
		if err == nil {
			out = append(out, g)
		}
	}
	return out
}

// OnShelf pairs one device with every shoe in every size that suits the foot it is made for.
func OnShelf(d *device.Device, name string, shelf []footwear.Sheet, insoleOut bool) []Pair {
	var out []Pair
	for _, s := range shelf {
		for _, g := range SizesFor(s, d.Options.FootLengthMM) {
			out = append(out, Pair{Shoe: g, InsoleOut: insoleOut && g.InsoleRemovable, Device: d, DeviceName: name})
		}
	}
	return out
}

// AllPresets pairs one shoe with every preset, made for the foot length and the heel rise of the shoe; presets that can't be
// built for it are left out.
func AllPresets(s footwear.Sheet, insoleOut bool, footMM float64) []Pair {
	var out []Pair
	for _, p := range device.Presets() {
		o, err := MadeFor(p.Options, s)
		if err != nil {
			continue
		}
		if footMM > 0 {
			o.FootLengthMM = footMM
		}
		d, err := device.Build(o)
		if err != nil {
			continue
		}
		out = append(out, Pair{Shoe: s, InsoleOut: insoleOut && s.InsoleRemovable, Device: d, DeviceName: p.Name})
	}
	return out
}
