package scanpage

import (
	"fmt"
	"image/color"
	"strings"

	"lastroom/device"
	"lastroom/fit/drawing"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// A Mark is the sign of the page's state.
type Mark string

// The marks.
const (
	Waits   Mark = "wait"
	Asks    Mark = "unsure"
	Fails   Mark = "blocked"
	IsReady Mark = "clear"
)

// A Choice is an answer to a question, and what it does.
type Choice struct {
	Text   string
	Action Action
}

// Band is what stands over the drawings: what is going on, and what is asked.
type Band struct {
	Mark     Mark
	Title    string
	Sentence string
	Problem  string
	Progress float64 // share done, below 0 when nothing is done
	Choices  []Choice
	Cancel   bool
	Working  bool
}

// BandView is the band over the drawings.
func BandView(s *State) Band {
	b := Band{Mark: Waits, Title: "Scan", Progress: -1, Problem: s.Problem, Working: s.Busy()}
	if s.Shape != nil {
		b.Title = s.Shape.Name
	}
	if s.Stage == Reading || s.Stage == AskUnit || s.Stage == Mending {
		b.Title = s.opening.Name
	}
	switch {
	case s.Stage == AskUnit:
		b.Mark, b.Cancel = Asks, true
		b.Sentence = "The file does not say which unit it is in. Which is it?"
		if s.raw != nil && s.raw.Doubted > 0 {
			b.Sentence = "Which unit is the file in?"
		}
		b.Choices = unitChoices(s.raw)
	case s.Busy():
		b.Sentence, b.Cancel = s.Doing+" …", true
		if s.Stage == Reading || s.Stage == Mending {
			b.Progress = s.Progress
		}
	case s.Shape == nil:
		b.Sentence = "Open a scan: STL, OBJ, PLY or 3MF. It may lie in any pose, with noise and holes. Files can be dropped on the window."
	case s.Found.Rough && !s.Corrected():
		b.Mark = Fails
		b.Sentence = "No frame was found. Turn and move the scan until heel, toe and sole lie as in the corners' words, or pick three points."
	case s.Side == footwear.SideUnknown:
		b.Mark = Asks
		b.Sentence = "Right or left? " + capital(orElse(s.Found.SideWhy, "the shape does not tell")) + "."
		b.Choices = sideChoices()
	case s.Read == nil || s.Stale:
		b.Mark = Fails
		b.Sentence = "Nothing could be read off the scan where it lies now."
	default:
		b.Mark = IsReady
		b.Sentence = s.readySentence()
	}
	if b.Problem != "" && b.Mark != Asks && !s.Busy() {
		b.Mark = Fails
	}
	return b
}

func (s *State) readySentence() string {
	what := map[Purpose]string{Last: "The last", Inside: "The inside of the shoe", Device: "The device"}[s.Purpose]
	text := fmt.Sprintf("%s lies in its frame: %s, %.0f mm long.", what, s.Side, s.Found.LengthMM)
	if s.Found.LengthMM == 0 {
		text = fmt.Sprintf("%s lies where you put it: %s.", what, s.Side)
	}
	if s.Mirrored() {
		text += " It is shown mirrored, as a right one."
	}
	if s.Corrected() {
		text += " You moved it by hand."
	}
	if s.Done != "" {
		text = s.Done
	}
	return text
}

func unitChoices(raw *Raw) []Choice {
	var out []Choice
	if raw == nil {
		return nil
	}
	if len(raw.Guesses) > 0 {
		for _, g := range raw.Guesses {
			out = append(out, Choice{fmt.Sprintf("%s: %.0f mm across", g.Unit.Name, g.LengthMM), PickUnit{g.Unit.MM}})
		}
		return out
	}
	across := raw.Mesh.LengthAcross()
	for _, u := range mesh.Units {
		out = append(out, Choice{fmt.Sprintf("%s: %.4g mm", u.Name, across*u.MM), PickUnit{u.MM}})
	}
	return out
}

func sideChoices() []Choice {
	return []Choice{{"It is a right one", SetSide{footwear.RightSide}}, {"It is a left one", SetSide{footwear.LeftSide}}}
}

// A Row is a name and what is said of it.
type Row struct{ Name, Text string }

// FactsView is what was read off the scan.
func FactsView(s *State) []Figure {
	if s.Read == nil || s.Stale {
		return nil
	}
	return s.Read.Figures
}

// FileView tells of the file, what was found in it and what was done to it, in sentences.
func FileView(s *State) []string {
	if s.Shape == nil {
		return nil
	}
	sh := s.Shape
	var out []string
	size := fmt.Sprintf("%s triangles", thousands(len(sh.Mesh.F)))
	if sh.Raw != nil && sh.Raw.Info.Triangles != len(sh.Mesh.F) {
		size += fmt.Sprintf(" of %s in the file", thousands(sh.Raw.Info.Triangles))
	}
	unit := unitName(sh.UnitMM)
	switch {
	case sh.Guessed:
		unit += ", guessed from its size"
	case sh.Raw != nil && sh.Raw.Info.FileUnitMM == sh.UnitMM:
		unit += ", as the file says"
	default:
		unit += ", as you said"
	}
	out = append(out, size+"; units: "+unit+".")
	if len(sh.Report.Repairs) == 0 {
		out = append(out, "Nothing had to be repaired.")
	}
	for _, r := range sh.Report.Repairs {
		out = append(out, capital(r.Words)+".")
	}
	if s.Found.NoiseMM > 0 {
		out = append(out, fmt.Sprintf("Its surface is rough by %.2f mm (one standard deviation).", s.Found.NoiseMM))
	}
	for _, n := range s.Found.Notes {
		out = append(out, capital(n)+".")
	}
	if s.Read != nil {
		for _, n := range s.Read.Notes {
			out = append(out, capital(n)+".")
		}
	}
	if s.Found.SideWhy != "" {
		out = append(out, fmt.Sprintf("Side: %s.", s.Found.SideWhy))
	}
	return out
}

// FrameView tells how far the person moved what was found.
func FrameView(s *State) string {
	if !s.Corrected() {
		return "as found"
	}
	w, t := s.Correction.RotationVectorDeg(), s.Correction.T
	return fmt.Sprintf("turned %.1f° %.1f° %.1f°, moved %.1f mm %.1f mm %.1f mm (about and along X Y Z)",
		w.X+0, w.Y+0, w.Z+0, t.X+0, t.Y+0, t.Z+0)
}

// Tools are the tools that the scan can be worked on with, and their names.
func Tools(s *State) []Choice {
	out := []Choice{
		{"Move", SetTool{MoveTool}},
		{"Turn", SetTool{TurnTool}},
		{"Cuts", SetTool{CutTool}},
		{"Three points", SetTool{PointTool}},
	}
	if s.Purpose == Device {
		out = append(out, Choice{"Patches", SetTool{PatchTool}})
	}
	return out
}

// ToolHelp says what mouse and keys do now.
func ToolHelp(s *State) string {
	switch s.Tool {
	case MoveTool:
		return "Drag the scan in a drawing. Arrow keys: 1 mm, with Shift 0.1 mm."
	case TurnTool:
		return "Drag round where the lines cross. Left and right keys: 1°, with Shift 0.1°."
	case CutTool:
		return "Drag the lines. Arrow keys: 1 mm, with Shift 5 mm; page keys: the drawing's own cut."
	case PointTool:
		return pointHelp(s)
	case PatchTool:
		if s.Patch >= 0 {
			return fmt.Sprintf("Picked: %s. Choose what it is.", s.PatchIs)
		}
		return "Click a place whose feature is wrong."
	}
	return ""
}

func pointHelp(s *State) string {
	next := len(s.Points) % pointCount
	if s.Purpose == Device {
		return fmt.Sprintf("Point %d of 3. %s.", next+1, [...]string{
			"Click the rearmost point of the cup's rim", "Click the middle of the front edge, on the line that halves the heel",
			"Click any point of the medial edge",
		}[next])
	}
	text := [...]string{
		"Click the rear end of the seat, on its middle",
		"Click the inner (medial) end of the tread line, where the ball is widest",
		"Click the outer (lateral) end of the tread line",
	}[next]
	return fmt.Sprintf("Point %d of 3. %s. From above the point lies on the underside; from the side and from behind on the cut's line.", next+1, text)
}

// Features are what a patch can be.
func Features() []device.Feature {
	out := make([]device.Feature, 0, device.NumFeatures)
	for f := device.Feature(0); f < device.NumFeatures; f++ {
		out = append(out, f)
	}
	return out
}

// FeatureTint is the colour of a feature's patch; the names come with the mouse, the borders are drawn.
func FeatureTint(tag uint8, p drawing.Palette) color.NRGBA {
	solid := func(c color.NRGBA) color.NRGBA { c.A = 0xFF; return c }
	switch device.Feature(tag) {
	case device.FootSide:
		return solid(p.Foot)
	case device.CupRim, device.FrontEdge:
		return solid(p.Overlap)
	case device.CupWall, device.Arch, device.LateralFlange:
		return solid(p.ShellEdge)
	case device.ShellBottom:
		return solid(p.Shell)
	case device.WedgeBase:
		return solid(p.WedgeEdge)
	case device.WedgeMedialSide, device.WedgeLateralSide, device.WedgeBackSide, device.WedgeFrontSide, device.Cap:
		return solid(p.Wedge)
	default:
		return solid(p.CoverEdge)
	}
}

// UseText is what the button says that makes use of the scan.
func UseText(s *State) string {
	if s.Purpose == Device {
		return "Use as the device"
	}
	return "Use as the shoe"
}

func unitName(mm float64) string {
	for _, u := range mesh.Units {
		if u.MM == mm {
			return u.Name
		}
	}
	return fmt.Sprintf("%g mm", mm)
}

func thousands(n int) string {
	t := fmt.Sprint(n)
	for i := len(t) - 3; i > 0; i -= 3 {
		t = t[:i] + "\u00a0" + t[i:]
	}
	return t
}

func orElse(a, b string) string {
	if a == "" {
		return b
	}
	return a
}

func capital(t string) string {
	if t == "" {
		return t
	}
	return strings.ToUpper(t[:1]) + t[1:]
}
