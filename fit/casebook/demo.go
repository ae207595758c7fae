package casebook

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"lastroom/assets"
	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A DemoCase is a case of the invented clinic: what was tried, and what the program is to find there.
type DemoCase struct {
	Code  string `json:"code"`
	Note  string `json:"note"`
	Shoes []struct {
		ID        string `json:"id"`
		InsoleOut bool   `json:"insole_out"`
		Scan      bool   `json:"scan"` // a scan of its last lies with the case
	} `json:"shoes"`
	Device  string            `json:"device"` // preset
	Options map[string]string `json:"options"`
	Changed map[string]string `json:"changed"` // from the device as ordered
	Foot    Foot              `json:"foot"`
	Claims  []DemoClaim       `json:"claims"`
	Outcome *struct {
		Happened fit.Happened `json:"happened"`
		Date     string       `json:"date"`
		Feature  string       `json:"feature"`
		Zone     string       `json:"zone"`
		GroundMM float64      `json:"ground_mm"`
		Note     string       `json:"note"`
	} `json:"outcome"`
}

// A DemoClaim is what is to be found in one of the shoes.
type DemoClaim struct {
	Of     string      `json:"of"`   // ordered, now
	Shoe   int         `json:"shoe"` // from 0
	States []fit.State `json:"states"`
	Place  string      `json:"place"`  // in the name of the place of the worst finding
	Room   string      `json:"room"`   // key of a question about the foot that is answered with no
	Leaves string      `json:"leaves"` // key of one that is answered with yes
	Says   string      `json:"says"`   // in the verdict
}

// Holds says whether a result is as claimed.
func (c *DemoClaim) Holds(r *fit.Result) bool {
	if !slices.Contains(c.States, r.Verdict.State) || !strings.Contains(r.Verdict.Sentence, c.Says) {
		return false
	}
	if c.Place != "" && (r.Verdict.Worst < 0 || !strings.Contains(r.Findings[r.Verdict.Worst].Place(), c.Place)) {
		return false
	}
	answered := func(key string, s fit.State) bool {
		return key == "" || slices.ContainsFunc(r.FootRoom, func(q fit.RoomCheck) bool { return q.Key == key && q.State == s })
	}
	return answered(c.Room, fit.Blocked) && answered(c.Leaves, fit.Clear)
}

// DemoCases are the cases of the invented clinic. The file is part of the program, so one that can't be read is a programmer's mistake.
func DemoCases() []DemoCase {
	var f struct{ Cases []DemoCase }
	if err := json.Unmarshal(assets.Cases, &f); err != nil {
		panic("casebook: the demo cases: " + err.Error())
	}
	return f.Cases
}

// A demoPair is one shoe of a demo case with the devices that were tried in it.
type demoPair struct {
	sheet     footwear.Sheet
	insoleOut bool
	scan      bool
	bench     *fit.Bench
	ordered   *device.Device
	now       *device.Device
}

// pairs builds what was tried.
func (d *DemoCase) pairs(ctx context.Context) ([]demoPair, error) {
	preset, err := device.FindPreset(d.Device)
	if err != nil {
		return nil, err
	}
	var out []demoPair
	var ordered device.Options
	for i, s := range d.Shoes {
		sheet, err := footwear.Demo().Find(s.ID)
		if err != nil {
			return nil, err
		}
		if i == 0 { // made for the first shoe
			if ordered, err = fit.MadeFor(preset.Options, sheet); err != nil {
				return nil, err
			}
			for key, value := range d.Options {
				if err := ordered.Set(key, value); err != nil {
					return nil, err
				}
			}
		}
		now := ordered
		for key, value := range d.Changed {
			if err := now.Set(key, value); err != nil {
				return nil, err
			}
		}
		p := demoPair{sheet: sheet, insoleOut: s.InsoleOut, scan: s.Scan}
		room, err := footwear.NewRoom(sheet, !s.InsoleOut)
		if err != nil {
			return nil, err
		}
		if p.bench, err = fit.NewBench(ctx, room); err != nil {
			return nil, err
		}
		if p.ordered, err = device.Build(ordered); err != nil {
			return nil, err
		}
		if p.now, err = device.Build(now); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}

// AddDemo puts the invented clinic into a book: each case as it would have been kept, calculated by this version. Cases that are there
// already, under their codes, are left alone. It returns how many were added.
func AddDemo(ctx context.Context, b *Book) (int, error) {
	added := 0
	for _, d := range DemoCases() {
		var p problem.Problem
		if _, err := b.Get(ctx, d.Code); err == nil {
			continue
		} else if !errors.As(err, &p) {
			return added, err
		}
		if err := d.add(ctx, b); err != nil {
			return added, fmt.Errorf("%s: %w", d.Code, err)
		}
		added++
	}
	return added, nil
}

func (d *DemoCase) add(ctx context.Context, b *Book) error {
	pairs, err := d.pairs(ctx)
	if err != nil {
		return err
	}
	s, err := b.New(ctx, d.Code)
	if err != nil {
		return err
	}
	id := s.Case.ID
	if _, err := b.Change(ctx, id, 0, func(c *Case) error { c.AddNote(b.now(), d.Note); return nil }); err != nil {
		return err
	}
	foot := d.Foot.Measured()
	for _, p := range pairs {
		stand := Stand{Foot: foot, Shoe: p.sheet, InsoleOut: p.insoleOut, Ordered: p.ordered.Options, Label: d.Device}
		for _, dev := range []*device.Device{p.ordered, p.now} {
			if dev == p.now && len(d.Changed) == 0 {
				continue
			}
			stand.Now = dev.Options
			if stand.Result, err = p.bench.Check(ctx, dev, foot); err != nil {
				return err
			}
			if s, err = b.Change(ctx, id, 0, func(c *Case) error { return c.Take(b.now(), stand) }); err != nil {
				return err
			}
		}
		if p.scan {
			var stl bytes.Buffer
			if err := mesh.WriteSTL(&stl, p.bench.Room.Closed, p.sheet.ID); err != nil {
				return err
			}
			if _, _, err := b.Attach(ctx, id, File{Kind: "scan", Name: p.sheet.ID + "-last.stl", Note: "the last, in millimetres"}, &stl); err != nil {
				return err
			}
		}
	}
	if d.Outcome == nil {
		return nil
	}
	last := pairs[0]
	r, err := last.bench.Check(ctx, last.now, foot)
	if err != nil {
		return err
	}
	o := last.bench.NewOutcome("", b.now(), last.now, r, nil)
	o.Happened, o.Date, o.Feature, o.Zone = d.Outcome.Happened, d.Outcome.Date, d.Outcome.Feature, d.Outcome.Zone
	o.GroundMM, o.Note = d.Outcome.GroundMM, d.Outcome.Note
	_, err = b.Change(ctx, id, 0, func(c *Case) error {
		n := len(c.Results) - 1
		c.AddOutcome(b.now(), c.Results[n].Shoe, c.Results[n].Device, o)
		return nil
	})
	return err
}
