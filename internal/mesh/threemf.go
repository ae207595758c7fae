package mesh

import (
	"archive/zip"
	"bufio"
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// Limits of archives and of the XML in them.
const (
	zipMostMembers = 10_000
	zipMostRatio   = 200     // unpacked over packed size of a member, beyond its first MiB
	zipFreeBytes   = 1 << 20 // whatever the ratio
	xmlMostToken   = 1 << 20 // bytes of one tag, text or comment
	xmlDeepest     = 32
	mostInstances  = 10_000 // of objects, in all build items

	modelRelation = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
	coreSpace     = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
)

// harmlessSpaces are extensions that a model may require and that change no shape: colours, and names of parts.
var harmlessSpaces = map[string]bool{
	coreSpace: true,
	"http://schemas.microsoft.com/3dmanufacturing/material/2015/02":     true,
	"http://schemas.microsoft.com/3dmanufacturing/production/2015/06":   true,
	"http://schemas.microsoft.com/3dmanufacturing/trianglesets/2021/07": true,
	"http://schemas.openxmlformats.org/markup-compatibility/2006":       true,
}

// read3MF takes in the build of a 3MF package (3MF Core Specification 1.x, the 3MF Consortium; from memory).
func (s *intake) read3MF(ctx context.Context, r io.ReaderAt, size int64, report func(done, total float64)) error {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return s.problem("archive", err.Error(), "a 3MF file is a zip archive", "the file is damaged: export or copy it again")
	}
	if len(z.File) > zipMostMembers {
		return s.problem("archive", fmt.Sprintf("%d members", len(z.File)), fmt.Sprintf("at most %d", zipMostMembers),
			"export the mesh again as 3MF")
	}
	name, err := s.modelPart(ctx, z)
	if err != nil {
		return err
	}
	member := findMember(z, name)
	if member == nil {
		return s.problem("archive", "no "+strconv.Quote(name), "a 3MF file has a 3-D model", "export the mesh again as 3MF")
	}
	part, err := s.open(ctx, member, report)
	if err != nil {
		return err
	}
	defer part.Close()
	doc := &model3MF{s: s, shapes: newIntake(s.name), objects: map[string]*object3MF{}}
	if err := s.readXML(part, name, doc.start, doc.end); err != nil {
		return err
	}
	return doc.assemble(ctx)
}

// modelPart is the name of the member with the model: what the package relations say, else the only one there is.
func (s *intake) modelPart(ctx context.Context, z *zip.Reader) (string, error) {
	found := ""
	if rels := findMember(z, "_rels/.rels"); rels != nil {
		part, err := s.open(ctx, rels, nil)
		if err != nil {
			return "", err
		}
		defer part.Close()
		err = s.readXML(part, rels.Name, func(e xml.StartElement, _ place) error {
			if e.Name.Local == "Relationship" && attr(e, "Type") == modelRelation && found == "" {
				found = strings.TrimPrefix(path.Clean("/"+attr(e, "Target")), "/")
			}
			return nil
		}, nil)
		if err != nil {
			return "", err
		}
	}
	if found != "" {
		return found, nil
	}
	for _, f := range z.File {
		if strings.EqualFold(path.Ext(f.Name), ".model") {
			if found != "" {
				return "", s.problem("archive", "several models and no word which", "_rels/.rels must name one", "export the mesh again as 3MF")
			}
			found = f.Name
		}
	}
	if found == "" {
		return "", s.problem("archive", "no model", "a 3MF file has a 3-D model", "choose another file, or export the mesh again as 3MF")
	}
	return found, nil
}

func findMember(z *zip.Reader, name string) *zip.File {
	for _, f := range z.File {
		if strings.EqualFold(strings.TrimPrefix(f.Name, "/"), name) { // names of parts do not heed case
			return f
		}
	}
	return nil
}

// A part is one member of an archive while it is unpacked.
type part struct {
	io.Reader
	io.Closer
}

func (s *intake) open(ctx context.Context, f *zip.File, report func(done, total float64)) (io.ReadCloser, error) {
	r, err := f.Open()
	if err != nil {
		return nil, s.problem("archive member "+strconv.Quote(f.Name), err.Error(), "must be stored or deflated, without a password",
			"export the mesh again as 3MF")
	}
	most := uint64(mostBytes)
	if f.CompressedSize64 < mostBytes/zipMostRatio {
		most = min(most, f.CompressedSize64*zipMostRatio+zipFreeBytes)
	}
	l := &unpackLimit{r: &meter{ctx: ctx, r: r, total: int64(min(f.UncompressedSize64, mostBytes)), report: report}, left: int64(most)}
	l.full = s.problem("archive member "+strconv.Quote(f.Name), fmt.Sprintf("more than %d bytes of %d packed", most, f.CompressedSize64),
		fmt.Sprintf("at most %d bytes, and %d times the packed size", mostBytes, zipMostRatio), "do not trust this file")
	return part{l, r}, nil
}

// An unpackLimit is a reader that fails with the problem full when more comes than is left.
type unpackLimit struct {
	r    io.Reader
	left int64
	full error
}

func (l *unpackLimit) Read(p []byte) (int, error) {
	if l.left <= 0 {
		return 0, l.full
	}
	n, err := l.r.Read(p[:min(int64(len(p)), l.left)])
	l.left -= int64(n)
	return n, err
}

// A tokenGuard is a reader that fails when a decoder has read more than xmlMostToken since it last made a token.
type tokenGuard struct {
	r     io.Reader
	since int
}

var errLongToken = errors.New("a tag, text or comment that does not end")

func (g *tokenGuard) Read(p []byte) (int, error) {
	if g.since > xmlMostToken {
		return 0, errLongToken
	}
	n, err := g.r.Read(p)
	g.since += n
	return n, err
}

// readXML calls start and end for the elements of an XML part of a package. Document types, and so entities of one's
// own, are refused; so are depth and tokens beyond the limits.
func (s *intake) readXML(r io.Reader, member string, start func(xml.StartElement, place) error, end func(xml.EndElement) error) error {
	guard := &tokenGuard{r: r}
	d := xml.NewDecoder(bufio.NewReaderSize(guard, 1<<14))
	depth := 0
	for {
		t, err := d.Token()
		guard.since = 0
		line, _ := d.InputPos()
		at := place{member + " line", line}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return s.badXML(err, at)
		}
		switch e := t.(type) {
		case xml.Directive:
			return s.problem(at.String(), "a document type", "3MF files have none", "do not trust this file")
		case xml.StartElement:
			if depth++; depth > xmlDeepest {
				return s.problem(at.String(), fmt.Sprintf("elements %d deep", depth), fmt.Sprintf("at most %d", xmlDeepest), "do not trust this file")
			}
			err = start(e, at)
		case xml.EndElement:
			depth--
			if end != nil {
				err = end(e)
			}
		}
		if err != nil {
			return err
		}
	}
}

func (s *intake) badXML(err error, at place) error {
	var syntax *xml.SyntaxError
	switch {
	case errors.As(err, &syntax):
		return s.problem(at.String(), syntax.Msg, "must be XML of a 3MF file", "export the mesh again as 3MF")
	case errors.Is(err, errLongToken):
		return s.problem(at.String(), err.Error(), fmt.Sprintf("at most %d bytes", xmlMostToken), "do not trust this file")
	case errors.Is(err, zip.ErrChecksum), errors.Is(err, zip.ErrFormat), errors.Is(err, io.ErrUnexpectedEOF):
		return s.problem(at.String(), err.Error(), "must unpack", "the file is damaged: export or copy it again")
	}
	if ours(err) {
		return err
	}
	return s.problem(at.String(), err.Error(), "must unpack to XML in UTF-8", "export or copy it again")
}

// attr is an attribute without a name space.
func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Space == "" && a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// threeMFUnits are the units of the core specification; none means millimetres.
var threeMFUnits = map[string]float64{
	"": 1, "micron": 1e-3, "millimeter": 1, "centimeter": 10, "inch": 25.4, "foot": 304.8, "meter": 1000,
}

// An affine is a 3MF transform: a row (x y z 1) times the 4 by 3 matrix of its twelve numbers.
type affine [12]float64

var noAffine = affine{1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0}

func (t *affine) apply(v r3.Vec) r3.Vec {
	return r3.Vec{
		X: v.X*t[0] + v.Y*t[3] + v.Z*t[6] + t[9],
		Y: v.X*t[1] + v.Y*t[4] + v.Z*t[7] + t[10],
		Z: v.X*t[2] + v.Y*t[5] + v.Z*t[8] + t[11],
	}
}

// then is t followed by u.
func (t *affine) then(u *affine) affine {
	var c affine
	for i := range 4 {
		for j := range 3 {
			c[3*i+j] = t[3*i]*u[j] + t[3*i+1]*u[3+j] + t[3*i+2]*u[6+j]
			if i == 3 {
				c[3*i+j] += u[9+j]
			}
		}
	}
	return c
}

func (t *affine) det() float64 {
	a, b, c := r3.Vec{X: t[0], Y: t[1], Z: t[2]}, r3.Vec{X: t[3], Y: t[4], Z: t[5]}, r3.Vec{X: t[6], Y: t[7], Z: t[8]}
	return r3.Dot(a, r3.Cross(b, c))
}
