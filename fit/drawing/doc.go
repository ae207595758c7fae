// Package drawing draws cuts through a room and the device in it: from behind (cut at X), from the side (cut at Y) and
// from above (cut at Z), to scale, on any gonum/plot canvas. It knows no window; the window, the printed sheet and the
// program without a screen use the same code, so that they tell the same.
//
// # Model
//
// A cut is the exact section of the triangle meshes with a plane (mesh.Mesh.Section). What a drawing says about a cut:
//
//   - overlap is the part of the device's section that lies outside the room's section. It is found along straight
//     lines: each line's stretches inside the device, less its stretches inside the room (non-zero winding). The hatch
//     is made of the very lines, so no polygons have to be clipped.
//   - depth of overlap and gap are distances in space, exact, from points of the device's outline in the cut, no further
//     apart than SampleMM, to the nearest place of the walls. The gap leaves the floor out, on which the device is meant
//     to lie. A dimension line shows that place as it is seen on the paper, so it looks shorter than its number where
//     the wall leans on the cut. The smallest of these numbers over all cuts is that of the finding.
//
// Above the topline there is no wall: where the room's section is closed by the lid (zone Open), it is taken to go on
// to the far side of the lid, and no overlap is counted there.
//
// # Paper
//
// U runs to the right and V up on the paper, both in mm of the room's frame (X forward, Y medial, Z up):
//
//	from behind   U = -Y (a right shoe's medial side is on the left), V = Z
//	from the side U = X, V = Z: a right shoe is seen from its lateral side
//	from above    U = X, V = Y
//
// Scales of U and V are equal always.
//
// # Colours
//
// The colours are those of the palette of Okabe and Ito, "Color Universal Design: How to make figures and presentations
// that are friendly to colorblind people" (2008), values from memory; each part also has a line style, a fill pattern
// and a label of its own, so that nothing rests on colour.
package drawing
