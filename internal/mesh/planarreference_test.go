package mesh

import (
	"math"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// Sections, gaps and hulls against a library for plane geometry (github.com/peterstace/simplefeatures) and, where the
// shape is one of testdata/reference, against CGAL as well.

// flat lays points of a plane on paper, about the plane's point, counterclockwise as seen from the normal's tip.
func (pl Plane) flat(p []r3.Vec) [][2]float64 {
	n := unit(pl.Normal)
	x := unit(r3.Cross(vec(0.36, 0.48, 0.8), n))
	y := r3.Cross(n, x)
	out := make([][2]float64, len(p))
	for i := range p {
		d := r3.Sub(p[i], pl.Point)
		out[i] = [2]float64{r3.Dot(d, x), r3.Dot(d, y)}
	}
	return out
}

func planarLine(p [][2]float64, closed bool) geom.LineString {
	var c []float64
	for _, q := range p {
		c = append(c, q[0], q[1])
	}
	if closed {
		c = append(c, p[0][0], p[0][1])
	}
	return geom.NewLineString(geom.NewSequence(c, geom.DimXY))
}

// planarArea is the area of all loops together, and whether each is a valid polygon: what lies within an odd number of
// loops counts.
func planarArea(t *testing.T, pl Plane, loops []Polyline) (area float64, valid bool) {
	var all geom.Geometry
	for i, l := range loops {
		p := geom.NewPolygon([]geom.LineString{planarLine(pl.flat(l.P), true)})
		if !l.Closed || p.Validate() != nil {
			return 0, false
		}
		if i == 0 {
			all = p.AsGeometry()
			continue
		}
		var err error
		all, err = geom.SymmetricDifference(all, p.AsGeometry())
		require.NoError(t, err)
	}
	return all.Area(), true
}

func TestSectionsAgainstCGALAndPlanarLibrary(t *testing.T) {
	areas := 0
	for _, s := range referenceShapes(t) {
		t.Run(s.Shape, func(t *testing.T) {
			require.GreaterOrEqual(t, len(s.Sections), 6)
			var worstLength, worstArea float64
			for _, ref := range s.Sections {
				pl := ref.plane()
				loops := s.part.Section(pl)
				var length float64
				for _, l := range loops {
					length += planarLine(pl.flat(l.P), l.Closed).Length()
				}
				require.InDelta(t, ref.LengthMM, length, 1e-5, "plane %v", pl)
				worstLength = math.Max(worstLength, math.Abs(ref.LengthMM-length))
				if ref.AreaMM2 == nil {
					continue
				}
				areas++
				require.Len(t, loops, ref.Loops)
				require.InDelta(t, *ref.AreaMM2, loopArea(loops, pl.Normal), 1e-5, "plane %v", pl)
				area, valid := planarArea(t, pl, loops)
				require.True(t, valid, "plane %v", pl)
				require.InDelta(t, *ref.AreaMM2, area, 1e-5, "plane %v", pl)
				worstArea = math.Max(worstArea, math.Abs(*ref.AreaMM2-loopArea(loops, pl.Normal)))
			}
			t.Logf("%d planes, lengths at most %.1e mm off, areas %.1e mm²", len(s.Sections), worstLength, worstArea)
		})
	}
	require.Greater(t, areas, 60)
}

// A hull's girth by the planar library and by this package, of the sections that a tape would go round.
func TestConvexHullAgainstPlanarLibrary(t *testing.T) {
	for _, s := range referenceShapes(t) {
		t.Run(s.Shape, func(t *testing.T) {
			worst := 0.0
			for _, ref := range s.Sections {
				var p [][2]float64
				for _, l := range s.part.Section(ref.plane()) {
					p = append(p, ref.plane().flat(l.P)...)
				}
				require.NotEmpty(t, p)
				hull := ConvexHull2(p)
				want := planarLine(p, false).ConvexHull()
				require.Equal(t, geom.TypePolygon, want.Type())
				girth := want.MustAsPolygon().ExteriorRing().Length()
				require.InDelta(t, girth, Perimeter2(hull), 1e-5)
				area := geom.NewPolygon([]geom.LineString{planarLine(hull, true)}).Area()
				require.InDelta(t, want.Area(), area, 1e-5)
				worst = math.Max(worst, math.Abs(girth-Perimeter2(hull)))
			}
			t.Logf("girths at most %.1e mm off", worst)
		})
	}
}

// upright is the wall that stands on the lines, so high that no distance in their plane ends on its rims.
func upright(pl Plane, lines []Polyline) *Mesh {
	const highMM = 1000
	var b Builder
	n := r3.Scale(highMM, unit(pl.Normal))
	for _, l := range lines {
		var low, high []int32
		for _, p := range l.P {
			low, high = append(low, b.AddVertex(r3.Sub(p, n))), append(high, b.AddVertex(r3.Add(p, n)))
		}
		for i := range l.Tag {
			k := (i + 1) % len(l.P)
			b.AddQuad(low[i], low[k], high[k], high[i], 0)
		}
	}
	return b.Mesh()
}

// gapBetween is the least distance of two sets of lines that do not cross: from a corner of the one to the wall that
// stands on the other.
func gapBetween(pl Plane, a, b []Polyline) float64 {
	least := math.Inf(1)
	for _, pair := range [][2][]Polyline{{a, b}, {b, a}} {
		tree := NewTree(upright(pl, pair[1]))
		for _, l := range pair[0] {
			for _, p := range l.P {
				least = math.Min(least, math.Abs(tree.Nearest(p).Signed))
			}
		}
	}
	return least
}

// Gaps in the plane of a cut, of the room and the device put into it at many poses.
func TestGapsInSectionsAgainstPlanarLibrary(t *testing.T) {
	byName := map[string]*referenceShape{}
	for _, s := range referenceShapes(t) {
		byName[s.Shape] = s
	}
	room, device := byName["room"], byName["device"]
	require.NotNil(t, room)
	require.NotNil(t, device)
	lines := func(pl Plane, from []Polyline) geom.Geometry {
		var all []geom.LineString
		for _, l := range from {
			all = append(all, planarLine(pl.flat(l.P), l.Closed))
		}
		return geom.NewMultiLineString(all).AsGeometry()
	}
	free, worst := 0, 0.0
	for i, move := range randomPoints(12, 1, 31) {
		put := PoseAbout(vec(90, 0, 0), r3.Scale(0.1, move), vec(15+10*move.X, 4*move.Y, 12+10*move.Z))
		placed := device.whole.Transformed(put)
		for _, pl := range []Plane{
			{vec(20+12*float64(i), 0, 0), vec(1, 0, 0)},
			{vec(0, 3*float64(i-6), 0), vec(0, 1, 0)},
			{vec(60, 0, 20), r3.Add(vec(1, 0.3, 0), r3.Scale(0.4, move))},
		} {
			wall, body := room.part.Section(pl), placed.Section(pl)
			if len(wall) == 0 || len(body) == 0 {
				continue
			}
			want, ok := geom.Distance(lines(pl, wall), lines(pl, body))
			require.True(t, ok)
			if want == 0 { // they cross: a distance of corners is none of the outlines
				continue
			}
			free++
			got := gapBetween(pl, wall, body)
			require.InDelta(t, want, got, 1e-5, "plane %v", pl)
			worst = math.Max(worst, math.Abs(want-got))
		}
	}
	assert.Greater(t, free, 8)
	t.Logf("%d gaps, at most %.1e mm off", free, worst)
}
