package device

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

func TestAScannedDeviceIsReadBackAsItIs(t *testing.T) {
	built, err := Build(Default())
	require.NoError(t, err)
	scan, _ := scanOf(built, 6, 0, 5, true)
	d, _, err := FromScan(context.Background(), scan, ScanOptions{Side: Left})
	require.NoError(t, err)
	at := d.Rigid.V[d.Rigid.F[0][0]]
	d, err = Retag(d, Patch{Feature: Arch, Ball: &Ball{Centre: at, RadiusMM: 5}})
	require.NoError(t, err)

	var file bytes.Buffer
	require.NoError(t, WriteScanned(&file, "old pair", d))
	packed := file.Len()
	name, got, err := ReadScanned(bytes.NewReader(file.Bytes()), "kept")
	require.NoError(t, err)
	assert.Equal(t, "old pair", name)
	assert.Equal(t, d, got, "to the last bit, with its patch")
	assert.Less(t, packed, 60*len(d.Rigid.F), "bytes a face")

	for what, data := range map[string][]byte{
		"empty":            nil,
		"not packed":       []byte(`{"Format":"lastroom-scanned-device"}`),
		"cut off":          file.Bytes()[:packed/2],
		"another form":     packedOf(t, scannedFile{"lastroom-device", scannedVersion, "x", d}),
		"a later version":  packedOf(t, scannedFile{scannedFormat, 2, "x", d}),
		"without a name":   packedOf(t, scannedFile{scannedFormat, scannedVersion, " ", d}),
		"without a device": packedOf(t, scannedFile{scannedFormat, scannedVersion, "x", nil}),
		"without a face":   packedOf(t, scannedFile{scannedFormat, scannedVersion, "x", &Device{Options: d.Options, Rigid: &mesh.Mesh{}}}),
		"a corner too far": packedOf(t, scannedFile{scannedFormat, scannedVersion, "x", &Device{
			Options: d.Options, Rigid: &mesh.Mesh{V: d.Rigid.V, F: [][3]int32{{0, 1, int32(len(d.Rigid.V))}}, Tag: []uint8{uint8(FootSide)}},
		}}),
		"no such feature": packedOf(t, scannedFile{scannedFormat, scannedVersion, "x", &Device{
			Options: d.Options, Rigid: &mesh.Mesh{V: d.Rigid.V, F: d.Rigid.F[:1], Tag: []uint8{uint8(NumFeatures)}},
		}}),
		"no options": packedOf(t, scannedFile{scannedFormat, scannedVersion, "x", &Device{Rigid: d.Rigid}}),
	} {
		_, _, err := ReadScanned(bytes.NewReader(data), "kept")
		var p problem.Problem
		require.ErrorAs(t, err, &p, what)
		assert.Equal(t, "kept", p.File)
		assert.NotEmpty(t, p.Mend)
	}
}

func packedOf(t *testing.T, f scannedFile) []byte {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	require.NoError(t, json.NewEncoder(z).Encode(f))
	require.NoError(t, z.Close())
	return b.Bytes()
}
