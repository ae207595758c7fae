package shelf

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/footwear"
	"lastroom/internal/mesh"
)

func TestAStandingIsReadBack(t *testing.T) {
	st := Standing{UnitMM: 25.4, Side: footwear.LeftSide, Body: footwear.ScanLast, InsideIn: true, LiningMM: -1.5, InsoleMM: 4}
	p := mesh.PoseAbout(r3.Vec{X: 3}, r3.Vec{X: 0.3, Y: -1, Z: 0.2}, r3.Vec{Y: 70})
	st.SetPose(p)
	var b bytes.Buffer
	require.NoError(t, WriteStanding(&b, st))
	got, err := ReadStanding(&b, "scan.json")
	require.NoError(t, err)
	assert.Equal(t, st, got)
	q, ok := got.PoseOf()
	require.True(t, ok)
	at := r3.Vec{X: 11, Y: 22, Z: 33}
	assert.InDelta(t, 0, r3.Norm(r3.Sub(p.Apply(at), q.Apply(at))), 1e-9)
	_, ok = (&Standing{}).PoseOf()
	assert.False(t, ok, "the frame is to be found")
	var still Standing
	still.SetPose(mesh.Pose{})
	q, ok = still.PoseOf()
	require.True(t, ok)
	assert.Equal(t, at, q.Apply(at))
}

func TestABadStandingIsRefused(t *testing.T) {
	for name, text := range map[string]string{
		"no json": "x", "unknown field": `{"pose": 3}`, "unit": `{"unit_mm": -1}`, "side": `{"side": "both"}`,
		"no rotation": `{"turn_wxyz": [1, 1, 0, 0]}`, "far": `{"shift_mm": [0, 1e9, 0]}`, "huge": `{"unit_mm": 1e999}`,
	} {
		_, err := ReadStanding(strings.NewReader(text), "scan.json")
		assert.ErrorContains(t, err, "scan.json", name)
	}
}

// A shoe on the shelf has the room of its scan in the scan's size, and one built from its measures in others.
func TestAShoesRoomIsItsScans(t *testing.T) {
	ctx := context.Background()
	demo, err := footwear.Demo().Find("lace-dress")
	require.NoError(t, err)
	built, err := footwear.NewRoom(demo, false)
	require.NoError(t, err)
	away := mesh.PoseAbout(r3.Vec{}, r3.Vec{X: 0.4, Y: 0.2, Z: 2}, r3.Vec{X: 90, Z: -30})
	m := built.Walls.Transformed(away)
	st := Standing{UnitMM: 1, Side: footwear.RightSide, Body: footwear.ScanInside, InsoleMM: 3}
	st.SetPose(away.Inverse())
	sheet, _, err := st.TakeIn(ctx, m, "A found shoe")
	require.NoError(t, err)
	assert.True(t, sheet.InsoleRemovable)
	assert.InDelta(t, 3, sheet.V(footwear.InsoleHeel), 0)
	assert.InDelta(t, demo.V(footwear.BallWidth), sheet.V(footwear.BallWidth), 0.3)

	dir := t.TempDir()
	scan, standing := filepath.Join(dir, "in.stl"), filepath.Join(dir, "in.json")
	var b, j bytes.Buffer
	require.NoError(t, mesh.WriteSTL(&b, m, ""))
	require.NoError(t, WriteStanding(&j, st))
	require.NoError(t, os.WriteFile(scan, b.Bytes(), 0o600))
	require.NoError(t, os.WriteFile(standing, j.Bytes(), 0o600))
	own, err := Open(filepath.Join(dir, "shoes"))
	require.NoError(t, err)
	shoe, err := own.Add(sheet, Files{Scan: scan, Standing: standing})
	require.NoError(t, err)

	out, err := shoe.Room(ctx, shoe.Sheet.Size, false)
	require.NoError(t, err)
	require.NotNil(t, out.Scan)
	tree := mesh.NewTree(built.Walls)
	for i := 0; i < len(out.Walls.V); i += 50 {
		assert.InDelta(t, 0, tree.Nearest(out.Walls.V[i]).Signed, 0.01, "the scan's own walls")
	}
	in, err := shoe.Room(ctx, shoe.Sheet.Size, true)
	require.NoError(t, err)
	x := out.HeelStationMM()
	assert.InDelta(t, 3, in.FloorZ(x)-out.FloorZ(x), 0.3, "the insole lies on the floor")
	assert.InDelta(t, shoe.Sheet.V(footwear.GiveVamp), out.Sheet.V(footwear.GiveVamp), 0)

	larger := shoe.Sheet.Size
	larger.Value++
	graded, err := shoe.Room(ctx, larger, false)
	require.NoError(t, err)
	assert.Nil(t, graded.Scan)
	require.NoError(t, os.WriteFile(shoe.Scan, []byte("gone bad"), 0o600))
	_, err = shoe.Room(ctx, shoe.Sheet.Size, false)
	assert.ErrorContains(t, err, "scan.stl")
}
