package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lastroom/ui/desk"
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
	old := f.shown
	f.shown = s
	if old.Name != s.Name {
		f.name.SetText(s.Name)
	}
	if old.Unit != s.Unit {
		f.unit.SetText(s.Unit)
	}
	if old.Empty != s.Empty {
		f.entry.SetPlaceHolder(s.Empty)
	}
	if old.Text != s.Text || old.Key != s.Key {
		f.entry.SetText(s.Text)
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
	if e.Text != e.field.shown.Text {
		e.field.report.do(desk.Enter{Key: e.field.shown.Key, Text: e.Text})
	}
}

// TypedKey steps, reverts, or types.
func (e *numberEntry) TypedKey(k *fyne.KeyEvent) {
	steps := map[fyne.KeyName]int{fyne.KeyUp: 1, fyne.KeyDown: -1, fyne.KeyPageUp: 10, fyne.KeyPageDown: -10}
	switch n, ok := steps[k.Name]; {
	case ok:
		e.commit()
		e.field.report.do(desk.Step{Key: e.field.shown.Key, N: n})
	case k.Name == fyne.KeyEscape && e.Text != e.field.shown.Text:
		e.SetText(e.field.shown.Text)
	case e.field.report.function(k.Name):
	default:
		e.Entry.TypedKey(k)
	}
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
