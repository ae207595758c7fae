package mesh

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/internal/problem"
)

var allFormats = []Format{STL, STLText, OBJ, PLY, PLYText, PLYBig, ThreeMF}

func written(t testing.TB, m *Mesh, name string, f Format) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, m, name, f))
	return b.Bytes()
}

func readBytes(data []byte, name string, o ReadOptions) (*Mesh, FileInfo, error) {
	return Read(context.Background(), bytes.NewReader(data), int64(len(data)), name, o)
}

func TestEveryFormatRoundTrips(t *testing.T) {
	m := cavity(24, 20) // with tags, which no form keeps
	require.NotNil(t, m.Tag)
	for _, f := range allFormats {
		// The content tells the form; a name without an ending, or with a wrong one, does not matter.
		for _, name := range []string{"shoe", "shoe.stl", "shoe.obj", "Größe 42 \\"} {
			t.Run(string(f)+", "+name, func(t *testing.T) {
				data := written(t, m, name, f)
				assert.Equal(t, data, written(t, m, name, f), "the same bytes each time")
				back, info, err := readBytes(data, name, ReadOptions{})
				require.NoError(t, err)
				word, _, _ := strings.Cut(string(f), " ")
				assert.Equal(t, FileInfo{
					Format: Format(word), UnitMM: 1, FileUnitMM: 1, Bytes: int64(len(data)),
					Triangles: len(m.F), Vertices: len(m.V), Objects: 1,
				}, info)
				require.NoError(t, back.Validate())
				require.NoError(t, back.Closed())
				assert.Nil(t, back.Tag)
				tol := 0.0
				if f == STL {
					tol = 3e-5
				}
				for i, face := range m.F {
					for k := range 3 {
						near(t, m.V[face[k]], back.V[back.F[i][k]], tol)
					}
				}
			})
		}
	}
}

func TestUnitsOnReading(t *testing.T) {
	m := cavity(24, 20)
	long := m.LengthAcross()
	for _, f := range allFormats {
		back, info, err := readBytes(written(t, m, "x", f), "x", ReadOptions{UnitMM: 25.4})
		require.NoError(t, err, f)
		assert.Equal(t, [2]float64{25.4, 1}, [2]float64{info.UnitMM, info.FileUnitMM}, "%s: the caller overrules the file", f)
		assert.InEpsilon(t, 25.4*long, back.LengthAcross(), 1e-6, f)
	}
	strip := func(f Format, words ...string) []byte {
		data := written(t, m, "x", f)
		for _, w := range words {
			require.True(t, bytes.Contains(data, []byte(w)), w)
			data = bytes.Replace(data, []byte(w), bytes.Repeat([]byte(" "), len(w)), 1)
		}
		return data
	}
	for f, data := range map[Format][]byte{
		STL: strip(STL, "unit mm"), STLText: strip(STLText, "unit mm"), OBJ: strip(OBJ, "unit mm"),
		PLY: strip(PLY, "unit mm"), PLYText: strip(PLYText, "unit mm"),
	} {
		back, info, err := readBytes(data, "x", ReadOptions{})
		require.NoError(t, err, f)
		assert.Zero(t, info.UnitMM, "%s says no unit", f)
		assert.InEpsilon(t, long, back.LengthAcross(), 1e-6, f)
	}
	for comment, want := range map[string]float64{
		"Units: inches": 25.4, "unit = cm": 10, "units are in metres": 1000, "UNITS=MM": 1, "unit in": 25.4, "units in dm": 100,
		"unitary 5": 0, "a unit": 0, "file units is millimeters": 1, "": 0,
	} {
		assert.Equal(t, want, unitFromComment(comment), comment)
	}
	for bad := range map[float64]bool{-1: true, math.NaN(): true, math.Inf(1): true, 1e6: true} {
		_, _, err := readBytes(written(t, m, "x", STL), "x", ReadOptions{UnitMM: bad})
		require.ErrorContains(t, err, "unit")
	}
}

func TestFormatOf(t *testing.T) {
	for name, want := range map[string]Format{"a.STL": STL, "b/c.obj": OBJ, "d.Ply": PLY, "e.3mf": ThreeMF, "f.step": "", "": ""} {
		assert.Equal(t, want, FormatOf(name), name)
	}
}

// obj, ply and threeMF are small valid files to take apart.
const objText3 = `# made by hand
mtllib none.mtl
o first
v 0 0 0
v 10 0 0 0.5 0.5 0.5
v 10 10 0 \
  1.0
v 0 10 0
vt 0 0
vn 0 0 1
v 5 5 8
g sides
usemtl grey
s off
f 1/1/1 2//1 5
f 2/1 3/1 5/1
f -3 -2 -1 # comment after
f 4 1 \
  5
o second
f 4 3 2 1
`

func TestOBJ(t *testing.T) {
	for name, text := range map[string]string{
		"as it is":            objText3,
		"other line ends":     strings.ReplaceAll(objText3, "\n", "\r\n"),
		"marked as UTF-8":     "\uFEFF" + objText3,
		"without a last line": strings.TrimSpace(objText3),
		"faces first":         "f 1 2 5\nf 2 3 5\nf 3 4 5\nf 4 1 5\nf 4 3 2 1\n" + objText3[:strings.Index(objText3, "g sides")] + "o second\n",
	} {
		m, info, err := readBytes([]byte(text), "pyramid", ReadOptions{})
		require.NoError(t, err, name)
		assert.Len(t, m.F, 6, name)
		require.NoError(t, m.Closed(), name)
		assert.InDelta(t, 100*8/3.0, m.Volume(), 1e-9, name) // base times height over three
		assert.Equal(t, 1, info.Polygons, name)
		assert.Equal(t, 2, info.Objects, name)
	}
	// An arrow of five corners that no fan from its first can cut: 20 wide, 30 high, notch 10 deep; area 300 − 100 (elementary).
	for _, first := range []string{"1 2 3 4", "2 3 4 1", "4 1 2 3"} {
		arrow, _, err := readBytes([]byte("v 0 0 0\nv 10 10 0\nv 20 0 0\nv 10 30 0\nv 15 15 0\nf "+strings.Replace(first, "3 4", "3 5 4", 1)+"\n"), "arrow.obj", ReadOptions{})
		require.NoError(t, err)
		assert.InDelta(t, 200, arrow.Area(), 1e-9, first)
		for i := range arrow.F {
			assert.Greater(t, arrow.FaceNormal(i).Z, 0.0, first)
		}
	}
	// A fan is right for a convex polygon: a regular one of twelve corners, area 3 r² (elementary).
	var b strings.Builder
	for i := range 12 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 12)
		fmt.Fprintf(&b, "v %g %g 0\n", 10*c, 10*s)
	}
	m, info, err := readBytes([]byte(b.String()+"f 1 2 3 4 5 6 7 8 9 10 11 12\nf 1 1 2\nf 3 4\n"), "dodecagon.obj", ReadOptions{})
	require.NoError(t, err)
	assert.InDelta(t, 300, m.Area(), 1e-9)
	assert.Len(t, m.F, 10)
	assert.Equal(t, 2, info.Dropped)
}

// plyText3 has properties and elements of many types before, between and after those of use.
const plyText3 = `ply
format ascii 1.0
comment made by hand
obj_info num_cols 512
element vertex 5
property uchar red
property float x
property list uchar short flags
property double y
property int z
property ushort quality
element camera 2
property list int float view
property char kind
element face 5
property list uchar uint vertex_index
property float32 weight
property list uint8 float64 texcoord
element nothing 3
element tail 1
property uint tail
end_header
255 0 2 -1 -2 0 0 9
0 10 0 0 0 9
0 10 1 7 10 0 9
0 0 0 10 0 9
0 5 0 5 8 9
3 0.5 0.25 1e3 -4
0 5
3 0 1 4 0.5 2 0.1 0.2
3 1 2 4 0.5 0
3 2 3 4 0.5 1 1
3 3 0 4 0.5 0
4 3 2 1 0 0.5 0
4000000000
`

// plyBinary says the same as plyText3 in a byte order.
func plyBinary(order binary.AppendByteOrder, form string) []byte {
	head, body, _ := strings.Cut(plyText3, "end_header\n")
	b := []byte(strings.Replace(head, "ascii", form, 1) + "end_header\n")
	lines := strings.Split(strings.TrimSpace(body), "\n")
	put := func(kind string, v float64) {
		switch kind {
		case "1":
			b = append(b, byte(int64(v)))
		case "2":
			b = order.AppendUint16(b, uint16(int64(v)))
		case "4":
			b = order.AppendUint32(b, uint32(int64(v)))
		case "f":
			b = order.AppendUint32(b, math.Float32bits(float32(v)))
		case "d":
			b = order.AppendUint64(b, math.Float64bits(v))
		}
	}
	row := func(line, kinds string) { // "<14>": a list counted in one byte, of four-byte values
		var v []float64
		for _, w := range strings.Fields(line) {
			x, _ := number(w)
			v = append(v, x)
		}
		for i := 0; i < len(kinds); i++ {
			if kinds[i] != '<' {
				put(kinds[i:i+1], v[0])
				v = v[1:]
				continue
			}
			n := int(v[0])
			put(kinds[i+1:i+2], v[0])
			for _, x := range v[1 : n+1] {
				put(kinds[i+2:i+3], x)
			}
			v = v[n+1:]
			i += 3
		}
	}
	for _, l := range lines[:5] {
		row(l, "1f<12>d42")
	}
	for _, l := range lines[5:7] {
		row(l, "<4f>1")
	}
	for _, l := range lines[7:12] {
		row(l, "<14>f<1d>")
	}
	row(lines[12], "4")
	return b
}

func TestPLYSkipsWhatItDoesNotKnow(t *testing.T) {
	text := []byte(plyText3)
	for name, data := range map[string][]byte{
		"text": text, "text from another system": bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n")),
		"little-endian": plyBinary(binary.LittleEndian, "binary_little_endian"),
		"big-endian":    plyBinary(binary.BigEndian, "binary_big_endian"),
	} {
		t.Run(name, func(t *testing.T) {
			m, info, err := readBytes(data, "pyramid.ply", ReadOptions{})
			require.NoError(t, err)
			assert.Len(t, m.F, 6)
			require.NoError(t, m.Closed())
			assert.InDelta(t, 100*8/3.0, m.Volume(), 1e-9)
			assert.Equal(t, 1, info.Polygons)
		})
	}
}

func TestPLYNumberTypes(t *testing.T) {
	for name, c := range map[string]struct {
		t    plyType
		b    []byte
		want float64
	}{
		"char": {plyTypes["char"], []byte{0xfe}, -2}, "uchar": {plyTypes["uchar"], []byte{0xfe}, 254},
		"short": {plyTypes["int16"], []byte{0xff, 0xfe}, -2}, "ushort": {plyTypes["uint16"], []byte{0xff, 0xfe}, 65534},
		"int": {plyTypes["int"], []byte{0xff, 0xff, 0xff, 0xfe}, -2}, "uint": {plyTypes["uint"], []byte{0xff, 0xff, 0xff, 0xfe}, 4294967294},
		"float":  {plyTypes["float"], binary.BigEndian.AppendUint32(nil, math.Float32bits(-1.5)), -1.5},
		"double": {plyTypes["double"], binary.BigEndian.AppendUint64(nil, math.Float64bits(math.Pi)), math.Pi},
	} {
		assert.Equal(t, c.want, c.t.decode(c.b, binary.BigEndian), name)
	}
}

const model3 = `<?xml version="1.0" encoding="UTF-8"?>
<model unit="centimeter" xml:lang="en" xmlns="` + coreSpace + `" xmlns:m="http://schemas.microsoft.com/3dmanufacturing/material/2015/02" requiredextensions="m">
 <metadata name="Title">two &amp; a half pyramids</metadata>
 <resources>
  <m:colorgroup id="9"><m:color color="#FF0000"/></m:colorgroup>
  <object id="1"><mesh>
   <vertices><vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/><vertex x="1" y="1" z="0"/><vertex x="0" y="1" z="0"/><vertex x=".5" y=".5" z="8e-1"/></vertices>
   <triangles><triangle v1="0" v2="1" v3="4" pid="9" p1="0"/><triangle v1="1" v2="2" v3="4"/><triangle v1="2" v2="3" v3="4"/>
    <triangle v1="3" v2="0" v3="4"/><triangle v1="3" v2="2" v3="1"/><triangle v1="3" v2="1" v3="0"/></triangles>
  </mesh></object>
  <object id="3" type="support"><mesh><vertices><vertex x="9" y="9" z="9"/><vertex x="8" y="9" z="9"/><vertex x="9" y="8" z="9"/></vertices>
   <triangles><triangle v1="0" v2="1" v3="2"/></triangles></mesh></object>
  <object id="2"><components>
   <component objectid="1"/>
   <component objectid="1" transform="-1 0 0 0 1 0 0 0 1 5 0 0"/>
   <component objectid="3"/>
  </components></object>
 </resources>
 <build>
  <item objectid="2" transform="0 2 0 -2 0 0 0 0 2 10 0 0"/>
  <item objectid="1" transform="1 0 0 0 1 0 0 0 1 0 0 -20"/>
  <item objectid="3"/>
 </build>
</model>`

// zipOf makes an archive of members in order.
func zipOf(t testing.TB, members ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(members); i += 2 {
		f, err := z.Create(members[i])
		require.NoError(t, err)
		_, err = io.WriteString(f, members[i+1])
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

func model(t testing.TB, xml string) []byte {
	t.Helper()
	return zipOf(t, "_rels/.rels", relations3MF, "3D/3dmodel.model", xml)
}

// A pyramid of base 10 by 10 and height 8 mm; one as it is, one mirrored, both twice as large, and one far below.
func TestThreeMF(t *testing.T) {
	for name, data := range map[string][]byte{
		"by the relations":   model(t, model3),
		"without relations":  zipOf(t, "readme.txt", "hello", "3D/other.model", model3),
		"names of any case":  zipOf(t, "_RELS/.rels", relations3MF, "3d/3DModel.model", model3),
		"among other models": zipOf(t, "a.model", "<junk/>", "_rels/.rels", relations3MF, "3D/3dmodel.model", model3),
	} {
		t.Run(name, func(t *testing.T) {
			m, info, err := readBytes(data, "pyramids.3mf", ReadOptions{})
			require.NoError(t, err)
			assert.Equal(t, 10.0, info.FileUnitMM)
			assert.Equal(t, 3, info.Objects)
			assert.Len(t, m.F, 18)
			require.NoError(t, m.Closed(), "the mirrored one is turned round")
			assert.InEpsilon(t, (8+8+1)*800/3.0, m.Volume(), 1e-12)
			// (x y 0) goes to (100 - 2 y, 2 x, 0) mm; the mirrored one begins at x = 50 mm.
			near(t, vec(80, 0, 0), m.V[3], 1e-12)
			near(t, vec(100, 100, 0), m.V[5], 1e-12)
			near(t, vec(90, 90, 16), m.V[9], 1e-12)
			near(t, vec(5, 5, -192), m.V[14], 1e-12)
		})
	}
	in, _, err := readBytes(model(t, strings.Replace(model3, "centimeter", "inch", 1)), "", ReadOptions{})
	require.NoError(t, err)
	assert.InEpsilon(t, (8+8+1)*math.Pow(25.4, 3)*0.8/3.0, in.Volume(), 1e-12)
	plain, info, err := readBytes(model(t, strings.Replace(model3, `unit="centimeter"`, "", 1)), "", ReadOptions{})
	require.NoError(t, err)
	assert.Equal(t, 1.0, info.UnitMM, "millimetres when nothing is said")
	assert.InEpsilon(t, (8+8+1)*0.8/3.0, plain.Volume(), 1e-12)
}

func TestReadTellsProgress(t *testing.T) {
	m := cavity(60, 60)
	for _, f := range allFormats {
		data := written(t, m, "x", f)
		var last, total float64
		calls := 0
		_, _, err := readBytes(data, "x", ReadOptions{Progress: func(d, n float64) {
			require.GreaterOrEqual(t, d, last)
			require.LessOrEqual(t, d, n)
			last, total = d, n
			calls++
		}})
		require.NoError(t, err)
		assert.Greater(t, calls, 1, f)
		assert.Equal(t, total, last, "%s: all done at the end", f)
	}
}

func TestReadCanBeCancelled(t *testing.T) {
	m := cavity(100, 100)
	for _, f := range allFormats {
		data := written(t, m, "x", f)
		ctx, cancel := context.WithCancel(context.Background())
		calls := 0
		got, _, err := Read(ctx, bytes.NewReader(data), int64(len(data)), "x", ReadOptions{Progress: func(float64, float64) {
			if calls++; calls == 2 {
				cancel()
			}
		}})
		require.ErrorIs(t, err, context.Canceled, f)
		assert.Nil(t, got)
		cancel()
		_, _, err = Read(ctx, bytes.NewReader(data), int64(len(data)), "x", ReadOptions{})
		require.ErrorIs(t, err, context.Canceled, f)
	}
}

func TestReadPassesOnReadErrors(t *testing.T) {
	for _, f := range allFormats {
		data := written(t, cavity(24, 20), "x", f)
		_, _, err := Read(context.Background(), brokenAt{data, len(data) / 2}, int64(len(data)), "x", ReadOptions{})
		require.ErrorContains(t, err, "disk pulled out", f)
	}
}

type brokenAt struct {
	data []byte
	at   int
}

func (b brokenAt) ReadAt(p []byte, off int64) (int, error) {
	if int(off)+len(p) > b.at {
		return 0, errors.New("disk pulled out")
	}
	return copy(p, b.data[off:]), nil
}

func TestWriteRefusesAndFails(t *testing.T) {
	bad := cube()
	bad.F[2][1] = 8
	for _, f := range append(allFormats, "step") {
		require.ErrorContains(t, Write(io.Discard, bad, "bad", f), "bad: face 2")
		require.Error(t, Write(brokenWriter{}, cube(), "cube", f))
	}
	require.ErrorContains(t, Write(io.Discard, cube(), "cube.step", "step"), "cube.step: form")
}

func TestGuessUnit(t *testing.T) {
	shoe := cavity(24, 20) // 300 mm long
	long := shoe.LengthAcross()
	assert.InDelta(t, 300, long, 12)
	turned := shoe.Transformed(PoseAbout(vec(1, 2, 3), vec(1, 0.7, -0.4), vec(900, 5, 5)))
	assert.InDelta(t, long, turned.LengthAcross(), 1e-9, "in any pose")
	for _, c := range []struct {
		mm   float64 // length
		unit float64
		want string
	}{
		{270, 1, "mm"},
		{270, 1000, "m"},
		{270, 100, "dm"},
		{270, 10, "cm"},
		{140, 10, "cm in"},
		{100, 10, "in cm"},
		{270, 25.4, "in cm"},
		{300, 25.4, "in cm"},
		{200, 25.4, "in"},
		{95, 25.4, "in dm"},
		{270, 0.2, ""},
		{60, 1, ""},
	} {
		guesses, ambiguous := GuessUnit(shoe.Scaled(c.mm/long/c.unit), 0, 0)
		var names []string
		for _, g := range guesses {
			names = append(names, g.Unit.Name)
			if g.Unit.MM == c.unit {
				assert.InEpsilon(t, c.mm, g.LengthMM, 1e-9)
			}
		}
		assert.ElementsMatch(t, strings.Fields(c.want), names, "%g mm in units of %g", c.mm, c.unit)
		assert.Equal(t, len(names) > 1, ambiguous)
	}
	guesses, _ := GuessUnit(shoe.Scaled(0.1), 250, 350)
	assert.Equal(t, []UnitGuess{{Unit{"cm", 10}, guesses[0].LengthMM}}, guesses, "a narrow range tells")
	for s, mm := range map[string]float64{"mm": 1, " Inch": 25.4, "metres": 1000, "dm": 100, "cm": 10} {
		u, err := ParseUnit(s)
		require.NoError(t, err)
		assert.Equal(t, mm, u.MM)
	}
	for _, s := range []string{"", "furlong", "ft", "micron"} {
		_, err := ParseUnit(s)
		var p problem.Problem
		require.ErrorAs(t, err, &p, s)
	}
	empty, ambiguous := GuessUnit(&Mesh{}, 0, 0)
	assert.Empty(t, empty)
	assert.False(t, ambiguous)
}
