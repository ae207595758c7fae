// Package mesh has triangle meshes and what is asked of them: measures, rigid motions, files (STL, OBJ,
// PLY, 3MF), the repair of scans, plane sections,
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
// Where the processor looks at eight numbers at once (AVX2, and a program built with GOEXPERIMENT=simd), the search goes through a tree
// of the same triangles with up to eight children a node and eight triangles a leaf, in float32 about the middle of the mesh. It leaves
// out what is farther for sure: a box is enlarged by 2⁻²¹ of the size of the mesh, more than its corners and the point are rounded by; a
// squared distance to a triangle counts as less by 2⁻¹⁴ of that to its nearest corner or so (see wideLeaf), and by what the rounding of
// places can add. What stays in the end is told apart by the distance in float64 above, so that the answer is bit for bit the same. The
// search goes on in the nearest box; the order in which the others are looked at hardly matters once there is a bound, and sorting them costs
// more than it saves.
//
// The sign is that of (p-q)·n, q the nearest point and n the pseudonormal there: the normal of the face, the sum of the
// normals of the two faces at an edge, the sum of the face normals at a vertex weighted by the angles of the corners.
// For a closed mesh without self-crossing this sign is proved right (Bærentzen & Aanæs, Signed distance computation
// using the angle weighted pseudonormal, IEEE TVCG 11:243, 2005). Where a mesh is not so locally (an edge of more than
// two faces, faces wound against each other, needles thinner than 5e-5 mm) the winding number about p decides instead. A
// mesh that crosses itself, as a raw scan does, can still get a wrong sign, and far from the crossing: for those there
// is NewScanTree.
//
// An open mesh has a sign near its surface only. Hit.Beyond says that a point lies past an open edge, where a room ends.
//
// # The sign on scans (NewScanTree)
//
// The winding number w about a point, the sum of the solid angles of all faces over 4π, is whole off a closed surface
// however that crosses itself; inside is w ≥ ½ (Jacobson, Kavan & Sorkine-Hornung 2013, ACM Trans. Graph. 32:33). It is
// summed by clusters of faces with a bound of the error, and nearer ones are opened until the bound leaves no doubt
// (Barill et al. 2018, ACM Trans. Graph. 37:43): the sign is that of the plain sum.
//
// It costs ten to thirty times the search for the nearest point, so NewScanTree asks for it only where it must. It
// looks for all faces that touch others which are not their neighbours, by separating axes. Let f be a face that does
// not, and q, inside f, the nearest point to p. Nothing lies between p and q, so w at p is w just off f on that side; and w
// there is the same all over f, and over the next such face across a common edge, for nothing else comes near. So over
// each connected piece of such faces one sample tells w on either side for good. Where that is 0 in front and 1 behind,
// the side that the pseudonormal tells is the sign: the proof of Bærentzen & Aanæs needs no more than the faces about q.
// Everywhere else (faces that touch, folds shut, pieces turned in by a crossing or lying within the body, vertices that
// are pinched, borders) the winding number decides. Faces nearer than 1e-9 of the size of the mesh count as touching.
//
// Of an open mesh w is not whole. Half way between the two sides of its largest piece it is ½ less what its openings let
// through; the median of that is the level against which points are held, so that at a border the opening is closed as if by
// a lid, and a sheet has two sides. A Field asks once for a block of up to 8³ nodes that the surface does not enter, so
// its lid may lie up to half a block off. For a mesh inside out the level is -½, and inside is all about it.
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
// The nodes are filled block by block with lists of the triangles that can be nearest there (see filler). Where the processor looks at eight
// numbers at once, eight nodes, or the middles of eight blocks, are held against a triangle in float32; what is as near as the nearest but for
// rounding is measured in float64, and needles always are, so that both builds make the same field bit for bit.
//
// # Files (Read, Write)
//
// A file is told by its content. Units are those of the file where it names one (3MF always; the others in a comment
// such as "unit mm", common practice without a source), or the caller's, and the mesh comes in millimetres then;
// otherwise GuessUnit lists the units that make something as long as a shoe, and more than one is a question to ask.
// Files are taken to be hostile: see Read and the limits beside intake.
//
// # Repair
//
// Repair does what distances and sections need and no more; it moves no vertex but by welding, and tells each step.
// Welding: vertices nearer than a hundredth of the median edge, at most 0.05 mm, are one. Winding: across the edges of a
// shell, the majority by area first, then the shell outward by the sign of its volume, flat lids on its openings.
// Holes up to 100 mm round (0.35 of the length across a small mesh) are filled by the triangulation of least area that
// uses no edge twice (Barequet & Sharir 1995); faces that fill come last, for no scanner has seen them. What is longer
// round is an opening, as the top of a shoe, and is reported with its length and place.
//
// MeasureRoughness gives the noise across the surface, from the residuals of quadrics fitted about single vertices.
//
// # Sections, samples
//
// Section cuts with a plane that is thought lower by an infinitesimal amount where it meets a vertex (simulation of
// simplicity; Edelsbrunner & Mücke, ACM Trans. Graph. 9:66, 1990), so that no case but "above" and "below" exists.
// Samples lumps the area of each face in equal parts at its corners, the vertex rule of the triangle, exact for functions
// linear over the face.
package mesh
