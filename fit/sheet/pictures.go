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

// picturesOf draws a state, cut through the worst place of the state before, so that both can be compared.
func picturesOf(c, before *fit.Choice) pictures {
	right := *c.Device // it is computed as a right one; the sheet turns the paper
	right.Options.Side = device.Right
	pose := fit.Settled
	if c.Result.Status != fit.Converged {
		pose = fit.Intended
	}
	s := drawing.NewScene(c.Room, &right, c.Result, pose)
	first := drawing.NewScene(before.Room, &right, before.Result, fit.Intended)
	return pictures{s.With(first.Cuts), c.Device.Options.Side == device.Left}
}

func (p pictures) words() []string {
	var list []string
	for _, v := range drawing.Views {
		list = append(list, p.scene.Summary(v))
	}
	return list
}
