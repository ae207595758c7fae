// Package sheet makes the bench sheet of a case: what is ordered or what is to be changed, what it cures, what it costs in
// support, how sure that is, and templates at full size to hold against the device.
//
// # One model, three writers
//
// Of makes a Sheet from a case: every sentence and every number of it, rounded as it is read. WriteText, WriteJSON and
// WritePDF only lay it out, so that paper, text and JSON tell the same. The date is an input, nothing else varies: the same
// case gives the same bytes.
//
// # Frame
//
// Millimetres and degrees. Everything is computed for the right side. A Shape is drawn on paper with U to the right and V up:
//
//	base          seen from above, toe up:      U = −Y, V = X
//	heel section  seen from behind:             U = −Y, V = Z
//	long section  seen from the lateral side:   U = X,  V = Z
//
// in the device's own frame. For a left device U changes its sign in all three, and words stay readable. Numbers count
// medially positive on both sides.
//
// # Paper
//
// PDF by fpdf in millimetres, with the Liberation Sans faces embedded. Templates are never scaled: what is longer than the
// page lies along it, and what is longer still is cut in parts at a line that both parts show. Whether a printer kept the
// scale is told by a ruler beside each template.
package sheet
