package sheet

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
)

// A Case is what a sheet is made of. Before is the device as it is or as ordered; After, when not nil, is the choice that is
// to be carried out. Both carry device, room and result; odds and support may be missing.
type Case struct {
	Code       string // of the case; may be empty
	Date       time.Time
	DeviceName string // preset or file
	FromScan   bool   // the device's shape is a scan's
	Before     *fit.Choice
	After      *fit.Choice
	Foot       fit.Foot // as given, before averages filled it
}

// A Sheet is all that is on a bench sheet, in words and numbers as they are read.
type Sheet struct {
	Format  string `json:"format"`  // lastroom-sheet
	Version int    `json:"version"` // of the format
	Program string `json:"program"`
	Case    string `json:"case,omitempty"`
	Date    string `json:"date"` // 2006-01-02
	Side    string `json:"side"` // right, left
	Kind    string `json:"kind"` // make, change
	Title   string `json:"title"`

	Shoe   Shoe   `json:"shoe"`
	Device Device `json:"device"`
	Foot   []Row  `json:"foot"`

	Steps  []Step `json:"steps"`
	Order  []Row  `json:"order"` // the whole device as it is to be
	Before State  `json:"before"`
	After  *State `json:"after,omitempty"`

	Findings     []Finding `json:"findings"`
	FindingsLeft int       `json:"findings_left_out"` // clear at both, farther off than those listed
	FindingsHow  string    `json:"findings_how"`

	Support     []Support `json:"support"`
	SupportKept *Number   `json:"support_kept_percent,omitempty"`
	SupportLost []string  `json:"support_lost"`
	SupportHow  string    `json:"support_how"`

	Measures []Row      `json:"measures"` // of the shoe
	Sections []Section  `json:"sections"`
	Shapes   []Template `json:"templates"`
	Cautions []string   `json:"cautions"`

	scenes []pictures // of the states, before and after
}

// A Number is a number of a sheet, rounded to a ten-thousandth; null in JSON when it is not finite.
type Number float64

// Shoe says which shoe it is.
type Shoe struct {
	ID     string `json:"id"`
	Name   string `json:"name"`
	Kind   string `json:"kind"`
	Size   string `json:"size"`
	Insole string `json:"insole"`           // in, out, as scanned
	Change string `json:"change,omitempty"` // what is changed on the shoe
}

// Device says which device it is.
type Device struct {
	Name    string         `json:"name"`
	Scanned bool           `json:"scanned"`
	Options device.Options `json:"options"` // as it is to be
}

// A Row is one value with how it is known.
type Row struct {
	Key  string `json:"key"`
	Name string `json:"name"`
	Text string `json:"text"` // value with unit
	How  string `json:"how"`  // instrument and ±
}

// A Step is one bench instruction.
type Step struct {
	Number  int    `json:"number"` // 1, 2, …; 0: it follows from the others
	Key     string `json:"key"`
	Feature string `json:"feature"`
	From    string `json:"from"`
	To      string `json:"to"`
	Tool    string `json:"tool"`
	Work    string `json:"work"`
	Words   string `json:"words"`
}

// A State is how it fits before or after, with what that rests on.
type State struct {
	Head     string   `json:"head"`
	State    string   `json:"state"`
	Sentence string   `json:"sentence"`
	Limits   string   `json:"limits"`
	Seating  []Row    `json:"seating"`
	FootRoom []Row    `json:"foot_room"`
	Odds     *Odds    `json:"odds"` // null: not drawn
	OddsNote string   `json:"odds_note"`
	Pictures []string `json:"pictures"` // what the drawings in the shoe show, in words
}

// Odds say how sure a state is.
type Odds struct {
	FitPercent Number   `json:"fit_percent"`
	Draws      int      `json:"draws"`
	Lost       int      `json:"draws_without_rest"`
	Decides    []string `json:"decides"`
	Sentence   string   `json:"sentence"`
}

// A Finding is one place before and after.
type Finding struct {
	Number  int    `json:"number"` // on the drawings
	Feature string `json:"feature"`
	Place   string `json:"place"`
	Pose    string `json:"pose"`
	Give    string `json:"give"`
	Before  *Gap   `json:"before"` // null: not near
	After   *Gap   `json:"after,omitempty"`
}

// A Gap is one place in one state; an overlap is below zero.
type Gap struct {
	GapMM       Number `json:"gap_mm"`
	PlusMinusMM Number `json:"plus_minus_mm"` // one standard deviation
	GiveMM      Number `json:"give_mm"`
	OddsPercent Number `json:"odds_percent"`
	State       string `json:"state"`
}

// Support is one figure of what the device gives.
type Support struct {
	Key     string `json:"key"`
	Name    string `json:"name"`
	Unit    string `json:"unit"`
	Ordered Number `json:"ordered"`
	Before  Number `json:"before"`
	After   Number `json:"after"`
	Band    string `json:"band,omitempty"`
	Words   string `json:"words"`
}

// Of makes the sheet of a case.
func Of(c Case) (*Sheet, error) {
	if err := complete(c.Before); err != nil {
		return nil, err
	}
	to := c.Before
	if c.After != nil {
		if err := complete(c.After); err != nil {
			return nil, err
		}
		to = c.After
	}
	if c.Date.IsZero() {
		return nil, errors.New("sheet: a case has no date")
	}
	s := &Sheet{
		Format: "lastroom-sheet", Version: 1, Program: fit.Version, Case: c.Code, Date: c.Date.Format("2006-01-02"),
		Side: device.Right, Kind: "make", Title: "Bench sheet: to make",
		Device: Device{Name: c.DeviceName, Scanned: c.FromScan, Options: to.Device.Options},
	}
	if to.Device.Options.Side == device.Left {
		s.Side = device.Left
	}
	if c.After != nil {
		s.Kind, s.Title = "change", "Bench sheet: to change"
	}
	s.Shoe = shoeOf(to)
	s.Foot = footRows(c.Foot, to.Result.Foot)
	s.Steps = stepsOf(c)
	s.Order = orderRows(to.Device.Options, c.FromScan)
	s.Before = stateOf(c.Before, headOf(c, false))
	if c.After != nil {
		after := stateOf(c.After, headOf(c, true))
		s.After = &after
	}
	s.findings(c)
	s.scenes = append(s.scenes, s.picturesOf(c.Before))
	if c.After != nil {
		s.scenes = append(s.scenes, s.picturesOf(c.After))
	}
	for i, st := range s.states() {
		st.Pictures = s.scenes[i].words()
	}
	s.support(c)
	s.Measures = measureRows(&to.Room.Sheet)
	s.Sections, s.Shapes = sectionsOf(c, to)
	s.Cautions = []string{fit.Caution, paperCaution}
	return s, nil
}

const paperCaution = "Work in small steps and try the device in the shoe between them: what is ground off can't be put back. " +
	"Templates hold only where the printed ruler is true."

func complete(c *fit.Choice) error {
	if c == nil || c.Device == nil || c.Room == nil || c.Result == nil {
		return errors.New("sheet: a state of a case needs device, room and result")
	}
	return nil
}

func headOf(c Case, after bool) string {
	switch {
	case after:
		return "After the change (calculated)"
	case c.After != nil:
		return "Before: as it is"
	default:
		return "As ordered (calculated)"
	}
}

func shoeOf(c *fit.Choice) Shoe {
	r := c.Room
	s := Shoe{ID: r.Sheet.ID, Name: r.Sheet.Name, Kind: r.Sheet.Kind, Size: r.Sheet.Size.String(), Insole: "in", Change: c.Shoe}
	switch {
	case r.Scan != nil:
		s.Insole = "as scanned"
	case !r.InsoleIn:
		s.Insole = "out"
	}
	return s
}

// footRows are the foot's measures, each given or filled from averages.
func footRows(given, filled fit.Foot) []Row {
	const average = "not measured: average for the foot's length (ANSUR II 2012)"
	var rows []Row
	add := func(key, name string, was, is float64, unit, how string) {
		if is <= 0 {
			return
		}
		if was > 0 {
			how = "as entered; instrument and ± not recorded"
		}
		rows = append(rows, Row{key, name, fmt.Sprintf("%.0f %s", is, unit), how})
	}
	add("foot_length_mm", "foot length", given.LengthMM, filled.LengthMM, "mm", "not measured: what the size or the device stands for")
	add("ankle_height_mm", "height of the outer ankle bone", given.AnkleHeightMM, filled.AnkleHeightMM, "mm", average)
	add("instep_height_mm", "instep height", given.InstepHeightMM, filled.InstepHeightMM, "mm", average)
	add("ball_height_mm", "height at the ball joints", given.BallHeightMM, filled.BallHeightMM, "mm", average)
	add("toe_height_mm", "height at the toes", given.ToeHeightMM, filled.ToeHeightMM, "mm", average)
	add("body_mass_kg", "body mass", given.BodyMassKG, filled.BodyMassKG, "kg", "not weighed: average, or what is usual for the length")
	return rows
}

// measureRows are the shoe's measures with instrument and ±.
func measureRows(s *footwear.Sheet) []Row {
	var rows []Row
	for id := range footwear.NumMeasures {
		m, info := s.M[id], id.Info()
		unit := " " + info.Unit
		if info.Unit == "deg" {
			unit = "°"
		}
		what := "95 of 100 readings"
		if info.Kind == footwear.Even {
			what = "evenly spread"
		}
		how := fmt.Sprintf("%s, ± %.3g%s (%s)", m.Instrument, m.PlusMinus, unit, what)
		if m.Assumed {
			how += ", assumed"
		}
		if s.GradedFrom != (footwear.Size{}) {
			how += ", graded from " + s.GradedFrom.String()
		}
		rows = append(rows, Row{info.Key, info.Name, fmt.Sprintf("%.1f%s", m.Value, unit), how})
	}
	return rows
}

func stateOf(c *fit.Choice, head string) State {
	r := c.Result
	s := State{
		Head: head, State: string(r.Verdict.State), Sentence: r.Verdict.Sentence, Limits: r.Verdict.Limits,
		Seating: []Row{}, FootRoom: []Row{}, Pictures: []string{},
	}
	calculated := fmt.Sprintf("calculated (seating %s, unbalanced %.2g N); ± by the odds", r.Status, r.ResidualN)
	s.Seating = []Row{
		{"ride_up_mm", "rides up", fmt.Sprintf("%.1f mm", r.RideUpMM), calculated},
		{"tilt_frontal_deg", "tilts, inverted positive", fmt.Sprintf("%.1f°", noMinusZero(r.TiltFrontalDeg, 1)), calculated},
		{"pitch_deg", "pitches, heel up positive", fmt.Sprintf("%.1f°", noMinusZero(r.PitchDeg, 1)), calculated},
		{"slip_forward_mm", "slips forward", fmt.Sprintf("%.1f mm", noMinusZero(r.SlipForwardMM, 1)), calculated},
		{"rock_gap_mm", "largest gap under a corner of the base", fmt.Sprintf("%.1f mm", noMinusZero(r.Base.RockGapMM, 1)), calculated},
	}
	if r.Status != fit.Converged {
		s.Seating = []Row{{"status", "seating", string(r.Status), "calculated: there is no pose to report"}}
	}
	for i := range r.FootRoom {
		q := &r.FootRoom[i]
		if q.Known {
			s.FootRoom = append(s.FootRoom, Row{q.Key, q.Words(), string(q.State), "calculated; " + q.Note})
			continue
		}
		s.FootRoom = append(s.FootRoom, Row{q.Key, q.Name, fmt.Sprintf("%.1f mm left", q.LeftMM), "calculated; " + q.Note})
	}
	if c.Odds == nil {
		s.OddsNote = "Odds of the whole were not drawn, or the device did not come to rest: the limits above speak of the one place that decides."
		return s
	}
	o := &Odds{FitPercent: Number(100 * c.Odds.Fit), Draws: c.Odds.Draws, Lost: c.Odds.Lost, Decides: []string{}}
	o.Sentence = fmt.Sprintf("Odds that nothing is blocked: %.0f %% (%d draws of all measures within their ±", 100*c.Odds.Fit, c.Odds.Draws)
	if c.Odds.Lost > 0 {
		o.Sentence += fmt.Sprintf(", %d of them without rest", c.Odds.Lost)
	}
	o.Sentence += fmt.Sprintf("); ride-up %.1f to %.1f mm in 90 of 100.", c.Odds.RideUp.LoMM, c.Odds.RideUp.HiMM)
	for _, d := range c.Odds.Decides {
		o.Decides = append(o.Decides, fmt.Sprintf("%s: goes with %.0f %% of the spread of the tightest place", d.Name, 100*d.Share))
	}
	s.Odds = o
	s.OddsNote = "Odds hold for the ± entered with each measure."
	return s
}

// support fills in the figures of support and what is kept.
func (s *Sheet) support(c Case) {
	s.Support, s.SupportLost = []Support{}, []string{}
	s.SupportHow = "Calculated from the device's shape and materials; estimates are given with a band. " +
		"Ordered is the device as prescribed. What counts as support kept, and how much, is common practice, no source."
	to := c.Before
	if c.After != nil {
		to = c.After
	}
	before := map[string]fit.Figure{}
	for _, f := range c.Before.Support {
		before[f.Key] = f
	}
	figures := to.Support
	if len(figures) == 0 { // it does not come to rest, or none were asked for: what there was before is still worth knowing
		figures = c.Before.Support
	}
	for _, f := range figures {
		row := Support{Key: f.Key, Name: f.Name, Unit: f.Unit, Ordered: Number(f.Ordered), Before: Number(f.Now), After: Number(f.Now), Words: f.Words}
		if b, ok := before[f.Key]; ok {
			row.Before = Number(b.Now)
		}
		if len(to.Support) == 0 {
			row.After = Number(math.NaN())
		}
		if f.Lo != f.Hi {
			row.Band = fmt.Sprintf("%s to %s", short(f.Lo), short(f.Hi))
		}
		s.Support = append(s.Support, row)
	}
	if c.After != nil {
		kept := Number(100 * c.After.SupportKept)
		s.SupportKept = &kept
		s.SupportLost = append(s.SupportLost, c.After.Lost...)
	}
}

// KeptSentence says what is kept of the support, "" on a sheet without a change.
func (s *Sheet) KeptSentence() string {
	if s.SupportKept == nil {
		return ""
	}
	t := fmt.Sprintf("Support kept: %.0f %% of what was ordered", float64(*s.SupportKept))
	if len(s.SupportLost) > 0 {
		t += " (" + strings.Join(s.SupportLost, ", ") + ")"
	}
	return t + "."
}
