package ui

import (
	"fmt"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/internal/problem"
	"lastroom/ui/desk"
	"lastroom/ui/measurepage"
	"lastroom/ui/shelfpage"
)

// What the window does with one's own shoes.

// lookAtShelf reads the shelf anew. It may be called from any goroutine; with is the shoe being measured, if it is tried.
func (w *Window) lookAtShelf(with *footwear.Sheet) (shelfpage.Shelved, error) {
	own, err := shelf.Open(w.shoesDir)
	if err != nil {
		return shelfpage.Shelved{}, err
	}
	seen := shelfpage.Shelved{Folder: own.Dir()}
	seen.Shoes, seen.Problems = own.View()
	if with != nil {
		if seen.Shoes, err = seen.Shoes.With(*with); err != nil {
			return seen, err
		}
	}
	seen.Last, seen.CanUndo = own.Last()
	return seen, nil
}

// took brings the shelf as it is now to the window, on its thread.
func (w *Window) took(seen shelfpage.Shelved, err error) {
	if err != nil {
		w.shoes.do(shelfpage.CouldNot{Err: err})
		return
	}
	w.do(desk.Shelved{Shoes: seen.Shoes})
	w.shoes.do(shelfpage.Using{ID: w.state.ShoeID})
	w.shoes.do(seen)
}

// refreshShelf reads the shelf in the background.
func (w *Window) refreshShelf() {
	with := w.inHand
	w.aside(func() {
		seen, err := w.lookAtShelf(with)
		bridge(func() { w.took(seen, err) })
	})
}

// putShoe saves a measured shoe. In the background.
func (w *Window) putShoe(e measurepage.Put) measurepage.Action {
	own, err := shelf.Open(w.shoesDir)
	if err != nil {
		return measurepage.CouldNot{Err: err}
	}
	var shoe shelf.Shoe
	if e.Stamp != 0 {
		shoe, err = own.Replace(e.Sheet, e.Stamp)
	} else {
		e.Sheet.ID = ""
		shoe, err = own.Add(e.Sheet, shelf.Files{})
	}
	if err != nil {
		return measurepage.CouldNot{Err: err}
	}
	seen, err := w.lookAtShelf(nil)
	bridge(func() {
		if w.state.ShoeID == shelf.InHand { // it is on the shelf now
			w.inHand = nil
			w.do(desk.Shelved{Shoes: seen.Shoes})
			w.do(desk.ChooseShoe{ID: shoe.Sheet.ID})
		}
		w.took(seen, err)
		w.line(fmt.Sprintf("shoe shelved id=%s scan=%t", shoe.Sheet.ID, shoe.Scan != ""))
	})
	return measurepage.WasSaved{Shoe: shoe, Draft: e.Draft}
}

// tryShoe has a measured shoe tried from now on, as it is. On the window's thread.
func (w *Window) tryShoe(e measurepage.Try) measurepage.Action {
	sheet := e.Sheet
	if shelf.Own(sheet.ID) {
		if now, err := w.state.Shoes.Find(sheet.ID); err == nil && now.Sheet.M == sheet.M {
			w.do(desk.ChooseShoe{ID: sheet.ID})
			return measurepage.WasUsed{Text: sheet.Name + " is the shoe in use now. Go back to the fit to see it."}
		}
	}
	view, err := w.state.Shoes.With(sheet)
	if err != nil {
		return measurepage.CouldNot{Err: err}
	}
	w.inHand = &sheet
	w.do(desk.Shelved{Shoes: view})
	w.do(desk.ChooseShoe{ID: shelf.InHand})
	w.line("shoe in hand is used")
	return measurepage.WasUsed{Text: sheet.Name + " is the shoe in use now, though it is not saved. Go back to the fit to see it."}
}

// shelfJob does what the page of shoes asks for.
func (w *Window) shelfJob(j shelfpage.Job) {
	switch j.Do {
	case shelfpage.Use:
		w.do(desk.ChooseShoe{ID: j.ID})
		w.shoes.do(shelfpage.Using{ID: w.state.ShoeID})
		w.pages.turnTo(nil)
	case shelfpage.Edit:
		shoe, err := w.state.Shoes.Find(j.ID)
		if err != nil {
			w.shoes.do(shelfpage.CouldNot{Err: err})
			return
		}
		w.measures.edit(shoe)
	default:
		with := w.inHand
		w.aside(func() {
			did, err := w.onShelf(j)
			seen, lookErr := w.lookAtShelf(with)
			bridge(func() {
				w.took(seen, lookErr)
				if err != nil {
					w.shoes.do(shelfpage.CouldNot{Err: err})
					return
				}
				w.shoes.do(did)
				w.line(fmt.Sprintf("shelf %s id=%s", j.Do, did.ID))
			})
		})
	}
}

// onShelf does a job on the shelf. In the background.
func (w *Window) onShelf(j shelfpage.Job) (shelfpage.Did, error) {
	own, err := shelf.Open(w.shoesDir)
	if err != nil {
		return shelfpage.Did{}, err
	}
	added := func(how string, shoe shelf.Shoe, err error) (shelfpage.Did, error) {
		return shelfpage.Did{Text: fmt.Sprintf("%s %s, %s.", how, shoe.Sheet.Name, shoe.Sheet.Size), ID: shoe.Sheet.ID}, err
	}
	switch j.Do {
	case shelfpage.Copy:
		shoe, err := own.Copy(j.ID)
		return added("Made", shoe, err)
	case shelfpage.Grade:
		shoe, err := own.Graded(j.ID, j.Size, footwear.GradeOptions{})
		return added("Made", shoe, err)
	case shelfpage.ImportFile:
		shoe, err := own.Import(j.Path)
		return added("Took in", shoe, err)
	case shelfpage.ExportFile:
		names, err := own.Export(j.ID, j.Path, true)
		if err != nil {
			return shelfpage.Did{}, err
		}
		return shelfpage.Did{Text: "Written: " + joined(names)}, nil
	case shelfpage.Delete:
		shoe, _ := own.Find(j.ID) // a bad one can be deleted too
		return shelfpage.Did{Text: fmt.Sprintf("%s is deleted; it can be brought back.", shoe.Sheet.Name)}, own.Delete(j.ID)
	case shelfpage.Undo:
		step, err := own.Undo()
		return shelfpage.Did{Text: fmt.Sprintf("%s is as it was before it was %s.", step.Name, map[string]string{"deleted": "deleted", "replaced": "changed"}[step.What]), ID: step.ID}, err
	}
	return shelfpage.Did{}, problem.Problem{Field: string(j.Do), Limit: "nothing that a shelf does", Mend: "choose something else"}
}

func joined(names []string) string {
	text := ""
	for i, n := range names {
		if i > 0 {
			text += ", "
		}
		text += n
	}
	return text
}

// showShoes turns to the page of shoes; showMeasures to the page on which one is measured.
func (w *Window) showShoes() { w.pages.turnTo(w.shoes) }

func (w *Window) showMeasures() { w.pages.turnTo(w.measures) }

// onMeasures does something on the page where a shoe is measured, when that is the page that is shown.
func (w *Window) onMeasures(a measurepage.Action) {
	if w.pages.over == w.measures {
		w.measures.commit()
		w.measures.do(a)
		if _, save := a.(measurepage.Save); save && w.measures.state.Draft.Name == "" {
			w.win.Canvas().Focus(w.measures.name) // it is what is lacking
		}
	}
}

// askImport takes in a shoe's file.
func (w *Window) askImport() {
	w.askFile("A shoe's JSON file", []string{".json"}, func(path string) { w.shoes.do(shelfpage.Import{Path: path}) })
}

// askExport asks where to write the chosen shoe.
func (w *Window) askExport() {
	if why := w.shoes.state.Not(shelfpage.ExportFile); why != "" {
		w.shoes.do(shelfpage.Export{}) // which says why not
		return
	}
	w.askSave("Export", w.shoes.state.Chosen+".json", func(path string) { w.shoes.do(shelfpage.Export{Path: path}) })
}
