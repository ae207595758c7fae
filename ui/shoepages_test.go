package ui

import (
	"bytes"
	"context"
	"image"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/ui/desk"
	"lastroom/ui/measurepage"
	"lastroom/ui/shelfpage"
)

// openShoes makes the window with its pages of shoes, and all work done at once on the test's goroutine. Which measure
// matters most is not looked for, and pictures are only counted.
func openShoes(t *testing.T) (*Window, *bytes.Buffer, *int) {
	t.Helper()
	w, log := open(t)
	pictures := new(int)
	want := func(wish takingWish) {
		*pictures++
		wish.done(image.NewRGBA(image.Rect(0, 0, wish.width, wish.height)))
	}
	w.measures = newMeasureView(w, want, func(e measurepage.Effect) {
		switch e := e.(type) {
		case measurepage.Build:
			w.measures.do(measurepage.Built{Made: e.Work()})
		case measurepage.Rank:
			w.measures.do(measurepage.Ranked{Advice: measurepage.Advice{Generation: e.Generation, ID: footwear.HeelRise, MM: 4}})
		case measurepage.Put:
			w.measures.do(w.putShoe(e))
		case measurepage.Try:
			w.measures.do(w.tryShoe(e))
		case measurepage.Keep:
			w.keepDraft(e.Draft)
		case measurepage.Forget:
			w.forgetDraft()
		}
	})
	w.shoes = newShelfView(w, want, w.shelfJob, func(shoe shelf.Shoe) {
		room, err := shoe.Room(context.Background(), shoe.Sheet.Size, false)
		require.NoError(t, err)
		w.shoes.showRoom(shoe.Sheet.ID, room)
	})
	w.refreshShelf()
	return w, log, pictures
}

// shortcut presses a shortcut of the menu.
func (w *Window) shortcut(t *testing.T, k fyne.KeyName, mod fyne.KeyModifier) {
	t.Helper()
	for _, m := range w.menus.main.Items {
		for _, i := range m.Items {
			if s, ok := i.Shortcut.(*desktop.CustomShortcut); ok && s.KeyName == k && s.Modifier == mod {
				require.False(t, i.Disabled, i.Label)
				i.Action()
				return
			}
		}
	}
	t.Fatalf("no shortcut %s", k)
}

// typeIn types into what has the focus, and presses Return.
func (w *Window) typeIn(t *testing.T, text string) {
	t.Helper()
	f := w.win.Canvas().Focused()
	require.NotNil(t, f)
	for _, r := range text {
		f.TypedRune(r)
	}
	press(f, fyne.KeyReturn)
}

func TestAShoeIsMeasuredByKeyboardAndUsedAndSaved(t *testing.T) {
	w, log, pictures := openShoes(t)
	w.shortcut(t, fyne.KeyM, ctrl)
	v := w.measures
	require.Equal(t, page(v), w.pages.over)
	assert.Equal(t, w.state.Size, v.state.Draft.Size, "it begins in the size that is in use")
	assert.Positive(t, *pictures)
	require.Equal(t, v.rows[footwear.LastLength].field.entry, w.win.Canvas().Focused())
	assert.Contains(t, v.where.Text, "rearmost inside point")

	room := v.state.Shown.Room
	w.typeIn(t, "281")
	assert.NotSame(t, room, v.state.Shown.Room, "the room follows")
	assert.Equal(t, v.rows[footwear.BallWidth].field.entry, w.win.Canvas().Focused(), "Return goes on to the next")
	assert.Contains(t, v.title.Text, "Ball width")
	w.typeIn(t, "97")
	w.typeIn(t, "95")
	r := v.rows[footwear.SeatWidth]
	assert.Contains(t, r.about.Text, "contradicts")
	assert.True(t, r.field.problem.Visible())
	assert.Contains(t, r.field.problem.text.Text, "50 to 95 % of ball width")
	assert.Equal(t, desk.BlockedMark, v.band.mark.is)
	assert.True(t, v.use.Disabled())
	assert.True(t, v.panes[0].stale, "the drawings are those of the last room")

	press(w.win.Canvas().Focused(), fyne.KeyF5)
	assert.Equal(t, r.field.entry, w.win.Canvas().Focused())
	r.field.entry.SetText("")
	w.typeIn(t, "81")
	assert.Contains(t, r.about.Text, "unusual")
	press(w.win.Canvas().Focused(), fyne.KeyF5)
	assert.True(t, v.reason.Visible(), "a reason is asked for")
	r.field.entry.SetText("")
	w.typeIn(t, "66")
	assert.Contains(t, r.about.Text, "measured")
	assert.False(t, r.field.problem.Visible())

	before := verdicts(log)
	w.shortcut(t, fyne.KeyU, ctrl)
	assert.Equal(t, shelf.InHand, w.state.ShoeID)
	assert.Equal(t, before+1, verdicts(log), "the measured shoe is judged")
	assert.InDelta(t, 66, w.state.Shown.Room.Sheet.V(footwear.SeatWidth), 0)

	w.shortcut(t, fyne.KeyS, ctrl)
	assert.Contains(t, v.band.sentence.Text, "no name")
	assert.Equal(t, v.name, w.win.Canvas().Focused())
	w.typeIn(t, "Old walker")
	w.shortcut(t, fyne.KeyS, ctrl)
	assert.Contains(t, v.band.sentence.Text, "on your shelf")
	assert.Equal(t, "my-old-walker", w.state.ShoeID, "what was in hand is the shelf's now")
	assert.Contains(t, log.String(), "shoe shelved id=my-old-walker")
	s, err := shelf.Open(w.shoesDir)
	require.NoError(t, err)
	shoe, err := s.Find("my-old-walker")
	require.NoError(t, err)
	assert.InDelta(t, 281, shoe.Sheet.V(footwear.LastLength), 0)
	assert.True(t, shoe.Sheet.M[footwear.WaistWidth].Assumed)

	press(v.name, fyne.KeyEscape)
	assert.Nil(t, w.pages.over, "Escape goes back to the fit")
	found := desk.ShoesView(&w.state)
	assert.Equal(t, "my-old-walker", found[0].ID, "one's own come first")
	w.shortcut(t, fyne.KeyM, ctrl)
	assert.Equal(t, "Old walker", v.state.Draft.Name, "the page is as it was left")
}

func TestTheListOfMeasures(t *testing.T) {
	w, _, _ := openShoes(t)
	w.showMeasures()
	v := w.measures
	assert.False(t, v.rows[footwear.GiveVamp].all.Visible())
	press(w.win.Canvas().Focused(), fyne.KeyF6)
	assert.True(t, v.rows[footwear.GiveVamp].all.Visible())
	assert.True(t, v.every.Checked)
	test.Tap(v.every)
	assert.False(t, v.state.All)
	press(w.win.Canvas().Focused(), fyne.KeyF8)
	assert.Equal(t, v.rows[footwear.HeelRise].field.entry, w.win.Canvas().Focused(), "the one most worth taking")
	press(w.win.Canvas().Focused(), fyne.KeyUp)
	assert.Contains(t, v.rows[footwear.HeelRise].about.Text, "measured", "a step takes the assumed value up")
	e := v.rows[footwear.HeelRise].field.entry
	e.SetText("high")
	press(e, fyne.KeyReturn)
	assert.Contains(t, v.rows[footwear.HeelRise].about.Text, "not taken over")
	assert.Equal(t, "high", e.Text)
	v.words[measurepage.KindKey].pick.SetSelected("court shoe")
	assert.Equal(t, "court shoe", v.state.Draft.Kind)
	w.measures.turned() // again
	for _, id := range v.state.List() {
		r := v.rows[id]
		assert.NotEmpty(t, r.about.Text)
	}
}

func TestShoesAreCopiedDeletedBroughtBackAndUsed(t *testing.T) {
	w, log, pictures := openShoes(t)
	w.shortcut(t, fyne.KeyL, ctrl)
	v := w.shoes
	require.Equal(t, page(v), w.pages.over)
	assert.Contains(t, v.band.sentence.Text, "No shoes of your own yet")
	list := w.win.Canvas().Focused()
	require.Equal(t, v.list, list)
	press(list, fyne.KeyF6)
	require.Len(t, v.list.rows, len(footwear.Demo().All()))
	v.search.SetText("clog")
	require.Equal(t, "work-clog", v.list.rows[0].ID)
	assert.True(t, v.buttons[shelfpage.Edit].Disabled(), "the program's shoes are not edited")
	list.TypedRune('c')
	assert.Equal(t, "my-work-clog", v.state.Chosen)
	assert.Contains(t, v.band.sentence.Text, "Made Copy of")
	assert.Contains(t, v.about.Text, "32 measures taken")
	assert.Positive(t, *pictures)
	list.TypedRune('c')
	assert.Equal(t, "my-work-clog-2", v.state.Chosen)
	press(list, fyne.KeyDelete)
	assert.Contains(t, v.buttons[shelfpage.Undo].Text, "Bring back")
	s, err := shelf.Open(w.shoesDir)
	require.NoError(t, err)
	own, _ := s.View()
	assert.Len(t, own.Own(), 1)
	desks := w.state.Inputs
	w.undo()
	own, _ = s.View()
	assert.Len(t, own.Own(), 2)
	assert.Equal(t, desks, w.state.Inputs, "undo here is the shelf's")
	assert.Contains(t, log.String(), "shelf undo id=my-work-clog-2")

	v.size.SetText("EU 44")
	press(v.size, fyne.KeyReturn)
	assert.Equal(t, "my-work-clog-3", v.state.Chosen, v.state.Fault)
	assert.Contains(t, v.about.Text, "Graded from EU 42")
	v.size.SetText("huge")
	test.Tap(v.buttons[shelfpage.Grade])
	assert.Equal(t, desk.BlockedMark, v.band.mark.is)

	out := filepath.Join(t.TempDir(), "out.json")
	v.do(shelfpage.Export{Path: out})
	assert.FileExists(t, out)
	v.do(shelfpage.Import{Path: out})
	assert.Equal(t, "my-work-clog-4", v.state.Chosen, v.state.Fault)
	require.NoError(t, os.WriteFile(out, []byte("{"), 0o600))
	v.do(shelfpage.Import{Path: out})
	assert.Contains(t, v.band.sentence.Text, out)

	v.do(shelfpage.Search{Text: ""})
	v.do(shelfpage.Choose{ID: "my-work-clog"})
	press(list, fyne.KeyDown)
	assert.NotEqual(t, "my-work-clog", v.state.Chosen)
	press(list, fyne.KeyUp)
	before := verdicts(log)
	press(list, fyne.KeyReturn)
	assert.Equal(t, "my-work-clog", w.state.ShoeID)
	assert.Nil(t, w.pages.over)
	assert.Equal(t, before+1, verdicts(log))
}

func TestAnEditedShoeInUseIsJudgedAnew(t *testing.T) {
	w, log, _ := openShoes(t)
	s, err := shelf.Open(w.shoesDir)
	require.NoError(t, err)
	shoe, err := s.Copy("lace-dress")
	require.NoError(t, err)
	w.refreshShelf()
	w.do(desk.ChooseShoe{ID: shoe.Sheet.ID})
	w.showShoes()
	w.shoes.do(shelfpage.Choose{ID: shoe.Sheet.ID})
	w.win.Canvas().Focused().TypedRune('e')
	require.Equal(t, page(w.measures), w.pages.over)
	e := w.measures.rows[footwear.SeatWidth].field.entry
	assert.Equal(t, "62.0", e.Text)
	w.win.Canvas().Focus(e)
	e.SetText("63")
	before := verdicts(log)
	w.shortcut(t, fyne.KeyS, ctrl)
	assert.Equal(t, before+1, verdicts(log), strings.TrimSpace(w.measures.band.sentence.Text))
	assert.InDelta(t, 63, w.state.Shown.Room.Sheet.V(footwear.SeatWidth), 0)

	// Changed by someone else meanwhile: nothing is written over.
	theirs, err := s.Find(shoe.Sheet.ID)
	require.NoError(t, err)
	theirs.Sheet.Note = "theirs"
	_, err = s.Replace(theirs.Sheet, theirs.Stamp)
	require.NoError(t, err)
	e.SetText("64")
	w.shortcut(t, fyne.KeyS, ctrl)
	assert.Contains(t, w.measures.band.sentence.Text, "changed by another program")

	// What is not saved is not given up without asking.
	w.showShoes()
	w.shoes.do(shelfpage.Do{What: shelfpage.Edit})
	assert.Len(t, w.open, 1, "it is asked first")
	assert.Equal(t, "64.0", e.Text)
	assert.True(t, w.functionKey(fyne.KeyEscape))
	assert.Equal(t, page(w.shoes), w.pages.over)
}

func TestNewestKeepsTheNewestWishOnly(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	begun, let, done := make(chan int), make(chan bool), make(chan bool)
	n := newNewest(ctx, func(ctx context.Context, wish int) {
		begun <- wish
		<-let
		done <- ctx.Err() != nil
	})
	n.put(1)
	require.Equal(t, 1, <-begun)
	n.put(2)
	n.put(3)
	let <- true
	assert.True(t, <-done, "the first was overtaken")
	assert.Equal(t, 3, <-begun, "the second is never begun")
	let <- true
	assert.False(t, <-done)
}
