// Package footwear knows shoes: what is measured on one, how sizes are numbered and graded, a shelf of invented shoes,
// and the inner cavity (Room) that a sheet of measures describes. It knows no orthosis.
//
// # Frame and units
//
// Millimetres and degrees. Right shoe, right-handed axes: X forward (heel to toe) along the heel-seat centre line, Y to
// the medial side, Z up from the ground the shoe stands on. Origin: on the insole board, under the rearmost inside point
// of the counter. A left shoe is the mirror image in Y and has the same sheet. Heights of the sheet are over the board
// (or the seat, which is the board's rear part); only heel rise and toe spring compare heights of the board itself.
//
// # A sheet
//
// A Sheet is a shoe as measured: 32 measures (Infos defines each, says how it is taken, its hard limits, its usual band
// with the source of it, its instrument and ±, and how it grades) and a few words. A ± holds 95 of a hundred
// readings (Normal) or all of an even spread (Even); manual measures repeat within about 1.5 mm [4], which is taken to
// mean the former. Validate refuses what no shoe is: values beyond the hard limits and
// measures that contradict each other. BandNotes tells what is only unusual.
//
// # Sizes
//
// With FL the foot's length and LL the last's, mm, exact and not rounded:
//
//	Mondopoint   FL                              [1]
//	EU           LL / (20/3)                     Paris point of 2/3 cm, from 0 [2]
//	UK adult     3 LL/25.4 − 25                  barleycorn of 1/3 inch
//	UK child     3 LL/25.4 − 12
//	US men       UK + 1
//	US women     US men + 1, or + 1.5            both are in use: SizeOptions.USWomen
//	US child     UK child + 1/3
//
//	LL = FL + 13.33 (two Paris points) or FL + 15    EU, adults: SizeOptions.Allowance
//	LL = FL + 16.93 (two barleycorns)                UK and US, adults
//	LL = 1.08 FL                                     children
//
// so that EU = 0.15 FL + 2 or 0.15 (FL + 15), and UK = 3 FL/25.4 − 23. A Mondopoint size says nothing of the last; it is
// given the EU's allowance. The formulas were read in public texts about sizing, not in the standards, whose tables of
// ISO 19407:2023 were not seen. Sizes of different systems are compared by the foot they stand for. A maker's own sizes
// may be off by one or more: the last length that is measured in the shoe goes before the size that is printed on it.
//
// # Grading
//
// A whole English or US size is 8.47 mm of length and 6.35 of ball girth, an EU size 6.67 and 5.0, a width fitting 6.35
// mm of girth [3]; both pairs are 3/4 mm of girth a millimetre of length, so that grading is the same in every system.
// Ball width grades by a third of the girth, the seat and the other widths with it in proportion [5], depths with the
// girth, heights with the outer ankle bone (0.14 mm a millimetre [6]). See Sheet.Graded.
//
// # The room
//
// A Room is a closed surface made of half profiles: each starts on the spine, the middle of the floor, and runs over
// floor, feather line and wall to the topline or the widest place, then over the lid or roof to the line above the spine.
// Round the plan they stand square to the spine along the sides, turn about the widest place of the heel behind it and
// about the middle of the tread line in front of it. With x from the back, heights h over the board, L the last's length:
//
//	stations      heel L/6, ankle 0.28 L, waist 0.43 L, instep 0.50 L (practice), tread line 0.70 L (0.741 of foot
//	              length [6], the last 5 % longer), toe depth L − 20 mm
//	board         seat straight, then a cubic (or sharper) to the tread line, level there, plus a·s²(1−s)² with a such
//	              that the sagitta holds, then a parabola of toe spring; across, a circle R = w²/8s + s/2 for the cupping
//	heel          a superellipse of exponent 2.15 in plan at every height, through the counter's widths at 10, 20, 40 mm
//	              and the topline (monotone cubics) and the back curve
//	feather line  an arc that touches floor and wall; its radius goes from heel to tread line with a smooth step
//	waist, ball   below the widest place a parabola, above it |y/b|ⁿ + |(h−s)/(d−s)|ⁿ = 1 with half width b, its height
//	              s and depth d; n at instep and tread line such that the tape's girth holds, the convex hull
//	toes          a superellipse in plan by the toe shape, the roof over it as deep as measured
//
// Widths, depths, girths and heights of the sheet hold at their stations; between them everything is smooth by choice,
// not by measurement, and so is how far a swung shoe swings, how the toe is rounded, and where the throat lies
// (practice). MeasureRoom takes the measures off the mesh again, without the formulas; they agree within 0.2 mm.
// Measures that contradict each other a little are met as far as they can be; more than a little is a problem.
//
// # What was not measured
//
// FillIn takes the measures that are missing from the catalog's nearest shoe of the kind (Nearest), brought to the size
// and to what was taken, marks them as assumed and gives them a ± of a quarter of their usual band. Essentials are the ten
// measures that make a useful room. MattersMost rebuilds the room with each assumed measure moved by its ± and names the
// one by which a body that lies where devices lie, 2 mm from all walls, loses most of that.
//
// # Scans
//
// A scan of a last or of the inside of a shoe finds its own frame (Align): the plane of best mirror symmetry, in it the
// direction in which most of the surface looks down, the narrow high end as the heel; then in rounds the level by the
// floor at the tread line and across seat and tread, X by the walls over the seat, the origin by seat and rearmost point.
// For reading, and for that only, noise is smoothed away: each vertex onto the quadric of its neighbours [8]. Sections of
// an open scan are closed by a lid. RoomFromScan keeps the scan's faces as walls. Their zones go by place: the floor ends
// where a section leaves the parabola of its middle, the feather line where it leaves the circle of the corner. A sheet
// is read off it; what a scan does not tell is taken from the nearest demo shoe, in proportion, with three times the
// usual ±. A wall's ± is that of scanner and noise.
//
// # Range and limits
//
// Feet of 90 to 340 mm, heel rises up to 130 mm, closed heels, toplines above 42 mm at the back. Shoes without a back
// (mules, sandals), split lasts and shoes much worn or stretched are outside of what a sheet can say. Bands for
// children's shoes, boots and the give of walls are common practice without a source.
//
// # Sources
//
// How each is known stands behind it: read, in the source or a text about it; or from memory.
//
//	[1] ISO 9407:2019, Mondopoint (read about)
//	[2] ISO/TS 19407:2015, conversion of sizing systems (read about)
//	[3] US patent 1,948,547, 1934 (read)
//	[4] Lee, Lin, Wang 2014, Journal of Foot and Ankle Research (read)
//	[5] Golding 1902, on boot and shoe manufacture (read)
//	[6] Gordon et al., ANSUR II 2012, NATICK/TR-15/007: public data of 4082 men and 1986 women (read)
//	[7] Witana, Goonetilleke et al. 2009, Ergonomics 52:617, seat angle by heel rise (read)
//	[8] Lancaster & Salkauskas 1981, Mathematics of Computation 37:141, moving least squares (from memory)
package footwear
