package ui

import (
	"flag"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/ui/casepage"
	"lastroom/ui/desk"
)

var blows = flag.Int("blows", 400, "how many random actions a window is hammered with")

// A window is hammered with random actions: fields, keys, menus, pages, undo. It never panics, its state stays whole, dialogs don't pile
// up, and memory stays bounded. -blows 10000 is the long run.
func TestAHammeredWindowStaysWhole(t *testing.T) {
	w := openCases(t, t.TempDir())
	ask := w.ask
	asked := 0
	w.ask = func(q desk.Check) { // an answer takes long: only some are given, late ones too
		if asked++; asked%25 == 0 {
			ask(q)
		}
	}
	rng := rand.New(rand.NewPCG(4, 2))
	var keys []desk.FieldShow
	for _, g := range desk.FieldGroups(&w.state) {
		keys = append(keys, g.Fields...)
	}
	var deeds []func()
	for _, m := range w.menus.main.Items {
		for _, i := range m.Items {
			if i.Action != nil && !strings.Contains(i.Label, "Quit") && !strings.Contains(i.Label, "Open") && !strings.Contains(i.Label, "Smallest") && !strings.Contains(i.Label, "shelf") &&
				!strings.Contains(i.Label, "sent") && !strings.Contains(i.Label, "Sheet") && !strings.Contains(i.Label, "patient") && !strings.Contains(i.Label, "invented") {
				deeds = append(deeds, i.Action)
			}
		}
	}
	require.Greater(t, len(deeds), 20)
	functions := []fyne.KeyName{fyne.KeyF1, fyne.KeyF2, fyne.KeyF3, fyne.KeyF4, fyne.KeyF5, fyne.KeyF6, fyne.KeyF7, fyne.KeyF8, fyne.KeyEscape, fyne.KeyUp, fyne.KeyDown, fyne.KeyTab, fyne.KeyReturn}
	garbage := []string{"", "x", "-1", "1e309", "NaN", "42", "41,5", "8 1/2", strings.Repeat("9", 500), "ä→日本"}
	var before runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	for range *blows {
		f := keys[rng.IntN(len(keys))]
		switch rng.IntN(12) {
		case 0, 1:
			w.do(desk.Step{Key: f.Key, N: rng.IntN(41) - 20})
		case 2:
			w.do(desk.Enter{Key: f.Key, Text: garbage[rng.IntN(len(garbage))]})
		case 3:
			if len(f.Choices) > 0 {
				w.do(desk.Choose{Key: f.Key, Value: f.Choices[rng.IntN(len(f.Choices))].Value})
			}
		case 4:
			w.do(desk.Drag{Key: f.Key, Value: 200 * (rng.Float64() - 0.5)})
			w.do(desk.DragEnd{})
		case 5:
			w.undo()
		case 6:
			w.redo()
		case 7, 8:
			k := functions[rng.IntN(len(functions))]
			if foc := w.win.Canvas().Focused(); foc != nil {
				foc.TypedKey(&fyne.KeyEvent{Name: k})
			} else {
				w.functionKey(k)
			}
		case 9:
			w.win.Canvas().FocusNext()
			w.follow()
		case 10:
			deeds[rng.IntN(len(deeds))]()
		case 11:
			w.cases.do(casepage.Do{What: casepage.New, Text: garbage[rng.IntN(len(garbage))]})
			w.win.Resize(fyne.NewSize(400+1000*rng.Float32(), 300+700*rng.Float32()))
		}
		for len(w.open) > 3 {
			w.open[len(w.open)-1]()
		}
		require.LessOrEqual(t, w.state.Selected, 1000)
		if s := w.state.Shown; s != nil {
			require.LessOrEqual(t, s.Generation, w.state.Generation)
			require.Less(t, w.state.Selected, len(s.Result.Findings))
		}
	}
	for len(w.open) > 0 {
		w.open[len(w.open)-1]()
	}
	w.pages.turnTo(nil)
	w.ask = ask
	w.do(desk.TakeUp{ShoeID: "lace-dress", Size: desk.Demo().Size, InsoleIn: true, Ordered: desk.Demo().Ordered, Now: desk.Demo().Device})
	require.NotNil(t, w.state.Shown)
	assert.Equal(t, w.state.Generation, w.state.Shown.Generation, "it answers still")
	var after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&after)
	assert.Less(t, int64(after.HeapAlloc)-int64(before.HeapAlloc), int64(300<<20))
}
