package ui

import (
	"context"

	"lastroom/internal/problem"
	"lastroom/ui/scanpage"
)

// makeOfScan makes the shoe or the device of a scan and has it tried from now on.
func (w *Window) makeOfScan(_ context.Context, e scanpage.Make) (string, error) {
	if e.Purpose == scanpage.Device {
		return w.useDevice(e)
	}
	return "", problem.Problem{File: e.Shape.Name, Limit: "this version does not make rooms of scans yet"}
}
