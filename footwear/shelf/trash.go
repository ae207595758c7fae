package shelf

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"

	"lastroom/internal/problem"
)

// What was done to a shoe that lies in the trash.
const (
	deleted  = "deleted"
	replaced = "replaced"
	undone   = "undone"
)

// A Step is something that Undo takes back.
type Step struct {
	What string // "deleted" or "replaced"
	ID   string
	Name string // of the shoe as it comes back; "" when its sheet can't be read

	number int
	dir    string
}

var stepName = regexp.MustCompile(`^(\d{6,9})-(deleted|replaced|undone)-(my(?:-[a-z0-9]+)+)$`)

// steps are all folders of the trash, oldest first.
func (s *Shelf) steps() ([]Step, error) {
	entries, err := s.disk.ReadDir(filepath.Join(s.dir, trashDir))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var out []Step
	for _, e := range entries {
		m := stepName.FindStringSubmatch(e.Name())
		if m == nil || !e.IsDir() {
			continue
		}
		n, err := strconv.Atoi(m[1])
		if err != nil {
			continue
		}
		out = append(out, Step{What: m[2], ID: m[3], number: n, dir: filepath.Join(s.dir, trashDir, e.Name())})
	}
	slices.SortStableFunc(out, func(a, b Step) int { return a.number - b.number })
	return out, nil
}

// nextStep is the path of a new folder of the trash.
func (s *Shelf) nextStep(what, id string) (string, error) {
	steps, err := s.steps()
	if err != nil {
		return "", err
	}
	n := 1
	if len(steps) > 0 {
		n = steps[len(steps)-1].number + 1
	}
	trash := filepath.Join(s.dir, trashDir)
	if err := s.disk.Mkdir(trash); err != nil {
		return "", err
	}
	return filepath.Join(trash, fmt.Sprintf("%06d-%s-%s", n, what, id)), nil
}

// keepOld puts a copy of a shoe's sheet as it is now into the trash.
func (s *Shelf) keepOld(id, what string) error {
	data, err := s.readFile(filepath.Join(s.dir, id, sheetFile), maxSheet)
	if err != nil {
		return err
	}
	to, err := s.nextStep(what, id)
	if err != nil {
		return err
	}
	trash := filepath.Dir(to)
	stage := filepath.Join(trash, stagePrefix+id)
	err = s.disk.Mkdir(stage)
	if err == nil {
		err = s.disk.Write(filepath.Join(stage, sheetFile), bytes.NewReader(data))
	}
	if err == nil {
		err = s.disk.Rename(stage, to)
	}
	if err != nil {
		_ = s.disk.Remove(stage)
		return err
	}
	return s.disk.Flush(trash)
}

// Delete takes a shoe off the shelf, with all its files. Undo brings it back.
func (s *Shelf) Delete(id string) error {
	return s.writing(func() error {
		if !ownID.MatchString(id) {
			return s.unknown(id)
		}
		from := filepath.Join(s.dir, id)
		if _, err := s.disk.Stat(from); errors.Is(err, fs.ErrNotExist) {
			return s.unknown(id)
		}
		to, err := s.nextStep(deleted, id)
		if err != nil {
			return err
		}
		if err := s.disk.Rename(from, to); err != nil {
			return err
		}
		return errors.Join(s.disk.Flush(filepath.Dir(to)), s.disk.Flush(s.dir))
	})
}

// Last is what Undo would take back; ok is false when there is nothing.
func (s *Shelf) Last() (step Step, ok bool) {
	steps, err := s.steps()
	if err != nil {
		return Step{}, false
	}
	return s.last(steps)
}

func (s *Shelf) last(steps []Step) (Step, bool) {
	for _, st := range slices.Backward(steps) {
		old, err := s.readFile(filepath.Join(st.dir, sheetFile), maxSheet)
		switch st.What {
		case deleted: // a bad sheet comes back as well
		case replaced:
			if err != nil {
				continue // it went back already
			}
			// A crash before the new sheet came in leaves a copy of what is there.
			if now, err := s.readFile(filepath.Join(s.dir, st.ID, sheetFile), maxSheet); err != nil || bytes.Equal(old, now) {
				continue
			}
		default:
			continue
		}
		st.Name = nameOf(old)
		return st, true
	}
	return Step{}, false
}

// Undo takes back the latest deleting or editing that is not taken back yet, also one of an earlier run. A sheet that it
// writes over stays in the trash.
func (s *Shelf) Undo() (Step, error) {
	var done Step
	err := s.writing(func() error {
		steps, err := s.steps()
		if err != nil {
			return err
		}
		st, ok := s.last(steps)
		if !ok {
			return problem.Problem{Field: "undo", Limit: "nothing was deleted or edited on this shelf", Mend: "go on"}
		}
		done = st
		home := filepath.Join(s.dir, st.ID)
		if st.What == deleted {
			if _, err := s.disk.Stat(home); err == nil {
				return problem.Problem{File: home, Limit: "there is a shoe of this identifier again", Mend: "copy that one and delete it first"}
			}
			if err := s.disk.Rename(st.dir, home); err != nil {
				return err
			}
			return errors.Join(s.disk.Flush(s.dir), s.disk.Flush(filepath.Dir(st.dir)))
		}
		if err := s.keepOld(st.ID, undone); err != nil {
			return err
		}
		if err := s.disk.Rename(filepath.Join(st.dir, sheetFile), filepath.Join(home, sheetFile)); err != nil {
			return err
		}
		return errors.Join(s.disk.Flush(home), s.disk.Remove(st.dir))
	})
	return done, err
}
