package drawing

import (
	"image"
	"image/color"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A relief is a body as it is seen in a view, in pixels: for each the face that is in front, and how bright it is.
type relief struct {
	width, height int
	face          []int32 // -1: none
	bright        []float32
	depth         []float32
}

// facing is the direction to who looks at a view.
func (v View) facing() r3.Vec { return [...]r3.Vec{{X: -1}, {Y: -1}, {Z: 1}}[v%3] }

// paperAxes are the directions of U and V in space.
func (v View) paperAxes() (u, w r3.Vec) {
	return [...]r3.Vec{{Y: -1}, {X: 1}, {X: 1}}[v%3], [...]r3.Vec{{Z: 1}, {Z: 1}, {Y: 1}}[v%3]
}

// reliefOf looks at a shape: each pixel gets the face nearest to who looks, or with far the farthest one, as through
// glass. Faces count from both sides, since a scan may look either way. Light comes from who looks, the upper left.
func reliefOf(s *Shape, f Frame, far bool) *relief {
	r := &relief{width: int(math.Ceil(f.WidthPx)), height: int(math.Ceil(f.HeightPx))}
	n := r.width * r.height
	r.face, r.bright, r.depth = make([]int32, n), make([]float32, n), make([]float32, n)
	for i := range r.face {
		r.face[i] = -1
	}
	v := f.View
	u, w := v.paperAxes()
	look := v.facing()
	if far {
		look = r3.Scale(-1, look)
	}
	light := r3.Unit(r3.Add(r3.Scale(1, v.facing()), r3.Add(r3.Scale(-0.5, u), r3.Scale(0.7, w))))
	type corner struct{ x, y, z float32 }
	placed := make([]r3.Vec, len(s.Mesh.V))
	corners := make([]corner, len(s.Mesh.V))
	for i, p := range s.Mesh.V {
		q := s.place(p)
		placed[i] = q
		x, y := f.Pixel(v.Project(q))
		corners[i] = corner{float32(x), float32(y), float32(r3.Dot(q, look))}
	}
	x0, x1 := max(0, int(math.Ceil(f.LeftPx-0.5))), min(r.width-1, int(f.RightPx-0.5))
	y0, y1 := max(0, int(math.Ceil(f.TopPx-0.5))), min(r.height-1, int(f.LowPx-0.5))
	for i, t := range s.Mesh.F {
		a, b, c := corners[t[0]], corners[t[1]], corners[t[2]]
		left, right := max(x0, ceil(min(a.x, b.x, c.x)-0.5)), min(x1, floor(max(a.x, b.x, c.x)-0.5))
		top, low := max(y0, ceil(min(a.y, b.y, c.y)-0.5)), min(y1, floor(max(a.y, b.y, c.y)-0.5))
		if left > right || top > low {
			continue
		}
		area := (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x)
		if area == 0 {
			continue
		}
		normal := r3.Cross(r3.Sub(placed[t[1]], placed[t[0]]), r3.Sub(placed[t[2]], placed[t[0]]))
		size := r3.Norm(normal)
		bright := float32(math.Abs(r3.Dot(normal, light)) / math.Max(size, 1e-12))
		for y := top; y <= low; y++ {
			py := float32(y) + 0.5
			for x := left; x <= right; x++ {
				px := float32(x) + 0.5
				// Barycentric coordinates of the pixel's middle.
				wb := ((px-a.x)*(c.y-a.y) - (py-a.y)*(c.x-a.x)) / area
				wc := ((b.x-a.x)*(py-a.y) - (b.y-a.y)*(px-a.x)) / area
				if wb < 0 || wc < 0 || wb+wc > 1 {
					continue
				}
				z := a.z + wb*(b.z-a.z) + wc*(c.z-a.z)
				k := y*r.width + x
				if r.face[k] < 0 || z > r.depth[k] {
					r.face[k], r.bright[k], r.depth[k] = int32(i), bright, z
				}
			}
		}
	}
	return r
}

func ceil(x float32) int  { return int(math.Ceil(float64(x))) }
func floor(x float32) int { return int(math.Floor(float64(x))) }

// paint lays the relief on a picture: the body in its tint, its silhouette and the borders of its patches as lines.
func (r *relief) paint(img *image.RGBA, s *Shape, pal Palette) {
	b := img.Bounds()
	tag := func(k int) int {
		switch f := r.face[k]; {
		case f < 0:
			return -1
		case s.Mesh.Tag == nil:
			return 0
		default:
			return int(s.Mesh.Tag[f])
		}
	}
	for y := range min(r.height, b.Dy()) {
		for x := range min(r.width, b.Dx()) {
			k := y*r.width + x
			own := tag(k)
			edge, rim := false, false
			for _, n := range [2]int{k - 1, k - r.width} {
				if n < 0 || n == k-1 && x == 0 {
					continue
				}
				other := tag(n)
				rim = rim || (own < 0) != (other < 0)
				edge = edge || own != other
			}
			if own < 0 && !rim {
				continue
			}
			ground := pal.Paper
			if own >= 0 {
				tint := pal.body()
				if s.Tints != nil {
					tint = s.Tints(uint8(own), pal)
				}
				// On light paper what is turned away is darker, on dark paper the other way about: it stands out by the ink.
				turned := 1 - float64(r.bright[k])
				ground = mixed(mixed(pal.Paper, tint, 0.6), pal.Ink, 0.3*turned)
				if pal == Dark {
					ground = mixed(pal.Paper, tint, 1-0.7*turned)
				}
			}
			switch {
			case rim:
				ground = mixed(ground, pal.Ink, 0.7)
			case edge:
				ground = mixed(ground, pal.Ink, 0.45)
			}
			img.SetRGBA(b.Min.X+x, b.Min.Y+y, color.RGBA{ground.R, ground.G, ground.B, 0xFF})
		}
	}
}

// body is the tint of a body without names.
func (p Palette) body() color.NRGBA {
	if p == Dark {
		return color.NRGBA{0x5C, 0x69, 0x74, 0xFF}
	}
	return color.NRGBA{0xC4, 0xBA, 0xA6, 0xFF}
}

// mixed is a with a share of b over it, opaque.
func mixed(a, b color.NRGBA, share float64) color.NRGBA {
	m := func(x, y uint8) uint8 { return uint8(math.Round(float64(x) + (float64(y)-float64(x))*share)) }
	return color.NRGBA{m(a.R, b.R), m(a.G, b.G), m(a.B, b.B), 0xFF}
}
