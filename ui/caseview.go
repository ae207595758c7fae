package ui

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lastroom/fit"
	"lastroom/fit/casebook"
	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/ui/casepage"
	"lastroom/ui/desk"
	"lastroom/ui/scanpage"
)

// caseWork does the jobs on the casebook in the background, in the order in which they came.
type caseWork struct {
	mu   sync.Mutex
	book *casebook.Book
	jobs []casepage.Job
	busy bool
	idle *sync.Cond
	tell func(casepage.Action)
}

func newCaseWork(tell func(casepage.Action)) *caseWork {
	k := &caseWork{tell: tell}
	k.idle = sync.NewCond(&k.mu)
	return k
}

// put has a job done. Of what stands on the desk only the newest is kept while others wait.
func (k *caseWork) put(j casepage.Job) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if n := len(k.jobs); n > 0 && j.Do == casepage.Keep && k.jobs[n-1].Do == casepage.Keep && k.jobs[n-1].ID == j.ID {
		k.jobs[n-1] = j
		return
	}
	k.jobs = append(k.jobs, j)
	if !k.busy {
		k.busy = true
		go k.run()
	}
}

func (k *caseWork) run() {
	for {
		k.mu.Lock()
		if len(k.jobs) == 0 {
			k.busy = false
			k.idle.Broadcast()
			k.mu.Unlock()
			return
		}
		j, b := k.jobs[0], k.book
		k.jobs = k.jobs[1:]
		k.mu.Unlock()
		if b != nil {
			k.tell(casepage.Work(context.Background(), b, j))
		}
	}
}

// close waits until all is written, and lets the book go.
func (k *caseWork) close() {
	k.mu.Lock()
	defer k.mu.Unlock()
	for k.busy {
		k.idle.Wait()
	}
	if k.book != nil {
		_ = k.book.Close()
		k.book = nil
	}
}

// caseView is the page of cases.
type caseView struct {
	win   *Window
	state casepage.State
	put   func(casepage.Job)

	band           *scanBand
	search, code   *pageEntry
	note           *pageEntry
	list           *caseList
	about, history *widget.Label
	undo1, redo1   *keyButton
	buttons        map[casepage.Deed]*keyButton
	quiet          bool
	proposal       *casepage.Proposal // that is shown in a dialog
	resume         string             // case that the window was left with
	waiting        string             // file that is to be taken in once there is a book
	all            fyne.CanvasObject
}

// caseWait is how long the casebook is waited for when another program has it.
const caseWait = time.Second

// newCases is the page with its casebook, which is opened in the background.
func (w *Window) newCases(file string) *caseView {
	var v *caseView
	w.caseWork = newCaseWork(func(a casepage.Action) { bridge(func() { v.do(a) }) })
	v = newCaseView(w, w.caseWork.put)
	w.aside(func() {
		b, opened := openBook(file)
		w.caseWork.mu.Lock()
		w.caseWork.book = b
		w.caseWork.mu.Unlock()
		bridge(func() { v.do(opened) })
	})
	return v
}

// openBook opens a casebook, the usual one for "".
func openBook(file string) (*casebook.Book, casepage.Opened) {
	b, err := casebook.Open(context.Background(), file, casebook.Settings{Wait: caseWait})
	if err != nil {
		return nil, casepage.Opened{Err: err}
	}
	why, _ := b.ReadOnly()
	return b, casepage.Opened{File: b.File(), ReadOnly: why, Notices: b.Notices()}
}

func newCaseView(w *Window, put func(casepage.Job)) *caseView {
	v := &caseView{win: w, put: put, buttons: map[casepage.Deed]*keyButton{}}
	v.build()
	v.show()
	return v
}

func (v *caseView) do(a casepage.Action) {
	before := v.state.On
	var effects []casepage.Effect
	v.state, effects = casepage.Reduce(v.state, a)
	v.show()
	for _, e := range effects {
		switch e := e.(type) {
		case casepage.Job:
			v.put(e)
		case casepage.TakeUp:
			v.win.takeUp(e)
		case casepage.ShowTaught:
			v.win.showTaught(e.Outcomes)
		}
	}
	if v.state.On != before && v.state.On != "" {
		v.win.line("case " + v.state.OnCode)
		v.win.keepStand() // what stands there is its first
	}
	if d, done := a.(casepage.Done); done && d.Err == nil && d.Job.Do == casepage.Take {
		v.win.pages.turnTo(nil)
	}
	if _, opened := a.(casepage.Opened); opened {
		if path := v.waiting; path != "" {
			v.waiting, v.resume = "", ""
			v.win.openCase(path)
		}
		v.takeUpLeft()
	}
	if p := v.state.Proposal; p != nil && p != v.proposal {
		v.proposal = p
		v.askProposal(p)
	}
}

func (v *caseView) build() {
	fn := v.win.functionKey
	v.band = newScanBand(func(scanpage.Action) {})
	v.band.function = fn
	v.search = newPageEntry(fn, func(t string) { v.do(casepage.Search{Text: t}) })
	v.search.SetPlaceHolder("find: words of code, shoe, device, notes, outcome")
	v.search.OnChanged = func(t string) {
		if !v.quiet {
			v.search.shown = t
			v.do(casepage.Search{Text: t})
		}
	}
	v.code = newPageEntry(fn, func(string) {})
	v.code.SetPlaceHolder("code of a new case: no name")
	v.code.OnSubmitted = func(string) { v.fresh() }
	v.note = newPageEntry(fn, func(string) {})
	v.note.SetPlaceHolder("a note to the case; Return keeps it")
	v.note.OnSubmitted = func(t string) {
		v.do(casepage.Do{What: casepage.Note, Text: t})
		v.note.SetText("")
		v.note.shown = ""
	}
	v.list = newCaseList(v)
	v.about, v.history = widget.NewLabel(""), widget.NewLabel("")
	for _, l := range []*widget.Label{v.about, v.history} {
		l.Wrapping = fyne.TextWrapWord
		l.Selectable = true
	}
	v.history.SizeName = theme.SizeNameCaptionText
	button := func(d casepage.Deed, text string, do func()) *keyButton {
		b := newKeyButton(fn, text, do)
		v.buttons[d] = b
		return b
	}
	plain := func(d casepage.Deed) func() { return func() { v.do(casepage.Do{What: d}) } }
	take := button(casepage.Take, "Open it on the desk (Return)", plain(casepage.Take))
	take.Importance = widget.HighImportance
	v.undo1, v.redo1 = newKeyButton(fn, "", plain(casepage.Undo)), newKeyButton(fn, "", plain(casepage.Redo))
	left := container.NewBorder(v.search, container.NewVBox(
		container.NewBorder(nil, nil, nil, button(casepage.New, "Begin a case (F2)", v.fresh), v.code),
		container.NewGridWithColumns(2, button(casepage.Import, "Take a file in … (F3)", v.win.askCase), button(casepage.Invited, "The invented clinic", plain(casepage.Invited))),
		button(casepage.Teach, "What the outcomes say and teach … (F7)", plain(casepage.Teach)),
		newKeyButton(fn, "Back to the fit (Esc)", func() { v.win.pages.turnTo(nil) }),
	), nil, nil, v.list)
	deeds := container.NewVBox(
		v.note,
		container.NewGridWithColumns(3,
			take, button(casepage.Came, "What came of it … (F4)", v.askOutcome), button(casepage.Attach, "Attach a file … (F5)", v.askAttach)),
		container.NewGridWithColumns(3,
			button(casepage.Export, "Send: write a file … (F6)", v.askExport), newKeyButton(fn, "Leave the case on the desk", func() { v.do(casepage.Leave{}) }), button(casepage.Delete, "Delete … (Del)", v.askDelete)),
	)
	caution := widget.NewLabel(fit.Caution)
	caution.Wrapping = fyne.TextWrapWord
	caution.SizeName = theme.SizeNameCaptionText
	steps := container.NewGridWithColumns(2, v.undo1, v.redo1)
	past := container.NewBorder(container.NewVBox(heading("What was done, the latest first"), steps), nil, nil, nil, container.NewVScroll(v.history))
	about := container.NewVScroll(v.about)
	about.SetMinSize(fyne.NewSize(200, 130))
	split := container.NewVSplit(about, past)
	split.SetOffset(0.6)
	right := container.NewBorder(nil, container.NewVBox(deeds, caution), nil, nil, split)
	whole := container.NewHSplit(container.NewPadded(left), container.NewPadded(right))
	whole.SetOffset(0.36)
	v.all = container.NewBorder(v.band.all, nil, nil, nil, whole)
}

func (v *caseView) object() fyne.CanvasObject { return v.all }

func (v *caseView) turned() {
	v.do(casepage.Search{Text: v.state.Query})
	if v.state.Picked == "" && v.state.On != "" {
		v.do(casepage.Pick{ID: v.state.On})
	}
	v.win.win.Canvas().Focus(v.list)
}

func (v *caseView) key(k fyne.KeyName) bool {
	switch k {
	case fyne.KeyF1:
		v.win.tell("Keys", caseKeysText)
	case fyne.KeyF2:
		v.fresh()
	case fyne.KeyF3:
		v.win.askCase()
	case fyne.KeyF4:
		v.askOutcome()
	case fyne.KeyF5:
		v.askAttach()
	case fyne.KeyF6:
		v.askExport()
	case fyne.KeyF7:
		v.do(casepage.Do{What: casepage.Teach})
	case fyne.KeyF8, fyne.KeyF9:
	default:
		return false
	}
	return true
}

const caseKeysText = `List: arrow keys go through the cases, Return opens one on the desk, Del deletes it (and asks first).
F2 begins a case with the code that stands in its field and with what stands on the desk. F3 takes in a file that was sent.
F4 keeps what came of the device, F5 attaches a photograph or a scan, F6 writes the case to a file to be sent.
F7 holds the odds against what came of all devices, and offers what that teaches about the give of walls.
Ctrl+Z and Ctrl+Shift+Z take back and do again what was changed in the case, also in earlier runs.
A case has a code and never needs a name. Escape goes back to the fit.`

// steps are those of the case that is shown.
func (v *caseView) steps() (canUndo, canRedo bool) {
	return v.state.Case != nil && v.state.Case.Undo != "", v.state.Case != nil && v.state.Case.Redo != ""
}

func (v *caseView) undo() { v.do(casepage.Do{What: casepage.Undo}) }
func (v *caseView) redo() { v.do(casepage.Do{What: casepage.Redo}) }

// show brings the state on the page.
func (v *caseView) show() {
	s := &v.state
	v.quiet = true
	defer func() { v.quiet = false }()
	w := casepage.WordsView(s)
	mark := scanpage.Mark("")
	if w.Warn {
		mark = scanpage.Mark(fit.Unsure)
	}
	v.band.show(scanpage.Band{Mark: mark, Title: w.Title, Sentence: w.Notice, Progress: -1})
	v.list.show(s)
	setTyped(v.about, strings.TrimSpace(told(w.About)+"\n"+w.Remarks))
	setTyped(v.history, w.History)
	setButton(&v.undo1.Button, w.Undo+" (Ctrl+Z)")
	setButton(&v.redo1.Button, w.Redo)
	setEnabled(&v.undo1.Button, s.Not(casepage.Undo) == "")
	setEnabled(&v.redo1.Button, s.Not(casepage.Redo) == "")
	for d, b := range v.buttons {
		setEnabled(&b.Button, s.Not(d) == "")
	}
	title := "Lastroom"
	if s.On != "" {
		title += " · case " + s.OnCode
	}
	if v.win.win.Title() != title {
		v.win.win.SetTitle(title)
	}
	v.win.showMenus()
}

func (v *caseView) fresh() {
	v.do(casepage.Do{What: casepage.New, Text: v.code.Text})
	if v.state.Failure == "" {
		v.code.SetText("")
	}
}

// caseList is the list of cases.
type caseList struct {
	widget.List
	view  *caseView
	rows  []casebook.Entry
	quiet bool
}

func newCaseList(v *caseView) *caseList {
	l := &caseList{view: v}
	l.Length = func() int { return len(l.rows) }
	l.CreateItem = twoLines
	l.UpdateItem = func(i widget.ListItemID, o fyne.CanvasObject) {
		if i < len(l.rows) {
			e := l.rows[i]
			setTwoLines(o, e.Code, e.Changed.Local().Format("2006-01-02 15:04")+"  "+e.Summary)
		}
	}
	l.OnSelected = func(i widget.ListItemID) {
		if !l.quiet && i < len(l.rows) {
			v.do(casepage.Pick{ID: l.rows[i].ID})
		}
	}
	l.ExtendBaseWidget(l)
	return l
}

func (l *caseList) show(s *casepage.State) {
	l.rows = s.Rows
	l.quiet = true
	defer func() { l.quiet = false }()
	at := -1
	for i := range l.rows {
		if l.rows[i].ID == s.Picked {
			at = i
		}
	}
	l.UnselectAll()
	if at >= 0 {
		l.Select(at)
	}
	l.Refresh()
}

// TypedKey goes through the list and does what the keys stand for.
func (l *caseList) TypedKey(k *fyne.KeyEvent) {
	switch {
	case l.view.win.functionKey(k.Name):
	case k.Name == fyne.KeyReturn || k.Name == fyne.KeyEnter:
		l.view.do(casepage.Do{What: casepage.Take})
	case k.Name == fyne.KeyDown:
		l.view.do(casepage.PickBy{N: 1})
	case k.Name == fyne.KeyUp:
		l.view.do(casepage.PickBy{N: -1})
	case k.Name == fyne.KeyDelete:
		l.view.askDelete()
	default:
		l.List.TypedKey(k)
	}
}

// showCases turns to the page of cases.
func (w *Window) showCases() { w.pages.turnTo(w.cases) }

// takeUp puts on the desk where a case stands. A shoe that is not on the shelf as the case has it is tried as one in hand.
func (w *Window) takeUp(e casepage.TakeUp) {
	s := e.Stand
	id := s.Shoe.ID
	if here, err := w.state.Shoes.Find(id); err != nil || !sameShoe(here.Sheet, s.Shoe) {
		view, err := w.state.Shoes.With(s.Shoe)
		if err != nil {
			w.tell("Case "+e.Code, err.Error())
			return
		}
		sheet := s.Shoe
		w.inHand = &sheet
		w.do(desk.Shelved{Shoes: view})
		id = shelf.InHand
	}
	w.do(desk.TakeUp{ShoeID: id, Size: s.Shoe.Size, InsoleIn: !s.InsoleOut, Foot: s.Foot, Ordered: s.Ordered, Now: s.Now, Label: s.Label})
}

// sameShoe says whether a shoe of the shelf, in the size asked for, is the one of a case.
func sameShoe(here, of footwear.Sheet) bool {
	g, err := here.Graded(of.Size, footwear.GradeOptions{})
	return err == nil && g.M == of.M
}

// keepStand keeps what stands on the desk in the case that it works on.
func (w *Window) keepStand() {
	a := w.state.Shown
	if w.cases == nil || w.cases.state.On == "" || a == nil || a.Generation != w.state.Generation || a.Inputs.Scanned != nil {
		return
	}
	w.cases.do(casepage.Stands{Stand: casebook.Stand{
		Foot: a.Inputs.Foot, Shoe: a.Room.Sheet, InsoleOut: !a.Room.InsoleIn, Ordered: a.Inputs.Ordered, Now: a.Inputs.Device,
		Label: a.Inputs.PresetID, Result: a.Result,
	}})
}

// caseEndings are those of exchange files: zip archives, under an ending of their own that a double click can go by.
var caseEndings = []string{".lastroom", ".zip"}

func isCase(path string) bool {
	return slices.ContainsFunc(caseEndings, func(e string) bool { return strings.HasSuffix(strings.ToLower(path), e) })
}

// askCase takes in a file that was sent.
func (w *Window) askCase() {
	w.askFile("A case that was sent", caseEndings, w.Open)
}

// openCase takes a case in, or shows how it differs from the one that is here.
func (w *Window) openCase(path string) {
	w.pages.turnTo(w.cases)
	if w.cases.state.File == "" && w.cases.state.Failure == "" { // the casebook is being opened
		w.cases.waiting = path
		return
	}
	w.cases.do(casepage.Do{What: casepage.Import, Path: path, Text: w.cases.code.Text})
}

func (v *caseView) askExport() {
	if v.state.Case == nil || v.state.Not(casepage.Export) != "" {
		v.do(casepage.Do{What: casepage.Export}) // which says why not
		return
	}
	v.win.askSave("Send: write the case to a file", v.state.Case.Case.Code+caseEndings[0], func(path string) { v.export(path) })
}

// export writes the case; the dialog has made an empty file there, which gives way.
func (v *caseView) export(path string) {
	removeEmpty(path)
	v.do(casepage.Do{What: casepage.Export, Path: path})
}

func (v *caseView) askAttach() {
	if v.state.Not(casepage.Attach) != "" {
		v.do(casepage.Do{What: casepage.Attach})
		return
	}
	v.win.askFile("Attach a photograph, a scan or a paper", append(append(append([]string(nil), photoEndings...), scanEndings...), ".pdf"), func(path string) {
		v.do(casepage.Do{What: casepage.Attach, Path: path})
	})
}

func (v *caseView) askDelete() {
	if v.state.Case == nil || v.state.Not(casepage.Delete) != "" {
		v.do(casepage.Do{What: casepage.Delete})
		return
	}
	code := v.state.Case.Case.Code
	text := widget.NewLabel(fmt.Sprintf("Case %s is deleted for good, with its files and its history, from the backups too. Nothing brings it back. Files that were sent are not deleted.", code))
	text.Wrapping = fyne.TextWrapWord
	d := dialog.NewCustomConfirm("Delete case "+code, "Delete it", "Leave it", fixedWidth(text, 460), func(yes bool) {
		if yes {
			v.do(casepage.Do{What: casepage.Delete})
		}
	}, v.win.win)
	v.win.lay(d)
}

// askOutcome asks what came of the device that is on the desk.
func (v *caseView) askOutcome() {
	a := v.win.state.Shown
	if why := v.state.Not(casepage.Came); why != "" || a == nil || a.Result.Status != fit.Converged {
		v.do(casepage.Do{What: casepage.Came}) // which says why not
		return
	}
	form := newOutcomeForm(a.Result)
	d := dialog.NewForm("What came of it in the real shoe", "Keep it", "Leave it", form.items(), func(keep bool) {
		if !keep {
			return
		}
		o := a.Bench.NewOutcome("", time.Now(), a.Device, a.Result, v.win.state.Depth.Odds)
		if err := form.fill(&o); err != nil {
			v.win.tell("This is not kept", err.Error())
			return
		}
		v.do(casepage.Do{What: casepage.Came, Outcome: o})
	}, v.win.win)
	d.Resize(fyne.NewSize(620, 420))
	v.win.lay(d)
	v.win.win.Canvas().Focus(form.happened)
}

// askProposal shows side by side what differs, and asks whether it is accepted.
func (v *caseView) askProposal(p *casepage.Proposal) {
	var d *dialog.CustomDialog
	column := func(title string, s casepage.Standing) fyne.CanvasObject {
		box := container.NewVBox(heading(title))
		for _, t := range []string{s.Verdict, s.Tightest, s.Limits} {
			l := widget.NewLabel(told(t))
			l.Wrapping = fyne.TextWrapWord
			box.Add(l)
		}
		return box
	}
	lines := func(title string, list []string) fyne.CanvasObject {
		box := container.NewVBox(heading(title))
		for _, t := range list {
			l := widget.NewLabel(told("· " + t))
			l.Wrapping = fyne.TextWrapWord
			box.Add(l)
		}
		return box
	}
	kept := widget.NewLabel(told(p.Kept))
	kept.Wrapping = fyne.TextWrapWord
	body := container.NewVBox(
		container.NewGridWithColumns(2, column("As it is here", p.Here), column("As it is proposed", p.There)),
		kept, lines("What is changed on the device", p.Changes), lines("All that differs in the case", p.Differences),
	)
	accept := newKeyButton(v.win.functionKey, "Accept it: one step, which can be undone", func() { d.Hide(); v.do(casepage.Do{What: casepage.Accept}) })
	accept.Importance = widget.HighImportance
	leave := newKeyButton(v.win.functionKey, "Leave the case as it is", func() { d.Hide(); v.do(casepage.Decline{}) })
	scroll := container.NewVScroll(body)
	scroll.SetMinSize(fyne.NewSize(860, 480))
	d = dialog.NewCustomWithoutButtons("Case "+p.Code+" came back changed", container.NewBorder(nil, container.NewGridWithColumns(2, leave, accept), nil, nil, scroll), v.win.win)
	v.win.lay(d)
	v.win.win.Canvas().Focus(leave)
}
