// Package explainpage is the page for the patient without the window: what an answer means, in plain words and in the
// patient's language. It takes a result, and the refit that was chosen, and says the one or two places that matter before
// and after, what that means, what will be done, and what to watch for. No number is worked out here.
package explainpage

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/footwear"
)

// A Case is what is explained.
type Case struct {
	Room   *footwear.Room
	Before *fit.Result
	Odds   *fit.Odds   // of before; nil: not drawn
	Choice *fit.Choice // the chosen refit; nil: none
}

// A Place is one of the places that matter.
type Place struct {
	Number int
	Name   string
	Before string
	After  string // empty without a refit
	// Where it is, in the room's frame, and the pose that it was found at; At has no meaning when it is not a Spot.
	Spot bool
	At   r3.Vec
	Pose fit.PoseName
}

// Words is the place in one line.
func (p *Place) Words(t Texts) string {
	s := fmt.Sprintf("%d  %s: ", p.Number, p.Name)
	if p.After == "" {
		return s + p.Before
	}
	return s + t.Say("word.before") + ": " + p.Before + " " + t.Say("word.after") + ": " + p.After
}

// A Page is everything that is told.
type Page struct {
	Texts  Texts
	Title  string
	Answer []string // one sentence before, and one after the refit
	State  fit.State
	Odds   string
	Places []Place
	Means  []string
	Do     []string
	Watch  []string
	Care   []string // how to begin
	Mind   string   // the caution: always shown
}

// PageOf explains a case.
func PageOf(t Texts, c *Case) *Page {
	p := &Page{Texts: t, Title: t.Say("title"), Mind: t.Say("mind.trial"), State: c.Before.Verdict.State}
	p.Answer = []string{t.Say("answer." + word(c.Before))}
	now, odds := c.Before, c.Odds
	if c.Choice != nil {
		now, odds = c.Choice.Result, c.Choice.Odds
		p.State = now.Verdict.State
		p.Answer = append(p.Answer, t.Say("answer.after."+word(now)))
	}
	switch {
	case now.Status != fit.Converged: // there are none
	case odds != nil:
		p.Odds = t.share("odds.all", odds.Fit)
	default:
		p.Odds = t.share("odds.one", now.Verdict.Odds)
	}
	p.Places = places(t, c)
	p.Means = append(p.Means, t.Say("means."+word(now)))
	if c.Choice != nil {
		p.Means = append(p.Means, t.share("kept", c.Choice.SupportKept))
		p.Means = append(p.Means, lost(t, c.Choice.Lost)...)
	}
	p.Do = doing(t, c)
	p.Watch = []string{t.Say("watch.rub"), t.Say("watch.pain"), t.Say("watch.numb")}
	if word(now) != string(fit.Blocked) { // else it is not to be worn
		p.Care = []string{t.Say("watch.start"), t.Say("watch.skin")}
	}
	return p
}

// word is the part of a key for a result's state.
func word(r *fit.Result) string {
	if r.Status != fit.Converged && r.Status != fit.OutOfPlace {
		return "none"
	}
	return string(r.Verdict.State)
}

// Marks are the places on the drawings.
func (p *Page) Marks() []drawing.Mark {
	var out []drawing.Mark
	for _, place := range p.Places {
		if place.Spot {
			out = append(out, drawing.Mark{Number: place.Number, At: place.At})
		}
	}
	return out
}

// mostPlaces are shown: more would not help.
const mostPlaces = 2

// A matter is a place that may matter, before it is told.
type matter struct {
	name  string // key below "place."
	state fit.State
	odds  float64
	say   func(Texts, *fit.Result) string
	spot  bool
	at    r3.Vec
	pose  fit.PoseName
}

// places are the worst places of before; where all is well there, those of after that are not.
func places(t Texts, c *Case) []Place {
	ms := matters(c.Before, c.Room)
	if c.Choice != nil {
		for _, m := range matters(c.Choice.Result, c.Choice.Room) {
			if m.state.Rank() >= fit.Unsure.Rank() {
				ms = append(ms, m)
			}
		}
	}
	sort.SliceStable(ms, func(i, j int) bool {
		if a, b := ms[i].state.Rank(), ms[j].state.Rank(); a != b {
			return a > b
		}
		return ms[i].odds < ms[j].odds
	})
	var out []Place
	seen := map[string]bool{}
	for _, m := range ms {
		if seen[m.name] || len(out) == mostPlaces || m.state == fit.Clear {
			continue
		}
		seen[m.name] = true
		p := Place{Number: len(out) + 1, Name: t.Say("place." + m.name), Before: m.say(t, c.Before), Spot: m.spot, At: m.at, Pose: m.pose}
		if c.Choice != nil && c.Choice.Result.Status == fit.Converged {
			p.After = m.say(t, c.Choice.Result)
		}
		out = append(out, p)
	}
	return out
}

// matters are all places of a result that decide, each told of any result.
func matters(r *fit.Result, room *footwear.Room) []matter {
	if r.Status != fit.Converged && r.Status != fit.OutOfPlace {
		return nil
	}
	var ms []matter
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Bearing && f.Pose == fit.Intended {
			continue // only where it comes to rest tells whether it lies on the floor
		}
		name := placeName(f)
		ms = append(ms, matter{
			name: name, state: f.State, odds: f.Odds, spot: true, at: f.At, pose: f.Pose,
			say: func(t Texts, of *fit.Result) string { return touching(t, of, name) },
		})
	}
	for i := range r.FootRoom {
		c := &r.FootRoom[i]
		at, known := roomSpot(room, c.Key)
		ms = append(ms, matter{
			name: c.Key, state: c.State, odds: c.Odds, spot: known, at: at, pose: fit.Settled,
			say: func(t Texts, of *fit.Result) string { return roomLeft(t, of, c.Key) },
		})
	}
	switch {
	case r.RideUpMM > 1.5 && r.Verdict.State == fit.Blocked:
		ms = append(ms, matter{name: "whole", state: fit.Blocked, odds: 1, say: lying})
	case r.Base.RockGapMM > 0.5:
		ms = append(ms, matter{name: "whole", state: fit.Unsure, odds: 0.5, say: lying})
	}
	return ms
}

// placeName is the key of a finding's place.
func placeName(f *fit.Finding) string {
	side := map[string]string{"medial": "inner", "lateral": "outer", "back": "back", "front": "front"}[f.Side]
	switch f.Zone {
	case footwear.CounterMedial, footwear.CounterLateral:
		return "heel_" + side
	case footwear.CounterBack:
		return "heel_back"
	case footwear.WaistMedial, footwear.WaistLateral:
		return "middle_" + side
	case footwear.BallMedial, footwear.BallLateral:
		return "ball_" + side
	case footwear.Toe:
		return "toe"
	case footwear.Seat:
		return "floor_heel"
	case footwear.Shank:
		return "floor_middle"
	case footwear.Tread:
		return "floor_front"
	case footwear.Feather:
		return "edge_" + side
	default: // the roof, and the opening, which has no wall to touch
		return "top"
	}
}

// touching tells how a result is at a place: by its worst finding there.
func touching(t Texts, r *fit.Result, name string) string {
	var worst *fit.Finding
	for i := range r.Findings {
		f := &r.Findings[i]
		if placeName(f) != name || f.Bearing && f.Pose == fit.Intended {
			continue
		}
		if worst == nil || f.State.Rank() > worst.State.Rank() || f.State == worst.State && f.GapMM < worst.GapMM {
			worst = f
		}
	}
	if worst == nil {
		return t.Say("touch.clear") // nothing of the device comes near
	}
	return t.length("touch."+string(worst.State), worst.GapMM)
}

// roomLeft tells how a result is at one question about the foot.
func roomLeft(t Texts, r *fit.Result, key string) string {
	kind := "room."
	if key == "heel_lift_mm" {
		kind = "lift."
	}
	for i := range r.FootRoom {
		if c := &r.FootRoom[i]; c.Key == key {
			return t.length(kind+string(c.State), c.NeedMM-c.LeftMM)
		}
	}
	return t.Say(kind + "clear")
}

// lying tells how a result lies as a whole.
func lying(t Texts, r *fit.Result) string {
	const blocked, worth = 1.5, 0.5 // as the verdict has it
	switch {
	case r.RideUpMM > blocked:
		return t.length("ride.blocked", r.RideUpMM)
	case r.Base.RockGapMM > worth:
		return t.Say("rock.unsure")
	case r.RideUpMM > worth:
		return t.length("ride.snug", r.RideUpMM)
	default:
		return t.Say("ride.clear")
	}
}

// roomSpot is where a question about the foot is looked at.
func roomSpot(room *footwear.Room, key string) (r3.Vec, bool) {
	if room == nil {
		return r3.Vec{}, false
	}
	x := map[string]float64{
		"instep_mm": room.InstepStationMM(), "ball_mm": room.TreadStationMM(), "toe_mm": room.ToeDepthStationMM(),
		"toe_gap_mm": room.ToeTipXMM(), "heel_lift_mm": room.HeelStationMM(), "heel_inside_mm": room.HeelStationMM(),
		"ankle_mm": room.HeelStationMM(),
	}[key]
	if x == 0 || math.IsNaN(x) {
		return r3.Vec{}, false
	}
	z := room.FloorZ(x)
	switch key {
	case "instep_mm", "ball_mm", "toe_mm":
		z += room.DepthMM(x)
	}
	return r3.Vec{X: x, Z: z}, true
}

// lost says what of the help is lost, the two largest.
func lost(t Texts, words []string) []string {
	var out []string
	for _, w := range words {
		for _, term := range fit.SupportTerms {
			if strings.HasPrefix(w, term.Name+" ") && len(out) < mostPlaces {
				out = append(out, t.Say("lost."+term.Key))
			}
		}
	}
	return out
}

// doing says what is going to be done.
func doing(t Texts, c *Case) []string {
	if c.Choice == nil {
		if s := c.Before.Verdict.State; c.Before.Status == fit.Converged && s.Rank() < fit.Unsure.Rank() {
			return []string{t.Say("work.none")}
		}
		return []string{t.Say("work.open")}
	}
	var out []string
	add := func(s string) {
		for _, o := range out {
			if o == s {
				return
			}
		}
		out = append(out, s)
	}
	for _, ch := range c.Choice.Changes {
		if !ch.Follows {
			add(t.Say(changeKey(t, &ch, c.Choice)))
		}
	}
	switch w := c.Choice.Work; w {
	case fit.NoWork:
		add(t.Say("work.none"))
	default:
		add(t.Say("work." + string(w)))
	}
	return out
}

// changeKey is the text of a change: by its option, and by whether there is more or less of it.
func changeKey(t Texts, ch *fit.Change, c *fit.Choice) string {
	if ch.Key == "shoe" {
		if c.Room != nil && !c.Room.InsoleIn && strings.Contains(ch.Words, "insole") {
			return "do.shoe.insole_out"
		}
		return "do.shoe.other"
	}
	key := "do." + ch.Key
	if t.Has(key) {
		return key
	}
	var from, to float64
	_, errFrom := fmt.Sscan(ch.From, &from)
	_, errTo := fmt.Sscan(ch.To, &to)
	if errFrom == nil && errTo == nil {
		dir := ".up"
		if to < from {
			dir = ".down"
		}
		if t.Has(key + dir) {
			return key + dir
		}
	}
	return "do.other"
}
