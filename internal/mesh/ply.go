package mesh

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"
)

// readPLY takes in the elements vertex (x, y, z) and face (vertex_indices or vertex_index); every other property and
// element, of whatever type, is passed over.
func (s *intake) readPLY(r io.Reader) error {
	br := bufio.NewReaderSize(r, 1<<16)
	h, lines, err := s.readPLYHeader(br)
	if err != nil {
		return err
	}
	for _, c := range h.comments {
		if s.unitMM == 0 {
			s.unitMM = unitFromComment(c)
		}
	}
	d := plyData{s: s, br: br, order: h.order, words: words{r: br, line: lines + 1}}
	for i := range h.elements {
		e := &h.elements[i]
		switch e.name {
		case "vertex":
			err = d.vertices(e)
		case "face":
			err = d.faces(e)
		default:
			err = d.pass(e)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// plyData reads the numbers after the header; order is nil for a text.
type plyData struct {
	s     *intake
	br    *bufio.Reader
	order binary.ByteOrder
	words words
	buf   [8]byte
}

// number reads one number of a type.
func (d *plyData) number(t plyType, at place) (float64, error) {
	if d.order == nil {
		word, err := d.words.next()
		if err == nil && word == "" {
			return 0, d.s.ended(io.EOF, at)
		}
		x, ok := number(word)
		if err != nil || !ok || !t.fraction && x != math.Trunc(x) {
			return 0, d.s.broken(&d.words, word, err, "a number of the declared type")
		}
		return x, nil
	}
	b := d.buf[:t.size]
	if _, err := io.ReadFull(d.br, b); err != nil {
		return 0, d.s.ended(err, at)
	}
	return t.decode(b, d.order), nil
}

func (t plyType) decode(b []byte, order binary.ByteOrder) float64 {
	var u uint64
	switch t.size {
	case 1:
		u = uint64(b[0])
	case 2:
		u = uint64(order.Uint16(b))
	case 4:
		u = uint64(order.Uint32(b))
		if t.fraction {
			return float64(math.Float32frombits(uint32(u)))
		}
	case 8: // only double is so wide
		return math.Float64frombits(order.Uint64(b))
	}
	if t.signed {
		shift := 64 - 8*t.size
		return float64(int64(u<<shift) >> shift)
	}
	return float64(u)
}

// length reads the count of a list.
func (d *plyData) length(t plyType, at place) (int64, error) {
	x, err := d.number(t, at)
	if err != nil {
		return 0, err
	}
	if !(x >= 0 && x <= mostBytes) {
		return 0, d.s.problem(at.String(), fmt.Sprintf("a list of %g", x), "no fewer than none, and no more than the file can hold",
			"the file is damaged: export it again")
	}
	return int64(x), nil
}

// skip passes over one property.
func (d *plyData) skip(p *plyProperty, at place) error {
	n := int64(1)
	if p.list {
		var err error
		if n, err = d.length(p.count, at); err != nil {
			return err
		}
	}
	if d.order != nil {
		if err := discard(d.br, n*int64(p.value.size)); err != nil {
			return d.s.ended(err, at)
		}
		return nil
	}
	for range n {
		if _, err := d.number(p.value, at); err != nil {
			return err
		}
	}
	return nil
}

func (d *plyData) vertices(e *plyElement) error {
	x, y, z := e.find(false, "x"), e.find(false, "y"), e.find(false, "z")
	if x < 0 || y < 0 || z < 0 {
		return d.s.problem("element vertex", "no x, y and z", "each vertex must have all three", "export the mesh again as PLY")
	}
	each, fixed := e.bytesEach()
	fixed = fixed && d.order != nil
	offset := make([]int, len(e.properties)) // of a property in a fixed record
	for i := 1; i < len(offset); i++ {
		offset[i] = offset[i-1] + e.properties[i-1].value.size
	}
	record := make([]byte, each)
	for i := range int(e.count) {
		at := place{"vertex", i}
		var v r3.Vec
		if fixed {
			if _, err := io.ReadFull(d.br, record); err != nil {
				return d.s.ended(err, at)
			}
			get := func(k int) float64 { return e.properties[k].value.decode(record[offset[k]:], d.order) }
			v = r3.Vec{X: get(x), Y: get(y), Z: get(z)}
		} else {
			for k := range e.properties {
				if k != x && k != y && k != z {
					if err := d.skip(&e.properties[k], at); err != nil {
						return err
					}
					continue
				}
				c, err := d.number(e.properties[k].value, at)
				if err != nil {
					return err
				}
				switch k {
				case x:
					v.X = c
				case y:
					v.Y = c
				case z:
					v.Z = c
				}
			}
		}
		if err := d.s.addVertex(v, at); err != nil {
			return err
		}
	}
	return nil
}

func (d *plyData) faces(e *plyElement) error {
	list := e.find(true, "vertex_indices", "vertex_index")
	if list < 0 {
		return d.s.problem("element face", "no list vertex_indices", "each face must have one", "export the mesh again as PLY")
	}
	if len(d.s.m.V) == 0 {
		return d.s.problem("element face", "no vertices before it", "the element vertex must come first", "export the mesh again as PLY")
	}
	var corners []int32
	for i := range int(e.count) {
		at := place{"face", i}
		for k := range e.properties {
			p := &e.properties[k]
			if k != list {
				if err := d.skip(p, at); err != nil {
					return err
				}
				continue
			}
			n, err := d.length(p.count, at)
			if err != nil {
				return err
			}
			if n > mostCorners {
				return d.s.problem(at.String(), fmt.Sprintf("%d corners", n), fmt.Sprintf("at most %d a face", mostCorners),
					"export the mesh again, as triangles")
			}
			corners = corners[:0]
			for range n {
				x, err := d.number(p.value, at)
				if err != nil {
					return err
				}
				v, err := d.s.index(plyIndex(x), 0, len(d.s.m.V), at)
				if err != nil {
					return err
				}
				corners = append(corners, v)
			}
			if err := d.s.addPolygon(corners); err != nil {
				return err
			}
		}
	}
	return nil
}

// plyIndex is a vertex number, or -1 for what can't be one.
func plyIndex(x float64) int64 {
	if !(x >= 0 && x < mostVertices) || x != math.Trunc(x) {
		return -1
	}
	return int64(x)
}

// pass skips an element.
func (d *plyData) pass(e *plyElement) error {
	if len(e.properties) == 0 {
		return nil
	}
	if each, fixed := e.bytesEach(); fixed && d.order != nil {
		if err := discard(d.br, int64(e.count)*int64(each)); err != nil {
			return d.s.ended(err, place{"element " + e.name + " of", int(e.count)})
		}
		return nil
	}
	for i := range int(e.count) {
		for k := range e.properties {
			if err := d.skip(&e.properties[k], place{e.name, i}); err != nil {
				return err
			}
		}
	}
	return nil
}

// writePLY writes doubles and 32-bit indices; order nil makes a text.
func writePLY(w io.Writer, m *Mesh, name string, order binary.AppendByteOrder) error {
	form := "ascii"
	switch order {
	case binary.LittleEndian:
		form = "binary_little_endian"
	case binary.BigEndian:
		form = "binary_big_endian"
	}
	bw := bufio.NewWriterSize(w, 1<<16) // keeps its first error for Flush
	fmt.Fprintf(bw, "ply\nformat %s 1.0\ncomment unit mm\ncomment %s\nelement vertex %d\n", form, oneLine(name), len(m.V))
	fmt.Fprintf(bw, "property double x\nproperty double y\nproperty double z\n")
	fmt.Fprintf(bw, "element face %d\nproperty list uchar int vertex_indices\nend_header\n", len(m.F))
	var b []byte
	for _, v := range m.V {
		b = b[:0]
		for k, x := range [3]float64{v.X, v.Y, v.Z} {
			if order == nil {
				b = append(strconv.AppendFloat(b, x, 'g', -1, 64), " \n"[k/2])
			} else {
				b = order.AppendUint64(b, math.Float64bits(x))
			}
		}
		bw.Write(b)
	}
	for _, f := range m.F {
		if order == nil {
			fmt.Fprintf(bw, "3 %d %d %d\n", f[0], f[1], f[2])
			continue
		}
		b = append(b[:0], 3)
		for _, v := range f {
			b = order.AppendUint32(b, uint32(v))
		}
		bw.Write(b)
	}
	return bw.Flush()
}
