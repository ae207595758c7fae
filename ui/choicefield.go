package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/ui/desk"
)

// choiceField is one of some choices.
type choiceField struct {
	report reporter
	shown  desk.FieldShow
	quiet  bool // the choice is being shown, not made

	name    *widget.Label
	pick    *choicePick
	problem *problemLine
	all     *fyne.Container
}

func newChoiceField(report reporter) *choiceField {
	f := &choiceField{report: report, name: widget.NewLabel(""), problem: newProblemLine()}
	f.name.Truncation = fyne.TextTruncateEllipsis
	f.pick = &choicePick{field: f}
	f.pick.ExtendBaseWidget(f.pick)
	f.pick.OnChanged = func(text string) {
		if f.quiet {
			return
		}
		for _, c := range f.shown.Choices {
			if c.Text == text {
				f.report.do(desk.Choose{Key: f.shown.Key, Value: c.Value})
			}
		}
	}
	f.all = container.NewVBox(container.NewBorder(nil, nil, nil, fixedWidth(f.pick, 148), f.name), f.problem)
	return f
}

func (f *choiceField) object() fyne.CanvasObject { return f.all }

func (f *choiceField) show(s desk.FieldShow) {
	old := f.shown
	f.shown = s
	setText(f.name, s.Name)
	f.quiet = true
	if old.Key != s.Key {
		texts := make([]string, len(s.Choices))
		for i, c := range s.Choices {
			texts[i] = c.Text
		}
		f.pick.SetOptions(texts)
	}
	if old.Key != s.Key || old.Choice != s.Choice {
		chosen := ""
		for _, c := range s.Choices {
			if c.Value == s.Choice {
				chosen = c.Text
			}
		}
		if chosen == "" {
			f.pick.ClearSelected()
		} else {
			f.pick.SetSelected(chosen)
		}
	}
	f.quiet = false
	f.problem.show(s.Problem)
}

// choicePick is the list of choices; function keys go on to the window.
type choicePick struct {
	widget.Select
	field *choiceField
}

// TypedKey goes through the choices.
func (p *choicePick) TypedKey(k *fyne.KeyEvent) {
	if !p.field.report.function(k.Name) {
		p.Select.TypedKey(k)
	}
}

// FocusGained explains the field.
func (p *choicePick) FocusGained() {
	p.Select.FocusGained()
	p.field.report.explain(p.field.shown)
}

// problemLine says what stands against a field; it takes no room when nothing does.
type problemLine struct {
	widget.BaseWidget
	mark *mark
	text *widget.Label
	all  *fyne.Container
}

func newProblemLine() *problemLine {
	p := &problemLine{mark: newMark(12), text: widget.NewLabel("")}
	p.mark.set(desk.BlockedMark)
	p.text.Wrapping = fyne.TextWrapWord
	p.text.Importance = widget.DangerImportance
	p.text.SizeName = theme.SizeNameCaptionText
	p.all = container.NewBorder(nil, nil, container.NewPadded(p.mark), nil, p.text)
	p.ExtendBaseWidget(p)
	p.Hide()
	return p
}

func (p *problemLine) show(text string) {
	setText(p.text, text)
	if text == "" {
		p.Hide()
	} else {
		p.Show()
	}
}

// CreateRenderer shows mark and text.
func (p *problemLine) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(p.all) }

// fixedWidth gives an object a width of its own and leaves its height.
func fixedWidth(o fyne.CanvasObject, width float32) *fyne.Container {
	return container.New(widthLayout(width), o)
}

type widthLayout float32

func (w widthLayout) MinSize(os []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(float32(w), os[0].MinSize().Height)
}

func (w widthLayout) Layout(os []fyne.CanvasObject, s fyne.Size) {
	os[0].Move(fyne.NewPos(0, 0))
	os[0].Resize(s)
}
