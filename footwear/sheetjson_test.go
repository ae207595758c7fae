package footwear

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/internal/problem"
)

func written(t *testing.T, s Sheet) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, WriteSheet(&b, s))
	return b.String()
}

func TestSheetRoundTrip(t *testing.T) {
	for _, s := range Demo().All() {
		text := written(t, s)
		got, err := ReadSheet(strings.NewReader(text), s.ID)
		require.NoError(t, err)
		assert.Equal(t, s, got)
		assert.Equal(t, text, written(t, got), "the same sheet gives the same bytes")

		to := s.Size
		to.Value += 1.5
		g := graded(t, s, to, GradeOptions{Geometric: true})
		got, err = ReadSheet(strings.NewReader(written(t, g)), s.ID)
		require.NoError(t, err)
		assert.Equal(t, g, got, "every digit of a graded sheet is kept, and what it was graded from")
	}
}

func TestReadSheetFillsInTheUsualInstrument(t *testing.T) {
	text := written(t, shoe(t, "knit-trainer"))
	for id := range NumMeasures {
		m := shoe(t, "knit-trainer").M[id]
		text = strings.Replace(text, fmt.Sprintf(`,"plus_minus":%g,"instrument":"%s"`, m.PlusMinus, m.Instrument), "", 1)
	}
	require.NotContains(t, text, "plus_minus")
	s, err := ReadSheet(strings.NewReader(text), "short.json")
	require.NoError(t, err)
	for id := range NumMeasures {
		assert.Equal(t, Infos[id].PlusMinus, s.M[id].PlusMinus)
		assert.Equal(t, Infos[id].Instrument, s.M[id].Instrument)
	}
}

func TestReadSheetRefuses(t *testing.T) {
	good := written(t, shoe(t, "rocker-shoe"))
	change := func(from, to string) string {
		t.Helper()
		require.Contains(t, good, from)
		return strings.Replace(good, from, to, 1)
	}
	toe := `"toe_spring_mm": {"value":30,`
	for _, tc := range []struct{ name, text, says string }{
		{"empty", "", "EOF"},
		{"no JSON", "solid shoe", "invalid character"},
		{"an array", "[]", "cannot unmarshal"},
		{"null", "null", `"" version 0`},
		{"another format", change("lastroom-shoe", "other"), `"other" version 1`},
		{"a later version", change(`"version": 1`, `"version": 2`), "version 2"},
		{"an unknown key", change(`"rocker"`, `"rocket"`), "rocket"},
		{"an unknown measure", change("toe_spring_mm\": {", "toe_sprang_mm\": {"), "toe_sprang_mm"},
		{"a missing measure", change(`    "ball_width_mm": {"value":102,"plus_minus":1.5,"instrument":"inside calliper"},`+"\n", ""), "ball_width_mm: missing"},
		{"a measure twice", change(toe, `"toe_spring_mm": {"value":3},`+"\n"+toe), "toe_spring_mm: stands twice"},
		{"no value", change(toe, `"toe_spring_mm": {`), "toe_spring_mm: missing"},
		{"null value", change(`"value":30,`, `"value":null,`), "toe_spring_mm: missing"},
		{"a word for a value", change(`"value":30,`, `"value":"thirty",`), "toe_spring_mm"},
		{"NaN", change(`"value":30,`, `"value":NaN,`), "invalid character"},
		{"more than a number holds", change(`"value":30,`, `"value":1e999,`), "toe_spring_mm"},
		{"an unknown part of a measure", change(toe, toe+`"unit":"inch",`), "unit"},
		{"measures a list", change(`"measures": {`, `"measures": 3, "x": {`), "measures"},
		{"out of range", change(`"value":30,`, `"value":300,`), "toe_spring_mm = 300 mm: 0 to 60 mm"},
		{"a contradiction", change(`"waist_width_mm": {"value":79,`, `"waist_width_mm": {"value":110,`), "waist_width_mm = 110 mm: at most 101 mm"},
		{"an unknown instrument", change("height gauge", "eye"), "eye"},
		{"more after the end", good + "{}", "after the end"},
		{"too long", good + strings.Repeat(" ", 1<<20), "1 MiB"},
		{"cut off", good[:len(good)/2], "unexpected EOF"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := ReadSheet(strings.NewReader(tc.text), "bad.json")
			require.Error(t, err)
			assert.Contains(t, err.Error(), tc.says)
			assert.Contains(t, err.Error(), "bad.json", "the error names the file")
			switch p := err.(type) { //nolint:errorlint // the type itself is under test
			case problem.Problem:
				assert.NotEmpty(t, p.Mend)
			case problem.Problems:
				for _, one := range p {
					assert.NotEmpty(t, one.Mend)
				}
			default:
				assert.Fail(t, "not a problem", "%T", err)
			}
		})
	}
}

func TestWriteSheetRefusesABrokenSheet(t *testing.T) {
	var b bytes.Buffer
	assert.Error(t, WriteSheet(&b, Sheet{}))
	assert.Zero(t, b.Len())
}

// Whatever the file holds: no panic; an error that is a problem, or a valid sheet that reads back the same.
func FuzzReadSheet(f *testing.F) {
	for _, id := range []string{"court-45", "rocker-shoe"} {
		s, err := Demo().Find(id)
		require.NoError(f, err)
		var b bytes.Buffer
		require.NoError(f, WriteSheet(&b, s))
		f.Add(b.Bytes())
	}
	f.Add([]byte(`{"format":"lastroom-shoe","version":1,"measures":{"last_length_mm":{"value":1e308}}}`))
	f.Add([]byte(`{"measures":{"last_length_mm":{},"last_length_mm":{}}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := ReadSheet(bytes.NewReader(data), "fuzz.json")
		if err != nil {
			switch err.(type) { //nolint:errorlint // the type itself is under test
			case problem.Problem, problem.Problems:
			default:
				t.Fatalf("not a problem: %T %v", err, err)
			}
			return
		}
		require.Empty(t, s.Validate())
		again, err := ReadSheet(strings.NewReader(written(t, s)), "again.json")
		require.NoError(t, err)
		require.Equal(t, s, again)
	})
}
