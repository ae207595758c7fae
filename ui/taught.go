package ui

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/ui/desk"
)

// reliabilityBins is into how many the odds that were given are sorted.
const reliabilityBins = 5

// taughtWords say how the odds did, and what the outcomes teach about the give of walls.
func taughtWords(list []fit.Outcome, g fit.Gives) string {
	if len(list) == 0 {
		return "No outcome is kept yet: with none, nothing is learnt and nothing changes. Keep what came of a device with F4."
	}
	var lines []string
	lines = append(lines, fmt.Sprintf("%d outcomes in this casebook.", len(list)))
	for _, b := range fit.Reliability(list, reliabilityBins) {
		if b.Count > 0 {
			lines = append(lines, fmt.Sprintf("Odds of %.0f to %.0f %%: %d of %d devices went in (95 of 100: %.0f to %.0f %%).", 100*b.Lo, 100*b.Hi, b.Good, b.Count, 100*b.Least, 100*b.Most))
		}
	}
	if len(g.Factors) == 0 {
		return strings.Join(append(lines, "They teach nothing about the give of walls."), "\n")
	}
	lines = append(lines, "", "What they teach about the give of walls, against the sheets of the shoes (Bayes' rule, see the package fit):")
	for _, f := range g.Factors {
		lines = append(lines, fmt.Sprintf("%s, %s: × %.2f (90 of 100: %.2f to %.2f), from %d outcomes.", f.Wall, f.Closure, f.Factor, f.Lo, f.Hi, f.Outcomes))
	}
	return strings.Join(lines, "\n")
}

// showTaught shows how the odds did against what came of the devices, and offers what that teaches; taken over it is a step that can be
// taken back.
func (w *Window) showTaught(list []fit.Outcome) {
	g := fit.LearnGives(list)
	text := widget.NewLabel(taughtWords(list, g))
	text.Wrapping = fyne.TextWrapWord
	body := container.NewVBox(fixedWidth(text, 640))
	if len(list) > 0 {
		if img, err := drawing.RenderReliability(fit.Reliability(list, reliabilityBins), lookNow(), 1280, 560, 2); err == nil {
			pic := canvas.NewImageFromImage(img)
			pic.FillMode = canvas.ImageFillContain
			pic.SetMinSize(fyne.NewSize(640, 280))
			body.Add(pic)
		}
	}
	var d *dialog.CustomDialog
	use := newKeyButton(w.functionKey, "Use what they teach from now on", func() { d.Hide(); w.do(desk.Learn{Gives: &g}) })
	leave := newKeyButton(w.functionKey, "Use the gives of the sheets", func() { d.Hide(); w.do(desk.Learn{}) })
	setEnabled(&use.Button, len(g.Factors) > 0)
	setEnabled(&leave.Button, w.state.Learnt != nil)
	body.Add(container.NewGridWithColumns(2, leave, use))
	d = dialog.NewCustom("What the outcomes say and teach", "Close", body, w.win)
	w.lay(d)
	if len(g.Factors) > 0 {
		w.win.Canvas().Focus(use)
	}
}
