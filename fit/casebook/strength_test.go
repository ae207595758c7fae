package casebook

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/internal/problem"
)

var kills = flag.Int("kills", 60, "how many processes are killed in the middle of a write")

// writerEnv tells the test binary that it is to write until it is killed; its value is the casebook's file.
const writerEnv = "LASTROOM_TEST_WRITER"

func TestMain(m *testing.M) {
	if file := os.Getenv(writerEnv); file != "" {
		write(file)
	}
	os.Exit(m.Run())
}

// write adds notes, undoes and redoes, and attaches files, and says each that is confirmed.
func write(file string) {
	ctx := context.Background()
	b, err := Open(ctx, file, Settings{Wait: 10 * time.Second})
	if err != nil {
		fmt.Println("failed", err)
		os.Exit(1)
	}
	s, err := b.Get(ctx, "K")
	if err != nil {
		fmt.Println("failed", err)
		os.Exit(1)
	}
	for n := len(s.Case.Notes) + 1; ; n++ {
		fmt.Println("try", n)
		_, err := b.Change(ctx, s.Case.ID, 0, func(c *Case) error { c.AddNote(day, "note "+strconv.Itoa(n)); return nil })
		if err == nil && n%5 == 0 {
			if _, err = b.Undo(ctx, s.Case.ID); err == nil {
				_, err = b.Redo(ctx, s.Case.ID)
			}
		}
		if err != nil {
			fmt.Println("failed", err)
			os.Exit(1)
		}
		fmt.Println("done", n)
		if n%7 == 0 {
			_, _, _ = b.Attach(ctx, s.Case.ID, File{Kind: "photograph", Name: strconv.Itoa(n) + ".jpg"}, strings.NewReader(strings.Repeat("x", 20_000)+strconv.Itoa(n)))
		}
	}
}

// A real process is killed at any moment of its writing, again and again on the same file: what it had confirmed is there, and nothing
// but whole changes.
func TestAKilledProgramLosesNothingThatWasConfirmed(t *testing.T) {
	file := filepath.Join(t.TempDir(), "book.db")
	b, err := Open(t.Context(), file, Settings{})
	require.NoError(t, err)
	_, err = b.New(t.Context(), "K")
	require.NoError(t, err)
	require.NoError(t, b.Close())
	rng := rand.New(rand.NewPCG(3, 5))
	inTheMiddle := 0
	for kill := range *kills {
		cmd := exec.Command(os.Args[0], "-test.run=^$")
		cmd.Env = append(os.Environ(), writerEnv+"="+file)
		out, err := cmd.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, cmd.Start())
		// It dies some microseconds after it began one of its first changes.
		until := 1 + rng.IntN(6)
		lines := bufio.NewScanner(out)
		tried, done := 0, 0
		for lines.Scan() {
			var n int
			switch word, rest, _ := strings.Cut(lines.Text(), " "); word {
			case "try":
				n, _ = strconv.Atoi(rest)
				tried = n
				if until--; until == 0 {
					wait := time.Duration(rng.IntN(3000)) * time.Microsecond
					go func() {
						time.Sleep(wait)
						_ = cmd.Process.Kill()
					}()
				}
			case "done":
				done, _ = strconv.Atoi(rest)
			default:
				require.Fail(t, "the writer stopped by itself", lines.Text())
			}
		}
		_ = cmd.Wait()
		if tried > done {
			inTheMiddle++
		}
		b, err := Open(t.Context(), file, Settings{})
		require.NoError(t, err, "kill %d", kill)
		s, err := b.Get(t.Context(), "K")
		require.NoError(t, err)
		n := len(s.Case.Notes)
		require.GreaterOrEqual(t, n, done, "what was confirmed is there")
		require.LessOrEqual(t, n, max(tried, done))
		for i, note := range s.Case.Notes {
			require.Equal(t, "note "+strconv.Itoa(i+1), note.Text)
		}
		if kill%10 == 9 || kill == *kills-1 {
			requireSound(t, b)
		}
		require.NoError(t, b.Close())
	}
	assert.Greater(t, inTheMiddle, *kills/10, "some died in the middle of a change")
	t.Logf("%d of %d died in the middle of a change", inTheMiddle, *kills)
}

func TestAFullDiskEndsTheOneChange(t *testing.T) {
	b := bookIn(t, t.TempDir())
	id := full(t, b, "A-1").Case.ID
	before := mustGet(t, b, id)
	var pages int
	require.NoError(t, b.db.QueryRow(`PRAGMA page_count`).Scan(&pages))
	_, err := b.db.Exec(`PRAGMA max_page_count = ` + strconv.Itoa(pages))
	require.NoError(t, err)
	letters := rand.New(rand.NewPCG(1, 1))
	long := make([]byte, 1<<19) // that does not pack
	for i := range long {
		long[i] = byte('a' + letters.IntN(26))
	}
	_, _, err = b.Attach(t.Context(), id, File{Kind: "photograph", Name: "big.jpg"}, bytes.NewReader(long))
	assert.Contains(t, limitOf(t, err), "the disk is full")
	assert.Equal(t, before, mustGet(t, b, id), "all before it is there")
	requireSound(t, b)
	_, err = b.db.Exec(`PRAGMA max_page_count = 1000000`)
	require.NoError(t, err)
	_, _, err = b.Attach(t.Context(), id, File{Kind: "photograph", Name: "big.jpg"}, bytes.NewReader(long))
	require.NoError(t, err, "with room it goes on")
}

// closedBook is the file of a book with a few cases and a backup.
func closedBook(t *testing.T) (file, backup string) {
	t.Helper()
	dir := t.TempDir()
	b := bookIn(t, dir)
	for i := range 4 {
		full(t, b, fmt.Sprintf("A-%d", i))
	}
	backup, err := b.Backup(t.Context())
	require.NoError(t, err)
	require.NoError(t, b.Close())
	return filepath.Join(dir, "book.db"), backup
}

// A book that was cut off or overwritten somewhere is told from a sound one, and the backup takes its place; or it is as good as it was.
func TestADamagedBookOffersItsBackup(t *testing.T) {
	file, backup := closedBook(t)
	whole, err := os.ReadFile(file)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(9, 9))
	found := 0
	for i := range 60 {
		data := bytes.Clone(whole)
		if i%2 == 0 {
			data = data[:rng.IntN(len(data))]
		} else {
			at := rng.IntN(len(data) - 64)
			for k := range 64 {
				data[at+k] = byte(rng.Uint32())
			}
		}
		require.NoError(t, os.WriteFile(file, data, 0o600))
		b, err := Open(t.Context(), file, Settings{})
		var d *Damaged
		if err == nil {
			rep, verr := b.Verify(t.Context())
			cut := i%2 == 0
			if verr == nil && len(rep.Problems) == 0 {
				assert.False(t, cut, "a file that was cut off is never sound")
				assert.Equal(t, 4, rep.Cases, "what it holds is as it was")
			} else {
				found++
			}
			require.NoError(t, b.Close())
			continue
		}
		found++
		if errors.As(err, &d) {
			assert.Equal(t, backup, d.Backup, "the newest backup is offered")
			assert.Contains(t, err.Error(), file)
		} else {
			var p problem.Problem
			require.ErrorAs(t, err, &p, "%d", i) // no casebook by its first bytes
		}
	}
	assert.Greater(t, found, 35)

	require.NoError(t, os.WriteFile(file, whole[:len(whole)/2], 0o600))
	kept, err := Restore(t.Context(), file, backup)
	require.NoError(t, err)
	assert.FileExists(t, kept, "the damaged one is kept")
	b, err := Open(t.Context(), file, Settings{})
	require.NoError(t, err)
	defer b.Close()
	rep := requireSound(t, b)
	assert.Equal(t, 4, rep.Cases)
	assert.Contains(t, strings.Join(b.Notices(), " "), kept, "of which one is told")
}

// A clock that goes back by a year, and forward again: the order of what was done, undo and the daily backups do not follow it.
func TestAClockThatGoesBack(t *testing.T) {
	dir := t.TempDir()
	b := bookIn(t, dir)
	at := day
	b.now = func() time.Time { return at }
	s := started(t, b, "A-1")
	noted(t, b, s.Case.ID, "one")
	_, err := b.Backup(t.Context())
	require.NoError(t, err)
	at = day.AddDate(-1, 0, 0)
	noted(t, b, s.Case.ID, "two")
	at = day.AddDate(-1, 0, 2)
	noted(t, b, s.Case.ID, "three")
	h, err := b.History(t.Context(), s.Case.ID)
	require.NoError(t, err)
	require.Len(t, h, 4)
	for i := 1; i < len(h); i++ {
		assert.Greater(t, h[i].Rev, h[i-1].Rev)
	}
	assert.True(t, h[2].At.Before(h[1].At), "each says what the clock showed")
	_, err = b.Undo(t.Context(), s.Case.ID)
	require.NoError(t, err)
	s, err = b.Get(t.Context(), "A-1")
	require.NoError(t, err)
	require.Len(t, s.Case.Notes, 2)
	assert.Equal(t, "two", s.Case.Notes[1].Text, "the last one is taken back, not the one of the latest date")
	requireSound(t, b)

	require.NoError(t, b.dailyBackup(t.Context()))
	all, err := Backups(b.file)
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.False(t, all[0].At.After(at), "the backup has the present as its date")
	at = at.Add(25 * time.Hour)
	noted(t, b, s.Case.ID, "four")
	require.NoError(t, b.dailyBackup(t.Context()))
	all, err = Backups(b.file)
	require.NoError(t, err)
	assert.Len(t, all, 2, "and the next day has its own")
}

// A file that goes away, or is cut off, while it is read is told, and what stands stays.
func TestAFileThatVanishesWhileItIsRead(t *testing.T) {
	b := bookIn(t, t.TempDir())
	full(t, b, "A-1")
	out := filepath.Join(t.TempDir(), "A-1.lastroom")
	s, err := b.Get(t.Context(), "A-1")
	require.NoError(t, err)
	require.NoError(t, b.ExportFile(t.Context(), s.Case.ID, out))
	p, err := OpenPacket(out)
	require.NoError(t, err)
	defer p.Close()
	require.NoError(t, os.Truncate(out, 100))
	other := bookIn(t, t.TempDir())
	_, err = other.Import(t.Context(), p, ImportOptions{})
	require.Error(t, err)
	rep := requireSound(t, other)
	assert.Zero(t, rep.Cases, "nothing half is taken in")
	require.NoError(t, os.Remove(out))
	_, err = OpenPacket(out)
	require.ErrorContains(t, err, "A-1.lastroom")
	_, _, err = b.Attach(t.Context(), s.Case.ID, File{Kind: "scan", Name: "x.stl"}, &vanishing{left: 100_000})
	require.Error(t, err)
	again, err := b.Get(t.Context(), "A-1")
	require.NoError(t, err)
	assert.Equal(t, len(s.Case.Files), len(again.Case.Files), "no half file is attached")
	requireSound(t, b)
}

// vanishing gives some bytes and then fails, as a file on a stick that is pulled out.
type vanishing struct{ left int }

func (v *vanishing) Read(p []byte) (int, error) {
	if v.left <= 0 {
		return 0, errors.New("the device is gone")
	}
	n := min(len(p), v.left)
	v.left -= n
	return n, nil
}

func TestANewerBookIsRefusedAndLeftUntouched(t *testing.T) {
	file, _ := closedBook(t)
	db, err := connect(file, false)
	require.NoError(t, err)
	_, err = db.Exec(`PRAGMA user_version = 99`)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	before, err := os.ReadFile(file)
	require.NoError(t, err)
	_, err = Open(t.Context(), file, Settings{})
	assert.Contains(t, limitOf(t, err), "left untouched")
	after, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, before, after)
}

func TestAnOlderBookIsBroughtUpToDateBehindABackup(t *testing.T) {
	file, _ := closedBook(t)
	before, err := Backups(file)
	require.NoError(t, err)
	steps := append(migrations[:len(migrations):len(migrations)], migration{`CREATE TABLE later (x TEXT)`})
	b, err := open(t.Context(), file, Settings{}, steps)
	require.NoError(t, err)
	assert.Contains(t, strings.Join(b.Notices(), " "), "a backup of it as it was")
	var n int
	require.NoError(t, b.db.QueryRow(`SELECT count(*) FROM later`).Scan(&n))
	require.NoError(t, b.Close())
	after, err := Backups(file)
	require.NoError(t, err)
	assert.Greater(t, len(after), len(before))
	_, err = Open(t.Context(), file, Settings{}) // the program of before
	assert.Contains(t, limitOf(t, err), "left untouched")

	bad := append(steps[:len(steps):len(steps)], migration{`CREATE TABLE half (x TEXT)`, `this is no statement`})
	_, err = open(t.Context(), file, Settings{}, bad)
	require.Error(t, err, "a step that fails")
	b, err = open(t.Context(), file, Settings{}, steps)
	require.NoError(t, err, "leaves all as it was")
	defer b.Close()
	assert.Error(t, b.db.QueryRow(`SELECT count(*) FROM half`).Scan(&n))
}

func TestTheSecondProgramReads(t *testing.T) {
	dir := t.TempDir()
	first := bookIn(t, dir)
	id := started(t, first, "A-1").Case.ID
	second, err := Open(t.Context(), filepath.Join(dir, "book.db"), Settings{})
	require.NoError(t, err)
	defer second.Close()
	why, readOnly := second.ReadOnly()
	assert.True(t, readOnly)
	assert.Contains(t, why, "another program")
	_, err = second.New(t.Context(), "A-2")
	require.Error(t, err)
	noted(t, first, id, "written meanwhile")
	require.NoError(t, second.Refresh(t.Context()))
	assert.Len(t, mustGet(t, second, id).Case.Notes, 1)
	found, _ := second.Search("meanwhile", 0)
	assert.Len(t, found, 1)
}

// packedParts are some bytes out of the middle of each state of a case, as the journal has them: no text is found in those.
func packedParts(t *testing.T, b *Book, id string) (parts []string) {
	t.Helper()
	rows, err := b.db.Query(`SELECT doc FROM changes WHERE case_id=? AND doc IS NOT NULL`, id)
	require.NoError(t, err)
	defer rows.Close()
	for rows.Next() {
		var doc []byte
		require.NoError(t, rows.Scan(&doc))
		require.Greater(t, len(doc), 64)
		parts = append(parts, string(doc[len(doc)/2-12:len(doc)/2+12]))
	}
	require.NoError(t, rows.Err())
	require.NotEmpty(t, parts)
	return parts
}

// What is deleted is in none of the casebook's files any more.
func TestDeletedIsGoneFromTheDisk(t *testing.T) {
	dir := t.TempDir()
	b := bookIn(t, dir)
	keep := started(t, b, "A-1").Case.ID
	noted(t, b, keep, "stays where it is")
	id := started(t, b, "ZEBRACODE").Case.ID
	noted(t, b, id, "zebrafinch in a note")
	_, _, err := b.Attach(t.Context(), id, File{Kind: "photograph", Name: "zebra.jpg"}, strings.NewReader(strings.Repeat("zebraphotograph ", 5000)))
	require.NoError(t, err)
	letters := rand.New(rand.NewPCG(4, 4))
	long := make([]byte, 19_000) // over several pages
	for i := range long {
		long[i] = byte('a' + letters.IntN(26))
	}
	noted(t, b, id, string(long))
	packed := packedParts(t, b, id)
	_, err = b.Backup(t.Context())
	require.NoError(t, err)
	in := func(what string) (files []string) {
		require.NoError(t, filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			data, err := os.ReadFile(name)
			if bytes.Contains(data, []byte(what)) || bytes.Contains(bytes.ToLower(data), []byte(what)) {
				files = append(files, name)
			}
			return err
		}))
		return files
	}
	require.Len(t, in("zebra"), 2, "in the book and its backup")
	for i, part := range packed {
		require.Len(t, in(part), 2, "part %d of the journal", i)
	}
	require.NoError(t, b.Delete(t.Context(), id))
	assert.Empty(t, in("zebra"))
	for i, part := range packed {
		assert.Empty(t, in(part), "part %d of the journal", i)
	}
	assert.NotEmpty(t, in("stays where it is"))
	requireSound(t, b)
	require.NoError(t, b.Close())
	assert.Empty(t, in("zebra"))
	assert.Equal(t, os.FileMode(0o600), mode(t, filepath.Join(dir, "book.db")))
}

// A deletion whose backups can't be replaced says that something may be left; the next opening finishes it.
func TestADeletionThatWasStoppedIsFinishedAtTheNextOpening(t *testing.T) {
	dir := t.TempDir()
	b := bookIn(t, dir)
	id := started(t, b, "A-1").Case.ID
	noted(t, b, id, "zebrafinch in a note")
	old, err := b.Backup(t.Context())
	require.NoError(t, err)
	inTheWay := filepath.Join(backupDir(b.File()), "unfinished", "x")
	require.NoError(t, os.MkdirAll(inTheWay, 0o700))
	assert.Contains(t, limitOf(t, b.Delete(t.Context(), id)), "may still be in")
	_, of := b.Search("", 0)
	assert.Zero(t, of, "the case is gone all the same")
	assert.FileExists(t, old)
	require.NoError(t, b.Close())

	b = bookIn(t, dir)
	assert.Contains(t, strings.Join(b.Notices(), " "), "may still be in the backups")
	require.NoError(t, b.Close())
	require.NoError(t, os.RemoveAll(filepath.Dir(inTheWay)))
	b = bookIn(t, dir)
	assert.Empty(t, b.Notices())
	assert.NoFileExists(t, old)
	left, err := Backups(b.File())
	require.NoError(t, err)
	assert.Len(t, left, 1, "a new one took its place")
	requireSound(t, b)
}
