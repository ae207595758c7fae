package mesh

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/problem"
)

const (
	stlWeldMM = 1e-5
	stlHeader = 80
	stlRecord = 50

	stlDue = "solid, or facet normal x y z, outer loop, three times vertex x y z, endloop, endfacet,"
)

// ReadSTL reads a mesh in the STL form, text or binary, and welds corners within 1e-5 mm; faces that lose a corner by
// this are dropped, and the normals in the file are ignored: the order of the corners decides. Refused, with a
// problem.Problem that bears name: more than five million triangles, a count in the header that the data do not
// bear out, numbers that are not finite or beyond a kilometre, and a file without a triangle. The mesh need not be
// closed, nor its normals point outward.
func ReadSTL(r io.Reader, name string) (*Mesh, error) {
	s := newIntake(name)
	if err := s.readSTL(r); err != nil {
		return nil, err
	}
	return s.weldedSTL(stlWeldMM)
}

// readSTL takes in the triangles of either form.
func (s *intake) readSTL(r io.Reader) error {
	br := bufio.NewReaderSize(r, 1<<16)
	head, err := br.Peek(stlHeader + 4)
	if err != nil && !errors.Is(err, io.EOF) {
		return unreadable(s.name, err)
	}
	if isText(head) {
		return s.readText(br)
	}
	return s.readBinary(br)
}

// weldedSTL merges corners within tol, which rounding to float32 may have pulled apart.
func (s *intake) weldedSTL(tol float64) (*Mesh, error) {
	s.at = nil // needed no more, and large
	m := s.m.Welded(tol)
	if m.Area() == 0 {
		return nil, s.problem("triangles", fmt.Sprintf("%d, all without area", len(s.m.F)+s.dropped),
			"at least one with area", "export the mesh again, in millimetres")
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

func (s *intake) readBinary(br *bufio.Reader) error {
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
	s.unitMM = unitFromComment(string(head[:stlHeader]))
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
		if err := s.addTriangle(c, place{"triangle", int(i) + 1}); err != nil {
			return err
		}
	}
	// A few stray bytes at the end are common and harmless; a whole record more is not.
	if _, err := io.ReadFull(br, rec[:]); err == nil {
		return s.wrongCount(count, "the file goes on after that")
	}
	return nil
}

func (s *intake) wrongCount(count uint32, found string) error {
	return problem.Problem{
		File: s.name, Field: "triangle count", Value: fmt.Sprint(count), Limit: found,
		Mend: "the file is damaged or cut short: export or copy it again",
	}
}

// readText reads "solid … facet normal x y z outer loop vertex x y z (three times) endloop endfacet … endsolid …",
// one solid or several.
func (s *intake) readText(br *bufio.Reader) error {
	w := words{r: br, line: 1}
	for {
		word, err := w.next()
		if err != nil {
			return s.broken(&w, word, err, stlDue)
		}
		switch word {
		case "":
			if len(s.m.F)+s.dropped == 0 {
				return s.problem("triangles", "0", "at least one", "export the mesh again as STL")
			}
			return nil
		case "\uFEFFsolid", "solid", "endsolid":
			name, err := w.restOfLine()
			if err != nil {
				return s.broken(&w, word, err, stlDue)
			}
			if s.unitMM == 0 {
				s.unitMM = unitFromComment(name)
			}
		case "facet":
			if err := s.readFacet(&w); err != nil {
				return err
			}
		default:
			return s.broken(&w, word, nil, stlDue)
		}
	}
}

func (s *intake) readFacet(w *words) error {
	line := w.line
	var c [3][3]float64
	for _, want := range []string{
		"normal", "#", "#", "#", "outer", "loop", "vertex 0", "vertex 1", "vertex 2", "endloop", "endfacet",
	} {
		word, err := w.next()
		if err != nil {
			return s.broken(w, word, err, stlDue)
		}
		kind, corner, numbered := strings.Cut(want, " ")
		if kind != "#" && word != kind { // the numbers of the normal may be anything
			return s.broken(w, word, nil, stlDue)
		}
		if !numbered {
			continue
		}
		k := int(corner[0] - '0')
		for j := range c[k] {
			if word, err = w.next(); err != nil {
				return s.broken(w, word, err, stlDue)
			}
			x, ok := number(word)
			if !ok {
				return s.broken(w, word, nil, stlDue)
			}
			c[k][j] = x
		}
	}
	return s.addTriangle(c, place{"facet at line", line})
}

// WriteSTL writes m as binary STL with name in the header. Coordinates are rounded to float32: by at most 1.6e-5 mm
// within 256 mm of the origin. Tags are not written.
func WriteSTL(w io.Writer, m *Mesh, name string) error {
	if err := writable(m, name); err != nil {
		return err
	}
	bw := bufio.NewWriterSize(w, 1<<16)
	var head [stlHeader + 4]byte
	copy(head[:stlHeader], "binary STL, unit mm: "+name) // must not begin with "solid"
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

// writeSTLText writes the text form, with every digit of the coordinates.
func writeSTLText(w io.Writer, m *Mesh, name string) error {
	bw := bufio.NewWriterSize(w, 1<<16) // keeps its first error for Flush
	fmt.Fprintf(bw, "solid unit mm: %s\n", oneLine(name))
	for i, f := range m.F {
		n := m.FaceNormal(i)
		fmt.Fprintf(bw, "facet normal %g %g %g\nouter loop\n", n.X, n.Y, n.Z)
		for _, v := range f {
			fmt.Fprintf(bw, "vertex %g %g %g\n", m.V[v].X, m.V[v].Y, m.V[v].Z)
		}
		bw.WriteString("endloop\nendfacet\n")
	}
	fmt.Fprintf(bw, "endsolid\n")
	return bw.Flush()
}
