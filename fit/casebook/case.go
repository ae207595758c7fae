package casebook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"time"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
)

// A Case is all that is kept of one wearer under a code. Its JSON is the exchange format, see docs/case.schema.json.
// Every part has a key that is unique in the case and is never given twice.
type Case struct {
	Format  string `json:"format"`
	Version int    `json:"version"`

	ID      string    `json:"id"`   // 32 hexadecimal digits, the same wherever the case goes
	Code    string    `json:"code"` // the user's own, unique in a book: letters, digits and . _ -, no name
	Started time.Time `json:"started"`
	LastKey int       `json:"last_key"` // number of the last key that was given

	Feet     []Foot    `json:"feet,omitempty"`
	Shoes    []Shoe    `json:"shoes,omitempty"`
	Devices  []Device  `json:"devices,omitempty"`
	Results  []Result  `json:"results,omitempty"`
	Notes    []Note    `json:"notes,omitempty"`
	Files    []File    `json:"files,omitempty"`
	Outcomes []Outcome `json:"outcomes,omitempty"`
}

// A Foot is one foot of the wearer; what is zero was not measured. Lengths mm, mass kg.
type Foot struct {
	Side           string  `json:"side"` // right, left
	LengthMM       float64 `json:"length_mm,omitempty"`
	Sex            string  `json:"sex,omitempty"`
	AnkleHeightMM  float64 `json:"ankle_height_mm,omitempty"`
	InstepHeightMM float64 `json:"instep_height_mm,omitempty"`
	BallHeightMM   float64 `json:"ball_height_mm,omitempty"`
	ToeHeightMM    float64 `json:"toe_height_mm,omitempty"`
	BodyMassKG     float64 `json:"body_mass_kg,omitempty"`
}

// Measured is the foot as package fit takes it.
func (f Foot) Measured() fit.Foot {
	return fit.Foot{
		LengthMM: f.LengthMM, Sex: f.Sex, AnkleHeightMM: f.AnkleHeightMM, InstepHeightMM: f.InstepHeightMM,
		BallHeightMM: f.BallHeightMM, ToeHeightMM: f.ToeHeightMM, BodyMassKG: f.BodyMassKG,
	}
}

// FootOf is a foot to be kept.
func FootOf(side string, f fit.Foot) Foot {
	return Foot{side, f.LengthMM, f.Sex, f.AnkleHeightMM, f.InstepHeightMM, f.BallHeightMM, f.ToeHeightMM, f.BodyMassKG}
}

// A Shoe is a shoe as it was when it was tried: its sheet is a copy, so that the case stays what it was.
type Shoe struct {
	Key       string          `json:"key"`
	Sheet     json.RawMessage `json:"sheet"` // lastroom-shoe
	InsoleOut bool            `json:"insole_out,omitempty"`
	Scan      string          `json:"scan,omitempty"`     // key of the file with its scan
	Standing  string          `json:"standing,omitempty"` // key of the file that says how the scan stands
}

// Measures are the shoe's sheet.
func (s Shoe) Measures() (footwear.Sheet, error) {
	return footwear.ReadSheet(bytes.NewReader(s.Sheet), "shoe "+s.Key)
}

// A Device is a device as ordered, or as changed from another one of the case. It has options, a scan or both.
type Device struct {
	Key     string          `json:"key"`
	Side    string          `json:"side"`
	Label   string          `json:"label,omitempty"`
	From    string          `json:"from,omitempty"`    // key of the device that it was changed from; "" for one as ordered
	Options json.RawMessage `json:"options,omitempty"` // lastroom-device
	Scan    string          `json:"scan,omitempty"`    // key of the file with its scan
}

// Prescription is the device's options.
func (d Device) Prescription() (device.Options, error) {
	return device.ReadOptions(bytes.NewReader(d.Options), "device "+d.Key)
}

// A Result is what the program answered for a shoe with a device, with the version that said so.
type Result struct {
	Key      string          `json:"key"`
	At       time.Time       `json:"at"`
	Program  string          `json:"program"`
	Shoe     string          `json:"shoe"`   // key
	Device   string          `json:"device"` // key
	Status   fit.Status      `json:"status"`
	State    fit.State       `json:"state"`
	Sentence string          `json:"sentence"`
	Limits   string          `json:"limits"` // shown with the sentence, always
	Odds     float64         `json:"odds"`   // 0 to 1, of the place that decides
	RideUpMM float64         `json:"ride_up_mm"`
	Report   json.RawMessage `json:"report,omitempty"` // lastroom-fit, when the whole answer is kept
}

// A Note is a text of the user's.
type Note struct {
	Key  string    `json:"key"`
	At   time.Time `json:"at"`
	Text string    `json:"text"`
}

// A File is a photograph, a scan or another paper of the case. Its bytes lie in the book under their checksum.
type File struct {
	Key    string    `json:"key"`
	At     time.Time `json:"at"`
	Kind   string    `json:"kind"` // photograph, scan, paper
	Name   string    `json:"name"` // as the user knows it: never a path
	Bytes  int64     `json:"bytes"`
	SHA256 string    `json:"sha256"`
	Note   string    `json:"note,omitempty"`
}

// An Outcome is what came of a device in the real shoe. The code in it is empty here: see Case.LearnFrom.
type Outcome struct {
	Key     string      `json:"key"`
	At      time.Time   `json:"at"`
	Shoe    string      `json:"shoe,omitempty"`   // key
	Device  string      `json:"device,omitempty"` // key
	Outcome fit.Outcome `json:"outcome"`
}

// The format of a case's JSON.
const (
	caseFormat  = "lastroom-case"
	caseVersion = 1
)

func (c *Case) newKey(letter string) string {
	c.LastKey++
	return letter + strconv.Itoa(c.LastKey)
}

// AddShoe adds a shoe with a copy of its sheet and returns its key.
func (c *Case) AddShoe(s footwear.Sheet, insoleOut bool) (string, error) {
	var b bytes.Buffer
	if err := footwear.WriteSheet(&b, s); err != nil {
		return "", err
	}
	shoe := Shoe{Key: c.newKey("s"), Sheet: b.Bytes(), InsoleOut: insoleOut}
	c.Shoes = append(c.Shoes, shoe)
	return shoe.Key, nil
}

// AddDevice adds a device, as ordered or as changed from the one with the key from, and returns its key.
func (c *Case) AddDevice(o device.Options, label, from string) (string, error) {
	var b bytes.Buffer
	if err := device.WriteOptions(&b, o); err != nil {
		return "", err
	}
	d := Device{Key: c.newKey("d"), Side: o.Side, Label: label, From: from, Options: b.Bytes()}
	c.Devices = append(c.Devices, d)
	return d.Key, nil
}

// AddResult adds an answer of this version of the program and returns its key. Report is the whole answer as JSON, or nil.
func (c *Case) AddResult(at time.Time, shoe, dev string, r *fit.Result, report json.RawMessage) string {
	v := r.Verdict
	kept := Result{
		Key: c.newKey("r"), At: stamp(at), Program: fit.Version, Shoe: shoe, Device: dev, Status: r.Status, State: v.State, Sentence: v.Sentence,
		Limits: v.Limits, Odds: v.Odds, RideUpMM: r.RideUpMM, Report: report,
	}
	c.Results = append(c.Results, kept)
	return kept.Key
}

// AddNote adds a note and returns its key.
func (c *Case) AddNote(at time.Time, text string) string {
	n := Note{Key: c.newKey("n"), At: stamp(at), Text: text}
	c.Notes = append(c.Notes, n)
	return n.Key
}

// AddOutcome adds what came of a device in a shoe of the case (keys, or "") and returns its key.
func (c *Case) AddOutcome(at time.Time, shoe, dev string, o fit.Outcome) string {
	o.Case = ""
	kept := Outcome{Key: c.newKey("o"), At: stamp(at), Shoe: shoe, Device: dev, Outcome: o}
	c.Outcomes = append(c.Outcomes, kept)
	return kept.Key
}

// LearnFrom is the outcomes of the case under its code, as fit learns from them.
func (c *Case) LearnFrom() []fit.Outcome {
	out := make([]fit.Outcome, len(c.Outcomes))
	for i, o := range c.Outcomes {
		out[i] = o.Outcome
		out[i].Case = c.Code
	}
	return out
}

// stamp is a time as it is kept: whole seconds, UTC.
func stamp(t time.Time) time.Time { return t.UTC().Truncate(time.Second) }

// find is the part with the key, or nil.
func find[T any](list []T, key string, of func(*T) string) *T {
	for i := range list {
		if of(&list[i]) == key {
			return &list[i]
		}
	}
	return nil
}

// Shoe is the shoe with the key, or nil.
func (c *Case) Shoe(key string) *Shoe {
	return find(c.Shoes, key, func(s *Shoe) string { return s.Key })
}

// Device is the device with the key, or nil.
func (c *Case) Device(key string) *Device {
	return find(c.Devices, key, func(d *Device) string { return d.Key })
}

// File is the file with the key, or nil.
func (c *Case) File(key string) *File {
	return find(c.Files, key, func(f *File) string { return f.Key })
}

// Name is what a text calls the shoe: its name and size.
func (s Shoe) Name() string {
	var head struct {
		Name string        `json:"name"`
		Size footwear.Size `json:"size"`
	}
	if json.Unmarshal(s.Sheet, &head) != nil || head.Name == "" {
		return s.Key
	}
	return fmt.Sprintf("%s, %s", head.Name, head.Size)
}

// name is what a text calls the device.
func (d Device) name() string {
	if d.Label != "" {
		return d.Label
	}
	return d.Key
}
