package photopage

import (
	"fmt"
	"math"
	"strings"

	"lastroom/footwear"
	"lastroom/footwear/trace"
)

// A Band is what stands over the photo.
type Band struct {
	Mark     string // wait, unsure, blocked, clear
	Title    string
	Sentence string
	Problem  string
	Working  bool
}

// BandView is the band over the photo.
func BandView(s *State) Band {
	b := Band{Mark: "wait", Title: "Photo of a tracing", Problem: s.Problem, Working: s.Busy()}
	if s.Name != "" {
		b.Title = s.Name
	}
	switch {
	case s.Stage == Loading:
		b.Title, b.Sentence = s.opening[1], "Loading the photo …"
	case s.Stage == Tracing:
		b.Sentence = "Reading the outline …"
	case s.Stage == Filling:
		b.Sentence = "Filling the sheet …"
	case s.Picture == nil:
		b.Sentence = "Open a photo or flat scan of the removed insole, or of its pencilled outline, on an A4 or Letter sheet."
	case s.Read == nil && s.Known && !s.Set:
		b.Mark, b.Sentence = "blocked", "Nothing was read yet. Mend what stands below; the four corners can be dragged onto the sheet's."
	case s.Read == nil:
		b.Mark, b.Sentence = "blocked", "Nothing was read with the corners as they are."
	case s.Read.Side == trace.AnySide:
		b.Mark, b.Sentence = "unsure", "Right or left? The shape does not tell: say which foot it is for."
	default:
		b.Mark = "clear"
		b.Sentence = fmt.Sprintf("A %s %s, %s, on %s.", s.Read.Side, thing(s.What), withPlusMinus(s.Read.Length)+" long", paperName(s.Read.Sheet))
		if s.Read.SideGuessed {
			b.Sentence += " The side is told by its shape."
		}
		if s.Done != "" {
			b.Sentence = s.Done
		}
	}
	if b.Problem != "" && !s.Busy() {
		b.Mark = "blocked"
	}
	return b
}

func thing(w trace.What) string {
	if w == trace.Pencil {
		return "outline"
	}
	return "insole"
}

func paperName(p trace.Paper) string {
	if p == trace.Letter {
		return "a Letter sheet"
	}
	return "an A4 sheet"
}

func withPlusMinus(m footwear.Measure) string {
	return fmt.Sprintf("%.1f ± %.1f mm", m.Value, m.PlusMinus)
}

// A Row is a name and what is said of it.
type Row struct{ Name, Text string }

// ReadView is what was read.
func ReadView(s *State) []Row {
	t := s.Read
	if t == nil {
		return nil
	}
	var out []Row
	put := func(name string, m footwear.Measure, at float64) {
		if m.Value == 0 {
			return
		}
		text := withPlusMinus(m)
		if at > 0 {
			text += fmt.Sprintf(", %.0f mm from the heel", at)
		}
		out = append(out, Row{name, text})
	}
	put("length", t.Length, 0)
	put("seat width", t.SeatWidth, t.SeatAtMM)
	put("waist width", t.WaistWidth, t.WaistAtMM)
	put("ball width", t.BallWidth, t.BallAtMM)
	out = append(out,
		Row{"swing of the forefoot", fmt.Sprintf("%.1f ± %.1f mm: %s", math.Round(10*t.Swing.Value)/10+0, t.Swing.PlusMinus, t.Outline)},
		Row{"toe shape", t.ToeShape + " (a guess)"},
		Row{"sheet", fmt.Sprintf("%s, %.1f px to a mm", paperName(t.Sheet), t.PxPerMM)})
	if t.EyeHeightMM > 0 {
		out = append(out, Row{"camera", fmt.Sprintf("about %.0f mm over the sheet", t.EyeHeightMM)})
	}
	return out
}

// NotesView are what a reader should know, a sentence each.
func NotesView(s *State) string {
	if s.Read == nil {
		return "Nothing yet: the outline and its measures stand here when it is read."
	}
	var b strings.Builder
	for _, n := range s.Read.Notes {
		b.WriteString(strings.ToUpper(n[:1]) + n[1:] + ".\n")
	}
	return strings.TrimSpace(b.String())
}

// CornersText says how the corners came to be where they are.
func CornersText(s *State) string {
	switch {
	case !s.Known:
		return ""
	case s.Set:
		return "The corners are where you put them; an edge of the sheet near them is followed."
	case s.Read != nil:
		return "The corners were found. Drag one to correct it; arrow keys move it by a pixel, N goes to the next."
	}
	return "The corners were not found: drag each onto a corner of the sheet."
}
