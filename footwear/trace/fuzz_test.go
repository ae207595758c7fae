package trace

import (
	"bytes"
	"encoding/binary"
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/internal/problem"
)

// FuzzReadPicture brings any small picture onto a screen, and any tracing into a sheet.
func FuzzReadPicture(f *testing.F) {
	small := image.NewNRGBA(image.Rect(0, 0, 140, 100)) // smaller ones are refused
	f.Add(asPNG(f, small), 33, 250.0, 4.0)
	f.Add(inJPEG(asJPEG(f, small, 50), exifBlock(binary.LittleEndian, 8, 50)), 0, 0.0, -1.0)
	f.Add(inPNG(asPNG(f, small), exifBlock(binary.BigEndian, 5, 24)), -1, 1e6, 1e-3)
	f.Fuzz(func(t *testing.T, file []byte, longest int, length, line float64) {
		if head, _, err := image.DecodeConfig(bytes.NewReader(file)); err == nil && head.Width*head.Height > 200*200 && head.Width*head.Height <= MaxPixels {
			return // large pictures only take longer
		}
		p, err := ReadPicture(t.Context(), bytes.NewReader(file), "fuzz", longest)
		if err != nil {
			var pr problem.Problem
			require.ErrorAs(t, err, &pr)
			require.True(t, pr.File == "fuzz" && pr.Limit != "" && pr.Mend != "", "%v", pr)
		} else {
			b := p.Image.Bounds()
			require.Positive(t, p.Reduced)
			require.LessOrEqual(t, b.Dx()*p.Reduced, max(p.Wide, p.Reduced))
			require.LessOrEqual(t, b.Dy()*p.Reduced, max(p.High, p.Reduced))
			require.LessOrEqual(t, max(b.Dx(), b.Dy()), max(longest, 1))
			require.Positive(t, b.Dx()*b.Dy())
		}
		if !(math.Abs(length) <= 1e6 && math.Abs(line) <= 1e6) {
			return // a tracing has finite lengths
		}
		for _, what := range []What{Insole, Pencil} {
			s := footwear.Demo().All()[0]
			tr := Tracing{What: what, Length: footwear.Measure{Value: length, PlusMinus: 2, Instrument: footwear.Photo}, LineMM: line, EyeHeightMM: line}
			tr.Apply(&s)
			got := s.M[footwear.LastLength]
			require.False(t, math.IsNaN(got.Value) || math.IsInf(got.Value, 0) || math.IsNaN(got.PlusMinus), "%v", got)
		}
	})
}
