package mesh

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

const objDue = "v x y z, or f with three or more vertex numbers,"

// objPassed are the keywords of OBJ files that say nothing of the shape of a triangle mesh: texture, normals, names,
// materials, points, lines, and the free-form curves that no scanner writes (Wavefront, Advanced Visualizer manual,
// appendix B1; from memory).
var objPassed = map[string]bool{
	"vt": true, "vn": true, "vp": true, "g": true, "s": true, "mg": true, "usemtl": true, "mtllib": true,
	"usemap": true, "maplib": true, "p": true, "l": true, "bevel": true, "c_interp": true, "d_interp": true, "lod": true,
	"shadow_obj": true, "trace_obj": true, "deg": true, "cstype": true, "bmat": true, "step": true, "curv": true,
	"curv2": true, "surf": true, "parm": true, "trim": true, "hole": true, "scrv": true, "sp": true, "end": true,
	"con": true, "ctech": true, "stech": true,
}

// readOBJ takes in v and f lines. Numbers of vertices count from 1, or back from the last when negative; a face may use
// vertices that come later. What follows a slash is for texture and normal and is passed over.
func (s *intake) readOBJ(r io.Reader) error {
	w := words{r: bufio.NewReaderSize(r, 1<<16), line: 1}
	if b, err := w.r.Peek(3); err == nil && string(b) == "\uFEFF" {
		w.r.Discard(3)
	}
	o := objText{s: s, w: &w}
	s.objects = 0
	for {
		word, err := w.next()
		if err != nil && !(errors.Is(err, errLongWord) && strings.HasPrefix(word, "#")) {
			return s.broken(&w, word, err, objDue)
		}
		switch {
		case word == "":
			return o.close()
		case word[0] == '#':
			err = o.comment(word)
		case word == "v":
			err = o.vertex()
		case word == "f" || word == "fo":
			err = o.face()
		case word == "o":
			s.objects++
			err = w.skipStatement()
		case objPassed[word]:
			err = w.skipStatement()
		default:
			return s.broken(&w, word, nil, objDue)
		}
		if err != nil {
			return unreadable(s.name, err)
		}
	}
}

// An objText is the state of reading one file.
type objText struct {
	s       *intake
	w       *words
	corners []int32
	highest int64 // largest vertex number used before it was there
	used    place // where
}

func (o *objText) comment(word string) error {
	rest, err := o.w.restOfLine()
	if o.s.unitMM == 0 {
		o.s.unitMM = unitFromComment(word + " " + rest)
	}
	return err
}

func (o *objText) vertex() error {
	at := o.w.here()
	var c [3]float64
	for k := range c {
		word, err := o.w.inLine()
		x, ok := number(word)
		if err != nil || !ok {
			return o.s.broken(o.w, word, err, objDue)
		}
		c[k] = x
	}
	if err := o.w.skipStatement(); err != nil { // a weight, or colours
		return err
	}
	return o.s.addVertex(r3.Vec{X: c[0], Y: c[1], Z: c[2]}, at)
}

func (o *objText) face() error {
	at := o.w.here()
	o.corners = o.corners[:0]
	for {
		word, err := o.w.inLine()
		if err != nil {
			return o.s.broken(o.w, word, err, objDue)
		}
		if word == "" {
			break
		}
		if word[0] == '#' {
			if err := o.w.skipStatement(); err != nil {
				return err
			}
			break
		}
		first, _, _ := strings.Cut(word, "/")
		i, err := strconv.ParseInt(first, 10, 64)
		if err != nil {
			return o.s.broken(o.w, word, nil, objDue)
		}
		v, err := o.number(i, at)
		if err != nil {
			return err
		}
		if len(o.corners) == mostCorners {
			return o.s.problem(at.String(), fmt.Sprintf("more than %d corners", mostCorners),
				fmt.Sprintf("at most %d a face", mostCorners), "export the mesh again, as triangles")
		}
		o.corners = append(o.corners, v)
	}
	return o.s.addPolygon(o.corners)
}

// number is the index of a vertex by its number in the file.
func (o *objText) number(i int64, at place) (int32, error) {
	n := len(o.s.m.V)
	if i < 0 && i >= -int64(n) {
		return int32(int64(n) + i), nil
	}
	if i > int64(n) && i <= mostVertices {
		if i > o.highest {
			o.highest, o.used = i, at
		}
		return int32(i - 1), nil
	}
	return o.s.index(i, 1, n, at)
}

// close checks the numbers that pointed forward.
func (o *objText) close() error {
	o.s.objects = max(o.s.objects, 1)
	if o.highest > int64(len(o.s.m.V)) {
		_, err := o.s.index(o.highest, 1, len(o.s.m.V), o.used)
		return err
	}
	return nil
}

// skipStatement passes over the rest of the line, and over the lines that backslashes join to it.
func (w *words) skipStatement() error {
	last := byte(0)
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
			if last != '\\' {
				return nil
			}
		}
		if c != '\r' {
			last = c
		}
	}
}

// writeOBJ writes v and f lines with every digit of the coordinates.
func writeOBJ(w io.Writer, m *Mesh, name string) error {
	bw := bufio.NewWriterSize(w, 1<<16) // keeps its first error for Flush
	fmt.Fprintf(bw, "# unit mm\no %s\n", oneLine(name))
	var b []byte
	for _, v := range m.V {
		b = append(b[:0], 'v')
		for _, x := range [3]float64{v.X, v.Y, v.Z} {
			b = strconv.AppendFloat(append(b, ' '), x, 'g', -1, 64)
		}
		bw.Write(append(b, '\n'))
	}
	for _, f := range m.F {
		b = append(b[:0], 'f')
		for _, v := range f {
			b = strconv.AppendInt(append(b, ' '), int64(v)+1, 10)
		}
		bw.Write(append(b, '\n'))
	}
	return bw.Flush()
}

// oneLine is a name that can't break the lines of a text, without a backslash at its end.
func oneLine(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r == '\\' || r == 0x7f {
			return ' '
		}
		return r
	}, s)
	if len(s) > 60 {
		s = strings.ToValidUTF8(s[:60], "")
	}
	return strings.TrimSpace(s)
}
