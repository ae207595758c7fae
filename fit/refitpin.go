package fit

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lastroom/device"
	"lastroom/internal/lengths"
	"lastroom/internal/problem"
)

// A Pin is what must stay: an option of the device, or a figure of its support, as it is or inside limits.
type Pin struct {
	Key    string
	Same   bool    // as it is today; a figure: no less than today
	Word   string  // of an option that is a word
	Lo, Hi float64 // of a number; infinite: no limit
}

// A Preference says how much a term of SupportTerms counts beside the others: 1 is usual, 0 not at all.
type Preference struct {
	Key    string
	Weight float64
}

// ParsePin reads a pin: "bevel_lateral_deg=same", "motion_deg=4", "cup_depth_mm=14..", "base_width_mm=60..", "wedge_width_mm=..60"
// or "wedge_build=block". Key is an option of the device or one of PinFigures.
func ParsePin(text string) (Pin, error) {
	key, value, ok := strings.Cut(text, "=")
	key, value = strings.TrimSpace(key), strings.TrimSpace(value)
	bad := func(limit, mend string) (Pin, error) {
		return Pin{}, problem.Problem{Field: "keep", Value: clip(text), Limit: limit, Mend: mend}
	}
	if !ok || value == "" {
		return bad("key=value is needed", "give key=same, key=value, key=least.., key=..most or key=least..most")
	}
	p := Pin{Key: key, Lo: math.Inf(-1), Hi: math.Inf(1)}
	k, isOption := device.FindKey(key)
	if !isOption && !isPinFigure(key) {
		return bad("neither an option of a device nor one of "+strings.Join(PinFigures(), ", "), "see roomcheck keys")
	}
	if value == "same" {
		p.Same = true
		return p, nil
	}
	if isOption && !k.IsNumber() {
		var o device.Options
		if err := o.Set(key, value); err != nil {
			return Pin{}, err
		}
		p.Word = o.Get(key)
		return p, nil
	}
	lo, hi, spans := strings.Cut(value, "..")
	if !spans {
		hi = lo
	}
	for _, end := range []struct {
		text string
		v    *float64
	}{{lo, &p.Lo}, {hi, &p.Hi}} {
		text := strings.TrimSpace(end.text)
		if text == "" {
			continue
		}
		bare, times := text, 1.0
		if strings.HasSuffix(key, "_mm") {
			bare, times = lengths.CutUnit(text)
		}
		v, err := strconv.ParseFloat(bare, 64)
		v *= times
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return bad("not a number: "+strconv.Quote(clip(text)), "give key=same, key=value, key=least.., key=..most or key=least..most")
		}
		*end.v = v
	}
	if p.Lo > p.Hi {
		return bad("the least is more than the most", "give least..most")
	}
	if spans && math.IsInf(p.Lo, -1) && math.IsInf(p.Hi, 1) {
		return bad("a limit is needed", "give least.., ..most or least..most")
	}
	return p, nil
}

// String is the pin as ParsePin takes it.
func (p Pin) String() string {
	number := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	switch {
	case p.Same:
		return p.Key + "=same"
	case p.Word != "":
		return p.Key + "=" + p.Word
	case p.Lo == p.Hi:
		return p.Key + "=" + number(p.Lo)
	}
	s := p.Key + "="
	if !math.IsInf(p.Lo, -1) {
		s += number(p.Lo)
	}
	s += ".."
	if !math.IsInf(p.Hi, 1) {
		s += number(p.Hi)
	}
	return s
}

// Words is the pin in words: "keep Lateral as it is", "keep Cup depth at least 14 mm".
func (p Pin) Words() string {
	name, unit := p.Key, ""
	if k, ok := device.FindKey(p.Key); ok {
		name, unit = k.Name, k.Unit
	}
	for _, f := range pinFigures {
		if f.key == p.Key {
			name, unit = f.name, f.unit
		}
	}
	if unit != "" && unit != "°" {
		unit = " " + unit
	}
	switch {
	case p.Same:
		return fmt.Sprintf("keep %s as it is", name)
	case p.Word != "":
		return fmt.Sprintf("keep %s %s", name, p.Word)
	case p.Lo == p.Hi:
		return fmt.Sprintf("keep %s at %g%s", name, p.Lo, unit)
	case math.IsInf(p.Hi, 1):
		return fmt.Sprintf("keep %s at least %g%s", name, p.Lo, unit)
	case math.IsInf(p.Lo, -1):
		return fmt.Sprintf("keep %s at most %g%s", name, p.Hi, unit)
	}
	return fmt.Sprintf("keep %s from %g to %g%s", name, p.Lo, p.Hi, unit)
}

// clip keeps what is quoted from a user's text short.
func clip(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// sameMM is how near a figure counts as unchanged.
const sameMM = 1e-6

// holds says whether a candidate keeps the pin; today is the device as it is.
func (p Pin) holds(now, today *traits) bool {
	if k, ok := device.FindKey(p.Key); ok {
		switch {
		case p.Same:
			return now.options.Get(p.Key) == today.options.Get(p.Key)
		case !k.IsNumber():
			return now.options.Get(p.Key) == p.Word
		}
		v := now.options.Number(p.Key)
		return v >= p.Lo-sameMM && v <= p.Hi+sameMM
	}
	v := now.figure(p.Key)
	if p.Same {
		return v >= today.figure(p.Key)-sameMM
	}
	return v >= p.Lo-sameMM && v <= p.Hi+sameMM
}
