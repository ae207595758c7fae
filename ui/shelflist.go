package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/ui/shelfpage"
)

// shelfList is the list of shoes; letters do what stands on the buttons.
type shelfList struct {
	widget.List
	view  *shelfView
	rows  []shelfpage.Row
	quiet bool
}

// twoLines is an item of a list: a bold line, and a small one below it.
func twoLines() fyne.CanvasObject {
	first, second := widget.NewLabel(""), widget.NewLabel("")
	first.TextStyle.Bold = true
	second.SizeName = theme.SizeNameCaptionText
	first.Truncation, second.Truncation = fyne.TextTruncateEllipsis, fyne.TextTruncateEllipsis
	return container.New(tight(7), first, second)
}

func setTwoLines(item fyne.CanvasObject, first, second string) {
	box, ok := item.(*fyne.Container)
	if !ok {
		return
	}
	for k, text := range []string{first, second} {
		if label, ok := box.Objects[k].(*widget.Label); ok {
			setText(label, text)
		}
	}
}

func newShelfList(v *shelfView) *shelfList {
	l := &shelfList{view: v}
	l.Length = func() int { return len(l.rows) }
	l.CreateItem = twoLines
	l.UpdateItem = func(i widget.ListItemID, o fyne.CanvasObject) {
		if i < len(l.rows) {
			setTwoLines(o, l.rows[i].Name, l.rows[i].About)
		}
	}
	l.OnSelected = func(i widget.ListItemID) {
		if !l.quiet && i < len(l.rows) {
			v.do(shelfpage.Choose{ID: l.rows[i].ID})
		}
	}
	l.ExtendBaseWidget(l)
	return l
}

func (l *shelfList) show(rows []shelfpage.Row) {
	same := len(rows) == len(l.rows)
	for i := range rows {
		same = same && rows[i] == l.rows[i]
	}
	if same {
		return
	}
	l.rows = rows
	l.quiet = true
	defer func() { l.quiet = false }()
	chosen := -1
	for i, r := range rows {
		if r.Chosen {
			chosen = i
		}
	}
	if chosen >= 0 {
		l.Select(chosen)
	} else {
		l.UnselectAll()
	}
	l.Refresh()
}

// at is where the chosen shoe stands.
func (l *shelfList) at() int {
	for i, r := range l.rows {
		if r.Chosen {
			return i
		}
	}
	return -1
}

// TypedKey goes through the list and does what the keys stand for. The arrow keys choose at once.
func (l *shelfList) TypedKey(k *fyne.KeyEvent) {
	do := func(what shelfpage.Deed) { l.view.do(shelfpage.Do{What: what}) }
	switch {
	case l.view.win.functionKey(k.Name):
	case k.Name == fyne.KeyReturn || k.Name == fyne.KeyEnter:
		do(shelfpage.Use)
	case k.Name == fyne.KeyDown:
		l.choose(l.at() + 1)
	case k.Name == fyne.KeyUp:
		l.choose(l.at() - 1)
	case k.Name == fyne.KeyDelete:
		do(shelfpage.Delete)
	default:
		l.List.TypedKey(k)
	}
}

// TypedRune does what the letters stand for. It comes after the key: whatever gets the focus then does not get the letter.
func (l *shelfList) TypedRune(r rune) {
	switch r {
	case 'e', 'E':
		l.view.do(shelfpage.Do{What: shelfpage.Edit})
	case 'c', 'C':
		l.view.do(shelfpage.Do{What: shelfpage.Copy})
	case 'x', 'X':
		l.view.win.askExport()
	case 'i', 'I':
		l.view.win.askImport()
	}
}

func (l *shelfList) choose(i int) {
	if i >= 0 && i < len(l.rows) {
		l.ScrollTo(i)
		l.view.do(shelfpage.Choose{ID: l.rows[i].ID})
	}
}

// shelfEntry is a text of the page; Down goes elsewhere.
type shelfEntry struct {
	widget.Entry
	view *shelfView
	down func()
}

func newShelfEntry(v *shelfView, down func()) *shelfEntry {
	e := &shelfEntry{view: v, down: down}
	e.ExtendBaseWidget(e)
	return e
}

// TypedKey types, empties or goes elsewhere.
func (e *shelfEntry) TypedKey(k *fyne.KeyEvent) {
	switch {
	case k.Name == fyne.KeyDown && e.down != nil:
		e.down()
	case k.Name == fyne.KeyEscape && e.Text != "":
		e.SetText("")
	case e.view.win.functionKey(k.Name):
	default:
		e.Entry.TypedKey(k)
	}
}
