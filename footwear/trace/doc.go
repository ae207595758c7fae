// Package trace reads the outline of a shoe's own insole from a photo or a flat scan of it, or of a pencil line round it,
// on a sheet of A4 or Letter paper, whose known size gives the scale and takes out the slant.
//
// # Steps
//
//	read       PNG or JPEG; size checked in the header; upright by EXIF; the least of red, green and blue
//	sheet      a bright quadrilateral at one of many levels of the picture, or corners given; each side by where 140
//	           profiles across it fall halfway from bright to dark, first in a band, then close to the line most agree on
//	lens       the one parameter of the division model that makes the four sides straightest
//	paper      the one of the two whose proportion a camera of square pixels and usual focal length can see so
//	rectify    the homography of the four corners (Hartley & Zisserman 2004, ch. 2 and 4; from memory)
//	light      brightness of bare paper, followed from the rim inward over soft shadows, smooth under the insole
//	           (Laplace's equation); the picture is divided by it
//	outline    marching squares at the middle between paper and insole, then each point along its normal to where the
//	           picture is halfway between the levels close by on both sides; a pencil line to the middle of its darkness
//	frame      heel and toe by width; the heel-seat centre line is the direction in which the middles of the widths from
//	           6 to 25 % of the length run straight ahead
//	measures   widths square to that line, see Tracing
//
// # Frame and units
//
// Picture: px, x right, y down, (0, 0) the upper left corner of the upright picture. Sheet: mm, x along its long side, y
// down, as seen from above. Outline: mm, X forward from its rearmost point along the heel-seat centre line, Y medial, a
// left one mirrored: the frame of a right shoe seen from above.
//
// # What a ± holds
//
// 95 of a hundred readings of the outline in the plane of the paper:
//
//	paper      0.4 mm a side; ISO 216 allows 2 (from memory), office paper is cut closer (common practice, no source)
//	bow        what is left of the largest bow of the sheet's sides, and 0.15 of what the lens took out of it
//	edges      the scatter of the outline and of the sheet's sides; a share of their blur, since a camera's tone curve moves
//	           the middle of a blurred edge; a tenth of a pixel, more where a JPEG's colours are coarser than its
//	           pixels; a tenth of a pencil line
//	proportion half of what the sheet's proportion misses that of the paper
//	scale      0.5 % where the picture itself is taken for the sheet (common practice, no source)
//
// Not in it: an edge that stands over the paper looks larger, by its height through that of the camera, 2.5 mm on 260
// for 5 mm from half a metre. Options.EdgeHeightMM takes it out; the camera's height follows from the slant or from the
// focal length in the file. Apply allows for it when it was not told.
//
// # Range and limits
//
// At most 64 MiB and 50 megapixels (25 with 16 bits a colour), at least 1.5 px/mm on the sheet; decoding takes at most
// about 16 bytes a pixel of the file, the rest 0.2 GB (calc). Outlines of 85 mm and more that lie wholly on the sheet. A3
// and A5 look like A4 and are taken for it. An insole of nearly the paper's brightness, or in a shadow as dark as itself,
// does not stand out: draw round it. Its own shadow moves the edge beside which it ends by up to 0.3 mm, and so the swing
// by a millimetre. Side, straight or swung, and the toe's shape are guesses by common practice without a source.
package trace
