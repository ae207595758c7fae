package ui

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"math"
	"os"

	"lastroom/fit/drawing"
	"lastroom/footwear/trace"
	"lastroom/ui/photopage"
)

// photoWorker does what a photo's page asks for, one thing at a time.
type photoWorker struct {
	latest
	report func(photopage.Action) // called from the worker's goroutine
	fill   func(context.Context, photopage.Fill, fillBase) (string, error)
}

// work does it and says what came of it; nil when there is nothing to say.
func (k *photoWorker) work(ctx context.Context, e photopage.Effect, base fillBase) photopage.Action {
	fail := func(job uint64, err error) photopage.Action { return photopage.Failed{Job: job, Err: err} }
	switch e := e.(type) {
	case photopage.Load:
		pic, err := loadPhoto(ctx, e.Path, e.Name)
		if err != nil {
			return fail(e.Job, err)
		}
		return photopage.WasLoaded{Job: e.Job, Picture: pic}
	case photopage.Trace:
		read, err := tracePhoto(ctx, e)
		if err != nil {
			return fail(e.Job, err)
		}
		return photopage.WasTraced{Job: e.Job, Read: read}
	case photopage.Fill:
		text, err := k.fill(ctx, e, base)
		if err != nil {
			return fail(e.Job, err)
		}
		return photopage.WasFilled{Job: e.Job, Text: text}
	}
	return nil
}

func loadPhoto(ctx context.Context, path, name string) (*trace.Picture, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fileProblem(path, err)
	}
	defer func() { _ = f.Close() }()
	const longestPx = 1600 // as large as it is shown
	p, err := trace.ReadPicture(ctx, f, name, longestPx)
	if err != nil {
		return nil, err
	}
	return &p, nil
}

func tracePhoto(ctx context.Context, e photopage.Trace) (*trace.Tracing, error) {
	f, err := os.Open(e.Path)
	if err != nil {
		return nil, fileProblem(e.Path, err)
	}
	defer func() { _ = f.Close() }()
	t, err := trace.ReadPhoto(ctx, f, e.Name, e.Options)
	if err != nil {
		return nil, err
	}
	return &t, nil
}

// flatPicture is the sheet seen from straight above, with the outline that was traced on it.
func flatPicture(t *trace.Tracing) image.Image {
	if t.Flat == nil {
		return nil
	}
	b := t.Flat.Bounds()
	f := max(1, max(b.Dx(), b.Dy())/1400)
	out := image.NewRGBA(image.Rect(0, 0, b.Dx()/f, b.Dy()/f))
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			v := t.Flat.GrayAt(b.Min.X+x*f, b.Min.Y+y*f).Y
			out.SetRGBA(x, y, color.RGBA{v, v, v, 0xFF})
		}
	}
	k := t.FlatPxPerMM / float64(f)
	radius := max(1.2, float64(out.Rect.Dx())/500)
	for i, a := range t.OnSheet {
		c := t.OnSheet[(i+1)%len(t.OnSheet)]
		n := int(math.Ceil(math.Hypot(c.X-a.X, c.Y-a.Y)*k)) + 1
		for j := range n {
			s := float64(j) / float64(n)
			dot(out, k*(a.X+(c.X-a.X)*s), k*(a.Y+(c.Y-a.Y)*s), radius)
		}
	}
	return out
}

func dot(m *image.RGBA, x, y, r float64) {
	for j := int(y - r); j <= int(y+r); j++ {
		for i := int(x - r); i <= int(x+r); i++ {
			if math.Hypot(float64(i)+0.5-x, float64(j)+0.5-y) <= r && (image.Point{X: i, Y: j}).In(m.Rect) {
				m.SetRGBA(i, j, color.RGBA{cornerInk.R, cornerInk.G, cornerInk.B, 0xFF})
			}
		}
	}
}

// outlinePicture is the outline in the frame of its heel, with its widths.
func outlinePicture(t *trace.Tracing, look drawing.Look, width, height int, scale float64) (image.Image, error) {
	p := make([]drawing.Pt, len(t.Polygon))
	for i, q := range t.Polygon {
		p[i] = drawing.Pt{U: q.X, V: q.Y}
	}
	var spans []drawing.Span
	for _, m := range []struct {
		word      string
		at, value float64
	}{{"seat", t.SeatAtMM, t.SeatWidth.Value}, {"waist", t.WaistAtMM, t.WaistWidth.Value}, {"ball", t.BallAtMM, t.BallWidth.Value}} {
		if lo, hi, ok := drawing.Across(p, m.at); ok && m.value > 0 {
			spans = append(spans, drawing.Span{A: lo, B: hi, Text: fmt.Sprintf("%s %.1f mm", m.word, m.value)})
		}
	}
	return drawing.RenderOutline(p, spans, look, width, height, scale)
}
