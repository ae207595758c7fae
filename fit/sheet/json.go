package sheet

import (
	"encoding/json"
	"io"
	"math"
)

// MarshalJSON rounds to a ten-thousandth; what is not finite is null.
func (n Number) MarshalJSON() ([]byte, error) {
	v := float64(n)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return []byte("null"), nil
	}
	v = math.Round(v*1e4) / 1e4
	if v == 0 {
		v = 0 // without a sign
	}
	return json.Marshal(v)
}

// WriteJSON writes the sheet as docs/sheet.schema.json describes it.
func WriteJSON(w io.Writer, s *Sheet) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(s)
}
