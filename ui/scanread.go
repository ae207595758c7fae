package ui

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/ui/scanpage"
)

// readOff takes the measures of a scan where it lies.
func readOff(ctx context.Context, p scanpage.Placed, start device.Options) (*scanpage.Read, error) {
	if p.Purpose == scanpage.Device {
		return measureDevice(ctx, p, start)
	}
	a := alignment(p)
	m := a.Apply(p.Shape.Mesh)
	got, err := footwear.MeasureScan(ctx, m)
	if err != nil {
		return nil, err
	}
	out := &scanpage.Read{}
	for id := range footwear.NumMeasures {
		v, ok := got.M[id]
		if !ok {
			continue
		}
		info := id.Info()
		text := fmt.Sprintf("%.1f ± %.1f %s", v, got.PlusMinus[id], info.Unit)
		if info.Unit == "deg" {
			text = fmt.Sprintf("%.1f ± %.1f°", v, got.PlusMinus[id])
		}
		out.Figures = append(out.Figures, scanpage.Figure{Name: info.Name, Value: text, About: info.What})
	}
	if got.HeelWidthMM > 0 {
		out.Figures = append(out.Figures, scanpage.Figure{
			Name: "heel width", Value: fmt.Sprintf("%.1f mm", got.HeelWidthMM), About: "at the widest place of the heel, at its widest height",
		})
	}
	if got.OpenTop {
		out.Notes = append(out.Notes, "the shape is open over the heel")
	}
	out.Lengths = lengthsOf(m, got)
	return out, nil
}

// lengthsOf are the measures that the drawings show: drawn where the scan is so wide, written as they were read.
func lengthsOf(m *mesh.Mesh, got footwear.ScanReading) []drawing.Length {
	var out []drawing.Length
	last, ok := got.M[footwear.LastLength]
	if !ok {
		return nil
	}
	box := m.Bounds()
	back := box.Min.X
	across := func(share, v float64, word string) {
		if v == 0 {
			return
		}
		x := back + share*last
		lo, hi := r3.Vec{Y: math.Inf(1)}, r3.Vec{Y: math.Inf(-1)}
		for _, l := range m.Section(mesh.Plane{Point: r3.Vec{X: x}, Normal: r3.Vec{X: 1}}) {
			for _, q := range l.P {
				if q.Y < lo.Y {
					lo = q
				}
				if q.Y > hi.Y {
					hi = q
				}
			}
		}
		if lo.Y < hi.Y {
			z := (lo.Z + hi.Z) / 2
			out = append(out, drawing.Length{
				View: drawing.Above, A: r3.Vec{X: x, Y: lo.Y, Z: z}, B: r3.Vec{X: x, Y: hi.Y, Z: z}, Text: fmt.Sprintf("%s %.1f mm", word, v),
			})
		}
	}
	const seatShare, treadShare = 0.14, 0.70 // of the length: the heel's widest place, the tread line
	across(seatShare, got.HeelWidthMM, "heel")
	across(treadShare, got.M[footwear.BallWidth], "ball")
	low := box.Min.Z - 6
	out = append(out, drawing.Length{
		View: drawing.Side, A: r3.Vec{X: back, Z: low}, B: r3.Vec{X: back + last, Z: low}, Text: fmt.Sprintf("length %.1f mm", last),
	})
	return out
}
