package console

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"

	"lastroom/device"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A scannedDevice is a device that --device names by the file of its scan.
type scannedDevice struct {
	file    string
	unitMM  float64 // 0: as the file says, or as its size tells
	side    string  // empty: from the shape
	patches []device.Patch
}

// ofScan are the options that a scanned device takes: what its shape does not tell.
var ofScan = map[string]bool{
	"side": true, "sex": true, "foot_length_mm": true, "process": true, "material": true, "wedge_material": true,
	"wedge_hardness_shore_a": true,
}

// scanKeys are the keys of --with that only a scanned device has.
var scanKeys = []jobKey{
	{key: "patch", help: "of a scanned device: name the faces of a place, as wedge-base@ball:x,y,z,radius, @box:x,y,z,x,y,z or @flood:x,y,z", set: func(j *job, value string) error {
		if j.scanned == nil {
			return onlyOfScan("patch")
		}
		p, err := device.ParsePatch(value)
		if err == nil {
			j.scanned.patches = append(j.scanned.patches, p)
		}
		return err
	}},
	{key: "scan_unit", help: "of a scanned device: the unit of the file", choices: unitKeys(), set: func(j *job, value string) error {
		if j.scanned == nil {
			return onlyOfScan("scan_unit")
		}
		u, err := mesh.ParseUnit(value)
		j.scanned.unitMM = u.MM
		return err
	}},
}

func unitKeys() []string {
	var keys []string
	for _, u := range mesh.Units {
		keys = append(keys, u.Name)
	}
	return keys
}

func onlyOfScan(key string) error {
	return problem.Problem{Field: key, Limit: "only a scanned device has it", Mend: "give --device the file of a scan"}
}

// setOfScan sets an option of a scanned device.
func (j *job) setOfScan(key, value string) error {
	if _, ok := device.FindKey(key); ok && !ofScan[key] {
		return problem.Problem{Field: key, Value: clipped(value), Limit: "it is read off the scan", Mend: "leave it out, or give a preset or an options file as --device"}
	}
	if err := j.options.Set(key, value); err != nil {
		return err
	}
	if key == "side" {
		j.scanned.side = j.options.Side
	}
	return nil
}

// build makes the device of the job: from its options, or from its scan. What is worth knowing of a scan goes to
// standard error, and its measures become the options.
func (j *job) build(c *call) (*device.Device, error) {
	if j.scanned == nil {
		return device.Build(j.options)
	}
	m, err := j.scanned.read(c.ctx)
	if err != nil {
		return nil, err
	}
	d, rep, err := device.FromScan(c.ctx, m, device.ScanOptions{Start: j.options, FootLengthMM: j.options.FootLengthMM, Side: j.scanned.side})
	if err != nil {
		var p problem.Problem
		if errors.As(err, &p) {
			p.File = j.scanned.file
			err = p
		}
		return nil, err
	}
	for _, p := range j.scanned.patches {
		if d, err = device.Retag(d, p); err != nil {
			return nil, err
		}
	}
	for _, s := range rep.Repairs {
		fmt.Fprintf(c.errOut, "%s: %s\n", j.scanned.file, s.Words)
	}
	for _, n := range rep.Notes {
		fmt.Fprintf(c.errOut, "%s: %s\n", j.scanned.file, n)
	}
	j.options, j.ordered = d.Options, d.Options
	return d, nil
}

func (s *scannedDevice) read(ctx context.Context) (*mesh.Mesh, error) {
	f, err := open(s.file, "--device")
	if err != nil {
		return nil, err
	}
	defer f.Close()
	size, err := sizeOf(f)
	if err != nil {
		return nil, err
	}
	m, info, err := mesh.Read(ctx, f, size, s.file, mesh.ReadOptions{UnitMM: s.unitMM})
	if err != nil || info.UnitMM != 0 {
		return m, err
	}
	guesses, ambiguous := mesh.GuessUnit(m, leastDeviceMM, mostDeviceMM)
	if len(guesses) == 0 || ambiguous {
		return nil, problem.Problem{
			File: s.file, Field: "unit", Value: strconv.FormatFloat(m.LengthAcross(), 'g', 4, 64) + " across", Limit: "the file names no unit and its size tells none",
			Mend: "say it: --with scan_unit=mm",
		}
	}
	return m.Scaled(guesses[0].Unit.MM), nil
}

// Devices are between these lengths (common practice, no source).
const leastDeviceMM, mostDeviceMM = 90, 260

func sizeOf(f *os.File) (int64, error) {
	st, err := f.Stat()
	if err != nil {
		return 0, err
	}
	return st.Size(), nil
}
