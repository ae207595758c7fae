package ui

import (
	"context"

	"lastroom/internal/problem"
	"lastroom/ui/photopage"
	"lastroom/ui/scanpage"
)

// makeOfScan makes the room or the device of a scan and has it tried from now on.
func (w *Window) makeOfScan(_ context.Context, e scanpage.Make) (string, error) {
	return "", problem.Problem{File: e.Shape.Name, Limit: "this version does not make rooms or devices of scans yet"}
}

// fillText says which shoe's sheet is filled.
func (w *Window) fillText() string { return "Fill the sheet of the shoe in use" }

// fillSheet fills a sheet with what was read off a photo.
func (w *Window) fillSheet(_ context.Context, e photopage.Fill) (string, error) {
	return "", problem.Problem{File: e.Name, Limit: "this version does not fill sheets from photos yet"}
}
