package mesh

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"lastroom/internal/problem"
)

// A Format is a form of mesh file.
type Format string

// The forms that are read and written. Read tells text and binary apart by itself; as a name for Write, STL and PLY
// are the binary forms, PLY in little-endian order.
const (
	STL     Format = "stl"
	STLText Format = "stl text"
	OBJ     Format = "obj"
	PLY     Format = "ply"
	PLYText Format = "ply text"
	PLYBig  Format = "ply big-endian"
	ThreeMF Format = "3mf"
)

// FormatOf is the form that the ending of a file name stands for, or "".
func FormatOf(name string) Format {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".stl":
		return STL
	case ".obj":
		return OBJ
	case ".ply":
		return PLY
	case ".3mf":
		return ThreeMF
	}
	return ""
}

// ReadOptions say how to read. The zero value reads what the file says of itself.
type ReadOptions struct {
	// UnitMM is how many millimetres the unit of the file has; it overrules the file. 0: as the file says.
	UnitMM float64
	// Progress, when not nil, is told how much of total has been done, often and from the goroutine of Read.
	Progress func(done, total float64)
}

// FileInfo is what was found in a file beside the mesh.
type FileInfo struct {
	Format Format
	// UnitMM is the unit the coordinates were multiplied with, so that the mesh is in millimetres; 0 when neither file
	// nor caller named one: then the mesh has the numbers of the file, and GuessUnit can help.
	UnitMM float64
	// FileUnitMM is the unit that the file names, 0 for none.
	FileUnitMM float64
	Bytes      int64
	Triangles  int // of the mesh
	Vertices   int
	Objects    int // named or placed one by one in the file, at least 1
	Polygons   int // faces of more than three corners, that were cut into triangles
	Dropped    int // faces that had fewer than three different corners
}

// Read reads a mesh file of any form, told by its content, and by the ending of name where that could be either.
// Corners in the same place are merged for STL only; the other forms share vertices themselves. Refused with a
// problem.Problem that bears name and the place: what is damaged or lies about itself, numbers that are not finite or
// beyond ±1000000, indices without a vertex, more than five million triangles, fifteen million vertices or 1 GiB,
// archives that unpack to much more than they are, and XML with a document type. When ctx ends, its error is returned.
// Tags and normals are not read. The mesh need not be closed, nor its normals point outward: see Repair.
func Read(ctx context.Context, r io.ReaderAt, size int64, name string, o ReadOptions) (*Mesh, FileInfo, error) {
	info := FileInfo{Bytes: size}
	s := newIntake(name)
	if size > mostBytes {
		return nil, info, s.problem("file", fmt.Sprintf("%d bytes", size), fmt.Sprintf("at most %d", mostBytes), "reduce the mesh")
	}
	if o.UnitMM != 0 && !(o.UnitMM >= 1e-3 && o.UnitMM <= 1e4) {
		return nil, info, s.problem("unit", fmt.Sprintf("%g mm", o.UnitMM), "0.001 to 10000 mm", "choose mm, cm, dm, m or in")
	}
	var err error
	if info.Format, err = detect(r, size, name); err != nil {
		return nil, info, unreadable(name, err)
	}
	flow := &meter{ctx: ctx, r: io.NewSectionReader(r, 0, size), total: size, report: o.Progress}
	switch info.Format {
	case STL:
		err = s.readSTL(flow)
	case OBJ:
		err = s.readOBJ(flow)
	case PLY:
		err = s.readPLY(flow)
	case ThreeMF:
		err = s.read3MF(ctx, r, size, o.Progress)
	default:
		err = s.problem("file", "none of the known forms", "STL, OBJ, PLY or 3MF", "export the mesh in one of these")
	}
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return nil, info, err
	}
	m, err := s.mesh()
	if err == nil && info.Format == STL {
		// Rounding to float32 may have pulled corners apart by a few parts in ten million.
		m, err = s.weldedSTL(min(stlWeldMM, 1e-7*m.LengthAcross()))
	}
	if err != nil {
		return nil, info, err
	}
	info.FileUnitMM, info.UnitMM = s.unitMM, s.unitMM
	if o.UnitMM != 0 {
		info.UnitMM = o.UnitMM
	}
	if info.UnitMM != 0 && info.UnitMM != 1 {
		m = m.Scaled(info.UnitMM)
	}
	info.Triangles, info.Vertices = len(m.F), len(m.V)
	info.Objects, info.Polygons, info.Dropped = s.objects, s.polygons, s.dropped
	return m, info, nil
}

// detect tells the form from the first bytes and the size.
func detect(r io.ReaderAt, size int64, name string) (Format, error) {
	head := make([]byte, min(size, 4096))
	if _, err := r.ReadAt(head, 0); err != nil && !errors.Is(err, io.EOF) {
		return "", err
	}
	hint := FormatOf(name)
	switch {
	case len(head) == 0:
		return "", problem.Problem{File: name, Field: "file", Value: "0 bytes", Limit: "must have a mesh", Mend: "export the mesh again"}
	case bytes.HasPrefix(head, []byte("PK\x03\x04")):
		return ThreeMF, nil
	case bytes.HasPrefix(head, []byte("ply\n")), bytes.HasPrefix(head, []byte("ply\r")):
		return PLY, nil
	case len(head) >= stlHeader+4 &&
		size == stlHeader+4+stlRecord*int64(binary.LittleEndian.Uint32(head[stlHeader:])), isText(head):
		return STL, nil
	case looksLikeOBJ(head):
		return OBJ, nil
	case hint != "":
		return hint, nil
	case len(head) >= stlHeader+4 && bytes.IndexByte(head, 0) >= 0:
		return STL, nil // what is binary and says nothing of itself
	}
	return "", nil
}

// looksLikeOBJ says whether a text begins with lines of that form, comments aside.
func looksLikeOBJ(head []byte) bool {
	if bytes.IndexByte(head, 0) >= 0 {
		return false
	}
	for line := range bytes.Lines(bytes.TrimPrefix(head, []byte("\uFEFF"))) {
		w := bytes.Fields(line)
		if len(w) == 0 || w[0][0] == '#' {
			continue
		}
		word := strings.ToLower(string(w[0]))
		return word == "v" || word == "f" || word == "o" || objPassed[word]
	}
	return false
}

// Write writes m in a form, with name in it where it has a place for one. Units are millimetres, said so in the file.
// STL rounds to float32, the others keep every digit. Tags are not written.
func Write(w io.Writer, m *Mesh, name string, f Format) error {
	if err := writable(m, name); err != nil {
		return err
	}
	switch f {
	case STL:
		return WriteSTL(w, m, name)
	case STLText:
		return writeSTLText(w, m, name)
	case OBJ:
		return writeOBJ(w, m, name)
	case PLY:
		return writePLY(w, m, name, binary.LittleEndian)
	case PLYBig:
		return writePLY(w, m, name, binary.BigEndian)
	case PLYText:
		return writePLY(w, m, name, nil)
	case ThreeMF:
		return write3MF(w, m, name)
	}
	return problem.Problem{
		File: name, Field: "form", Value: fmt.Sprintf("%q", string(f)), Limit: "stl, obj, ply or 3mf", Mend: "give the file one of these endings",
	}
}

// writable is the problem of a mesh that no reader would take.
func writable(m *Mesh, name string) error {
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
			File: name, Field: "triangles", Value: fmt.Sprint(len(m.F)), Limit: fmt.Sprintf("at most %d", mostTriangles), Mend: "reduce the mesh",
		}
	}
	return nil
}
