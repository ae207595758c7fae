package trace

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	_ "image/jpeg" // the two formats that are read
	_ "image/png"
	"io"
	"math"

	"lastroom/internal/problem"
)

// Limits of a picture. The size in pixels is checked in the file's header, before any of it is decoded.
const (
	MaxFileBytes = 64 << 20
	MaxPixels    = 50_000_000
	minSidePx    = 64
)

// workPixels is how many pixels are worked on; larger pictures are averaged down by a whole factor.
const workPixels = 9_000_000

// toneCurve is the power that a camera's value is taken to before edges are placed halfway between two levels. Blur
// happens in linear light, which is near the value's power 2.2; sharpening, tone curves and pictures made on a screen
// draw towards 1. It lies between the two; what either end would give stands in the ±.
const toneCurve = 1.5

// A photo is a decoded picture, upright.
type photo struct {
	grey
	wide, high int     // px of the upright file
	reduced    int     // file pixels to a working pixel, each way
	focalPx    float64 // focal length by EXIF in working pixels, 0 when it is not known
	broken     bool    // EXIF data that could not be read
	colourPx   float64 // how far coarser colour may move an edge, working px
}

// coarseColourPx is how far an edge may move, file px, where a JPEG keeps colour for every other pixel only.
const coarseColourPx = 0.3

func bad(name, field, value, limit, mend string) error {
	return problem.Problem{File: name, Field: field, Value: value, Limit: limit, Mend: mend}
}

// readPhoto reads a picture and turns it upright.
func readPhoto(ctx context.Context, r io.Reader, name string) (*photo, error) {
	img, tags, broken, err := decoded(ctx, r, name)
	if err != nil {
		return nil, err
	}
	b := img.Bounds()
	f := 1
	for int64(b.Dx())*int64(b.Dy())/int64(f*f) > workPixels && min(b.Dx(), b.Dy())/(f+1) >= minSidePx {
		f++
	}
	p := &photo{grey: turned(reduce(img, f), tags.orientation), reduced: f, broken: broken}
	p.wide, p.high = b.Dx(), b.Dy()
	if tags.orientation >= 5 {
		p.wide, p.high = p.high, p.wide
	}
	if c, ok := img.(*image.YCbCr); ok && c.SubsampleRatio != image.YCbCrSubsampleRatio444 {
		p.colourPx = coarseColourPx / float64(f)
	}
	if tags.focal35 > 0 {
		p.focalPx = tags.focal35 / fullFrameDiagonalMM * math.Hypot(float64(p.w), float64(p.h))
	}
	return p, nil
}

// decoded reads a bounded file, checks its header and decodes it, as it is stored.
func decoded(ctx context.Context, r io.Reader, name string) (img image.Image, tags exifTags, broken bool, err error) {
	tags = exifTags{orientation: 1}
	var buf bytes.Buffer
	if n, err := buf.ReadFrom(io.LimitReader(r, MaxFileBytes+1)); err != nil {
		return nil, tags, false, bad(name, "photo", "", "it can't be read: "+err.Error(), "check the file")
	} else if n > MaxFileBytes {
		return nil, tags, false, bad(name, "photo", "more than 64 MiB", "at most 64 MiB", "save the picture smaller, as JPEG")
	}
	data := buf.Bytes()
	if len(data) == 0 {
		return nil, tags, false, bad(name, "photo", "0 bytes", "the file is empty", "save the picture again, as PNG or JPEG")
	}
	head, kind, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, tags, false, bad(name, "photo", "", "neither PNG nor JPEG, or damaged: "+err.Error(), "save the picture as PNG or JPEG")
	}
	pixels := int64(head.Width) * int64(head.Height)
	limit := int64(MaxPixels)
	if head.ColorModel == color.RGBA64Model || head.ColorModel == color.NRGBA64Model {
		limit /= 2 // twice the memory each
	}
	size := fmt.Sprintf("%d × %d px", head.Width, head.Height)
	if pixels > limit {
		return nil, tags, false, bad(name, "photo", size, fmt.Sprintf("at most %d megapixels", limit/1_000_000), "save the picture smaller")
	}
	if min(head.Width, head.Height) < minSidePx {
		return nil, tags, false, bad(name, "photo", size, fmt.Sprintf("at least %d px each way", minSidePx), "take a larger picture")
	}
	if raw := exifOf(data, kind); raw != nil {
		got, ok := parseEXIF(raw)
		tags, broken = got, !ok
	}
	if err := ctx.Err(); err != nil {
		return nil, tags, broken, err
	}
	img, _, err = image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, tags, broken, bad(name, "photo", size, "damaged or cut short: "+err.Error(), "copy or take the picture again")
	}
	return img, tags, broken, ctx.Err()
}

// reduce averages blocks of f × f pixels. A pixel's value is the least of red, green and blue, 0 to 1, to the power of
// toneCurve: paper is high in all three, coloured insoles and wood are not.
func reduce(img image.Image, f int) grey {
	var curve [256]float32
	for i := range curve {
		curve[i] = float32(math.Pow(float64(i)/255, toneCurve))
	}
	b := img.Bounds()
	g := newGrey(b.Dx()/f, b.Dy()/f)
	at := valueOf(img)
	for y := range g.h {
		for x := range g.w {
			var sum float32
			for j := range f {
				for i := range f {
					sum += curve[at(b.Min.X+x*f+i, b.Min.Y+y*f+j)]
				}
			}
			g.v[y*g.w+x] = sum / float32(f*f)
		}
	}
	return g
}

// valueOf reads the least of red, green and blue, quickly for the types that the two decoders make.
func valueOf(img image.Image) func(x, y int) uint8 {
	switch m := img.(type) {
	case *image.Gray:
		return func(x, y int) uint8 { return m.Pix[m.PixOffset(x, y)] }
	case *image.YCbCr:
		return func(x, y int) uint8 {
			i, j := m.YOffset(x, y), m.COffset(x, y)
			r, g, b := color.YCbCrToRGB(m.Y[i], m.Cb[j], m.Cr[j])
			return min(r, g, b)
		}
	case *image.RGBA:
		return func(x, y int) uint8 {
			p := m.Pix[m.PixOffset(x, y):]
			return min(p[0], p[1], p[2])
		}
	case *image.NRGBA:
		return func(x, y int) uint8 {
			p := m.Pix[m.PixOffset(x, y):]
			return uint8(uint32(min(p[0], p[1], p[2])) * uint32(p[3]) / 255)
		}
	}
	return func(x, y int) uint8 {
		r, g, b, _ := img.At(x, y).RGBA()
		return uint8(min(r, g, b) >> 8)
	}
}

// turned makes a stored picture upright by its EXIF orientation, 1 to 8.
func turned(g grey, orientation int) grey {
	if orientation <= 1 || orientation > 8 {
		return g
	}
	w, h := g.w, g.h
	if orientation >= 5 {
		w, h = h, w
	}
	out := newGrey(w, h)
	for y := range h {
		for x := range w {
			sx, sy := storedAt(x, y, g.w, g.h, orientation)
			out.v[y*w+x] = g.v[sy*g.w+sx]
		}
	}
	return out
}

// storedAt is where a pixel of the upright picture stands in the stored one of w × h pixels, by its EXIF orientation.
func storedAt(x, y, w, h, orientation int) (sx, sy int) {
	switch orientation {
	case 2:
		return w - 1 - x, y
	case 3:
		return w - 1 - x, h - 1 - y
	case 4:
		return x, h - 1 - y
	case 5:
		return y, x
	case 6:
		return y, h - 1 - x
	case 7:
		return w - 1 - y, h - 1 - x
	case 8:
		return w - 1 - y, x
	}
	return x, y
}
