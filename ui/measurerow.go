package ui

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/ui/measurepage"
)

// measureRow is one measure in the list: sign, name, entry, unit; below them what is usual and how it stands.
type measureRow struct {
	field *numberField
	mark  *mark
	about *widget.Label
	back  *canvas.Rectangle
	all   *fyne.Container
}

// newMeasureRow makes a row; entered is called when Return was pressed in it.
func newMeasureRow(report reporter, entered func()) *measureRow {
	r := &measureRow{field: newNumberField(report), mark: newMark(14), about: caption(""), back: canvas.NewRectangle(color.Transparent)}
	r.back.CornerRadius = 3
	r.about.Truncation = fyne.TextTruncateEllipsis
	f := r.field
	f.entry.OnSubmitted = func(string) {
		f.entry.commit()
		entered()
	}
	line := container.NewBorder(nil, nil, container.NewPadded(r.mark), container.NewHBox(f.entry, fixedWidth(f.unit, 34)),
		container.New(tight(9), f.name, r.about))
	r.all = container.NewStack(r.back, container.NewVBox(line, f.problem))
	return r
}

// show brings a row on the page; it says whether the row takes another height now.
func (r *measureRow) show(row measurepage.Row) bool {
	before := r.field.problem.text.Text
	shown := row.FieldShow
	shown.Problem = ""
	if row.Mark == "blocked" {
		shown.Problem = row.Say
	}
	r.field.show(shown)
	r.mark.set(row.Mark)
	about := row.Word
	if row.Usually != "" {
		about = row.Word + " · " + row.Usually
	}
	setText(r.about, withoutUnit(told(about), r.field.unit.Text))
	c := color.Color(color.Transparent)
	if row.Now {
		c = shade(theme.ColorNameSelection)
	}
	if r.back.FillColor != c {
		r.back.FillColor = c
		r.back.Refresh()
	}
	bold := row.Now
	if r.field.name.TextStyle.Bold != bold {
		r.field.name.TextStyle.Bold = bold
		r.field.name.Refresh()
	}
	return r.field.problem.text.Text != before
}
