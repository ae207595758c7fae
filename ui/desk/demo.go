package desk

import (
	"lastroom/device"
	"lastroom/footwear"
)

// Demo is the case that the window opens on: an everyday block in a dress shoe with a narrow seat. Invented.
func Demo() Inputs {
	in := Inputs{InsoleIn: true, Size: footwear.Size{System: footwear.EU, Value: 42}, PresetID: "everyday-block", Device: device.Default()}
	in.putShoe("lace-dress")
	if f, ok := FieldByKey(presetKey); ok {
		f.choose(&in, in.PresetID)
	}
	return in
}
