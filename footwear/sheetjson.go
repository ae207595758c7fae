package footwear

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"

	"lastroom/internal/problem"
)

// The sheet's file is JSON of this form; lengths are mm, angles degrees:
//
//	{
//	  "format": "lastroom-shoe", "version": 1,
//	  "id": "knit-trainer", "name": "Knit trainer, soft", "kind": "trainer",
//	  "size": {"system": "eu", "value": 42, "width": 0},
//	  "insole_removable": true, "closure": "laces", "outline": "swung", "toe_shape": "round",
//	  "sole_stiffness": "soft", "rocker": false, "note": "…",
//	  "reasons": {"toe_spring_mm": "why it lies outside the usual band"},
//	  "measures": {
//	    "last_length_mm": {"value": 280, "plus_minus": 1.5, "instrument": "inside rule", "assumed": false},
//	    … every measure of Infos by its key …
//	  }
//	}
//
// plus_minus and instrument stand as in Infos when left out. A sheet that was graded names the size it was measured in
// as "graded_from". Unknown keys, missing measures and keys that stand twice are errors.
const (
	sheetFormat   = "lastroom-shoe"
	sheetVersion  = 1
	sheetMaxBytes = 1 << 20
)

// sheetHead is all of the file but its measures.
type sheetHead struct {
	Format          string            `json:"format"`
	Version         int               `json:"version"`
	ID              string            `json:"id"`
	Name            string            `json:"name"`
	Kind            string            `json:"kind"`
	Size            Size              `json:"size"`
	GradedFrom      *Size             `json:"graded_from,omitempty"`
	InsoleRemovable bool              `json:"insole_removable"`
	Closure         string            `json:"closure"`
	Outline         Outline           `json:"outline"`
	ToeShape        string            `json:"toe_shape"`
	SoleStiffness   string            `json:"sole_stiffness"`
	Rocker          bool              `json:"rocker"`
	Note            string            `json:"note,omitempty"`
	Reasons         map[string]string `json:"reasons,omitempty"`
}

type sheetFile struct {
	sheetHead
	Measures measureEntries `json:"measures"`
}

type measureEntry struct {
	Value      *float64   `json:"value"`
	PlusMinus  *float64   `json:"plus_minus,omitempty"`
	Instrument Instrument `json:"instrument,omitempty"`
	Assumed    bool       `json:"assumed,omitempty"`
}

// measureEntries refuses unknown and repeated keys when read.
type measureEntries [NumMeasures]measureEntry

// UnmarshalJSON reads the measures by key.
func (m *measureEntries) UnmarshalJSON(data []byte) error {
	d := json.NewDecoder(bytes.NewReader(data))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return problem.Problem{Field: "measures", Limit: "an object of measures by key", Mend: "see the format's description"}
	}
	var seen [NumMeasures]bool
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return err
		}
		key, _ := t.(string)
		id, ok := MeasureByKey(key)
		switch {
		case !ok:
			return problem.Problem{
				Field: "measures", Value: strconv.Quote(clipped(key)), Limit: "no such measure",
				Mend: "take the key out or correct it",
			}
		case seen[id]:
			return problem.Problem{Field: key, Limit: "stands twice", Mend: "keep one of the two"}
		}
		seen[id] = true
		var raw json.RawMessage
		if err := d.Decode(&raw); err != nil {
			return err
		}
		if err := strictJSON(raw, &m[id]); err != nil {
			return problem.Problem{Field: key, Value: clipped(string(raw)), Limit: err.Error(), Mend: `write {"value": number}`}
		}
	}
	return nil
}

// strictJSON decodes one value and refuses unknown fields and anything after it.
func strictJSON(data []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("more text after the end")
	}
	return nil
}

// clipped shortens a foreign text for a message.
func clipped(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// ReadSheet reads a shoe from its JSON form and validates it. name stands for the file in errors, which are
// problem.Problem or problem.Problems. Nothing over 1 MiB is read.
func ReadSheet(r io.Reader, name string) (Sheet, error) {
	data, err := io.ReadAll(io.LimitReader(r, sheetMaxBytes+1))
	if err != nil {
		return Sheet{}, problem.Problem{File: name, Limit: err.Error(), Mend: "check that the file can be read"}
	}
	if len(data) > sheetMaxBytes {
		return Sheet{}, problem.Problem{File: name, Value: "over 1 MiB", Limit: "a shoe's file has at most 1 MiB", Mend: "choose the shoe's JSON file"}
	}
	var f sheetFile
	if err := strictJSON(data, &f); err != nil {
		var p problem.Problem
		if errors.As(err, &p) {
			p.File = name
			return Sheet{}, p
		}
		return Sheet{}, problem.Problem{File: name, Limit: err.Error(), Mend: "correct the JSON, or choose a shoe's file"}
	}
	if f.Format != sheetFormat || f.Version != sheetVersion {
		return Sheet{}, problem.Problem{
			File: name, Field: "format", Value: fmt.Sprintf("%q version %d", clipped(f.Format), f.Version),
			Limit: fmt.Sprintf("%q version %d", sheetFormat, sheetVersion), Mend: "choose a shoe's file of this version",
		}
	}
	s, missing := f.sheet()
	if len(missing) > 0 {
		return Sheet{}, missing.In(name)
	}
	if err := s.Validate().In(name).Err(); err != nil {
		return Sheet{}, err
	}
	return s, nil
}

func (f *sheetFile) sheet() (Sheet, problem.Problems) {
	s := Sheet{
		ID: f.ID, Name: f.Name, Kind: f.Kind, Size: f.Size, InsoleRemovable: f.InsoleRemovable, Closure: f.Closure,
		Outline: f.Outline, ToeShape: f.ToeShape, SoleStiffness: f.SoleStiffness, Rocker: f.Rocker, Note: f.Note,
		Reasons: f.Reasons,
	}
	if len(s.Reasons) == 0 {
		s.Reasons = nil
	}
	if f.GradedFrom != nil {
		s.GradedFrom = *f.GradedFrom
	}
	var missing problem.Problems
	for id, e := range f.Measures {
		info := &Infos[id]
		if e.Value == nil {
			missing = append(missing, problem.Problem{Field: info.Key, Limit: "missing", Mend: "add the measure's value in " + info.Unit})
			continue
		}
		m := Measure{Value: *e.Value, PlusMinus: info.PlusMinus, Instrument: info.Instrument, Assumed: e.Assumed}
		if e.PlusMinus != nil {
			m.PlusMinus = *e.PlusMinus
		}
		if e.Instrument != "" {
			m.Instrument = e.Instrument
		}
		s.M[id] = m
	}
	return s, missing
}

// WriteSheet writes a shoe in its JSON form, a line a measure. ReadSheet gives the same sheet back.
func WriteSheet(w io.Writer, s Sheet) error {
	if err := s.Validate().Err(); err != nil {
		return err
	}
	h := sheetHead{
		Format: sheetFormat, Version: sheetVersion,
		ID: s.ID, Name: s.Name, Kind: s.Kind, Size: s.Size, InsoleRemovable: s.InsoleRemovable, Closure: s.Closure,
		Outline: s.Outline, ToeShape: s.ToeShape, SoleStiffness: s.SoleStiffness, Rocker: s.Rocker, Note: s.Note,
		Reasons: s.Reasons,
	}
	if s.GradedFrom != (Size{}) {
		h.GradedFrom = &s.GradedFrom
	}
	head, err := json.MarshalIndent(h, "", "  ")
	if err != nil {
		return err
	}
	var b bytes.Buffer
	b.Write(bytes.TrimSuffix(head, []byte("\n}")))
	b.WriteString(",\n  \"measures\": {")
	for id, m := range s.M {
		line, err := json.Marshal(measureEntry{Value: &m.Value, PlusMinus: &m.PlusMinus, Instrument: m.Instrument, Assumed: m.Assumed})
		if err != nil {
			return err
		}
		if id > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, "\n    %q: %s", Infos[id].Key, line)
	}
	b.WriteString("\n  }\n}\n")
	_, err = w.Write(b.Bytes())
	return err
}
