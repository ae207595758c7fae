package device

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
	"lastroom/internal/problem/problemtest"
)

func requireFinite(t *testing.T, what string, v ...float64) {
	t.Helper()
	for _, x := range v {
		require.False(t, math.IsNaN(x) || math.IsInf(x, 0), "%s: %v", what, v)
	}
}

// optionsOf puts numbers and words of data into the default options: nine bytes each.
func optionsOf(data []byte) Options {
	o := Default()
	for len(data) >= 9 {
		k := &keys[int(data[0]>>1)%len(keys)]
		v := math.Float64frombits(binary.LittleEndian.Uint64(data[1:]))
		switch {
		case !k.IsNumber():
			*k.word(&o) = append([]string{"none of them"}, k.Choices...)[int(data[1])%(len(k.Choices)+1)]
		case data[0]&1 > 0: // within the option's own limits
			*k.number(&o) = k.Min + (k.Max-k.Min)*float64(data[1])/255
		default:
			*k.number(&o) = v
		}
		data = data[9:]
	}
	return o
}

// FuzzBuild builds devices of any options.
func FuzzBuild(f *testing.F) {
	f.Add([]byte{})
	for i := range keys {
		if i%4 == 0 {
			f.Add(binary.LittleEndian.AppendUint64([]byte{byte(i << 1)}, math.Float64bits(math.NaN())))
			f.Add([]byte{byte(i<<1 | 1), 200, 0, 0, 0, 0, 0, 0, 0, byte((i+3)<<1 | 1), 2, 0, 0, 0, 0, 0, 0, 0})
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 12*9 {
			data = data[:12*9]
		}
		o := optionsOf(data)
		d, err := Build(o)
		valid := o.Validate()
		require.Equal(t, len(valid) > 0, err != nil, "Validate: %v, Build: %v", valid, err)
		_ = o.Notes()
		if err != nil {
			problemtest.Require(t, err)
			require.Equal(t, fmt.Sprint(o), fmt.Sprint(o.Resolved())) // as words, for NaN is unlike itself
			return
		}
		require.NoError(t, d.Rigid.Validate())
		require.NoError(t, d.Rigid.Closed(), "%+v", o)
		require.Positive(t, d.Rigid.Volume())
		if d.CoverSolid != nil {
			require.NoError(t, d.CoverSolid.Closed(), "%+v", o)
		}
		requireFinite(t, "sizes", d.HeelSeatMM, d.FrontXMM, d.RimXMM, d.HeelHalfWidthMM, d.MassG, d.CoverVolumeMM3)
		requireFinite(t, "base", d.Base.AreaMM2, d.Base.WidthMM, d.Base.LengthMM, d.Base.BackXMM, d.Base.FrontXMM)
		require.Positive(t, d.MassG)
		require.Positive(t, d.Base.AreaMM2)
		require.GreaterOrEqual(t, d.Base.LengthMM, 0.0)
		again, err := Build(o.Resolved())
		require.NoError(t, err)
		require.InDelta(t, d.MassG, again.MassG, 1e-6*d.MassG)
		requireFinite(t, "seat angle", SeatAngleDeg(o.HeelRiseMM))
	})
}

// FuzzPatch reads patches and features as they are typed, and patches a device with them.
func FuzzPatch(f *testing.F) {
	for _, s := range []string{
		"wedge-base@ball:40,0,0,8", "cup-rim@box:0,-40,10,60,40,30", "arch@flood:90,30,12", "arch@flood:nan,0,0,-1", "foot side@ball:1e308,-1e308,inf,5e-324",
		"wedge-base@box:-1e9,-1e9,-1e9,1e9,1e9,1e9", "@:", "cover@ball:0,0,0,1",
	} {
		f.Add(s)
	}
	d, err := Build(Default())
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, text string) {
		if got, err := ParseFeature(text); err != nil {
			problemtest.Require(t, err)
		} else {
			again, err := ParseFeature(got.Key())
			require.NoError(t, err)
			require.Equal(t, got, again)
		}
		p, err := ParsePatch(text)
		if err != nil {
			problemtest.Require(t, err)
			return
		}
		got, err := Retag(d, p)
		if err != nil {
			problemtest.Require(t, err)
			return
		}
		require.Len(t, got.Rigid.Tag, len(got.Rigid.F))
		requireFinite(t, "base", got.Base.AreaMM2, got.Base.WidthMM, got.Base.LengthMM, got.Base.BackXMM, got.Base.FrontXMM)
		require.Positive(t, got.Base.AreaMM2)
	})
}

// FuzzReadScanned reads what may be a scanned device's file; plain text is packed first.
func FuzzReadScanned(f *testing.F) {
	d, err := Build(Default())
	require.NoError(f, err)
	d.Rigid = &mesh.Mesh{V: []r3.Vec{{}, {X: 1}, {Y: 1}, {Z: 1}}, F: [][3]int32{{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {2, 0, 3}}, Tag: []uint8{uint8(WedgeBase), uint8(FootSide), uint8(FootSide), uint8(FootSide)}}
	d.CoverSolid, d.Base.Outline = nil, [][2]float64{{0, 0}, {1, 0}, {0, 1}}
	var packed bytes.Buffer
	require.NoError(f, WriteScanned(&packed, "a scan", d))
	z, err := gzip.NewReader(bytes.NewReader(packed.Bytes()))
	require.NoError(f, err)
	var plain bytes.Buffer
	_, err = plain.ReadFrom(z)
	require.NoError(f, err)
	f.Add(packed.Bytes(), false)
	f.Add(plain.Bytes(), true)
	f.Add([]byte(`{"Format":"lastroom-scanned-device","Version":1,"Name":"x","Device":{"Rigid":{}}}`), true)
	f.Fuzz(func(t *testing.T, data []byte, pack bool) {
		if pack {
			var b bytes.Buffer
			z := gzip.NewWriter(&b)
			_, err := z.Write(data)
			require.NoError(t, err)
			require.NoError(t, z.Close())
			data = b.Bytes()
		}
		name, d, err := ReadScanned(bytes.NewReader(data), "fuzz")
		if err != nil {
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			require.Equal(t, "fuzz", p.File)
			require.Nil(t, d)
			return
		}
		require.NoError(t, d.Rigid.Validate())
		require.Empty(t, d.Options.Validate())
		var b bytes.Buffer
		require.NoError(t, WriteScanned(&b, name, d))
		again, e, err := ReadScanned(&b, "again")
		require.NoError(t, err)
		require.Equal(t, name, again)
		require.Equal(t, d, e)
		_, err = Retag(d, Patch{Feature: WedgeBase, Ball: &Ball{RadiusMM: 1}})
		if err != nil {
			problemtest.Require(t, err)
		}
	})
}

// FuzzFromScan reads devices off a built one that was bent, cut and turned.
func FuzzFromScan(f *testing.F) {
	f.Add([]byte{}, uint8(0), 0.0, 0.0)
	f.Add([]byte{1, 200, 3, 4, 0, 9}, uint8(7), 266.0, 5.0)
	f.Add([]byte{90, 2, 255}, uint8(0x3a), math.NaN(), math.Inf(1))
	f.Add([]byte{9, 3, 190}, uint8(0x11), 0.0, 1e300)
	d, err := Build(Default())
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, data []byte, how uint8, foot, at float64) {
		m := d.Rigid.Clone()
		m.Tag = nil
		for k := 0; k+2 < len(data) && k < 30; k += 3 {
			i := int(data[k]) * len(m.F) / 256
			switch data[k+1] % 4 {
			case 0:
				m.F = append(m.F[:i:i], m.F[min(i+4*int(data[k+2]), len(m.F)-1):]...)
			case 1:
				m.F[i][0], m.F[i][1] = m.F[i][1], m.F[i][0]
			case 2:
				m.V[m.F[i][0]].Z += float64(data[k+2]) - 128
			default:
				m.V[m.F[i][0]] = r3.Scale(math.Pow(2, float64(data[k+2])-128), m.V[m.F[i][0]])
			}
		}
		o := ScanOptions{FootLengthMM: foot, Side: [...]string{"", Right, Left, "both"}[how&3]}
		switch how >> 2 & 3 {
		case 1:
			p := mesh.PoseAbout(r3.Vec{}, r3.Vec{X: float64(how) / 40}, r3.Vec{Y: at})
			o.Pose = &p
		case 2:
			o.Marks = &Marks{HeelBack: r3.Vec{Z: at}, FrontMiddle: r3.Vec{X: 190, Y: at}, Medial: r3.Vec{X: 90, Y: 40}}
		case 3:
			m = m.Transformed(mesh.PoseAbout(r3.Vec{X: at}, r3.Vec{Z: 2, Y: float64(how)}, r3.Vec{X: 500}))
		}
		got, rep, err := FromScan(t.Context(), m, o)
		if err != nil {
			problemtest.Require(t, err)
			return
		}
		require.NoError(t, got.Rigid.Validate())
		require.Len(t, got.Rigid.Tag, len(got.Rigid.F))
		require.True(t, hasTag(got.Rigid, FootSide))
		requireFinite(t, "sizes", got.HeelSeatMM, got.FrontXMM, got.RimXMM, got.HeelHalfWidthMM, got.MassG, got.Base.AreaMM2, got.Base.WidthMM, got.Base.LengthMM)
		for _, k := range rep.Measures {
			requireFinite(t, k.Key, k.Value, k.PlusMinus)
		}
	})
}
