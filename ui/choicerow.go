package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// choiceRow is one of a few choices, all of them to be seen; function keys go on to the window.
type choiceRow struct {
	buttons []*keyButton
	values  []string
	all     *fyne.Container
}

// newChoiceRow makes a row of so many columns; options are pairs of value and text.
func newChoiceRow(function func(fyne.KeyName) bool, columns int, picked func(value string), options ...string) *choiceRow {
	r := &choiceRow{all: container.NewGridWithColumns(columns)}
	for i := 0; i+1 < len(options); i += 2 {
		value := options[i]
		b := newKeyButton(function, options[i+1], func() { picked(value) })
		b.Alignment = widget.ButtonAlignLeading
		b.Importance = widget.LowImportance
		b.Icon = theme.RadioButtonIcon()
		r.buttons, r.values = append(r.buttons, b), append(r.values, value)
		r.all.Add(b)
	}
	return r
}

// show marks the chosen value; none when it is not among them.
func (r *choiceRow) show(value string) {
	for i, b := range r.buttons {
		icon, weight := theme.RadioButtonIcon(), widget.LowImportance
		if r.values[i] == value {
			icon, weight = theme.RadioButtonCheckedIcon(), widget.MediumImportance
		}
		if b.Importance != weight || b.Icon.Name() != icon.Name() {
			b.Importance, b.Icon = weight, icon
			b.Refresh()
		}
	}
}

// keySelect is a list of choices that lets function keys through to the window.
type keySelect struct {
	widget.Select
	function func(fyne.KeyName) bool
}

func newKeySelect(function func(fyne.KeyName) bool, options []string, changed func(string)) *keySelect {
	s := &keySelect{function: function}
	s.Options, s.OnChanged = options, changed
	s.ExtendBaseWidget(s)
	return s
}

// TypedKey lets function keys through.
func (s *keySelect) TypedKey(k *fyne.KeyEvent) {
	if !s.function(k.Name) {
		s.Select.TypedKey(k)
	}
}

// show picks a text without reporting it.
func (s *keySelect) show(text string) {
	if s.Selected == text {
		return
	}
	s.Selected = text
	s.Refresh()
}
