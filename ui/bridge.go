package ui

import "fyne.io/fyne/v2"

// bridge runs f on the window's thread. Everything that comes from another goroutine goes this way.
func bridge(f func()) { fyne.Do(f) }
