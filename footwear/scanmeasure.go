package footwear

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// A ScanReading is what was read off a scan.
type ScanReading struct {
	M         map[MeasureID]float64
	PlusMinus map[MeasureID]float64 // 95 of a hundred readings of this shape with this noise lie within it
	NotRead   map[MeasureID]string  // why the others are not there

	HeelWidthMM float64 // at the widest place of the heel, at its widest height
	NoiseMM     float64 // one standard deviation of the vertices across the surface
	OpenTop     bool    // the shape is open over the heel
}

// MeasureScan takes the measures of a sheet off a scan that Alignment.Apply has brought into the frame: right side,
// normals out of the room, mm. It may be open at the top; what can't be read is told in NotRead. Without noise the
// readings of a parametric room agree with its sheet within 0.2 mm or 0.2°; noise is smoothed away first (see smoothed)
// and each ± grows with it.
func MeasureScan(ctx context.Context, m *mesh.Mesh) (ScanReading, error) {
	sv, err := newSurvey(ctx, m)
	if err != nil {
		return ScanReading{}, err
	}
	return sv.reading(), nil
}

// OfTheShape says whether the shape of a room alone tells a measure.
func (id MeasureID) OfTheShape() bool {
	switch id {
	case CounterHeight, InsoleHeel, InsoleForefoot, GiveCounter, GiveQuarter, GiveVamp:
		return false
	}
	return true
}

// A survey is an aligned scan made ready for reading.
type survey struct {
	m          *mesh.Mesh // smoothed, all of it wall
	sl         *slicer
	noise      float64
	noisy      bool
	back, last float64
	st         []station // X counted from the back
	floor      []floorPoint
}

// surveySections is how many sections a survey reads.
const surveySections = 140

// newSurvey reads the sections of an aligned mesh.
func newSurvey(ctx context.Context, m *mesh.Mesh) (*survey, error) {
	if err := scanSize(m); err != nil {
		return nil, err
	}
	smooth, noise, err := smoothed(ctx, m)
	if err != nil {
		return nil, err
	}
	return surveyOf(wallsOnly(smooth, false), noise)
}

func surveyOf(m *mesh.Mesh, noise float64) (*survey, error) {
	a := aligner{ctx: context.Background(), m: m, noisy: noise >= cleanMM}
	if err := a.survey(surveySections); err != nil {
		return nil, err
	}
	back := m.V[0].X - a.now.V[0].X
	// Behind the seat's floor there is the corner to the back; what counts as floor there is the seat's line, as in a form.
	if line, ok := straightSeat(a.st, a.last, a.noisy); ok {
		for i := range a.st {
			if x := a.st[i].x; x < seatFromShare*a.last {
				a.st[i].floor = line[0] + line[1]*x
			}
		}
	}
	return &survey{m: m, sl: newSlicer(m), noise: noise, noisy: a.noisy, back: back, last: a.last, st: a.st, floor: a.floorPoints()}, nil
}

// reading takes all measures.
func (sv *survey) reading() ScanReading {
	r := newReader(sv.sl.at, func(y float64) contour { return scanLongSection(sv.m, y) })
	r.back, r.last, r.noisy = sv.back, sv.last, sv.noisy
	r.got[LastLength] = sv.last
	sv.bottom(r)
	r.sections()
	for id := range NumMeasures {
		if !id.OfTheShape() {
			r.miss("no shape tells it", id)
		}
	}
	out := ScanReading{M: r.got, NotRead: r.missed, HeelWidthMM: r.heelWidth, NoiseMM: sv.noise, PlusMinus: map[MeasureID]float64{}}
	_, out.OpenTop = r.got[ToplineBack]
	for id := range r.got {
		delete(out.NotRead, id)
		out.PlusMinus[id] = scanPlusMinus(id, sv.noise)
	}
	return out
}

// scanNoiseShare is how the ± of a reading grows with the noise: its 95 % error for each mm of noise, in the measure's
// unit: 1.96 × the root mean square error found in reading the demo rooms with noise of 0.3 mm at vertices 2.2 mm apart
// and less (TestNoiseGoesIntoThePlusMinus holds readings to it). Denser scans do better.
var scanNoiseShare = [NumMeasures]float64{
	LastLength: 1.3, BallWidth: 1.0, BallGirth: 1.4, WaistWidth: 1.4,
	SeatWidth: 6, CounterWidth10: 1.1, CounterWidth20: 0.8, CounterWidth40: 0.8, CounterWidthTop: 1.0,
	BackCurveSeat: 3.6, BackCurveTop: 1.1, SeatCupping: 1.7, FeatherHeel: 4.7, FeatherForefoot: 3.1,
	SeatAngle: 1.0, SeatLength: 75, HeelRise: 2.2, ShankSagitta: 2.3, ToeSpring: 1.1,
	DepthInstep: 2.2, DepthBall: 0.8, DepthToe: 0.8, InstepGirth: 4, ToplineMedial: 0.8, ToplineLateral: 0.8, ToplineBack: 0.8,
}

// scanOwn is the ± of a reading without noise: what a reading of a parametric room may differ from its sheet.
func scanOwn(id MeasureID) float64 {
	if id == SeatLength {
		return 1.5
	}
	return 0.1
}

func scanPlusMinus(id MeasureID, noise float64) float64 {
	if noise < cleanMM {
		noise = 0
	}
	return math.Hypot(scanOwn(id), scanNoiseShare[id]*noise)
}

// mostSeatLengthMM is the ± from which on a seat length says nothing.
const mostSeatLengthMM = 10.0

// bottom reads seat angle, seat length, heel rise, sagitta and toe spring off the floor on the room's middle.
func (sv *survey) bottom(r *reader) {
	seat, ok := straightSeat(sv.st, sv.last, sv.noisy)
	if !ok {
		r.miss("no straight seat can be seen", SeatAngle, HeelRise, SeatLength, ShankSagitta)
		r.seat = [2]float64{floorAt(sv.st, 0.1*sv.last), 0}
	} else {
		r.seat = [2]float64{seat[0], seat[1]}
		r.got[SeatAngle] = math.Max(-math.Atan(seat[1])*180/math.Pi, 0)
	}
	zTread, toe, ok := treadAndToe(sv.floor, sv.last)
	if !ok {
		r.miss("no floor was found about the tread line", HeelRise, ToeSpring, SeatLength, ShankSagitta)
		return
	}
	r.got[ToeSpring] = math.Max(toe-zTread, 0)
	if seat == nil {
		return
	}
	r.got[HeelRise] = math.Max(seat[0]-zTread, 0)
	breast, curve, ok := sv.breast()
	if !ok {
		r.miss("the bottom has no break between seat and shank", SeatLength, ShankSagitta)
		return
	}
	if scanPlusMinus(SeatLength, sv.noise) < mostSeatLengthMM {
		r.got[SeatLength] = breast
	} else {
		r.miss("the noise hides where seat and shank meet", SeatLength)
	}
	tread := treadShare * sv.last
	zb := curve(breast)
	slope := (zTread - zb) / (tread - breast)
	most := 0.0
	const steps = 500
	for i := range steps + 1 {
		x := mix(breast, tread, float64(i)/steps)
		most = math.Max(most, math.Abs(curve(x)-zb-slope*(x-breast)))
	}
	r.got[ShankSagitta] = most / math.Hypot(1, slope)
}

// treadAndToe are the heights of the floor at the tread line and at the toe tip: the floor in front of the tread line is
// a parabola, as is that of a form.
func treadAndToe(p []floorPoint, last float64) (tread, toe float64, ok bool) {
	c, ok := soleCurve(p, last)
	if !ok {
		return 0, 0, false
	}
	t := (1 - treadShare) / soleUnitShare
	return c[1], c[1] + c[0]*t + c[5]*t*t, true
}

// breast finds where the floor leaves the line of the seat: the X at which a line up to it and, from it on, a curve that
// leaves the line without a bend fit the floor's heights best (least squares, the place by search), and the floor that
// they make.
func (sv *survey) breast() (x float64, curve func(float64) float64, ok bool) {
	from, to := seatFromShare*sv.last, treadShare*sv.last
	unit := 0.25 * sv.last
	fit := func(b float64) (c []float64, rms float64) {
		var rows [][]float64
		var z, w []float64
		for i := range sv.st {
			s := &sv.st[i]
			if s.x >= from && s.x <= to {
				t := math.Max(s.x-b, 0) / unit
				rows = append(rows, []float64{1, s.x / unit, t * t, t * t * t, t * t * t * t, t * t * t * t * t})
				z, w = append(z, s.floor), append(w, 1)
			}
		}
		c, ok := leastSquares(rows, z, w)
		if !ok {
			return nil, math.Inf(1)
		}
		for i, r := range rows {
			d := -z[i]
			for k := range r {
				d += c[k] * r[k]
			}
			rms += d * d / float64(len(rows))
		}
		return c, math.Sqrt(rms)
	}
	best := math.Inf(1)
	lo, hi := 0.15*sv.last, 0.45*sv.last
	var worst float64
	for b := lo; b <= hi; b += 1 {
		_, rms := fit(b)
		if rms < best {
			best, x = rms, b
		}
		worst = math.Max(worst, rms)
	}
	for b := x - 1; b <= x+1; b += 0.05 {
		if _, rms := fit(b); rms < best {
			best, x = rms, b
		}
	}
	// A place that fits no better than any other is none, nor is one at the end of the search.
	if math.IsInf(best, 1) || worst < best+0.01 || worst < 1.3*best || x < lo+0.5 || x > hi-1.5 {
		return 0, nil, false
	}
	c, _ := fit(x)
	return x, func(at float64) float64 {
		t := math.Max(at-x, 0) / unit
		return c[0] + c[1]*at/unit + t*t*(c[2]+t*(c[3]+t*(c[4]+t*c[5])))
	}, true
}

// vertexArea is each vertex's share of the area vectors of its faces.
func vertexArea(m *mesh.Mesh) []r3.Vec {
	sum := make([]r3.Vec, len(m.V))
	for i, f := range m.F {
		n := r3.Scale(m.FaceArea(i)/3, m.FaceNormal(i))
		for _, v := range f {
			sum[v] = r3.Add(sum[v], n)
		}
	}
	return sum
}
