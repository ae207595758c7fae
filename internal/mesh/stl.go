package mesh

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

const (
	mostTriangles = 5_000_000
	farthestMM    = 1e6
	stlWeldMM     = 1e-5
	stlHeader     = 80
	stlRecord     = 50
)

// ReadSTL reads a mesh in the STL form, text or binary, and welds corners within 1e-5 mm; faces that lose a corner by
// this are dropped, and the normals in the file are ignored: the order of the corners decides. Refused, with a
// problem.Problem that bears name: more than five million triangles, a count in the header that the data do not
// bear out, numbers that are not finite or beyond a kilometre, and a file without a triangle. The mesh need not be
// closed, nor its normals point outward.
func ReadSTL(r io.Reader, name string) (*Mesh, error) {
	br := bufio.NewReaderSize(r, 1<<16)
	head, err := br.Peek(stlHeader + 4)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, unreadable(name, err)
	}
	s := soup{name: name, at: map[[3]float64]int32{}}
	if isText(head) {
		err = s.readText(br)
	} else {
		err = s.readBinary(br)
	}
	if err != nil {
		return nil, err
	}
	m := s.m.Welded(stlWeldMM)
	if m.Area() == 0 {
		return nil, problem.Problem{
			File: name, Field: "triangles", Value: fmt.Sprintf("%d, all without area", len(s.m.F)),
			Limit: "at least one with area", Mend: "export the mesh again, in millimetres",
		}
	}
	return m, nil
}

// isText tells the two forms apart. A text begins with "solid" and holds no zero byte; a binary file may begin so
// too, but the last byte of its count is zero for any count below sixteen million.
func isText(head []byte) bool {
	word := bytes.TrimLeft(head, " \t\r\n\uFEFF")
	return len(word) >= 5 && strings.EqualFold(string(word[:5]), "solid") &&
		!bytes.Contains(head[min(len(head), stlHeader):], []byte{0})
}

func unreadable(name string, err error) error {
	return problem.Problem{
		File: name, Field: "file", Value: err.Error(), Limit: "must be readable", Mend: "check the file and its disk",
	}
}

// A soup collects triangles and merges equal corners as they come.
type soup struct {
	name string
	m    Mesh
	at   map[[3]float64]int32
}

// add takes one triangle; place says where it stands in the file.
func (s *soup) add(corners [3][3]float64, place string) error {
	if len(s.m.F) == mostTriangles {
		return problem.Problem{
			File: s.name, Field: "triangles", Value: "more than 5000000", Limit: "at most 5000000",
			Mend: "reduce the mesh; 100000 triangles are plenty for a shoe",
		}
	}
	var f [3]int32
	for k, c := range corners {
		for _, x := range c {
			if !(math.Abs(x) <= farthestMM) {
				return problem.Problem{
					File: s.name, Field: place, Value: fmt.Sprintf("coordinate %g mm", x),
					Limit: "finite and within ±1000000 mm", Mend: "export the mesh again, in millimetres",
				}
			}
		}
		v, seen := s.at[c]
		if !seen {
			v = int32(len(s.m.V))
			s.at[c] = v
			s.m.V = append(s.m.V, r3.Vec{X: c[0], Y: c[1], Z: c[2]})
		}
		f[k] = v
	}
	s.m.F = append(s.m.F, f)
	return nil
}

func (s *soup) readBinary(br *bufio.Reader) error {
	var head [stlHeader + 4]byte
	if n, err := io.ReadFull(br, head[:]); err != nil {
		if !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
			return unreadable(s.name, err)
		}
		return problem.Problem{
			File: s.name, Field: "file", Value: fmt.Sprintf("%d bytes", n),
			Limit: "a binary STL has at least 84 bytes, a text one begins with solid", Mend: "export the mesh again as STL",
		}
	}
	count := binary.LittleEndian.Uint32(head[stlHeader:])
	if count == 0 || count > mostTriangles {
		return problem.Problem{
			File: s.name, Field: "triangle count", Value: fmt.Sprint(count), Limit: "1 to 5000000",
			Mend: "export the mesh again as STL, reduced if it is large",
		}
	}
	var rec [stlRecord]byte
	for i := range count {
		if _, err := io.ReadFull(br, rec[:]); err != nil {
			if !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
				return unreadable(s.name, err)
			}
			return s.wrongCount(count, fmt.Sprintf("the file ends after %d", i))
		}
		var c [3][3]float64
		for k := range c {
			for j := range c[k] {
				c[k][j] = float64(math.Float32frombits(binary.LittleEndian.Uint32(rec[12+12*k+4*j:])))
			}
		}
		if err := s.add(c, fmt.Sprintf("triangle %d", i+1)); err != nil {
			return err
		}
	}
	// A few stray bytes at the end are common and harmless; a whole record more is not.
	if _, err := io.ReadFull(br, rec[:]); err == nil {
		return s.wrongCount(count, "the file goes on after that")
	}
	return nil
}

func (s *soup) wrongCount(count uint32, found string) error {
	return problem.Problem{
		File: s.name, Field: "triangle count", Value: fmt.Sprint(count), Limit: found,
		Mend: "the file is damaged or cut short: export or copy it again",
	}
}

// readText reads "solid … facet normal x y z outer loop vertex x y z (three times) endloop endfacet … endsolid …",
// one solid or several.
func (s *soup) readText(br *bufio.Reader) error {
	w := words{r: br, line: 1}
	for {
		word, err := w.next()
		if err != nil {
			return s.broken(&w, word, err)
		}
		switch word {
		case "":
			if len(s.m.F) == 0 {
				return problem.Problem{
					File: s.name, Field: "triangles", Value: "0", Limit: "at least one", Mend: "export the mesh again as STL",
				}
			}
			return nil
		case "\uFEFFsolid", "solid", "endsolid":
			if err := w.skipLine(); err != nil {
				return s.broken(&w, word, err)
			}
		case "facet":
			if err := s.readFacet(&w); err != nil {
				return err
			}
		default:
			return s.broken(&w, word, nil)
		}
	}
}

func (s *soup) readFacet(w *words) error {
	line := w.line
	var c [3][3]float64
	for _, want := range []string{
		"normal", "#", "#", "#", "outer", "loop", "vertex 0", "vertex 1", "vertex 2", "endloop", "endfacet",
	} {
		word, err := w.next()
		if err != nil {
			return s.broken(w, word, err)
		}
		kind, corner, numbered := strings.Cut(want, " ")
		if kind != "#" && word != kind { // the numbers of the normal may be anything
			return s.broken(w, word, nil)
		}
		if !numbered {
			continue
		}
		k := int(corner[0] - '0')
		for j := range c[k] {
			if word, err = w.next(); err != nil {
				return s.broken(w, word, err)
			}
			x, err := strconv.ParseFloat(word, 64)
			if err != nil && !errors.Is(err, strconv.ErrRange) {
				return s.broken(w, word, nil)
			}
			c[k][j] = x
		}
	}
	return s.add(c, fmt.Sprintf("facet at line %d", line))
}

// broken is the problem of a text that does not go on as it should.
func (s *soup) broken(w *words, word string, err error) error {
	if err != nil && !errors.Is(err, errLongWord) {
		return unreadable(s.name, err)
	}
	found := strconv.Quote(word)
	if word == "" {
		found = "end of the file"
	}
	return problem.Problem{
		File: s.name, Field: fmt.Sprintf("line %d", w.line), Value: found,
		Limit: "solid, or facet normal x y z, outer loop, three times vertex x y z, endloop, endfacet, was due here",
		Mend:  "export the mesh again as STL",
	}
}

// words splits a text at white space, in lower case, and counts lines.
type words struct {
	r    *bufio.Reader
	line int
	buf  []byte
}

var errLongWord = errors.New("word longer than any number")

// next is the next word, or "" at the end of the text.
func (w *words) next() (string, error) {
	w.buf = w.buf[:0]
	for {
		c, err := w.r.ReadByte()
		if errors.Is(err, io.EOF) {
			return string(w.buf), nil
		}
		if err != nil {
			return "", err
		}
		space := c == ' ' || c == '\n' || c == '\r' || c == '\t'
		if space && len(w.buf) > 0 {
			return string(w.buf), w.r.UnreadByte()
		}
		if c == '\n' {
			w.line++
		}
		if space {
			continue
		}
		if 'A' <= c && c <= 'Z' {
			c += 'a' - 'A'
		}
		if w.buf = append(w.buf, c); len(w.buf) > 64 {
			return string(w.buf), errLongWord
		}
	}
}

func (w *words) skipLine() error {
	for {
		c, err := w.r.ReadByte()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if c == '\n' {
			w.line++
			return nil
		}
	}
}

// WriteSTL writes m as binary STL with name in the header. Coordinates are rounded to float32: by at most 1.6e-5 mm
// within 256 mm of the origin. Tags are not written.
func WriteSTL(w io.Writer, m *Mesh, name string) error {
	if err := m.Validate(); err != nil {
		var p problem.Problem
		if errors.As(err, &p) {
			p.File = name
			return p
		}
		return err
	}
	if len(m.F) > mostTriangles {
		return problem.Problem{
			File: name, Field: "triangles", Value: fmt.Sprint(len(m.F)), Limit: "at most 5000000", Mend: "reduce the mesh",
		}
	}
	bw := bufio.NewWriterSize(w, 1<<16)
	var head [stlHeader + 4]byte
	copy(head[:stlHeader], "binary STL, mm: "+name) // must not begin with "solid"
	binary.LittleEndian.PutUint32(head[stlHeader:], uint32(len(m.F)))
	bw.Write(head[:]) // a bufio.Writer keeps its first error for Flush
	var rec [stlRecord]byte
	put := func(k int, v r3.Vec) {
		for j, x := range [3]float64{v.X, v.Y, v.Z} {
			binary.LittleEndian.PutUint32(rec[12*k+4*j:], math.Float32bits(float32(x)))
		}
	}
	for i, f := range m.F {
		put(0, m.FaceNormal(i))
		for k, v := range f {
			put(k+1, m.V[v])
		}
		bw.Write(rec[:])
	}
	return bw.Flush()
}
