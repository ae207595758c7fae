package casebook

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"lastroom/internal/problem"
)

// Damaged is the error of a casebook that can't be read, with the backup that Restore can put in its place.
type Damaged struct {
	File   string
	Cause  string
	Backup string    // the newest backup that is there, "" without one
	At     time.Time // when that was made
}

// Error makes the sentence a person reads.
func (d *Damaged) Error() string { return d.Unwrap().Error() }

// Unwrap is the same as a problem.
func (d *Damaged) Unwrap() error {
	p := problem.Problem{File: d.File, Limit: "the casebook is damaged: " + d.Cause, Mend: "there is no backup; keep the file, and do not write over it"}
	if d.Backup != "" {
		p.Mend = fmt.Sprintf("restore the backup of %s (%s); the damaged file is kept beside it", d.At.Format("2 January 2006 15:04 MST"), filepath.Base(d.Backup))
	}
	return p
}

// damaged is the error for a file with what backup there is.
func damaged(file, cause string) error {
	d := &Damaged{File: file, Cause: cause}
	if all, err := Backups(file); err == nil && len(all) > 0 {
		d.Backup, d.At = all[0].File, all[0].At
	}
	return d
}

// told makes an error of the database or the file system one that says what happened and what to do. Nothing of the
// change that failed was kept, and all that was confirmed before is.
func told(file string, err error) error {
	var d *Damaged
	var p problem.Problem
	var ps problem.Problems
	if err == nil || errors.As(err, &d) || errors.As(err, &p) || errors.As(err, &ps) {
		return err
	}
	say := func(limit, mend string) error {
		return problem.Problem{File: file, Limit: limit, Mend: mend}
	}
	const kept = "; this change was not saved, all before it is"
	if errors.Is(err, errUnpack) {
		return damaged(file, err.Error())
	}
	var s *sqlite.Error
	if errors.As(err, &s) {
		if s.Code() == sqlite3.SQLITE_READONLY_ROLLBACK {
			return say("a program was stopped in the middle of a change, which must be taken back before anything can be read", "open the casebook once where it can be written")
		}
		switch s.Code() & 0xff {
		case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
			return damaged(file, s.Error())
		case sqlite3.SQLITE_FULL:
			return say("the disk is full"+kept, "make room on the disk and do it again")
		case sqlite3.SQLITE_READONLY:
			return say("the file or its folder can't be written"+kept, "make it writable, or choose another place")
		case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
			return say("another program is writing to the casebook"+kept, "do it again in a moment")
		case sqlite3.SQLITE_CANTOPEN:
			return say("the file can't be opened", "check that the folder is there and that you may read and write it")
		case sqlite3.SQLITE_IOERR:
			return say("the disk reports an error: "+s.Error()+kept, "check the disk, then do it again")
		}
	}
	const mend = "check the disk and the folder, and that you may read and write there"
	var path *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &path):
		return problem.Problem{File: path.Path, Limit: path.Err.Error(), Mend: mend}
	case errors.As(err, &link):
		return problem.Problem{File: link.Old, Limit: link.Err.Error(), Mend: mend}
	}
	return fmt.Errorf("%s: %w", file, err)
}
