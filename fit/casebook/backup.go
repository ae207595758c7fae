package casebook

import (
	"cmp"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"lastroom/internal/lock"
	"lastroom/internal/problem"
)

const (
	keptBackups  = 5
	backupEvery  = 24 * time.Hour
	backupSuffix = ".db"
	backupStamp  = "20060102T150405.000Z" // sorts by time
)

// A Backup is a whole casebook as it was.
type Backup struct {
	File string
	At   time.Time
}

func backupDir(file string) string { return file + ".backups" }

// Backups are the backups of a casebook, the newest first.
func Backups(file string) ([]Backup, error) {
	entries, err := os.ReadDir(backupDir(file))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var out []Backup
	for _, e := range entries {
		stem, ok := strings.CutSuffix(e.Name(), backupSuffix)
		if at, err := time.Parse(backupStamp, stem); ok && err == nil {
			out = append(out, Backup{filepath.Join(backupDir(file), e.Name()), at.UTC()})
		}
	}
	slices.SortFunc(out, func(a, b Backup) int { return cmp.Or(b.At.Compare(a.At), strings.Compare(b.File, a.File)) })
	return out, nil
}

// Backup makes a backup now and gives its file.
func (b *Book) Backup(ctx context.Context) (string, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.readOnly != "" {
		return "", problem.Problem{File: b.file, Limit: "the casebook can only be read: " + b.readOnly, Mend: "copy the file by hand"}
	}
	name, err := b.backup(ctx)
	return name, told(b.file, err)
}

// backup writes a copy aside, flushes it and gives it its name; of the older ones the newest few stay.
func (b *Book) backup(ctx context.Context) (string, error) {
	dir := backupDir(b.file)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", err
	}
	old, err := Backups(b.file)
	if err != nil {
		return "", err
	}
	at := b.now().UTC()
	if len(old) > 0 && !at.After(old[0].At) { // two in a millisecond, or a clock that was set back
		at = old[0].At.Add(time.Millisecond)
	}
	name := filepath.Join(dir, at.Format(backupStamp)+backupSuffix)
	aside := filepath.Join(dir, "unfinished")
	if err := os.Remove(aside); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", err
	}
	if err := emptyFile(aside); err != nil {
		return "", err
	}
	_, err = b.db.ExecContext(ctx, `VACUUM INTO ?`, aside)
	if err == nil {
		err = flushFile(aside)
	}
	if err == nil {
		err = os.Rename(aside, name)
	}
	if err != nil {
		return "", errors.Join(err, os.Remove(aside))
	}
	if err := flushFolder(dir); err != nil {
		return "", err
	}
	for len(old) >= keptBackups {
		if err := os.Remove(old[len(old)-1].File); err != nil {
			return "", err
		}
		old = old[:len(old)-1]
	}
	return name, nil
}

// dailyBackup makes a backup when the newest is a day old and the book has changed since.
func (b *Book) dailyBackup(ctx context.Context) error {
	all, err := Backups(b.file)
	if err != nil {
		return err
	}
	if err := b.redate(all); err != nil {
		return err
	}
	var changed int64
	if err := b.db.QueryRowContext(ctx, `SELECT coalesce(max(changed), 0) FROM cases`).Scan(&changed); err != nil {
		return err
	}
	if changed == 0 || len(all) > 0 && (b.now().Sub(all[0].At) < backupEvery || all[0].At.Unix() > changed) {
		return nil
	}
	_, err = b.backup(ctx)
	return err
}

// redate gives backups that lie in the future, after a clock was set back, the present as their date, in their order: else none would
// be made until the clock has come there again.
func (b *Book) redate(all []Backup) error {
	now := b.now().UTC().Truncate(time.Millisecond)
	for i := range all {
		if !all[i].At.After(now) {
			break
		}
		all[i].At = now.Add(-time.Duration(i) * time.Millisecond)
		name := filepath.Join(backupDir(b.file), all[i].At.Format(backupStamp)+backupSuffix)
		if err := os.Rename(all[i].File, name); err != nil {
			return err
		}
		all[i].File = name
	}
	return nil
}

func flushFile(name string) error {
	f, err := os.OpenFile(name, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// Restore puts a backup in the place of a casebook that no program has open. What was there is kept beside it, under the
// name that it returns ("" when there was nothing).
func Restore(ctx context.Context, file, backup string) (kept string, err error) {
	held, err := lock.Take(file+".lock", 0)
	if err != nil {
		return "", told(file, err)
	}
	if held == nil {
		return "", problem.Problem{File: file, Limit: "another program has it open", Mend: "close it first"}
	}
	defer held.Close()
	if err := sound(ctx, backup, len(migrations)); err != nil {
		return "", err
	}
	aside := file + ".new"
	if err := copyAside(backup, aside); err != nil {
		return "", told(file, err)
	}
	if _, err := os.Stat(file); err == nil {
		kept = file + keptSuffix + time.Now().UTC().Format(backupStamp)
		for _, suffix := range []string{"", "-journal"} { // a journal must never meet another file than its own
			if err := os.Rename(file+suffix, kept+suffix); err != nil && !(suffix != "" && errors.Is(err, fs.ErrNotExist)) {
				return "", told(file, err)
			}
		}
	}
	if err := os.Rename(aside, file); err != nil {
		return kept, told(file, err)
	}
	return kept, told(file, flushFolder(filepath.Dir(file)))
}

// sound says what is wrong with a backup, which may be of an older form than the program's.
func sound(ctx context.Context, backup string, known int) error {
	db, err := connect(backup, true)
	if err != nil {
		return told(backup, err)
	}
	b := &Book{file: backup, db: db, readOnly: "it is a backup"}
	defer b.close()
	version, err := schemaVersion(ctx, db, backup, known)
	if err != nil {
		return told(backup, err)
	}
	said, err := texts(ctx, db, `PRAGMA integrity_check`)
	if err == nil && version == known && slices.Equal(said, []string{"ok"}) {
		var rep Report
		if rep, err = b.verify(ctx); len(rep.Problems) > 0 {
			said = []string{rep.Problems[0].Error()}
		}
	}
	if err != nil {
		return told(backup, err)
	}
	if !slices.Equal(said, []string{"ok"}) {
		return problem.Problem{File: backup, Limit: "the backup is damaged too: " + strings.Join(said, ", "), Mend: "choose an older one"}
	}
	return nil
}

// keptSuffix stands behind the name of a casebook that a backup took the place of.
const keptSuffix = ".damaged-"

// kept are the casebooks in whose place a backup was put and which are still there.
func kept(file string) []string {
	entries, err := os.ReadDir(filepath.Dir(file))
	if err != nil {
		return nil
	}
	var out []string
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), filepath.Base(file)+keptSuffix) && !strings.HasSuffix(e.Name(), "-journal") {
			out = append(out, filepath.Join(filepath.Dir(file), e.Name()))
		}
	}
	return out
}

func copyAside(from, to string) error {
	if err := os.Remove(to); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Sync(), out.Close())
}

// A Report is what Verify found.
type Report struct {
	Cases, Changes, Files int
	Bytes                 int64 // of the files
	Problems              problem.Problems
}

// Verify reads the whole book: the database's own check, every state of every case, and the checksum of every file.
func (b *Book) Verify(ctx context.Context) (Report, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	rep, err := b.verify(ctx)
	return rep, told(b.file, err)
}

func (b *Book) verify(ctx context.Context) (Report, error) {
	var rep Report
	bad := func(field, value, limit string) {
		rep.Problems = append(rep.Problems, problem.Problem{File: b.file, Field: field, Value: value, Limit: limit, Mend: "restore a backup, and keep this file"})
	}
	said, err := texts(ctx, b.db, `PRAGMA integrity_check`)
	if err != nil {
		return rep, err
	}
	for _, s := range said {
		if s != "ok" {
			bad("database", "", s)
		}
	}
	for _, q := range []struct{ query, what string }{
		{`SELECT "table" || ' ' || rowid FROM pragma_foreign_key_check`, "points to nothing"},
		{`SELECT id FROM cases WHERE NOT EXISTS (SELECT 1 FROM changes c WHERE c.case_id=id AND c.rev=state AND c.doc IS NOT NULL)`, "a case without its state"},
		{`SELECT id FROM cases WHERE rev<>(SELECT max(rev) FROM changes c WHERE c.case_id=id)`, "a case whose last change is missing"},
	} {
		rows, err := texts(ctx, b.db, q.query)
		if err != nil {
			return rep, err
		}
		for _, r := range rows {
			bad("database", r, q.what)
		}
	}
	if err := b.db.QueryRowContext(ctx, `SELECT count(*) FROM cases`).Scan(&rep.Cases); err != nil {
		return rep, err
	}
	if err := b.verifyChanges(ctx, &rep, bad); err != nil {
		return rep, err
	}
	sums, err := texts(ctx, b.db, `SELECT sha256 FROM blobs ORDER BY id`)
	if err != nil {
		return rep, err
	}
	for _, sum := range sums {
		count := &checked{to: io.Discard, h: sha256.New()}
		if err := b.copyBlob(ctx, sum, count); err != nil {
			bad("files", sum, reason(err))
		}
		rep.Files++
		rep.Bytes += count.n
	}
	return rep, ctx.Err()
}

func (b *Book) verifyChanges(ctx context.Context, rep *Report, bad func(field, value, limit string)) error {
	rows, err := b.db.QueryContext(ctx, `SELECT case_id, rev, doc FROM changes WHERE doc IS NOT NULL`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id string
		var rev int64
		var doc []byte
		if err := rows.Scan(&id, &rev, &doc); err != nil {
			return err
		}
		rep.Changes++
		c, err := unpacked(doc)
		if err == nil {
			err = c.Validate().Err()
		}
		if err == nil && c.ID != id {
			err = errors.New("another case's state")
		}
		if err != nil {
			bad("case", fmt.Sprintf("%s at %d", id, rev), err.Error())
		}
	}
	return rows.Err()
}

func texts(ctx context.Context, q querier, query string) ([]string, error) {
	rows, err := q.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []string
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, rows.Err()
}
