package drawing

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// A Frame tells where on a picture the paper lies: the way from a pixel to a point of the room and back. Pixels are
// counted from the picture's upper left corner, to the right and down.
type Frame struct {
	View           View
	WidthPx        float64 // of the picture
	HeightPx       float64
	LeftPx, TopPx  float64 // of the part that shows the paper
	RightPx, LowPx float64
	Shown          Extent // what that part shows
}

// PxPerMM is the scale, the same in both directions.
func (f Frame) PxPerMM() float64 { return (f.RightPx - f.LeftPx) / (f.Shown.Hi.U - f.Shown.Lo.U) }

// Pixel is where a point of the paper stands on the picture.
func (f Frame) Pixel(p Pt) (x, y float64) {
	k := f.PxPerMM()
	return f.LeftPx + (p.U-f.Shown.Lo.U)*k, f.LowPx - (p.V-f.Shown.Lo.V)*k
}

// Paper is the point of the paper under a pixel.
func (f Frame) Paper(x, y float64) Pt {
	k := f.PxPerMM()
	return Pt{f.Shown.Lo.U + (x-f.LeftPx)/k, f.Shown.Lo.V + (f.LowPx-y)/k}
}

// equalise widens the shorter axis of the plot about its centre until a millimetre is as long in U as in V. The room
// that the axes' numbers take depends on the range, so it is repeated; it settles in a few passes.
func equalise(p *plot.Plot, c draw.Canvas) {
	const passes, settled = 20, 1e-12
	for range passes {
		d := p.DataCanvas(c)
		w, h := float64(d.Max.X-d.Min.X), float64(d.Max.Y-d.Min.Y)
		if w <= 0 || h <= 0 {
			return
		}
		ku, kv := (p.X.Max-p.X.Min)/w, (p.Y.Max-p.Y.Min)/h // mm a point
		switch {
		case math.Abs(ku/kv-1) < settled:
			return
		case ku < kv:
			widen(&p.X, kv*w)
		default:
			widen(&p.Y, ku*h)
		}
	}
}

func widen(a *plot.Axis, to float64) {
	mid := (a.Min + a.Max) / 2
	a.Min, a.Max = mid-to/2, mid+to/2
}

// frameOf is the frame of a plot that is drawn on a part of the canvas c, at pxPerPt pixels a point.
func frameOf(v View, p *plot.Plot, c, part draw.Canvas, pxPerPt float64) Frame {
	d := p.DataCanvas(part)
	px := func(l vg.Length) float64 { return float64(l) * pxPerPt }
	h := px(c.Max.Y)
	return Frame{
		View: v, WidthPx: px(c.Max.X), HeightPx: h,
		LeftPx: px(d.Min.X), RightPx: px(d.Max.X), TopPx: h - px(d.Max.Y), LowPx: h - px(d.Min.Y),
		Shown: Extent{Pt{p.X.Min, p.Y.Min}, Pt{p.X.Max, p.Y.Max}},
	}
}
