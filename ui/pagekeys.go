package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
)

// keyButton is a button that lets function keys through to the window, and is pressed with Return as with Space.
type keyButton struct {
	widget.Button
	function func(fyne.KeyName) bool
}

func newKeyButton(function func(fyne.KeyName) bool, text string, tapped func()) *keyButton {
	b := &keyButton{function: function}
	b.Text, b.OnTapped = text, tapped
	b.ExtendBaseWidget(b)
	return b
}

// TypedKey presses the button.
func (b *keyButton) TypedKey(k *fyne.KeyEvent) {
	switch {
	case b.function(k.Name):
	case k.Name == fyne.KeyReturn || k.Name == fyne.KeyEnter:
		b.Button.TypedKey(&fyne.KeyEvent{Name: fyne.KeySpace})
	default:
		b.Button.TypedKey(k)
	}
}

// keyCheck is a check box that lets function keys through to the window.
type keyCheck struct {
	widget.Check
	function func(fyne.KeyName) bool
}

func newKeyCheck(function func(fyne.KeyName) bool, text string, changed func(bool)) *keyCheck {
	c := &keyCheck{function: function}
	c.Text, c.OnChanged = text, changed
	c.ExtendBaseWidget(c)
	return c
}

// TypedKey lets function keys through.
func (c *keyCheck) TypedKey(k *fyne.KeyEvent) {
	if !c.function(k.Name) {
		c.Check.TypedKey(k)
	}
}
