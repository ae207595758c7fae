package console

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"text/tabwriter"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

func runFit(c *call) error {
	read := jobFlags(c)
	if err := c.parseFlags(); err != nil {
		return err
	}
	j, err := read()
	if err != nil {
		return err
	}
	return j.fit(c, "")
}

func runDemo(c *call) error {
	var out string
	c.flags.StringVar(&out, "out", "", "")
	if err := c.parseFlags(); err != nil {
		return err
	}
	j, err := newJob("", fit.Demo.ShoeID, fit.Demo.Size, fit.Demo.PresetID, nil)
	if err != nil {
		return err
	}
	return j.fit(c, out)
}

// fit does the whole job and reports it; with a folder, it draws the three cuts there.
func (j *job) fit(c *call, pictures string) error {
	bench, dev, err := j.prepare(c)
	if err != nil {
		return err
	}
	res, err := bench.Check(c.ctx, dev, j.foot)
	if err != nil {
		return err
	}
	var files []string
	if pictures != "" {
		if files, err = draw(pictures, bench.Room, dev, res); err != nil {
			return err
		}
	}
	if c.asJSON {
		err = c.json(j.report(res, files))
	} else {
		err = j.print(c, res, files)
	}
	if err != nil {
		return err
	}
	if res.Status != fit.Converged && res.Status != fit.OutOfPlace {
		return fmt.Errorf("%w: %s", errNotConverged, res.Status)
	}
	return nil
}

// draw writes the three cuts of both poses as PNG and returns the files' names.
func draw(dir string, room *footwear.Room, dev *device.Device, res *fit.Result) ([]string, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, folderProblem(dir, err)
	}
	var files []string
	for _, pose := range []fit.PoseName{fit.Intended, fit.Settled} {
		scene := drawing.NewScene(room, dev, res, pose)
		for _, v := range drawing.Views {
			name := filepath.Join(dir, fmt.Sprintf("%s-%s.png", pose, v.Slug()))
			if err := writeFile(name, func(f *os.File) error { return drawing.PNG(f, v, scene, 1200, false) }); err != nil {
				return nil, err
			}
			files = append(files, name)
		}
	}
	return files, nil
}

func folderProblem(path string, err error) error {
	var pe *os.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	return problem.Problem{File: path, Field: "--out", Limit: err.Error(), Mend: "give a folder that can be written to"}
}

func writeFile(name string, write func(*os.File) error) error {
	f, err := os.Create(name)
	if err != nil {
		return folderProblem(name, err)
	}
	if err := write(f); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}

// print is the plain text.
func (j *job) print(c *call, r *fit.Result, files []string) error {
	insole := "its insole in"
	switch {
	case j.scan != nil:
		insole = "as scanned"
	case j.insoleOut:
		insole = "its insole out"
	}
	fmt.Fprintf(c.out, "%s, %s, %s; device %s for a foot of %.0f mm\n\n", j.sheet.Name, j.sheet.Size, insole, j.device, j.options.FootLengthMM)
	fmt.Fprintf(c.out, "%s\n%s\n\n", r.Verdict.Sentence, r.Verdict.Limits)
	known := ""
	if r.WithinMM > 0 {
		known = fmt.Sprintf(", pose known within %.2g mm: the device lies deep in a wall", r.WithinMM)
	}
	fmt.Fprintf(c.out, "seating %s (unbalanced %.2g N%s); rides up %.2f mm, tilts %.2f° in the frontal plane, pitches %.2f°, slips %.2f mm forward\n",
		r.Status, r.ResidualN, known, r.RideUpMM, r.TiltFrontalDeg, r.PitchDeg, r.SlipForwardMM)
	fmt.Fprintf(c.out, "base %.1f mm wide (medial %.1f, lateral %.1f), %.0f mm²; largest gap under a corner %.2f mm\n\n",
		r.Base.WidthMM, r.Base.MedialMM, r.Base.LateralMM, r.Base.AreaMM2, r.Base.RockGapMM)
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "state\tfeature\tzone\tpose\tgap mm\t±\tgive mm\todds\tat x, y, z mm\tgrind")
	for i := range r.Findings {
		f := &r.Findings[i]
		grind := ""
		if f.GrindDepthMM > 0 {
			grind = fmt.Sprintf("%.1f mm", f.GrindDepthMM)
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%.2f\t%.2f\t%.1f\t%.0f %%\t%.0f, %.0f, %.0f\t%s\n", f.State, f.Feature, f.Place(), f.Pose,
			f.GapMM, f.PlusMinusMM, f.GiveMM, 100*f.Odds, f.At.X, f.At.Y, f.At.Z, grind)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(c.out, "\nroom above the device:")
	for _, q := range r.FootRoom {
		if !q.Known {
			fmt.Fprintf(c.out, "  %-8s %s: %.1f mm (%s)\n", "", q.Name, q.LeftMM, q.Note)
			continue
		}
		fmt.Fprintf(c.out, "  %-8s %s (%s)\n", q.State, q.Words(), q.Note)
	}
	for _, f := range files {
		fmt.Fprintln(c.out, "picture:", f)
	}
	return nil
}

func runExport(c *call) error {
	var out string
	read := jobFlags(c)
	c.flags.StringVar(&out, "out", "", "")
	if err := c.parseFlags(); err != nil {
		return err
	}
	if out == "" {
		return problem.Problem{Field: "--out", Limit: "a folder is needed", Mend: "say where the files go"}
	}
	j, err := read()
	if err != nil {
		return err
	}
	bench, dev, err := j.prepare(c)
	if err != nil {
		return err
	}
	res, err := bench.Check(c.ctx, dev, j.foot)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return folderProblem(out, err)
	}
	side := func(m *mesh.Mesh) *mesh.Mesh {
		if j.options.Side == "left" {
			return m.MirroredY()
		}
		return m
	}
	files := []struct {
		name  string
		write func(*os.File) error
	}{
		{"room.stl", func(f *os.File) error {
			return mesh.WriteSTL(f, side(bench.Room.Walls), "room, open at the topline, mm")
		}},
		{"room-closed.stl", func(f *os.File) error { return mesh.WriteSTL(f, side(bench.Room.Closed), "room with lid, mm") }},
		{"device.stl", func(f *os.File) error { return mesh.WriteSTL(f, side(dev.Rigid), "device in its own frame, mm") }},
		{"device-intended.stl", func(f *os.File) error {
			return mesh.WriteSTL(f, side(dev.Rigid.Transformed(res.Intended)), "device at the intended pose, mm")
		}},
		{"device-settled.stl", func(f *os.File) error {
			return mesh.WriteSTL(f, side(dev.Rigid.Transformed(res.Settled)), "device at the settled pose, mm")
		}},
		{"shoe.json", func(f *os.File) error { return footwear.WriteSheet(f, j.sheet) }},
		{"device.json", func(f *os.File) error { return device.WriteOptions(f, j.options) }},
	}
	if dev.CoverSolid != nil {
		files = append(files, struct {
			name  string
			write func(*os.File) error
		}{"cover.stl", func(f *os.File) error {
			return mesh.WriteSTL(f, side(dev.CoverSolid), "cover in the device's frame, mm")
		}})
	}
	for _, f := range files {
		name := filepath.Join(out, f.name)
		if err := writeFile(name, f.write); err != nil {
			return err
		}
		fmt.Fprintln(c.out, name)
	}
	if res.Status != fit.Converged && res.Status != fit.OutOfPlace {
		return fmt.Errorf("%w: %s", errNotConverged, res.Status)
	}
	return nil
}
