package drawing

import (
	"bytes"
	"image/png"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// box is a closed box; tags are those of its sides: -X, +X, -Y, +Y, -Z, +Z.
func box(lo, hi r3.Vec, tags [6]uint8) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range 8 {
		p := lo
		if i&1 != 0 {
			p.X = hi.X
		}
		if i&2 != 0 {
			p.Y = hi.Y
		}
		if i&4 != 0 {
			p.Z = hi.Z
		}
		m.V = append(m.V, p)
	}
	for side, q := range [6][4]int32{{0, 4, 6, 2}, {1, 3, 7, 5}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 2, 3, 1}, {4, 5, 7, 6}} {
		m.F = append(m.F, [3]int32{q[0], q[1], q[2]}, [3]int32{q[0], q[2], q[3]})
		m.Tag = append(m.Tag, tags[side], tags[side])
	}
	return m
}

func zones(z ...footwear.Zone) (out [6]uint8) {
	for i := range z {
		out[i] = uint8(z[i])
	}
	return out
}

func features(f ...device.Feature) (out [6]uint8) {
	for i := range f {
		out[i] = uint8(f[i])
	}
	return out
}

// boxRoom is 100 long, 60 wide and 50 high, open at the top.
func boxRoom() *footwear.Room {
	closed := box(r3.Vec{Y: -30}, r3.Vec{X: 100, Y: 30, Z: 50}, zones(footwear.CounterBack, footwear.Toe,
		footwear.CounterLateral, footwear.CounterMedial, footwear.Seat, footwear.Open))
	return &footwear.Room{
		Closed: closed,
		Walls:  closed.Subset(func(f int) bool { return footwear.Zone(closed.Tag[f]) != footwear.Open }),
	}
}

// boxDevice is a block of wedge under a plate of shell, offset by dy: 40 long, 50 wide, 4 + 3 high.
func boxDevice(dy float64) *device.Device {
	m := box(r3.Vec{X: 10, Y: -25 + dy}, r3.Vec{X: 50, Y: 25 + dy, Z: 4}, features(device.WedgeBackSide, device.WedgeFrontSide,
		device.WedgeLateralSide, device.WedgeMedialSide, device.WedgeBase, device.ShellBottom))
	m.Append(box(r3.Vec{X: 10, Y: -25 + dy, Z: 4}, r3.Vec{X: 50, Y: 25 + dy, Z: 7}, features(device.CupWall, device.FrontEdge,
		device.LateralFlange, device.Arch, device.ShellBottom, device.FootSide)))
	return &device.Device{Rigid: m}
}

func boxScene(dy, lift float64) *Scene {
	pose := mesh.Pose{T: r3.Vec{Z: lift}}
	res := &fit.Result{Settled: pose, Findings: []fit.Finding{
		{Feature: device.WedgeMedialSide, Zone: footwear.CounterMedial, Pose: fit.Settled, At: r3.Vec{X: 30, Y: 25 + dy, Z: 2 + lift}},
		{Feature: device.WedgeBase, Zone: footwear.Seat, Pose: fit.Settled, At: r3.Vec{X: 30, Z: lift}, Bearing: true},
	}}
	s := &Scene{
		Room: boxRoom(), Device: boxDevice(dy), Pose: pose, PoseName: fit.Settled, Findings: res.Findings,
		Cuts: Cuts{XMM: 30, YMM: 0, ZMM: 2 + lift},
	}
	return s
}

func TestMeasuresOfABoxInABox(t *testing.T) {
	for name, c := range map[string]struct{ dy, overlap, gap float64 }{
		"middle":        {0, 0, 5},
		"to the medial": {2, 0, 3},
		"past it":       {7, 2, 0},
	} {
		t.Run(name, func(t *testing.T) {
			m := boxScene(c.dy, 1).cut(Behind).Measured
			if c.overlap == 0 {
				require.True(t, m.HasGap)
				assert.InDelta(t, c.gap, m.Gap.MM, 1e-9)
				assert.Equal(t, footwear.CounterMedial.String()[:7], m.Gap.Zone.String()[:7])
				assert.Empty(t, m.Overlaps)
				return
			}
			require.NotEmpty(t, m.Overlaps)
			assert.InDelta(t, -c.overlap, m.Overlaps[0].MM, 1e-9)
			assert.Equal(t, footwear.CounterMedial, m.Overlaps[0].Zone)
			assert.InDelta(t, c.overlap*7, m.OverlapMM2, 0.02, "wedge 4 and shell 3 high")
			d := m.Overlaps[0].Device.sub(m.Overlaps[0].Wall)
			assert.InDelta(t, c.overlap, math.Hypot(d.U, d.V), 1e-9, "drawn to scale where the wall stands upright on the cut")
		})
	}
}

func TestANumberInACutIsTheDistanceInSpace(t *testing.T) {
	s := boxScene(3, 1) // 2 mm to the medial wall
	m := s.With(Cuts{XMM: 30, YMM: 27.5, ZMM: 3}).cut(Side).Measured
	require.True(t, m.HasGap)
	assert.InDelta(t, 2.5, m.Gap.MM, 1e-9, "along Y, which this cut does not show")
	assert.Equal(t, m.Gap.Device, m.Gap.Wall, "seen from the side the wall's point is the same")
}

func TestTheFloorIsNoGap(t *testing.T) {
	m := boxScene(0, 0.5).cut(Behind).Measured
	require.True(t, m.HasGap)
	assert.Greater(t, m.Gap.MM, 4.0)
}

func TestNoGapIsMeasuredThroughTheDevice(t *testing.T) {
	// An upright plate of 3 mm, 1 mm of it past the wall: its inner face is 2 mm from the wall that lies behind it.
	s := boxScene(0, 0)
	s.Findings = nil
	s.Device = &device.Device{Rigid: box(r3.Vec{X: 10, Y: 28, Z: 5}, r3.Vec{X: 50, Y: 31, Z: 20}, features(device.CupWall,
		device.CupWall, device.FootSide, device.CupWall, device.ShellBottom, device.CupRim))}
	m := s.cut(Behind).Measured
	require.NotEmpty(t, m.Overlaps)
	assert.InDelta(t, -1, m.Overlaps[0].MM, 1e-9)
	assert.False(t, m.HasGap, "%v", m.Gap)
}

func TestSectionsRunCounterclockwise(t *testing.T) {
	s := boxScene(0, 1)
	for _, v := range Views {
		c := s.cut(v)
		for _, loops := range [][]loop{c.room, c.rigid} {
			require.NotEmpty(t, loops, v)
			for i := range loops {
				a := 0.0
				loops[i].segments(func(p, q Pt, _ uint8) { a += p.cross(q) / 2 })
				assert.Positive(t, a, "%v", v)
			}
		}
	}
}

func TestPaperAndRoom(t *testing.T) {
	c := Cuts{XMM: 31, YMM: -7, ZMM: 12}
	p := r3.Vec{X: 31, Y: -7, Z: 12}
	for _, v := range Views {
		assert.Equal(t, p, v.Lift(v.Project(p), c), "%v", v)
		for _, l := range v.CutLines(c) {
			at := Pt{l.AtMM, 99}
			if !l.Upright {
				at = Pt{99, l.AtMM}
			}
			assert.InDelta(t, c.At(l.Of), v.CutAt(l.Of, at), 1e-12, "%v's line of %v", v, l.Of)
			moved := c.Moved(l.Of, c.At(l.Of)+5)
			assert.InDelta(t, c.At(l.Of)+5, moved.At(l.Of), 1e-12)
			assert.Equal(t, c, moved.Moved(l.Of, c.At(l.Of)))
		}
	}
	assert.Equal(t, Pt{-5, 3}, Behind.Project(r3.Vec{Y: 5, Z: 3}), "medial is on the left from behind")
}

func TestSummaryTellsThePicturesNumbers(t *testing.T) {
	s := boxScene(7, 1)
	text := s.Summary(Behind)
	assert.True(t, strings.HasPrefix(text, "Seen from behind, cut at X = 30.0 mm, settled. In this cut 14 mm² lie past the wall: "), text)
	assert.Equal(t, 3, strings.Count(text, "over counter medial by 2.0 mm"), text)
	assert.Contains(t, text, ", and 2 more.", "two parts more, of five on that side")
	clear := boxScene(0, 1).Summary(Behind)
	assert.Contains(t, clear, "In this cut nothing lies past the wall.")
	assert.Contains(t, clear, "Tightest gap: 5.0 mm")
	empty := *s
	empty.Device = nil
	assert.Contains(t, empty.Summary(Above), "The empty room.")
}

func TestNames(t *testing.T) {
	s := boxScene(0, 1)
	assert.Equal(t, "counter medial", s.Name(Behind, Pt{-29.5, 20}, 3))
	assert.Equal(t, "wedge lateral side", s.Name(Behind, Pt{25.2, 2}, 3))
	assert.Empty(t, s.Name(Behind, Pt{0, 25}, 3))
}

func TestWedgeUnderAShell(t *testing.T) {
	// A solid in one piece: a plate 3 thick with a block 4 high under its middle. The block has 20 × 4 mm², and the line
	// between the two is the plate's underside.
	l := loop{
		P: []Pt{{-20, 4}, {-10, 4}, {-10, 0}, {10, 0}, {10, 4}, {20, 4}, {20, 7}, {10, 7}, {0, 7}, {-10, 7}, {-20, 7}},
		Tag: []uint8{
			uint8(device.ShellBottom), uint8(device.WedgeMedialSide), uint8(device.WedgeBase), uint8(device.WedgeLateralSide),
			uint8(device.ShellBottom), uint8(device.LateralFlange), uint8(device.FootSide), uint8(device.FootSide),
			uint8(device.FootSide), uint8(device.FootSide), uint8(device.Arch),
		},
		Closed: true,
	}
	parts := wedgeParts(&l)
	require.Len(t, parts, 1)
	assert.InDelta(t, 80, overlapArea([]loop{{P: parts[0], Closed: true}}, nil, 0.05), 0.5)
	whole := rectangle(Pt{0, 0}, Pt{5, 5}, uint8(device.WedgeBase))
	assert.Equal(t, [][]Pt{whole.P}, wedgeParts(&whole))
	none := rectangle(Pt{0, 0}, Pt{5, 5}, uint8(device.FootSide))
	assert.Empty(t, wedgeParts(&none))
}

func TestANewSceneIsCutThroughItsWorstFinding(t *testing.T) {
	sheet := footwear.Demo().All()[0]
	room, err := footwear.NewRoom(sheet, false)
	require.NoError(t, err)
	at := r3.Vec{X: 21, Y: -20, Z: 5}
	res := &fit.Result{Findings: []fit.Finding{{Pose: fit.Intended, At: r3.Vec{X: 9}}, {Pose: fit.Settled, At: at}}}
	s := NewScene(room, boxDevice(0), res, fit.Settled)
	assert.Equal(t, CutsThrough(at), s.Cuts)
	assert.Len(t, s.Findings, 1)
	assert.InDelta(t, room.HeelStationMM(), NewScene(room, nil, nil, fit.Settled).Cuts.XMM, 1e-12)

	for _, v := range Views {
		var first, again bytes.Buffer
		require.NoError(t, PNG(&first, v, s, 480, v == Side))
		require.NoError(t, PNG(&again, v, s, 480, v == Side))
		assert.Equal(t, first.Bytes(), again.Bytes(), "same scene, same picture")
		img, err := png.Decode(&first)
		require.NoError(t, err)
		assert.Equal(t, 480, img.Bounds().Dx())
	}
	require.Error(t, PNG(&bytes.Buffer{}, Behind, nil, 480, false))
	require.Error(t, PNG(&bytes.Buffer{}, Behind, s, 3, false))
	_, err = Render(Behind, s, Options{}, 100, 100000, 1)
	require.Error(t, err)
}
