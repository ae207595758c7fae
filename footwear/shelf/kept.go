package shelf

import (
	"errors"
	"io"
	"io/fs"
	"path/filepath"

	"lastroom/internal/lock"
)

// Files that are no shoes and lie beside them for the next start, each under a name with a point in front.

func (s *Shelf) kept(name string) string { return filepath.Join(s.dir, "."+name) }

// Hold takes what is kept here for this program alone, until it is closed or the program ends; nil without an error: another
// program has it.
func (s *Shelf) Hold() (io.Closer, error) {
	if err := s.disk.Mkdir(s.dir); err != nil {
		return nil, diskProblem(s.dir, err)
	}
	f, err := lock.Take(s.kept("in-use"), 0)
	if f == nil { // not to be given on as an io.Closer that is none
		return nil, err
	}
	return f, err
}

// Keep puts a file in the place of the one of that name that is kept: it is there as before or as after, whatever happens.
func (s *Shelf) Keep(name string, from io.Reader) error {
	return s.writing(func() error {
		aside := filepath.Join(s.dir, stagePrefix+name)
		if err := s.disk.Write(aside, from); err != nil {
			return err
		}
		if err := s.disk.Rename(aside, s.kept(name)); err != nil {
			return err
		}
		return s.disk.Flush(s.dir)
	})
}

// Forget keeps the file no more.
func (s *Shelf) Forget(name string) error {
	if _, err := s.disk.Stat(s.kept(name)); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return s.writing(func() error { return s.disk.Remove(s.kept(name)) })
}

// Kept opens the file; it is nil when there is none.
func (s *Shelf) Kept(name string) (io.ReadCloser, error) {
	r, err := s.disk.Open(s.kept(name))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, diskProblem(s.kept(name), err)
	}
	return r, nil
}
