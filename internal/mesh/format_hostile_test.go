package mesh

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

// refusal reads what must be refused and checks that the problem is whole and that the memory it cost is bounded.
func refusal(t *testing.T, data []byte, name string, mostMiB uint64) problem.Problem {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	m, _, err := readBytes(data, name, ReadOptions{})
	runtime.ReadMemStats(&after)
	assert.Nil(t, m)
	var p problem.Problem
	require.ErrorAs(t, err, &p)
	assert.Equal(t, name, p.File)
	assert.NotEmpty(t, p.Field)
	assert.NotEmpty(t, p.Value)
	assert.NotEmpty(t, p.Limit)
	assert.NotEmpty(t, p.Mend)
	assert.Less(t, len(p.Error()), 600, "no file fills the screen")
	assert.Less(t, (after.TotalAlloc-before.TotalAlloc)>>20, mostMiB, "MiB allocated in all")
	return p
}

func TestHostileOBJ(t *testing.T) {
	good := "v 0 0 0\nv 1 0 0\nv 0 1 0\n"
	for name, c := range map[string]struct{ text, field string }{
		"index zero":              {good + "f 0 1 2\n", "line 4"},
		"index beyond":            {good + "\nf 1 2 4\n", "line 5"},
		"index far beyond":        {good + "f 1 2 4000000000\n", "line 4"},
		"index past 64 bits":      {good + "f 1 2 99999999999999999999\n", "line 4"},
		"back beyond the first":   {good + "f -1 -2 -4\n", "line 4"},
		"not a number":            {"v 0 nan 0\n" + good + "f 1 2 3\n", "line 1"},
		"infinite":                {"v 0 1e999 0\n" + good + "f 1 2 3\n", "line 1"},
		"too far":                 {"v 0 0 -2e6\n" + good + "f 1 2 3\n", "line 1"},
		"two coordinates":         {good + "v 1 2\nf 1 2 3\n", "line 4"},
		"a word for a number":     {good + "v one 2 3\n", "line 4"},
		"a word for a corner":     {good + "f a b c\n", "line 4"},
		"points only":             {good, "triangles"},
		"only lines":              {good + "f 1 2\nl 1 2 3\n", "triangles"},
		"endless word":            {good + "f " + strings.Repeat("1", 1<<20), "line 4"},
		"endless face":            {good + "f" + strings.Repeat(" 1", 1<<19), "line 4"},
		"endless joined lines":    {good + "f" + strings.Repeat(" \\\n", 1<<18) + "x", "line"},
		"some other text":         {good + "This is a letter.", "line 4"},
		"binary after the header": {good + "\x00\x01\x02", "line 4"},
	} {
		t.Run(name, func(t *testing.T) {
			p := refusal(t, []byte(c.text), "scan.obj", 8)
			assert.True(t, strings.HasPrefix(p.Field, c.field), "field %q", p.Field)
		})
	}
}

func plyHead(form string, lines ...string) string {
	return "ply\nformat " + form + " 1.0\n" + strings.Join(lines, "\n") + "\nend_header\n"
}

func TestHostilePLY(t *testing.T) {
	xyz := "property float x\nproperty float y\nproperty float z"
	list := "property list uchar int vertex_indices"
	le := "binary_little_endian"
	big := func(v ...uint32) string {
		var b []byte
		for _, x := range v {
			b = binary.BigEndian.AppendUint32(b, x)
		}
		return string(b)
	}
	for name, c := range map[string]struct{ text, field string }{
		"only a word":                  {"ply\n", "line 2"},
		"no format":                    {"ply\nelement vertex 3\n" + xyz + "\nend_header\n", "line 6"},
		"two formats":                  {plyHead("ascii", "format ascii 1.0"), "line 3"},
		"another version":              {"ply\nformat ascii 2.0\n", "line 2"},
		"another form":                 {"ply\nformat binary 1.0\n", "line 2"},
		"no end":                       {"ply\nformat ascii 1.0\nelement vertex 3\n", "line 4"},
		"4 billion vertices":           {plyHead(le, "element vertex 4000000000", xyz, "element face 1", list), "line 3"},
		"4 billion faces":              {plyHead(le, "element vertex 3", xyz, "element face 4000000000", list), "line 7"},
		"4 billion of another":         {plyHead(le, "element hair 4000000000", xyz), "line 3"},
		"a gigabyte in 100 bytes":      {plyHead(le, "element vertex 15000000", xyz), "vertex 0"},
		"a gigabyte, as text":          {plyHead("ascii", "element vertex 15000000", xyz), "vertex 0"},
		"a gigabyte to pass over":      {plyHead(le, "element hair 1000000000", xyz), "element hair of 1000000000"},
		"a count below none":           {plyHead(le, "element vertex -1", xyz), "line 3"},
		"a count past 64 bits":         {plyHead(le, "element vertex 99999999999999999999", xyz), "line 3"},
		"vertices twice":               {plyHead(le, "element vertex 1", xyz, "element vertex 1", xyz), "line 7"},
		"property of nothing":          {plyHead(le, xyz), "line 3"},
		"unknown type":                 {plyHead(le, "element vertex 1", "property quad x"), "line 4"},
		"a list counted by a fraction": {plyHead(le, "element vertex 1", "property list float int x"), "line 4"},
		"unknown word":                 {plyHead(le, "elephant vertex 1"), "line 3"},
		"many properties":              {plyHead(le, "element vertex 1", strings.Repeat("property char a\n", 300)), "line 260"},
		"a long header":                {plyHead(le, strings.Repeat("comment x\n", 2000)), "line 1001"},
		"a long line":                  {"ply\nformat ascii 1.0\ncomment " + strings.Repeat("x", 1<<20), "line 3"},
		"flat vertices":                {plyHead(le, "element vertex 1", "property float x\nproperty float y"), "element vertex"},
		"faces first":                  {plyHead(le, "element face 1", list, "element vertex 3", xyz), "element face"},
		"faces without corners":        {plyHead(le, "element vertex 1", xyz, "element face 1", "property int vertex_indices") + strings.Repeat("\x00", 12), "element face"},
		"cut short":                    {plyHead(le, "element vertex 2", xyz) + strings.Repeat("\x00", 16), "vertex 1"},
		"text cut short":               {plyHead("ascii", "element vertex 2", xyz) + "0 0 0 1", "vertex 1"},
		"text, not a number":           {plyHead("ascii", "element vertex 1", xyz) + "0 x 0", "line 8"},
		"text, a whole number due":     {plyHead("ascii", "element vertex 1", "property int x\nproperty int y\nproperty int z") + "0 0.5 0", "line 8"},
		"NaN":                          {plyHead("binary_big_endian", "element vertex 1", xyz) + big(0, 0x7fc00000, 0), "vertex 0"},
		"infinite":                     {plyHead("binary_big_endian", "element vertex 1", xyz) + big(0, 0, 0xff800000), "vertex 0"},
		"text NaN":                     {plyHead("ascii", "element vertex 1", xyz) + "nan 0 0", "vertex 0"},
		"index beyond":                 {plyHead("ascii", "element vertex 3", xyz, "element face 1", list) + "0 0 0 1 0 0 0 1 0\n3 0 1 3\n", "face 0"},
		"index below":                  {plyHead("ascii", "element vertex 3", xyz, "element face 1", list) + "0 0 0 1 0 0 0 1 0\n3 0 1 -1\n", "face 0"},
		"index NaN":                    {plyHead("ascii", "element vertex 1", xyz, "element face 1", "property list int float vertex_indices") + "0 0 0\n3 0 nan 0\n", "face 0"},
		"a list of 4 billion":          {plyHead("binary_big_endian", "element vertex 1", xyz, "element face 1", "property list uint int vertex_indices") + big(0, 0, 0, 4e9, 0), "face 0"},
		"a list of a million":          {plyHead("binary_big_endian", "element vertex 1", xyz, "element face 1", "property list uint int vertex_indices") + big(0, 0, 0, 1e6, 0), "face 0"},
		"a list below none":            {plyHead("ascii", "element vertex 1", xyz, "element face 1", "property list int int vertex_indices") + "0 0 0\n-3 0 0 0\n", "face 0"},
		"a list of 4 billion passed":   {plyHead("binary_big_endian", "element hair 1", "property list uint double x") + big(4e9), "hair 0"},
		"a list of a billion passed":   {plyHead("binary_big_endian", "element hair 1", "property list uint double x") + big(1e9), "hair 0"},
		"points only":                  {plyHead("ascii", "element vertex 1", xyz) + "0 0 0", "triangles"},
		"nothing at all":               {plyHead("ascii"), "triangles"},
	} {
		t.Run(name, func(t *testing.T) {
			p := refusal(t, []byte(c.text), "scan.ply", 8)
			assert.Equal(t, c.field, p.Field)
		})
	}
}

func TestHostileThreeMF(t *testing.T) {
	const open = `<model xmlns="` + coreSpace + `"><resources>`
	const mesh = `<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/><vertex x="0" y="1" z="0"/></vertices>` +
		`<triangles><triangle v1="0" v2="1" v3="2"/></triangles></mesh>`
	const object = `<object id="1">` + mesh + `</object>`
	const end = `</resources><build><item objectid="1"/></build></model>`
	good := model(t, open+object+end)
	_, _, err := readBytes(good, "good.3mf", ReadOptions{})
	require.NoError(t, err)
	with := func(old, new string) []byte {
		require.Contains(t, open+object+end, old)
		return model(t, strings.Replace(open+object+end, old, new, 1))
	}
	var nested strings.Builder // each object is made of ten of the one before
	nested.WriteString(open + object)
	for i := 2; i < 40; i++ {
		fmt.Fprintf(&nested, `<object id="%d"><components>%s</components></object>`, i, strings.Repeat(fmt.Sprintf(`<component objectid="%d"/>`, i-1), 10))
	}
	empty := strings.Replace(nested.String(), mesh, "", 1)
	deep := open + object
	for i := 2; i < 60; i++ {
		deep += fmt.Sprintf(`<object id="%d"><components><component objectid="%d"/></components></object>`, i, i-1)
	}
	lying := append([]byte(nil), good...) // the directory says four gigabytes
	at := bytes.LastIndex(lying, []byte("PK\x01\x02"))
	binary.LittleEndian.PutUint32(lying[at+24:], math.MaxUint32-1)
	line := "3D/3dmodel.model line 1"
	for name, c := range map[string]struct {
		data  []byte
		field string
	}{
		"only a beginning":           {[]byte("PK\x03\x04"), "archive"},
		"cut short":                  {good[:len(good)-10], "archive"},
		"directory damaged":          {append(append([]byte(nil), good[:at]...), bytes.Repeat([]byte{0xff}, 80)...), "archive"},
		"sizes lie":                  {lying, ""},
		"no model":                   {zipOf(t, "readme.txt", "hello"), "archive"},
		"two models":                 {zipOf(t, "a.model", "x", "b.model", "y"), "archive"},
		"relation to nothing":        {zipOf(t, "_rels/.rels", relations3MF), "archive"},
		"not XML":                    {model(t, "solid cube"), "triangles or build"},
		"cut off":                    {model(t, open+object), line},
		"entities of its own":        {model(t, `<!DOCTYPE x [<!ENTITY a "aaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>`+open+object+end), line},
		"a file by entity":           {model(t, `<!DOCTYPE x SYSTEM "file:///etc/hostname">`+open+object+end), line},
		"an entity that is not":      {with(`x="1"`, `x="&one;"`), line},
		"document type in relations": {zipOf(t, "_rels/.rels", `<!DOCTYPE x>`+relations3MF, "3D/3dmodel.model", open+object+end), "_rels/.rels line 1"},
		"another encoding":           {model(t, `<?xml version="1.0" encoding="UTF-16"?>`+open+object+end), line},
		"deep elements":              {model(t, open+strings.Repeat("<a>", 1000)), line},
		"a long tag":                 {model(t, open+`<object id="`+strings.Repeat("x", 3<<20)+`">`), line},
		"a long comment":             {model(t, open+"<!-- "+strings.Repeat("> ", 2<<20)+" -->"), line},
		"a long text":                {model(t, open+strings.Repeat("x", 3<<20)+object+end), line},
		"a bomb of blanks":           {model(t, open+strings.Repeat("<a/>", 4<<20)+object+end), "archive member"},
		"a model within":             {model(t, `<model xmlns="`+coreSpace+`"><model unit="meter"/></model>`), ""},
		"two models in one":          {model(t, open+object+end+open), line},
		"unknown unit":               {with("<model", `<model unit="furlong"`), line},
		"needs another part of 3MF":  {with("<model", `<model xmlns:b="http://x/beams" requiredextensions="b"`), line},
		"needs what is not named":    {with("<model", `<model requiredextensions="b"`), line},
		"NaN":                        {with(`x="1"`, `x="NaN"`), line},
		"infinite":                   {with(`x="1"`, `x="-Inf"`), line},
		"too far":                    {with(`x="1"`, `x="1e30"`), line},
		"no number":                  {with(`x="1"`, `x="one"`), line},
		"no x":                       {with(`x="1"`, ``), line},
		"index beyond":               {with(`v3="2"`, `v3="3"`), line},
		"index below":                {with(`v3="2"`, `v3="-1"`), line},
		"index past 64 bits":         {with(`v3="2"`, `v3="99999999999999999999"`), line},
		"index of another object":    {model(t, open+object+`<object id="2"><mesh><triangles><triangle v1="0" v2="1" v3="2"/></triangles></mesh></object>`+end), line},
		"no id":                      {with(`<object id="1"`, `<object`), line},
		"the same id":                {model(t, open+object+object+end), line},
		"an object of itself":        {with(mesh, `<components><component objectid="1"/></components>`), line},
		"an object of a later one":   {model(t, open+`<object id="2"><components><component objectid="1"/></components></object>`+object+end), line},
		"many by nesting":            {model(t, nested.String()+end), line},
		"many of nothing":            {model(t, empty+end), line},
		"deep nesting":               {model(t, strings.Replace(deep+end, `item objectid="1"`, `item objectid="59"`, 1)), "components"},
		"many items":                 {model(t, open+object+`</resources><build>`+strings.Repeat(`<item objectid="1"/>`, 10_001)+`</build></model>`), "build of 10001"},
		"no build":                   {model(t, open+object+`</resources></model>`), "build"},
		"build of nothing known":     {with(`item objectid="1"`, `item objectid="7"`), line},
		"object elsewhere":           {with(`item objectid="1"`, `item objectid="1" p:path="/3D/other.model"`), line},
		"transform of eleven":        {with(`item objectid="1"`, `item objectid="1" transform="1 0 0 0 1 0 0 0 1 0 0"`), line},
		"transform with NaN":         {with(`item objectid="1"`, `item objectid="1" transform="1 0 0 0 1 0 0 0 NaN 0 0 0"`), line},
		"transform that flattens":    {with(`item objectid="1"`, `item objectid="1" transform="1 0 0 0 1 0 0 0 0 0 0 0"`), line},
		"transform far away":         {with(`item objectid="1"`, `item objectid="1" transform="1e6 0 0 0 1 0 0 0 1 1e6 0 0"`), "build, object 1"},
		"no triangles":               {model(t, open+`<object id="1"/>`+end), "triangles"},
		"points only":                {with(`<triangle v1="0" v2="1" v3="2"/>`, ""), "triangles"},
	} {
		t.Run(name, func(t *testing.T) {
			p := refusal(t, c.data, "scan.3mf", 320)
			if c.field == "triangles or build" {
				assert.Contains(t, []string{"triangles", "build"}, p.Field)
				return
			}
			assert.True(t, strings.HasPrefix(p.Field, c.field), "field %q", p.Field)
		})
	}
}

// A member of zeros packs a thousand to one.
func TestZipBomb(t *testing.T) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	f, err := z.Create("3D/3dmodel.model")
	require.NoError(t, err)
	zeros := make([]byte, 1<<20)
	for range 64 {
		_, err = f.Write(zeros)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	require.Less(t, b.Len(), 1<<17)
	p := refusal(t, b.Bytes(), "bomb.3mf", 16)
	assert.Contains(t, p.Field, "3dmodel.model")
	b.Reset()
	z = zip.NewWriter(&b)
	for i := range zipMostMembers + 1 {
		_, err = z.Create(fmt.Sprint(i))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	p = refusal(t, b.Bytes(), "many.3mf", 64)
	assert.Equal(t, "archive", p.Field)
	// What unpacks to less than a MiB may be as dense as it likes.
	m, _, err := readBytes(model(t, strings.Replace(model3, "<build>", strings.Repeat(" ", 900_000)+"<build>", 1)), "blank.3mf", ReadOptions{})
	require.NoError(t, err)
	assert.Len(t, m.F, 18)
}

func TestHostileSTLByRead(t *testing.T) {
	good := binarySTL(t, cube())
	claim := append([]byte(nil), good[:100]...)
	binary.LittleEndian.PutUint32(claim[80:], 5_000_000)
	for name, data := range map[string][]byte{
		"a gigabyte in 100 bytes": claim, "cut short": good[:300], "nothing": {}, "a byte": {7}, "a text": []byte("solid\nfacet"),
		"zeros": make([]byte, 500),
	} {
		t.Run(name, func(t *testing.T) { refusal(t, data, "scan.stl", 4) })
	}
	for name, data := range map[string][]byte{"no form": []byte("GIF89a, or some other thing"), "no form, binary": {1, 2, 3, 0}} {
		t.Run(name, func(t *testing.T) { assert.Equal(t, "file", refusal(t, data, "scan.dat", 4).Field) })
	}
}

func TestReadRefusesLargeFiles(t *testing.T) {
	_, _, err := Read(context.Background(), bytes.NewReader(nil), mostBytes+1, "huge.stl", ReadOptions{})
	var p problem.Problem
	require.ErrorAs(t, err, &p)
	assert.Equal(t, "file", p.Field)
}

func TestIntakeLimits(t *testing.T) {
	s := newIntake("big.obj")
	s.m.V = make([]r3.Vec, mostVertices)
	require.ErrorContains(t, s.addVertex(r3.Vec{}, place{"line", 1}), "big.obj: vertices")
	s = newIntake("big.obj")
	s.m.F = make([][3]int32, mostTriangles)
	require.ErrorContains(t, s.addFace([3]int32{0, 1, 2}), "big.obj: triangles")
}

// fuzzRead is the part that all readers' fuzzing has in common: a problem with the name, or a mesh that is fit for use
// and no larger than the data can bear.
func fuzzRead(t *testing.T, data []byte, name string) {
	m, info, err := readBytes(data, name, ReadOptions{})
	if err != nil {
		var p problem.Problem
		require.ErrorAs(t, err, &p)
		require.Equal(t, name, p.File)
		require.Nil(t, m)
		return
	}
	require.NoError(t, m.Validate())
	require.NotEmpty(t, m.F)
	require.Equal(t, len(m.F), info.Triangles)
	require.Equal(t, len(m.V), info.Vertices)
	require.False(t, math.IsNaN(NewTree(m).Nearest(m.V[0]).Signed))
	require.NoError(t, Write(io.Discard, m, name, PLY))
}

func FuzzReadOBJ(f *testing.F) {
	f.Add([]byte(objText3))
	f.Add([]byte("v 0 0 0\nv 1 0 0\nv 0 1 0\nf -1 -2 -3\nf 1/2/3 2//3 \\\n3"))
	f.Add([]byte("# units in\nv 1e6 -1e-400 0x1p4\nf 1 1 1 1 1"))
	f.Fuzz(func(t *testing.T, data []byte) { fuzzRead(t, data, "fuzz.obj") })
}

func FuzzReadPLY(f *testing.F) {
	f.Add([]byte(plyText3))
	f.Add(plyBinary(binary.LittleEndian, "binary_little_endian"))
	f.Add(plyBinary(binary.BigEndian, "binary_big_endian"))
	f.Fuzz(func(t *testing.T, data []byte) { fuzzRead(t, data, "fuzz.ply") })
}

// FuzzRead3MF puts the data into a package as its model, as rarely would chance.
func FuzzRead3MF(f *testing.F) {
	f.Add([]byte(model3), true)
	f.Add(model(f, model3), false)
	f.Add([]byte(`<model><resources><object id="1"><components><component objectid="1"/></components></object></resources></model>`), true)
	f.Fuzz(func(t *testing.T, data []byte, pack bool) {
		if pack {
			data = model(t, string(data))
		}
		fuzzRead(t, data, "fuzz.3mf")
	})
}
