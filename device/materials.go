package device

// A Material is what a shell can be made of. Where a property is a range, Lo and Hi give it and the value is its
// middle. Source says how sure the row is.
type Material struct {
	Key, Name            string
	FlexuralMPa          float64
	FlexuralLo           float64
	FlexuralHi           float64
	DensityGCM3          float64
	Poisson              float64
	Formed, Milled       bool // by which process a shell is made of it
	LeastThickMM, MostMM float64
	Source               string
}

// Materials are the shell materials.
var Materials = []Material{
	{
		Key: "pp-homo", Name: "polypropylene homopolymer", FlexuralMPa: 1475, FlexuralLo: 1450, FlexuralHi: 1500,
		DensityGCM3: 0.905, Poisson: 0.42, Formed: true, Milled: true, LeastThickMM: 2, MostMM: 6,
		Source: "modulus and density: data sheets, read; Poisson: memory",
	},
	{
		Key: "pp-co", Name: "polypropylene copolymer", FlexuralMPa: 1300, FlexuralLo: 1200, FlexuralHi: 1400,
		DensityGCM3: 0.90, Poisson: 0.42, Formed: true, Milled: true, LeastThickMM: 2, MostMM: 6,
		Source: "modulus and density: data sheets, read; Poisson and range: memory",
	},
	{
		Key: "pa12", Name: "polyamide 12", FlexuralMPa: 1800, FlexuralLo: 1700, FlexuralHi: 1900,
		DensityGCM3: 1.01, Poisson: 0.40, Milled: true, LeastThickMM: 1.5, MostMM: 5,
		Source: "modulus: data sheets, read; density and Poisson: memory",
	},
	{
		Key: "pa11", Name: "polyamide 11", FlexuralMPa: 1500, FlexuralLo: 1400, FlexuralHi: 1600,
		DensityGCM3: 1.03, Poisson: 0.40, Milled: true, LeastThickMM: 1.5, MostMM: 5,
		Source: "modulus: data sheets, read; density and Poisson: memory",
	},
	{
		Key: "carbon", Name: "woven carbon laminate", FlexuralMPa: 35000, FlexuralLo: 20000, FlexuralHi: 50000,
		DensityGCM3: 1.5, Poisson: 0.10, Formed: true, LeastThickMM: 1, MostMM: 3,
		Source: "memory",
	},
}

// FindMaterial is the shell material with the key; ok is false when there is none.
func FindMaterial(key string) (m Material, ok bool) {
	for _, m := range Materials {
		if m.Key == key {
			return m, true
		}
	}
	return Material{}, false
}

// A SoftMaterial is what covers, caps and extensions are made of.
type SoftMaterial struct {
	Key, Name   string
	DensityGCM3 float64
	Source      string
}

// SoftMaterials are the materials of covers and extensions.
var SoftMaterials = []SoftMaterial{
	{"eva-soft", "soft EVA foam", 0.12, "memory"},
	{"eva-firm", "firm EVA foam", 0.22, "memory"},
	{"pu-foam", "open-cell polyurethane foam", 0.25, "memory"},
	{"leather", "leather", 0.85, "memory"},
	{"microfibre", "microfibre", 0.50, "memory"},
}

// CapMaterials are the materials of a wear layer.
var CapMaterials = []SoftMaterial{
	{"rubber", "sole rubber", 1.15, "memory"},
	{"eva-hard", "hard EVA foam", 0.30, "memory"},
	{"pp", "polypropylene sheet", 0.905, "data sheets, read"},
}

func findSoft(list []SoftMaterial, key string) SoftMaterial {
	for _, m := range list {
		if m.Key == key {
			return m
		}
	}
	return SoftMaterial{}
}

func softKeys(list []SoftMaterial) []string {
	keys := make([]string, len(list))
	for i, m := range list {
		keys[i] = m.Key
	}
	return keys
}

// SheetsMM are the thicknesses in which polypropylene sheet is sold, mm. Common practice, no source.
var SheetsMM = []float64{2, 2.5, 3, 3.2, 4, 4.8, 5, 6}

// FoamDensityGCM3 is the density of an EVA block by its hardness: 200 to 300 kg/m³ over 50 to 70 Shore A, straight
// between and beyond. From memory.
func FoamDensityGCM3(shoreA float64) float64 { return 0.2 + 0.1*(shoreA-50)/20 }

// wedgeDensity is the density of the wedge's material in g/cm³.
func (o *Options) wedgeDensity() float64 {
	switch o.WedgeMaterial {
	case EVA:
		return FoamDensityGCM3(o.WedgeHardnessShoreA)
	case SamePolymer:
		m, _ := FindMaterial(o.Material)
		return m.DensityGCM3
	default:
		m, _ := FindMaterial("pp-homo")
		return m.DensityGCM3
	}
}
