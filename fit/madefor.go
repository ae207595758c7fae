package fit

import (
	"strings"

	"lastroom/device"
	"lastroom/footwear"
)

// MadeFor is a prescription for the foot that a shoe's size stands for, and for the heel rise of that shoe: what a preset
// becomes when it is chosen for a shoe and nothing else is known of the foot.
func MadeFor(o device.Options, s footwear.Sheet) (device.Options, error) {
	foot, err := footwear.FootLengthMM(s.Size, sizesOf(s))
	if err != nil {
		return o, err
	}
	o.FootLengthMM, o.HeelRiseMM = foot, s.V(footwear.HeelRise)
	return o, nil
}

// sizesOf settles how the sizes of a shoe are read.
func sizesOf(s footwear.Sheet) footwear.SizeOptions {
	return footwear.SizeOptions{Child: s.Size.System.Child() || strings.Contains(s.Kind, "child")}
}
