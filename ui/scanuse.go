package ui

import (
	"context"
	"os"
	"path/filepath"
	"strings"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/internal/problem"
	"lastroom/ui/scanpage"
)

// makeOfScan makes the shoe or the device of a scan and has it tried from now on.
func (w *Window) makeOfScan(ctx context.Context, e scanpage.Make) (string, error) {
	if e.Purpose == scanpage.Device {
		return w.useDevice(e)
	}
	sheet, files, clear, err := shoeOfScan(ctx, e)
	if err != nil {
		return "", err
	}
	defer clear()
	return w.shelve(ctx, sheet, files)
}

// shoeOfScan is the sheet that is read off a scan, with the files that go beside it; clear deletes what is no more
// needed.
func shoeOfScan(ctx context.Context, e scanpage.Make) (sheet footwear.Sheet, files shelf.Files, clear func(), err error) {
	st := shelf.Standing{
		UnitMM: e.Shape.UnitMM, Side: e.Side, Body: footwear.ScanInside, InsideIn: e.Found.InsideIn,
		SockMM: e.Allow.SockMM, LiningMM: e.Allow.LiningMM, InsoleMM: e.Allow.InsoleMM,
	}
	if e.Purpose == scanpage.Last {
		st.Body = footwear.ScanLast
	}
	st.SetPose(e.Pose)
	name := strings.TrimSuffix(e.Shape.Name, filepath.Ext(e.Shape.Name))
	if sheet, _, err = st.TakeIn(ctx, e.Shape.Mesh, name); err != nil {
		return sheet, files, nil, inFile(err, e.Shape.Name)
	}
	f, err := os.CreateTemp("", "lastroom-standing-*.json")
	if err != nil {
		return sheet, files, nil, problem.Problem{Limit: "no file can be written aside: " + err.Error(), Mend: "make room on the disk"}
	}
	clear = func() { _ = os.Remove(f.Name()) }
	err = shelf.WriteStanding(f, st)
	if closing := f.Close(); err == nil {
		err = closing
	}
	if err != nil {
		clear()
		return sheet, files, nil, problem.Problem{File: f.Name(), Limit: "it can't be written: " + err.Error(), Mend: "make room on the disk"}
	}
	return sheet, shelf.Files{Scan: e.Shape.Path, Standing: f.Name()}, clear, nil
}
