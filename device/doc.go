// Package device makes a foot orthosis from its prescription: options in, a closed solid out, each face of it labelled
// with the feature it belongs to.
//
// # Frame
//
// Millimetres and degrees. A right device, right-handed: X forward along the heel bisection from the rearmost point of
// the device, Y medial, Z up. Z = 0 is the plane of the shoe's seat, which the base was made to stand on. A left device
// is the mirror image and is not made here.
//
// # Shell
//
// The foot side is a family of half profiles from the deepest line outward and up to the rim. In the heel they turn
// about the upright axis at X = c (a cup that closes behind); forward of it they stand in planes X = const. A half
// profile is a quarter of a superellipse with half width B and height D of the widest place, cut at the rim's height h:
//
//	(ρ/B)^p + ((D−z)/D)^p = 1,   0 ≤ z ≤ h
//
// In the cup B is half the heel's width and h the cup's depth, so that a shallower cup is also narrower and shorter.
// Forward, width, h, D and p go over to those of the arch and of the front edge by cubics that are level at both ends,
// so the surface has one tangent plane everywhere. Along the bisection the shell is level under the heel, lifts under
// the arch and comes down to the board at the front edge. Where that board lies follows from the heel rise R that the
// device is made for and the usual seat angle α of such a shoe: at the distance x in front of the back, along the seat,
// the level board at the ball lies R/cos α − x·tan α below the plane of the seat.
//
// The underside is the foot side offset along its normals by the thickness t; a formed sheet is thinner in the cup, the
// front edge is skived to 1 mm.
//
// # Heel wedge
//
// The sides of a block leave the underside along an outline whose plan is a half superellipse with two straight legs
// (a by b behind the axis). From a point at the height h over the base they go down and inward along the outline's
// normal by h·tan β, β the bevel from the perpendicular of the base; it goes over from the side's to the back's round
// the corner. The base has two facets that meet on the bisection; with contact angle γ and motion μ they lie at
//
//	z = |y|·tan γ          laterally
//	z = |y|·tan(μ − γ)     medially
//
// so the device stands inverted by γ on the lateral facet and everted by μ − γ on the medial one. A fore bar is the
// part of the block between two planes across the shell. A flat build cuts the underside with the plane Z = 0 and leaves
// 1 mm under the heel; an open build cuts deeper, through the foot side.
//
// # A device from a scan
//
// FromScan takes the surface of a device in any pose. It is mended (mesh.Repair) and its noise evened out: face normals
// first, each by those of its neighbours that do not lie across an edge, then vertices towards their faces' planes (Sun,
// Rosin, Martin & Langbein 2007, IEEE TVCG 13:925; weights as in Zhang, Deng, Bouaziz & Liu 2015, CGF 34:23). The solid
// that is seated has the evened shape; edges are laid down by up to about half a millimetre at 0.3 mm of noise.
//
// The frame: the long axis is the largest of the covariance of the surface; up is the side on which the long edges stand
// over the middle; the heel is the narrow end with the high wall. The base is the plane that holds most of the area that
// looks down in the rear half with nothing below it (random sample consensus, Fischler & Bolles 1981, CACM 24:381, with a
// fixed seed), or two that meet under the cup; it must be flat to 0.1 mm across. Z is the base's normal. A base of two
// facets leaves the roll open: there the cup is taken as upright. The bisection is the plane that mirrors the cup's foot
// side in itself, at the cup's deepest point; a cup of revolution mirrors in every plane through its axis, so the
// direction is that from there to the point that divides the front width as devices are built here (51 % medial, from
// memory). Medial is where the edge stands higher under the arch and the front reaches farther. X = 0 is the back of the
// cup.
//
// Features: the foot side grows from the middle until its direction turns by 45° from what it is 8 mm farther in; the rim
// is what lies past its edge; the base what lies in its planes; the wedge's sides what lies farther from the foot side than
// the shell is thick; cup wall, flanges and underside divide the rest as Build divides them. A cap is not told from its
// block, nor a soft cover from the shell.
//
// Trials with 18 built devices of all builds, independent noise of one standard deviation σ on each coordinate, edges of
// about 0.8 mm: for σ up to 0.3 mm the frame came back within 0.2 mm and 0.15°, the lengths of blocks and bars within
// 0.2 mm, bevels within 1.3°, thicknesses within 0.1 mm, cup depths within 0.2 mm, and 94 to 97 % of the area kept its
// feature. The front tip of a ground flat, where the shell leaves the plane slowly, came out up to 3 mm too long.
//
// # Assumptions
//
// One foot's shape is taken from five numbers; the solid is as true as they are. The shoe's board in front of the seat
// is the usual one for the heel rise, not a measured one (package fit seats the device on the real one). Sizes that the
// options leave open follow averages or common practice and are marked so where they stand. Solids are faceted: a
// facet's sagitta is at most 0.05 mm in the cup.
//
// # Sources
//
// Foot sizes: ANSUR II, Gordon et al., NATICK/TR-15/007 (2012 data). Seat angles: Witana, Goonetilleke et al. 2009,
// Ergonomics 52:617. Wedge, bevels, builds and sheet thicknesses: common practice of the trade, no source.
package device
