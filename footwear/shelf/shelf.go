package shelf

import (
	"bytes"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"lastroom/footwear"
	"lastroom/internal/problem"
)

// A Shelf is a folder of shoes. It holds no shoes itself: each call looks into the folder.
type Shelf struct {
	dir  string
	disk disk
}

// A Shoe is a shoe of the shelf.
type Shoe struct {
	Sheet    footwear.Sheet
	Scan     string // path of its scan, "" without one
	Standing string // path of the file that says how the scan stands, "" without one
	Stamp    uint64 // changes with the sheet and with the scan; equal stamps, equal shoes
}

// DefaultDir is the folder of a person's own shoes: lastroom/shoes below os.UserConfigDir.
func DefaultDir() (string, error) {
	base, err := os.UserConfigDir()
	if err != nil {
		return "", problem.Problem{Field: "shelf", Limit: err.Error(), Mend: "name a folder for your own shoes"}
	}
	return filepath.Join(base, "lastroom", "shoes"), nil
}

// Open opens the shelf in a folder, DefaultDir for "". The folder is made when the first shoe is put in. The error is a
// problem: there is something else of that name.
func Open(dir string) (*Shelf, error) {
	if dir == "" {
		var err error
		if dir, err = DefaultDir(); err != nil {
			return nil, err
		}
	}
	st, err := os.Stat(dir)
	switch {
	case err == nil && !st.IsDir():
		return nil, problem.Problem{File: dir, Limit: "a file, where the shelf needs a folder", Mend: "name another folder"}
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return nil, diskProblem(dir, err)
	}
	return &Shelf{dir: dir, disk: realDisk{}}, nil
}

// Dir is the shelf's folder.
func (s *Shelf) Dir() string { return s.dir }

var ownID = regexp.MustCompile(`^my(-[a-z0-9]+)+$`)

// Own says whether an identifier is that of a shoe of one's own.
func Own(id string) bool { return strings.HasPrefix(id, prefix) }

// All lists the shoes in the order of their names, and what could not be read, each with its file. A folder that is not
// there has no shoes.
func (s *Shelf) All() ([]Shoe, problem.Problems) {
	ids, ps := s.ids()
	var out []Shoe
	for _, id := range ids {
		shoe, err := s.read(id)
		if err != nil {
			ps = append(ps, asProblems(err)...)
			continue
		}
		out = append(out, shoe)
	}
	slices.SortStableFunc(out, func(a, b Shoe) int {
		return strings.Compare(a.Sheet.Name+"\x00"+a.Sheet.ID, b.Sheet.Name+"\x00"+b.Sheet.ID)
	})
	return out, ps
}

// ids are the names of the folders that are shoes, and what else lies there that is none.
func (s *Shelf) ids() ([]string, problem.Problems) {
	entries, err := s.disk.ReadDir(s.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, asProblems(diskProblem(s.dir, err))
	}
	var ids []string
	var ps problem.Problems
	for _, e := range entries {
		name := e.Name()
		switch {
		case strings.HasPrefix(name, "."):
		case e.IsDir() && ownID.MatchString(name):
			ids = append(ids, name)
		default:
			ps = append(ps, problem.Problem{
				File: filepath.Join(s.dir, name), Limit: "no shoe of this shelf", Mend: "import the file instead of putting it here",
			})
		}
	}
	if len(ids) > maxShoes {
		ps = append(ps, problem.Problem{
			File: s.dir, Value: strconv.Itoa(len(ids)) + " shoes", Limit: fmt.Sprintf("the first %d are shown", maxShoes), Mend: "move some to another folder",
		})
		ids = ids[:maxShoes]
	}
	return ids, ps
}

// Find gives one shoe.
func (s *Shelf) Find(id string) (Shoe, error) {
	if !ownID.MatchString(id) {
		return Shoe{}, s.unknown(id)
	}
	if _, err := s.disk.Stat(filepath.Join(s.dir, id)); errors.Is(err, fs.ErrNotExist) {
		return Shoe{}, s.unknown(id)
	}
	return s.read(id)
}

func (s *Shelf) unknown(id string) error {
	if r := []rune(id); len(r) > 60 {
		id = string(r[:60]) + "…"
	}
	return problem.Problem{Field: "shoe", Value: strconv.Quote(id), Limit: "not on this shelf: " + s.dir, Mend: "choose one from the list of your own shoes"}
}

func (s *Shelf) read(id string) (Shoe, error) {
	dir := filepath.Join(s.dir, id)
	name := filepath.Join(dir, sheetFile)
	data, err := s.readFile(name, maxSheet)
	if err != nil {
		return Shoe{}, err
	}
	sheet, err := footwear.ReadSheet(bytes.NewReader(data), name)
	if err != nil {
		return Shoe{}, err
	}
	if sheet.ID != id {
		return Shoe{}, problem.Problem{
			File: name, Field: "id", Value: strconv.Quote(sheet.ID), Limit: "the name of its folder, " + strconv.Quote(id), Mend: "give both the same name",
		}
	}
	shoe := Shoe{Sheet: sheet}
	h := fnv.New64a()
	_, _ = h.Write(data)
	for _, kind := range ScanKinds {
		path := filepath.Join(dir, scanStem+"."+kind)
		if st, err := s.disk.Stat(path); err == nil && st.Mode().IsRegular() {
			shoe.Scan = path
			fmt.Fprint(h, kind, st.Size(), st.ModTime().UnixNano())
			break
		}
	}
	if path := filepath.Join(dir, standingFile); shoe.Scan != "" {
		if data, err := s.readFile(path, maxStanding); err == nil {
			shoe.Standing = path
			_, _ = h.Write(data)
		}
	}
	shoe.Stamp = max(1, h.Sum64())
	return shoe, nil
}

// readFile reads a file of a bounded size that is a plain file.
func (s *Shelf) readFile(name string, most int64) ([]byte, error) {
	f, err := s.openFile(name, most)
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(io.LimitReader(f, most))
	if err = errors.Join(err, f.Close()); err != nil {
		return nil, diskProblem(name, err)
	}
	return data, nil
}

func (s *Shelf) openFile(name string, most int64) (io.ReadCloser, error) {
	st, err := s.disk.Stat(name)
	switch {
	case err != nil:
		return nil, diskProblem(name, err)
	case !st.Mode().IsRegular():
		return nil, problem.Problem{File: name, Limit: "a plain file is needed", Mend: "put the file itself there"}
	case st.Size() > most:
		return nil, problem.Problem{File: name, Value: fmt.Sprintf("%d bytes", st.Size()), Limit: fmt.Sprintf("at most %d", most), Mend: "choose another file"}
	}
	f, err := s.disk.Open(name)
	if err != nil {
		return nil, diskProblem(name, err)
	}
	return f, nil
}

// diskProblem brings an error of the file system into the one form.
func diskProblem(name string, err error) error {
	var p problem.Problem
	var ps problem.Problems
	if errors.As(err, &p) || errors.As(err, &ps) {
		return err
	}
	mend := "check the disk and the folder, and do it again"
	switch {
	case errors.Is(err, fs.ErrPermission):
		mend = "give yourself the right to it, or use another folder"
	case errors.Is(err, fs.ErrNotExist):
		mend = "check the name"
	}
	var path *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &path):
		name, err = path.Path, path.Err
	case errors.As(err, &link):
		err = link.Err
	}
	return problem.Problem{File: name, Limit: err.Error(), Mend: mend}
}

func asProblems(err error) problem.Problems {
	var p problem.Problem
	var ps problem.Problems
	switch {
	case err == nil:
		return nil
	case errors.As(err, &ps):
		return ps
	case errors.As(err, &p):
		return problem.Problems{p}
	}
	return problem.Problems{{Limit: err.Error()}}
}
