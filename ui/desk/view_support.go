package desk

import (
	"fmt"
	"math"

	"lastroom/fit"
)

// oddsLine says how sure the answer is, and what to measure again where that matters.
func oddsLine(o *fit.Odds, done bool) string {
	if o == nil {
		return ""
	}
	line := fmt.Sprintf("With every ± drawn together nothing is blocked in %.0f of 100 draws (%d draws", 100*o.Fit, o.Draws)
	if !done {
		line += " so far"
	}
	line += ")."
	if o.Fit > 0.02 && o.Fit < 0.98 && len(o.Decides) > 0 {
		line += " " + o.Decides[0].Sentence()
	}
	return line
}

// A SupportRow is one figure of what the device gives: now, as ordered, and the plain device's.
type SupportRow struct {
	Key, Name           string
	Short               string // the name on the strip, empty: the figure stands on the table only
	Now, Ordered, Plain string // with the unit
	Others              string // as ordered and of the plain device
	Band                string // of an estimate, "20 to 34 mm"; empty where it is computed
	Change              string // against as ordered, in words: "12 % less than ordered"
	Means               string // what more or less of it means
	Changed             bool
}

// stripNames are the figures on the strip with their short names; the others stand on the table.
var stripNames = map[string]string{
	"base_width_mm":                    "base width",
	"rotational_stiffness_nmm_per_rad": "steadiness",
	"tilt_off_centre_deg":              "tilt off centre",
	"lever_lateral_mm":                 "lateral lever",
	"lever_medial_mm":                  "medial lever",
	"cup_hold":                         "hold of the cup",
}

// SupportView is all figures in order; nil until they are worked out.
func SupportView(s *State) []SupportRow {
	var rows []SupportRow
	for i := range s.Depth.Support {
		f := &s.Depth.Support[i]
		r := SupportRow{
			Key: f.Key, Name: f.Name, Short: stripNames[f.Key], Now: Figure(f.Now, f.Unit), Ordered: Figure(f.Ordered, f.Unit), Plain: Figure(f.Plain, f.Unit), Means: f.Words,
		}
		r.Others = "ordered " + r.Ordered + " · plain " + r.Plain
		if f.Lo != f.Hi {
			r.Band = Figure(f.Lo, "") + " to " + Figure(f.Hi, f.Unit)
		}
		r.Change, r.Changed = Compare(f.Now, f.Ordered, "ordered")
		rows = append(rows, r)
	}
	return rows
}

// Compare says in words how a figure differs from another one, which is called what: "12 % less than ordered".
func Compare(now, ordered float64, what string) (words string, changed bool) {
	if math.IsNaN(ordered) {
		return "the device as ordered does not come to rest here", false
	}
	d := now - ordered
	whole := math.Max(math.Abs(ordered), 1e-9)
	switch share := math.Abs(d) / whole; {
	case share < 0.005 || math.Abs(d) < 1e-9:
		return "as " + what, false
	case share > 3:
		if d > 0 {
			return "far more than " + what, true
		}
		return "far less than " + what, true
	case d > 0:
		return fmt.Sprintf("%.0f %% more than %s", 100*share, what), true
	default:
		return fmt.Sprintf("%.0f %% less than %s", 100*share, what), true
	}
}

// Figure is a number with three digits that matter, and its unit.
func Figure(v float64, unit string) string {
	if math.IsNaN(v) {
		return "–"
	}
	if unit == "N·mm/rad" {
		v, unit = v/1000, "N·m/rad"
	}
	if math.IsInf(v, 0) {
		return "no limit"
	}
	text := ""
	switch a := math.Abs(v); {
	case a >= 100:
		text = fmt.Sprintf("%.0f", v)
	case a >= 10:
		text = fmt.Sprintf("%.1f", v)
	default:
		text = fmt.Sprintf("%.2f", v)
	}
	switch unit {
	case "":
		return text
	case "°":
		return text + "°"
	}
	return text + " " + unit
}

// SupportRows is the list of what the device gives: the base at once, the rest when it is worked out.
func SupportRows(s *State) []Row {
	if s.Shown == nil {
		return nil
	}
	var rows []Row
	for _, r := range SupportView(s) {
		row := Row{Title: r.Name, Value: r.Now, Word: r.Change, Detail: fmt.Sprintf("ordered %s · plain device %s", r.Ordered, r.Plain)}
		if r.Band != "" {
			row.Detail += " · estimate, " + r.Band
		}
		if r.Means != "" {
			row.Detail += " · " + r.Means
		}
		row.Mark = ClearMark
		if r.Changed {
			row.Mark = SnugMark
		}
		rows = append(rows, row)
	}
	worked := len(rows) > 0
	for _, r := range BaseView(s) {
		if !worked || r.Name == rockName {
			rows = append(rows, Row{Title: r.Name, Value: r.Text, Word: "now", Mark: ClearMark})
		}
	}
	return rows
}
