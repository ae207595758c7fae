package ui

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lastroom/ui/desk"
	"lastroom/ui/entry"
)

// A fieldRow shows one field and reports what is done to it.
type fieldRow interface {
	object() fyne.CanvasObject
	show(desk.FieldShow)
}

// reporter is what a field reports to.
type reporter struct {
	do       func(desk.Action)
	explain  func(desk.FieldShow) // the field has the focus
	function func(fyne.KeyName) bool
}

// numberField is a number with its name, unit and limits: typed, stepped with the arrow keys (page keys: ten steps), or
// dragged along its track.
type numberField struct {
	report reporter
	shown  desk.FieldShow
	text   string // the number as it stands in the entry, in the window's unit

	name    *widget.Label
	entry   *numberEntry
	unit    *widget.Label
	track   *track
	problem *problemLine
	all     *fyne.Container
}

func newNumberField(report reporter) *numberField {
	f := &numberField{report: report, name: widget.NewLabel(""), unit: widget.NewLabel(""), problem: newProblemLine()}
	f.name.Truncation = fyne.TextTruncateEllipsis
	f.entry = newNumberEntry(f)
	f.track = newTrack(
		func(v float64) { f.report.do(desk.Drag{Key: f.shown.Key, Value: v}) },
		func() { f.report.do(desk.DragEnd{}) },
	)
	line := container.NewBorder(nil, nil, nil, container.NewHBox(f.entry, fixedWidth(f.unit, 34)), f.name)
	f.all = container.NewVBox(line, f.track, f.problem)
	return f
}

func (f *numberField) object() fyne.CanvasObject { return f.all }

func (f *numberField) show(s desk.FieldShow) {
	old, was := f.shown, f.text
	unit := lengthUnit()
	spec := s.Spec.In(unit)
	f.shown, f.text = s, s.Text
	if v, ok := entry.ParseNumber(s.Text, ""); ok {
		f.text = spec.Format(s.Spec.Shown(unit, v))
	}
	empty := s.Empty
	about, number := cutLast(empty)
	if v, bare := entry.ParseNumber(number, ""); bare {
		empty = about + spec.Format(s.Spec.Shown(unit, v))
	}
	setText(f.name, s.Name)
	setText(f.unit, spec.Unit)
	if f.entry.PlaceHolder != empty {
		f.entry.SetPlaceHolder(empty)
	}
	if was != f.text || old.Key != s.Key {
		f.entry.SetText(f.text)
	}
	f.problem.show(s.Problem)
	f.track.show(s.Spec.Min, s.Spec.Max, s.Number, s.Unset)
}

// numberEntry is the text of a number field.
type numberEntry struct {
	widget.Entry
	field *numberField
}

func newNumberEntry(f *numberField) *numberEntry {
	e := &numberEntry{field: f}
	e.ExtendBaseWidget(e)
	e.Wrapping = fyne.TextWrapOff
	e.Scroll = fyne.ScrollNone
	e.OnSubmitted = func(string) { e.commit() }
	return e
}

// MinSize is wide enough for a number.
func (e *numberEntry) MinSize() fyne.Size { return fyne.NewSize(82, e.Entry.MinSize().Height) }

// commit reports what stands in the entry, if it is another text than what was shown.
func (e *numberEntry) commit() {
	if f := e.field; e.Text != f.text {
		f.report.do(desk.Enter{Key: f.shown.Key, Text: f.shown.Spec.Typed(lengthUnit(), e.Text)})
	}
}

// TypedKey steps, reverts, or types.
func (e *numberEntry) TypedKey(k *fyne.KeyEvent) {
	steps := map[fyne.KeyName]int{fyne.KeyUp: 1, fyne.KeyDown: -1, fyne.KeyPageUp: 10, fyne.KeyPageDown: -10}
	switch n, ok := steps[k.Name]; {
	case ok:
		e.commit()
		e.field.step(n)
	case k.Name == fyne.KeyEscape && e.Text != e.field.text:
		e.SetText(e.field.text)
	case e.field.report.function(k.Name):
	default:
		e.Entry.TypedKey(k)
	}
}

// step steps the number, in the window's unit.
func (f *numberField) step(n int) {
	s, unit := f.shown, lengthUnit()
	in := s.Spec.In(unit)
	if in.Unit == s.Spec.Unit || s.Unset {
		f.report.do(desk.Step{Key: s.Key, N: n})
		return
	}
	next := in.Stepped(s.Spec.Shown(unit, s.Number), n)
	f.report.do(desk.Enter{Key: s.Key, Text: in.Format(next) + " " + in.Unit})
}

// withoutUnit is a text in which numbers stand without their unit, for places beside which it is told.
func withoutUnit(text, unit string) string {
	if unit == "" {
		return text
	}
	return strings.ReplaceAll(text, " "+unit, "")
}

// cutLast is a text up to its last word, and that.
func cutLast(text string) (rest, word string) {
	i := strings.LastIndexByte(text, ' ') + 1
	return text[:i], text[i:]
}

// FocusGained explains the field.
func (e *numberEntry) FocusGained() {
	e.Entry.FocusGained()
	e.field.report.explain(e.field.shown)
}

// FocusLost takes over what was typed.
func (e *numberEntry) FocusLost() {
	e.Entry.FocusLost()
	e.commit()
}
