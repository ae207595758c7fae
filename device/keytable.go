package device

// Groups of options, in order.
const (
	groupFoot  = "Foot and shoe"
	groupShell = "Shell"
	groupWedge = "Heel wedge"
	groupBevel = "Bevels"
	groupSoft  = "Cover and extension"
)

// shellMaterialKeys are the choices of the shell's material.
func shellMaterialKeys() []string {
	var list []string
	for _, m := range Materials {
		list = append(list, m.Key)
	}
	return list
}

var keys = []Key{
	{
		Key: "side", Name: "Side", Choices: []string{Right, Left}, Group: groupFoot,
		Help: "Which foot. A left device is the mirror image of the right one and fits the same.",
		word: func(o *Options) *string { return &o.Side },
	},
	{
		Key: "sex", Name: "Averages of", Choices: []string{Man, Woman}, Group: groupFoot,
		Help: "Whose average foot fills in breadth and heel width where they are not given.",
		word: func(o *Options) *string { return &o.Sex },
	},
	{
		Key: "foot_length_mm", Name: "Foot length", Unit: "mm", Min: 90, Max: 340, Step: 1, Group: groupFoot,
		Help:   "Length of the standing foot; it sets the length and all proportions of the device.",
		number: func(o *Options) *float64 { return &o.FootLengthMM },
	},
	{
		Key: "heel_width_mm", Name: "Heel width", Unit: "mm", Min: 25, Max: 100, Step: 1, Automatic: true, Group: groupFoot,
		Help:   "Width of the standing heel by calliper. The cup is made a little narrower, since it gathers the heel. 0 takes the average for the length.",
		number: func(o *Options) *float64 { return &o.HeelWidthMM },
	},
	{
		Key: "arch_height_mm", Name: "Arch height", Unit: "mm", Min: 8, Max: 50, Step: 1, Group: groupFoot,
		Help:   "Height of the arch at its medial edge over the line from heel to front edge. It does not follow from foot length: measure it.",
		number: func(o *Options) *float64 { return &o.ArchHeightMM },
	},
	{
		Key: "heel_rise_mm", Name: "Made for a heel rise of", Unit: "mm", Min: 0, Max: 90, Step: 1, Group: groupFoot,
		Help:   "Rise of the shoe that the device is made for; the front edge comes down to that shoe's board. In another shoe it rocks or stands off.",
		number: func(o *Options) *float64 { return &o.HeelRiseMM },
	},
	{
		Key: "heel_raise_mm", Name: "Heel raise", Unit: "mm", Min: 0, Max: 20, Step: 0.5, Group: groupWedge,
		Help:   "Lifts the heel by thickening the wedge, running out to the front edge. About 6 mm fit in a low shoe, 3 to 4 mm in a slip-on.",
		number: func(o *Options) *float64 { return &o.HeelRaiseMM },
	},
	{
		Key: "process", Name: "Made by", Choices: []string{Formed, Milled}, Group: groupShell,
		Help: "Formed: a sheet pressed over a model, the wedge is added. Milled: cut or printed in one piece with its wedge.",
		word: func(o *Options) *string { return &o.Process },
	},
	{
		Key: "material", Name: "Material", Choices: shellMaterialKeys(), Group: groupShell,
		Help: "What the shell is made of; it sets stiffness and weight.",
		word: func(o *Options) *string { return &o.Material },
	},
	{
		Key: "shell_thickness_mm", Name: "Thickness", Unit: "mm", Min: 1, Max: 6, Step: 0.1, Group: groupShell,
		Help:   "Thickness of the sheet, or of the milled shell between cup and front edge. Thicker is stiffer, higher and wider in the counter.",
		number: func(o *Options) *float64 { return &o.ShellThicknessMM },
	},
	{
		Key: "cup_thinning_percent", Name: "Thinning in the cup", Unit: "%", Min: 0, Max: 30, Step: 1, Group: groupShell,
		Help:   "How much a formed sheet thins in the cup; 10 to 25 % in a deep one. A milled shell does not thin.",
		number: func(o *Options) *float64 { return &o.CupThinningPercent },
	},
	{
		Key: "cup_depth_mm", Name: "Cup depth", Unit: "mm", Min: 5, Max: 35, Step: 1, Group: groupShell,
		Help:   "Height of the cup's rim over its lowest point. A deeper cup holds the heel better and is wider at the rim.",
		number: func(o *Options) *float64 { return &o.CupDepthMM },
	},
	{
		Key: "arch_flange_mm", Name: "Arch flange", Unit: "mm", Min: 3, Max: 55, Step: 1, Automatic: true, Group: groupShell,
		Help:   "Height of the medial edge at the top of the arch, over the same line as the arch's height. 0 takes four fifths of the arch.",
		number: func(o *Options) *float64 { return &o.ArchFlangeMM },
	},
	{
		Key: "lateral_flange_mm", Name: "Lateral flange", Unit: "mm", Min: 1, Max: 30, Step: 1, Group: groupShell,
		Help:   "Height of the lateral edge in front of the cup, over the line from heel to front edge.",
		number: func(o *Options) *float64 { return &o.LateralFlangeMM },
	},
	{
		Key: "width_trim_mm", Name: "Width trim", Unit: "mm", Min: 0, Max: 40, Step: 1, Group: groupShell,
		Help:   "How much narrower than the foot's ball the front edge is, both sides together. More fits a narrow shank.",
		number: func(o *Options) *float64 { return &o.WidthTrimMM },
	},
	{
		Key: "front_trim_mm", Name: "Front trim", Unit: "mm", Min: 0, Max: 40, Step: 1, Group: groupShell,
		Help:   "How far behind the metatarsal heads the front edge ends on the heel bisection; usually 5 to 10 mm.",
		number: func(o *Options) *float64 { return &o.FrontTrimMM },
	},
	{
		Key: "wedge_build", Name: "Build", Choices: []string{Block, Flat, Open, ForeBar}, Group: groupWedge,
		Help: "Block under the whole cup; flat: the underside ground flat; open: ground through, sits lowest; fore bar: only the front of the block, for tight seats.",
		word: func(o *Options) *string { return &o.WedgeBuild },
	},
	{
		Key: "wedge_width_mm", Name: "Width at the cup", Unit: "mm", Min: 20, Max: 100, Step: 1, Automatic: true, Group: groupWedge,
		Help:   "Width of the wedge where its sides leave the cup: what the base would be with upright sides. 0 suits the cup.",
		number: func(o *Options) *float64 { return &o.WedgeWidthMM },
	},
	{
		Key: "wedge_length_mm", Name: "Base ends at", Unit: "mm", Min: 20, Max: 150, Step: 1, Automatic: true, Group: groupWedge,
		Help:   "Front end of the base, from the back of the device. A longer base steadies more. 0 takes 24 % of foot length.",
		number: func(o *Options) *float64 { return &o.WedgeLengthMM },
	},
	{
		Key: "wedge_start_mm", Name: "Starts at", Unit: "mm", Min: 0.5, Max: 40, Step: 0.5, Automatic: true, Group: groupWedge,
		Help:   "How far in front of the back of the device the block leaves the cup. 0 suits the cup.",
		number: func(o *Options) *float64 { return &o.WedgeStartMM },
	},
	{
		Key: "wedge_bar_mm", Name: "Bar length", Unit: "mm", Min: 8, Max: 60, Step: 1, Automatic: true, Group: groupWedge,
		Help:   "Length of a fore bar's base, back from where the base ends. 0 takes 8 % of foot length.",
		number: func(o *Options) *float64 { return &o.WedgeBarMM },
	},
	{
		Key: "wedge_min_thickness_mm", Name: "Least thickness", Unit: "mm", Min: 0.5, Max: 15, Step: 0.5, Group: groupWedge,
		Help:   "Least thickness of a block under the shell. A bar runs out on the cup and has none.",
		number: func(o *Options) *float64 { return &o.WedgeMinThicknessMM },
	},
	{
		Key: "contact_angle_deg", Name: "Contact angle", Unit: "°", Min: 0, Max: 10, Step: 0.5, Group: groupWedge,
		Help:   "How much the lateral part of the base is inverted, so that the heel lands inverted. 0 is a plain flat base.",
		number: func(o *Options) *float64 { return &o.ContactAngleDeg },
	},
	{
		Key: "motion_deg", Name: "Motion", Unit: "°", Min: 0, Max: 10, Step: 0.5, Group: groupWedge,
		Help:   "How far the device rolls from the lateral to the medial part of the base. Inside a shoe it can't be predicted.",
		number: func(o *Options) *float64 { return &o.MotionDeg },
	},
	{
		Key: "tilt_deg", Name: "Tilt", Unit: "°", Min: -10, Max: 15, Step: 0.5, Group: groupWedge,
		Help:   "Tilts the whole heel on its wedge: inverted is positive, everted negative. It runs out to the front edge.",
		number: func(o *Options) *float64 { return &o.TiltDeg },
	},
	{
		Key: "wedge_material", Name: "Wedge material", Choices: []string{Auto, SamePolymer, Polypropylene, EVA}, Group: groupWedge,
		Help: "Added to a formed shell: polypropylene or EVA foam. A milled shell's wedge is of its own polymer (same).",
		word: func(o *Options) *string { return &o.WedgeMaterial },
	},
	{
		Key: "wedge_hardness_shore_a", Name: "Foam hardness", Unit: "Shore A", Min: 20, Max: 90, Step: 5, Automatic: true, Group: groupWedge,
		Help:   "Hardness of a foam wedge. Soft foam softens heel contact and wears, first at the lateral edge. 0 takes 60.",
		number: func(o *Options) *float64 { return &o.WedgeHardnessShoreA },
	},
	{
		Key: "cap_mm", Name: "Cap", Unit: "mm", Min: 0, Max: 4, Step: 0.5, Group: groupWedge,
		Help:   "Thickness of a wear layer under a foam block; it adds to the height.",
		number: func(o *Options) *float64 { return &o.CapMM },
	},
	{
		Key: "cap_material", Name: "Cap material", Choices: softKeys(CapMaterials), Group: groupWedge,
		Help: "What the wear layer is made of.",
		word: func(o *Options) *string { return &o.CapMaterial },
	},
	{
		Key: "bevel_medial_deg", Name: "Medial", Unit: "°", Min: 0, Max: 60, Step: 1, Group: groupBevel,
		Help:   "From the perpendicular of the base: 0 is an upright side, 30 the usual one. More is the first cure for a tight shoe; an upright medial side braces a strongly pronated foot.",
		number: func(o *Options) *float64 { return &o.BevelMedialDeg },
	},
	{
		Key: "bevel_lateral_deg", Name: "Lateral", Unit: "°", Min: 0, Max: 60, Step: 1, Group: groupBevel,
		Help:   "The same on the lateral side. An upright one lengthens the lateral lever at heel contact: for lateral instability.",
		number: func(o *Options) *float64 { return &o.BevelLateralDeg },
	},
	{
		Key: "bevel_back_deg", Name: "Back", Unit: "°", Min: 0, Max: 60, Step: 1, Group: groupBevel,
		Help:   "The same at the back of a block or bar. More clears the corner between seat and counter.",
		number: func(o *Options) *float64 { return &o.BevelBackDeg },
	},
	{
		Key: "bevel_front_deg", Name: "Front", Unit: "°", Min: 0, Max: 60, Step: 1, Group: groupBevel,
		Help:   "The same at the front end, from the base's end forward and up. It does not shorten the base.",
		number: func(o *Options) *float64 { return &o.BevelFrontDeg },
	},
	{
		Key: "cover_extent", Name: "Cover to", Choices: []string{None, FrontEdgeX, ToeCrease, Full}, Group: groupSoft,
		Help: "How far the cover goes: to the shell's front edge, to the crease under the toes, or the full length.",
		word: func(o *Options) *string { return &o.CoverExtent },
	},
	{
		Key: "cover_material", Name: "Cover material", Choices: softKeys(SoftMaterials), Group: groupSoft,
		Help: "What the cover is made of.",
		word: func(o *Options) *string { return &o.CoverMaterial },
	},
	{
		Key: "cover_heel_mm", Name: "Cover at the heel", Unit: "mm", Min: 0, Max: 8, Step: 0.5, Group: groupSoft,
		Help:   "Thickness of the cover in the cup; it lifts the heel in the counter. 0 here and at the front is no cover.",
		number: func(o *Options) *float64 { return &o.CoverHeelMM },
	},
	{
		Key: "cover_front_mm", Name: "Cover at the front", Unit: "mm", Min: 0, Max: 8, Step: 0.5, Group: groupSoft,
		Help:   "Thickness of the cover from the front edge forward; it takes depth at ball and toes.",
		number: func(o *Options) *float64 { return &o.CoverFrontMM },
	},
	{
		Key: "extension", Name: "Forefoot extension to", Choices: []string{None, ToeCrease, Full}, Group: groupSoft,
		Help: "A pad on the board in front of the shell, under the cover.",
		word: func(o *Options) *string { return &o.Extension },
	},
	{
		Key: "extension_mm", Name: "Extension thickness", Unit: "mm", Min: 1.5, Max: 8, Step: 0.5, Group: groupSoft,
		Help:   "Thickness of the forefoot extension; it takes depth at ball and toes.",
		number: func(o *Options) *float64 { return &o.ExtensionMM },
	},
	{
		Key: "extension_material", Name: "Extension material", Choices: softKeys(SoftMaterials), Group: groupSoft,
		Help: "What the extension is made of.",
		word: func(o *Options) *string { return &o.ExtensionMaterial },
	},
}
