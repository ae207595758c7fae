package ui

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/ui/desk"
)

// inputs are the column of what is entered: the shoe found by search, then one fold for each group of fields.
type inputs struct {
	report reporter
	rows   map[string]fieldRow
	folds  map[string]*widget.AccordionItem
	fold   *widget.Accordion
	shoes  *shoeFinder
	help   *widget.Label
	all    *fyne.Container
}

// openAtFirst are the folds that are open at the start.
var openAtFirst = map[string]bool{desk.ShoeGroup: true, desk.PresetGroup: true, "Heel wedge": true, "Bevels": true}

func newInputs(do func(desk.Action), function func(fyne.KeyName) bool, s *desk.State) *inputs {
	in := &inputs{
		rows: map[string]fieldRow{}, folds: map[string]*widget.AccordionItem{}, fold: widget.NewAccordion(),
		shoes: newShoeFinder(do, function), help: widget.NewLabel(""),
	}
	in.report = reporter{do: do, function: function, explain: in.explain}
	in.help.Wrapping = fyne.TextWrapWord
	in.help.SizeName = theme.SizeNameCaptionText
	in.fold.MultiOpen = true
	for _, g := range desk.FieldGroups(s) {
		box := container.NewVBox()
		if g.Title == desk.ShoeGroup {
			box.Add(in.shoes.all)
		}
		for _, f := range g.Fields {
			var row fieldRow
			if f.Choices != nil {
				row = newChoiceField(in.report)
			} else {
				row = newNumberField(in.report)
			}
			in.rows[f.Key] = row
			box.Add(row.object())
		}
		item := widget.NewAccordionItem(g.Title, container.NewPadded(box))
		item.Open = openAtFirst[g.Title]
		in.folds[g.Title] = item
		in.fold.Append(item)
	}
	scroll := container.NewVScroll(container.NewPadded(in.fold))
	in.all = container.NewBorder(nil, fixedHeight(container.NewVScroll(in.help), 66), nil, nil, scroll)
	return in
}

func (in *inputs) show(s *desk.State) {
	in.shoes.show(s)
	retitled := false
	for _, g := range desk.FieldGroups(s) {
		for _, f := range g.Fields {
			in.rows[f.Key].show(f)
		}
		title := g.Title
		if g.Bad > 0 {
			title = fmt.Sprintf("%s (%d to mend)", title, g.Bad)
		}
		if item := in.folds[g.Title]; item.Title != title {
			item.Title, retitled = title, true
		}
	}
	if retitled {
		in.fold.Refresh()
	}
}

// explain says what a field is for, and its limits.
func (in *inputs) explain(f desk.FieldShow) {
	text := f.Name
	if f.Choices == nil {
		text += " · " + f.Spec.In(lengthUnit()).Limits()
	}
	if f.Help != "" {
		text += " · " + f.Help
	}
	in.say(text)
}

// say writes below the fields what has been asked about: a field, or a row of a list in full.
func (in *inputs) say(text string) { setText(in.help, text) }

// shoeFinder is the search and the list of shoes.
type shoeFinder struct {
	do     func(desk.Action)
	search *searchEntry
	list   *shoeList
	rows   []desk.ShoeRow
	quiet  bool
	all    *fyne.Container
}

func newShoeFinder(do func(desk.Action), function func(fyne.KeyName) bool) *shoeFinder {
	f := &shoeFinder{do: do}
	f.search = &searchEntry{finder: f, function: function}
	f.search.ExtendBaseWidget(f.search)
	f.search.SetPlaceHolder("find a shoe: name, kind, what it is for")
	f.search.OnChanged = func(t string) { do(desk.Search{Text: t}) }
	f.search.OnSubmitted = func(string) { f.pick(0) }
	f.list = &shoeList{function: function}
	f.list.Length = func() int { return len(f.rows) }
	f.list.CreateItem = func() fyne.CanvasObject {
		l := widget.NewLabel("")
		l.Truncation = fyne.TextTruncateEllipsis
		return l
	}
	f.list.UpdateItem = func(i widget.ListItemID, o fyne.CanvasObject) {
		if l, ok := o.(*widget.Label); ok && i < len(f.rows) {
			setText(l, f.rows[i].Name+" · "+f.rows[i].Kind)
		}
	}
	f.list.ExtendBaseWidget(f.list)
	f.list.OnSelected = func(i widget.ListItemID) {
		if !f.quiet {
			f.pick(i)
		}
	}
	f.all = container.NewVBox(f.search, fixedHeight(f.list, 112))
	return f
}

func (f *shoeFinder) pick(i int) {
	if i >= 0 && i < len(f.rows) {
		f.do(desk.ChooseShoe{ID: f.rows[i].ID})
	}
}

func (f *shoeFinder) show(s *desk.State) {
	rows := desk.ShoesView(s)
	same := len(rows) == len(f.rows)
	for i := range rows {
		same = same && rows[i] == f.rows[i]
	}
	if same {
		return
	}
	f.rows = rows
	f.quiet = true
	defer func() { f.quiet = false }()
	f.list.UnselectAll()
	f.list.Refresh()
	for i, r := range rows {
		if r.Chosen {
			f.list.Select(i)
		}
	}
}

// shoeList is the list; function keys go on to the window, Return chooses as Space does.
type shoeList struct {
	widget.List
	function func(fyne.KeyName) bool
}

// TypedKey goes through the list.
func (l *shoeList) TypedKey(k *fyne.KeyEvent) {
	switch {
	case l.function(k.Name):
	case k.Name == fyne.KeyReturn || k.Name == fyne.KeyEnter:
		l.List.TypedKey(&fyne.KeyEvent{Name: fyne.KeySpace})
	default:
		l.List.TypedKey(k)
	}
}

// searchEntry is the shoe search; Down goes to the list.
type searchEntry struct {
	widget.Entry
	finder   *shoeFinder
	function func(fyne.KeyName) bool
}

// TypedKey types, or goes to the list.
func (e *searchEntry) TypedKey(k *fyne.KeyEvent) {
	switch {
	case k.Name == fyne.KeyDown:
		if c := fyne.CurrentApp().Driver().CanvasForObject(e); c != nil {
			c.Focus(e.finder.list)
		}
	case k.Name == fyne.KeyEscape:
		e.SetText("")
	case e.function(k.Name):
	default:
		e.Entry.TypedKey(k)
	}
}

// fixedHeight gives an object a height of its own and leaves its width.
func fixedHeight(o fyne.CanvasObject, height float32) *fyne.Container {
	return container.New(heightLayout(height), o)
}

type heightLayout float32

func (h heightLayout) MinSize(os []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(os[0].MinSize().Width, float32(h))
}

func (h heightLayout) Layout(os []fyne.CanvasObject, s fyne.Size) {
	os[0].Move(fyne.NewPos(0, 0))
	os[0].Resize(s)
}
