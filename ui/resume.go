package ui

import (
	"bytes"
	"fmt"
	"io"
	"sync"
	"sync/atomic"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/ui/desk"
	"lastroom/ui/measurepage"
)

// What of the work is kept for the next start, beside one's own shoes: the shoe that is being measured, as values come in,
// and the scanned device in use.

// keeper writes one thing in the background: of several wishes only the newest, one at a time.
type keeper struct {
	writing sync.Mutex
	next    atomic.Pointer[func(*shelf.Shelf) error]
}

// put has a wish written by and by, unless a newer one comes before.
func (k *keeper) put(w *Window, write func(*shelf.Shelf) error) {
	if w.kept.off {
		return
	}
	k.next.Store(&write)
	w.aside(func() {
		if err := k.flush(w.shoesDir); err != nil {
			bridge(func() { w.notKept(err) })
		}
	})
}

// flush writes what waits.
func (k *keeper) flush(dir string) error {
	k.writing.Lock()
	defer k.writing.Unlock()
	write := k.next.Swap(nil)
	if write == nil {
		return nil
	}
	own, err := shelf.Open(dir)
	if err != nil {
		return err
	}
	return (*write)(own)
}

// notKept tells once that nothing is kept; the work goes on.
func (w *Window) notKept(err error) {
	w.line(fmt.Sprintf("not kept: %v", err))
	if !w.kept.told {
		w.kept.told = true
		w.tell("This is not kept for the next start", err.Error())
	}
}

// kept is what is kept for the next start.
type kept struct {
	draft, device keeper
	told          bool
	held          io.Closer // what is kept is this program's alone
	off           bool      // another program has it: nothing is kept
}

// keepDraft keeps the shoe that is being measured.
func (w *Window) keepDraft(d shelf.Draft) {
	w.kept.draft.put(w, func(s *shelf.Shelf) error { return s.KeepDraft(d) })
}

// forgetDraft keeps none any more.
func (w *Window) forgetDraft() { w.kept.draft.put(w, (*shelf.Shelf).ForgetDraft) }

const keptDevice = "device.json.gz"

// keepDevice keeps the scanned device in use; nil: none any more.
func (w *Window) keepDevice(d *desk.ScannedDevice) {
	w.kept.device.put(w, func(s *shelf.Shelf) error {
		if d == nil {
			return s.Forget(keptDevice)
		}
		var b bytes.Buffer
		if err := device.WriteScanned(&b, d.Name, d.Device); err != nil {
			return err
		}
		return s.Keep(keptDevice, &b)
	})
}

// stopped takes over what is being typed, and writes what is not written yet, before the program ends.
func (w *Window) stopped() {
	w.leave()
	if w.measures != nil {
		w.measures.commit()
	}
	for _, k := range []*keeper{&w.kept.draft, &w.kept.device} {
		if err := k.flush(w.shoesDir); err != nil {
			w.line(fmt.Sprintf("not kept: %v", err))
		}
	}
	if w.caseWork != nil {
		w.caseWork.close()
	}
	if w.kept.held != nil {
		_ = w.kept.held.Close()
		w.kept.held = nil
	}
}

// left is what the last run left.
type left struct {
	held   io.Closer
	other  bool // another program has it
	draft  *shelf.Draft
	device *desk.ScannedDevice
	errs   []error
}

// lookForLeft reads what the last run left. It may be called from any goroutine.
func (w *Window) lookForLeft() left {
	own, err := shelf.Open(w.shoesDir)
	if err != nil {
		return left{errs: []error{err}}
	}
	var l left
	if l.held, err = own.Hold(); err != nil {
		l.errs = append(l.errs, err)
	} else if l.held == nil {
		return left{other: true}
	}
	if d, ok, err := own.Draft(); err != nil {
		l.errs = append(l.errs, err)
	} else if ok {
		l.draft = &d
	}
	r, err := own.Kept(keptDevice)
	if err != nil {
		l.errs = append(l.errs, err)
	}
	if r == nil {
		return l
	}
	defer func() { _ = r.Close() }()
	name, d, err := device.ReadScanned(r, own.Dir()+": "+keptDevice)
	if err != nil {
		l.errs = append(l.errs, err)
		return l
	}
	l.device = &desk.ScannedDevice{Name: name, Device: d}
	return l
}

// resume offers what the last run left.
func (w *Window) resume() {
	w.aside(func() {
		l := w.lookForLeft()
		bridge(func() { w.offer(l) })
	})
}

// offer takes up the draft, and asks what to go on with.
func (w *Window) offer(l left) {
	w.kept.held, w.kept.off = l.held, l.other
	if l.other {
		w.line("kept by another window")
		w.tell("Another Lastroom is open", "What you measure or scan in this window is not kept for the next start unless you put it on your shelf: "+
			"the other window keeps its own.")
	}
	for _, err := range l.errs {
		w.line(fmt.Sprintf("not taken up: %v", err))
		w.tell("Something of the last run can't be taken up", err.Error())
	}
	if l.draft == nil && l.device == nil {
		return
	}
	var d *dialog.CustomDialog
	body := container.NewVBox()
	var choices []fyne.Focusable
	choice := func(text string, do func()) *keyButton {
		b := newKeyButton(w.functionKey, text, func() { d.Hide(); do() })
		choices = append(choices, b)
		return b
	}
	say := func(text string) {
		l := widget.NewLabel(text)
		l.Wrapping = fyne.TextWrapWord
		body.Add(fixedWidth(l, 460))
	}
	if l.draft != nil {
		w.measures.do(measurepage.Resume{Draft: *l.draft})
		say(draftWords(&l.draft.Sheet))
		body.Add(choice("Go on measuring", w.showMeasures))
	}
	if l.device != nil {
		say("The scanned device " + l.device.Name + " was in use.")
		body.Add(container.NewGridWithColumns(2,
			choice("Use it again", func() { w.do(desk.UseScanned{Device: l.device}) }),
			choice("Forget it", func() { w.keepDevice(nil) })))
	}
	d = dialog.NewCustom("From the last run", "Later", body, w.win)
	w.lay(d)
	w.line(fmt.Sprintf("offered draft=%t device=%t", l.draft != nil, l.device != nil))
	w.win.Canvas().Focus(choices[0])
}

// draftWords say which shoe was being measured.
func draftWords(s *footwear.Sheet) string {
	taken := 0
	for id := range footwear.NumMeasures {
		if s.Taken(id) {
			taken++
		}
	}
	name := s.Name
	if name == "" {
		name = "A shoe without a name"
	}
	text := fmt.Sprintf("%s (%s, %s) is measured in part and not saved: %d measures taken.", name, s.Kind, s.Size, taken)
	if taken == 1 {
		text = text[:len(text)-len("measures taken.")] + "measure taken."
	}
	return text
}
