package sheet

import (
	"context"

	"lastroom/device"
	"lastroom/fit"
)

// Compare calculates what a sheet is made of: the device as ordered and, where now is another one, what is to be changed on it. Draws are
// those of the odds; 0: as fit has them.
func Compare(ctx context.Context, bench *fit.Bench, ordered, now *device.Device, foot fit.Foot, draws int) (before, after *fit.Choice, err error) {
	if before, err = AsIs(ctx, bench, ordered, ordered, foot, draws); err != nil || now.Options == ordered.Options {
		return before, nil, err
	}
	if after, err = AsIs(ctx, bench, now, ordered, foot, draws); err != nil {
		return nil, nil, err
	}
	after.Changes = fit.ChangesBetween(ordered, now)
	for _, ch := range after.Changes {
		if ch.Work.Rank() > after.Work.Rank() {
			after.Work = ch.Work
		}
	}
	after.SupportKept, after.Lost = bench.SupportKept(now, ordered, fit.DefaultAxis())
	return before, after, nil
}

// AsIs is a device as it is, with odds and support where it comes to rest.
func AsIs(ctx context.Context, bench *fit.Bench, dev, ordered *device.Device, foot fit.Foot, draws int) (*fit.Choice, error) {
	r, err := bench.Check(ctx, dev, foot)
	if err != nil {
		return nil, err
	}
	ch := &fit.Choice{Options: dev.Options, Device: dev, Room: bench.Room, Result: r, MarginMM: r.MarginMM()}
	if r.Status != fit.Converged {
		return ch, nil
	}
	if ch.Odds, err = bench.Odds(ctx, dev, foot, fit.OddsOptions{Draws: draws}); err != nil {
		return nil, err
	}
	ch.Support, err = bench.Support(ctx, dev, ordered, foot, fit.DefaultAxis())
	return ch, err
}
