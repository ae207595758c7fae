package ui

import (
	"os"
	"time"

	"fyne.io/fyne/v2/widget"

	"lastroom/fit"
	"lastroom/internal/problem"
	"lastroom/ui/entry"
)

// outcomeWords are what can have happened, in words.
var outcomeWords = map[fit.Happened]string{
	fit.WentIn: "it went in", fit.Rubbed: "it rubs or presses at one place", fit.Ground: "it was ground at one place before it went in", fit.SentBack: "it was sent back",
}

// groundSpec is how much was ground.
var groundSpec = entry.Spec{Name: "Ground by", Unit: "mm", Min: 0, Max: 20, Step: 0.5}

// outcomeForm asks what came of a device.
type outcomeForm struct {
	happened, place    *widget.Select
	ground, date, note *widget.Entry
	places             []*fit.Finding
}

// newOutcomeForm offers the places of a result at which it can rub.
func newOutcomeForm(r *fit.Result) *outcomeForm {
	f := &outcomeForm{ground: widget.NewEntry(), date: widget.NewEntry(), note: widget.NewMultiLineEntry()}
	var what, where []string
	for _, h := range fit.Happenings {
		what = append(what, outcomeWords[h])
	}
	seen := map[string]bool{}
	for i := range r.Findings {
		x := &r.Findings[i]
		name := x.Feature.String() + " at " + x.Place()
		if x.Pose == fit.Settled && !x.Bearing && !seen[name] {
			seen[name] = true
			where, f.places = append(where, name), append(f.places, x)
		}
	}
	f.happened, f.place = widget.NewSelect(what, nil), widget.NewSelect(where, nil)
	f.happened.SetSelectedIndex(0)
	f.place.PlaceHolder = "the place, if it rubs or was ground"
	f.date.SetText(time.Now().Format(time.DateOnly))
	f.ground.SetText("0")
	return f
}

func (f *outcomeForm) items() []*widget.FormItem {
	return []*widget.FormItem{
		{Text: "What happened", Widget: f.happened},
		{Text: "Where", Widget: f.place},
		{Text: "Ground by", Widget: f.ground, HintText: groundSpec.In(lengthUnit()).Limits()},
		{Text: "On", Widget: f.date, HintText: "a day such as 2026-11-27"},
		{Text: "Note", Widget: f.note},
	}
}

// fill brings what was entered into an outcome.
func (f *outcomeForm) fill(o *fit.Outcome) error {
	o.Happened, o.Note = fit.Happenings[max(0, f.happened.SelectedIndex())], f.note.Text
	if i := f.place.SelectedIndex(); i >= 0 && o.Happened != fit.WentIn {
		o.Feature, o.Zone = f.places[i].Feature.String(), f.places[i].Zone.String()
	}
	mm, p := groundSpec.Parse(groundSpec.Typed(lengthUnit(), f.ground.Text))
	if p != nil {
		return *p
	}
	if o.GroundMM = mm; o.Happened != fit.Ground {
		o.GroundMM = 0
	}
	if _, err := time.Parse(time.DateOnly, f.date.Text); err != nil {
		return problem.Problem{Field: "On", Value: f.date.Text, Limit: "a day is needed", Mend: "write it as 2026-11-27"}
	}
	o.Date = f.date.Text
	code := o.Case
	o.Case = "A" // the case has the code; it is the rest that is held against the rules
	err := o.Validate().Err()
	o.Case = code
	return err
}

// removeEmpty takes away a file that a dialog has made, so that a whole one can take its place.
func removeEmpty(path string) {
	if st, err := os.Stat(path); err == nil && st.Size() == 0 {
		_ = os.Remove(path)
	}
}
