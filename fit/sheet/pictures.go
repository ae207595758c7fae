package sheet

import (
	"lastroom/device"
	"lastroom/fit"
	"lastroom/fit/drawing"
)

// pictures are the drawings of a device in its shoe; on a left one they are turned over.
type pictures struct {
	scene *drawing.Scene
	left  bool
}

// picturesOf draws a state, cut where the heel is widest, along the centre line and low over the seat. Findings are numbered as
// in the sheet's list.
func (s *Sheet) picturesOf(c *fit.Choice) pictures {
	right := *c.Device // it is computed as a right one; the sheet turns the paper
	right.Options.Side = device.Right
	scene := drawing.NewScene(c.Room, &right, c.Result, shownPose(c.Result)).With(drawing.NewScene(c.Room, &right, nil, fit.Intended).Cuts)
	scene.Selected = -1
	numbers := map[string]int{}
	for _, f := range s.Findings {
		numbers[f.key()] = f.Number
	}
	for i := range scene.Findings {
		f := findingOf(&scene.Findings[i])
		scene.Numbers = append(scene.Numbers, numbers[f.key()])
	}
	return pictures{scene, c.Device.Options.Side == device.Left}
}

// shownPose is the pose in which a device is drawn: where it comes to rest, when it does.
func shownPose(r *fit.Result) fit.PoseName {
	if r.Status != fit.Converged {
		return fit.Intended
	}
	return fit.Settled
}

func (p pictures) words() []string {
	var list []string
	for _, v := range drawing.Views {
		list = append(list, p.scene.Summary(v))
	}
	return list
}
