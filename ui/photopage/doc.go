// Package photopage is the page on which an insole's outline is read off a photo, without the page: the photo and the
// corners of the sheet in it, what was read with its ±, and the words that are shown for it. State goes in, State and
// effects come out (Reduce). Nothing here draws, waits or reads a file.
//
// Corners are pixels of the upright picture as it is in the file, from its upper left corner, x right and y down.
package photopage
