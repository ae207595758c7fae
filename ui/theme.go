package ui

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lastroom/fit/drawing"
	"lastroom/internal/lengths"
	"lastroom/ui/desk"
)

// paper is the window's theme: warm paper or dark slate, small type, state colours from the palette of Okabe and Ito
// (2008, values from memory), darkened or lightened where text needs contrast. It also
// has the unit that lengths are told in: what changes it has everything shown anew, as another colour has.
type paper struct {
	look    desk.Look
	lengths lengths.Unit
}

// Colour names of our own.
const (
	colorClear   fyne.ThemeColorName = "lastroom-clear"
	colorSnug    fyne.ThemeColorName = "lastroom-snug"
	colorUnsure  fyne.ThemeColorName = "lastroom-unsure"
	colorBlocked fyne.ThemeColorName = "lastroom-blocked"
	colorWait    fyne.ThemeColorName = "lastroom-wait"
	colorBand    fyne.ThemeColorName = "lastroom-band"
)

type shades struct{ light, dark color.NRGBA }

func rgb(v uint32) color.NRGBA {
	return color.NRGBA{R: uint8(v >> 16), G: uint8(v >> 8), B: uint8(v), A: 0xFF}
}

var colours = map[fyne.ThemeColorName]shades{
	theme.ColorNameBackground:        {rgb(0xF3F1EC), rgb(0x1B2025)},
	theme.ColorNameForeground:        {rgb(0x1C1C1A), rgb(0xECECE8)},
	theme.ColorNameInputBackground:   {rgb(0xFFFFFF), rgb(0x12161A)},
	theme.ColorNameInputBorder:       {rgb(0xBDB8AE), rgb(0x4A525A)},
	theme.ColorNameButton:            {rgb(0xE4E0D8), rgb(0x2C343B)},
	theme.ColorNamePrimary:           {rgb(0x0063A0), rgb(0x56B4E9)},
	theme.ColorNameFocus:             {color.NRGBA{0x00, 0x72, 0xB2, 0x60}, color.NRGBA{0x56, 0xB4, 0xE9, 0x60}},
	theme.ColorNameSelection:         {color.NRGBA{0x56, 0xB4, 0xE9, 0x48}, color.NRGBA{0x56, 0xB4, 0xE9, 0x38}},
	theme.ColorNameHover:             {color.NRGBA{0x00, 0x00, 0x00, 0x10}, color.NRGBA{0xFF, 0xFF, 0xFF, 0x14}},
	theme.ColorNameSeparator:         {rgb(0xD5D0C6), rgb(0x343C44)},
	theme.ColorNamePlaceHolder:       {rgb(0x6A675F), rgb(0x9AA2AA)},
	theme.ColorNameDisabled:          {rgb(0x8C887F), rgb(0x707880)},
	theme.ColorNameScrollBar:         {rgb(0x8C887F), rgb(0x707880)},
	theme.ColorNameMenuBackground:    {rgb(0xFAF9F6), rgb(0x232A30)},
	theme.ColorNameOverlayBackground: {rgb(0xFAF9F6), rgb(0x232A30)},
	theme.ColorNameHeaderBackground:  {rgb(0xE9E6DF), rgb(0x232A30)},
	theme.ColorNameError:             {rgb(0xB04A00), rgb(0xFF9A4D)},
	theme.ColorNameShadow:            {color.NRGBA{0, 0, 0, 0x18}, color.NRGBA{0, 0, 0, 0x60}},

	colorClear:   {rgb(0x00775A), rgb(0x2CC79B)},
	colorSnug:    {rgb(0x0063A0), rgb(0x56B4E9)},
	colorUnsure:  {rgb(0x8A3A66), rgb(0xE09CC2)},
	colorBlocked: {rgb(0xAC4800), rgb(0xFF8A3C)},
	colorWait:    {rgb(0x6A675F), rgb(0x9AA2AA)},
	colorBand:    {rgb(0xFFFFFF), rgb(0x12161A)},
}

// Color is the colour of a name; what is not our own is Fyne's.
func (p paper) Color(name fyne.ThemeColorName, v fyne.ThemeVariant) color.Color {
	dark := p.dark(v)
	if c, ok := colours[name]; ok {
		if dark {
			return c.dark
		}
		return c.light
	}
	v = theme.VariantLight
	if dark {
		v = theme.VariantDark
	}
	return theme.DefaultTheme().Color(name, v)
}

func (p paper) dark(system fyne.ThemeVariant) bool {
	return p.look == desk.DarkLook || p.look == desk.SystemLook && system == theme.VariantDark
}

// Font is Fyne's.
func (paper) Font(s fyne.TextStyle) fyne.Resource { return theme.DefaultTheme().Font(s) }

// Icon is Fyne's.
func (paper) Icon(n fyne.ThemeIconName) fyne.Resource { return theme.DefaultTheme().Icon(n) }

// Size is Fyne's, a little tighter: there is much to show.
func (paper) Size(n fyne.ThemeSizeName) float32 {
	switch n {
	case theme.SizeNameText:
		return 13
	case theme.SizeNameCaptionText:
		return 11
	case theme.SizeNameSubHeadingText:
		return 15
	case theme.SizeNameHeadingText:
		return 20
	case theme.SizeNameInnerPadding:
		return 5
	case theme.SizeNamePadding:
		return 3
	case theme.SizeNameScrollBar:
		return 8
	}
	return theme.DefaultTheme().Size(n)
}

func stateColor(m desk.Mark) fyne.ThemeColorName {
	switch m {
	case desk.ClearMark:
		return colorClear
	case desk.SnugMark:
		return colorSnug
	case desk.UnsureMark:
		return colorUnsure
	case desk.BlockedMark:
		return colorBlocked
	}
	return colorWait
}

// shade is a colour of the window's theme as it is now.
func shade(name fyne.ThemeColorName) color.Color {
	s := fyne.CurrentApp().Settings()
	return s.Theme().Color(name, s.ThemeVariant())
}

// lengthUnit is the unit that the window tells lengths in, as it is now.
func lengthUnit() lengths.Unit {
	if p, ok := fyne.CurrentApp().Settings().Theme().(paper); ok {
		return p.lengths
	}
	return lengths.MM
}

// told is a text with its lengths in that unit.
func told(text string) string { return lengthUnit().Tell(text) }

// lookNow is how drawings are to look.
func lookNow() drawing.Look { return drawing.Look{Dark: isDark(), Lengths: lengthUnit()} }

// isDark says whether the window is dark as it is now.
func isDark() bool {
	s := fyne.CurrentApp().Settings()
	p, ok := s.Theme().(paper)
	return ok && p.dark(s.ThemeVariant())
}
