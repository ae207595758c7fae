// Package casebook keeps a practice's cases in one file: under codes, never needing a name, each with feet, shoes, devices
// as ordered and as changed, results with the version of the program that gave them, notes, photographs and scans, and
// what came of it. It knows no window: a Book may be used from any goroutine, each change answers with the new State, and
// Watch tells who shows it.
//
// # The journal
//
// A case is a document (Case, whose JSON is docs/case.schema.json). Change hands it to a function that edits it, and writes
// what comes out as a new line of the journal, whole and packed, with the date and with what is different in words
// (Differences). Saving is nothing else: when Change returns, the line is on the disk. Each line knows the edit it was made
// on; Undo goes back to that one and Redo to the latest that was made on the present one, as far as there are any, over
// restarts too, and both are lines of the journal themselves. Whole documents instead of differences: they pack to a few
// thousand bytes, every past state is read by itself, and none depends on another being sound.
//
// Photographs and scans lie in the same file, in parts of 1 MiB under their SHA-256, once however often they are used.
// They stay while any state of any case has them.
//
// # The file
//
// An SQLite database: application id 0x4C526362, the form's version in user_version, its tables in schema.go. Beside it lie
// NAME.lock (empty), NAME-journal (while something is written), and NAME.backups with the newest five backups: one a day on
// which it is opened and has changed, and one before the file's form is brought up to date. Form steps run forward only; a
// newer file is refused and left untouched.
//
// One program writes: it holds a lock (flock; where the system has none, SQLite's own locks still keep each change whole).
// Another that opens the file meanwhile waits as long as it is told to, then reads only and says so; Refresh brings it what
// the first has written.
//
// What a commit confirmed survives the end of the process at any moment and, as far as the disk keeps its promise to have
// written, the end of power: rollback journal, synchronous FULL. A full disk, a folder that can't be written and a disk
// error end the one change with a sentence that says so. A damaged file gives a Damaged error with the newest backup;
// Restore puts it in place and keeps the damaged file.
//
// Delete and Forget overwrite what they delete (secure_delete), rewrite the file (VACUUM) and replace all backups, so that
// it is in none of the casebook's files any more. They can't reach copies made elsewhere, exported files, what a disk keeps
// in its own spare blocks, nor a damaged file that Restore kept, of which a notice reminds.
//
// # How to protect it
//
// The file is readable by its user only (0600, in a folder 0700 when the casebook made it) and not encrypted: the disk
// should be. A copy is safe to take with Backup, or of the file while no program has it open.
//
// # The user's own shoes
//
// The shelf (footwear/shelf) stays the one store of one's own shoes. A case holds copies of the sheets it was tried with,
// so that it stays what it was when the shelf goes on.
//
// # Limits
//
// 16 MiB a case without its files, 512 MiB a file, 400 shoes, devices and files a case, 2000 results, notes and outcomes.
// Searching reads an index in memory: at most 8 KiB of folded text a case.
package casebook
