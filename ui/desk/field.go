package desk

import (
	"fmt"
	"strconv"
	"strings"
	"sync"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/ui/entry"
)

// Keys of the fields that are no device options.
const (
	systemKey = "size_system"
	sizeKey   = "size"
	insoleKey = "insole"
	presetKey = "preset"
	buildKey  = "wedge_build"
)

// Groups of fields that are no device options.
const (
	ShoeGroup   = "Shoe and size"
	FootGroup   = "Room for the foot"
	PresetGroup = "Prescription"
)

// A Choice is one of the values that a field may have, and what it is called.
type Choice struct{ Value, Text string }

// A Field is one thing that can be entered: a number with unit, limits and step, or one of some choices.
type Field struct {
	Key, Name, Group, Help string

	Choices []Choice // of a field that is no number

	Optional bool   // an empty number means: not known, or chosen by the program
	Empty    string // what stands in an empty field

	spec   func(Inputs) entry.Spec
	number func(*Inputs) float64
	put    func(*Inputs, float64)
	choice func(*Inputs) string
	choose func(*Inputs, string)
}

// Spec is the number's name, unit, limits and step.
func (f *Field) Spec(in Inputs) entry.Spec { return f.spec(in) }

// Number is the number that stands in the inputs.
func (f *Field) Number(in Inputs) float64 { return f.number(&in) }

// Choice is the choice that stands in the inputs.
func (f *Field) Choice(in Inputs) string { return f.choice(&in) }

// Text is the number as it is shown: empty for an optional one that is not known.
func (f *Field) Text(in Inputs) string {
	v := f.Number(in)
	if f.Optional && v == 0 {
		return ""
	}
	return f.spec(in).Format(v)
}

// start is the number that stepping starts from: an optional one that is not known starts in the middle.
func (f *Field) start(in Inputs, spec entry.Spec) float64 {
	v := f.Number(in)
	if f.Optional && v == 0 && spec.Min > 0 {
		return spec.Nearest((spec.Min + spec.Max) / 2)
	}
	return v
}

// Fields are all fields in the order in which they are shown.
func Fields() []Field { return fields() }

// FieldByKey finds a field.
func FieldByKey(key string) (*Field, bool) {
	all := fields()
	for i := range all {
		if all[i].Key == key {
			return &all[i], true
		}
	}
	return nil, false
}

var fields = sync.OnceValue(func() []Field {
	out := append(shoeFields(), footFields()...)
	out = append(out, presetField())
	for _, k := range device.Keys() {
		out = append(out, optionField(k))
	}
	return out
})

func shoeFields() []Field {
	var systems []Choice
	for _, sy := range footwear.Systems {
		systems = append(systems, Choice{string(sy), sy.Name()})
	}
	return []Field{
		{
			Key: systemKey, Name: "size system", Group: ShoeGroup, Choices: systems,
			Help:   "the number beside it is turned into the chosen system, to the nearest size that is sold",
			choice: func(in *Inputs) string { return string(in.Size.System) },
			choose: func(in *Inputs, v string) {
				if to, err := footwear.Convert(in.Size, footwear.System(v), footwear.SizeOptions{}); err == nil {
					in.Size = to.Rounded()
				}
			},
		},
		{
			Key: sizeKey, Name: "size", Group: ShoeGroup, Help: "half sizes and thirds as well: 8.5, 8 1/2, 41,5",
			spec:   func(in Inputs) entry.Spec { return sizeSpec(in.Size.System) },
			number: func(in *Inputs) float64 { return in.Size.Value },
			put:    func(in *Inputs, v float64) { in.Size.Value = v },
		},
		{
			Key: insoleKey, Name: "the shoe's own insole", Group: ShoeGroup,
			Choices: []Choice{{"out", "taken out"}, {"in", "left in"}},
			Help:    "taking it out makes room; the device then lies on the board",
			choice: func(in *Inputs) string {
				if in.InsoleIn {
					return "in"
				}
				return "out"
			},
			choose: func(in *Inputs, v string) { in.InsoleIn = v == "in" },
		},
	}
}

func sizeSpec(sy footwear.System) entry.Spec {
	lo, hi := footwear.SizeLimits(sy, footwear.SizeOptions{})
	step := 0.5
	if sy == footwear.Mondopoint {
		step = 5
	}
	return entry.Spec{Key: sizeKey, Name: "size", Unit: "", Min: lo, Max: hi, Step: step}
}

// stamped are the inputs with their shoe's stamp as it is now.
func (in Inputs) stamped(shoes *shelf.View) Inputs {
	shoe, err := shoes.Find(in.ShoeID)
	if err != nil {
		return in // which is told as a problem
	}
	in.Stamp = shoe.Stamp
	return in
}

// putShoe picks a shoe. The size stays when the shoe can be made in it; otherwise, and for a shoe with a scan, which shows
// one size, it is the shoe's own.
func (in *Inputs) putShoe(shoes *shelf.View, id string) bool {
	shoe, err := shoes.Find(id)
	if err != nil {
		return false
	}
	sheet := shoe.Sheet
	in.ShoeID, in.Stamp = id, shoe.Stamp
	if _, err := sheet.Graded(in.Size, footwear.GradeOptions{}); err != nil || shoe.Scan != "" {
		in.Size = sheet.Size
	}
	if !sheet.InsoleRemovable {
		in.InsoleIn = true
	}
	return true
}

// footFields are the measures of the foot that the room above the device is judged by. Limits are those of fit.Foot.
func footFields() []Field {
	number := func(key, name, unit string, lo, hi, step float64, empty, help string, at func(*fit.Foot) *float64) Field {
		return Field{
			Key: "foot." + key, Name: name, Group: FootGroup, Help: help, Optional: true, Empty: empty,
			spec: func(Inputs) entry.Spec {
				return entry.Spec{Key: key, Name: name, Unit: unit, Min: lo, Max: hi, Step: step}
			},
			number: func(in *Inputs) float64 { return *at(&in.Foot) },
			put:    func(in *Inputs, v float64) { *at(&in.Foot) = v },
		}
	}
	a := fit.DefaultAxis()
	axis := func(key, name string, usual float64, band [2]float64, at func(*Inputs) *float64) Field {
		return Field{
			Key: key, Name: name, Group: FootGroup, Optional: true, Empty: fmt.Sprintf("average, %.0f°", usual),
			Help: fmt.Sprintf("of the subtalar joint axis: levers are counted about it; people %.0f to %.0f° (Isman & Inman 1969, from memory)", band[0], band[1]),
			spec: func(Inputs) entry.Spec {
				return entry.Spec{Key: key, Name: name, Unit: "°", Min: 1, Max: 85, Step: 1}
			},
			number: func(in *Inputs) float64 { return *at(in) },
			put:    func(in *Inputs, v float64) { *at(in) = v },
		}
	}
	const fromLength = "from length"
	return []Field{
		{
			Key: "foot.sex", Name: "averages of", Group: FootGroup, Help: "what is not measured is filled in from these",
			Choices: []Choice{{"man", "men"}, {"woman", "women"}, {"child", "children"}},
			choice: func(in *Inputs) string {
				if in.Foot.Sex == "" {
					return "man"
				}
				return in.Foot.Sex
			},
			choose: func(in *Inputs, v string) { in.Foot.Sex = v },
		},
		number("length_mm", "foot length", "mm", 90, 340, 1, "as the device",
			"heel to longest toe, standing", func(f *fit.Foot) *float64 { return &f.LengthMM }),
		number("ankle_height_mm", "outer ankle bone", "mm", 25, 110, 1, fromLength,
			"height of its lowest edge above the ground, standing", func(f *fit.Foot) *float64 { return &f.AnkleHeightMM }),
		number("instep_height_mm", "instep height", "mm", 25, 110, 1, "not known",
			"does not follow from length; without it the height that is left is told", func(f *fit.Foot) *float64 { return &f.InstepHeightMM }),
		number("ball_height_mm", "height at the joints", "mm", 15, 80, 1, fromLength,
			"of the big toe's joint", func(f *fit.Foot) *float64 { return &f.BallHeightMM }),
		number("toe_height_mm", "toe height", "mm", 8, 50, 1, "not known",
			"of the big toe", func(f *fit.Foot) *float64 { return &f.ToeHeightMM }),
		number("body_mass_kg", "body mass", "kg", 8, 250, 1, "average",
			"loads the device when it settles", func(f *fit.Foot) *float64 { return &f.BodyMassKG }),
		axis("axis_inclination_deg", "joint axis, up", a.InclinationDeg, a.InclinationBand, func(in *Inputs) *float64 { return &in.AxisInclinationDeg }),
		axis("axis_deviation_deg", "joint axis, medially", a.DeviationDeg, a.DeviationBand, func(in *Inputs) *float64 { return &in.AxisDeviationDeg }),
	}
}

func presetField() Field {
	var choices []Choice
	for _, p := range device.Presets() {
		choices = append(choices, Choice{p.ID, p.Name})
	}
	return Field{
		Key: presetKey, Name: "start from", Group: PresetGroup, Choices: choices,
		Help:   "sets every option; each can then be changed",
		choice: func(in *Inputs) string { return in.PresetID },
		choose: func(in *Inputs, v string) {
			for _, p := range device.Presets() {
				if p.ID == v {
					in.PresetID, in.Device = v, p.Options
				}
			}
		},
	}
}

// optionField is the field of a device option.
func optionField(k device.Key) Field {
	f := Field{Key: k.Key, Name: lowerFirst(k.Name), Group: k.Group, Help: k.Help, Optional: k.Automatic, Empty: "automatic"}
	if len(k.Choices) > 0 {
		for _, c := range k.Choices {
			f.Choices = append(f.Choices, Choice{c, strings.ReplaceAll(c, "-", " ")})
		}
		f.choice = func(in *Inputs) string { return in.Device.Get(k.Key) }
		f.choose = func(in *Inputs, v string) { set(in, k.Key, v) }
		return f
	}
	spec := entry.Spec{Key: k.Key, Name: f.Name, Unit: k.Unit, Min: k.Min, Max: k.Max, Step: k.Step}
	f.spec = func(Inputs) entry.Spec { return spec }
	f.number = func(in *Inputs) float64 { return in.Device.Number(k.Key) }
	f.put = func(in *Inputs, v float64) { set(in, k.Key, strconv.FormatFloat(v, 'g', -1, 64)) }
	return f
}

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// set changes an option, unless the device refuses it: the limits have been checked before.
func set(in *Inputs, key, value string) {
	o := in.Device
	if o.Set(key, value) == nil {
		in.Device = o
	}
}
