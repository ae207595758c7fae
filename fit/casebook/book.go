package casebook

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"time"

	_ "modernc.org/sqlite" // registers the database

	"lastroom/internal/lock"
	"lastroom/internal/problem"
)

// A Book is an open casebook. All its methods may be called from any goroutine.
type Book struct {
	file     string
	lock     *os.File // held by the one program that may write
	readOnly string   // why it can't be written, "" when it can
	notices  []string
	now      func() time.Time

	mu    sync.Mutex // holds the database, which has one connection, and the index
	db    *sql.DB
	index index
	seen  int64 // data_version at the last look

	watch watchers
}

// Settings are how a book is opened. The zero value opens it for writing and does not wait for another program.
type Settings struct {
	ReadOnly bool
	Wait     time.Duration // how long to wait for a program that is writing before opening read-only
}

// DefaultFile is lastroom/casebook/casebook.db below os.UserConfigDir.
func DefaultFile() (string, error) {
	base, err := os.UserConfigDir()
	if err != nil {
		return "", problem.Problem{Field: "casebook", Limit: err.Error(), Mend: "name a file for the casebook"}
	}
	return filepath.Join(base, "lastroom", "casebook", "casebook.db"), nil
}

// Open opens a casebook, DefaultFile for "", and makes it when it is not there. Where it can't be written, or another
// program has it open, it is opened read-only: see ReadOnly. A damaged file gives a *Damaged, a newer one a
// problem.Problem; neither is touched.
func Open(ctx context.Context, file string, s Settings) (*Book, error) {
	return open(ctx, file, s, migrations)
}

func open(ctx context.Context, file string, s Settings, steps []migration) (*Book, error) {
	if file == "" {
		var err error
		if file, err = DefaultFile(); err != nil {
			return nil, err
		}
	}
	b := &Book{file: file, now: time.Now}
	if err := b.open(ctx, s, steps); err != nil {
		_ = b.close()
		return nil, told(file, err)
	}
	return b, nil
}

func (b *Book) open(ctx context.Context, s Settings, steps []migration) error {
	st, err := os.Stat(b.file)
	missing := errors.Is(err, fs.ErrNotExist)
	switch {
	case err != nil && !missing:
		return err
	case !missing && !st.Mode().IsRegular():
		return problem.Problem{File: b.file, Limit: "no file", Mend: "name a file for the casebook"}
	case missing && s.ReadOnly:
		return problem.Problem{File: b.file, Limit: "there is no such casebook", Mend: "check the file's name"}
	case missing:
		if err := os.MkdirAll(filepath.Dir(b.file), 0o700); err != nil {
			return err
		}
	}
	if s.ReadOnly {
		b.readOnly = "it was opened for reading only"
	} else if err := b.takeLock(s.Wait); err != nil {
		if missing {
			return err
		}
		b.readOnly = "its folder can't be written (" + reason(err) + ")"
	}
	if b.lock != nil {
		if err := b.prepare(ctx, steps); err != nil {
			return err
		}
	} else if missing { // the other program may be making it right now
		return problem.Problem{File: b.file, Limit: "another program is making this casebook", Mend: "open it again in a moment"}
	}
	if st, err = os.Stat(b.file); err != nil {
		return err
	}
	if st.Size() == 0 {
		return damaged(b.file, "it is empty")
	}
	if b.lock != nil && !writable(b.file) {
		b.readOnly = "the file can't be written"
		b.unlock()
	}
	if b.db, err = connect(b.file, b.readOnly != ""); err != nil {
		return err
	}
	version, err := schemaVersion(ctx, b.db, b.file, len(steps))
	if err != nil {
		return err
	}
	if err := quickCheck(ctx, b.db, b.file); err != nil {
		return err
	}
	if version < len(steps) {
		if b.readOnly != "" {
			return problem.Problem{
				File: b.file, Value: "version " + strconv.Itoa(version), Limit: "an older casebook, which must be brought up to date first; " + b.readOnly,
				Mend: "open it once where it can be written, with no other program on it",
			}
		}
		if _, err := b.backup(ctx); err != nil {
			return err
		}
		if err := migrate(ctx, b.db, version, steps); err != nil {
			return err
		}
		b.notices = append(b.notices, "The casebook was brought from version "+strconv.Itoa(version)+" to "+strconv.Itoa(len(steps))+"; a backup of it as it was lies in "+backupDir(b.file)+".")
	}
	if b.readOnly == "" {
		if err := b.finishDeleting(ctx); err != nil {
			b.notices = append(b.notices, "What was deleted may still be in the backups: "+told(b.file, err).Error())
		}
		if err := b.dailyBackup(ctx); err != nil {
			b.notices = append(b.notices, "No backup could be made today: "+told(b.file, err).Error())
		}
	}
	for _, name := range kept(b.file) {
		b.notices = append(b.notices, "The damaged casebook that a backup took the place of is still kept as "+name+"; delete it when you need it no more.")
	}
	return b.load(ctx)
}

// prepare makes a book that is not there, under the lock, aside and whole. One that is missing but has backups is damage.
func (b *Book) prepare(ctx context.Context, steps []migration) error {
	aside := b.file + ".new"
	for _, old := range []string{aside, aside + "-journal"} { // of a program that was stopped
		if err := os.Remove(old); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	if _, err := os.Stat(b.file); !errors.Is(err, fs.ErrNotExist) {
		if err == nil { // a health record is nobody else's to read
			_ = os.Chmod(b.file, 0o600)
		}
		return err
	}
	if all, err := Backups(b.file); err != nil {
		return err
	} else if len(all) > 0 {
		return damaged(b.file, "the file is gone, though there are backups of it")
	}
	if err := emptyFile(aside); err != nil {
		return err
	}
	db, err := connect(aside, false)
	if err != nil {
		return err
	}
	err = migrate(ctx, db, 0, steps)
	if err = errors.Join(err, db.Close()); err != nil {
		return errors.Join(err, os.Remove(aside))
	}
	if err := os.Rename(aside, b.file); err != nil {
		return err
	}
	return flushFolder(filepath.Dir(b.file))
}

// connect opens a file that is there, with one connection: secure_delete overwrites what is deleted, synchronous FULL
// makes a commit wait for the disk.
func connect(file string, readOnly bool) (*sql.DB, error) {
	abs, err := filepath.Abs(file)
	if err != nil {
		return nil, err
	}
	q := url.Values{"_txlock": {"immediate"}, "mode": {"rw"}, "_pragma": {
		"busy_timeout(5000)", "foreign_keys(1)", "secure_delete(1)", "synchronous(full)", "journal_mode(truncate)", "trusted_schema(0)", "cell_size_check(1)",
	}}
	if readOnly {
		q = url.Values{"mode": {"ro"}, "_pragma": {"busy_timeout(5000)", "query_only(1)", "trusted_schema(0)", "cell_size_check(1)"}}
	}
	u := url.URL{Path: filepath.ToSlash(abs)}
	db, err := sql.Open("sqlite", "file:"+u.EscapedPath()+"?"+q.Encode())
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	return db, nil
}

// quickCheckMost is the size up to which a file is looked through at opening; Verify looks through any.
const quickCheckMost = 64 << 20

func quickCheck(ctx context.Context, db *sql.DB, file string) error {
	st, err := os.Stat(file)
	if err != nil || st.Size() > quickCheckMost {
		return err
	}
	var said string
	if err := db.QueryRowContext(ctx, `PRAGMA quick_check(1)`).Scan(&said); err != nil {
		return err
	}
	if said != "ok" {
		return damaged(file, said)
	}
	return nil
}

func (b *Book) takeLock(wait time.Duration) error {
	f, err := lock.Take(b.file+".lock", wait)
	if err != nil {
		return err
	}
	if b.lock = f; f == nil {
		b.readOnly = "another program has it open"
	}
	return nil
}

func (b *Book) unlock() {
	if b.lock != nil {
		_ = b.lock.Close() // which lets the lock go
		b.lock = nil
	}
}

// Close lets the file and its lock go.
func (b *Book) Close() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return told(b.file, b.close())
}

func (b *Book) close() error {
	var err error
	if b.db != nil {
		err = b.db.Close()
	}
	b.unlock()
	return err
}

// File is the casebook's file.
func (b *Book) File() string { return b.file }

// ReadOnly says whether the book can only be read, and why.
func (b *Book) ReadOnly() (why string, yes bool) { return b.readOnly, b.readOnly != "" }

// Notices are sentences for the user about what opening the book did or could not do.
func (b *Book) Notices() []string { return b.notices }

// write does a change in one transaction, which is on the disk when it returns nil.
func (b *Book) write(ctx context.Context, do func(*sql.Tx) error) error {
	if b.readOnly != "" {
		return problem.Problem{File: b.file, Limit: "the casebook can only be read: " + b.readOnly, Mend: "close the other program or make the folder writable, then open it again"}
	}
	tx, err := b.db.BeginTx(ctx, nil)
	if err != nil {
		return told(b.file, err)
	}
	if err := do(tx); err != nil {
		_ = tx.Rollback()
		return told(b.file, err)
	}
	if err := tx.Commit(); err != nil {
		_ = tx.Rollback() // a commit that failed may leave the transaction open
		return told(b.file, err)
	}
	return nil
}

func emptyFile(name string) error {
	f, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	return f.Close()
}

func writable(name string) bool {
	f, err := os.OpenFile(name, os.O_WRONLY, 0)
	if err != nil {
		return false
	}
	_ = f.Close()
	return true
}

func flushFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	_ = f.Sync() // not every system can
	return f.Close()
}

func reason(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err.Error()
	}
	return err.Error()
}
