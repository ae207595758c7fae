package console

import (
	"os"
	"slices"
	"strings"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A job is one shoe in one size with one device for one foot: what fit, demo and export work on.
type job struct {
	sheet     footwear.Sheet
	scan      *footwear.Room // the room of a scanned shoe; nil: it is built from the sheet
	insoleOut bool
	options   device.Options
	ordered   device.Options // before --with changed anything but the foot and the side
	device    string         // preset or file
	scanned   *scannedDevice // when the device is the file of a scan
	foot      fit.Foot
	gives     fit.Gives // as outcomes taught; empty: the sheet's
}

// repeated collects a flag that may be given more than once.
type repeated []string

func (r *repeated) String() string     { return strings.Join(*r, " ") }
func (r *repeated) Set(s string) error { *r = append(*r, s); return nil }

// jobFlags adds the flags that name a job; the function it returns reads them after parse.
func jobFlags(c *call) func() (*job, error) {
	var own, shoe, size, dev, outcomes string
	var with repeated
	c.flags.StringVar(&own, "shelf", "", "")
	c.flags.StringVar(&shoe, "shoe", "", "")
	c.flags.StringVar(&size, "size", "", "")
	c.flags.StringVar(&dev, "device", "everyday-block", "")
	c.flags.Var(&with, "with", "")
	c.flags.StringVar(&outcomes, "outcomes", "", "")
	var scan scanFlags
	scan.jobFlags(c)
	find := func() (*job, error) {
		if mesh.FormatOf(shoe) != "" {
			return scan.job(c, shoe, size, dev, with)
		}
		if scan.given() {
			return nil, problem.Problem{Field: "--units, --sock-mm, --lining-mm, --insole-mm", Limit: "these belong to a scanned shoe", Mend: "give --shoe a file that ends in .stl, .obj, .ply or .3mf"}
		}
		return newJob(own, shoe, size, dev, with)
	}
	return func() (*job, error) {
		j, err := find()
		if err == nil && outcomes != "" {
			var list []fit.Outcome
			if list, err = readOutcomes(outcomes, false); err == nil {
				j.gives = fit.LearnGives(list)
			}
		}
		return j, err
	}
}

// room is the job's room.
func (j *job) room() (*footwear.Room, error) {
	if j.scan == nil {
		return footwear.NewRoom(j.sheet, !j.insoleOut)
	}
	r := *j.scan
	r.Sheet = j.sheet
	return &r, nil
}

// prepare builds the device and the bench of the job, which holds the room.
func (j *job) prepare(c *call) (*fit.Bench, *device.Device, error) {
	room, err := j.room()
	if err != nil {
		return nil, nil, err
	}
	dev, err := j.build(c)
	if err != nil {
		return nil, nil, err
	}
	bench, err := fit.NewBench(c.ctx, room)
	if err != nil {
		return nil, nil, err
	}
	return bench.WithGives(j.gives), dev, nil
}

// newJob finds shoe (of one's own in the folder own) and device and applies what --with sets. Without a foot length of its own a preset is made for the
// foot that the size stands for, and for the heel rise of the shoe.
func newJob(own, shoe, size, dev string, with []string) (*job, error) {
	sheet, err := findShoe(own, shoe, size)
	if err != nil {
		return nil, err
	}
	return jobOf(sheet, nil, dev, "", with)
}

// jobOf is the job of a shoe that was found, with the room when it was scanned. First is a key=value that those of --with
// go before.
func jobOf(sheet footwear.Sheet, scan *footwear.Room, dev, first string, with []string) (*job, error) {
	j := &job{sheet: sheet, scan: scan, device: dev}
	preset, err := j.findDevice(dev)
	if err != nil {
		return nil, err
	}
	if preset {
		if j.options, err = fit.MadeFor(j.options, sheet); err != nil {
			return nil, err
		}
	}
	if key, value, ok := strings.Cut(first, "="); ok {
		if err := j.set(key, value); err != nil {
			return nil, err
		}
	}
	var ps problem.Problems
	j.ordered = j.options
	for _, kv := range with {
		key, value, ok := strings.Cut(kv, "=")
		if !ok || strings.TrimSpace(key) == "" {
			ps = append(ps, problem.Problem{Field: "--with", Value: clipped(kv), Limit: "key=value is needed", Mend: "see roomcheck keys"})
			continue
		}
		if err := j.set(strings.TrimSpace(key), strings.TrimSpace(value)); err != nil {
			ps = append(ps, asProblems(err)...)
		}
	}
	j.ordered.FootLengthMM, j.ordered.Sex, j.ordered.Side = j.options.FootLengthMM, j.options.Sex, j.options.Side
	ps = append(ps, j.foot.Validate()...)
	ps = append(ps, j.options.Validate()...)
	ps = append(ps, j.sheet.Validate()...)
	if j.insoleOut && !j.sheet.InsoleRemovable {
		ps = append(ps, problem.Problem{Field: "insole_out", Value: "yes", Limit: "the insole of this shoe can't be taken out", Mend: "leave it in"})
	}
	return j, ps.Err()
}

func asProblems(err error) problem.Problems {
	switch e := err.(type) {
	case problem.Problems:
		return e
	case problem.Problem:
		return problem.Problems{e}
	}
	return problem.Problems{{Limit: err.Error()}}
}

// findShoe is a catalog entry, a shoe of one's own in the folder own or a sheet's file, in the size asked for.
func findShoe(own, shoe, size string) (footwear.Sheet, error) {
	var s footwear.Sheet
	var err error
	if shoe == "" {
		return s, problem.Problem{Field: "--shoe", Limit: "a shoe is needed", Mend: "give a catalog entry (see roomcheck shoes) or a sheet's file"}
	}
	if isFile(shoe) {
		f, err := open(shoe, "--shoe")
		if err != nil {
			return s, err
		}
		defer f.Close()
		if s, err = footwear.ReadSheet(f, shoe); err != nil {
			return s, err
		}
	} else if s, err = shelvedShoe(own, shoe); err != nil {
		return s, err
	}
	if size == "" {
		return s, nil
	}
	to, err := footwear.ParseSize(size)
	if err != nil {
		return s, err
	}
	return s.Graded(to, footwear.GradeOptions{})
}

// isFile says whether a name means a file: it ends in .json or such a file exists.
func isFile(name string) bool {
	if strings.HasSuffix(strings.ToLower(name), ".json") {
		return true
	}
	st, err := os.Stat(name)
	return err == nil && !st.IsDir()
}

func (j *job) findDevice(name string) (preset bool, err error) {
	if mesh.FormatOf(name) != "" {
		j.scanned, j.options = &scannedDevice{file: name}, device.Default()
		return true, nil // made for whatever foot wears this shoe
	}
	if isFile(name) {
		f, err := open(name, "--device")
		if err != nil {
			return false, err
		}
		defer f.Close()
		j.options, err = device.ReadOptions(f, name)
		return false, err
	}
	p, err := device.FindPreset(name)
	if err != nil {
		return false, err
	}
	j.options = p.Options
	return true, nil
}

// shoePrefix marks a key of --with that sets a measure of the shoe.
const shoePrefix = "shoe."

func (j *job) set(key, value string) error {
	for _, k := range slices.Concat(jobKeys, scanKeys) {
		if k.key == key {
			return k.set(j, value)
		}
	}
	if name, ok := strings.CutPrefix(key, shoePrefix); ok {
		id, ok := footwear.MeasureByKey(name)
		if !ok {
			return problem.Problem{Field: key, Limit: "the shoe has no such measure", Mend: "see roomcheck keys"}
		}
		if j.scan != nil && id.OfTheShape() {
			return problem.Problem{Field: key, Value: clipped(value), Limit: "the walls are those of the scan", Mend: "leave it out; see --lining-mm and --insole-mm"}
		}
		v, err := number(key, value)
		if err != nil {
			return err
		}
		j.sheet.M[id].Value = v
		return nil
	}
	if key == "foot_length_mm" || key == "sex" {
		if err := j.options.Set(key, value); err != nil {
			return err
		}
		j.foot.LengthMM, j.foot.Sex = j.options.FootLengthMM, j.options.Sex
		return nil
	}
	if j.scanned != nil {
		return j.setOfScan(key, value)
	}
	return j.options.Set(key, value)
}
