package mesh

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func near(t testing.TB, want, got r3.Vec, tol float64) {
	t.Helper()
	require.LessOrEqual(t, r3.Norm(r3.Sub(want, got)), tol, "want %v, got %v", want, got)
}

func TestPoseTurnsRightHanded(t *testing.T) {
	quarter := PoseAbout(vec(0, 0, 0), vec(0, 0, math.Pi/2), vec(0, 0, 0))
	near(t, vec(0, 1, 0), quarter.Apply(vec(1, 0, 0)), 1e-15)
	about := PoseAbout(vec(10, 0, 0), vec(0, 0, math.Pi/2), vec(0, 0, 5))
	near(t, vec(10, 0, 5), about.Apply(vec(10, 0, 0)), 1e-14)
	near(t, vec(10, 1, 5), about.Apply(vec(11, 0, 0)), 1e-14)
}

func TestPoseAlgebra(t *testing.T) {
	p := PoseAbout(vec(3, -2, 8), vec(0.4, -1.1, 0.7), vec(5, 6, -7))
	q := PoseAbout(vec(-30, 4, 1), vec(-0.2, 0.1, 2.9), vec(0, 9, 1))
	for _, v := range randomPoints(50, 100, 9) {
		near(t, p.Apply(q.Apply(v)), p.Compose(q).Apply(v), 1e-12)
		near(t, v, p.Inverse().Apply(p.Apply(v)), 1e-12)
		near(t, v, p.Compose(p.Inverse()).Apply(v), 1e-12)
		near(t, p.Rotate(v), r3.Sub(p.Apply(v), p.T), 1e-12)
		require.InDelta(t, r3.Norm(v), r3.Norm(p.Rotate(v)), 1e-12)
		near(t, p.Apply(v), Pose{}.Compose(p).Compose(Pose{}).Apply(v), 1e-12)
		near(t, v, Pose{}.Inverse().Apply(v), 0)
	}
}

func TestRotationVector(t *testing.T) {
	for _, r := range []r3.Vec{{}, vec(1e-13, 0, 0), vec(1e-5, -2e-5, 0), vec(20, -30, 40), vec(0, 0, 179.9), vec(0, -90, 0)} {
		p := PoseAbout(vec(1, 2, 3), r3.Scale(math.Pi/180, r), vec(4, 5, 6))
		near(t, r, p.RotationVectorDeg(), 1e-9)
	}
	long := PoseAbout(vec(0, 0, 0), vec(0, 0, 1.5*math.Pi), vec(0, 0, 0))
	near(t, vec(0, 0, -90), long.RotationVectorDeg(), 1e-9)
	assert.Equal(t, r3.Vec{}, Pose{}.RotationVectorDeg())
}

func TestAMotionIsItsPose(t *testing.T) {
	p := PoseAbout(vec(3, -4, 5), vec(0.4, -1.2, 2), vec(10, 20, -30))
	m := p.Motion()
	for _, q := range randomPoints(200, 300, 4) {
		require.InDelta(t, 0, r3.Norm(r3.Sub(p.Apply(q), m.Apply(&q))), 1e-12)
	}
}
