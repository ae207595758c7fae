package mesh

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// The tables were measured with CGAL; testdata/reference/README.md tells how, and which version.
const referenceDir = "../../testdata/reference"

type referenceShape struct {
	Shape          string
	Triangles      int
	OpenTriangles  int     `json:"open_triangles"` // the first so many; 0 for a closed shape
	Vertices       int     `json:"vertices"`
	ClosedVolume   float64 `json:"closed_volume_mm3"`
	Area           float64 `json:"area_mm2"`
	CrossesItself  bool    `json:"crosses_itself"`
	MisledByNormal int     `json:"misled_by_normals"`
	Sections       []referenceSection
	Points         int

	whole, part *Mesh // part is whole without the faces that close it
	queries     []referencePoint
}

type referenceSection struct {
	Point, Normal [3]float64
	LengthMM      float64  `json:"length_mm"`
	AreaMM2       *float64 `json:"area_mm2"` // nil where loops cross themselves or are open
	Loops         int
}

type referencePoint struct {
	kind     string
	p        r3.Vec
	distance float64
	side     int // 1 inside, -1 outside, 0 not defined
	winding  float64
}

// inside is what the sign of the distance has to say; known is false where it is not defined or, on a shape that
// crosses itself, where the side by counting crossings and the winding number are not of one mind.
func (q referencePoint) inside(s *referenceShape) (in, known bool) {
	in = q.side > 0
	return in, q.side != 0 && (s.OpenTriangles > 0 || in == (q.winding > 0.5))
}

func (s *referenceSection) plane() Plane {
	return Plane{vec(s.Point[0], s.Point[1], s.Point[2]), vec(s.Normal[0], s.Normal[1], s.Normal[2])}
}

func referenceShapes(t testing.TB) []*referenceShape {
	data, err := os.ReadFile(filepath.Join(referenceDir, "tables", "measures.json"))
	require.NoError(t, err)
	var table struct {
		MadeWith string `json:"made_with"`
		Shapes   []*referenceShape
	}
	require.NoError(t, json.Unmarshal(data, &table))
	require.Contains(t, table.MadeWith, "CGAL")
	require.GreaterOrEqual(t, len(table.Shapes), 6)
	for _, s := range table.Shapes {
		f, err := os.Open(filepath.Join(referenceDir, "shapes", s.Shape+".stl"))
		require.NoError(t, err)
		s.whole, err = ReadSTL(f, s.Shape)
		require.NoError(t, f.Close())
		require.NoError(t, err)
		require.Len(t, s.whole.F, s.Triangles, s.Shape)
		require.Len(t, s.whole.V, s.Vertices, s.Shape)
		s.part = s.whole
		if n := s.OpenTriangles; n > 0 {
			s.part = s.whole.Subset(func(i int) bool { return i < n })
		}
		s.queries = readReferencePoints(t, s.Shape)
		require.Len(t, s.queries, s.Points, s.Shape)
	}
	return table.Shapes
}

func readReferencePoints(t testing.TB, shape string) []referencePoint {
	f, err := os.Open(filepath.Join(referenceDir, "tables", shape+".csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"kind", "x_mm", "y_mm", "z_mm", "distance_mm", "side", "winding"}, rows[0])
	out := make([]referencePoint, 0, len(rows))
	for _, row := range rows[1:] {
		var n [6]float64
		for k := range n {
			n[k], err = strconv.ParseFloat(row[k+1], 64)
			require.NoError(t, err)
		}
		out = append(out, referencePoint{row[0], vec(n[0], n[1], n[2]), n[3], int(n[4]), n[5]})
	}
	return out
}

// Exact rational volume, area in double.
func TestMeasuresAgainstCGAL(t *testing.T) {
	for _, s := range referenceShapes(t) {
		t.Run(s.Shape, func(t *testing.T) {
			require.NoError(t, s.whole.Closed())
			assert.InEpsilon(t, s.ClosedVolume, s.whole.Volume(), 1e-9)
			assert.InEpsilon(t, s.Area, s.part.Area(), 1e-9)
			if s.OpenTriangles > 0 {
				assert.Error(t, s.part.Closed())
			}
			t.Logf("volume off by %.1e of it, area by %.1e",
				s.whole.Volume()/s.ClosedVolume-1, s.part.Area()/s.Area-1)
		})
	}
}

// Distances near, far, at edges, corners, borders and in tips; hints from the point before must not change them.
func TestDistanceAgainstCGAL(t *testing.T) {
	for _, s := range referenceShapes(t) {
		t.Run(s.Shape, func(t *testing.T) {
			tree := NewTree(s.part)
			worst, hint := 0.0, int32(-1)
			for _, q := range s.queries {
				h := tree.Nearest(q.p)
				require.InDelta(t, q.distance, math.Abs(h.Signed), 1e-5, "%s point %v", q.kind, q.p)
				require.InDelta(t, q.distance, r3.Norm(r3.Sub(q.p, h.Point)), 1e-5, "%s point %v", q.kind, q.p)
				require.Equal(t, h, tree.NearestFrom(q.p, hint))
				require.InDelta(t, q.winding, tree.Winding(q.p), 1e-9, "%s point %v", q.kind, q.p)
				hint = h.Face
				worst = math.Max(worst, math.Abs(q.distance-math.Abs(h.Signed)))
			}
			t.Logf("%d points, at most %.1e mm off", len(s.queries), worst)
		})
	}
}

// On a shape that does not cross itself, closed or open, the sign is that of CGAL's exact side wherever that is
// defined.
func TestSignAgainstCGAL(t *testing.T) {
	known := 0
	for _, s := range referenceShapes(t) {
		if s.CrossesItself {
			continue
		}
		t.Run(s.Shape, func(t *testing.T) {
			tree, scan, kinds := NewTree(s.part), NewScanTree(s.part), map[string]int{}
			for _, q := range s.queries {
				h := tree.Nearest(q.p)
				if in, ok := q.inside(s); ok {
					require.Equal(t, in, h.Signed > 0, "%s point %v at %g mm", q.kind, q.p, h.Signed)
					require.Equal(t, in, scan.Nearest(q.p).Signed > 0, "%s point %v at %g mm, by the scan's tree", q.kind, q.p, h.Signed)
					kinds[q.kind]++
					known++
				}
			}
			require.Greater(t, len(kinds), 3, "%v", kinds)
			t.Log("points by kind:", kinds)
		})
	}
	require.Greater(t, known, 1500)
}

// On a scan with 0.3 mm of noise, normals alone give wrong signs centimetres away; a tree for scans does not.
func TestSignOfNoisyScanAgainstCGAL(t *testing.T) {
	for _, s := range referenceShapes(t) {
		if !s.CrossesItself {
			continue
		}
		require.Equal(t, "noisy-loft", s.Shape)
		require.Positive(t, s.MisledByNormal)
		normals, winding, scan := NewTree(s.part), NewTreeSigned(s.part, SignByWinding), NewScanTree(s.part)
		require.Positive(t, scan.Crossed())
		known, wrong, farthest := 0, 0, 0.0
		for _, q := range s.queries {
			h := normals.Nearest(q.p)
			require.InDelta(t, q.distance, math.Abs(scan.Nearest(q.p).Signed), 1e-5)
			in, ok := q.inside(s)
			if !ok {
				continue
			}
			known++
			require.Equal(t, in, winding.Nearest(q.p).Signed > 0, "%s point %v", q.kind, q.p)
			require.Equal(t, in, scan.Nearest(q.p).Signed > 0, "%s point %v", q.kind, q.p)
			if in != (h.Signed > 0) {
				wrong++
				farthest = math.Max(farthest, q.distance)
			}
		}
		require.Greater(t, known, len(s.queries)*9/10)
		require.Greater(t, farthest, 10.0, "points that mislead must be among those tried")
		t.Logf("%d of %d points get a wrong sign from normals alone, the farthest at %.1f mm; %d faces touch others",
			wrong, known, farthest, scan.Crossed())
	}
}
