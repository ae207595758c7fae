package mesh

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// A plyType is the type of a number: its size in bytes, and whether it is signed or a fraction.
type plyType struct {
	size             int
	signed, fraction bool
}

// Both sets of names that are in use (Turk, The PLY Polygon File Format, 1994, and the sized names of later programs;
// from memory).
var plyTypes = map[string]plyType{
	"char": {1, true, false}, "uchar": {1, false, false}, "short": {2, true, false}, "ushort": {2, false, false},
	"int": {4, true, false}, "uint": {4, false, false}, "float": {4, true, true}, "double": {8, true, true},
	"int8": {1, true, false}, "uint8": {1, false, false}, "int16": {2, true, false}, "uint16": {2, false, false},
	"int32": {4, true, false}, "uint32": {4, false, false}, "float32": {4, true, true}, "float64": {8, true, true},
}

type plyProperty struct {
	name  string
	list  bool
	count plyType // of a list
	value plyType
}

type plyElement struct {
	name       string
	count      uint64
	properties []plyProperty
}

type plyHeader struct {
	text     bool
	order    binary.ByteOrder
	elements []plyElement
	comments []string
}

const (
	plyLongestLine    = 4096
	plyMostLines      = 1000
	plyMostProperties = 256
	plyDue            = "ply, format, comment, obj_info, element, property or end_header"
)

// readPLYHeader reads up to and with the line end_header; lines is how many there were.
func (s *intake) readPLYHeader(br *bufio.Reader) (h plyHeader, lines int, err error) {
	for lines = 1; ; lines++ {
		line, err := plyLine(br)
		at := place{"line", lines}
		if err != nil {
			if errors.Is(err, bufio.ErrBufferFull) || lines > plyMostLines {
				return h, lines, s.problem(at.String(), "a longer line", fmt.Sprintf("at most %d bytes", plyLongestLine), "export the mesh again as PLY")
			}
			return h, lines, s.ended(err, at)
		}
		w := strings.Fields(line)
		bad := func(limit string) error {
			if len(line) > 60 {
				line = line[:60]
			}
			return s.problem(at.String(), strconv.Quote(line), limit, "export the mesh again as PLY")
		}
		switch {
		case lines == 1:
			if line != "ply" {
				return h, lines, bad("ply was due here")
			}
		case lines > plyMostLines:
			return h, lines, bad(fmt.Sprintf("at most %d lines of header", plyMostLines))
		case len(w) == 0:
		case w[0] == "comment" || w[0] == "obj_info":
			h.comments = append(h.comments, line)
		case w[0] == "format":
			if err := h.format(w); err != nil {
				return h, lines, bad(err.Error())
			}
		case w[0] == "element":
			if err := h.element(w); err != nil {
				return h, lines, bad(err.Error())
			}
		case w[0] == "property":
			if err := h.property(w); err != nil {
				return h, lines, bad(err.Error())
			}
		case w[0] == "end_header":
			if !h.text && h.order == nil {
				return h, lines, bad("a format line was due before it")
			}
			return h, lines, nil
		default:
			return h, lines, bad(plyDue + " was due here")
		}
	}
}

// plyLine is one line without its end, which may be of any system.
func plyLine(br *bufio.Reader) (string, error) {
	var b []byte
	for {
		c, err := br.ReadByte()
		if err != nil {
			return "", err
		}
		switch c {
		case '\r':
			if next, err := br.Peek(1); err == nil && next[0] == '\n' {
				continue
			}
			return strings.TrimSpace(string(b)), nil
		case '\n':
			return strings.TrimSpace(string(b)), nil
		}
		if b = append(b, c); len(b) > plyLongestLine {
			return "", bufio.ErrBufferFull
		}
	}
}

func (h *plyHeader) format(w []string) error {
	if len(w) == 3 && w[2] == "1.0" && !h.text && h.order == nil {
		switch w[1] {
		case "ascii":
			h.text = true
			return nil
		case "binary_little_endian":
			h.order = binary.LittleEndian
			return nil
		case "binary_big_endian":
			h.order = binary.BigEndian
			return nil
		}
	}
	return errors.New("one format: ascii, binary_little_endian or binary_big_endian, then 1.0")
}

func (h *plyHeader) element(w []string) error {
	if len(w) != 3 {
		return errors.New("element, a name and a count were due here")
	}
	n, err := strconv.ParseUint(w[2], 10, 64)
	if err != nil {
		return errors.New("the count must be a whole number")
	}
	for _, e := range h.elements {
		if e.name == w[1] {
			return errors.New("an element of this name is there already")
		}
	}
	switch {
	case w[1] == "vertex" && n > mostVertices:
		return fmt.Errorf("at most %d vertices", mostVertices)
	case w[1] == "face" && n > mostTriangles:
		return fmt.Errorf("at most %d faces", mostTriangles)
	case n > mostBytes:
		return fmt.Errorf("at most %d of any element", mostBytes)
	}
	h.elements = append(h.elements, plyElement{name: w[1], count: n})
	return nil
}

func (h *plyHeader) property(w []string) error {
	if len(h.elements) == 0 {
		return errors.New("an element was due before its properties")
	}
	e := &h.elements[len(h.elements)-1]
	var p plyProperty
	var known, countKnown bool
	switch {
	case len(w) == 3:
		p.name = w[2]
		p.value, known = plyTypes[w[1]]
		countKnown = true
	case len(w) == 5 && w[1] == "list":
		p.name, p.list = w[4], true
		p.count, countKnown = plyTypes[w[2]]
		p.value, known = plyTypes[w[3]]
	default:
		return errors.New("property, a type and a name, or property list, two types and a name, were due here")
	}
	if !known || !countKnown || p.list && p.count.fraction {
		return errors.New("the types are char, uchar, short, ushort, int, uint, float and double; a list is counted by a whole number")
	}
	if len(e.properties) == plyMostProperties {
		return fmt.Errorf("at most %d properties an element", plyMostProperties)
	}
	e.properties = append(e.properties, p)
	return nil
}

// bytesEach is how many bytes one element takes when it has no list, and whether that is so.
func (e *plyElement) bytesEach() (int, bool) {
	n := 0
	for _, p := range e.properties {
		if p.list {
			return 0, false
		}
		n += p.value.size
	}
	return n, true
}

// find is the place of the first property of one of the names, or -1.
func (e *plyElement) find(list bool, names ...string) int {
	for i, p := range e.properties {
		for _, n := range names {
			if p.list == list && p.name == n {
				return i
			}
		}
	}
	return -1
}

// discard passes over n bytes, as far as there are any.
func discard(br *bufio.Reader, n int64) error {
	got, err := io.CopyN(io.Discard, br, n)
	if err == nil && got < n {
		err = io.ErrUnexpectedEOF
	}
	return err
}
