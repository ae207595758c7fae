package mesh

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// loopArea is the area of loops in a plane, by the vector shoelace formula.
func loopArea(loops []Polyline, n r3.Vec) float64 {
	var sum r3.Vec
	for _, l := range loops {
		for i, p := range l.P {
			sum = r3.Add(sum, r3.Cross(p, l.P[(i+1)%len(l.P)]))
		}
	}
	return 0.5 * r3.Dot(sum, r3.Unit(n))
}

func TestSectionOfCube(t *testing.T) {
	for _, c := range []struct {
		name  string
		plane Plane
		area  float64
	}{
		{"middle", Plane{vec(0, 0, 0), vec(0, 0, 1)}, 4},
		{"turned round", Plane{vec(0, 0, 0), vec(0, 0, -3)}, 4},
		{"lid counts as the solid below", Plane{vec(0, 0, 1), vec(0, 0, 1)}, 4},
		{"bottom has nothing below", Plane{vec(0, 0, -1), vec(0, 0, 1)}, 0},
		{"beside", Plane{vec(0, 0, 2), vec(0, 0, 1)}, 0},
		{"diagonal through two edges", Plane{vec(0, 0, 0), vec(1, 1, 0)}, 5.656854249492381}, // 2·2√2
		{"hexagon through six edges", Plane{vec(0, 0, 0), vec(1, 1, 1)}, 5.196152422706632},  // side √2: 3√3
	} {
		t.Run(c.name, func(t *testing.T) {
			loops := cube().Section(c.plane)
			for _, l := range loops {
				require.True(t, l.Closed)
				require.Len(t, l.Tag, len(l.P))
			}
			assert.InDelta(t, c.area, loopArea(loops, c.plane.Normal), 1e-12)
		})
	}
}
