package trace

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/vector"
)

// A made outline has known measures; X forward from the heel, Y to the left, mm.
type made struct {
	p                                []Point
	length, seat, waist, ball, swing float64
}

// soleOutline has a heel of half an ellipse, smooth steps from seat to waist to ball, and a toe of a superellipse, about
// a middle that leaves the heel's line in front of the heel: its widths, square to that line, are those put in.
func soleOutline(length, seat, waist, ball, toeExponent, swing float64) made {
	heel, narrow, tread, straight := 0.17*length, 0.43*length, 0.70*length, 0.27*length
	smooth := func(t float64) float64 { t = min(max(t, 0), 1); return t * t * (3 - 2*t) }
	half := func(x float64) float64 {
		switch {
		case x < heel:
			return seat / 2 * math.Sqrt(max(0, 1-math.Pow((heel-x)/heel, 2)))
		case x < narrow:
			return seat/2 + (waist-seat)/2*smooth((x-heel)/(narrow-heel))
		case x < tread:
			return waist/2 + (ball-waist)/2*smooth((x-narrow)/(tread-narrow))
		}
		return ball / 2 * math.Pow(max(0, 1-math.Pow((x-tread)/(length-tread), toeExponent)), 1/toeExponent)
	}
	middle := func(x float64) float64 { return 2 * swing * math.Pow(max(0, x-straight)/(length-straight), 2) }
	m := made{length: length, seat: seat, waist: waist, ball: ball}
	const n = 1500
	var back []Point
	for i := range n + 1 {
		x := length * (1 - math.Cos(math.Pi*float64(i)/n)) / 2 // dense at both ends
		m.p = append(m.p, Point{x, middle(x) - half(x)})
		back = append(back, Point{x, middle(x) + half(x)})
	}
	for i := n - 1; i > 0; i-- {
		m.p = append(m.p, back[i])
	}
	for i := range 1000 {
		m.swing += middle(length*(0.70+0.20*(float64(i)+0.5)/1000)) / 1000
	}
	return m
}

// superellipseOutline is |x/a|ⁿ + |y/b|ⁿ = 1; an ellipse for n = 2.
func superellipseOutline(a, b, n float64) made {
	m := made{length: 2 * a, ball: 2 * b}
	m.seat = 2 * b * math.Pow(1-math.Pow(0.6, n), 1/n) // at a fifth of the length
	for i := range 3000 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 3000)
		m.p = append(m.p, Point{a * math.Copysign(math.Pow(math.Abs(c), 2/n), c), b * math.Copysign(math.Pow(math.Abs(s), 2/n), s)})
	}
	return m
}

// A scene is what stands in front of the camera, and the camera.
type scene struct {
	paper   Paper
	outline []Point // mm on the paper from its first corner, long side along x, y down
	pencil  float64 // width of the line, mm; 0: a filled insole
	faint   float64 // share of the light that the pencil leaves
	insole  float64 // share of light that is thrown back, as for the others
	table   float64
	texture float64 // how much the table's grain adds and takes, as a share
	gaps    bool    // the pencil line is broken here and there

	w, h      int
	eye       [3]float64 // over the paper, mm: along its long side, its short side, up
	rollDeg   float64
	focal     float64 // as a share of the picture's diagonal
	aim       Point   // place of the paper in the picture's middle
	lensK     float64 // radial: a place at share r of the half diagonal is shown at r(1 + k r²)
	blur      float64 // px
	blurCoded bool    // blurred after the tone curve, as on a screen, not before it, as in a lens
	noise     float64 // sigma of 255
	shadow    func(p Point) float64
	seed      uint64
	bend      float64 // the sheet's long sides bow by so much, mm
	front     float64 // what the insole's front half throws back, when it is of two shades
	cast      Point   // how far the insole throws a shadow on the paper, mm
}

// plain is a scene with nothing difficult in it: the camera straight above an A4 sheet.
func plain(o made) scene {
	s := scene{
		paper: A4, insole: 0.07, table: 0.12, texture: 0.15, w: 1040, h: 760, eye: [3]float64{148.5, 105, 280}, focal: 27 / 43.27,
		aim: Point{148.5, 105}, blur: 0.8, noise: 2, seed: 1,
	}
	return s.with(o, 2, Point{})
}

// from moves the camera: tilted away from straight above in a direction over the paper, at a distance, aimed near its
// middle.
func (s scene) from(tiltDeg, towardsDeg, distance, rollDeg float64) scene {
	long, short := s.paper.SizeMM()
	si, co := math.Sincos(tiltDeg * math.Pi / 180)
	dy, dx := math.Sincos(towardsDeg * math.Pi / 180)
	s.aim = Point{long/2 + 3, short/2 - 2}
	s.eye = [3]float64{s.aim.X + distance*si*dx, s.aim.Y + distance*si*dy, distance * co}
	s.rollDeg = rollDeg
	return s
}

// on changes the paper.
func (s scene) on(p Paper) scene {
	s.paper = p
	return s.from(0, 0, s.eye[2], 0)
}

// with lays an outline on the middle of the paper, turned by an angle and moved.
func (s scene) with(o made, turnDeg float64, move Point) scene {
	long, short := s.paper.SizeMM()
	si, co := math.Sincos(turnDeg * math.Pi / 180)
	lo, hi := o.p[0].X, o.p[0].X
	for _, p := range o.p {
		lo, hi = min(lo, p.X), max(hi, p.X)
	}
	s.outline = nil
	for _, p := range o.p {
		q := Point{p.X - (lo+hi)/2, -p.Y}.turned(co, si) // Y to the left is up in a picture whose X runs to the right
		s.outline = append(s.outline, q.plus(Point{long/2 + move.X, short/2 + move.Y}))
	}
	return s
}

// camera is the homography from the paper to the picture.
func (s scene) camera() homography {
	unit := func(v [3]float64) [3]float64 {
		n := math.Sqrt(dot3(v, v))
		return [3]float64{v[0] / n, v[1] / n, v[2] / n}
	}
	cross := func(a, b [3]float64) [3]float64 {
		return [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
	}
	// Axes of the paper: x right, y down, z away from the eye, so that the up of the eye is −z.
	eye := [3]float64{s.eye[0], s.eye[1], -s.eye[2]}
	ahead := unit([3]float64{s.aim.X - eye[0], s.aim.Y - eye[1], -eye[2]})
	si, co := math.Sincos(s.rollDeg * math.Pi / 180)
	right := unit(cross([3]float64{-si, co, 0}, ahead))
	down := cross(ahead, right)
	f := s.focal * math.Hypot(float64(s.w), float64(s.h))
	cx, cy := float64(s.w)/2, float64(s.h)/2
	var h homography
	for j, c := range [][3]float64{{1, 0, 0}, {0, 1, 0}, {-eye[0], -eye[1], -eye[2]}} {
		x, y, z := dot3(right, c), dot3(down, c), dot3(ahead, c)
		h[j], h[3+j], h[6+j] = f*x+cx*z, f*y+cy*z, z
	}
	return h
}

// shot renders the scene.
func (s scene) shot(t testing.TB) *image.Gray {
	t.Helper()
	const fine = 5.0 // px/mm of the mask
	long, short := s.paper.SizeMM()
	mask := s.mask(long, short, fine)
	h := s.camera()
	inv, ok := homographyOf([4]Point{h.apply(Point{0, 0}), h.apply(Point{long, 0}), h.apply(Point{long, short}), h.apply(Point{0, short})}, page(long, short))
	require.True(t, ok)
	mid := Point{float64(s.w) / 2, float64(s.h) / 2}
	light := func(p Point) float64 {
		v := 0.85
		bow := s.bend * (1 - math.Pow(2*p.X/long-1, 2))
		switch {
		case p.X < 0 || p.X > long || p.Y < bow || p.Y > short+bow:
			grain := math.Sin(p.X*0.31+p.Y*0.07) + 0.8*math.Sin(p.X*0.6+p.Y*1.1)
			v = s.table * (1 + s.texture*grain)
		default:
			k := mask.at(p.X*fine, p.Y*fine)
			ink := s.insole
			if s.pencil > 0 {
				ink = 0.85 * s.faint
			}
			if s.front > 0 && p.X > long/2 {
				ink = s.front
			}
			if s.cast != (Point{}) {
				v *= 1 - 0.45*mask.at((p.X-s.cast.X)*fine, (p.Y-s.cast.Y)*fine)
			}
			v += k * (ink - v)
		}
		if s.shadow != nil {
			v *= s.shadow(p)
		}
		return v
	}
	g := newGrey(s.w, s.h)
	seen := func(q Point) float64 {
		if s.lensK != 0 {
			dq := q.minus(mid).times(1 / mid.norm())
			u := dq
			for range 6 {
				u = dq.times(1 / (1 + s.lensK*u.dot(u)))
			}
			q = mid.plus(u.times(mid.norm()))
		}
		return light(inv.apply(q))
	}
	mean := func(x, y, n int) (sum float64) {
		for j := range n {
			for i := range n {
				sum += seen(Point{float64(x) + (float64(i)+0.5)/float64(n), float64(y) + (float64(j)+0.5)/float64(n)}) / float64(n*n)
			}
		}
		return sum
	}
	for i := range g.v {
		g.v[i] = float32(mean(i%s.w, i/s.w, 2))
	}
	rough := newGrey(s.w, s.h)
	copy(rough.v, g.v)
	for i, v := range rough.v {
		for _, j := range neighbours(i, s.w, s.h) {
			if j >= 0 && math.Abs(float64(rough.v[j]-v)) > 0.04 {
				g.v[i] = float32(mean(i%s.w, i/s.w, 8)) // an edge runs through it
				break
			}
		}
	}
	var curve [4097]float32
	for i := range curve {
		curve[i] = float32(math.Pow(float64(i)/4096, 1/2.2))
	}
	code := func(g *grey) {
		for i, v := range g.v {
			x := min(max(v, 0), 0.9999) * 4096
			k := int(x)
			g.v[i] = curve[k] + (x-float32(k))*(curve[k+1]-curve[k])
		}
	}
	if s.blurCoded {
		code(&g)
	}
	if s.blur > 0 {
		g = g.smoothed(s.blur)
	}
	if !s.blurCoded {
		code(&g)
	}
	rnd := rand.New(rand.NewPCG(s.seed, 7))
	m := image.NewGray(image.Rect(0, 0, s.w, s.h))
	for i, v := range g.v {
		m.Pix[i] = uint8(math.Round(min(max(255*float64(v)+s.noise*rnd.NormFloat64(), 0), 255)))
	}
	return m
}

// mask covers what the outline holds, or its line, by an outside rasteriser.
func (s scene) mask(long, short, fine float64) grey {
	w, h := int(math.Ceil(long*fine)), int(math.Ceil(short*fine))
	r := vector.NewRasterizer(w, h)
	draw := func(p []Point) {
		for i, q := range p {
			x, y := float32(q.X*fine), float32(q.Y*fine)
			if i == 0 {
				r.MoveTo(x, y)
			} else {
				r.LineTo(x, y)
			}
		}
		r.ClosePath()
	}
	if s.pencil == 0 {
		draw(s.outline)
	} else {
		n := len(s.outline)
		for i, a := range s.outline {
			b := s.outline[(i+1)%n]
			if a == b || s.gaps && i%(n/5) < n/200 {
				continue
			}
			// A strip a little longer than the piece, so that they overlap; the rasteriser caps the cover.
			d := b.minus(a).unit()
			o := d.normal().times(s.pencil / 2)
			a, b = a.minus(d.times(0.05)), b.plus(d.times(0.05))
			draw([]Point{a.plus(o), b.plus(o), b.minus(o), a.minus(o)})
		}
	}
	img := image.NewAlpha(image.Rect(0, 0, w, h))
	r.Draw(img, img.Bounds(), image.Opaque, image.Point{})
	g := newGrey(w, h)
	for i, v := range img.Pix {
		g.v[i] = float32(v) / 255
	}
	return g
}

func asPNG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	e := png.Encoder{CompressionLevel: png.BestSpeed}
	require.NoError(t, e.Encode(&b, m))
	return b.Bytes()
}

func asJPEG(t testing.TB, m image.Image, quality int) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, m, &jpeg.Options{Quality: quality}))
	return b.Bytes()
}

// tinted is a grey picture in the colour of a warm lamp, its greys between dark and paper in yellow.
func tinted(m *image.Gray) image.Image {
	out := image.NewNRGBA(m.Bounds())
	for i, v := range m.Pix {
		x := float64(v)
		bright := x + max(0, 0.8*min(x-100, 238-x))
		out.SetNRGBA(i%m.Rect.Dx(), i/m.Rect.Dx(), color.NRGBA{uint8(min(bright, 255)), uint8(min(bright*0.96, 255)), uint8(x * 0.88), 255})
	}
	return out
}
