package ui

import "lastroom/ui/desk"

// steps says whether there is something to take back or to do again: on the page that is shown, or at the desk.
func (w *Window) steps() (canUndo, canRedo bool) {
	if w.pages == nil || w.pages.over == nil {
		return w.state.CanUndo(), w.state.CanRedo()
	}
	if p, ok := w.pages.over.(undoer); ok {
		return p.steps()
	}
	return false, false
}

// undo takes the last step back.
func (w *Window) undo() {
	if w.pages.over == nil {
		w.do(desk.Undo{})
	} else if p, ok := w.pages.over.(undoer); ok {
		p.undo()
	}
}

// redo does again what was taken back last.
func (w *Window) redo() {
	if w.pages.over == nil {
		w.do(desk.Redo{})
	} else if p, ok := w.pages.over.(undoer); ok {
		p.redo()
	}
}

// showMenus sets what the menus can do now.
func (w *Window) showMenus() {
	undo, redo := w.steps()
	w.menus.show(&w.state, undo, redo)
}
