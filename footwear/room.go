package footwear

import "lastroom/internal/mesh"

// A Room is the inner cavity of one shoe in one size, right side, in the frame of the package (mm; X forward,
// Y medial, Z up; origin on the insole board under the rearmost inside point of the counter).
//
// Walls carries a Zone a face, its normals point out of the room, and it is open at the topline. Closed is the same
// surface with the virtual lid (zone Open) over the opening: closed and oriented, for volume, drawing and export.
type Room struct {
	Sheet    Sheet
	InsoleIn bool // the shoe's own insole lies in the shoe: the floor is its top
	Walls    *mesh.Mesh
	Closed   *mesh.Mesh

	bottom bottomProfile
}
