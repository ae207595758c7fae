package drawing

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// A Scene is what is drawn: a room, a device in one pose (roomFromDevice), the findings of that pose, and where the
// three cuts are. Device may be nil: the empty room is drawn.
type Scene struct {
	Room     *footwear.Room
	Device   *device.Device
	Pose     mesh.Pose
	PoseName fit.PoseName
	Findings []fit.Finding
	Numbers  []int // what the findings are called on the drawings; nil: 1, 2, …
	Selected int   // index into Findings, -1 for none
	Cuts     Cuts

	walls *wallTree
}

// A wallTree is the exact nearest-point tree of a room's walls, made when it is first needed.
type wallTree struct {
	once sync.Once
	tree *mesh.Tree
}

func (t *wallTree) of(room *footwear.Room) *mesh.Tree {
	t.once.Do(func() {
		if t.tree == nil {
			t.tree = mesh.NewTree(room.Walls)
		}
	})
	return t.tree
}

// Using is the scene with the tree of its room's walls, which saves making it.
func (s *Scene) Using(t *mesh.Tree) *Scene {
	c := *s
	c.walls = &wallTree{tree: t}
	return &c
}

// NewScene is the device in the named pose of its result, cut through the worst finding of that pose. Without a result
// the device stands where it was made to stand.
func NewScene(room *footwear.Room, dev *device.Device, res *fit.Result, pose fit.PoseName) *Scene {
	s := &Scene{Room: room, Device: dev, PoseName: pose, Selected: -1, walls: &wallTree{}}
	if res == nil {
		s.Cuts = s.restingCuts()
		return s
	}
	s.Pose = res.Settled
	if pose == fit.Intended {
		s.Pose = res.Intended
	}
	for _, f := range res.Findings {
		if f.Pose == pose {
			s.Findings = append(s.Findings, f)
		}
	}
	s.Cuts = s.restingCuts()
	if len(s.Findings) > 0 {
		s.Selected = 0
		s.Cuts = CutsThrough(s.Findings[0].At)
	}
	return s
}

// With is the scene with other cuts.
func (s *Scene) With(c Cuts) *Scene {
	t := *s
	t.Cuts = c
	return &t
}

// restingCuts stand where the heel is widest, on the centre line, low over the seat.
func (s *Scene) restingCuts() Cuts {
	const lowMM = 6 // about the top of the feather line
	x := s.Room.HeelStationMM()
	return Cuts{XMM: x, ZMM: s.Room.FloorZ(x) + lowMM}
}

// bearing says whether findings of the scene hold the pair to be one that carries the device.
func (s *Scene) bearing(f device.Feature, z footwear.Zone) bool {
	for _, g := range s.Findings {
		if g.Feature == f && g.Zone == z && g.Bearing {
			return true
		}
	}
	return false
}

// A section is one cut of a scene, on the paper.
type section struct {
	view  View
	cuts  Cuts
	room  []loop // as cut, with its lid
	air   []loop // the same with the lid out of the way
	rigid []loop
	wedge [][]Pt // the parts of rigid that are wedge and cap
	cover []loop
	foot  [][]Pt // the lines that carry the foot
	Measured
}

// cut makes the section of a view.
func (s *Scene) cut(v View) *section {
	const reachMM = 400 // further than any device
	pl := v.plane(s.Cuts)
	c := &section{view: v, cuts: s.Cuts}
	if s.Room != nil && s.Room.Closed != nil {
		c.room = loopsOf(v, s.Room.Closed.Section(pl))
		c.air = beyondTheLid(c.room, v != Above, reachMM)
	}
	if s.Device == nil {
		return c
	}
	c.rigid = loopsOf(v, sectionAt(s.Device.Rigid, s.Pose, pl))
	c.cover = loopsOf(v, sectionAt(s.Device.CoverSolid, s.Pose, pl))
	for i := range c.rigid {
		c.wedge = append(c.wedge, wedgeParts(&c.rigid[i])...)
	}
	c.foot = footLines(v, c.rigid, c.cover)
	if s.walls == nil {
		s.walls = &wallTree{}
	}
	c.Measured = c.measure(s.walls.of(s.Room), s.bearing)
	return c
}

// sectionAt cuts a mesh that lies at a pose: the plane is brought to the mesh, and the outlines back.
func sectionAt(m *mesh.Mesh, roomFromDevice mesh.Pose, pl mesh.Plane) []mesh.Polyline {
	if m == nil {
		return nil
	}
	deviceFromRoom := roomFromDevice.Inverse()
	lines := m.Section(mesh.Plane{Point: deviceFromRoom.Apply(pl.Point), Normal: deviceFromRoom.Rotate(pl.Normal)})
	for i := range lines {
		for k, p := range lines[i].P {
			lines[i].P[k] = roomFromDevice.Apply(p)
		}
	}
	return lines
}

// An Extent is the part of the paper that a drawing shows, mm.
type Extent struct{ Lo, Hi Pt }

// ExtentOf is what a view shows of a room: from behind the heel, from the side and above the whole shoe. It does not
// change with the device, so that a drawing stands still while an option is dragged.
func ExtentOf(v View, room *footwear.Room) Extent {
	const marginMM = 7
	lo, hi := Pt{math.Inf(1), math.Inf(1)}, Pt{math.Inf(-1), math.Inf(-1)}
	heelEnd := math.Inf(1)
	if v == Behind {
		heelEnd = 2 * room.HeelStationMM()
	}
	const topMM = 75 // above the origin: what is higher than any cup is of no interest
	for _, p := range room.Walls.V {
		if p.X > heelEnd || v != Above && p.Z > topMM {
			continue
		}
		q := v.Project(p)
		lo = Pt{math.Min(lo.U, q.U), math.Min(lo.V, q.V)}
		hi = Pt{math.Max(hi.U, q.U), math.Max(hi.V, q.V)}
	}
	m := Pt{marginMM, marginMM}
	return Extent{lo.sub(m), hi.add(m)}
}

// CutRange is how far a view's cut may be moved: as far as the room goes.
func CutRange(v View, room *footwear.Room) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, p := range room.Walls.V {
		at := CutsThrough(p).At(v)
		lo, hi = math.Min(lo, at), math.Max(hi, at)
	}
	return lo, hi
}

// number is what a finding is called.
func (s *Scene) number(i int) int {
	if i < len(s.Numbers) {
		return s.Numbers[i]
	}
	return i + 1
}

// Closer is the extent seen so many times nearer, about a point of the paper that stays where it is.
func (e Extent) Closer(times float64, about Pt) Extent {
	k := 1 / times
	return Extent{about.add(e.Lo.sub(about).scale(k)), about.add(e.Hi.sub(about).scale(k))}
}

// Name says what is at a point of the view's cut: the device's part there, or the room's zone whose wall is nearest.
// It is empty further than withinMM from anything.
func (s *Scene) Name(v View, p Pt, withinMM float64) string { return s.cut(v).name(p, withinMM) }

func (c *section) name(p Pt, withinMM float64) string {
	best, name := withinMM, ""
	find := func(loops []loop, nameOf func(uint8) string) {
		for i := range loops {
			loops[i].segments(func(a, b Pt, tag uint8) {
				d := nearestOn(a, b, p).sub(p)
				if dist := math.Hypot(d.U, d.V); dist < best {
					best, name = dist, nameOf(tag)
				}
			})
		}
	}
	find(c.rigid, func(t uint8) string { return device.Feature(t).String() })
	find(c.cover, func(t uint8) string { return device.Feature(t).String() })
	find(c.room, func(t uint8) string { return footwear.Zone(t).String() })
	return name
}

// near says whether a finding's place is close enough to the view's cut to be marked on it.
func (c Cuts) near(v View, at r3.Vec) bool {
	const withinMM = 1.5
	return math.Abs(CutsThrough(at).At(v)-c.At(v)) <= withinMM
}
