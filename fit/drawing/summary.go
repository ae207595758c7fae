package drawing

import (
	"fmt"
	"strings"

	"lastroom/device"
)

// Summary says in words what the view's drawing shows, with the same numbers.
func (s *Scene) Summary(v View) string { return s.title(v) + ". " + says(s, s.cut(v).Measured) }

// title is the view, its cut and the pose.
func (s *Scene) title(v View) string {
	t := fmt.Sprintf("Seen %s, %s", v, v.Label(s.Cuts))
	if s.PoseName != "" {
		t += ", " + string(s.PoseName)
	}
	if s.Device != nil && s.Device.Options.Side == device.Left {
		t += ", left shoe shown as a right one"
	}
	return t
}

// says is what there is to see in a cut.
func says(s *Scene, m Measured) string {
	var b strings.Builder
	if s.Device == nil {
		b.WriteString("The empty room.")
		return b.String()
	}
	if len(m.Overlaps) > 0 {
		fmt.Fprintf(&b, "In this cut %.0f mm² lie past the wall: ", m.OverlapMM2)
		for i, o := range m.Overlaps {
			const most = 3
			if i == most {
				fmt.Fprintf(&b, ", and %d more", len(m.Overlaps)-most)
				break
			}
			if i > 0 {
				b.WriteString(", ")
			}
			fmt.Fprintf(&b, "%s over %s by %.1f mm", o.Feature, o.Zone, -o.MM)
		}
		b.WriteString(".")
	} else {
		b.WriteString("In this cut nothing lies past the wall.")
	}
	for i, t := range m.Touching {
		if i == 0 {
			b.WriteString(" Touching: ")
		} else {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "%s at %s", t.Feature, t.Zone)
	}
	if len(m.Touching) > 0 {
		b.WriteString(".")
	}
	if m.HasGap {
		fmt.Fprintf(&b, " Tightest gap: %.1f mm, %s to %s.", m.Gap.MM, m.Gap.Feature, m.Gap.Zone)
	}
	return b.String()
}
