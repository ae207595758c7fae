package console

import (
	"fmt"
	"sort"
	"strings"
	"text/tabwriter"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A scanFile is a mesh from a file, in millimetres and mended, with what was found on the way.
type scanFile struct {
	name     string
	m        *mesh.Mesh
	unit     mesh.Unit
	unitFrom string // --units, the file, or its size
	repair   mesh.RepairReport
}

// scanFlags are the flags of a shape from a file.
type scanFlags struct {
	units                string
	sock, lining, insole float64
}

// unitFlag adds --units.
func (s *scanFlags) unitFlag(c *call) { c.flags.StringVar(&s.units, "units", "", "") }

// read reads, scales and mends a mesh file.
func (s *scanFlags) read(c *call, path, field string) (*scanFile, error) {
	var o mesh.ReadOptions
	out := &scanFile{name: path}
	if s.units != "" {
		u, err := mesh.ParseUnit(s.units)
		if err != nil {
			return nil, renamed(err, "--units")
		}
		o.UnitMM, out.unit, out.unitFrom = u.MM, u, "--units"
	}
	f, err := open(path, field)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return nil, problem.Problem{File: path, Field: field, Limit: err.Error(), Mend: "give the path of a file that can be read"}
	}
	m, info, err := mesh.Read(c.ctx, f, st.Size(), path, o)
	if err != nil {
		return nil, err
	}
	switch {
	case out.unitFrom != "":
	case info.UnitMM != 0:
		out.unit, out.unitFrom = mesh.Unit{Name: fmt.Sprintf("%g mm", info.UnitMM), MM: info.UnitMM}, "the file"
		for _, u := range mesh.Units {
			if u.MM == info.UnitMM {
				out.unit = u
			}
		}
	default:
		if out.unit, err = guessedUnit(m, path); err != nil {
			return nil, err
		}
		out.unitFrom = "its size"
		if out.unit.MM != 1 {
			m = m.Scaled(out.unit.MM)
		}
	}
	if out.m, out.repair, err = mesh.Repair(c.ctx, m, mesh.RepairOptions{}, nil); err != nil {
		return nil, named(err, path)
	}
	return out, nil
}

// guessedUnit is the one unit in which a shape has the size of a shoe; of several, the problem asks.
func guessedUnit(m *mesh.Mesh, path string) (mesh.Unit, error) {
	guesses, ambiguous := mesh.GuessUnit(m, 0, 0)
	p := problem.Problem{
		File: path, Field: "--units", Value: fmt.Sprintf("%.4g units across", m.LengthAcross()),
		Limit: fmt.Sprintf("a shoe is %d to %d mm long", mesh.LeastLengthMM, mesh.MostLengthMM), Mend: "name the unit with --units",
	}
	if len(guesses) == 0 {
		return mesh.Unit{}, p
	}
	if ambiguous {
		var words []string
		for _, g := range guesses {
			words = append(words, fmt.Sprintf("%s (%.0f mm across)", g.Unit.Name, g.LengthMM))
		}
		p.Limit = "the unit is in doubt: is it " + strings.Join(words, " or ") + "?"
		p.Mend = "say it with --units"
		return mesh.Unit{}, p
	}
	return guesses[0].Unit, nil
}

// renamed is a problem under another field's name.
func renamed(err error, field string) error {
	ps := asProblems(err)
	for i := range ps {
		ps[i].Field = field
	}
	return ps
}

// named is a problem with the file's name, where it has none; other errors stay.
func named(err error, file string) error {
	switch e := err.(type) {
	case problem.Problem:
		return problem.Problems{e}.In(file)
	case problem.Problems:
		return e.In(file)
	}
	return err
}

func sideOf(s string) (footwear.Side, error) {
	switch s {
	case "":
		return footwear.SideUnknown, nil
	case "right", "left":
		return footwear.Side(s), nil
	}
	return "", problem.Problem{Field: "--side", Value: clipped(s), Limit: "right or left", Mend: "name the foot the shoe is for, or leave it to the shape"}
}

func runMeasure(c *call) error {
	var s scanFlags
	var shape, side string
	c.flags.StringVar(&shape, "shape", "", "")
	c.flags.StringVar(&side, "side", "", "")
	s.unitFlag(c)
	if err := c.parseFlags(); err != nil {
		return err
	}
	given, err := sideOf(side)
	if err != nil {
		return err
	}
	f, err := s.read(c, shape, "--shape")
	if err != nil {
		return err
	}
	a, err := footwear.Align(c.ctx, f.m, footwear.AlignOptions{Side: given})
	if err != nil {
		return named(err, shape)
	}
	got, err := footwear.MeasureScan(c.ctx, a.Apply(f.m))
	if err != nil {
		return named(err, shape)
	}
	if c.asJSON {
		return c.json(measureDocument(f, &a, &got))
	}
	return printMeasures(c, f, &a, &got)
}

// sideWord is the side in words.
func sideWord(s footwear.Side) string {
	if s == footwear.SideUnknown {
		return "unknown"
	}
	return string(s)
}

// measureDocument is the JSON of `measure`: format lastroom-measures, version 1. Every measure that was read stands under
// its key of the sheet at the top level.
func measureDocument(f *scanFile, a *footwear.Alignment, got *footwear.ScanReading) map[string]any {
	plusMinus, notRead := map[string]num{}, map[string]string{}
	doc := map[string]any{
		"format": "lastroom-measures", "version": 1, "program": fit.Version, "file": f.name,
		"length_mm": num(got.M[footwear.LastLength]), "heel_width_mm": num(got.HeelWidthMM),
		"triangles": f.repair.TrianglesOut, "triangles_in_file": f.repair.TrianglesIn, "repairs": steps(f),
		"unit": f.unit.Name, "unit_from": f.unitFrom,
		"side": sideWord(a.Side), "side_why": a.SideWhy,
		"odds":         map[string]num{"sole": num(a.Odds.Sole), "heel_toe": num(a.Odds.HeelToe), "side": num(a.Odds.Side)},
		"roughness_mm": num(got.NoiseMM), "open_top": got.OpenTop, "openings": len(f.repair.Openings),
		"sign_method": surfaceTree(f.m).Sign().String(),
		"frame":       frameOf(a),
		"notes":       append([]string{}, a.Notes...),
	}
	for id := range footwear.NumMeasures {
		if v, ok := got.M[id]; ok {
			doc[id.String()], plusMinus[id.String()] = num(v), num(got.PlusMinus[id])
		} else {
			notRead[id.String()] = got.NotRead[id]
		}
	}
	doc["plus_minus"], doc["not_read"] = plusMinus, notRead
	return doc
}

// steps are what was mended; never nil, for JSON.
func steps(f *scanFile) []mesh.RepairStep { return append([]mesh.RepairStep{}, f.repair.Repairs...) }

// A frameJSON says where in the file's coordinates, in mm, the room's frame stands.
type frameJSON struct {
	Origin      [3]num `json:"origin_mm"` // on the board under the rearmost inside point
	Forward     [3]num `json:"forward"`   // unit vectors: heel to toe, to the left of who wears it, up
	Left        [3]num `json:"left"`
	Up          [3]num `json:"up"`
	RotationDeg [3]num `json:"rotation_deg"`   // rotation vector of the motion from the file into the room
	Translation [3]num `json:"translation_mm"` // its shift, after the rotation
}

func frameOf(a *footwear.Alignment) frameJSON {
	back := a.Pose.Inverse()
	return frameJSON{
		vec(back.T), vec(back.Rotate(r3.Vec{X: 1})), vec(back.Rotate(r3.Vec{Y: 1})), vec(back.Rotate(r3.Vec{Z: 1})),
		vec(a.Pose.RotationVectorDeg()), vec(a.Pose.T),
	}
}

func printMeasures(c *call, f *scanFile, a *footwear.Alignment, got *footwear.ScanReading) error {
	fmt.Fprintf(c.out, "%s: %d triangles, in %s (%s), noise %.2f mm\n", f.name, f.repair.TrianglesOut, f.unit.Name, f.unitFrom, got.NoiseMM)
	for _, r := range f.repair.Repairs {
		fmt.Fprintln(c.out, "  repaired:", r.Words)
	}
	fr := frameOf(a)
	fmt.Fprintf(c.out, "frame: origin at %.1f, %.1f, %.1f mm; forward %.3f, %.3f, %.3f; up %.3f, %.3f, %.3f; sign of distances by %s\n",
		float64(fr.Origin[0]), float64(fr.Origin[1]), float64(fr.Origin[2]), float64(fr.Forward[0]), float64(fr.Forward[1]), float64(fr.Forward[2]),
		float64(fr.Up[0]), float64(fr.Up[1]), float64(fr.Up[2]), surfaceTree(f.m).Sign())
	fmt.Fprintf(c.out, "side: %s (%s)\n", sideWord(a.Side), a.SideWhy)
	for _, n := range a.Notes {
		fmt.Fprintln(c.out, "note:", n)
	}
	fmt.Fprintln(c.out)
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "measure\tvalue\t±\tunit")
	fmt.Fprintf(w, "width at the widest place of the heel\t%.1f\t\tmm\n", got.HeelWidthMM)
	missed := map[string][]string{}
	for id := range footwear.NumMeasures {
		info := id.Info()
		if v, ok := got.M[id]; ok {
			fmt.Fprintf(w, "%s\t%.1f\t%.2g\t%s\n", info.Name, v, got.PlusMinus[id], info.Unit)
		} else {
			missed[got.NotRead[id]] = append(missed[got.NotRead[id]], info.Name)
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	reasons := make([]string, 0, len(missed))
	for why := range missed {
		reasons = append(reasons, why)
	}
	sort.Strings(reasons)
	if len(reasons) > 0 {
		fmt.Fprintln(c.out, "\nnot read:")
	}
	for _, why := range reasons {
		fmt.Fprintf(c.out, "  %s: %s\n", why, strings.Join(missed[why], ", "))
	}
	return nil
}

// jobFlags adds the flags that a scanned shoe takes in a job.
func (s *scanFlags) jobFlags(c *call) {
	s.unitFlag(c)
	c.flags.Float64Var(&s.sock, "sock-mm", 0, "")
	c.flags.Float64Var(&s.lining, "lining-mm", 0, "")
	c.flags.Float64Var(&s.insole, "insole-mm", 0, "")
}

// given says whether any of them was used.
func (s *scanFlags) given() bool {
	return s.units != "" || s.sock != 0 || s.lining != 0 || s.insole != 0
}

// job makes a job of a scan as the shoe. The side is the one --with gives, else the shape's, else the right one. In
// another size than its own the scan's sheet is graded, and the room is built from that.
func (s *scanFlags) job(c *call, path, size, dev string, with []string) (*job, error) {
	f, err := s.read(c, path, "--shoe")
	if err != nil {
		return nil, err
	}
	var given footwear.Side
	for _, kv := range with {
		if k, v, _ := strings.Cut(kv, "="); strings.TrimSpace(k) == "side" {
			if given, err = sideOf(strings.TrimSpace(v)); err != nil {
				return nil, renamed(err, "side")
			}
		}
	}
	a, err := footwear.Align(c.ctx, f.m, footwear.AlignOptions{Side: given})
	if err != nil {
		return nil, named(err, path)
	}
	first := "" // the side that --with overrules
	if a.Side != footwear.SideUnknown {
		first = "side=" + string(a.Side)
	} else {
		a.Side = footwear.RightSide
		a.Notes = append(a.Notes, "the shape does not tell its side ("+a.SideWhy+"); it is taken for a right one, say --with side=left if it is not")
	}
	room, err := footwear.RoomFromScan(c.ctx, a.Apply(f.m), footwear.ScanOptions{SockMM: s.sock, LiningMM: s.lining, InsoleMM: s.insole})
	if err != nil {
		return nil, named(err, path)
	}
	for _, r := range f.repair.Repairs {
		fmt.Fprintln(c.errOut, "note:", r.Words)
	}
	for _, n := range append(a.Notes, room.Scan.Notes...) {
		fmt.Fprintln(c.errOut, "note:", n)
	}
	if size == "" {
		return jobOf(room.Sheet, room, dev, first, with)
	}
	to, err := footwear.ParseSize(size)
	if err != nil {
		return nil, err
	}
	graded, err := room.Sheet.Graded(to, footwear.GradeOptions{})
	if err != nil {
		return nil, err
	}
	fmt.Fprintf(c.errOut, "note: in size %s the room is built from the measures read off the scan, graded\n", to)
	return jobOf(graded, nil, dev, first, with)
}
