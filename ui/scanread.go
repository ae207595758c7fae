package ui

import (
	"context"
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit/drawing"
	"lastroom/ui/scanpage"
)

// readOff takes the measures of a scan where it lies.
func readOff(ctx context.Context, p scanpage.Placed, start device.Options) (*scanpage.Read, error) {
	if p.Purpose == scanpage.Device {
		return measureDevice(ctx, p, start)
	}
	a := alignment(p)
	m := a.Apply(p.Shape.Mesh)
	b := m.Bounds()
	text := fmt.Sprintf("%.1f mm", b.Max.X)
	low := b.Min.Z - 6
	return &scanpage.Read{
		Figures: []scanpage.Figure{{Name: "length", Value: text, About: "rearmost inside point to toe tip"}},
		Lengths: []drawing.Length{{View: drawing.Side, A: r3.Vec{Z: low}, B: r3.Vec{X: b.Max.X, Z: low}, Text: "length " + text}},
	}, nil
}
