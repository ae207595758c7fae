package ui

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"lastroom/device"
	"lastroom/fit"
	labsheet "lastroom/fit/sheet"
	"lastroom/internal/lengths"
	"lastroom/ui/desk"
)

// paperPreference is the paper that sheets are made for.
const paperPreference = "paper"

// sheetPaper is the paper of sheets.
func (w *Window) sheetPaper() labsheet.Paper {
	p, err := labsheet.ParsePaper(w.app.Preferences().StringWithFallback(paperPreference, "a4"))
	if err != nil {
		p, _ = labsheet.ParsePaper("a4")
	}
	return p
}

// askSheet writes the bench sheet of what stands on the desk: the order, or what is to be changed on it.
func (w *Window) askSheet() {
	a := w.state.Shown
	if a == nil || a.Generation != w.state.Generation {
		w.tell("Sheet for the lab", "There is no verdict yet: wait for it, or mend what is refused.")
		return
	}
	code := ""
	if w.cases != nil {
		code = w.cases.state.OnCode
	}
	name := "sheet.pdf"
	if code != "" {
		name = code + ".pdf"
	}
	w.askSave("Sheet for the lab: PDF, or .txt, .json", name, func(path string) { w.writeSheet(a, code, path) })
}

// writeSheet calculates and writes a sheet in the background, and says so.
func (w *Window) writeSheet(a *desk.Answer, code, path string) {
	paper, unit := w.sheetPaper(), w.state.Lengths
	w.aside(func() {
		pages, err := makeSheet(context.Background(), a, code, path, paper, unit)
		bridge(func() {
			if err != nil {
				w.tell("Sheet for the lab", err.Error())
				return
			}
			w.line("sheet written " + filepath.Base(path))
			w.tell("Sheet for the lab", fmt.Sprintf("%s was written. %s\n\n%s", path, pages, fit.Caution))
		})
	})
}

// makeSheet is the sheet of an answer.
func makeSheet(ctx context.Context, a *desk.Answer, code, path string, paper labsheet.Paper, u lengths.Unit) (told string, err error) {
	c := labsheet.Case{Code: code, Date: time.Now(), DeviceName: a.Inputs.PresetID, FromScan: a.Inputs.Scanned != nil, Foot: a.Inputs.Foot}
	if a.Inputs.Scanned != nil {
		c.DeviceName = a.Inputs.Scanned.Name
		if c.Before, err = labsheet.AsIs(ctx, a.Bench, a.Device, a.Device, a.Inputs.Foot, 0); err != nil {
			return "", err
		}
	} else {
		ordered, err := device.Build(a.Inputs.Ordered)
		if err != nil {
			return "", err
		}
		if c.Before, c.After, err = labsheet.Compare(ctx, a.Bench, ordered, a.Device, a.Inputs.Foot, 0); err != nil {
			return "", err
		}
	}
	s, err := labsheet.Of(c)
	if err != nil {
		return "", err
	}
	f, err := os.Create(path)
	if err != nil {
		return "", err
	}
	switch strings.ToLower(filepath.Ext(path)) {
	case ".txt":
		err = labsheet.WriteText(f, s, u)
	case ".json":
		err = labsheet.WriteJSON(f, s)
	default:
		err = labsheet.WritePDF(f, s, paper, u)
	}
	if closeErr := f.Close(); err == nil {
		err = closeErr
	}
	if err != nil {
		_ = os.Remove(path)
		return "", err
	}
	if c.After == nil {
		return "It is the order of the device as it stands on the desk.", nil
	}
	return fmt.Sprintf("It says what is to be changed on the device as ordered: %d things.", len(c.After.Changes)), nil
}
