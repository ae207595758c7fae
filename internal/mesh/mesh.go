package mesh

import "gonum.org/v1/gonum/spatial/r3"

// A Mesh is an indexed triangle mesh. Coordinates are millimetres. The corners of a face run counterclockwise when
// seen from the side its normal points to; for a solid that is outside, for a room it is out of the room, into the
// wall. Tag, when not nil, has one label a face; what labels mean is the business of whoever made the mesh.
//
// The zero value is an empty mesh.
type Mesh struct {
	V   []r3.Vec
	F   [][3]int32
	Tag []uint8
}
