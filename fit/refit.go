package fit

import (
	"context"
	"fmt"
	"math"

	"lastroom/device"
	"lastroom/footwear"
)

// Work is the kind of work that a change takes.
type Work string

// The kinds of work, from the least to the most: what is ground at the bench can't be put back; lab work builds the wedge,
// the cover or the materials anew on the shell that there is; a remake starts from the model; another shoe, or the shoe's own
// insole taken out, leaves the device alone.
const (
	NoWork    Work = "none"
	Grind     Work = "grind"
	Lab       Work = "lab"
	Remake    Work = "remake"
	OtherShoe Work = "shoe"
)

// Works lists what may be allowed, in the order in which it is shown.
var Works = []Work{Grind, Lab, Remake, OtherShoe}

// Rank orders the kinds of work from none (0) to another shoe.
func (w Work) Rank() int {
	for i, k := range Works {
		if k == w {
			return i + 1
		}
	}
	return 0
}

// Words is the kind of work in words.
func (w Work) Words() string {
	switch w {
	case Grind:
		return "grind at the bench"
	case Lab:
		return "lab work"
	case Remake:
		return "a new device"
	case OtherShoe:
		return "the shoe"
	default:
		return "no work"
	}
}

// RefitOptions says what may change, what must stay and what matters. The zero value allows all work on the device, pins
// nothing and compares to the device as it is.
type RefitOptions struct {
	Ordered *device.Device // what support is compared to; nil: the device as it is
	Foot    Foot
	Axis    Axis         // zero: DefaultAxis
	Allow   []Work       // nil: Works
	Keep    []Pin        // what must stay
	Prefer  []Preference // what matters more or less than usual
	Shoes   []ShoeChange // other rooms to try the device in; see UsualShoes
	// ShapeFromScan says that the device's surface is a scan's. What can be done to it is worked out on one that is built to the
	// scan's measures (see Likeness); where that can't stand in for it, only shoes are tried.
	ShapeFromScan bool
	Draws         int // of the odds of each choice; 0: as OddsOptions, negative: no odds
	// Progress, when not nil, is told how far the search is. It may be called from several goroutines.
	Progress func(RefitProgress)

	// For tests: these levels of today's start instead of all, and so many checks a round.
	levels   []level
	perRound int
}

// RefitProgress is how far a search is.
type RefitProgress struct {
	Done  float64 // 0 to 1
	Tried int     // candidates evaluated so far
	What  string  // what it is doing, in words
}

// A ShoeChange is another room for the same device.
type ShoeChange struct {
	Name      string // "the insole taken out", "half a size up, EU 42.5"
	Sheet     footwear.Sheet
	InsoleOut bool
	SameShoe  bool // it costs no other shoe
}

// A Change is one thing that is changed, from today's state.
type Change struct {
	Key, Name, Unit string // of the option; key "shoe" for another room
	From, To        string // as device.Options.Set takes them
	Words           string // in bench terms: "bevel the lateral side from 10° to 24°: takes 2.1 mm off the base there"
	Work            Work
	Follows         bool // it only keeps in place what another change would move
}

// A Choice is one way out with all that is to be known about it. Result, Odds and Support are of the full computation.
type Choice struct {
	Changes []Change // none: the device as it is
	Options device.Options
	Device  *device.Device
	Shoe    string // Name of the ShoeChange; empty: the shoe at hand
	Room    *footwear.Room
	Work    Work
	Effort  float64 // how much work beside the other choices: its kind first, then how many places; only the order counts

	Result      *Result
	Odds        *Odds // nil: none were asked for, or it did not come to rest
	Support     []Figure
	MarginMM    float64 // Result.MarginMM
	SupportKept float64 // share of what the device as ordered gives, 0 to 1: see SupportTerms
	Lost        []string
	Why         string // why it is listed

	bench    *Bench  // of another shoe
	sureFrom float64 // odds from which a fit is not unsure
}

// Fits says whether the choice is more likely to fit than not: it comes to rest, and nothing is past its limit.
func (c *Choice) Fits() bool {
	return c.Result != nil && c.Result.Status == Converged && c.MarginMM >= 0
}

// Sure says that it fits with the measuring ± included: by the odds of all draws together where they are known, else by the
// verdict, which takes each place alone.
func (c *Choice) Sure() bool {
	if c.Fits() && c.Odds != nil {
		return c.Odds.Fit >= c.sureFrom
	}
	return c.Fits() && (c.Result.Verdict.State == Clear || c.Result.Verdict.State == Snug)
}

// A Refit is the answer: the device as it is, and the choices that nothing else beats in fit margin, support kept and work,
// least work first; at most seven. Where nothing fits, Choices holds the nearest misses.
type Refit struct {
	AsIs     Choice
	Choices  []Choice
	Fits     bool   // at least one choice, or the device as it is, fits
	Sentence string // the answer in one sentence, with the caution in Limits
	Limits   string
	Likeness *Likeness // of a scanned device

	Tried   int // candidates evaluated
	Checked int // of them seated in full
}

// A Likeness is a device that is built to the measures of a scanned one: grinding and rebuilding are worked out on it.
type Likeness struct {
	MarginMM float64 // of the likeness in the room, as MarginMM of the scan
	OffMM    float64 // less that of the scan: how much more room it leaves
	Why      string  // why it can't stand in for the scan; empty: it can
}

// mostUnlikeMM is how far the margin of a likeness may be from that of the scan (from memory: of the order of the sum of a fit's
// usual ±).
const mostUnlikeMM = 1.0

// Words say what the answer rests on.
func (l *Likeness) Words() string {
	if l.Why != "" {
		return "Only shoes were tried: " + l.Why + "."
	}
	more := "more"
	if l.OffMM < 0 {
		more = "less"
	}
	return fmt.Sprintf("Changes of the device are worked out on one that is built to the measures of the scan, which has %.1f mm %s to its limit than the scan itself.", math.Abs(l.OffMM), more)
}

// likeness builds and seats it.
func (b *Bench) likeness(ctx context.Context, d *device.Device, asIs *Choice, foot Foot) (*Likeness, error) {
	l := &Likeness{}
	like, err := device.Build(d.Options)
	if err != nil {
		l.Why = "no device can be built to the measures of the scan (" + err.Error() + ")"
		return l, nil
	}
	r, err := b.Check(ctx, like, foot)
	if err != nil {
		return nil, err
	}
	l.MarginMM = r.MarginMM()
	l.OffMM = l.MarginMM - asIs.MarginMM
	switch {
	case math.IsInf(l.MarginMM, 0) || math.IsInf(asIs.MarginMM, 0):
		l.Why = "the scan, or a device built to its measures, does not come to rest"
	case math.Abs(l.OffMM) > mostUnlikeMM:
		l.Why = fmt.Sprintf("a device built to the measures of the scan has %.1f mm of margin, the scan itself %.1f mm: they are too unlike", l.MarginMM, asIs.MarginMM)
	}
	return l, nil
}
