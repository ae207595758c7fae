// Package scanpage is the page on which a scan gets its frame, without the page: what was read from the file, where the
// scan lies, what the person corrects, and the words that are shown for it. State goes in, State and effects come out
// (Reduce). Nothing here draws, waits or reads a file.
//
// # Frames
//
// Scan: as in the file, brought to millimetres. Room: that of package footwear, with a left shoe's medial side at −Y.
// Drawings: the room's, with a left one mirrored in Y, so that every drawing shows a right one. Found is roomFromScan as
// the shape gives it; Correction, in the room's frame and applied after it, is what the person turned and moved.
//
// # Order of work
//
// Open → Read → (units asked when they are unclear) → Mend → Find → Ready. Each step is an effect with the number of the
// job; what comes back with another number is dropped. Until a new file has got as far as Find, the page shows the old
// one; when the new one fails before, the old one stays.
package scanpage
