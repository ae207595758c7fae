package drawing

import (
	"image/color"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"lastroom/internal/lengths"
)

// The palette of Okabe and Ito (see the package's comment).
var (
	orange     = color.NRGBA{0xE6, 0x9F, 0x00, 0xFF}
	skyBlue    = color.NRGBA{0x56, 0xB4, 0xE9, 0xFF}
	green      = color.NRGBA{0x00, 0x9E, 0x73, 0xFF}
	blue       = color.NRGBA{0x00, 0x72, 0xB2, 0xFF}
	vermillion = color.NRGBA{0xD5, 0x5E, 0x00, 0xFF}
	purple     = color.NRGBA{0xCC, 0x79, 0xA7, 0xFF}
)

// A Palette is what a drawing is inked with on light or dark paper.
type Palette struct {
	Paper, Upper     color.NRGBA // the room's air, and the shoe's material round it
	Ink, Faint       color.NRGBA // text and walls; grid, axes
	Shell, ShellEdge color.NRGBA
	Wedge, WedgeEdge color.NRGBA
	Cover, CoverEdge color.NRGBA
	Foot             color.NRGBA
	Overlap          color.NRGBA
	OverlapWash      color.NRGBA
	OverlapText      color.NRGBA
	Cut              color.NRGBA
	Halo             color.NRGBA // under text

	lengths lengths.Unit // that words and axes are told in
}

// Light and Dark are the two palettes.
var (
	Light = Palette{
		Paper: color.NRGBA{0xFF, 0xFF, 0xFF, 0xFF}, Upper: color.NRGBA{0xE9, 0xE6, 0xE0, 0xFF},
		Ink: color.NRGBA{0x1A, 0x1A, 0x1A, 0xFF}, Faint: color.NRGBA{0x8A, 0x88, 0x84, 0xFF},
		Shell: fade(skyBlue, 0xA0), ShellEdge: blue,
		Wedge: fade(orange, 0x80), WedgeEdge: color.NRGBA{0x8A, 0x5F, 0x00, 0xFF},
		Cover: fade(green, 0x48), CoverEdge: green,
		Foot:    color.NRGBA{0x9C, 0x3F, 0x73, 0xFF}, // purple, darkened to stand out on white
		Overlap: vermillion, OverlapWash: fade(vermillion, 0x50), OverlapText: color.NRGBA{0xA8, 0x46, 0x00, 0xFF},
		Cut: color.NRGBA{0x40, 0x40, 0x40, 0xFF}, Halo: color.NRGBA{0xFF, 0xFF, 0xFF, 0xD8},
	}
	Dark = Palette{
		Paper: color.NRGBA{0x16, 0x1A, 0x1E, 0xFF}, Upper: color.NRGBA{0x2B, 0x30, 0x35, 0xFF},
		Ink: color.NRGBA{0xEC, 0xEC, 0xE8, 0xFF}, Faint: color.NRGBA{0x8C, 0x90, 0x94, 0xFF},
		Shell: fade(blue, 0xC0), ShellEdge: skyBlue,
		Wedge: fade(orange, 0x90), WedgeEdge: color.NRGBA{0xFF, 0xC8, 0x50, 0xFF},
		Cover: fade(green, 0x80), CoverEdge: color.NRGBA{0x40, 0xD0, 0xA5, 0xFF},
		Foot:    purple,
		Overlap: color.NRGBA{0xFF, 0x7A, 0x1A, 0xFF}, OverlapWash: fade(vermillion, 0x80), OverlapText: color.NRGBA{0xFF, 0x9A, 0x4D, 0xFF},
		Cut: color.NRGBA{0xC0, 0xC4, 0xC8, 0xFF}, Halo: color.NRGBA{0x16, 0x1A, 0x1E, 0xD8},
	}
)

// PaletteFor is Dark or Light.
func PaletteFor(dark bool) Palette {
	if dark {
		return Dark
	}
	return Light
}

// palette is the palette of a look.
func (l Look) palette() Palette {
	p := PaletteFor(l.Dark)
	p.lengths = l.Lengths
	return p
}

func fade(c color.NRGBA, a uint8) color.NRGBA {
	c.A = a
	return c
}

// Line styles, in points: each part is told by its own.
var (
	wallWidth  = vg.Points(1.8)
	edgeWidth  = vg.Points(1.2)
	footWidth  = vg.Points(1.8)
	thinWidth  = vg.Points(0.8)
	coverDash  = []vg.Length{vg.Points(4), vg.Points(2)}
	footDash   = []vg.Length{vg.Points(9), vg.Points(3), vg.Points(1.5), vg.Points(3)}
	cutDash    = []vg.Length{vg.Points(12), vg.Points(3), vg.Points(3), vg.Points(3)}
	leaderDash = []vg.Length{vg.Points(1), vg.Points(1.5)}
)

func sans(size vg.Length) font.Font {
	return font.Font{Typeface: "Liberation", Variant: "Sans", Size: size}
}

const (
	textSize  = vg.Length(10)
	titleSize = vg.Length(12)
)
