package lengths_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"lastroom/internal/lengths"
)

func TestTell(t *testing.T) {
	for mm, in := range map[string]string{
		"overlap 1.6 mm ±0.9":              "overlap 0.063 in ±0.035",
		"touches ±0.5 mm":                  "touches ±0.020 in",
		"+1.6 ± 0.9 mm, snug, 80 %":        "+0.063 ± 0.035 in, snug, 80 %",
		"2 to 6 mm":                        "0.079 to 0.236 in",
		"-1.0 mm":                          "-0.039 in",
		"−1.0 mm":                          "-0.039 in",
		"-0.0 mm":                          "0.000 in",
		"0 (automatic) or 20 to 90 mm":     "0.000 (automatic) or 0.787 to 3.543 in",
		"1503 mm²":                         "2.330 in²",
		"4100 mm³ lie":                     "0.2502 in³ lie",
		"cut at X = 24.0 mm":               "cut at X = 0.945 in",
		"length 254mm.":                    "length 10.000 in.",
		"2.1 mm too little; 3 mm wanted":   "0.083 in too little; 0.118 in wanted",
		"40 by 30 mm":                      "1.575 by 1.181 in",
		"base 25.4 mm · support kept 90 %": "base 1.000 in · support kept 90 %",
		"12.0 N/mm":                        "12.0 N/mm",
		"12 N·mm/rad":                      "12 N·mm/rad",
		"0.5 mm/rad":                       "0.5 mm/rad",
		"3 mm·N":                           "3 mm·N",
		"wedge_length_mm: 3":               "wedge_length_mm: 3",
		"EU 42, 3 mm":                      "EU 42, 0.118 in",
		"2.0 mm ±1.3°":                     "0.079 in ±1.3°",
		"2.0 mm ± 5 %":                     "0.079 in ± 5 %",
		"2.0 mm ±1.3 mm":                   "0.079 in ±0.051 in",
		"bevel from 10° to 24°: takes 2.1 mm off": "bevel from 10° to 24°: takes 0.083 in off",
		`"12 mm mm": not a number, such as 20 mm`: `"12 mm mm": not a number, such as 0.787 in`,
		`"1/2\" 3 mm" and 2 mm`:                   `"1/2\" 3 mm" and 0.079 in`,
		`one " and 2 mm`:                          `one " and 0.079 in`,
		"mm":                                      "mm",
		"":                                        "",
	} {
		assert.Equal(t, in, lengths.Inch.Tell(mm), mm)
		assert.Equal(t, mm, lengths.MM.Tell(mm))
		assert.Equal(t, in, lengths.Inch.Tell(in), "told twice")
	}
}

func TestInstead(t *testing.T) {
	for mm, in := range map[string]string{"mm": "in", "mm²": "in²", "mm³": "in³", "°": "°", "": "", "N/mm": "N/mm", "mm/N": "mm/N"} {
		assert.Equal(t, in, lengths.Inch.Instead(mm))
		assert.Equal(t, mm, lengths.MM.Instead(mm))
	}
}

func TestCutUnit(t *testing.T) {
	for text, want := range map[string]struct {
		number string
		mm     float64
	}{"12": {"12", 1}, "12 mm": {"12", 1}, "0.5in": {"0.5", 25.4}, "0.5 in": {"0.5", 25.4}, "in": {"", 25.4}, "5 min": {"5 m", 25.4}} {
		number, mm := lengths.CutUnit(text)
		assert.Equal(t, want.number, number, text)
		assert.InDelta(t, want.mm, mm, 1e-12, text)
	}
}

// Whatever is said in mm comes back from inches within half a thousandth.
func TestTellIsTrue(t *testing.T) {
	draw := rand.New(rand.NewPCG(1, 2))
	found := regexp.MustCompile(`(-?\d+\.\d+) in`)
	for range 2000 {
		v, digits := 200*(draw.Float64()-0.5), draw.IntN(4)
		text := fmt.Sprintf("it is %.*f mm there", digits, v)
		told := found.FindStringSubmatch(lengths.Inch.Tell(text))
		if !assert.NotNil(t, told, text) {
			return
		}
		back, err := strconv.ParseFloat(told[1], 64)
		assert.NoError(t, err)
		mm, err := strconv.ParseFloat(strings.Fields(text)[2], 64)
		assert.NoError(t, err)
		assert.LessOrEqual(t, math.Abs(back*25.4-mm), 0.0127, text)
	}
}

func FuzzTell(f *testing.F) {
	f.Add("2 to 6 mm ±0.9, 3 N/mm and 4 mm²")
	f.Fuzz(func(t *testing.T, text string) {
		told := lengths.Inch.Tell(text)
		if lengths.Inch.Tell(told) != told && !strings.Contains(text, "in") {
			t.Errorf("%q told twice is not %q", text, told)
		}
	})
}
