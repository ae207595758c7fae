package ui

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/internal/problem"
	"lastroom/ui/desk"
	"lastroom/ui/photopage"
)

// shelve puts a shoe on the shelf and has it tried from now on.
func (w *Window) shelve(ctx context.Context, sheet footwear.Sheet, files shelf.Files) (string, error) {
	own, err := shelf.Open(w.shoesDir)
	if err != nil {
		return "", err
	}
	if err := ctx.Err(); err != nil {
		return "", err
	}
	shoe, err := own.Add(sheet, files)
	if err != nil {
		return "", err
	}
	view, _ := own.View()
	bridge(func() {
		w.do(desk.Shelved{Shoes: view})
		w.do(desk.ChooseShoe{ID: shoe.Sheet.ID, OwnSize: true})
		w.line(fmt.Sprintf("shoe shelved id=%s scan=%t", shoe.Sheet.ID, shoe.Scan != ""))
		w.shelfChanged()
	})
	return fmt.Sprintf("%s, %s, stands on your shelf now and is the shoe in use. Go back to the fit to see it.", shoe.Sheet.Name, shoe.Sheet.Size), nil
}

// shelfChanged has the page of one's own shoes look again.
func (w *Window) shelfChanged() {
	if w.shoes != nil {
		w.refreshShelf()
	}
}

// shoeInUse is the shoe that is chosen, for the photo's page.
func (w *Window) shoeInUse() (shelf.Shoe, error) { return w.state.Shoes.Find(w.state.ShoeID) }

// fillText says which shoe's sheet is filled.
func (w *Window) fillText() string {
	shoe, err := w.shoeInUse()
	if err != nil {
		return "Fill the sheet of the shoe in use"
	}
	if !shelf.Own(shoe.Sheet.ID) {
		return "Fill a copy of " + shoe.Sheet.Name
	}
	return "Fill the sheet of " + shoe.Sheet.Name
}

// A fillBase is the shoe that was in use when a photo's measures were asked to be filled in.
type fillBase struct {
	shoe shelf.Shoe
	size footwear.Size
}

// fillSheet fills a sheet with what was read off a photo, and has the shoe tried from now on.
func (w *Window) fillSheet(ctx context.Context, e photopage.Fill, base fillBase) (string, error) {
	if e.New {
		sheet, err := newTraced(e, base.shoe.Sheet.Kind)
		if err != nil {
			return "", err
		}
		return w.shelve(ctx, sheet, shelf.Files{})
	}
	sheet, err := filled(base, e.Changes)
	if err != nil {
		return "", err
	}
	if !shelf.Own(sheet.ID) {
		sheet.Name += " (traced)"
		sheet.ID = ""
		return w.shelve(ctx, sheet, shelf.Files{})
	}
	own, err := shelf.Open(w.shoesDir)
	if err != nil {
		return "", err
	}
	shoe, err := own.Replace(sheet, base.shoe.Stamp)
	if err != nil {
		return "", err
	}
	view, _ := own.View()
	bridge(func() {
		w.do(desk.Shelved{Shoes: view})
		w.shelfChanged()
	})
	return fmt.Sprintf("%d measures of %s are those of the photo now.", len(e.Changes), shoe.Sheet.Name), nil
}

// filled is the sheet of a shoe in its size, with some measures put in.
func filled(base fillBase, changes []photopage.Change) (footwear.Sheet, error) {
	sheet := base.shoe.Sheet
	if base.size != sheet.Size {
		if shelf.Own(sheet.ID) {
			return sheet, problem.Problem{
				File: sheet.Name, Field: "size", Value: base.size.String(), Limit: "its sheet is of " + sheet.Size.String(),
				Mend: "go back to that size, or make a new shoe with what was traced",
			}
		}
		var err error
		if sheet, err = sheet.Graded(base.size, footwear.GradeOptions{}); err != nil {
			return sheet, err
		}
	}
	for _, c := range changes {
		sheet.M[c.ID] = c.M
	}
	return sheet, sheet.Validate().In(sheet.Name).Err()
}

// newTraced is a sheet of a kind of shoe of which no more is known than what was traced.
func newTraced(e photopage.Fill, kind string) (footwear.Sheet, error) {
	name := strings.TrimSuffix(e.Name, filepath.Ext(e.Name))
	const parisPointMM = 20.0 / 3
	sheet := footwear.Sheet{Name: name, Kind: kind}
	for _, c := range e.Changes {
		sheet.M[c.ID] = c.M
		if c.ID == footwear.LastLength {
			sheet.Size = footwear.Size{System: footwear.EU, Value: math.Round(2*c.M.Value/parisPointMM) / 2}
		}
	}
	sheet, _, err := footwear.FillIn(sheet)
	return sheet, err
}
