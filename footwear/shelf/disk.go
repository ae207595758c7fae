package shelf

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"lastroom/internal/lock"
)

// A disk is what the shelf asks of the file system, so that tests can make any step of it fail.
type disk interface {
	ReadDir(dir string) ([]fs.DirEntry, error)
	Stat(name string) (fs.FileInfo, error) // of a link itself
	Open(name string) (io.ReadCloser, error)
	Mkdir(dir string) error // with its parents; no error when it is there
	Write(name string, from io.Reader) error
	Rename(from, to string) error
	Remove(name string) error // with all below it; no error when it is not there
	Flush(dir string) error   // what was renamed in a folder
	Lock(name string) (unlock func(), err error)
}

// realDisk is the system's.
type realDisk struct{}

func (realDisk) ReadDir(dir string) ([]fs.DirEntry, error) { return os.ReadDir(dir) }
func (realDisk) Stat(name string) (fs.FileInfo, error)     { return os.Lstat(name) }
func (realDisk) Open(name string) (io.ReadCloser, error)   { return os.Open(name) }
func (realDisk) Mkdir(dir string) error                    { return os.MkdirAll(dir, 0o755) }
func (realDisk) Rename(from, to string) error              { return os.Rename(from, to) }
func (realDisk) Remove(name string) error                  { return os.RemoveAll(name) }

// Write makes a new file and returns when it is on the disk.
func (realDisk) Write(name string, from io.Reader) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = io.Copy(f, from)
	return errors.Join(err, f.Sync(), f.Close())
}

func (realDisk) Flush(dir string) error {
	f, err := os.Open(filepath.Clean(dir))
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

const lockPatience = 3 * time.Second

var errLocked = errors.New("another program has been writing to the folder for 3 seconds")

func (realDisk) Lock(name string) (func(), error) {
	f, err := lock.Take(name, lockPatience)
	switch {
	case err != nil:
		return nil, err
	case f == nil:
		return nil, errLocked
	}
	return func() { _ = f.Close() }, nil
}
