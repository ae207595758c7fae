package desk

import (
	"fmt"
	"math"
	"strings"

	"lastroom/fit"
)

// A Row is a line of one of the lists: what it is about, what is said of it, and its state as a word and a mark.
type Row struct {
	Number   int // as it stands on the drawings, 0 when it does not
	Title    string
	Detail   string
	Value    string // the number, with its unit
	Word     string
	Mark     Mark
	Selected bool
}

// Text is the whole row in words.
func (r Row) Text() string {
	t := fmt.Sprintf("%s: %s, %s. %s", r.Title, r.Value, r.Word, r.Detail)
	if r.Number > 0 {
		t = fmt.Sprintf("%d. %s", r.Number, t)
	}
	return t
}

// FindingsView is the list of findings, worst first.
func FindingsView(s *State) []Row {
	if s.Shown == nil {
		return nil
	}
	rows := make([]Row, len(s.Shown.Result.Findings))
	for i := range s.Shown.Result.Findings {
		f := &s.Shown.Result.Findings[i]
		rows[i] = Row{
			Number: i + 1, Title: f.Feature.String() + " · " + f.Place(), Value: gapText(f), Detail: findingDetail(f),
			Word: string(f.State), Mark: markOf(f.State), Selected: i == s.Selected,
		}
	}
	return rows
}

// gapText is the finding's number: "overlap 1.6 mm ±0.9".
func gapText(f *fit.Finding) string {
	what, v := "gap", zeroed(f.GapMM, 1)
	switch {
	case v == 0:
		return fmt.Sprintf("touches ±%.1f mm", f.PlusMinusMM)
	case v < 0:
		what = "overlap"
	}
	return fmt.Sprintf("%s %.1f mm ±%.1f", what, math.Abs(v), f.PlusMinusMM)
}

func findingDetail(f *fit.Finding) string {
	parts := []string{string(f.Pose)}
	if f.RollDeg != 0 {
		parts = append(parts, "rolled "+sided(f.RollDeg, 1, "°", "inverted", "everted"))
	}
	if f.GrindDepthMM > 0 {
		parts = append(parts, GrindText(f))
	}
	if f.Bearing {
		parts = append(parts, "carries the device")
	} else {
		parts = append(parts, fmt.Sprintf("wall gives %.1f mm", f.GiveMM))
	}
	if f.GapMM < 0 && f.AreaMM2 >= 0.5 {
		parts = append(parts, fmt.Sprintf("%.0f mm²", f.AreaMM2))
	}
	return strings.Join(parts, " · ")
}

// GrindText says how much to grind and which way: "grind 1.6 mm from the medial side".
func GrindText(f *fit.Finding) string {
	if f.GrindDepthMM <= 0 {
		return ""
	}
	from := ""
	d := f.GrindDirection // into the device; what is ground off faces the other way
	switch x, y, z := math.Abs(d.X), math.Abs(d.Y), math.Abs(d.Z); {
	case y >= x && y >= z && d.Y < 0:
		from = " from the medial side"
	case y >= x && y >= z && y > 0:
		from = " from the lateral side"
	case x >= z && d.X > 0:
		from = " from the back"
	case x >= z && d.X < 0:
		from = " from the front"
	case d.Z > 0:
		from = " from below"
	case d.Z < 0:
		from = " from above"
	}
	return fmt.Sprintf("grind %.1f mm%s", f.GrindDepthMM, from)
}

// FootRoomView is the list of what is left for the foot.
func FootRoomView(s *State) []Row {
	if s.Shown == nil {
		return nil
	}
	var rows []Row
	for _, c := range s.Shown.Result.FootRoom {
		r := Row{Title: c.Name, Detail: c.Note, Word: string(c.State), Mark: markOf(c.State)}
		r.Value = fmt.Sprintf("%.1f mm left", zeroed(c.LeftMM, 1))
		if v := zeroed(c.LeftMM, 1); v < 0 {
			r.Value = fmt.Sprintf("%.1f mm lacking", -v)
		}
		if !c.Known {
			r.Word, r.Mark = "not judged", WaitMark
		} else if c.NeedMM != 0 {
			r.Value += fmt.Sprintf(", %.0f mm wanted", c.NeedMM)
		}
		rows = append(rows, r)
	}
	return rows
}

// rockName is the reading of the base that no figure of support has.
const rockName = "gap under a corner"

// BaseView is what the base gives.
func BaseView(s *State) []Reading {
	if s.Shown == nil {
		return nil
	}
	b := s.Shown.Result.Base
	d := s.Shown.Device
	rocks := "it stands"
	if b.RockGapMM > 0.5 {
		rocks = "it rocks (over 0.5 mm, common practice)"
	}
	return []Reading{
		{"base width", fmt.Sprintf("%.1f mm: %.1f mm medial, %.1f mm lateral of the bisection", b.WidthMM, b.MedialMM, b.LateralMM)},
		{"base area", fmt.Sprintf("%.0f mm²", b.AreaMM2)},
		{"rotational stiffness", fmt.Sprintf("%.0f N·m/rad in the frontal plane, flat base", b.RotationalNMMPerRad/1000)},
		{rockName, fmt.Sprintf("%.1f mm: %s", zeroed(b.RockGapMM, 1), rocks)},
		{"mass", fmt.Sprintf("%.0f g with cover", d.MassG)},
	}
}

// ListTitles are the titles of the three lists, each with the count of what is bad in it.
func ListTitles(s *State) (findings, footRoom, support string) {
	findings, footRoom, support = "Findings", "Foot room", "Support"
	if s.Shown == nil {
		return findings, footRoom, support
	}
	findings = counted(findings, FindingsView(s))
	footRoom = counted(footRoom, FootRoomView(s))
	return findings, footRoom, support
}

func counted(title string, rows []Row) string {
	bad := 0
	for _, r := range rows {
		if r.Mark == BlockedMark || r.Mark == UnsureMark {
			bad++
		}
	}
	if bad == 0 {
		return title
	}
	return fmt.Sprintf("%s (%d to see)", title, bad)
}
