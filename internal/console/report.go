package console

import (
	"lastroom/device"
	"lastroom/fit"
)

// fitReport is the JSON of `fit` and `demo`: format lastroom-fit, version 1.
type fitReport struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
	Program string `json:"program"`
	Shoe    string `json:"shoe"`
	Size    string `json:"size"`
	Insole  string `json:"insole"` // in, out, as scanned
	Device  string `json:"device"`
	Side    string `json:"side"`

	Status         fit.Status  `json:"status"`
	ResidualN      num         `json:"residual_n"`
	Verdict        verdictJSON `json:"verdict"`
	RideUpMM       num         `json:"ride_up_mm"`
	TiltFrontalDeg num         `json:"tilt_frontal_deg"` // inverted positive
	PitchDeg       num         `json:"pitch_deg"`        // heel up positive
	SlipForwardMM  num         `json:"slip_forward_mm"`

	Findings []findingJSON `json:"findings"`
	Base     baseJSON      `json:"base"`
	FootRoom []roomJSON    `json:"foot_room"`
	Foot     footJSON      `json:"foot"`
	Pictures []string      `json:"pictures,omitempty"`
	Caution  string        `json:"caution"`
}

type verdictJSON struct {
	State    fit.State `json:"state"`
	Sentence string    `json:"sentence"`
	Limits   string    `json:"limits"`
	Odds     num       `json:"odds"`
}

type findingJSON struct {
	Feature     string       `json:"feature"`
	Zone        string       `json:"zone"`
	Side        string       `json:"side"`
	Pose        fit.PoseName `json:"pose"`
	RollDeg     num          `json:"roll_deg"`
	GapMM       num          `json:"gap_mm"`
	PlusMinusMM num          `json:"plus_minus_mm"`
	GiveMM      num          `json:"give_mm"`
	AimMM       num          `json:"aim_mm"`
	Bearing     bool         `json:"bearing"`
	State       fit.State    `json:"state"`
	Odds        num          `json:"odds"`
	AtMM        [3]num       `json:"at_mm"`
	WallMM      [3]num       `json:"wall_mm"`
	AreaMM2     num          `json:"area_mm2"`
	VolumeMM3   num          `json:"volume_mm3"`
	Grind       *grindJSON   `json:"grind,omitempty"`
}

type grindJSON struct {
	DepthMM   num    `json:"depth_mm"`
	Direction [3]num `json:"direction"` // device frame, into the device
}

type baseJSON struct {
	WidthMM    num `json:"width_mm"`
	MedialMM   num `json:"medial_mm"`
	LateralMM  num `json:"lateral_mm"`
	AreaMM2    num `json:"area_mm2"`
	Rotational num `json:"rotational_stiffness_nmm_per_rad"`
	RockGapMM  num `json:"rock_gap_mm"`
}

type roomJSON struct {
	Key    string    `json:"key"`
	Name   string    `json:"name"`
	LeftMM num       `json:"left_mm"`
	NeedMM num       `json:"need_mm"`
	Known  bool      `json:"known"`
	State  fit.State `json:"state,omitempty"`
	Note   string    `json:"note"`
}

type footJSON struct {
	LengthMM       num    `json:"length_mm"`
	Sex            string `json:"sex"`
	AnkleHeightMM  num    `json:"ankle_height_mm"`
	InstepHeightMM num    `json:"instep_height_mm,omitempty"`
	BallHeightMM   num    `json:"ball_height_mm"`
	ToeHeightMM    num    `json:"toe_height_mm,omitempty"`
	BodyMassKG     num    `json:"body_mass_kg"`
}

func (j *job) report(r *fit.Result, pictures []string) fitReport {
	insole := "in"
	switch {
	case j.scan != nil:
		insole = "as scanned"
	case j.insoleOut:
		insole = "out"
	}
	rep := fitReport{
		Format: "lastroom-fit", Version: 1, Program: fit.Version, Shoe: j.sheet.ID, Size: j.sheet.Size.String(), Insole: insole,
		Device: j.device, Side: j.options.Side, Status: r.Status, ResidualN: num(r.ResidualN),
		Verdict:  verdictJSON{r.Verdict.State, r.Verdict.Sentence, r.Verdict.Limits, num(r.Verdict.Odds)},
		RideUpMM: num(r.RideUpMM), TiltFrontalDeg: num(r.TiltFrontalDeg), PitchDeg: num(r.PitchDeg), SlipForwardMM: num(r.SlipForwardMM),
		Base: baseJSON{
			num(r.Base.WidthMM), num(r.Base.MedialMM), num(r.Base.LateralMM), num(r.Base.AreaMM2),
			num(r.Base.RotationalNMMPerRad), num(r.Base.RockGapMM),
		},
		Foot: footJSON{
			num(r.Foot.LengthMM), r.Foot.Sex, num(r.Foot.AnkleHeightMM), num(r.Foot.InstepHeightMM), num(r.Foot.BallHeightMM),
			num(r.Foot.ToeHeightMM), num(r.Foot.BodyMassKG),
		},
		Findings: findingsJSON(r, j.options.Side == device.Left), Pictures: pictures, Caution: fit.Caution,
	}
	for _, q := range r.FootRoom {
		q := roomJSON{q.Key, q.Name, num(q.LeftMM), num(q.NeedMM), q.Known, q.State, q.Note}
		if !q.Known {
			q.State = ""
		}
		rep.FootRoom = append(rep.FootRoom, q)
	}
	return rep
}

// findingsJSON are the findings of a result; the room of a left shoe is the mirror image in Y.
func findingsJSON(r *fit.Result, left bool) []findingJSON {
	list := []findingJSON{}
	for i := range r.Findings {
		f := &r.Findings[i]
		at, wall, dir := f.At, f.Wall, f.GrindDirection
		if left {
			at.Y, wall.Y, dir.Y = -at.Y, -wall.Y, -dir.Y
		}
		fj := findingJSON{
			Feature: f.Feature.String(), Zone: f.Zone.String(), Side: f.Side, Pose: f.Pose, RollDeg: num(f.RollDeg), GapMM: num(f.GapMM),
			PlusMinusMM: num(f.PlusMinusMM), GiveMM: num(f.GiveMM), AimMM: num(f.AimMM), Bearing: f.Bearing, State: f.State, Odds: num(f.Odds),
			AtMM: vec(at), WallMM: vec(wall), AreaMM2: num(f.AreaMM2), VolumeMM3: num(f.VolumeMM3),
		}
		if f.GrindDepthMM > 0 {
			fj.Grind = &grindJSON{num(f.GrindDepthMM), vec(dir)}
		}
		list = append(list, fj)
	}
	return list
}
