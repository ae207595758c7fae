// Package shelf keeps a person's own shoes in a folder, beside the invented ones that the program carries.
//
// # The folder
//
//	my-knit-trainer/shoe.json   a shoe, in the sheet's JSON form (package footwear)
//	my-knit-trainer/scan.stl    its scan, if there is one: stl, obj, ply or 3mf
//	my-knit-trainer/scan.json   how the scan stands in the shoe, if that was corrected by hand
//	.trash/000012-deleted-my-court-shoe/…     what Undo brings back, the latest last
//	.trash/000013-replaced-my-knit-trainer/…  a sheet as it was before it was edited
//	.trash/000014-undone-my-knit-trainer/…    a sheet as it was before Undo; nothing takes it back by itself
//	.new-…                      work that was not finished; it is swept away
//	.unfinished.json            what is being measured and not saved yet; other files of Keep beside it
//	.lock                       held while something is written
//
// The identifier of a shoe of one's own begins with "my-" and is the name of its folder; no shoe of the program's begins
// so, and the two can't be taken for each other.
//
// # What holds
//
// A shoe is there as a whole or not at all: it is written into a folder aside, flushed to the disk and put in place by
// one renaming; deleting and bringing back are one renaming each. Editing writes the new sheet aside and renames it over
// the old one, of which a copy went to the trash before. Whatever step a crash falls on, each shoe is either as before
// or as after.
//
// A file that can't be read hides no other: it is named as a problem and left where it is. Several programs may have the
// shelf open: what writes holds the lock (flock; where the system has none, writers are not kept apart), and an edit of
// a shoe that has changed meanwhile is refused. A folder that can't be written still shows its shoes.
//
// # Limits
//
// 2000 shoes, 1 MiB a sheet, 512 MiB a scan; the trash keeps the latest 200 steps.
package shelf

const (
	prefix       = "my-"
	sheetFile    = "shoe.json"
	scanStem     = "scan"
	standingFile = "scan.json"
	trashDir     = ".trash"
	stagePrefix  = ".new-"
	lockFile     = ".lock"

	maxShoes     = 2000
	maxSheet     = 1 << 20
	maxScan      = 512 << 20
	maxHistory   = 200
	maxStanding  = 1 << 20
	idLettersMax = 64 // leaves room for a number behind it
)

// ScanKinds are the kinds of scan file that a shoe may have beside it.
var ScanKinds = []string{"stl", "obj", "ply", "3mf"}
