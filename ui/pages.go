package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
)

// A page takes the place of the desk in the window until it is left.
type page interface {
	object() fyne.CanvasObject
	key(fyne.KeyName) bool // does what a function key stands for on the page; false: the window's own
	turned()               // the page has been turned to
}

// pages are the desk and the page that lies over it, if any.
type pages struct {
	desk fyne.CanvasObject
	over page
	all  *fyne.Container
}

func newPages(desk fyne.CanvasObject) *pages {
	return &pages{desk: desk, all: container.NewStack(desk)}
}

// turnTo shows a page in place of the desk; nil shows the desk.
func (p *pages) turnTo(to page) {
	if p.over == to {
		return
	}
	p.over = to
	shown := p.desk
	if to != nil {
		shown = to.object()
	}
	p.all.Objects = []fyne.CanvasObject{shown}
	p.all.Refresh()
	if to != nil {
		to.turned()
	}
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
