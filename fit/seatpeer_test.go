package fit

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
)

// peerSeat is what .ci/seat_peer.py does: a spring of 1 N/mm at each vertex of the body that is past the wall, 50 N at the mean of the
// vertices, from 8 mm up and 2 degrees about Y. A spring here counts the area that the wall sees, so each vertex gets 1 mm² that faces
// the wall which is nearest when the body lies at rest: there the springs are the same.
func peerSeat(room *mesh.Tree, body *mesh.Mesh, rest mesh.Pose) (Body, Walls, SeatOptions) {
	var b Body
	toBody := rest.Inverse()
	for _, v := range body.V {
		h := room.Nearest(rest.Apply(v))
		b.Samples = append(b.Samples, mesh.Sample{P: v, A: r3.Scale(-1, toBody.Rotate(h.Normal))})
		b.Centre = r3.Add(b.Centre, r3.Scale(1/float64(len(body.V)), v))
	}
	return b, Walls{Tree: room, Uniform: 1}, SeatOptions{
		Start: mesh.PoseAbout(b.Centre, r3.Vec{Y: 2 * math.Pi / 180}, r3.Vec{Z: 8}),
		Loads: []Load{{ForceN: r3.Vec{Z: -50}, At: b.Centre}},
	}
}

// BenchmarkPeerSeat seats the body of SEAT_BODY in the room of SEAT_ROOM, two STL files in mm. It reports the energy, that of the peer's
// start taken as its own, and the force that is left.
func BenchmarkPeerSeat(b *testing.B) {
	if os.Getenv("SEAT_ROOM") == "" {
		b.Skip("SEAT_ROOM and SEAT_BODY name no files")
	}
	read := func(name string) *mesh.Mesh {
		f, err := os.Open(os.Getenv(name))
		require.NoError(b, err)
		defer f.Close()
		m, err := mesh.ReadSTL(f, filepath.Base(f.Name()))
		require.NoError(b, err)
		return m
	}
	room, shape := mesh.NewTree(read("SEAT_ROOM")), read("SEAT_BODY")
	var s Seating
	var body Body
	var walls Walls
	var o SeatOptions
	for range 3 { // until the vertices face the walls where they rest
		body, walls, o = peerSeat(room, shape, s.Pose)
		s = Seat(b.Context(), body, walls, o)
	}
	if os.Getenv("SEAT_FIELD") != "" {
		var err error
		walls.Field, err = mesh.NewField(b.Context(), room, mesh.FieldOptions{SpacingMM: 1, BandMM: 10})
		require.NoError(b, err)
	}
	for b.Loop() {
		s = Seat(b.Context(), body, walls, o)
	}
	require.Equal(b, Converged, s.Status)
	energy := 0.0
	for _, c := range s.Contacts {
		energy += 0.5 * c.OverlapMM * c.OverlapMM
	}
	rise := r3.Sub(s.Pose.Apply(body.Centre), body.Centre)
	b.ReportMetric(energy+50*rise.Z, "N·mm")
	b.ReportMetric(s.ResidualN*1e3, "mN-left")
	b.ReportMetric(float64(s.Iterations), "steps")
}
