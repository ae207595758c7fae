package device

// Options is a prescription: everything that decides the shape and the weight of a device. Lengths are millimetres,
// angles degrees. Zero in the fields marked "0: automatic" means that the device chooses (Resolved fills them in).
// Start from Default; the zero value is no device and Validate says why.
type Options struct {
	Side string `json:"side"` // right, left: only a label here, the solid is always the right one

	// The foot it is made for.
	Sex                string  `json:"sex"` // man, woman: which averages fill in what is left automatic
	FootLengthMM       float64 `json:"foot_length_mm"`
	HeelWidthMM        float64 `json:"heel_width_mm"` // 0: automatic
	ArchHeightMM       float64 `json:"arch_height_mm"`
	HeelRiseMM         float64 `json:"heel_rise_mm"` // of the shoe it is made for
	HeelRaiseMM        float64 `json:"heel_raise_mm"`
	TiltDeg            float64 `json:"tilt_deg"` // whole heel inverted (+) or everted (−)
	Process            string  `json:"process"`  // formed, milled
	Material           string  `json:"material"` // key of a Material
	ShellThicknessMM   float64 `json:"shell_thickness_mm"`
	CupThinningPercent float64 `json:"cup_thinning_percent"`

	// Outline of the shell.
	CupDepthMM      float64 `json:"cup_depth_mm"`
	ArchFlangeMM    float64 `json:"arch_flange_mm"` // 0: automatic
	LateralFlangeMM float64 `json:"lateral_flange_mm"`
	WidthTrimMM     float64 `json:"width_trim_mm"`
	FrontTrimMM     float64 `json:"front_trim_mm"`

	// Heel wedge.
	WedgeBuild          string  `json:"wedge_build"`     // block, flat, open, fore-bar
	WedgeWidthMM        float64 `json:"wedge_width_mm"`  // 0: automatic
	WedgeLengthMM       float64 `json:"wedge_length_mm"` // 0: automatic
	WedgeStartMM        float64 `json:"wedge_start_mm"`  // 0: automatic
	WedgeBarMM          float64 `json:"wedge_bar_mm"`    // 0: automatic
	WedgeMinThicknessMM float64 `json:"wedge_min_thickness_mm"`
	ContactAngleDeg     float64 `json:"contact_angle_deg"`
	MotionDeg           float64 `json:"motion_deg"`
	BevelMedialDeg      float64 `json:"bevel_medial_deg"`
	BevelLateralDeg     float64 `json:"bevel_lateral_deg"`
	BevelBackDeg        float64 `json:"bevel_back_deg"`
	BevelFrontDeg       float64 `json:"bevel_front_deg"`
	WedgeMaterial       string  `json:"wedge_material"`         // auto, same, polypropylene, eva
	WedgeHardnessShoreA float64 `json:"wedge_hardness_shore_a"` // 0: automatic
	CapMM               float64 `json:"cap_mm"`
	CapMaterial         string  `json:"cap_material"`

	// Soft parts.
	CoverExtent       string  `json:"cover_extent"` // none, front-edge, toe-crease, full
	CoverMaterial     string  `json:"cover_material"`
	CoverHeelMM       float64 `json:"cover_heel_mm"`
	CoverFrontMM      float64 `json:"cover_front_mm"`
	Extension         string  `json:"extension"` // none, toe-crease, full
	ExtensionMM       float64 `json:"extension_mm"`
	ExtensionMaterial string  `json:"extension_material"`
}

// The choices of the options that are words.
const (
	Right = "right"
	Left  = "left"

	Man   = "man"
	Woman = "woman"

	Formed = "formed" // a sheet pressed over a model
	Milled = "milled" // made in one piece with its wedge, cut or printed

	Block   = "block"
	Flat    = "flat"
	Open    = "open"
	ForeBar = "fore-bar"

	Auto          = "auto"
	SamePolymer   = "same"
	Polypropylene = "polypropylene"
	EVA           = "eva"

	None       = "none"
	FrontEdgeX = "front-edge"
	ToeCrease  = "toe-crease"
	Full       = "full"
)

// Default is a plain device for a man's foot of 266 mm: 3 mm polypropylene, a block with the usual bevels, no motion.
func Default() Options {
	return Options{
		Side: Right, Sex: Man, FootLengthMM: 266, ArchHeightMM: 25, HeelRiseMM: 10,
		Process: Formed, Material: "pp-homo", ShellThicknessMM: 3, CupThinningPercent: 15,
		CupDepthMM: 14, LateralFlangeMM: 6, WidthTrimMM: 22, FrontTrimMM: 8,
		WedgeBuild: Block, WedgeMinThicknessMM: 2,
		BevelMedialDeg: 30, BevelLateralDeg: 30, BevelBackDeg: 30, BevelFrontDeg: 30,
		WedgeMaterial: Auto, CapMaterial: "rubber",
		CoverExtent: ToeCrease, CoverMaterial: "eva-soft", CoverHeelMM: 1.5, CoverFrontMM: 1.5,
		Extension: None, ExtensionMM: 3, ExtensionMaterial: "eva-soft",
	}
}

// Shares that fill in automatic measures. Common practice, no source.
const (
	archFlangeShare  = 0.80 // of the arch's height
	wedgeLengthShare = 0.24 // of foot length
	wedgeBarShare    = 0.08 // of foot length
	wedgeWidthShare  = 0.86 // of the outer width of the cup at its rim
)

// grounded says whether the shell's own underside is the base: it has no block or bar.
func (o *Options) grounded() bool { return o.WedgeBuild == Flat || o.WedgeBuild == Open }

// HasCover says whether there is a cover.
func (o *Options) HasCover() bool {
	return o.CoverExtent != None && (o.CoverHeelMM > 0 || o.CoverFrontMM > 0)
}

// HasExtension says whether there is a forefoot extension.
func (o *Options) HasExtension() bool { return o.Extension != None && o.ExtensionMM > 0 }

// filled has what the foot and the build decide filled in; the wedge's width and start follow from the shape (lay).
func filled(o Options) Options {
	if o.HeelWidthMM == 0 {
		o.HeelWidthMM = heelBreadthMM(o.Sex != Woman, o.FootLengthMM)
	}
	if o.ArchFlangeMM == 0 {
		o.ArchFlangeMM = archFlangeShare * o.ArchHeightMM
	}
	if o.WedgeMaterial == Auto {
		o.WedgeMaterial = Polypropylene
		if o.Process == Milled {
			o.WedgeMaterial = SamePolymer
		}
	}
	if o.WedgeMaterial == EVA && o.WedgeHardnessShoreA == 0 {
		o.WedgeHardnessShoreA = 60
	}
	if o.grounded() {
		return o
	}
	if o.WedgeLengthMM == 0 {
		o.WedgeLengthMM = wedgeLengthShare * o.FootLengthMM
	}
	if o.WedgeBuild == ForeBar && o.WedgeBarMM == 0 {
		o.WedgeBarMM = wedgeBarShare * o.FootLengthMM
	}
	return o
}

// Resolved is the same prescription with every automatic measure filled in, as Build makes it; unchanged where the
// options break a rule.
func (o Options) Resolved() Options {
	if len(o.Validate()) > 0 {
		return o
	}
	l, ps := lay(o)
	if ps != nil {
		return o
	}
	return l.o
}
