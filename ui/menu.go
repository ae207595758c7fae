package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/ui/desk"
	"lastroom/ui/measurepage"
)

const (
	ctrl      = fyne.KeyModifierControl
	ctrlShift = fyne.KeyModifierControl | fyne.KeyModifierShift
)

func key(name fyne.KeyName, mod fyne.KeyModifier) fyne.Shortcut {
	return &desktop.CustomShortcut{KeyName: name, Modifier: mod}
}

// item is a menu item with its shortcut. Everything that the window can do stands on the menu: a shortcut there works
// whatever has the focus.
func item(label string, s fyne.Shortcut, f func()) *fyne.MenuItem {
	i := fyne.NewMenuItem(label, f)
	i.Shortcut = s
	return i
}

// menus are the menu items whose state changes.
type menus struct {
	undo, redo, pose, insole *fyne.MenuItem
	recent                   *fyne.MenuItem // what was opened last
	looks                    map[desk.Look]*fyne.MenuItem
	main                     *fyne.MainMenu
}

func (w *Window) newMenus() *menus {
	act := func(a desk.Action) func() { return func() { w.do(a) } }
	m := &menus{looks: map[desk.Look]*fyne.MenuItem{}}
	m.undo = item("Undo", &fyne.ShortcutUndo{}, w.undo)
	m.redo = item("Redo", key(fyne.KeyZ, ctrlShift), w.redo)
	m.pose = item("Show intended / settled (F6)", key(fyne.KeyT, ctrl), act(desk.TogglePose{}))
	m.insole = item("Take the insole out / put it in", key(fyne.KeyI, ctrl), act(desk.ToggleInsole{}))
	m.recent = fyne.NewMenuItem("Opened last", nil)
	look := func(label string, l desk.Look) *fyne.MenuItem {
		m.looks[l] = fyne.NewMenuItem(label, act(desk.SetLook{Look: l}))
		return m.looks[l]
	}
	m.main = fyne.NewMainMenu(
		fyne.NewMenu("Shoe",
			item("Find a shoe", key(fyne.KeyF, ctrl), func() { w.win.Canvas().Focus(w.inputs.shoes.search) }),
			item("Open a scan or tracing …", key(fyne.KeyO, ctrl), w.askShape),
			m.recent,
			item("Measure a shoe …", key(fyne.KeyM, ctrl), w.showMeasures),
			item("My shoes …", key(fyne.KeyL, ctrl), w.showShoes),
			item("Save the measured shoe", key(fyne.KeyS, ctrl), func() { w.onMeasures(measurepage.Save{}) }),
			item("Use the measured shoe now", key(fyne.KeyU, ctrl), func() { w.onMeasures(measurepage.Use{}) }),
			fyne.NewMenuItemSeparator(),
			m.insole,
			item("Size up", key(fyne.KeyUp, ctrlShift), act(desk.Step{Key: "size", N: 1})),
			item("Size down", key(fyne.KeyDown, ctrlShift), act(desk.Step{Key: "size", N: -1})),
			fyne.NewMenuItemSeparator(),
			item("Quit", key(fyne.KeyQ, ctrl), w.app.Quit),
		),
		fyne.NewMenu("Case",
			item("Cases …", key(fyne.KeyD, ctrl), w.showCases),
			item("Take in a file that was sent …", key(fyne.KeyD, ctrlShift), w.askCase),
			item("Explain it to the patient …", key(fyne.KeyH, ctrl), w.showExplain),
			item("Sheet for the lab …", key(fyne.KeyJ, ctrl), w.askSheet),
		),
		fyne.NewMenu("Edit", m.undo, m.redo),
		fyne.NewMenu("Device",
			item("Next wedge build", key(fyne.KeyB, ctrlShift), act(desk.NextBuild{})),
			item("More bevel on both sides", key(fyne.KeyPeriod, ctrl), act(desk.StepBevels{N: 1})),
			item("Less bevel on both sides", key(fyne.KeyComma, ctrl), act(desk.StepBevels{N: -1})),
			fyne.NewMenuItemSeparator(),
			item("Open a scan of a device …", key(fyne.KeyO, ctrlShift), w.askDevice),
			fyne.NewMenuItem("Back to the device of the options", act(desk.UseScanned{})),
			fyne.NewMenuItemSeparator(),
			item("Smallest changes …", key(fyne.KeyR, ctrl), w.showRefits),
			item("Try on the whole shelf …", key(fyne.KeyG, ctrl), w.showScreens),
			item("Compare support with the device as it is now", key(fyne.KeyK, ctrlShift), act(desk.TakeAsOrdered{})),
		),
		fyne.NewMenu("Show",
			m.pose,
			item("Next finding (F7)", key(fyne.KeyN, ctrl), act(desk.SelectBy{N: 1})),
			item("Finding before (F5)", key(fyne.KeyP, ctrl), act(desk.SelectBy{N: -1})),
			fyne.NewMenuItemSeparator(),
			item("Drawing from behind (F2)", key(fyne.Key1, ctrl), func() { w.focusPane(drawing.Behind) }),
			item("Drawing from the side (F3)", key(fyne.Key2, ctrl), func() { w.focusPane(drawing.Side) }),
			item("Drawing from above (F4)", key(fyne.Key3, ctrl), func() { w.focusPane(drawing.Above) }),
			item("Enlarge the drawing / show all (F8)", key(fyne.KeyE, ctrl), w.enlarge),
			item("Close the dialog, or go back to the fit", key(fyne.KeyW, ctrl), w.closeOver),
			fyne.NewMenuItemSeparator(),
			item("List of findings", key(fyne.Key4, ctrl), func() { w.focusList(0) }),
			item("List of foot room", key(fyne.Key5, ctrl), func() { w.focusList(1) }),
			item("List of support figures", key(fyne.Key6, ctrl), func() { w.focusList(2) }),
			fyne.NewMenuItemSeparator(),
			look("Light", desk.LightLook), look("Dark", desk.DarkLook), look("As the system has it", desk.SystemLook),
			item("Preferences …", key(fyne.KeySlash, ctrl), w.askPreferences),
		),
		fyne.NewMenu("Help",
			fyne.NewMenuItem("The walk of the first minutes", func() { w.walk(0) }),
			fyne.NewMenuItem("The field that has the focus (F1)", w.helpFor),
			fyne.NewMenuItem("Words: ours and the trade's", w.showGlossary),
			fyne.NewMenuItem("Keys", func() { w.tell("Keys", keysText) }),
			fyne.NewMenuItem("Cautions", func() { w.tell("Cautions", fit.Caution) }),
			fyne.NewMenuItem("About", func() { w.tell("Lastroom "+fit.Version, aboutText) }),
		),
	)
	return m
}

const keysText = `Numbers: up and down arrows step, page keys ten steps; Enter takes over, Escape goes back.
Drawings: arrow keys move the two lines by 1 mm, with Shift by 5 mm; page keys move the drawing's own cut; Space shows
intended or settled. Plus and minus (or the wheel): nearer and farther, 0 the whole. Lines are dragged with the mouse.
F2 F3 F4: drawing from behind, from the side, from above. F8: enlarge it, and back.
F6: intended or settled. F7 F5: next finding, finding before. Tab goes on to the next field.
All else stands on the menus with its shortcut; Alt opens them.`

const aboutText = `Will this orthosis go into this shoe, and where does it touch? Shoes and devices are invented.
Drawings are to scale, in millimetres; colours after Okabe and Ito, each with a pattern of its own.`

// show sets what can be done now.
func (m *menus) show(s *desk.State, undo, redo bool) {
	changed := false
	set := func(b *bool, v bool) {
		if *b != v {
			*b, changed = v, true
		}
	}
	set(&m.undo.Disabled, !undo)
	set(&m.redo.Disabled, !redo)
	for l, i := range m.looks {
		set(&i.Checked, l == s.Look)
	}
	if changed {
		m.main.Refresh()
	}
}

// tell shows a text until it is closed; Escape closes it too.
func (w *Window) tell(title, text string) {
	l := widget.NewLabel(told(text))
	l.Wrapping = fyne.TextWrapWord
	d := dialog.NewCustom(title, "Close", fixedWidth(l, 520), w.win)
	w.lay(d)
}
