// Package mesh has triangle meshes and what is asked of them: measures, rigid motions, files (STL), plane sections,
// samples of the surface, the exact signed distance of a point, and the same distance sampled on a grid. It knows no
// shoe and no device; labels of faces pass through it without a meaning.
//
// # Units and signs
//
// Coordinates and distances are millimetres, areas mm², volumes mm³. Angles are radians only where a name says so.
// Face normals point out of a solid, and out of a room into its wall. A signed distance is positive on the other
// side of the surface: inside the solid, inside the room; negative past the wall.
//
// # Signed distance (Tree)
//
// The nearest point of a triangle is one of seven cases: its inside, three edges, three corners (Ericson, Real-Time
// Collision Detection, 2005, 5.1.5). A binary tree of boxes, built by the surface-area heuristic in bins (Wald, On
// fast construction of SAH-based bounding volume hierarchies, IEEE Symp. Interactive Ray Tracing, 2007), leaves out
// all boxes that are farther than the best triangle so far. The answer is exact to the rounding of float64, about
// 1e-13 mm at the size of a shoe.
//
// The sign is that of (p-q)·n, q the nearest point and n the pseudonormal there: the normal of the face, the sum of the
// normals of the two faces at an edge, the sum of the face normals at a vertex weighted by the angles of the corners.
// For a closed mesh without self-crossing this sign is proved right (Bærentzen & Aanæs, Signed distance computation
// using the angle weighted pseudonormal, IEEE TVCG 11:243, 2005). Where a mesh is not so locally (an edge of more than
// two faces, faces wound against each other, needles thinner than 5e-5 mm) the winding number about p decides instead. A
// mesh that crosses itself, as a raw scan may, can still get a wrong sign near the crossing: compare with Winding.
//
// An open mesh has a sign near its surface only. Hit.Beyond says that a point lies past an open edge, where a room ends.
//
// # Sampled distance (Field)
//
// A grid of nodes with the exact distance, in bricks of 8³ cells that are stored only near the surface; between
// nodes the value is trilinear. The distance changes by no more than the way walked, and for weights w and node
// offsets o of a trilinear cell Σw|o| ≤ √(Σw|o|²) ≤ h√3/2. So with a spacing of h mm
//
//	|sampled - exact| ≤ 0.87 h    anywhere,
//	|sampled - exact| ≤ h²/(4ρ)   where the distance is smooth and ρ the least radius of the surface parallel to the wall
//	                              through the cell (Σ|∂²d/∂x²| ≤ 2/ρ, and h²/8 of each),
//
// the first being nearly reached only at sharp edges and corners and where two walls are equally near. Halving h halves the
// worst error and quarters the usual one. ErrorMM is the largest error found at check points. Nothing that a person
// reads should come from a Field: it is for finding a pose or a place, the Tree for the numbers.
//
// # Sections, samples
//
// Section cuts with a plane that is thought lower by an infinitesimal amount where it meets a vertex (simulation of
// simplicity; Edelsbrunner & Mücke, ACM Trans. Graph. 9:66, 1990), so that no case but "above" and "below" exists.
// Samples lumps the area of each face in equal parts at its corners, the vertex rule of the triangle, exact for functions
// linear over the face.
package mesh
