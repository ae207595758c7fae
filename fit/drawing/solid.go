package drawing

import (
	"image"
	"image/color"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// A Solid is a room with a device in it as a body in space: far walls as shaded surfaces, the device with its contact, and a sketch of a
// foot. It is drawn by a depth buffer, seen from any side; contact is told by colour and by pattern.
type Solid struct {
	parts  []solidPart
	lo, hi r3.Vec
}

type solidPart struct {
	m      *mesh.Mesh
	normal []r3.Vec // of each face
	kind   []Contact
	wall   bool // seen from inside: only where it faces away
	ghost  bool // every second pixel
}

// Contact is how a piece of the device's surface stands to the shoe.
type Contact uint8

// The contacts.
const (
	Free Contact = iota
	Rests
	Touches
	Presses
	ofWall
	ofFoot
)

// Where contact begins, mm of distance: what is nearer than touchMM touches; past pressMM it presses.
const (
	touchMM = 0.6
	pressMM = -0.2
)

// An Eye says from where a solid is seen: turned about the vertical, 0 from behind, 90 from the medial side; tilted from above.
type Eye struct{ TurnDeg, TiltDeg float64 }

// NewSolid puts a room, the device of a result in the pose in which it comes to rest (else in the intended one), and a sketch of the foot
// of a length together; foot 0: none.
func NewSolid(room *footwear.Room, dev *device.Device, r *fit.Result, tree *mesh.Tree, footMM float64) *Solid {
	s := &Solid{}
	s.add(room.Walls, nil, true, false)
	pose := r.Settled
	if r.Status != fit.Converged {
		pose = r.Intended
	}
	m := dev.Rigid.Transformed(pose)
	kind := make([]Contact, len(m.F))
	hint := int32(-1)
	for i, f := range m.F {
		p := r3.Scale(1.0/3, r3.Add(m.V[f[0]], r3.Add(m.V[f[1]], m.V[f[2]])))
		h := tree.NearestFrom(p, hint)
		hint = h.Face
		if h.Beyond || h.Signed > touchMM {
			continue
		}
		switch {
		case footwear.Zone(room.Walls.Tag[h.Face]).Floor():
			kind[i] = Rests
		case h.Signed < pressMM:
			kind[i] = Presses
		default:
			kind[i] = Touches
		}
	}
	s.add(m, kind, false, false)
	if footMM > 0 {
		s.add(footSketch(room, dev, pose, footMM), nil, false, true)
	}
	return s
}

func (s *Solid) add(m *mesh.Mesh, kind []Contact, wall, ghost bool) {
	p := solidPart{m: m, kind: kind, wall: wall, ghost: ghost, normal: make([]r3.Vec, len(m.F))}
	for i := range m.F {
		p.normal[i] = m.FaceNormal(i)
	}
	if len(s.parts) == 0 {
		s.lo, s.hi = m.V[0], m.V[0]
	}
	for _, v := range m.V {
		s.lo = r3.Vec{X: math.Min(s.lo.X, v.X), Y: math.Min(s.lo.Y, v.Y), Z: math.Min(s.lo.Z, v.Z)}
		s.hi = r3.Vec{X: math.Max(s.hi.X, v.X), Y: math.Max(s.hi.Y, v.Y), Z: math.Max(s.hi.Z, v.Z)}
	}
	s.parts = append(s.parts, p)
}

// Without is the solid with its sketch of a foot left out.
func (s *Solid) Without(foot bool) *Solid {
	if !foot {
		return s
	}
	out := *s
	out.parts = nil
	for _, p := range s.parts {
		if !p.ghost {
			out.parts = append(out.parts, p)
		}
	}
	return &out
}

// Kinds counts the faces of the device by contact.
func (s *Solid) Kinds() map[Contact]int {
	n := map[Contact]int{}
	for _, p := range s.parts {
		for _, k := range p.kind {
			n[k]++
		}
	}
	return n
}

// footSketch is a simple foot of that length on the device: half ellipses, from its length and the usual shares (common practice, no
// source): only to show where the foot is.
func footSketch(room *footwear.Room, dev *device.Device, pose mesh.Pose, length float64) *mesh.Mesh {
	const stations, round = 40, 24
	m := &mesh.Mesh{}
	back := pose.Apply(r3.Vec{X: dev.Base.BackXMM}).X - 4
	top := func(x float64) float64 { // of device or floor under the foot
		z := room.FloorZ(x)
		inDevice := x - pose.T.X
		if inDevice < dev.FrontXMM {
			share := math.Min(math.Max((dev.FrontXMM-inDevice)/40, 0), 1)
			z += share * (dev.Options.ShellThicknessMM + dev.HeelSeatMM*math.Max(0, 1-inDevice/dev.FrontXMM))
		}
		return z
	}
	for i := range stations + 1 {
		t := float64(i) / stations
		x := back + t*length
		end := math.Sqrt(math.Max(0, 1-math.Pow(2*math.Abs(t-0.5), 8)))
		half := length * (0.125 + 0.07*math.Exp(-math.Pow((t-0.72)/0.18, 2))) * end
		high := length * (0.075 + 0.25*math.Exp(-math.Pow((t-0.22)/0.17, 2))) * end
		z := top(math.Min(x, room.ToeTipXMM()-2))
		for k := range round {
			a := 2 * math.Pi * float64(k) / round
			up := math.Max(math.Sin(a), -0.15)
			m.V = append(m.V, r3.Vec{X: x, Y: half * math.Cos(a), Z: z + high*(up+0.15)/1.15})
		}
	}
	for i := range stations {
		for k := range round {
			a, b := int32(i*round+k), int32(i*round+(k+1)%round)
			c, d := a+round, b+round
			m.F = append(m.F, [3]int32{a, b, d}, [3]int32{a, d, c})
		}
	}
	return m
}

// contactInk is the colour of each contact.
func contactInk(k Contact, pal *Palette, dark bool) color.NRGBA {
	switch k {
	case Presses:
		return pal.Overlap
	case Touches:
		return orange
	case Rests:
		return green
	case ofWall:
		if dark {
			return color.NRGBA{0x6A, 0x70, 0x78, 0xFF}
		}
		return color.NRGBA{0xC9, 0xC2, 0xB6, 0xFF}
	case ofFoot:
		return pal.Foot
	}
	return skyBlue
}

// inked says whether the pattern of a contact darkens a pixel: stripes where it presses, dots where it touches, lines where it rests.
func inked(k Contact, x, y, unit int) bool {
	switch k {
	case Presses:
		return (x+y)/(2*unit)%2 == 0
	case Touches:
		return x/unit%3 == 0 && y/unit%3 == 0
	case Rests:
		return y/unit%3 == 0
	}
	return false
}

// Swatch is a piece of the ink and the pattern of a contact, for a legend.
func Swatch(k Contact, dark bool, widthPx, heightPx int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, widthPx, heightPx))
	pal := PaletteFor(dark)
	ink := contactInk(k, &pal, dark)
	for y := range heightPx {
		for x := range widthPx {
			c := ink
			if inked(k, x, y, 3) {
				c = color.NRGBA{uint8(inkedShade * float64(ink.R)), uint8(inkedShade * float64(ink.G)), uint8(inkedShade * float64(ink.B)), 255}
			}
			img.Set(x, y, c)
		}
	}
	return img
}

// inkedShade is how dark a pattern is.
const inkedShade = 0.45

// Draw draws the solid over the whole picture. With whole the near walls are drawn too, as a veil; without, the shoe is cut open to the
// eye. Scale is pixels a unit of the interface.
func (s *Solid) Draw(img *image.RGBA, eye Eye, whole, dark bool, scale float64) {
	pal := PaletteFor(dark)
	w, h := img.Rect.Dx(), img.Rect.Dy()
	for i := 0; i < len(img.Pix); i += 4 {
		img.Pix[i], img.Pix[i+1], img.Pix[i+2], img.Pix[i+3] = pal.Paper.R, pal.Paper.G, pal.Paper.B, 255
	}
	depth := make([]float32, w*h)
	for i := range depth {
		depth[i] = float32(math.Inf(-1))
	}
	right, up, to := eye.axes()
	middle := r3.Scale(0.5, r3.Add(s.lo, s.hi))
	reach := r3.Norm(r3.Sub(s.hi, s.lo)) / 2
	px := 0.96 * math.Min(float64(w), 1.6*float64(h)) / (2 * reach)
	p := painter{img: img, depth: depth, w: w, h: h, unit: max(1, int(math.Round(2*scale)))}
	light := r3.Unit(r3.Add(to, r3.Add(r3.Scale(0.5, up), r3.Scale(-0.4, right))))
	paint := func(part *solidPart, veil bool) {
		at := make([][3]float64, len(part.m.V))
		for i, v := range part.m.V {
			d := r3.Sub(v, middle)
			at[i] = [3]float64{float64(w)/2 + px*r3.Dot(d, right), float64(h)/2 - px*r3.Dot(d, up), r3.Dot(d, to)}
		}
		for i, f := range part.m.F {
			n := part.normal[i]
			facing := r3.Dot(n, to)
			if part.wall && (facing > 0) != veil {
				continue // a near wall stands before everything
			}
			k := Free
			switch {
			case part.wall:
				k = ofWall
			case part.ghost:
				k = ofFoot
			case part.kind != nil:
				k = part.kind[i]
			}
			ink := contactInk(k, &pal, dark)
			shade := 0.45 + 0.55*math.Abs(r3.Dot(n, light))
			p.mesh(at[f[0]], at[f[1]], at[f[2]], ink, shade, k, part.ghost, veil)
		}
	}
	for i := range s.parts {
		paint(&s.parts[i], false)
	}
	if whole {
		paint(&s.parts[0], true)
	}
}

// axes are the picture's right and up, and the way to the eye.
func (e Eye) axes() (right, up, to r3.Vec) {
	st, ct := math.Sincos(e.TurnDeg * math.Pi / 180)
	sp, cp := math.Sincos(e.TiltDeg * math.Pi / 180)
	to = r3.Vec{X: -ct * cp, Y: st * cp, Z: sp}
	right = r3.Vec{X: -st, Y: -ct}
	return right, r3.Cross(to, right), to
}

// A painter fills triangles by a depth buffer.
type painter struct {
	img   *image.RGBA
	depth []float32
	w, h  int
	unit  int // of patterns, pixels
}

// mesh fills one triangle: picture x, y, and depth towards the eye.
func (p *painter) mesh(a, b, c [3]float64, ink color.NRGBA, shade float64, k Contact, ghost, veil bool) {
	area := (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])
	if math.Abs(area) < 1e-9 {
		return
	}
	x0, x1 := max(0, int(math.Floor(min(a[0], b[0], c[0])))), min(p.w-1, int(math.Ceil(max(a[0], b[0], c[0]))))
	y0, y1 := max(0, int(math.Floor(min(a[1], b[1], c[1])))), min(p.h-1, int(math.Ceil(max(a[1], b[1], c[1]))))
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			fx, fy := float64(x)+0.5, float64(y)+0.5
			u := ((b[0]-fx)*(c[1]-fy) - (b[1]-fy)*(c[0]-fx)) / area
			v := ((c[0]-fx)*(a[1]-fy) - (c[1]-fy)*(a[0]-fx)) / area
			t := 1 - u - v
			if u < 0 || v < 0 || t < 0 {
				continue
			}
			if ghost && (x/p.unit+y/p.unit)%2 == 0 || veil && (x/p.unit%4 != 0 || y/p.unit%4 != 0) {
				continue
			}
			z := float32(u*a[2] + v*b[2] + t*c[2])
			at := y*p.w + x
			if z <= p.depth[at] {
				continue
			}
			p.depth[at] = z
			s := shade
			if inked(k, x, y, p.unit) {
				s *= inkedShade
			}
			i := p.img.PixOffset(p.img.Rect.Min.X+x, p.img.Rect.Min.Y+y)
			p.img.Pix[i], p.img.Pix[i+1], p.img.Pix[i+2], p.img.Pix[i+3] = uint8(s*float64(ink.R)), uint8(s*float64(ink.G)), uint8(s*float64(ink.B)), 255
		}
	}
}
