package ui

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
)

// A page takes the place of the desk in the window until it is left.
type page interface {
	object() fyne.CanvasObject
	key(fyne.KeyName) bool // does what a function key stands for on the page; false: the window's own
	turned()               // the page has been turned to
}

// An undoer is a page with steps of its own to take back. Of the others nothing is, and what lies behind them is left alone.
type undoer interface {
	steps() (canUndo, canRedo bool)
	undo()
	redo()
}

// pages are the desk and the page that lies over it, if any.
type pages struct {
	desk   fyne.CanvasObject
	over   page
	all    *fyne.Container
	turned func()
}

func newPages(desk fyne.CanvasObject, turned func()) *pages {
	p := &pages{desk: container.NewScroll(desk), turned: turned} // what is too large for the window is cut off nowhere
	p.all = container.NewStack(p.desk)
	return p
}

// turnTo shows a page in place of the desk; nil shows the desk.
func (p *pages) turnTo(to page) {
	if p.over == to {
		return
	}
	p.over = to
	shown := p.desk
	if to != nil {
		shown = container.NewScroll(to.object())
	}
	p.all.Objects = []fyne.CanvasObject{shown}
	p.all.Refresh()
	if to != nil {
		to.turned()
	}
	p.turned()
}

// lay shows a dialog over all, until it is closed.
func (w *Window) lay(d dialog.Dialog) {
	at := len(w.open)
	w.open = append(w.open, d.Hide)
	d.SetOnClosed(func() {
		if at < len(w.open) {
			w.open = slices.Delete(w.open, at, at+1)
		}
	})
	d.Show()
}

// closeOver closes the dialog that lies over all, or goes back to the desk: also where what has the focus keeps Escape to itself.
func (w *Window) closeOver() {
	if n := len(w.open); n > 0 {
		w.open[n-1]()
		return
	}
	w.pages.turnTo(nil)
}

// key gives a key to the page that is shown; Escape leaves it when it has no use for it.
func (p *pages) key(k fyne.KeyName) bool {
	switch {
	case p.over == nil:
		return false
	case p.over.key(k):
		return true
	case k == fyne.KeyEscape:
		p.turnTo(nil)
		return true
	}
	return false
}
