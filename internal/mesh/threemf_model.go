package mesh

import (
	"context"
	"encoding/xml"
	"fmt"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// An object3MF is a mesh, as ranges of what was taken in so far, or a list of components.
type object3MF struct {
	vertexFrom, vertexTo int
	faceFrom, faceTo     int
	components           []instance3MF
	support              bool // printed only to hold another
	triangles, vertices  int  // with all components
	instances            int
}

type instance3MF struct {
	object *object3MF
	place  affine
}

// A model3MF is what the model part says. Vertices and faces of all objects go to one list each as they come; the
// build is put together from there at the end.
type model3MF struct {
	s       *intake
	shapes  *intake
	objects map[string]*object3MF
	object  *object3MF // being read
	id      string
	build   []instance3MF
	seen    bool     // a model element
	path    []string // open elements of the core specification, "" for others
}

// start judges an element by itself and its parent; what the core specification does not put there is passed over.
func (d *model3MF) start(e xml.StartElement, at place) error {
	name := e.Name.Local
	if e.Name.Space != coreSpace && e.Name.Space != "" {
		name = ""
	}
	parent := ""
	if n := len(d.path); n > 0 {
		parent = d.path[n-1]
	}
	d.path = append(d.path, name)
	switch parent + "/" + name {
	case "/model":
		return d.model(e, at)
	case "resources/object":
		return d.beginObject(e, at)
	case "vertices/vertex":
		return d.vertex(e, at)
	case "triangles/triangle":
		return d.triangle(e, at)
	case "components/component":
		return d.component(e, at)
	case "build/item":
		in, err := d.instance(e, at)
		if err == nil && !in.object.support {
			d.build = append(d.build, in)
		}
		return err
	}
	return nil
}

func (d *model3MF) end(xml.EndElement) error {
	n := len(d.path) - 1
	name := d.path[n]
	d.path = d.path[:n]
	if name == "object" && d.object != nil {
		o := d.object
		o.vertexTo, o.faceTo = len(d.shapes.m.V), len(d.shapes.m.F)
		o.triangles += o.faceTo - o.faceFrom
		o.vertices += o.vertexTo - o.vertexFrom
		d.objects[d.id], d.object = o, nil
	}
	return nil
}

func (d *model3MF) model(e xml.StartElement, at place) error {
	if len(d.path) > 1 || d.seen {
		return d.s.problem(at.String(), "a second model", "one", "export the mesh again as 3MF")
	}
	d.seen = true
	mm, known := threeMFUnits[attr(e, "unit")]
	if !known {
		return d.s.problem(at.String(), "unit "+strconv.Quote(attr(e, "unit")),
			"micron, millimeter, centimeter, inch, foot or meter", "export the mesh again as 3MF")
	}
	d.s.unitMM = mm
	spaces := map[string]string{}
	for _, a := range e.Attr {
		if a.Name.Space == "xmlns" {
			spaces[a.Name.Local] = a.Value
		}
	}
	for _, prefix := range strings.Fields(attr(e, "requiredextensions")) {
		if !harmlessSpaces[spaces[prefix]] {
			return d.s.problem(at.String(), fmt.Sprintf("needs the extension %q", spaces[prefix]),
				"only the core specification, colours and part names are read", "export the mesh again as plain 3MF, STL or PLY")
		}
	}
	return nil
}

func (d *model3MF) beginObject(e xml.StartElement, at place) error {
	d.id = attr(e, "id")
	if d.id == "" || d.objects[d.id] != nil {
		return d.s.problem(at.String(), "object id "+strconv.Quote(d.id), "each object must have its own", "export the mesh again as 3MF")
	}
	if len(d.objects) == mostInstances {
		return d.s.problem(at.String(), "one more object", fmt.Sprintf("at most %d", mostInstances), "split the file")
	}
	kind := attr(e, "type")
	d.object = &object3MF{
		vertexFrom: len(d.shapes.m.V), faceFrom: len(d.shapes.m.F), instances: 1,
		support: kind == "support" || kind == "solidsupport",
	}
	return nil
}

func (d *model3MF) vertex(e xml.StartElement, at place) error {
	if d.object == nil {
		return nil
	}
	var c [3]float64
	for k, name := range [3]string{"x", "y", "z"} {
		x, ok := number(attr(e, name))
		if !ok {
			return d.s.problem(at.String(), name+"="+strconv.Quote(clip(attr(e, name))), "must be a number", "export the mesh again as 3MF")
		}
		c[k] = x
	}
	return d.shapes.addVertex(r3.Vec{X: c[0], Y: c[1], Z: c[2]}, at)
}

func (d *model3MF) triangle(e xml.StartElement, at place) error {
	if d.object == nil {
		return nil
	}
	var f [3]int32
	n := len(d.shapes.m.V) - d.object.vertexFrom
	for k, name := range [3]string{"v1", "v2", "v3"} {
		i, err := strconv.ParseInt(attr(e, name), 10, 64)
		if err != nil {
			return d.s.problem(at.String(), name+"="+strconv.Quote(clip(attr(e, name))), "must be a vertex number", "export the mesh again as 3MF")
		}
		v, err := d.s.index(i, 0, n, at)
		if err != nil {
			return err
		}
		f[k] = v + int32(d.object.vertexFrom)
	}
	return d.shapes.addFace(f)
}

func (d *model3MF) component(e xml.StartElement, at place) error {
	if d.object == nil {
		return nil
	}
	in, err := d.instance(e, at)
	if err != nil {
		return err
	}
	o := d.object
	o.components = append(o.components, in)
	if in.object.support {
		return nil
	}
	// Each is bounded before the sum is, so nothing overflows.
	o.triangles += in.object.triangles
	o.vertices += in.object.vertices
	o.instances += in.object.instances
	return d.bounded(o.triangles, o.vertices, o.instances, at)
}

func (d *model3MF) bounded(triangles, vertices, instances int, at place) error {
	if triangles > mostTriangles || vertices > mostVertices || instances > mostInstances {
		return d.s.problem(at.String(), fmt.Sprintf("%d triangles in %d objects", triangles, instances),
			fmt.Sprintf("at most %d triangles and %d objects with all that they are made of", mostTriangles, mostInstances),
			"reduce the mesh, or split the file")
	}
	return nil
}

// instance reads the object and the transform of a component or a build item.
func (d *model3MF) instance(e xml.StartElement, at place) (instance3MF, error) {
	in := instance3MF{object: d.objects[attr(e, "objectid")], place: noAffine}
	for _, a := range e.Attr {
		if a.Name.Local == "path" {
			return in, d.s.problem(at.String(), "an object in another part of the package", "all objects in one part are read",
				"export the mesh again as plain 3MF, STL or PLY")
		}
	}
	if in.object == nil {
		return in, d.s.problem(at.String(), "object "+strconv.Quote(clip(attr(e, "objectid"))),
			"must be defined before it is used, and not use itself", "export the mesh again as 3MF")
	}
	text := attr(e, "transform")
	if text == "" {
		return in, nil
	}
	w := strings.Fields(text)
	ok := len(w) == 12
	for k := range w {
		if !ok {
			break
		}
		in.place[k], ok = number(w[k])
		ok = ok && math.Abs(in.place[k]) <= farthest
	}
	if !ok || in.place.det() == 0 {
		return in, d.s.problem(at.String(), "transform "+strconv.Quote(clip(text)),
			"twelve finite numbers that do not flatten the object", "export the mesh again as 3MF")
	}
	return in, nil
}

// assemble puts the build together.
func (d *model3MF) assemble(ctx context.Context) error {
	at := place{"build of", len(d.build)}
	if len(d.build) == 0 {
		return d.s.problem("build", "no item", "the build must name at least one object", "export the mesh again as 3MF")
	}
	var triangles, vertices, instances int
	for _, in := range d.build {
		triangles += in.object.triangles
		vertices += in.object.vertices
		instances += in.object.instances
		if err := d.bounded(triangles, vertices, instances, at); err != nil {
			return err
		}
	}
	d.s.objects, d.s.dropped = 0, d.shapes.dropped
	for _, in := range d.build {
		if err := d.add(ctx, in, 0); err != nil {
			return err
		}
	}
	return nil
}

func (d *model3MF) add(ctx context.Context, in instance3MF, depth int) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if depth > xmlDeepest {
		return d.s.problem("components", fmt.Sprintf("%d deep", depth), fmt.Sprintf("at most %d", xmlDeepest), "export the mesh again as 3MF")
	}
	o := in.object
	base := int32(len(d.s.m.V) - o.vertexFrom)
	for _, v := range d.shapes.m.V[o.vertexFrom:o.vertexTo] {
		if err := d.s.addVertex(in.place.apply(v), place{"build, object", d.s.objects + 1}); err != nil {
			return err
		}
	}
	turned := in.place.det() < 0 // a mirror image: the corners must run the other way round
	for _, f := range d.shapes.m.F[o.faceFrom:o.faceTo] {
		g := [3]int32{f[0] + base, f[1] + base, f[2] + base}
		if turned {
			g[1], g[2] = g[2], g[1]
		}
		if err := d.s.addFace(g); err != nil {
			return err
		}
	}
	if o.faceTo > o.faceFrom {
		d.s.objects++
	}
	for _, c := range o.components {
		if c.object.support {
			continue
		}
		c.place = c.place.then(&in.place)
		if err := d.add(ctx, c, depth+1); err != nil {
			return err
		}
	}
	return nil
}

func clip(s string) string {
	if len(s) > 40 {
		return strings.ToValidUTF8(s[:40], "") + "…"
	}
	return s
}
