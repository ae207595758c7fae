package fit

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"
	"time"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/problem"
)

// Happened says how a device went in the real shoe.
type Happened string

// What can happen.
const (
	WentIn   Happened = "went-in"
	Rubbed   Happened = "rubbed"    // it went in, but rubs or presses at one place
	Ground   Happened = "ground"    // it was ground at one place before it went in
	SentBack Happened = "sent-back" // it went back to the lab
)

// Happenings lists them in the order in which they are offered.
var Happenings = []Happened{WentIn, Rubbed, Ground, SentBack}

// An Outcome is what came of a device in a shoe, beside what was calculated for it. No name is needed: Case is a code.
type Outcome struct {
	Case     string         `json:"case"`
	Date     string         `json:"date"` // 2006-01-02
	Shoe     string         `json:"shoe"`
	Size     string         `json:"size"`
	Closure  string         `json:"closure"`
	Options  device.Options `json:"options"`
	Program  string         `json:"program"` // version that calculated
	Odds     float64        `json:"odds"`    // that nothing is blocked, as given; 0 to 1
	Happened Happened       `json:"happened"`
	Feature  string         `json:"feature,omitempty"` // of rubbed and ground: where, as findings name it
	Zone     string         `json:"zone,omitempty"`
	GroundMM float64        `json:"ground_mm,omitempty"`
	Note     string         `json:"note,omitempty"`
	Places   []OutcomePlace `json:"places"` // what was calculated for the places that decide, settled pose
}

// An OutcomePlace is one finding as it was calculated.
type OutcomePlace struct {
	Feature     string  `json:"feature"`
	Zone        string  `json:"zone"`
	GapMM       float64 `json:"gap_mm"`
	PlusMinusMM float64 `json:"plus_minus_mm"` // one standard deviation
	GiveMM      float64 `json:"give_mm"`
}

// NewOutcome is the outcome of a device that was checked; odds may be nil, then those of the place that decides count.
func (b *Bench) NewOutcome(code string, on time.Time, d *device.Device, r *Result, odds *Odds) Outcome {
	o := Outcome{
		Case: code, Date: on.Format(time.DateOnly), Shoe: b.Room.Sheet.ID, Size: b.Room.Sheet.Size.String(), Closure: b.Room.Sheet.Closure, Options: d.Options,
		Program: Version, Odds: r.Verdict.Odds, Happened: WentIn, Places: []OutcomePlace{},
	}
	if odds != nil {
		o.Odds = odds.Fit
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Pose == Settled && !f.Bearing && f.decides() {
			o.Places = append(o.Places, OutcomePlace{f.Feature.String(), f.Zone.String(), f.GapMM, f.PlusMinusMM, b.Room.GiveMM(f.Zone)})
		}
	}
	return o
}

// Limits of a file of outcomes.
const (
	mostOutcomes     = 100_000
	mostOutcomeBytes = 64 << 20
	mostPlaces       = 200
	mostNote         = 2000
	outcomesFormat   = "lastroom-outcomes"
)

var codeForm = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$`)

// ValidCode says whether a case may be called so: a code, no name.
func ValidCode(code string) bool { return codeForm.MatchString(code) }

// Validate says what is wrong with an outcome.
func (o *Outcome) Validate() problem.Problems {
	var ps problem.Problems
	bad := func(field, value, limit, mend string) {
		ps = append(ps, problem.Problem{Field: field, Value: clip(value), Limit: limit, Mend: mend})
	}
	if !ValidCode(o.Case) {
		bad("case", o.Case, "a code of 1 to 40 letters, digits, dots, dashes and underscores", "give a code, no name")
	}
	if _, err := time.Parse(time.DateOnly, o.Date); err != nil {
		bad("date", o.Date, "a day such as 2026-11-26", "write year-month-day")
	}
	if !(o.Odds >= 0 && o.Odds <= 1) {
		bad("odds", fmt.Sprint(o.Odds), "0 to 1", "take them from the verdict")
	}
	switch o.Happened {
	case WentIn, SentBack:
	case Rubbed, Ground:
		if o.Zone == "" || o.Feature == "" {
			bad("zone", o.Zone, string(o.Happened)+" needs the place", "give feature and zone as the findings name them")
		}
	default:
		bad("happened", string(o.Happened), "one of went-in, rubbed, ground, sent-back", "choose one of them")
	}
	if !(o.GroundMM >= 0 && o.GroundMM <= 20) || o.Happened == Ground && o.GroundMM == 0 {
		bad("ground_mm", fmt.Sprint(o.GroundMM), "above 0 to 20 mm where it was ground", "give what was taken off")
	}
	if len(o.Note) > mostNote {
		bad("note", o.Note, fmt.Sprintf("at most %d bytes", mostNote), "shorten it")
	}
	if len(o.Places) > mostPlaces {
		bad("places", fmt.Sprint(len(o.Places)), fmt.Sprintf("at most %d", mostPlaces), "leave out what is far from the walls")
	}
	for i, p := range o.Places {
		if !(math.Abs(p.GapMM) <= 100) || !(p.PlusMinusMM >= 0 && p.PlusMinusMM <= 20) || !(p.GiveMM >= 0 && p.GiveMM <= 20) {
			bad(fmt.Sprintf("places[%d]", i), fmt.Sprintf("%g ± %g, give %g", p.GapMM, p.PlusMinusMM, p.GiveMM), "gap within 100 mm, ± and give 0 to 20 mm", "take them from the findings")
		}
	}
	return ps
}

type outcomesFile struct {
	Format   string    `json:"format"`
	Version  int       `json:"version"`
	Outcomes []Outcome `json:"outcomes"`
}

// ReadOutcomes reads a file of outcomes: JSON as WriteOutcomes writes it. Errors are problem.Problems that name the file;
// files over 64 MB or with more than 100,000 outcomes are refused.
func ReadOutcomes(r io.Reader, name string) ([]Outcome, error) {
	refuse := func(limit, mend string) error { return problem.Problem{File: name, Limit: limit, Mend: mend} }
	dec := json.NewDecoder(io.LimitReader(r, mostOutcomeBytes+1))
	dec.DisallowUnknownFields()
	var f outcomesFile
	if err := dec.Decode(&f); err != nil {
		if dec.InputOffset() >= mostOutcomeBytes {
			return nil, refuse("at most 64 MB", "split the file")
		}
		return nil, refuse("not a file of outcomes: "+clip(strings.TrimPrefix(err.Error(), "json: ")), "give a file that this program wrote")
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return nil, refuse("something follows the outcomes", "give a file that this program wrote")
	}
	if f.Format != outcomesFormat || f.Version != 1 {
		return nil, refuse(fmt.Sprintf("format %q version %d; %s version 1 is needed", clip(f.Format), f.Version, outcomesFormat), "give a file of outcomes, or a newer program")
	}
	if len(f.Outcomes) > mostOutcomes {
		return nil, refuse(fmt.Sprintf("at most %d outcomes", mostOutcomes), "split the file")
	}
	var ps problem.Problems
	for i := range f.Outcomes {
		for _, p := range f.Outcomes[i].Validate() {
			p.File, p.Field = name, fmt.Sprintf("outcomes[%d].%s", i, p.Field)
			ps = append(ps, p)
			if len(ps) == 20 {
				return nil, ps
			}
		}
	}
	return f.Outcomes, ps.Err()
}

// WriteOutcomes writes outcomes as ReadOutcomes takes them.
func WriteOutcomes(w io.Writer, list []Outcome) error {
	if list == nil {
		list = []Outcome{}
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	return enc.Encode(outcomesFile{outcomesFormat, 1, list})
}

// A ReliabilityBin compares what was said with what came of it: of Count devices whose odds lay between Lo and Hi, Good went
// in without more. Least and Most are the 95 % interval of the share (Wilson 1927, J Am Stat Assoc 22:209; from memory).
type ReliabilityBin struct {
	Lo, Hi      float64
	Count, Good int
	Said        float64 // mean odds given; NaN without any
	Came        float64 // share that went in; NaN without any
	Least, Most float64
}

// Reliability sorts outcomes into so many bins of the odds that were given.
func Reliability(list []Outcome, bins int) []ReliabilityBin {
	out := make([]ReliabilityBin, bins)
	sum := make([]float64, bins)
	for i := range out {
		out[i].Lo, out[i].Hi = float64(i)/float64(bins), float64(i+1)/float64(bins)
	}
	for i := range list {
		b := min(int(list[i].Odds*float64(bins)), bins-1)
		out[b].Count++
		sum[b] += list[i].Odds
		if list[i].Happened == WentIn {
			out[b].Good++
		}
	}
	for i := range out {
		b := &out[i]
		if b.Count == 0 {
			b.Said, b.Came, b.Least, b.Most = math.NaN(), math.NaN(), 0, 1
			continue
		}
		b.Said, b.Came = sum[i]/float64(b.Count), float64(b.Good)/float64(b.Count)
		b.Least, b.Most = wilson(b.Good, b.Count)
	}
	return out
}

// wilson is the 95 % score interval of a share.
func wilson(good, n int) (lo, hi float64) {
	const z = 1.959963984540054
	p, m := float64(good)/float64(n), float64(n)
	mid := (p + z*z/(2*m)) / (1 + z*z/m)
	half := z * math.Sqrt(p*(1-p)/m+z*z/(4*m*m)) / (1 + z*z/m)
	return math.Max(0, mid-half), math.Min(1, mid+half)
}

// wallKind groups zones whose give is learnt together; empty: nothing is learnt about it.
func wallKind(zone string) string {
	for z := footwear.Zone(0); z < footwear.NumZones; z++ {
		if z.String() != zone {
			continue
		}
		switch z {
		case footwear.CounterMedial, footwear.CounterLateral, footwear.CounterBack:
			return "counter"
		case footwear.WaistMedial, footwear.WaistLateral:
			return "quarter"
		case footwear.BallMedial, footwear.BallLateral, footwear.Toe:
			return "vamp"
		case footwear.Feather:
			return "edge of the seat"
		}
	}
	return ""
}
