package footwear

import (
	"context"
	"encoding/binary"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem/problemtest"
)

func requireFinite(t *testing.T, what string, v ...float64) {
	t.Helper()
	for _, x := range v {
		require.False(t, math.IsNaN(x) || math.IsInf(x, 0), "%s: %v", what, v)
	}
}

// FuzzSizes converts sizes, feet and lasts into each other.
func FuzzSizes(f *testing.F) {
	f.Add(uint8(1), uint8(2), uint8(0), 42.0, 0.0)
	f.Add(uint8(0), uint8(3), uint8(5), 265.0, 105.0)
	f.Add(uint8(6), uint8(9), uint8(2), math.NaN(), math.Inf(-1))
	f.Add(uint8(2), uint8(1), uint8(7), -1e308, 5e-324)
	f.Fuzz(func(t *testing.T, from, to, options uint8, value, width float64) {
		system := func(i uint8) System {
			if int(i) < len(Systems) {
				return Systems[i]
			}
			return "none"
		}
		o := SizeOptions{Child: options&1 > 0}
		if options&2 > 0 {
			o.Allowance = FifteenMM
		}
		if options&4 > 0 {
			o.USWomen = PlusOneAndHalf
		}
		s, sy := Size{System: system(from), Value: value, Width: width}, system(to)
		if c, err := Convert(s, sy, o); err != nil {
			problemtest.Require(t, err)
		} else {
			a, err := FootLengthMM(s, o)
			require.NoError(t, err)
			b, err := FootLengthMM(c, o)
			require.NoError(t, err)
			require.InDelta(t, a, b, 1e-6, "%v is not the foot of %v", c, s)
		}
		if last, err := LastLengthMM(s, o); err != nil {
			problemtest.Require(t, err)
		} else if back, err := SizeFromLast(last, s.System, o); err != nil {
			problemtest.Require(t, err)
			require.InDelta(t, 0, math.Min(math.Abs(footOf(s, o)-FootMinMM), math.Abs(footOf(s, o)-FootMaxMM)), 1e-6, "%v", s)
		} else {
			require.InDelta(t, s.Value, back.Value, 1e-9*(1+math.Abs(s.Value)))
		}
		for _, length := range []float64{value, width} {
			if got, err := SizeFromFoot(length, sy, o); err != nil {
				problemtest.Require(t, err)
			} else {
				foot, err := FootLengthMM(got, o)
				require.NoError(t, err)
				require.InDelta(t, length, foot, 1e-6)
			}
			if got, err := SizeFromLast(length, sy, o); err != nil {
				problemtest.Require(t, err)
			} else {
				require.NoError(t, got.Check(o))
			}
			rows, err := SizeTable(length, o)
			if err != nil {
				problemtest.Require(t, err)
				continue
			}
			require.Len(t, rows, len(Systems))
			for _, r := range rows {
				requireFinite(t, "a row of the table", r.Exact.Value, r.Rounded.Value, r.LastLengthMM)
			}
		}
		for _, sy := range Systems {
			lo, hi := SizeLimits(sy, o)
			require.Less(t, lo, hi)
		}
	})
}

// moved is a demo shoe with numbers of data put into it: nine bytes each, which and a float64 of any kind.
func moved(s Sheet, data []byte) Sheet {
	for range 8 {
		if len(data) < 9 {
			break
		}
		which, v := data[0], math.Float64frombits(binary.LittleEndian.Uint64(data[1:]))
		m := &s.M[int(which>>2)%int(NumMeasures)]
		info := Infos[int(which>>2)%int(NumMeasures)]
		switch which & 3 {
		case 0:
			m.Value = v
		case 1:
			m.PlusMinus = v
		case 2: // anywhere within the limits
			m.Value = info.Lo + (info.Hi-info.Lo)*float64(data[1])/255
		default: // near what it was
			m.Value += 0.2 * (float64(data[1]) - 127)
		}
		data = data[9:]
	}
	return s
}

// FuzzNewRoom builds, completes, grades and lists shoes whose measures are anything.
func FuzzNewRoom(f *testing.F) {
	bits := func(which byte, v float64) []byte {
		return binary.LittleEndian.AppendUint64([]byte{which}, math.Float64bits(v))
	}
	f.Add(uint8(0), uint8(0), 42.0, []byte{})
	f.Add(uint8(3), uint8(1), 38.0, []byte{byte(SeatAngle)<<2 | 2, 255, 0, 0, 0, 0, 0, 0, 0, byte(BallWidth)<<2 | 3, 0, 0, 0, 0, 0, 0, 0, 0})
	f.Add(uint8(5), uint8(2), math.NaN(), bits(byte(LastLength)<<2, math.NaN()))
	f.Add(uint8(9), uint8(3), 1e300, bits(byte(HeelRise)<<2|1, math.Inf(1)))
	all := Demo().All()
	f.Fuzz(func(t *testing.T, shoe, options uint8, size float64, data []byte) {
		s := moved(all[int(shoe)%len(all)], data)
		to := Size{System: EU, Value: size}
		g, err := s.Graded(to, GradeOptions{Geometric: options&1 > 0})
		if err != nil {
			problemtest.Require(t, err)
		} else {
			require.Empty(t, g.Validate())
			require.Equal(t, to, g.Size)
		}
		if c, err := NewCatalog([]Sheet{s, g}); err != nil {
			problemtest.Require(t, err)
		} else {
			_, err := c.Find(s.ID)
			require.NoError(t, err)
		}
		if near, err := Nearest(s.Kind, to); err != nil {
			problemtest.Require(t, err)
		} else {
			for id := range NumMeasures {
				requireFinite(t, id.String(), near.V(id), near.M[id].PlusMinus)
			}
		}
		if options&8 > 0 { // of a part of the measures
			part := s
			for id := range NumMeasures {
				if (uint(shoe)+uint(id))%3 > 0 {
					part.M[id] = Measure{}
				}
			}
			full, assumed, err := FillIn(part)
			if err != nil {
				problemtest.Require(t, err)
				return
			}
			for _, id := range assumed {
				requireFinite(t, id.String(), full.V(id), full.M[id].PlusMinus)
				require.GreaterOrEqual(t, full.V(id), Infos[id].Lo)
				require.LessOrEqual(t, full.V(id), Infos[id].Hi)
			}
			s = full
		}
		insole := options&2 > 0
		room, err := NewDraftRoom(s, insole)
		if err != nil {
			problemtest.Require(t, err)
			return
		}
		requireRoom(t, room)
		require.InDelta(t, s.V(LastLength), room.ToeTipXMM(), 1)
		if options&4 > 0 {
			room, err = NewRoom(s, insole)
			require.NoError(t, err, "the draft was built")
			requireRoom(t, room)
		}
	})
}

// requireRoom holds a room to what any is: closed, finite, and answering everywhere.
func requireRoom(t *testing.T, r *Room) {
	t.Helper()
	require.NoError(t, r.Closed.Validate())
	require.NoError(t, r.Walls.Validate())
	require.NoError(t, r.Closed.Closed())
	require.Positive(t, r.Closed.Volume())
	for x := -20.0; x < 400; x += 13 {
		requireFinite(t, "floor, middle, depth", r.FloorZ(x), r.FloorSlopeDeg(x), r.MiddleY(x), r.DepthMM(x))
		require.GreaterOrEqual(t, r.DepthMM(x), 0.0)
	}
	requireFinite(t, "topline", r.ToplineMedialMM(), r.ToplineLateralMM(), r.ToplineBackMM(), r.CounterTopMM())
	for z := range NumZones {
		requireFinite(t, z.String(), r.GiveMM(z), r.PlusMinusMM(z))
		require.GreaterOrEqual(t, r.GiveMM(z), 0.0)
	}
}

// FuzzRoomFromScan reads frames, measures and rooms off a room that was bent, cut, thinned out and turned round.
func FuzzRoomFromScan(f *testing.F) {
	f.Add([]byte{}, uint8(0), 0.0, 0.0, 0.0, 0.0)
	f.Add([]byte{1, 200, 3, 4, 0, 9}, uint8(7), 3.0, -2.0, 1e9, 0.2)
	f.Add([]byte{40, 3, 80}, uint8(0x35), math.NaN(), math.Inf(1), -4.0, 1.0)
	f.Add([]byte{90, 0, 2}, uint8(0x5a), 15.0, 15.0, 15.0, 5.0)
	sheet, err := Demo().Find("court-45")
	require.NoError(f, err)
	whole, err := NewDraftRoom(sheet, false)
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, data []byte, how uint8, sock, lining, insole, plus float64) {
		m := whole.Closed
		if how&1 > 0 {
			m = whole.Walls
		}
		m = m.Clone()
		m.Tag = nil
		for k := 0; k+2 < len(data) && k < 60; k += 3 { // faces lost, corners pulled
			at := int(data[k]) * len(m.F) / 256
			switch data[k+1] % 4 {
			case 0:
				m.F = append(m.F[:at:at], m.F[min(at+int(data[k+2]), len(m.F)-101):]...)
			case 1:
				m.F[at][0], m.F[at][1] = m.F[at][1], m.F[at][0]
			case 2:
				m.V[m.F[at][0]].Z += float64(data[k+2]) - 128
			default:
				v := &m.V[m.F[at][0]]
				*v = r3.Scale(math.Pow(2, float64(data[k+2])-128), *v)
			}
		}
		if how&2 > 0 {
			m = m.Transformed(mesh.PoseAbout(r3.Vec{}, r3.Vec{X: float64(how) / 40, Z: 1}, r3.Vec{X: 500}))
		}
		o := ScanOptions{Body: [...]ScanBody{ScanAny, ScanLast, ScanInside, "shoe"}[how>>2&3], SockMM: sock, LiningMM: lining, InsoleMM: insole, PlusMinusMM: plus}
		if how&0x10 > 0 {
			a := AlignOptions{Side: [...]Side{SideUnknown, LeftSide, RightSide, "both"}[how>>5&3]}
			if how&0x80 > 0 {
				a.Points = &ThreePoints{HeelBack: r3.Vec{X: sock}, TreadMedial: r3.Vec{X: 190, Y: 40 + lining}, TreadLateral: r3.Vec{X: 190, Y: -40, Z: insole}}
			}
			got, err := Align(t.Context(), m, a)
			if err != nil {
				problemtest.Require(t, err)
				return
			}
			p := got.Pose.Apply(r3.Vec{X: 1, Y: 2, Z: 3})
			requireFinite(t, "frame", p.X, p.Y, p.Z, got.LengthMM, got.NoiseMM, got.Odds.HeelToe, got.Odds.Side, got.Odds.Sole)
			m = got.Apply(m)
		}
		if read, err := MeasureScan(context.Background(), m); err != nil {
			problemtest.Require(t, err)
		} else {
			for id, v := range read.M {
				requireFinite(t, id.String(), v, read.PlusMinus[id])
				require.GreaterOrEqual(t, read.PlusMinus[id], 0.0)
			}
		}
		room, err := RoomFromScan(context.Background(), m, o)
		if err != nil {
			problemtest.Require(t, err)
			return
		}
		require.NoError(t, room.Walls.Validate())
		require.NotEmpty(t, room.Walls.F)
		require.Len(t, room.Walls.Tag, len(room.Walls.F))
		requireFinite(t, "scan", room.Scan.SigmaMM, room.Scan.Reading.NoiseMM)
		for id := range NumMeasures {
			requireFinite(t, id.String(), room.Sheet.V(id), room.Sheet.M[id].PlusMinus)
		}
		for x := -20.0; x < 400; x += 31 {
			requireFinite(t, "floor, middle, depth", room.FloorZ(x), room.FloorSlopeDeg(x), room.MiddleY(x), room.DepthMM(x))
		}
	})
}
