package mesh

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

// A Unit of length: its short name and how many millimetres it has.
type Unit struct {
	Name string
	MM   float64
}

// Units are those that shapes of this size come in.
var Units = []Unit{{"mm", 1}, {"cm", 10}, {"in", 25.4}, {"dm", 100}, {"m", 1000}}

// unitWords has every word a file may use for its unit.
var unitWords = map[string]float64{
	"micron": 1e-3, "microns": 1e-3,
	"mm": 1, "millimeter": 1, "millimeters": 1, "millimetre": 1, "millimetres": 1,
	"cm": 10, "centimeter": 10, "centimeters": 10, "centimetre": 10, "centimetres": 10,
	"dm": 100, "decimeter": 100, "decimeters": 100, "decimetre": 100, "decimetres": 100,
	"m": 1000, "meter": 1000, "meters": 1000, "metre": 1000, "metres": 1000,
	"in": 25.4, "inch": 25.4, "inches": 25.4,
	"ft": 304.8, "foot": 304.8, "feet": 304.8,
}

// ParseUnit reads the name of a unit: mm, cm, dm, m, in, or the word for it.
func ParseUnit(s string) (Unit, error) {
	mm, known := unitWords[strings.ToLower(strings.TrimSpace(s))]
	for _, u := range Units {
		if known && u.MM == mm {
			return u, nil
		}
	}
	return Unit{}, problem.Problem{
		Field: "units", Value: fmt.Sprintf("%q", s), Limit: "mm, cm, dm, m or in", Mend: "name the unit the shape was drawn in",
	}
}

var unitSaid = regexp.MustCompile(`(?i)\bunits?\b\s*[:=]?\s*(?:(?:are|is|in)\s+)*([a-z]+)`)

// unitFromComment is the unit that a comment or header names in the manner "unit mm", "Units: inches", else 0. STL,
// OBJ and PLY have no place for a unit; that some programs say it so is common practice, no source.
func unitFromComment(s string) float64 {
	m := unitSaid.FindStringSubmatch(s)
	if m == nil {
		return 0
	}
	return unitWords[strings.ToLower(m[1])]
}

// Scaled is a copy with every coordinate times f, which must be above zero.
func (m *Mesh) Scaled(f float64) *Mesh {
	c := m.Clone()
	for i, v := range c.V {
		c.V[i] = r3.Scale(f, v)
	}
	return c
}

// LengthAcross is nearly the largest distance of two vertices, in the unit of the mesh and in whatever pose it lies:
// that from the vertex farthest from the middle to the one farthest from there, and on twice. It is at least half of
// the largest distance, and for a long shape all of it but for a few parts in a hundred.
func (m *Mesh) LengthAcross() float64 {
	if len(m.V) == 0 {
		return 0
	}
	b := m.Bounds()
	from := r3.Scale(0.5, r3.Add(b.Min, b.Max))
	var far float64
	for range 4 {
		best, at := -1.0, 0
		for i, v := range m.V {
			if d := r3.Norm2(r3.Sub(v, from)); d > best {
				best, at = d, i
			}
		}
		far, from = math.Sqrt(best), m.V[at]
	}
	return far
}

// A UnitGuess is a unit that a mesh may have been drawn in, and the length it then has.
type UnitGuess struct {
	Unit     Unit
	LengthMM float64
}

// Shoes and devices are between these lengths across: from a small child's to beyond the largest adult's, high
// shafts set aside (common practice, no source).
const (
	LeastLengthMM = 90
	MostLengthMM  = 380
)

// GuessUnit lists the units, likeliest first, in which the coordinates of m make something between loMM and hiMM
// across; zeros mean LeastLengthMM and MostLengthMM. None: the shape is no shoe, whatever the unit. More than one: ask.
// The likeliest is the one whose length is nearest to the middle of the range by ratio.
func GuessUnit(m *Mesh, loMM, hiMM float64) (guesses []UnitGuess, ambiguous bool) {
	if loMM == 0 && hiMM == 0 {
		loMM, hiMM = LeastLengthMM, MostLengthMM
	}
	raw := m.LengthAcross()
	for _, u := range Units {
		if l := raw * u.MM; l >= loMM && l <= hiMM {
			guesses = append(guesses, UnitGuess{u, l})
		}
	}
	off := func(g UnitGuess) float64 { return math.Abs(math.Log(g.LengthMM / math.Sqrt(loMM*hiMM))) }
	slices.SortStableFunc(guesses, func(a, b UnitGuess) int { return cmp.Compare(off(a), off(b)) })
	return guesses, len(guesses) > 1
}
