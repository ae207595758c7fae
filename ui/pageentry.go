package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
)

// pageEntry is a text that is reported when it is done: by Return, or by going elsewhere. Escape takes it back.
type pageEntry struct {
	widget.Entry
	function func(fyne.KeyName) bool
	done     func(string)
	shown    string
}

func newPageEntry(function func(fyne.KeyName) bool, done func(string)) *pageEntry {
	e := &pageEntry{function: function, done: done}
	e.ExtendBaseWidget(e)
	e.OnSubmitted = func(string) { e.commit() }
	return e
}

func (e *pageEntry) show(text string) {
	if text != e.shown {
		e.shown = text
		e.SetText(text)
	}
}

// revert drops what stands in the entry and was not taken over.
func (e *pageEntry) revert() { e.SetText(e.shown) }

// commit reports what stands in the entry, if it is another text than what was shown.
func (e *pageEntry) commit() {
	if e.Text != e.shown {
		e.done(e.Text)
	}
}

// TypedKey reverts, or types.
func (e *pageEntry) TypedKey(k *fyne.KeyEvent) {
	switch {
	case k.Name == fyne.KeyEscape && e.Text != e.shown:
		e.revert()
	case e.function(k.Name):
	default:
		e.Entry.TypedKey(k)
	}
}

// FocusLost takes over what was typed.
func (e *pageEntry) FocusLost() {
	e.Entry.FocusLost()
	e.commit()
}
