package mesh

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

// textSTL writes the text form; a person reads it, and the reader must.
func textSTL(m *Mesh, name string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "solid %s\n", name)
	for i, f := range m.F {
		n := m.FaceNormal(i)
		fmt.Fprintf(&b, "  facet normal %g %g %g\n    outer loop\n", n.X, n.Y, n.Z)
		for _, v := range f {
			fmt.Fprintf(&b, "      vertex %.9g %.9g %.9g\n", m.V[v].X, m.V[v].Y, m.V[v].Z)
		}
		b.WriteString("    endloop\n  endfacet\n")
	}
	fmt.Fprintf(&b, "endsolid %s\n", name)
	return b.String()
}

func binarySTL(t testing.TB, m *Mesh) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, WriteSTL(&b, m, "test"))
	return b.Bytes()
}

func TestSTLRoundTrip(t *testing.T) {
	m := cavity(40, 30)
	solidHeader := binarySTL(t, m)
	copy(solidHeader, "solid written by a program that does not know better\nfacet normal 0 0 1\n")
	for name, data := range map[string][]byte{
		"binary":                       binarySTL(t, m),
		"binary that begins as a text": solidHeader,
		"binary with a stray newline":  append(binarySTL(t, m), '\n'),
		"text":                         []byte(textSTL(m, "a last, inside")),
		"text without a name":          []byte(textSTL(m, "")),
		"text in capitals":             []byte(strings.ToUpper(textSTL(m, "x"))),
		"text from another system":     []byte("\uFEFF" + strings.ReplaceAll(textSTL(m, "Größe 42"), "\n", "\r\n")),
		"text on few lines":            []byte("solid x\n" + strings.Join(strings.Fields(textSTL(m, "x"))[2:], " ")),
		"two solids": []byte(textSTL(m.Subset(func(i int) bool { return i < 50 }), "a") +
			textSTL(m.Subset(func(i int) bool { return i >= 50 }), "b")),
	} {
		t.Run(name, func(t *testing.T) {
			back, err := ReadSTL(bytes.NewReader(data), "shoe.stl")
			require.NoError(t, err)
			require.NoError(t, back.Closed())
			assert.Len(t, back.V, len(m.V))
			assert.Len(t, back.F, len(m.F))
			assert.InEpsilon(t, m.Volume(), back.Volume(), 1e-6)
			for i, f := range m.F {
				for k := range 3 {
					near(t, m.V[f[k]], back.V[back.F[i][k]], 3e-5)
				}
			}
			again, err := ReadSTL(iotest.OneByteReader(bytes.NewReader(data)), "shoe.stl")
			require.NoError(t, err)
			assert.Equal(t, back, again, "same input, same output, however it comes")
		})
	}
	inside := m.Clone()
	for i, f := range inside.F {
		inside.F[i] = [3]int32{f[0], f[2], f[1]}
	}
	back, err := ReadSTL(bytes.NewReader(binarySTL(t, inside)), "turned.stl")
	require.NoError(t, err)
	assert.Negative(t, back.Volume(), "the order of the corners is the file's business")
}

func TestSTLRefusals(t *testing.T) {
	good := binarySTL(t, cube())
	with := func(at int, v ...byte) []byte {
		b := append([]byte(nil), good...)
		copy(b[at:], v)
		return b
	}
	number := func(x float32) []byte { return binary.LittleEndian.AppendUint32(nil, math.Float32bits(x)) }
	count := func(n uint32) []byte { return binary.LittleEndian.AppendUint32(nil, n) }
	text := textSTL(cube(), "cube")
	flat := &Mesh{V: []r3.Vec{vec(0, 0, 0), vec(1e-7, 0, 0), vec(0, 1e-7, 0)}, F: [][3]int32{{0, 1, 2}}}
	needle := &Mesh{V: []r3.Vec{vec(0, 0, 0), vec(1, 0, 0), vec(3, 0, 0)}, F: [][3]int32{{0, 1, 2}}}
	for name, c := range map[string]struct {
		data  []byte
		field string
	}{
		"nothing":                   {nil, "file"},
		"a few bytes":               {[]byte("PK\x03\x04 not this"), "file"},
		"header only":               {good[:84], "triangle count"},
		"cut short":                 {good[:len(good)-1], "triangle count"},
		"count too high":            {with(80, count(13)...), "triangle count"},
		"count too low":             {with(80, count(11)...), "triangle count"},
		"count of zero":             {with(80, count(0)...), "triangle count"},
		"count absurd":              {with(80, count(math.MaxUint32)...), "triangle count"},
		"five million announced":    {with(80, count(5_000_000)...), "triangle count"},
		"one too many announced":    {with(80, count(5_000_001)...), "triangle count"},
		"not a number":              {with(84+50+12, number(float32(math.NaN()))...), "triangle 2"},
		"infinite":                  {with(84+12, number(float32(math.Inf(-1)))...), "triangle 1"},
		"in metres per million":     {with(84+12, number(1.1e6)...), "triangle 1"},
		"binary, no area":           {binarySTL(t, flat), "triangles"},
		"text without facets":       {[]byte("solid nothing\nendsolid nothing\n"), "triangles"},
		"text, only a word":         {[]byte("solid"), "triangles"},
		"text, all on one line":     {[]byte(textSTL(needle, "needle")), "triangles"},
		"text, no area":             {[]byte(textSTL(flat, "flat")), "triangles"},
		"text cut short":            {[]byte(text[:len(text)/2]), "line"},
		"text, not a number":        {[]byte(strings.Replace(text, "vertex 1 ", "vertex nan ", 1)), "facet at line"},
		"text, infinite":            {[]byte(strings.Replace(text, "vertex 1 ", "vertex 1e999 ", 1)), "facet at line"},
		"text, far away":            {[]byte(strings.Replace(text, "vertex 1 ", "vertex -2e6 ", 1)), "facet at line"},
		"text, a word for a number": {[]byte(strings.Replace(text, "vertex 1 ", "vertex one ", 1)), "line"},
		"text, four corners":        {[]byte(strings.Replace(text, "endloop", "vertex 0 0 0 endloop", 1)), "line"},
		"text, endless word":        {[]byte("solid x\n" + strings.Repeat("f", 1<<20)), "line"},
		"some other text":           {[]byte("solid state physics\nis a subject, not a shape"), "line"},
	} {
		t.Run(name, func(t *testing.T) {
			m, err := ReadSTL(bytes.NewReader(c.data), "shoe.stl")
			assert.Nil(t, m)
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			assert.Equal(t, "shoe.stl", p.File)
			assert.True(t, strings.HasPrefix(p.Field, c.field), "field %q", p.Field)
			assert.NotEmpty(t, p.Value)
			assert.NotEmpty(t, p.Limit)
			assert.NotEmpty(t, p.Mend)
		})
	}
}

// endless goes on for ever with the same text.
type endless struct {
	text string
	at   int
	read int
}

func (e *endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = e.text[e.at]
		if e.at++; e.at == len(e.text) {
			e.at = 0
		}
	}
	e.read += len(p)
	return len(p), nil
}

func TestSTLReadsNoFurtherThanItMust(t *testing.T) {
	e := &endless{text: "solid solid solid\n"} // each line begins a solid, none has a facet
	_, err := ReadSTL(io.LimitReader(e, 1<<20), "long.stl")
	require.Error(t, err)
	e = &endless{text: "solid x facet\n facet "}
	_, err = ReadSTL(e, "endless.stl")
	require.Error(t, err)
	assert.LessOrEqual(t, e.read, 1<<17)
}

func TestSTLTooManyTriangles(t *testing.T) {
	s := newIntake("big.stl")
	s.m.F = make([][3]int32, mostTriangles)
	err := s.addTriangle([3][3]float64{{1}, {2}, {3}}, place{"triangle", 5000001})
	var p problem.Problem
	require.ErrorAs(t, err, &p)
	assert.Equal(t, "triangles", p.Field)
}

func TestSTLPassesOnReadErrors(t *testing.T) {
	broken := errors.New("disk pulled out")
	for name, data := range map[string][]byte{"binary": binarySTL(t, cube()), "text": []byte(textSTL(cube(), "x"))} {
		for _, n := range []int{0, 40, 90, 300} {
			r := io.MultiReader(bytes.NewReader(data[:n]), iotest.ErrReader(broken))
			_, err := ReadSTL(r, "x.stl")
			require.ErrorContains(t, err, "disk pulled out", "%s after %d bytes", name, n)
		}
	}
}

func TestWriteSTLRefusesAndFails(t *testing.T) {
	bad := cube()
	bad.V[3].X = math.NaN()
	require.ErrorContains(t, WriteSTL(io.Discard, bad, "bad.stl"), "bad.stl: vertex 3")
	require.Error(t, WriteSTL(brokenWriter{}, cube(), "cube"))
	data := binarySTL(t, cube())
	assert.Len(t, data, 84+50*12)
	assert.False(t, bytes.HasPrefix(data, []byte("solid")))
	assert.Equal(t, data, binarySTL(t, cube()))
}

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func FuzzReadSTL(f *testing.F) {
	one := &Mesh{V: []r3.Vec{vec(0, 0, 0), vec(1, 0, 0), vec(0, 2, 0)}, F: [][3]int32{{0, 1, 2}}}
	f.Add(binarySTL(f, one))
	f.Add([]byte(textSTL(one, "one")))
	f.Add([]byte("solid\nfacet normal nan inf -1 outer loop vertex 0x1p3 1e-400 +7"))
	f.Add(append(binarySTL(f, one)[:83], 1, 2, 3))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := ReadSTL(bytes.NewReader(data), "fuzz.stl")
		if err != nil {
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			require.Equal(t, "fuzz.stl", p.File)
			require.Nil(t, m)
			return
		}
		require.NoError(t, m.Validate())
		require.NotEmpty(t, m.F)
		require.LessOrEqual(t, len(m.F), len(data)/50+1) // neither form has shorter triangles
		for _, v := range m.V {
			require.LessOrEqual(t, max(math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z)), 1e6)
		}
		h := NewTree(m).Nearest(m.V[m.F[0][0]])
		require.False(t, math.IsNaN(h.Signed))
		var b bytes.Buffer
		require.NoError(t, WriteSTL(&b, m, "again"))
	})
}
