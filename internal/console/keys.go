package console

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/problem"
)

// A jobKey is a key of --with that belongs neither to the device nor to the shoe's sheet.
type jobKey struct {
	key, unit, help string
	lo, hi          float64
	choices         []string
	set             func(j *job, value string) error
}

func footKey(key, unit, help string, lo, hi float64, at func(*job) *float64) jobKey {
	return jobKey{key: key, unit: unit, help: help, lo: lo, hi: hi, set: func(j *job, value string) error {
		v, err := number(key, value)
		if err == nil && !(v >= lo && v <= hi) {
			err = problem.Problem{Field: key, Value: value + " " + unit, Limit: fmt.Sprintf("%g to %g %s", lo, hi, unit), Mend: "measure it again, or leave it out"}
		}
		if err == nil {
			*at(j) = v
		}
		return err
	}}
}

var jobKeys = []jobKey{
	{key: "insole_out", help: "take the shoe's own insole out first", choices: []string{"yes", "no"}, set: func(j *job, value string) (err error) {
		j.insoleOut, err = yesNo("insole_out", value)
		return err
	}},
	footKey("ankle_height_mm", "mm", "height of the outer ankle bone; without it, from foot length", 25, 110, func(j *job) *float64 { return &j.foot.AnkleHeightMM }),
	footKey("instep_height_mm", "mm", "height of the instep; it does not follow from foot length", 25, 110, func(j *job) *float64 { return &j.foot.InstepHeightMM }),
	footKey("ball_height_mm", "mm", "height at the ball joints; without it, joint girth / 5 less a usual insole", 15, 80, func(j *job) *float64 { return &j.foot.BallHeightMM }),
	footKey("toe_height_mm", "mm", "height of the big toe", 8, 50, func(j *job) *float64 { return &j.foot.ToeHeightMM }),
	footKey("body_mass_kg", "kg", "body mass; without it, the average", 8, 250, func(j *job) *float64 { return &j.foot.BodyMassKG }),
}

func yesNo(key, value string) (bool, error) {
	switch strings.ToLower(value) {
	case "yes", "true", "1", "y", "on":
		return true, nil
	case "no", "false", "0", "n", "off":
		return false, nil
	}
	return false, problem.Problem{Field: key, Value: clipped(value), Limit: "yes or no", Mend: "write one of them"}
}

func number(key, value string) (float64, error) {
	v, err := strconv.ParseFloat(strings.Replace(value, ",", ".", 1), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, problem.Problem{Field: key, Value: clipped(value), Limit: "a number is needed", Mend: "write a plain number, without its unit"}
	}
	return v, nil
}

// keyRow is the JSON of one key.
type keyRow struct {
	Key     string   `json:"key"`
	Of      string   `json:"of"` // device, foot, shoe
	Unit    string   `json:"unit,omitempty"`
	Min     *num     `json:"min,omitempty"`
	Max     *num     `json:"max,omitempty"`
	Choices []string `json:"choices,omitempty"`
	Help    string   `json:"help"`
}

func keyRows() []keyRow {
	var rows []keyRow
	limit := func(v float64) *num { n := num(v); return &n }
	for _, k := range device.Keys() {
		r := keyRow{Key: k.Key, Of: "device", Unit: k.Unit, Choices: k.Choices, Help: k.Help}
		if len(k.Choices) == 0 {
			r.Min, r.Max = limit(k.Min), limit(k.Max)
		}
		rows = append(rows, r)
	}
	for _, k := range jobKeys {
		r := keyRow{Key: k.key, Of: "foot", Unit: k.unit, Choices: k.choices, Help: k.help}
		if k.key == "insole_out" {
			r.Of = "shoe"
		}
		if k.unit != "" {
			r.Min, r.Max = limit(k.lo), limit(k.hi)
		}
		rows = append(rows, r)
	}
	for _, k := range scanKeys {
		rows = append(rows, keyRow{Key: k.key, Of: "device", Choices: k.choices, Help: k.help})
	}
	for _, m := range footwear.Infos {
		rows = append(rows, keyRow{Key: shoePrefix + m.Key, Of: "shoe", Unit: m.Unit, Min: limit(m.Lo), Max: limit(m.Hi), Help: m.What})
	}
	return rows
}

func runKeys(c *call) error {
	if err := c.parseFlags(); err != nil {
		return err
	}
	rows := keyRows()
	if c.asJSON {
		return c.json(map[string]any{"keys": rows})
	}
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	for _, r := range rows {
		limits := strings.Join(r.Choices, "|")
		if r.Min != nil {
			limits = fmt.Sprintf("%g to %g %s", float64(*r.Min), float64(*r.Max), r.Unit)
		}
		fmt.Fprintf(w, "%s\t%s\t%s\n", r.Key, limits, r.Help)
	}
	return w.Flush()
}
