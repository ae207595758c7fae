package mesh

import (
	"archive/zip"
	"bufio"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
)

const (
	contentTypes3MF = `<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">` +
		`<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>` +
		`<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>
`
	relations3MF = `<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">` +
		`<Relationship Target="/3D/3dmodel.model" Id="rel0" Type="` + modelRelation + `"/></Relationships>
`
)

// write3MF writes one object in millimetres. The same mesh and name give the same bytes.
func write3MF(w io.Writer, m *Mesh, name string) error {
	z := zip.NewWriter(w)
	for _, part := range [2][2]string{{"[Content_Types].xml", contentTypes3MF}, {"_rels/.rels", relations3MF}} {
		f, err := z.Create(part[0])
		if err != nil {
			return err
		}
		if _, err := io.WriteString(f, part[1]); err != nil {
			return err
		}
	}
	f, err := z.Create("3D/3dmodel.model")
	if err != nil {
		return err
	}
	bw := bufio.NewWriterSize(f, 1<<16) // keeps its first error for Flush
	fmt.Fprintf(bw, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model unit=\"millimeter\" xml:lang=\"en-US\" xmlns=%q>\n", coreSpace)
	bw.WriteString("<metadata name=\"Title\">")
	xml.EscapeText(bw, []byte(oneLine(name)))
	bw.WriteString("</metadata>\n<resources>\n<object id=\"1\" type=\"model\">\n<mesh>\n<vertices>\n")
	var b []byte
	for _, v := range m.V {
		b = append(b[:0], "<vertex"...)
		for k, x := range [3]float64{v.X, v.Y, v.Z} {
			b = append(b, ' ', "xyz"[k], '=', '"')
			b = append(strconv.AppendFloat(b, x, 'g', -1, 64), '"')
		}
		bw.Write(append(b, "/>\n"...))
	}
	bw.WriteString("</vertices>\n<triangles>\n")
	for _, f := range m.F {
		b = append(b[:0], "<triangle"...)
		for k, v := range f {
			b = append(b, ' ', 'v', "123"[k], '=', '"')
			b = append(strconv.AppendInt(b, int64(v), 10), '"')
		}
		bw.Write(append(b, "/>\n"...))
	}
	bw.WriteString("</triangles>\n</mesh>\n</object>\n</resources>\n<build>\n<item objectid=\"1\"/>\n</build>\n</model>\n")
	if err := bw.Flush(); err != nil {
		return err
	}
	return z.Close()
}
