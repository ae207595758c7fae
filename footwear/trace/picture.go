package trace

import (
	"context"
	"image"
	"io"
)

// A Picture is a photo for a screen: upright and small, with the way back to the file's pixels.
type Picture struct {
	Image      *image.RGBA
	Wide, High int // px of the upright file
	Reduced    int // file pixels to a pixel of Image, each way
}

// ReadPicture reads a PNG or JPEG picture, turns it upright by its EXIF data and averages it down by a whole factor until
// its longer side has at most longest pixels. Limits and errors are those of ReadPhoto.
func ReadPicture(ctx context.Context, r io.Reader, name string, longest int) (Picture, error) {
	img, tags, _, err := decoded(ctx, r, name)
	if err != nil {
		return Picture{}, err
	}
	b := img.Bounds()
	longest = max(longest, 1)
	f := max(1, (max(b.Dx(), b.Dy())+longest-1)/longest)
	w, h := max(1, b.Dx()/f), max(1, b.Dy()/f) // of a strip, too
	p := Picture{Wide: b.Dx(), High: b.Dy(), Reduced: f}
	wide, high := w, h
	if tags.orientation >= 5 {
		p.Wide, p.High, wide, high = p.High, p.Wide, high, wide
	}
	p.Image = image.NewRGBA(image.Rect(0, 0, wide, high))
	for y := range high {
		if err := ctx.Err(); err != nil {
			return Picture{}, err
		}
		for x := range wide {
			sx, sy := storedAt(x, y, w, h, tags.orientation)
			var sum [3]uint32
			for j := range f {
				for i := range f {
					r, g, bl, _ := img.At(b.Min.X+sx*f+i, b.Min.Y+sy*f+j).RGBA()
					sum[0], sum[1], sum[2] = sum[0]+r>>8, sum[1]+g>>8, sum[2]+bl>>8
				}
			}
			o := p.Image.PixOffset(x, y)
			n := uint32(f * f)
			p.Image.Pix[o], p.Image.Pix[o+1], p.Image.Pix[o+2], p.Image.Pix[o+3] = uint8(sum[0]/n), uint8(sum[1]/n), uint8(sum[2]/n), 0xFF
		}
	}
	return p, nil
}
