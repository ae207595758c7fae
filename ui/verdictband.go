package ui

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/ui/desk"
)

// verdictBand is the band over the drawings: the state as a sign and a word, the sentence, the numbers, and always what
// the verdict does not know.
type verdictBand struct {
	back     *canvas.Rectangle
	edge     *canvas.Rectangle
	mark     *mark
	word     *canvas.Text
	sentence *widget.Label
	odds     *widget.Label
	notice   *widget.Label
	limits   *widget.Label
	names    [4]*widget.Label
	values   [4]*widget.Label
	all      *fyne.Container
}

func newVerdictBand() *verdictBand {
	b := &verdictBand{
		back: canvas.NewRectangle(color.Transparent), edge: canvas.NewRectangle(color.Transparent), mark: newMark(30), word: canvas.NewText("", nil),
		sentence: widget.NewLabel(""), odds: widget.NewLabel(""), notice: widget.NewLabel(""), limits: widget.NewLabel(""),
	}
	b.word.TextStyle.Bold = true
	b.word.Alignment = fyne.TextAlignCenter
	b.sentence.Wrapping = fyne.TextWrapWord
	b.sentence.SizeName = theme.SizeNameSubHeadingText
	b.odds.Wrapping = fyne.TextWrapWord
	b.notice.Wrapping = fyne.TextWrapWord
	b.notice.Importance = widget.HighImportance
	b.limits.Wrapping = fyne.TextWrapWord
	b.limits.SizeName = theme.SizeNameCaptionText
	numbers := container.New(layout.NewGridLayoutWithColumns(2))
	for i := range b.names {
		b.names[i], b.values[i] = widget.NewLabel(""), widget.NewLabel("")
		b.names[i].SizeName = theme.SizeNameCaptionText
		b.values[i].TextStyle.Bold = true
		numbers.Add(fixedWidth(container.New(tight(7), b.names[i], b.values[i]), 116))
	}
	sign := container.NewVBox(layout.NewSpacer(), container.NewCenter(b.mark), container.NewCenter(b.word), layout.NewSpacer())
	words := container.New(tight(7), b.sentence, b.odds, b.notice, b.limits)
	body := container.NewBorder(nil, nil, fixedWidth(sign, 84), numbers, words)
	const height = 112 // enough for most verdicts with a notice, so that the drawings do not move when one comes and goes
	floor := canvas.NewRectangle(color.Transparent)
	floor.SetMinSize(fyne.NewSize(1, height))
	b.all = container.NewStack(floor, b.back, container.NewBorder(nil, nil, fixedWidth(b.edge, 6), nil, container.NewPadded(body)))
	return b
}

func (b *verdictBand) show(v desk.Verdict) {
	c := shade(stateColor(v.Mark))
	b.back.FillColor, b.edge.FillColor = shade(colorBand), c
	b.back.Refresh()
	b.edge.Refresh()
	b.mark.set(v.Mark)
	b.mark.Refresh()
	b.word.Text, b.word.Color, b.word.TextSize = v.Word, c, 15
	b.word.Refresh()
	setText(b.sentence, v.Sentence)
	setText(b.odds, v.Odds)
	setVisible(b.odds, v.Odds != "" && v.Notice == "")
	setText(b.notice, v.Notice)
	setVisible(b.notice, v.Notice != "")
	setText(b.limits, v.Limits)
	for i := range b.names {
		name, value := "", ""
		if i < len(v.Readings) {
			name, value = v.Readings[i].Name, v.Readings[i].Text
		}
		setText(b.names[i], name)
		setText(b.values[i], value)
	}
}

// setText shows a text on a label, its lengths in the unit that the window tells them in.
func setText(l *widget.Label, text string) { setTyped(l, told(text)) }

// setTyped shows a text as somebody wrote it, or as it was recorded.
func setTyped(l *widget.Label, text string) {
	if l.Text != text {
		l.SetText(text)
	}
}

func setVisible(o fyne.CanvasObject, visible bool) {
	if o.Visible() == visible {
		return
	}
	if visible {
		o.Show()
	} else {
		o.Hide()
	}
}

// tight puts lines of text under each other, closer than a box does: by so many units less.
type tight float32

func (t tight) MinSize(os []fyne.CanvasObject) fyne.Size {
	var s fyne.Size
	n := 0
	for _, o := range os {
		if o.Visible() {
			m := o.MinSize()
			s = fyne.NewSize(max(s.Width, m.Width), s.Height+m.Height)
			n++
		}
	}
	if n > 1 {
		s.Height -= float32(n-1) * float32(t)
	}
	return s
}

func (t tight) Layout(os []fyne.CanvasObject, s fyne.Size) {
	y := float32(0)
	for _, o := range os {
		if o.Visible() {
			o.Resize(fyne.NewSize(s.Width, o.MinSize().Height))
			h := o.MinSize().Height // the height may follow the width
			o.Resize(fyne.NewSize(s.Width, h))
			o.Move(fyne.NewPos(0, y))
			y += h - float32(t)
		}
	}
}
