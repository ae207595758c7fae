package console

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/fit"
	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// seatReport is the JSON of `seat`.
type seatReport struct {
	Status          fit.Status `json:"status"`
	LiftMM          num        `json:"lift_mm"`        // of the body's centre of area
	TranslationMM   [3]num     `json:"translation_mm"` // of the same
	RotationDeg     [3]num     `json:"rotation_deg"`   // rotation vector
	MinGapMM        num        `json:"min_gap_mm"`
	ResidualN       num        `json:"residual_n"`
	LargestOverlap  num        `json:"largest_overlap_mm"`
	WallForceN      [3]num     `json:"wall_force_n"`
	Contacts        int        `json:"contacts"`
	LoadN           num        `json:"load_n"`
	FoundationNMM3  num        `json:"foundation_n_per_mm3,omitempty"`
	Notes           []string   `json:"notes,omitempty"`
	CentreMM        [3]num     `json:"centre_mm"` // where the centre of area was given
	Samples         int        `json:"samples"`
	EnergyChangeNMM num        `json:"energy_n_mm"`
}

func runSeat(c *call) error {
	var roomFile, bodyFile string
	var loadN, k float64
	var at vecFlag
	c.flags.StringVar(&roomFile, "room", "", "")
	c.flags.StringVar(&bodyFile, "body", "", "")
	c.flags.Float64Var(&loadN, "load-n", 10, "")
	c.flags.Float64Var(&k, "foundation-n-per-mm3", 0, "")
	c.flags.Var(&at, "load-at", "")
	if err := c.parseFlags(); err != nil {
		return err
	}
	if !(loadN > 0 && loadN <= 1e5) {
		return problem.Problem{Field: "--load-n", Value: fmt.Sprint(loadN), Limit: "above 0 to 100000 N", Mend: "give the weight that presses the body down"}
	}
	if !(k == 0 || (k >= 1e-6 && k <= 1e9)) {
		return problem.Problem{Field: "--foundation-n-per-mm3", Value: fmt.Sprint(k), Limit: "0 (rigid) or 1e-6 to 1e9 N/mm³", Mend: "leave it out for rigid bodies"}
	}
	room, notes, err := readSTL(roomFile, "--room")
	if err != nil {
		return err
	}
	body, more, err := readSTL(bodyFile, "--body")
	if err != nil {
		return err
	}
	notes = append(notes, more...)
	centre := body.Centroid()
	if !at.set {
		at.v = centre
	}
	b := fit.NewBody(body)
	w := fit.Walls{Tree: surfaceTree(room)}
	opt := fit.SeatOptions{Loads: []fit.Load{{ForceN: r3.Vec{Z: -loadN}, At: at.v}}}
	if k > 0 {
		w.Uniform = k
	} else {
		// Soft enough at first that the load presses the body about half a millimetre in; then stiffened until rigid.
		w.Uniform = math.Max(2*loadN/math.Max(body.Area()/4, 1), 1e-6)
		opt.RigidMM = rigidMM
	}
	s := fit.Seat(c.ctx, b, w, opt)
	now := s.Pose.Apply(centre)
	went := r3.Sub(now, centre)
	rep := seatReport{
		Status: s.Status, LiftMM: num(went.Z), TranslationMM: vec(went), RotationDeg: vec(s.Pose.RotationVectorDeg()),
		MinGapMM: num(s.MinGapMM), ResidualN: num(s.ResidualN), LargestOverlap: num(s.MaxOverlap), WallForceN: vec(s.WallForce()),
		Contacts: len(s.Contacts), LoadN: num(loadN), FoundationNMM3: num(k), Notes: notes, CentreMM: vec(centre),
		Samples: len(b.Samples), EnergyChangeNMM: num(s.EnergyNMM),
	}
	if c.asJSON {
		err = c.json(rep)
	} else {
		for _, n := range notes {
			fmt.Fprintln(c.out, "note:", n)
		}
		fmt.Fprintf(c.out, "%s: the body's centre rests %.3f mm %s the given position (moved %.3f, %.3f, %.3f mm; turned %.3f, %.3f, %.3f°)\n",
			s.Status, math.Abs(went.Z), aboveBelow(went.Z), went.X, went.Y, went.Z,
			float64(rep.RotationDeg[0]), float64(rep.RotationDeg[1]), float64(rep.RotationDeg[2]))
		fmt.Fprintf(c.out, "smallest gap %.4f mm, largest overlap %.4f mm, unbalanced force %.2g N of %g N, %d places touch\n",
			s.MinGapMM, s.MaxOverlap, s.ResidualN, loadN, len(s.Contacts))
	}
	if err != nil {
		return err
	}
	if s.Status != fit.Converged {
		return fmt.Errorf("%w: %s", errNotConverged, s.Status)
	}
	return nil
}

// rigidMM is the overlap up to which bodies count as rigid.
const rigidMM = 0.0005

func aboveBelow(z float64) string {
	if z < 0 {
		return "below"
	}
	return "above"
}

func vec(v r3.Vec) [3]num { return [3]num{num(v.X), num(v.Y), num(v.Z)} }

// vecFlag reads "x,y,z".
type vecFlag struct {
	v   r3.Vec
	set bool
}

func (f *vecFlag) String() string { return "" }

func (f *vecFlag) Set(s string) error {
	n, err := numbers(s, 3)
	if err != nil {
		return err
	}
	f.v, f.set = r3.Vec{X: n[0], Y: n[1], Z: n[2]}, true
	return nil
}

// readSTL reads a mesh; a closed one whose normals point inwards is turned, and that is noted.
func readSTL(path, field string) (*mesh.Mesh, []string, error) {
	f, err := open(path, field)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	m, err := mesh.ReadSTL(f, path)
	if err != nil {
		return nil, nil, err
	}
	var notes []string
	if m.Closed() == nil && m.Volume() < 0 {
		for i, t := range m.F {
			m.F[i] = [3]int32{t[0], t[2], t[1]}
		}
		notes = append(notes, path+": the normals of this closed surface pointed inwards; it was turned inside out")
	}
	return m, notes, nil
}
