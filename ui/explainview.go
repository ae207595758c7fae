package ui

import (
	"context"
	"image"
	"image/color"
	"image/draw"
	"math"
	"os"
	"slices"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/drawing"
	labsheet "lastroom/fit/sheet"
	"lastroom/ui/desk"
	"lastroom/ui/explainpage"
)

// languagePreference is the language of the page for the patient.
const languagePreference = "patient_language"

// explained is a case that is explained, calculated.
type explained struct {
	of     uint64 // generation of the desk's answer
	choice *fit.Choice
	c      explainpage.Case
	before *drawing.Scene
	after  *drawing.Scene // nil: there is no refit
	solid  *drawing.Solid
	solid2 *drawing.Solid // after
	left   bool
}

// explainCase calculates what the page needs: the refit that was picked, or what the device on the desk is changed from the one as ordered,
// or the device as it is.
func explainCase(ctx context.Context, a *desk.Answer, picked *fit.Choice) (*explained, error) {
	e := &explained{of: a.Generation, choice: picked, left: a.Inputs.Device.Side == device.Left}
	before := &fit.Choice{Result: a.Result, Room: a.Room, Device: a.Device}
	after := picked
	if picked == nil && a.Inputs.Scanned == nil && a.Inputs.Ordered != a.Inputs.Device {
		ordered, err := device.Build(a.Inputs.Ordered)
		if err != nil {
			return nil, err
		}
		if before, after, err = labsheet.Compare(ctx, a.Bench, ordered, a.Device, a.Inputs.Foot, 500); err != nil {
			return nil, err
		}
	}
	e.c = explainpage.Case{Room: a.Room, Before: before.Result, Odds: before.Odds, Choice: after}
	if e.c.Odds == nil && before.Result.Status == fit.Converged {
		odds, err := a.Bench.Odds(ctx, before.Device, a.Inputs.Foot, fit.OddsOptions{Draws: 500})
		if err != nil {
			return nil, err
		}
		e.c.Odds = odds
	}
	scene := func(c *fit.Choice) *drawing.Scene {
		right := *c.Device // computed as a right one; the picture is turned over
		right.Options.Side = device.Right
		pose := fit.Settled
		if c.Result.Status != fit.Converged {
			pose = fit.Intended
		}
		return drawing.NewScene(c.Room, &right, c.Result, pose)
	}
	foot := a.Inputs.Foot.LengthMM
	if foot == 0 {
		foot = a.Device.Options.FootLengthMM
	}
	e.before = scene(before)
	// Cut along the middle and low over the seat; across, where the first place in the heel is.
	cuts := drawing.NewScene(a.Room, before.Device, nil, fit.Intended).Cuts
	for _, m := range explainpage.PageOf(explainpage.TextsOf("en"), &e.c).Marks() {
		if m.At.X < a.Room.InstepStationMM() {
			cuts.XMM = m.At.X
			break
		}
	}
	e.before = e.before.With(cuts)
	e.solid = drawing.NewSolid(before.Room, before.Device, before.Result, a.Bench.Tree(), foot)
	if after != nil {
		tree := a.Bench.Tree()
		if after.Room != a.Room {
			b, err := fit.NewBench(ctx, after.Room)
			if err != nil {
				return nil, err
			}
			tree = b.Tree()
		}
		e.after = scene(after).With(e.before.Cuts)
		e.solid2 = drawing.NewSolid(after.Room, after.Device, after.Result, tree, foot)
	}
	return e, nil
}

// explainView is the page for the patient, in the window or in one of its own.
type explainView struct {
	win    *Window
	host   fyne.Window
	escape func()
	texts  explainpage.Texts
	shown  *explained
	view   drawing.View
	whole  bool // the shoe is not cut open
	noFoot bool

	language   *widget.Select
	words      *fyne.Container
	mind       *widget.Label
	wipe       *wipePane
	wipeSlider *keySlider
	caption    *widget.Label
	slideHint  *widget.Label
	solid      *solidPane
	legend     *fyne.Container
	meanings   []*widget.Label
	swatches   []*canvas.Image
	turnHint   *widget.Label
	buttons    [5]*keyButton
	drawn      func(func()) // draws in the background
	quiet      bool
	all        fyne.CanvasObject
}

// explainedContacts are what the legend explains.
var explainedContacts = []struct {
	contact drawing.Contact
	key     string
}{{drawing.Presses, "legend.presses"}, {drawing.Touches, "legend.touches"}, {drawing.Rests, "legend.rests"}, {drawing.Free, "legend.free"}}

// newExplain is the page, in a window.
func (w *Window) newExplain(host fyne.Window, escape func()) *explainView {
	v := &explainView{win: w, host: host, escape: escape, view: drawing.Behind, drawn: w.aside}
	v.texts = explainpage.TextsOf(w.app.Preferences().StringWithFallback(languagePreference, systemLanguage(os.Getenv))).In(w.state.Lengths)
	v.build()
	v.show()
	return v
}

// systemLanguage is the language that the system asks for.
func systemLanguage(env func(string) string) string {
	for _, name := range []string{"LC_ALL", "LC_MESSAGES", "LANG"} {
		if l := env(name); l != "" {
			return l
		}
	}
	return "en"
}

func (v *explainView) functionKey(k fyne.KeyName) bool {
	if v.host == v.win.win {
		return v.win.functionKey(k)
	}
	if v.key(k) {
		return true
	}
	if k == fyne.KeyEscape {
		v.escape()
		return true
	}
	return false
}

func (v *explainView) build() {
	var names []string
	for _, c := range explainpage.Codes {
		names = append(names, explainpage.TextsOf(c).Say("language"))
	}
	v.language = widget.NewSelect(names, nil)
	v.language.SetSelectedIndex(slices.Index(explainpage.Codes, v.texts.Code))
	v.language.OnChanged = func(string) {
		if i := v.language.SelectedIndex(); i >= 0 && !v.quiet {
			v.speak(explainpage.Codes[i])
		}
	}
	v.words = container.New(tight(2))
	v.mind = widget.NewLabel("")
	v.mind.Wrapping = fyne.TextWrapWord
	v.mind.TextStyle.Italic = true
	v.wipe = newWipePane(v)
	v.wipeSlider = newKeySlider(v.functionKey, 0, 1, 0.05)
	v.wipeSlider.OnChanged = v.wipe.slide
	v.solid = newSolidPane(v)
	label := func() *widget.Label {
		l := widget.NewLabel("")
		l.Wrapping = fyne.TextWrapWord
		l.SizeName = theme.SizeNameCaptionText
		return l
	}
	v.caption, v.slideHint, v.turnHint = label(), label(), label()
	v.legend = container.NewGridWithColumns(2)
	for range explainedContacts {
		l := label()
		v.meanings = append(v.meanings, l)
		img := &canvas.Image{FillMode: canvas.ImageFillStretch}
		img.SetMinSize(fyne.NewSize(34, 18))
		v.swatches = append(v.swatches, img)
		v.legend.Add(container.NewBorder(nil, nil, container.NewCenter(img), nil, l))
	}
	for i, do := range []func(){v.otherView, v.toggleFoot, v.toggleWhole, v.print, v.ownWindow} {
		v.buttons[i] = newKeyButton(v.functionKey, "", do)
	}
	left := container.NewBorder(nil, container.NewVBox(v.mind, container.NewBorder(nil, nil, v.language, nil, v.buttons[3]), v.buttons[4]), nil, nil, container.NewVScroll(container.NewPadded(v.words)))
	top := container.NewBorder(nil, container.NewVBox(v.slideHint, v.wipeSlider, v.caption, v.buttons[0]), nil, nil, v.wipe)
	bottom := container.NewBorder(nil, container.NewVBox(v.legend, v.turnHint, container.NewGridWithColumns(2, v.buttons[1], v.buttons[2])), nil, nil, v.solid)
	pictures := container.NewVSplit(top, bottom)
	pictures.SetOffset(0.5)
	whole := container.NewHSplit(left, container.NewPadded(pictures))
	whole.SetOffset(0.46)
	v.all = whole
}

func (v *explainView) object() fyne.CanvasObject { return v.all }

// turned calculates what is shown, when it is another case than before.
func (v *explainView) turned() {
	v.host.Canvas().Focus(v.solid)
	v.refresh()
}

func (v *explainView) refresh() {
	a := v.win.state.Shown
	if a == nil || a.Generation != v.win.state.Generation {
		return
	}
	var picked *fit.Choice
	if r := v.win.refits; r != nil && r.state.Case == a {
		picked = r.state.Choice()
	}
	if v.shown != nil && v.shown.of == a.Generation && v.shown.choice == picked {
		return
	}
	v.shown = nil
	v.show()
	v.win.aside(func() {
		e, err := explainCase(context.Background(), a, picked)
		bridge(func() {
			if err != nil {
				v.win.tell(v.texts.Say("title"), err.Error())
				return
			}
			v.take(e)
		})
	})
}

// take shows a case that was calculated.
func (v *explainView) take(e *explained) {
	v.shown = e
	v.wipeSlider.SetValue(0.5)
	v.show()
	v.wipe.draw2()
	v.solid.again()
}

func (v *explainView) key(k fyne.KeyName) bool {
	switch k {
	case fyne.KeyF2:
		v.otherView()
	case fyne.KeyF3:
		v.toggleFoot()
	case fyne.KeyF4:
		v.toggleWhole()
	case fyne.KeyF5:
		v.print()
	case fyne.KeyF8:
		v.ownWindow()
	case fyne.KeyF6, fyne.KeyF7, fyne.KeyF9:
	default:
		return false
	}
	return true
}

func (v *explainView) speak(code string) {
	v.texts = explainpage.TextsOf(code).In(v.win.state.Lengths)
	v.win.app.Preferences().SetString(languagePreference, v.texts.Code)
	v.show()
}

func (v *explainView) otherView() {
	v.view = drawing.Views[(slices.Index(drawing.Views[:], v.view)+1)%len(drawing.Views)]
	v.show()
	v.wipe.draw2()
}

func (v *explainView) toggleFoot()  { v.noFoot = !v.noFoot; v.solid.again() }
func (v *explainView) toggleWhole() { v.whole = !v.whole; v.solid.again() }

// ownWindow shows the page in a window of its own, to be turned to the patient.
func (v *explainView) ownWindow() {
	w := v.win.app.NewWindow(v.texts.Say("title"))
	e := v.win.newExplain(w, w.Close)
	w.SetContent(e.object())
	w.Canvas().SetOnTypedKey(func(k *fyne.KeyEvent) { e.functionKey(k.Name) })
	w.Resize(fyne.NewSize(1180, 760))
	w.Show()
	if v.shown != nil {
		e.take(v.shown)
	}
	w.Canvas().Focus(e.solid)
}

// show brings the words on the page.
func (v *explainView) show() {
	t := v.texts
	say := t.Say
	for i, key := range []string{"picture." + map[drawing.View]string{drawing.Behind: "side", drawing.Side: "above", drawing.Above: "behind"}[v.view], "button.foot", "button.open", "button.print", "button.second"} {
		text := say(key)
		if i == 0 {
			text = "→ " + text
		}
		setButton(&v.buttons[i].Button, text+" ("+[]string{"F2", "F3", "F4", "F5", "F8"}[i]+")")
	}
	setText(v.caption, say("picture."+map[drawing.View]string{drawing.Behind: "behind", drawing.Side: "side", drawing.Above: "above"}[v.view]))
	setText(v.slideHint, say("picture.slide"))
	setText(v.turnHint, say("picture.turn")+". "+say("picture.inside")+" "+say("picture.sketch"))
	for i, c := range explainedContacts {
		setText(v.meanings[i], say(c.key))
		v.swatches[i].Image = drawing.Swatch(c.contact, isDark(), 68, 36)
		v.swatches[i].Refresh()
	}
	v.words.Objects = nil
	add := func(text string, size fyne.ThemeSizeName, bold bool) {
		l := widget.NewLabel(text)
		l.Wrapping = fyne.TextWrapWord
		l.SizeName = size
		l.TextStyle.Bold = bold
		v.words.Add(l)
	}
	if v.shown == nil {
		add(say("wait"), theme.SizeNameSubHeadingText, false)
		setText(v.mind, "")
		v.words.Refresh()
		return
	}
	p := explainpage.PageOf(t, &v.shown.c)
	setText(v.mind, say("head.mind")+": "+p.Mind)
	setVisible(v.wipeSlider, v.shown.after != nil)
	setVisible(v.slideHint, v.shown.after != nil)
	add(p.Title, theme.SizeNameHeadingText, true)
	for _, s := range p.Answer {
		add(s, theme.SizeNameSubHeadingText, true)
	}
	if p.Odds != "" {
		add(p.Odds, theme.SizeNameText, false)
	}
	for _, b := range explainBlocks(p) {
		add(b.Head, theme.SizeNameSubHeadingText, true)
		for _, l := range b.Lines {
			add("· "+l, theme.SizeNameText, false)
		}
	}
	v.words.Refresh()
}

// explainBlocks are the page's words under their heads, on screen and on paper alike.
func explainBlocks(p *explainpage.Page) []labsheet.Block {
	t := p.Texts
	var places []string
	for i := range p.Places {
		places = append(places, p.Places[i].Words(t))
	}
	var out []labsheet.Block
	for _, b := range []labsheet.Block{
		{Head: t.Say("head.places"), Lines: places},
		{Head: t.Say("head.means"), Lines: p.Means},
		{Head: t.Say("head.do"), Lines: append(slices.Clone(p.Do), p.Care...)},
		{Head: t.Say("head.watch"), Lines: p.Watch},
	} {
		if len(b.Lines) > 0 {
			out = append(out, b)
		}
	}
	return out
}

// marks are the places on a view; across, only those near the cut.
func (e *explained) marks(v drawing.View) []drawing.Mark {
	const nearMM = 30
	return slices.DeleteFunc(explainpage.PageOf(explainpage.TextsOf("en"), &e.c).Marks(), func(m drawing.Mark) bool {
		return v == drawing.Behind && math.Abs(m.At.X-e.before.Cuts.XMM) > nearMM
	})
}

// handout is the page on paper.
func (e *explained) handout(t explainpage.Texts) *labsheet.Handout {
	p := explainpage.PageOf(t, &e.c)
	h := &labsheet.Handout{Title: p.Title, Lead: p.Answer, Blocks: explainBlocks(p), Foot: t.Say("head.mind") + ": " + p.Mind, Date: time.Now()}
	if p.Odds != "" {
		h.Blocks = append([]labsheet.Block{{Head: p.Odds}}, h.Blocks...)
	}
	caption, marks := t.Say("picture.behind"), e.marks(drawing.Behind)
	h.Scenes = append(h.Scenes, labsheet.HandoutScene{View: drawing.Behind, Scene: e.before, Left: e.left, Caption: caption, Marks: marks})
	if e.after != nil {
		h.Scenes[0].Caption = t.Say("word.before") + ": " + caption
		h.Scenes = append(h.Scenes, labsheet.HandoutScene{View: drawing.Behind, Scene: e.after, Left: e.left, Marks: marks, Caption: t.Say("word.after") + ": " + caption})
	} else {
		h.Scenes = append(h.Scenes, labsheet.HandoutScene{View: drawing.Side, Scene: e.before, Left: e.left, Marks: e.marks(drawing.Side), Caption: t.Say("picture.side")})
	}
	return h
}

// print writes the page as a PDF.
func (v *explainView) print() {
	if v.shown == nil {
		return
	}
	e, t := v.shown, v.texts
	v.win.askSave(t.Say("button.print"), "handout.pdf", func(path string) {
		if err := writeHandout(path, e.handout(t), v.win.sheetPaper()); err != nil {
			v.win.tell(t.Say("button.print"), err.Error())
			return
		}
		v.win.tell(t.Say("button.print"), path)
	})
}

func writeHandout(path string, h *labsheet.Handout, paper labsheet.Paper) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	err = labsheet.WriteHandout(f, h, paper)
	if closeErr := f.Close(); err == nil {
		err = closeErr
	}
	if err != nil {
		_ = os.Remove(path)
	}
	return err
}

// wipePane shows the drawing before, left of a line, and after, right of it.
type wipePane struct {
	pictureOf
	view  *explainView
	share float64
	two   [2]image.Image
}

func newWipePane(v *explainView) *wipePane {
	p := &wipePane{view: v, share: 0.5}
	p.self, p.picture, p.background, p.min = p, &canvas.Image{FillMode: canvas.ImageFillStretch}, v.drawn, fyne.NewSize(240, 160)
	p.ExtendBaseWidget(p)
	return p
}

// draw2 draws both anew.
func (p *wipePane) draw2() {
	e, view, dark := p.view.shown, p.view.view, isDark()
	var marks []drawing.Mark
	if e != nil {
		marks = e.marks(view)
	}
	p.draw = func(w, h int, scale float64) (image.Image, func()) {
		if e == nil {
			return nil, nil
		}
		var two [2]image.Image
		for i, s := range []*drawing.Scene{e.before, e.after} {
			if s == nil {
				two[1] = two[0]
				continue
			}
			pic, err := drawing.Render(view, s, drawing.Options{Look: drawing.Look{Dark: dark}, Marks: marks, Flipped: e.left}, w, h, scale)
			if err != nil {
				return nil, nil
			}
			two[i] = pic.Image
			if e.left {
				two[i] = mirrored(pic.Image)
			}
		}
		return p.wiped(two), func() { p.two = two }
	}
	p.again()
}

// slide moves the line.
func (p *wipePane) slide(share float64) {
	p.share = share
	if p.two[0] != nil {
		p.picture.Image = p.wiped(p.two)
		p.picture.Refresh()
	}
}

// wiped is the one picture left of the line and the other right of it.
func (p *wipePane) wiped(two [2]image.Image) image.Image {
	if two[0] == two[1] {
		return two[0]
	}
	b := two[0].Bounds()
	out := image.NewRGBA(b)
	at := b.Min.X + int(math.Round(p.share*float64(b.Dx())))
	draw.Draw(out, image.Rect(b.Min.X, b.Min.Y, at, b.Max.Y), two[0], b.Min, draw.Src)
	draw.Draw(out, image.Rect(at, b.Min.Y, b.Max.X, b.Max.Y), two[1], image.Pt(at, b.Min.Y), draw.Src)
	line := image.NewUniform(theme.Color(theme.ColorNamePrimary))
	draw.Draw(out, image.Rect(at-1, b.Min.Y, at+1, b.Max.Y), line, image.Point{}, draw.Src)
	return out
}

// mirrored is a picture turned over, left for right.
func mirrored(img image.Image) image.Image {
	b := img.Bounds()
	out := image.NewRGBA(b)
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			out.Set(b.Max.X-1-(x-b.Min.X), y, img.At(x, y))
		}
	}
	return out
}

// solidPane is the shoe with the device in space; it is turned by dragging and by the arrow keys.
type solidPane struct {
	pictureOf
	view    *explainView
	eye     drawing.Eye
	focused bool
	frame   *canvas.Rectangle
}

func newSolidPane(v *explainView) *solidPane {
	p := &solidPane{view: v, eye: drawing.Eye{TurnDeg: 130, TiltDeg: 28}, frame: canvas.NewRectangle(color.Transparent)}
	p.self, p.picture, p.background, p.min = p, &canvas.Image{FillMode: canvas.ImageFillStretch}, v.drawn, fyne.NewSize(240, 160)
	p.frame.StrokeWidth = 2
	p.draw = func(w, h int, scale float64) (image.Image, func()) {
		e := v.shown
		if e == nil {
			return nil, nil
		}
		s := e.solid
		if e.solid2 != nil && v.wipe.share < 0.5 {
			s = e.solid2 // what most of the other picture shows
		}
		img := image.NewRGBA(image.Rect(0, 0, w, h))
		s.Without(v.noFoot).Draw(img, p.eye, v.whole, isDark(), scale)
		if e.left {
			return mirrored(img), nil
		}
		return img, nil
	}
	p.ExtendBaseWidget(p)
	return p
}

// turn turns the picture.
func (p *solidPane) turn(by, tilt float64) {
	p.eye.TurnDeg = math.Mod(p.eye.TurnDeg+by, 360)
	p.eye.TiltDeg = math.Max(-80, math.Min(80, p.eye.TiltDeg+tilt))
	p.again()
}

// Dragged turns by the mouse: half a degree a unit.
func (p *solidPane) Dragged(e *fyne.DragEvent) {
	by := 0.5 * float64(e.Dragged.DX)
	if s := p.view.shown; s != nil && s.left {
		by = -by
	}
	p.turn(by, 0.5*float64(e.Dragged.DY))
}

// DragEnd does nothing.
func (p *solidPane) DragEnd() {}

// Tapped takes the focus.
func (p *solidPane) Tapped(*fyne.PointEvent) { p.view.host.Canvas().Focus(p) }

// FocusGained shows a frame.
func (p *solidPane) FocusGained() { p.focused = true; p.refreshFrame() }

// FocusLost takes the frame away.
func (p *solidPane) FocusLost() { p.focused = false; p.refreshFrame() }

func (p *solidPane) refreshFrame() {
	p.frame.StrokeColor = nil
	if p.focused {
		p.frame.StrokeColor = theme.Color(theme.ColorNameFocus)
	}
	p.frame.Refresh()
}

// TypedRune does nothing.
func (p *solidPane) TypedRune(rune) {}

// TypedKey turns by the arrow keys.
func (p *solidPane) TypedKey(k *fyne.KeyEvent) {
	const step = 10
	switch k.Name {
	case fyne.KeyLeft:
		p.turn(-step, 0)
	case fyne.KeyRight:
		p.turn(step, 0)
	case fyne.KeyUp:
		p.turn(0, step)
	case fyne.KeyDown:
		p.turn(0, -step)
	default:
		p.view.functionKey(k.Name)
	}
}

// CreateRenderer shows the picture and the frame of the focus.
func (p *solidPane) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.NewStack(p.picture, p.frame))
}

// keySlider is a slider that lets function keys through.
type keySlider struct {
	widget.Slider
	function func(fyne.KeyName) bool
}

func newKeySlider(function func(fyne.KeyName) bool, lo, hi, step float64) *keySlider {
	s := &keySlider{function: function}
	s.Min, s.Max, s.Step = lo, hi, step
	s.ExtendBaseWidget(s)
	return s
}

// TypedKey slides, or lets the key through.
func (s *keySlider) TypedKey(k *fyne.KeyEvent) {
	if !s.function(k.Name) {
		s.Slider.TypedKey(k)
	}
}

// showExplain turns to the page for the patient.
func (w *Window) showExplain() {
	if w.explain == nil {
		w.explain = w.newExplain(w.win, func() { w.pages.turnTo(nil) })
	}
	w.pages.turnTo(w.explain)
}
