package shelf

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/footwear"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A Standing says how the scan beside a shoe stands in it: what was found and settled when the scan was taken in. Its
// zero value leaves all to the scan.
type Standing struct {
	UnitMM   float64           `json:"unit_mm"` // of the scan's file; 0: as the file says, else as its size makes likely
	Side     footwear.Side     `json:"side,omitempty"`
	Body     footwear.ScanBody `json:"body,omitempty"`
	InsideIn bool              `json:"inside_in,omitempty"` // its faces look into the room

	// Room from scan, in mm after the unit: a unit quaternion and a shift. Four zeros: the frame is to be found.
	TurnWXYZ [4]float64 `json:"turn_wxyz"`
	ShiftMM  [3]float64 `json:"shift_mm"`

	// What lies between the scan's surface and the room, as in footwear.ScanOptions. The insole above zero was not
	// scanned: it is the shoe's own, and is there when it is in. Below zero it was scanned, and is taken away when it is out.
	SockMM   float64 `json:"sock_mm,omitempty"`
	LiningMM float64 `json:"lining_mm,omitempty"`
	InsoleMM float64 `json:"insole_mm,omitempty"`
}

// PoseOf is the standing's motion; ok is false when the frame is to be found.
func (st *Standing) PoseOf() (p mesh.Pose, ok bool) {
	q := quat.Number{Real: st.TurnWXYZ[0], Imag: st.TurnWXYZ[1], Jmag: st.TurnWXYZ[2], Kmag: st.TurnWXYZ[3]}
	size := quat.Abs(q)
	if size == 0 {
		return mesh.Pose{}, false
	}
	return mesh.Pose{Q: quat.Scale(1/size, q), T: r3.Vec{X: st.ShiftMM[0], Y: st.ShiftMM[1], Z: st.ShiftMM[2]}}, true
}

// SetPose sets the standing's motion.
func (st *Standing) SetPose(p mesh.Pose) {
	if p.Q == (quat.Number{}) {
		p.Q.Real = 1
	}
	st.TurnWXYZ = [4]float64{p.Q.Real, p.Q.Imag, p.Q.Jmag, p.Q.Kmag}
	st.ShiftMM = [3]float64{p.T.X, p.T.Y, p.T.Z}
}

// WriteStanding writes it as JSON.
func WriteStanding(w io.Writer, st Standing) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(st)
}

// ReadStanding reads it; name is what errors call the file.
func ReadStanding(r io.Reader, name string) (Standing, error) {
	var st Standing
	d := json.NewDecoder(io.LimitReader(r, maxStanding))
	d.DisallowUnknownFields()
	if err := d.Decode(&st); err != nil {
		return st, problem.Problem{File: name, Limit: "it does not say how a scan stands: " + err.Error(), Mend: "take the scan in again"}
	}
	return st, st.check(name)
}

func (st *Standing) check(name string) error {
	var ps problem.Problems
	bad := func(field, value, limit string) {
		ps = append(ps, problem.Problem{File: name, Field: field, Value: value, Limit: limit, Mend: "take the scan in again"})
	}
	const least, most, farMM = 1e-4, 1e5, 1e6
	if st.UnitMM != 0 && !(st.UnitMM >= least && st.UnitMM <= most) {
		bad("unit_mm", fmt.Sprint(st.UnitMM), "0.0001 to 100000")
	}
	if st.Side != footwear.SideUnknown && st.Side != footwear.RightSide && st.Side != footwear.LeftSide {
		bad("side", fmt.Sprintf("%.20q", st.Side), "right or left")
	}
	size := 0.0
	for _, q := range st.TurnWXYZ {
		size = math.Hypot(size, q)
	}
	if size != 0 && math.Abs(size-1) > 1e-3 {
		bad("turn_wxyz", fmt.Sprintf("length %.4g", size), "a unit quaternion, length 1")
	}
	for _, mm := range st.ShiftMM {
		if math.Abs(mm) > farMM {
			bad("shift_mm", fmt.Sprint(mm), "-1000000 to 1000000 mm")
		}
	}
	return ps.Err()
}

// Room is the shoe's room in a size. In the size that its scan shows it is the scan's; in others it is built from the
// measures that were read off it, as is the room of a shoe without a scan.
func (sh *Shoe) Room(ctx context.Context, size footwear.Size, insoleIn bool) (*footwear.Room, error) {
	if sh.Scan == "" || size != sh.Sheet.Size {
		sheet, err := sh.Sheet.Graded(size, footwear.GradeOptions{})
		if err != nil {
			return nil, err
		}
		return footwear.NewRoom(sheet, insoleIn)
	}
	var st Standing
	if sh.Standing != "" {
		f, err := os.Open(filepath.Clean(sh.Standing))
		if err != nil {
			return nil, diskProblem(sh.Standing, err)
		}
		st, err = ReadStanding(f, filepath.Base(sh.Standing))
		if err = errors.Join(err, f.Close()); err != nil {
			return nil, err
		}
	}
	m, err := readMesh(ctx, sh.Scan, st.UnitMM)
	if err != nil {
		return nil, err
	}
	room, err := st.room(ctx, m, insoleIn, footwear.ScanOptions{ID: sh.Sheet.ID, Name: sh.Sheet.Name, ShoeKind: sh.Sheet.Kind, Size: sh.Sheet.Size})
	if err != nil {
		return nil, err
	}
	// What no shape tells is the sheet's.
	for _, id := range []footwear.MeasureID{
		footwear.CounterHeight, footwear.GiveCounter, footwear.GiveQuarter, footwear.GiveVamp, footwear.InsoleHeel, footwear.InsoleForefoot,
	} {
		room.Sheet.M[id] = sh.Sheet.M[id]
	}
	return room, nil
}

// readMesh reads and mends a scan's file.
func readMesh(ctx context.Context, path string, unitMM float64) (*mesh.Mesh, error) {
	f, err := os.Open(filepath.Clean(path))
	if err != nil {
		return nil, diskProblem(path, err)
	}
	defer func() { _ = f.Close() }()
	info, err := f.Stat()
	if err != nil {
		return nil, diskProblem(path, err)
	}
	m, got, err := mesh.Read(ctx, f, info.Size(), filepath.Base(path), mesh.ReadOptions{UnitMM: unitMM})
	if err != nil {
		return nil, err
	}
	if got.UnitMM == 0 {
		guesses, _ := mesh.GuessUnit(m, 0, 0)
		if len(guesses) == 0 {
			return nil, problem.Problem{File: filepath.Base(path), Field: "units", Limit: "in none is it as long as a shoe", Mend: "take the scan in again and say its units"}
		}
		m = m.Scaled(guesses[0].Unit.MM)
	}
	m, _, err = mesh.Repair(ctx, m, mesh.RepairOptions{}, nil)
	return m, err
}

// room makes the room of a mended scan in mm.
func (st *Standing) room(ctx context.Context, m *mesh.Mesh, insoleIn bool, o footwear.ScanOptions) (*footwear.Room, error) {
	var a footwear.Alignment
	if p, ok := st.PoseOf(); ok {
		a = footwear.Alignment{Pose: p, Side: st.Side, InsideIn: st.InsideIn}
	} else {
		var err error
		if a, err = footwear.Align(ctx, m, footwear.AlignOptions{Side: st.Side}); err != nil {
			return nil, err
		}
	}
	o.Body, o.SockMM, o.LiningMM = st.Body, st.SockMM, st.LiningMM
	o.InsoleMM = math.Min(st.InsoleMM, 0)
	if insoleIn {
		o.InsoleMM = math.Max(st.InsoleMM, 0)
	}
	return footwear.RoomFromScan(ctx, a.Apply(m), o)
}

// TakeIn makes the shoe of a mended scan in mm: its sheet as read off it without the shoe's own insole.
func (st *Standing) TakeIn(ctx context.Context, m *mesh.Mesh, name string) (footwear.Sheet, []string, error) {
	room, err := st.room(ctx, m, false, footwear.ScanOptions{ID: IDFor(name), Name: name})
	if err != nil {
		return footwear.Sheet{}, nil, err
	}
	s := room.Sheet
	if thick := math.Abs(st.InsoleMM); thick > 0 {
		given := footwear.Measure{Value: thick, PlusMinus: footwear.InsoleHeel.Info().PlusMinus, Instrument: footwear.Calliper}
		s.M[footwear.InsoleHeel], s.M[footwear.InsoleForefoot] = given, given
		s.InsoleRemovable = true
	} else {
		s.InsoleRemovable = false
	}
	var notes []string
	if room.Scan != nil {
		notes = room.Scan.Notes
	}
	return s, notes, nil
}
