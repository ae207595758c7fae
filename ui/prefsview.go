package ui

import (
	"os"
	"path/filepath"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	labsheet "lastroom/fit/sheet"
	"lastroom/internal/lengths"
	"lastroom/ui/casepage"
	"lastroom/ui/desk"
	"lastroom/ui/explainpage"
)

// What is kept between runs beside what the work is about: how the window looks, what it was left with, and what was opened last.
const (
	recentPreference   = "recent"
	widthPreference    = "window_width"
	heightPreference   = "window_height"
	pagePreference     = "page"
	casePreference     = "case"
	casebookPreference = "casebook"
	shoesPreference    = "shoes_folder"
	systemPreference   = "size_system"
)

// mostRecent files are remembered.
const mostRecent = 8

// askPreferences asks for all that is kept.
func (w *Window) askPreferences() {
	p := w.app.Preferences()
	looks := []desk.Look{desk.SystemLook, desk.LightLook, desk.DarkLook}
	look := widget.NewSelect([]string{"as the system has it", "light", "dark"}, nil)
	look.SetSelectedIndex(slices.Index(looks, w.state.Look))
	units := []lengths.Unit{lengths.MM, lengths.Inch}
	unit := widget.NewSelect([]string{"millimetres", "inches"}, nil)
	unit.SetSelectedIndex(slices.Index(units, w.state.Lengths))
	scale := widget.NewEntry()
	scale.SetText(desk.ScaleSpec.Format(w.state.Scale))
	limits := w.state.Limits()
	lo, hi := widget.NewEntry(), widget.NewEntry()
	lo.SetText(desk.UnsureSpecs[0].Format(100 * limits.Lo))
	hi.SetText(desk.UnsureSpecs[1].Format(100 * limits.Hi))
	papers := []labsheet.Paper{labsheet.A4, labsheet.Letter}
	paper := widget.NewSelect([]string{"A4", "Letter"}, nil)
	paper.SetSelectedIndex(slices.Index(papers, w.sheetPaper()))
	var names []string
	for _, c := range explainpage.Codes {
		names = append(names, explainpage.TextsOf(c).Say("language"))
	}
	language := widget.NewSelect(names, nil)
	language.SetSelectedIndex(slices.Index(explainpage.Codes, explainpage.TextsOf(p.StringWithFallback(languagePreference, systemLanguage(os.Getenv))).Code))
	book := widget.NewEntry()
	book.SetText(p.String(casebookPreference))
	book.SetPlaceHolder("in the user's folder")
	shoes := widget.NewEntry()
	shoes.SetText(p.String(shoesPreference))
	shoes.SetPlaceHolder("in the user's folder")
	var systems []desk.Choice
	if f, ok := desk.FieldByKey("size_system"); ok {
		systems = f.Choices
	}
	system := widget.NewSelect(nil, nil)
	for _, c := range systems {
		system.Options = append(system.Options, c.Text)
	}
	system.SetSelectedIndex(slices.IndexFunc(systems, func(c desk.Choice) bool { return c.Value == p.String(systemPreference) }))
	system.PlaceHolder = "as each shoe has it"
	items := []*widget.FormItem{
		{Text: "Look", Widget: look},
		{Text: "Lengths in", Widget: unit, HintText: "files and JSON stay in mm"},
		{Text: "Interface scale", Widget: scale, HintText: desk.ScaleSpec.Limits() + "; from the next start"},
		{Text: "Unsure from, %", Widget: lo, HintText: desk.UnsureSpecs[0].Limits()},
		{Text: "Unsure to, %", Widget: hi, HintText: desk.UnsureSpecs[1].Limits()},
		{Text: "Paper", Widget: paper},
		{Text: "The patient's language", Widget: language},
		{Text: "Sizes told in", Widget: system, HintText: "of the shoe that the window opens with"},
		{Text: "File of the casebook", Widget: book, HintText: "from the next start"},
		{Text: "Folder of your shoes", Widget: shoes, HintText: "from the next start"},
	}
	d := dialog.NewForm("Preferences", "Keep", "Leave them", items, func(keep bool) {
		if !keep {
			return
		}
		w.do(desk.SetLook{Look: looks[max(0, look.SelectedIndex())]})
		w.do(desk.SetLengths{Unit: units[max(0, unit.SelectedIndex())]})
		w.do(desk.SetScale{Text: scale.Text})
		w.do(desk.SetUnsure{Lo: lo.Text, Hi: hi.Text})
		p.SetString(paperPreference, string(papers[max(0, paper.SelectedIndex())]))
		p.SetString(languagePreference, explainpage.Codes[max(0, language.SelectedIndex())])
		p.SetString(casebookPreference, book.Text)
		p.SetString(shoesPreference, shoes.Text)
		if i := system.SelectedIndex(); i >= 0 {
			p.SetString(systemPreference, systems[i].Value)
			w.do(desk.Choose{Key: "size_system", Value: systems[i].Value})
		}
		if w.explain != nil {
			w.explain.speak(explainpage.Codes[max(0, language.SelectedIndex())])
		}
	}, w.win)
	d.Resize(fyne.NewSize(620, 600))
	w.lay(d)
	w.win.Canvas().Focus(look)
}

// remember puts a file among those that were opened last.
func (w *Window) remember(path string) {
	list := slices.DeleteFunc(w.app.Preferences().StringList(recentPreference), func(p string) bool { return p == path })
	list = append([]string{path}, list...)
	w.app.Preferences().SetStringList(recentPreference, list[:min(len(list), mostRecent)])
	w.showRecent()
}

// showRecent brings the files that were opened last into the menu.
func (w *Window) showRecent() {
	var items []*fyne.MenuItem
	for _, path := range w.app.Preferences().StringList(recentPreference) {
		items = append(items, fyne.NewMenuItem(filepath.Base(path), func() { w.Open(path) }))
	}
	if len(items) == 0 {
		none := fyne.NewMenuItem("nothing yet", nil)
		none.Disabled = true
		items = []*fyne.MenuItem{none}
	}
	w.menus.recent.ChildMenu = fyne.NewMenu("", items...)
	w.menus.main.Refresh()
}

// leave keeps how the window is left.
func (w *Window) leave() {
	p := w.app.Preferences()
	size := w.win.Canvas().Size()
	p.SetFloat(widthPreference, float64(size.Width))
	p.SetFloat(heightPreference, float64(size.Height))
	p.SetString(pagePreference, w.pageName())
	if w.cases != nil {
		p.SetString(casePreference, w.cases.state.On)
	}
}

// pageName is the page that is shown, by a name that is kept; "" for the desk.
func (w *Window) pageName() string {
	for name, v := range w.namedPages() {
		if w.pages.over == v {
			return name
		}
	}
	return ""
}

func (w *Window) namedPages() map[string]page {
	return map[string]page{"measures": w.measures, "shoes": w.shoes, "cases": w.cases, "refits": w.refits, "screens": w.screens}
}

// leftSize is the size that the window was left with, or the usual one.
func (w *Window) leftSize() fyne.Size {
	p := w.app.Preferences()
	s := fyne.NewSize(float32(p.FloatWithFallback(widthPreference, 1280)), float32(p.FloatWithFallback(heightPreference, 800)))
	if !(s.Width >= 400 && s.Width <= 8000 && s.Height >= 300 && s.Height <= 6000) {
		return fyne.NewSize(1280, 800)
	}
	return s
}

// comeBack turns to the page that was left, and opens the case that the desk worked on.
func (w *Window) comeBack() {
	p := w.app.Preferences()
	if system := p.String(systemPreference); system != "" {
		w.do(desk.Choose{Key: "size_system", Value: system})
	}
	if id := p.String(casePreference); id != "" {
		w.cases.resume = id
		w.cases.takeUpLeft()
	}
	if v := w.namedPages()[p.String(pagePreference)]; v != nil {
		w.pages.turnTo(v)
	}
	if !p.Bool(walkPreference) {
		w.walk(0)
	}
}

// takeUpLeft opens the case that was left, once there is a book.
func (v *caseView) takeUpLeft() {
	if v.resume == "" || v.state.File == "" {
		return
	}
	id := v.resume
	v.resume = ""
	v.do(casepage.Pick{ID: id})
	v.do(casepage.Do{What: casepage.Take})
}
