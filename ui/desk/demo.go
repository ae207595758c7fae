package desk

import (
	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
)

// Demo is fit.Demo as it is entered.
func Demo() Inputs {
	size, err := footwear.ParseSize(fit.Demo.Size)
	if err != nil {
		panic("desk: the demo case has no size: " + err.Error())
	}
	in := Inputs{InsoleIn: true, Size: size, PresetID: fit.Demo.PresetID, Device: device.Default()}
	in.putShoe(nil, fit.Demo.ShoeID)
	if f, ok := FieldByKey(presetKey); ok {
		f.choose(&in, in.PresetID)
		in.madeFor(nil)
		in.Ordered = in.Device
	}
	return in
}
