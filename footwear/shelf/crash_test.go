package shelf

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/internal/problem"
)

// unsynced is the system's file system without waiting for the disk.
type unsynced struct{ realDisk }

func (unsynced) Write(name string, from io.Reader) error {
	data, err := io.ReadAll(from)
	if err != nil {
		return err
	}
	return os.WriteFile(name, data, 0o600)
}

func (unsynced) Flush(string) error { return nil }

// failing is the system's file system up to a step; from there on nothing is written any more, as when the program was
// killed there, or only that one step fails, as on a full disk.
type failing struct {
	unsynced
	at, step int
	once     bool
	err      error
}

func (d *failing) fails() bool {
	d.step++
	return d.step == d.at || d.step > d.at && !d.once
}

func (d *failing) Mkdir(dir string) error {
	if d.fails() {
		return d.err
	}
	return d.unsynced.Mkdir(dir)
}

func (d *failing) Write(name string, from io.Reader) error {
	if d.fails() { // half of it gets there
		data, err := io.ReadAll(from)
		if err != nil {
			return err
		}
		return errors.Join(d.unsynced.Write(name, bytes.NewReader(data[:len(data)/2])), d.err)
	}
	return d.unsynced.Write(name, from)
}

func (d *failing) Rename(from, to string) error {
	if d.fails() {
		return &os.LinkError{Op: "rename", Old: from, New: to, Err: d.err}
	}
	return d.unsynced.Rename(from, to)
}

func (d *failing) Remove(name string) error {
	if d.fails() {
		return d.err
	}
	return d.unsynced.Remove(name)
}

func (d *failing) Flush(dir string) error {
	if d.fails() {
		return d.err
	}
	return d.unsynced.Flush(dir)
}

// shelfState says what is on a shelf: each shoe's name and ball width, and its scan's text.
func shelfState(t *testing.T, dir string) map[string]string {
	t.Helper()
	s, err := Open(dir)
	require.NoError(t, err)
	all, ps := s.All()
	require.Empty(t, ps, "no half shoe")
	out := map[string]string{}
	for _, shoe := range all {
		text := fmt.Sprint(shoe.Sheet.Name, shoe.Sheet.V(footwear.BallWidth))
		if shoe.Scan != "" {
			data, err := os.ReadFile(shoe.Scan)
			require.NoError(t, err)
			text += string(data)
		}
		out[shoe.Sheet.ID] = text
	}
	return out
}

func TestWhateverStepFailsEachShoeIsAsBeforeOrAsAfter(t *testing.T) {
	scan := filepath.Join(t.TempDir(), "scan.obj")
	write(t, scan, "v 0 0 0\n")
	const id = "my-work-clog"
	edit := func(s *Shelf) error {
		shoe, err := s.Find(id)
		if err != nil {
			return err
		}
		shoe.Sheet.M[footwear.BallWidth].Value++
		_, err = s.Replace(shoe.Sheet, shoe.Stamp)
		return err
	}
	undo := func(s *Shelf) error { _, err := s.Undo(); return err }
	add := func(s *Shelf) error {
		sheet, err := footwear.Demo().Find("work-clog")
		if err != nil {
			return err
		}
		_, err = s.Add(sheet, Files{Scan: scan})
		return err
	}
	remove := func(s *Shelf) error { return s.Delete(id) }
	type does = func(*Shelf) error
	for name, c := range map[string]struct {
		before   []does
		work     does
		undoable bool
	}{
		"add the first":  {work: add},
		"add a second":   {before: []does{add}, work: add},
		"edit":           {before: []does{add}, work: edit, undoable: true},
		"delete":         {before: []does{add}, work: remove, undoable: true},
		"undo of delete": {before: []does{add, remove}, work: undo},
		"undo of edit":   {before: []does{add, edit}, work: undo},
	} {
		t.Run(name, func(t *testing.T) {
			for _, once := range []bool{false, true} {
				steps := 0
				var after map[string]string
				for at, done := 1, false; !done; at++ {
					s := open(t)
					s.disk = unsynced{}
					for _, f := range c.before {
						require.NoError(t, f(s))
					}
					before := shelfState(t, s.Dir())
					d := &failing{at: at, once: once, err: errors.New("no space left on device")}
					s.disk = d
					err := c.work(s)
					now := shelfState(t, s.Dir())
					if d.step < at { // no step was left to fail
						done = true
						require.NoError(t, err)
						assert.NotEqual(t, before, now)
						continue
					}
					steps++
					if err != nil {
						assert.ErrorContains(t, err, "no space left", "step %d", at)
					}
					// The next start does the work again, unless it was done; then all is as if nothing had happened.
					again, err := Open(s.Dir())
					require.NoError(t, err)
					again.disk = unsynced{}
					if fmt.Sprint(now) == fmt.Sprint(before) {
						require.NoError(t, c.work(again), "step %d", at)
						now = shelfState(t, s.Dir())
					}
					assert.NotEqual(t, before, now, "step %d", at)
					if after == nil {
						after = now
					}
					assert.Equal(t, after, now, "step %d", at)
					if c.undoable {
						require.NoError(t, undo(again))
						assert.Equal(t, before, shelfState(t, s.Dir()), "step %d", at)
					}
					require.NoError(t, add(again))
					entries, err := os.ReadDir(s.Dir())
					require.NoError(t, err)
					for _, e := range entries {
						assert.False(t, strings.HasPrefix(e.Name(), stagePrefix), "left over: %s", e.Name())
					}
				}
				assert.GreaterOrEqual(t, steps, 3)
			}
		})
	}
}

// A folder that may be read and not written.
type readOnly struct{ realDisk }

func (readOnly) Mkdir(string) error { return nil }
func (readOnly) Lock(name string) (func(), error) {
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrPermission}
}

func TestAFolderThatCantBeWrittenStillShowsItsShoes(t *testing.T) {
	s := open(t)
	shoe := add(t, s, "work-clog")
	s.disk = readOnly{}
	assert.Equal(t, []string{"my-work-clog"}, ids(t, s))
	for name, err := range map[string]error{
		"add":    func() error { _, err := s.Add(shoe.Sheet, Files{}); return err }(),
		"edit":   func() error { _, err := s.Replace(shoe.Sheet, shoe.Stamp); return err }(),
		"delete": s.Delete("my-work-clog"),
		"undo":   func() error { _, err := s.Undo(); return err }(),
	} {
		var p problem.Problem
		require.ErrorAs(t, err, &p, name)
		assert.Contains(t, p.Limit, "permission denied", name)
		assert.Contains(t, p.Mend, "another folder", name)
	}
}

// A disk that gives an error when it is read.
type unreadable struct {
	realDisk
	name string
}

func (u unreadable) Open(name string) (io.ReadCloser, error) {
	if strings.Contains(name, u.name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: errors.New("input/output error")}
	}
	return u.realDisk.Open(name)
}

func (u unreadable) ReadDir(dir string) ([]fs.DirEntry, error) {
	if u.name == "" {
		return nil, &fs.PathError{Op: "readdir", Path: dir, Err: errors.New("input/output error")}
	}
	return u.realDisk.ReadDir(dir)
}

func TestAReadErrorIsToldAndHidesNoOther(t *testing.T) {
	s := open(t)
	add(t, s, "work-clog")
	add(t, s, "hiking-boot")
	s.disk = unreadable{name: "clog"}
	all, ps := s.All()
	assert.Len(t, all, 1)
	require.Len(t, ps, 1)
	assert.Contains(t, ps[0].Error(), "input/output error")
	s.disk = unreadable{}
	all, ps = s.All()
	assert.Empty(t, all)
	require.Len(t, ps, 1)
	assert.Equal(t, s.Dir(), ps[0].File)
}
