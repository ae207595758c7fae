package footwear

// A Zone is a part of the room's wall. It is the label (mesh.Mesh.Tag) of each face of a room.
type Zone uint8

// The zones. Floor zones are the insole board (or the top of the shoe's own insole); Feather is the rounded corner
// between floor and wall all round; Open is no wall at all: the virtual lid over the opening, above the topline.
const (
	Open Zone = iota
	Seat
	Shank
	Tread // floor from the tread line forward
	Feather
	CounterMedial
	CounterLateral
	CounterBack
	WaistMedial
	WaistLateral
	BallMedial
	BallLateral
	Toe
	Roof
	NumZones
)

var zoneNames = [NumZones]string{
	"topline opening", "seat", "shank", "tread", "feather line", "counter medial", "counter lateral",
	"counter back", "waist medial", "waist lateral", "ball medial", "ball lateral", "toe", "roof",
}

// String is the zone's name in plain words.
func (z Zone) String() string {
	if z >= NumZones {
		return "unknown zone"
	}
	return zoneNames[z]
}

// Floor says whether the zone is one that a device is meant to lie on.
func (z Zone) Floor() bool { return z == Seat || z == Shank || z == Tread }
