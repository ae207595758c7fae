package trace

import (
	"math"

	"lastroom/footwear"
)

// An allowance says how much larger a measure of the room is than that of the insole that lies in it, mm, with its ±.
type allowance struct{ add, plusMinus float64 }

// How a removable insole lies in its shoe. Common practice, no source, from the shapes that rooms here are made with: the
// insole ends where wall or feather line meets its upper edge, with about a millimetre of play. The rearmost point of the
// counter stands some 4 mm behind that, and the widest place of waist and ball above it.
var (
	lengthOver = allowance{5, 4}
	seatOver   = allowance{2, 2.5}
	waistOver  = allowance{4, 5}
	ballOver   = allowance{3, 3}
)

// untoldEdgeMM is how high the edge of an insole may stand when its height was not told. From memory: removable insoles
// are 3 to 6 mm thick at the heel and 3 to 4 at the forefoot.
const untoldEdgeMM = 4.0

// Apply writes into a sheet what a tracing tells of the room: last length, seat width, waist width when there is one,
// ball width, outline, and the guess of the toe's shape. An insole is smaller than the room that it lies in, by how much
// is common practice and wide: the ± of the sheet's measures is several times that of the tracing's.
func (t *Tracing) Apply(s *footwear.Sheet) {
	for _, k := range []struct {
		id   footwear.MeasureID
		m    footwear.Measure
		over allowance
	}{
		{footwear.LastLength, t.Length, lengthOver},
		{footwear.SeatWidth, t.SeatWidth, seatOver},
		{footwear.WaistWidth, t.WaistWidth, waistOver},
		{footwear.BallWidth, t.BallWidth, ballOver},
	} {
		if k.m.Instrument == "" {
			continue
		}
		v, open := k.m.Value, 0.0
		if t.What == Pencil {
			v -= t.LineMM // the pencil ran along the insole's outside
			open = t.LineMM
		} else if t.EdgeHeightMM == 0 && t.EyeHeightMM > 0 {
			open = v * untoldEdgeMM / t.EyeHeightMM
		}
		s.M[k.id] = footwear.Measure{
			Value:      math.Round((v+k.over.add)*10) / 10,
			PlusMinus:  math.Round(10*math.Hypot(math.Hypot(k.m.PlusMinus, k.over.plusMinus), open)) / 10,
			Instrument: footwear.Photo,
		}
	}
	s.Outline, s.ToeShape = t.Outline, t.ToeShape
}
