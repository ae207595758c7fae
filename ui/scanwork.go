package ui

import (
	"context"
	"errors"
	"math"
	"os"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
	"lastroom/ui/scanpage"
)

// scanWorker does what a scan's page asks for, one thing at a time: a new one stops the one before.
type scanWorker struct {
	latest
	report func(scanpage.Action) // called from the worker's goroutine
	make   func(context.Context, scanpage.Make) (string, error)
}

// work does it and says what came of it; nil when there is nothing to say. start has what a device's scan can't tell.
func (k *scanWorker) work(ctx context.Context, e scanpage.Effect, start device.Options) scanpage.Action {
	switch e := e.(type) {
	case scanpage.ReadFile:
		raw, err := readScan(ctx, e.Path, k.progress(e.Job))
		return either(e.Job, err, scanpage.WasRead{Job: e.Job, Raw: raw})
	case scanpage.Mend:
		shape, err := mendScan(ctx, e.Shape, k.progress(e.Job))
		return either(e.Job, err, scanpage.WasMended{Job: e.Job, Shape: shape})
	case scanpage.Find:
		found, err := findFrame(ctx, e, start)
		return either(e.Job, err, scanpage.WasFound{Job: e.Job, Found: found})
	case scanpage.Measure:
		read, err := readOff(ctx, e.Placed, start)
		return either(e.Job, err, scanpage.WasMeasured{Job: e.Job, Read: read})
	case scanpage.Rename:
		read, err := renamePatch(e)
		return either(e.Job, err, scanpage.WasMeasured{Job: e.Job, Read: read})
	case scanpage.Make:
		text, err := k.make(ctx, e)
		return either(e.Job, err, scanpage.WasUsed{Job: e.Job, Text: text})
	}
	return nil
}

func either(job uint64, err error, good scanpage.Action) scanpage.Action {
	if err != nil {
		return scanpage.Failed{Job: job, Err: err}
	}
	return good
}

// progress reports each hundredth of the way.
func (k *scanWorker) progress(job uint64) func(done, total float64) {
	told := -1.0
	return func(done, total float64) {
		share := 0.0
		if total > 0 {
			share = math.Floor(100*done/total) / 100
		}
		if share != told {
			told = share
			k.report(scanpage.Progressed{Job: job, Share: share})
		}
	}
}

// readScan reads a mesh file.
func readScan(ctx context.Context, path string, progress func(done, total float64)) (*scanpage.Raw, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fileProblem(path, err)
	}
	defer func() { _ = f.Close() }()
	st, err := f.Stat()
	if err != nil {
		return nil, fileProblem(path, err)
	}
	m, info, err := mesh.Read(ctx, f, st.Size(), baseName(path), mesh.ReadOptions{Progress: progress})
	if err != nil {
		return nil, err
	}
	raw := &scanpage.Raw{Mesh: m, Info: info}
	const leastMM, mostMM = 70, 800 // more than shoes, devices and boots go
	if l := m.LengthAcross(); info.UnitMM > 0 && (l < leastMM || l > mostMM) {
		raw.Doubted, raw.Mesh, raw.Info.UnitMM = info.UnitMM, m.Scaled(1/info.UnitMM), 0
		m = raw.Mesh
	}
	if raw.Info.UnitMM == 0 {
		raw.Guesses, raw.Ambiguous = mesh.GuessUnit(m, 0, 0)
	}
	return raw, nil
}

// fileProblem says why a file can't be read.
func fileProblem(path string, err error) error {
	var where *os.PathError
	if errors.As(err, &where) {
		err = where.Err
	}
	return problem.Problem{File: baseName(path), Limit: "it can't be read: " + err.Error(), Mend: "check that the file is there and open to you"}
}

// mendScan brings a mesh to millimetres and repairs it.
func mendScan(ctx context.Context, s scanpage.Shape, progress func(done, total float64)) (*scanpage.Shape, error) {
	m := s.Raw.Mesh
	if s.Raw.Info.UnitMM == 0 && s.UnitMM != 1 {
		m = m.Scaled(s.UnitMM)
	}
	mended, report, err := mesh.Repair(ctx, m, mesh.RepairOptions{}, progress)
	if err != nil {
		return nil, inFile(err, s.Name)
	}
	mended.Tag = nil
	s.Mesh, s.Report = mended, report
	return &s, nil
}

// inFile puts a file's name to a problem that has none.
func inFile(err error, name string) error {
	if p, ok := err.(problem.Problem); ok && p.File == "" {
		p.File = name
		return p
	}
	return err
}

// findFrame finds where a scan lies.
func findFrame(ctx context.Context, e scanpage.Find, start device.Options) (scanpage.Found, error) {
	if e.Purpose == scanpage.Device {
		return findDevice(ctx, e, start)
	}
	o := footwear.AlignOptions{Side: e.Side}
	if p := e.Points; p != nil {
		o.Points = &footwear.ThreePoints{HeelBack: p[0], TreadMedial: p[1], TreadLateral: p[2]}
	}
	a, err := footwear.Align(ctx, e.Shape.Mesh, o)
	if err != nil {
		return scanpage.Found{}, err
	}
	return scanpage.Found{
		Pose: a.Pose, Side: a.Side, SideWhy: a.SideWhy, SideOdds: a.Odds.Side, LengthMM: a.LengthMM, NoiseMM: a.NoiseMM,
		Notes: a.Notes, InsideIn: a.InsideIn,
	}, nil
}

// alignment is a scan's frame with what the person corrected.
func alignment(p scanpage.Placed) footwear.Alignment {
	return footwear.Alignment{
		Pose: p.Pose, Side: p.Side, SideWhy: p.Found.SideWhy, LengthMM: p.Found.LengthMM, NoiseMM: p.Found.NoiseMM,
		InsideIn: p.Found.InsideIn, Notes: p.Found.Notes,
	}
}
