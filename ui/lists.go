package ui

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/ui/desk"
)

// lists are the findings, the room for the foot, and what the device gives.
type lists struct {
	findings *rowList
	footRoom *rowList
	support  *rowList
	tabs     *container.AppTabs
}

func newLists(do func(desk.Action), function func(fyne.KeyName) bool, explain func(string)) *lists {
	l := &lists{}
	l.findings = newRowList(function, func(i int) {
		explain(l.findings.rows[i].Text())
		do(desk.Select{Index: i})
	})
	l.footRoom = newRowList(function, func(i int) { explain(l.footRoom.rows[i].Text()) })
	l.support = newRowList(function, func(i int) { explain(l.support.rows[i].Text()) })
	l.tabs = container.NewAppTabs(
		container.NewTabItem("Findings", l.findings),
		container.NewTabItem("Foot room", l.footRoom),
		container.NewTabItem("Support", l.support),
	)
	return l
}

func (l *lists) show(s *desk.State) {
	l.findings.show(desk.FindingsView(s))
	l.footRoom.show(desk.FootRoomView(s))
	l.support.show(desk.SupportRows(s))
	titles := [3]string{}
	titles[0], titles[1], titles[2] = desk.ListTitles(s)
	changed := false
	for i, item := range l.tabs.Items {
		if item.Text != titles[i] {
			item.Text, changed = titles[i], true
		}
	}
	if changed {
		l.tabs.Refresh()
	}
}

// rowList is a list of rows, each with its sign.
type rowList struct {
	widget.List
	rows     []desk.Row
	function func(fyne.KeyName) bool
	chosen   func(int)
	quiet    bool
}

func newRowList(function func(fyne.KeyName) bool, chosen func(int)) *rowList {
	l := &rowList{function: function, chosen: chosen}
	l.Length = func() int { return len(l.rows) }
	l.CreateItem = func() fyne.CanvasObject { return newRowItem() }
	l.UpdateItem = func(i widget.ListItemID, o fyne.CanvasObject) {
		if item, ok := o.(*rowItem); ok && i < len(l.rows) {
			item.show(l.rows[i])
		}
	}
	l.OnSelected = func(i widget.ListItemID) {
		if !l.quiet && i < len(l.rows) {
			l.chosen(i)
		}
	}
	l.ExtendBaseWidget(l)
	return l
}

func (l *rowList) show(rows []desk.Row) {
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
	selected := false
	for i, r := range rows {
		if r.Selected {
			l.Select(i)
			selected = true
		}
	}
	if !selected {
		l.UnselectAll()
	}
	l.Refresh()
}

// TypedKey goes through the list; Return chooses as Space does.
func (l *rowList) TypedKey(k *fyne.KeyEvent) {
	switch {
	case l.function(k.Name):
	case k.Name == fyne.KeyReturn || k.Name == fyne.KeyEnter:
		l.List.TypedKey(&fyne.KeyEvent{Name: fyne.KeySpace})
	default:
		l.List.TypedKey(k)
	}
}

// rowItem shows one row: sign and number, what it is about with its value, and what is said of it.
type rowItem struct {
	widget.BaseWidget
	mark                *mark
	number              *widget.Label
	title, value, about *widget.Label
	all                 *fyne.Container
}

func newRowItem() *rowItem {
	r := &rowItem{
		mark: newMark(15), number: widget.NewLabel(""), title: widget.NewLabel(""), value: widget.NewLabel(""),
		about: widget.NewLabel(""),
	}
	r.number.TextStyle.Bold = true
	r.number.Alignment = fyne.TextAlignCenter
	r.title.Truncation = fyne.TextTruncateEllipsis
	r.title.TextStyle.Bold = true
	r.value.Truncation = fyne.TextTruncateEllipsis
	r.about.Truncation = fyne.TextTruncateEllipsis
	r.about.SizeName = theme.SizeNameCaptionText
	side := container.New(tight(4), container.NewCenter(container.NewPadded(r.mark)), r.number)
	r.all = container.NewBorder(nil, nil, fixedWidth(side, 30), nil, container.New(tight(9), r.title, r.value, r.about))
	r.ExtendBaseWidget(r)
	return r
}

func (r *rowItem) show(row desk.Row) {
	r.mark.set(row.Mark)
	number := ""
	if row.Number > 0 {
		number = fmt.Sprint(row.Number)
	}
	setText(r.number, number)
	setText(r.title, row.Title)
	setText(r.value, row.Word+" · "+row.Value)
	setText(r.about, row.Detail)
}

// CreateRenderer shows the row.
func (r *rowItem) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(r.all) }
