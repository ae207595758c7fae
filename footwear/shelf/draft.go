package shelf

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"

	"lastroom/footwear"
	"lastroom/internal/problem"
)

// A Draft is a shoe that is being measured: of its sheet only the measures that were taken count.
type Draft struct {
	Sheet   footwear.Sheet
	Stamp   uint64 // of the shoe of the shelf that is edited; 0: a new one
	Scanned bool   // a scan lies beside that shoe
}

const (
	draftFile    = "unfinished.json"
	draftBad     = "unfinished-unreadable.json"
	draftFormat  = "lastroom-unfinished-shoe"
	draftVersion = 1
	maxDraft     = 1 << 20
)

// draftForm is the draft's file. M hides the sheet's: the measures that were taken stand by their keys.
type draftForm struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
	Stamp   uint64 `json:"stamp"`
	Scanned bool   `json:"scanned"`
	Shoe    struct {
		footwear.Sheet
		M map[string]footwear.Measure `json:"M"`
	} `json:"shoe"`
}

// KeepDraft puts a draft in the place of the one that is kept: it is there as before or as after, whatever happens.
func (s *Shelf) KeepDraft(d Draft) error {
	f := draftForm{Format: draftFormat, Version: draftVersion, Stamp: d.Stamp, Scanned: d.Scanned}
	f.Shoe.Sheet, f.Shoe.M = d.Sheet, map[string]footwear.Measure{}
	for id := range footwear.NumMeasures {
		if d.Sheet.Taken(id) {
			f.Shoe.M[id.String()] = d.Sheet.M[id]
		}
	}
	data, err := json.MarshalIndent(f, "", "  ")
	if err != nil {
		return err
	}
	return s.Keep(draftFile, bytes.NewReader(data))
}

// ForgetDraft keeps no draft any more.
func (s *Shelf) ForgetDraft() error { return s.Forget(draftFile) }

// Draft is the draft that is kept; ok is false when there is none. One that can't be read is put aside under another name,
// which the error tells.
func (s *Shelf) Draft() (d Draft, ok bool, err error) {
	r, err := s.Kept(draftFile)
	if r == nil || err != nil {
		return Draft{}, false, err
	}
	name := s.kept(draftFile)
	data, err := io.ReadAll(io.LimitReader(r, maxDraft+1))
	if closing := r.Close(); err == nil {
		err = closing
	}
	if err != nil {
		return Draft{}, false, diskProblem(name, err)
	}
	if d, err = readDraft(data); err == nil {
		return d, true, nil
	}
	bad := s.kept(draftBad)
	if moving := s.writing(func() error { return s.disk.Rename(name, bad) }); moving != nil {
		return Draft{}, false, moving
	}
	return Draft{}, false, problem.Problem{File: bad, Limit: "no shoe that was being measured: " + err.Error(), Mend: "measure it again; the file is left there"}
}

func readDraft(data []byte) (Draft, error) {
	var f draftForm
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&f); err != nil {
		return Draft{}, err
	}
	if f.Format != draftFormat || f.Version != draftVersion {
		return Draft{}, fmt.Errorf("it is %q version %d", f.Format, f.Version)
	}
	d := Draft{Sheet: f.Shoe.Sheet, Stamp: f.Stamp, Scanned: f.Scanned}
	for key, m := range f.Shoe.M {
		id, ok := footwear.MeasureByKey(key)
		if !ok {
			return Draft{}, fmt.Errorf("there is no measure %q", key)
		}
		if info := id.Info(); m.Value < info.Lo || m.Value > info.Hi || m.PlusMinus < 0 || m.PlusMinus > 10*info.PlusMinus || !slices.Contains(footwear.Instruments, m.Instrument) {
			return Draft{}, fmt.Errorf("%s is no such measure: %g ±%g, %q", info.Name, m.Value, m.PlusMinus, m.Instrument)
		}
		d.Sheet.M[id] = m
	}
	if _, _, err := footwear.FillIn(d.Sheet); err != nil {
		return Draft{}, err
	}
	return d, nil
}
