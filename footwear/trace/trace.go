package trace

import (
	"context"
	"fmt"
	"image"
	"io"
	"math"

	"lastroom/footwear"
)

// What lies on the sheet.
type What string

// What can be traced.
const (
	Insole What = "insole" // the removed insole itself, its upper side up
	Pencil What = "pencil" // a pencil line drawn round it
)

// A Side is the foot that a shoe is for.
type Side string

// The sides.
const (
	AnySide Side = "" // by its shape
	Right   Side = "right"
	Left    Side = "left"
)

// Options say what is known of a photo. The zero value: an insole in the plane of a sheet that is to be found.
type Options struct {
	Sheet   Paper     // AnyPaper: by the proportion of its sides
	Corners *[4]Point // of the sheet, px of the upright picture, in any order; nil: they are looked for
	Side    Side      // AnySide: guessed
	What    What      // "": Insole

	// EdgeHeightMM is how high the outline lies over the paper: for an insole about the thickness of its edge. What is
	// nearer to the camera looks larger; with a height the outline is brought down to the paper, 0 to 30 mm. 0 is right
	// for a pencil line.
	EdgeHeightMM float64
}

// MaxEdgeHeightMM bounds EdgeHeightMM.
const MaxEdgeHeightMM = 30.0

// A Tracing is an outline read from a photo, and what was read off it. The instrument of each measure is the photo, its
// ± what 95 of a hundred readings lie within; see the package's doc for what it holds.
type Tracing struct {
	Name        string
	What        What
	Sheet       Paper
	Side        Side // AnySide when it was not told and the shape does not tell; then Y > 0 is the left in the picture
	SideGuessed bool

	Length     footwear.Measure // along the heel-seat centre line
	SeatWidth  footwear.Measure // the widest in the rear fifth
	WaistWidth footwear.Measure // the narrowest between seat and ball; the zero value when the outline has no waist
	BallWidth  footwear.Measure // the widest in the front half
	Swing      footwear.Measure // how far the forefoot's middle lies medially of the heel-seat centre line

	SeatAtMM, WaistAtMM, BallAtMM float64 // where along X

	Outline     footwear.Outline // straight or swung
	ToeShape    string           // a guess: round, oval, square, pointed
	ToeExponent float64          // of the superellipse nearest to the toes

	// Polygon is the outline: X forward from its rearmost point along the heel-seat centre line, Y medial, mm, anticlockwise
	// as a right shoe is seen from above, a point every half millimetre. A left outline is mirrored.
	Polygon []Point

	Corners     [4]Point // of the sheet, px of the upright picture, clockwise; the first two are the ends of a long side
	PxPerMM     float64  // of the file, at its coarsest on the sheet
	BowMM       float64  // how far the sheet's sides are from straight, after the lens
	LensMM      float64  // how much of a bow the correction of the lens took out
	EyeHeightMM float64  // how high the camera was over the sheet, roughly; 0 for a flat scan
	LineMM      float64  // width of the pencil line, 0 for an insole

	EdgeHeightMM float64 // as told

	Flat        *image.Gray // the sheet seen from straight above
	FlatPxPerMM float64
	OnSheet     []Point // the outline on Flat, mm from its upper left corner

	Notes []string // what a reader should know
}

// ReadPhoto finds the sheet in a PNG or JPEG picture, rectifies it and reads the outline that lies on it. Errors are
// problems that name the file; a cancelled context ends it early.
func ReadPhoto(ctx context.Context, r io.Reader, name string, o Options) (Tracing, error) {
	o, err := o.checked(name)
	if err != nil {
		return Tracing{}, err
	}
	p, err := readPhoto(ctx, r, name)
	if err != nil {
		return Tracing{}, err
	}
	v, err := locate(p, name, o)
	if err != nil {
		return Tracing{}, err
	}
	f, err := rectified(ctx, &p.grey, v)
	if err != nil {
		return Tracing{}, err
	}
	find := insoleOutline
	if o.What == Pencil {
		find = pencilOutline
	}
	line, why, err := find(ctx, f)
	if err != nil {
		return Tracing{}, err
	}
	if len(line.p) == 0 {
		return Tracing{}, noOutline(name, o.What, why)
	}
	t := Tracing{Name: name, What: o.What, Sheet: v.paper, EdgeHeightMM: o.EdgeHeightMM}
	t.tell(p, v, f, line)
	t.read(v, line, o, p.colourPx)
	return t, nil
}

func (o Options) checked(name string) (Options, error) {
	if o.What == "" {
		o.What = Insole
	}
	switch {
	case o.What != Insole && o.What != Pencil:
		return o, bad(name, "what", string(o.What), "insole or pencil", "say what lies on the sheet")
	case o.Sheet != AnyPaper && o.Sheet != A4 && o.Sheet != Letter:
		return o, bad(name, "sheet", string(o.Sheet), "a4 or letter", "say which sheet it lies on")
	case o.Side != AnySide && o.Side != Right && o.Side != Left:
		return o, bad(name, "side", string(o.Side), "right or left", "say which foot it is for")
	case !(o.EdgeHeightMM >= 0 && o.EdgeHeightMM <= MaxEdgeHeightMM):
		return o, bad(name, "edge_height_mm", fmt.Sprintf("%.4g mm", o.EdgeHeightMM), fmt.Sprintf("0 to %g mm", MaxEdgeHeightMM), "give the thickness of the insole's edge")
	}
	return o, nil
}

func noOutline(name string, what What, why failure) error {
	switch {
	case why == atRim:
		return bad(name, "outline", "", "it reaches the edge of the sheet", "lay it wholly on the sheet, with some paper all round")
	case what == Pencil:
		return bad(name, "outline", "", "no closed pencil line of an insole's shape is found", "draw it again without gaps, soft and dark, or say that it is an insole")
	}
	return bad(name, "outline", "", "nothing of an insole's shape stands out from the paper", "light it evenly on plain paper; draw a pale insole's outline in pencil and say so")
}

// tell notes how the picture was taken.
func (t *Tracing) tell(p *photo, v *view, f *flat, line outline) {
	r := float64(p.reduced)
	for i, c := range v.corners {
		t.Corners[i] = c.times(r)
	}
	t.PxPerMM = v.pxPerMM * r
	t.BowMM, t.LensMM, t.LineMM = v.bowMM, v.lensMM, line.lineMM
	t.Flat, t.FlatPxPerMM, t.OnSheet = f.picture(), f.pxPerMM, line.p
	if !v.wholePage {
		_, _, t.EyeHeightMM, _ = v.eye()
	}
	if p.broken {
		t.note("the file's EXIF data is damaged; the picture is taken as it is stored")
	}
	if v.wholePage {
		t.note("the whole picture is taken for the sheet")
	}
	if v.clickMM > 0 {
		t.note("no edges of the sheet were found at the corners given; the corners count as they are")
	}
	if v.bowMM > 0.7 {
		t.note("the sheet's sides are bowed by %.1f mm: flatten it, or take the photo from further away", v.bowMM)
	}
	if v.otherFits < v.misfit/2 && v.misfit > tooAlike {
		t.note("the sheet's proportion is nearer to %s", v.other)
	}
	if line.lineMM > 0 {
		t.note("the outline is the middle of the pencil line, which is %.1f mm wide: its inner side lies %.1f mm further in all round", line.lineMM, line.lineMM/2)
	}
}

func (t *Tracing) note(format string, a ...any) { t.Notes = append(t.Notes, fmt.Sprintf(format, a...)) }

// picture is the rectified sheet for a screen, in the values of the file.
func (f *flat) picture() *image.Gray {
	var curve [1024]uint8
	for i := range curve {
		curve[i] = uint8(math.Round(255 * math.Pow((float64(i)+0.5)/float64(len(curve)), 1/toneCurve)))
	}
	m := image.NewGray(image.Rect(0, 0, f.w, f.h))
	for i, v := range f.v {
		m.Pix[i] = curve[min(max(int(v*float32(len(curve))), 0), len(curve)-1)]
	}
	return m
}

// read takes the measures off the outline.
func (t *Tracing) read(v *view, line outline, o Options, colourPx float64) {
	p := line.p
	x, y, up, heightShare := v.eye()
	if o.EdgeHeightMM > 0 {
		p = lowered(p, Point{x, y}, up, o.EdgeHeightMM)
	}
	upward := make([]Point, len(p))
	for i, q := range p {
		upward[len(p)-1-i] = Point{q.X, -q.Y}
	}
	s := shaped(upward)
	t.setSide(&s, o.Side)
	if s.alike {
		t.note("heel and toe are about as wide: which is which is a guess")
	}

	e := errorOf(v, line, s.turn, colourPx)
	if o.EdgeHeightMM > 0 {
		e.share = math.Hypot(e.share, o.EdgeHeightMM/up*math.Hypot(heightShare, 0.25))
	} else if o.What == Insole && t.EyeHeightMM > 0 {
		t.note("each mm that the insole's edge stands over the paper makes it look %.2g mm longer: give that height", s.length/up)
	}
	seat, ball := s.seat(), s.ball()
	t.Length = reading(s.length, e.along(s.length))
	t.SeatWidth, t.SeatAtMM = reading(seat.width(), e.across(seat.width())), seat.x
	t.BallWidth, t.BallAtMM = reading(ball.width(), e.across(ball.width())), ball.x
	if w, ok := s.waist(); ok {
		t.WaistWidth, t.WaistAtMM = reading(w.width(), e.across(w.width())), w.x
	} else {
		t.note("the outline has no waist: it does not narrow between seat and ball")
	}
	ahead := ((foreFrom+foreTo)/2 - (heelFrom+heelTo)/2) * s.length
	axis := math.Hypot(s.axisOpen, e.edge/((heelTo-heelFrom)*s.length))
	t.Swing = reading(s.swing(), math.Hypot(e.across(ball.width())/2, ahead*axis))
	t.Outline = footwear.Straight
	if t.Swing.Value > swungShare*ball.width() {
		t.Outline = footwear.Swung
	}
	t.ToeExponent = s.toeExponent()
	t.ToeShape = toeShape(t.ToeExponent)
	t.Polygon = s.p
}

func reading(v, plusMinus float64) footwear.Measure {
	return footwear.Measure{Value: v, PlusMinus: plusMinus, Instrument: footwear.Photo}
}

// lowered brings an outline that lies at a height over the paper down to it, as seen from the eye.
func lowered(p []Point, eye Point, up, height float64) []Point {
	out := make([]Point, len(p))
	f := 1 - height/max(up, 2*height)
	for i, q := range p {
		out[i] = eye.plus(q.minus(eye).times(f))
	}
	return out
}

// setSide turns the medial side to Y > 0, by what was told or what the shape says.
func (t *Tracing) setSide(s *shape, told Side) {
	w := s.medialIsLeft()
	t.Side = told
	if told == AnySide {
		t.SideGuessed = true
		switch {
		case w > 1:
			t.Side = Right
		case w < -1:
			t.Side = Left
		default:
			t.note("the shape does not tell right from left: say which foot it is for")
		}
	} else if told == Right && w < -2 || told == Left && w > 2 {
		t.note("the shape looks like the other foot's: an insole lies with its upper side up")
	}
	if t.Side == Left {
		s.mirrored()
	}
}
