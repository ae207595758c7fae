// Package fit answers whether a device goes into a room, where it touches and what that does.
//
// # Frame
//
// That of package footwear: mm, N, degrees at public edges; right side; X forward, Y medial, Z up. Poses are
// roomFromDevice. A signed distance is positive inside the room.
//
// # Seating
//
// The device is a rigid body on an elastic foundation: the wall is a bed of independent springs (Johnson, Contact
// Mechanics, 1985, ch. 4; as used for joints by Blankevoort et al. 1991, J Biomech 24:1019). Sample i of the device's
// surface stands for the area vector Aᵢ (mm², outward). Where its signed distance dᵢ is negative it is pushed along the
// wall's inward normal nᵢ = ∇dᵢ with
//
//	fᵢ = k·aᵢ·|dᵢ|,   aᵢ = max(0, −Aᵢ·nᵢ)
//
// with k the foundation of the wall it meets (N/mm³) and aᵢ the sample's area as the wall sees it. On a flat wall that is
// exactly k × the volume of overlap (flat punch k·A·d; sphere πk(Rd² − d³/3)). Loads are dead forces at points of the
// body. The rest pose minimises
//
//	E = Σ ½·k·aᵢ·dᵢ² − ΣF·p
//
// with k·aᵢ kept through a round of the search, and looked at again until the forces balance without that
// over three shifts and three turns about the body's centre of area, by Newton's method with Levenberg's damping on a
// 6×6 system. Its second derivative has the foundation (Σ k·aᵢ·JᵀJ, J = (n, r×n); at an edge or a corner of the wall the
// wall pushes back like a line or a point, so J has two or three rows, which is the exact second derivative of the
// distance to a mesh) and the turning of each force about the centre, (f·r)1 − ½(frᵀ + rfᵀ). A step counts when it lowers
// E or the unbalanced force; the second lets the body stay at the first balance that it comes to, as friction would keep
// it there. There is no friction otherwise.
//
// Deep in a wall a sample may be as near to one wall as to another: there its push may come from either, E has a crease (a cliff
// where one of them is the harder), and the search may come to a halt beside it. It then goes on by sampled gradients (a bundle:
// Wolfe 1975, Math Program Study 3:145; Burke, Lewis & Overton 2005, SIAM J Optim 15:751; both from memory): it keeps the forces of
// all poses it has looked at, some at random around it and those along its steps. The smallest mixture of those up to 0.3 mm off
// (farther where that does not help), in the metric of the second derivative, is what is really unbalanced, and the way of the next
// step. A step goes on for as long as the forces push along it; where they turn, the poses on both sides of the turn join the
// mixture, so that the next step, or the balance, knows both. The poses then draw nearer,
// to 0.01 mm; a mixture below 1 % of what the walls push, of poses within 0.3 mm, is a balance, and so far the pose is known.
// This happens only with devices that lie millimetres deep in a wall.
//
// A signed distance changes by no more than its point moves, so samples whose last known distance exceeds their motion
// since are skipped: exact, not a guess. The sampled field brings the device near; the exact tree always has the last
// word: no reported number comes from the field.
//
// Where rigid bodies are wanted the foundation is stiffened in steps until the largest overlap is below a bound.
//
// Range of validity: small overlaps (below the local radius of the wall); one device, one room; quasi-static; a device
// wedged between steep walls is held where it first balances.
//
// # Findings
//
// Gap or overlap of each feature of the device against each zone of the room, at the intended and at the settled pose,
// from exact distances at the samples. A state follows from the gap g, the wall's give G and the combined standard
// deviation σ of shoe and device: with odds Φ((g+G)/σ) of at most 10 % blocked, below 90 % unsure, else snug or, from the
// gap aimed at, clear. Each place is judged alone, errors as normal.
//
// # Refit
//
// A refit is a set of levels (an option at a value) on a start (today's device, or one on another wedge build, process or
// angle). The surface is summed up by cells of 8 mm on the wall: of each the tightest point and three rows of area with
// their foundation. Each level is built alone and looked at where the start lies; what it adds to each row is its variant.
// A candidate is the sum of its variants' rows, and comes to rest anew by the energy above over planes, a fraction of a
// millisecond. The sum is exact where changes move different parts of the surface and of first order where two move the
// same; tests hold it to the whole computation. Candidates grow by one level a step from those of the best soft margin
// (−ln Σ exp(−2·gap)/2, which sees progress at one tight place while others stay tight) and support kept (a beam search;
// Lowerre 1976, "The HARPY speech recognition system", from memory), and the best are seated in full in rounds, each of
// which corrects the estimates of what is like them. The answer is the set that nothing beats in margin, support kept and
// effort (Pareto 1906), from full computations only. What counts as a kept support, and effort, are weights of ours
// (SupportTerms, common practice, no source).
package fit

// Version is the program's version; results carry it.
const Version = "0.1.0"
