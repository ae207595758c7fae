package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/ui/desk"
)

// supportStrip stands under the drawings: the figures of support that matter most, each now, as ordered and of the plain
// device, with the change in words. All figures are on the list.
type supportStrip struct {
	cells []*supportCell
	all   *fyne.Container
	row   *fyne.Container
}

type supportCell struct {
	name, now, others, change *widget.Label
	all                       *fyne.Container
}

func newSupportStrip() *supportStrip {
	s := &supportStrip{row: container.New(layout.NewGridLayoutWithColumns(stripCells))}
	for range stripCells {
		c := &supportCell{name: widget.NewLabel(""), now: widget.NewLabel(""), others: widget.NewLabel(""), change: widget.NewLabel("")}
		for _, l := range []*widget.Label{c.name, c.others, c.change} {
			l.SizeName = theme.SizeNameCaptionText
			l.Truncation = fyne.TextTruncateEllipsis
		}
		c.now.TextStyle.Bold = true
		c.now.Truncation = fyne.TextTruncateEllipsis
		c.all = container.New(tight(9), c.name, c.now, c.others, c.change)
		s.cells = append(s.cells, c)
		s.row.Add(c.all)
	}
	back := canvas.NewRectangle(shade(colorBand))
	s.all = container.NewStack(back, s.row)
	s.show(nil)
	return s
}

// stripCells is how many figures the strip has.
const stripCells = 6

func (s *supportStrip) show(rows []desk.SupportRow) {
	i := 0
	for _, r := range rows {
		if r.Short == "" || i == len(s.cells) {
			continue
		}
		s.cells[i].show(r)
		i++
	}
	for ; i < len(s.cells); i++ {
		wait := desk.SupportRow{}
		if i == 0 && len(rows) == 0 {
			wait.Short, wait.Now = "support", "working it out …"
		}
		s.cells[i].show(wait)
	}
	if back, ok := s.all.Objects[0].(*canvas.Rectangle); ok {
		back.FillColor = shade(colorBand)
		back.Refresh()
	}
}

func (c *supportCell) show(r desk.SupportRow) {
	setText(c.name, r.Short)
	setText(c.now, r.Now)
	_, unit := cutLast(told(r.Now))
	setText(c.others, withoutUnit(told(r.Others), unit))
	setText(c.change, r.Change)
	importance := widget.MediumImportance
	if r.Changed {
		importance = widget.HighImportance
	}
	if c.change.Importance != importance {
		c.change.Importance = importance
		c.change.Refresh()
	}
}
