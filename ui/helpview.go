package ui

import (
	"image"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/device"
	"lastroom/fit/drawing"
	"lastroom/ui/help"
)

// helpFor explains the field that has the focus on the desk, or else the keys.
func (w *Window) helpFor() {
	key := ""
	switch f := w.win.Canvas().Focused().(type) {
	case *numberEntry:
		key = f.field.shown.Key
	case *choicePick:
		key = f.field.shown.Key
	}
	t, ok := help.Find(key)
	if !ok {
		w.tell("Keys", keysText)
		return
	}
	w.showTopic(&t, keysText)
}

// showTopic shows what a field is, how it is measured and why it matters, with a drawing.
func (w *Window) showTopic(t *help.Topic, keys string) {
	body := container.NewVBox()
	for _, l := range t.Lines() {
		label := widget.NewLabel(told(l))
		label.Wrapping = fyne.TextWrapWord
		body.Add(label)
	}
	const width, height = 560, 250
	if img := w.topicPicture(t, 2*width, 2*height); img != nil {
		pic := canvas.NewImageFromImage(img)
		pic.FillMode = canvas.ImageFillContain
		pic.SetMinSize(fyne.NewSize(width, height))
		body.Add(pic)
	}
	var d *dialog.CustomDialog
	body.Add(container.NewGridWithColumns(2,
		newKeyButton(w.functionKey, "Words", func() { d.Hide(); w.showGlossary() }),
		newKeyButton(w.functionKey, "Keys", func() { d.Hide(); w.tell("Keys", keys) })))
	d = dialog.NewCustom(strings.ToUpper(t.Name[:1])+t.Name[1:]+" · "+t.Group, "Close", fixedWidth(body, 600), w.win)
	w.lay(d)
	w.line("help " + t.Key)
}

// topicPicture shows how a measure is taken, or the part of the device that an option is about; nil when there is nothing to draw.
func (w *Window) topicPicture(t *help.Topic, widthPx, heightPx int) image.Image {
	a := w.state.Shown
	if a == nil {
		return nil
	}
	if t.IsMeasure {
		return takingWish{takingLook: takingLook{
			room: a.Room, id: t.Measure, best: true, look: lookNow(), width: widthPx, height: heightPx, scale: 2, value: "",
		}}.draw()
	}
	view, known := topicViews[t.Key]
	if !known {
		return nil
	}
	scene := drawing.NewScene(a.Room, a.Device, a.Result, w.state.Pose)
	scene.Findings = nil
	pic, err := drawing.Render(view, scene.With(drawing.NewScene(a.Room, a.Device, nil, w.state.Pose).Cuts), drawing.Options{Look: lookNow(), Words: true, Parts: true}, widthPx, heightPx, 2)
	if err != nil {
		return nil
	}
	return pic.Image
}

// topicViews are the cuts that show what an option is about.
var topicViews = func() map[string]drawing.View {
	out := map[string]drawing.View{}
	for _, k := range device.Keys() {
		switch k.Key {
		case "heel_width_mm", "cup_depth_mm", "cup_thinning_percent", "wedge_width_mm", "contact_angle_deg", "motion_deg", "tilt_deg", "bevel_medial_deg", "bevel_lateral_deg", "wedge_build",
			"wedge_material", "wedge_hardness_shore_a", "cap_mm", "cap_material", "wedge_min_thickness_mm":
			out[k.Key] = drawing.Behind
		case "width_trim_mm", "front_trim_mm", "lateral_flange_mm", "arch_flange_mm", "foot_length_mm":
			out[k.Key] = drawing.Above
		case "side", "sex":
		default:
			out[k.Key] = drawing.Side
		}
	}
	for _, key := range []string{"foot.length_mm", "foot.instep_height_mm", "foot.ball_height_mm", "foot.toe_height_mm", "insole", "size"} {
		out[key] = drawing.Side
	}
	out["foot.ankle_height_mm"] = drawing.Behind
	return out
}()

// showGlossary shows our words beside those of the trade, narrowed by what is typed.
func (w *Window) showGlossary() {
	list := container.New(tight(4))
	show := func(words string) {
		list.Objects = nil
		for _, t := range help.Glossary(words) {
			head := widget.NewLabel(t.Word + "  (the trade also says: " + t.Trade + ")")
			head.TextStyle.Bold = true
			is := widget.NewLabel(told(t.Is))
			head.Wrapping, is.Wrapping = fyne.TextWrapWord, fyne.TextWrapWord
			list.Add(head)
			list.Add(is)
		}
		if len(list.Objects) == 0 {
			list.Add(widget.NewLabel("No word has that."))
		}
		list.Refresh()
	}
	search := widget.NewEntry()
	search.SetPlaceHolder("find a word: ours or the trade's")
	search.OnChanged = show
	show("")
	scroll := container.NewVScroll(list)
	scroll.SetMinSize(fyne.NewSize(640, 440))
	d := dialog.NewCustom("Words", "Close", container.NewBorder(search, nil, nil, nil, scroll), w.win)
	w.lay(d)
	w.win.Canvas().Focus(search)
}

// walkPreference says that the walk was seen.
const walkPreference = "walk_seen"

// walk shows the steps of the first minutes, from one on; each can be left, and all are to be had again from the menu.
func (w *Window) walk(at int) {
	w.app.Preferences().SetBool(walkPreference, true)
	steps := help.Walk()
	if at < 0 || at >= len(steps) {
		return
	}
	s := steps[at]
	text := widget.NewLabel(told(s.Text))
	text.Wrapping = fyne.TextWrapWord
	var d *dialog.CustomDialog
	to := func(n int) func() { return func() { d.Hide(); w.walk(n) } }
	next, label := to(at+1), "Next"
	if at == len(steps)-1 {
		label = "Begin"
	}
	forward := newKeyButton(w.functionKey, label, next)
	forward.Importance = widget.HighImportance
	back := newKeyButton(w.functionKey, "Back", to(at-1))
	setEnabled(&back.Button, at > 0)
	skip := newKeyButton(w.functionKey, "Skip the walk (Esc)", func() { d.Hide() })
	place := widget.NewLabel(strings.Repeat("● ", at+1) + strings.Repeat("○ ", len(steps)-at-1))
	place.SizeName = theme.SizeNameCaptionText
	d = dialog.NewCustomWithoutButtons(s.Title, container.NewVBox(fixedWidth(text, 520), place, container.NewGridWithColumns(3, skip, back, forward)), w.win)
	w.lay(d)
	w.win.Canvas().Focus(forward)
}
