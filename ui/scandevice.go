package ui

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/ui/desk"
	"lastroom/ui/scanpage"
)

// readDevice reads a device off its scan; start has what a scan can't tell.
func readDevice(ctx context.Context, s *scanpage.Shape, o device.ScanOptions) (scanpage.Found, error) {
	d, rep, err := device.FromScan(ctx, s.Mesh, o)
	if err != nil {
		return scanpage.Found{}, inFile(err, s.Name)
	}
	f := scanpage.Found{Pose: rep.From, Side: footwear.RightSide, LengthMM: d.FrontXMM, NoiseMM: rep.NoiseMM, Read: &scanpage.Read{
		Device: d, Skin: skinOf(d.Rigid, rep), Notes: rep.Notes, Lengths: deviceLengths(d),
	}}
	if rep.Side == device.Left {
		f.Side = footwear.LeftSide
	}
	if !rep.SideSure {
		f.Side, f.SideWhy = footwear.SideUnknown, "neither arch nor front edge tells"
	}
	for _, m := range rep.Measures {
		unit := " " + m.Unit
		if m.Unit == "deg" || m.Unit == "°" {
			unit = "°"
		}
		value := fmt.Sprintf("%.1f%s, assumed", m.Value, unit)
		if m.Measured {
			value = fmt.Sprintf("%.1f ± %.1f%s", m.Value, m.PlusMinus, unit)
		}
		f.Read.Figures = append(f.Read.Figures, scanpage.Figure{Name: lowerName(m.Name), Value: value, About: m.Note})
	}
	return f, nil
}

func lowerName(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// skinOf is a device's surface where it lay in its scan.
func skinOf(m *mesh.Mesh, rep device.ScanReport) *mesh.Mesh {
	scanFromDevice := rep.From.Inverse()
	out := &mesh.Mesh{V: make([]r3.Vec, len(m.V)), F: m.F, Tag: m.Tag}
	for i, v := range m.V {
		if rep.Side == device.Left {
			v.Y = -v.Y
		}
		out.V[i] = scanFromDevice.Apply(v)
	}
	return out
}

// deviceLengths are the sizes that the drawings show.
func deviceLengths(d *device.Device) []drawing.Length {
	low := d.Rigid.Bounds().Min.Z - 5
	out := []drawing.Length{{
		View: drawing.Side, A: r3.Vec{Z: low}, B: r3.Vec{X: d.FrontXMM, Z: low}, Text: fmt.Sprintf("length %.1f mm", d.FrontXMM),
	}}
	if b := d.Base; b.WidthMM > 0 {
		x := max(d.RimXMM, b.BackXMM)
		out = append(out, drawing.Length{
			View: drawing.Above, A: r3.Vec{X: x, Y: -b.LateralMM}, B: r3.Vec{X: x, Y: b.MedialMM}, Text: fmt.Sprintf("base %.1f mm", b.WidthMM),
		}, drawing.Length{
			View: drawing.Behind, A: r3.Vec{X: x, Y: -b.LateralMM, Z: low}, B: r3.Vec{X: x, Y: b.MedialMM, Z: low}, Text: fmt.Sprintf("base %.1f mm", b.WidthMM),
		})
	}
	return out
}

// deviceOptions are what is known of a scanned device.
func deviceOptions(start device.Options, side footwear.Side) device.ScanOptions {
	o := device.ScanOptions{Start: start}
	switch side {
	case footwear.RightSide:
		o.Side = device.Right
	case footwear.LeftSide:
		o.Side = device.Left
	}
	return o
}

// findDevice finds the frame of a device, and reads it off on the way.
func findDevice(ctx context.Context, e scanpage.Find, start device.Options) (scanpage.Found, error) {
	o := deviceOptions(start, e.Side)
	if p := e.Points; p != nil {
		o.Marks = &device.Marks{HeelBack: p[0], FrontMiddle: p[1], Medial: p[2]}
	}
	return readDevice(ctx, e.Shape, o)
}

// measureDevice reads a device off where the person put it.
func measureDevice(ctx context.Context, p scanpage.Placed, start device.Options) (*scanpage.Read, error) {
	o := deviceOptions(start, p.Side)
	o.Pose = &p.Pose
	f, err := readDevice(ctx, p.Shape, o)
	if err != nil {
		return nil, err
	}
	return f.Read, nil
}

// renamePatch gives the patch round a face to another feature: as far as its edges.
func renamePatch(e scanpage.Rename) (*scanpage.Read, error) {
	const edgeDeg = 20 // the surface turns by more there
	m := e.Read.Device.Rigid
	f := m.F[e.Face]
	middle := r3.Scale(1.0/3, r3.Add(m.V[f[0]], r3.Add(m.V[f[1]], m.V[f[2]])))
	d, err := device.Retag(e.Read.Device, device.Patch{Feature: e.Feature, Flood: &device.Flood{From: middle, TurnDeg: edgeDeg}})
	if err != nil {
		return nil, err
	}
	read := *e.Read
	read.Device, read.Lengths = d, deviceLengths(d)
	read.Skin = &mesh.Mesh{V: e.Read.Skin.V, F: e.Read.Skin.F, Tag: d.Rigid.Tag}
	return &read, nil
}

// useDevice has a scanned device tried from now on.
func (w *Window) useDevice(e scanpage.Make) (string, error) {
	name := strings.TrimSuffix(e.Shape.Name, filepath.Ext(e.Shape.Name))
	d := &desk.ScannedDevice{Name: name, Device: e.Read.Device}
	bridge(func() {
		w.do(desk.UseScanned{Device: d})
		w.line(fmt.Sprintf("device in use name=%q", name))
	})
	return name + " is the device in use now. Go back to the fit to see it.", nil
}
