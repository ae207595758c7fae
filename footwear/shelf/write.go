package shelf

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"lastroom/footwear"
	"lastroom/internal/problem"
)

// writing runs f with the folder made, the lock held and what is left of earlier, broken work swept away.
func (s *Shelf) writing(f func() error) error {
	if err := s.disk.Mkdir(s.dir); err != nil {
		return diskProblem(s.dir, err)
	}
	unlock, err := s.disk.Lock(filepath.Join(s.dir, lockFile))
	if err != nil {
		return diskProblem(s.dir, err)
	}
	defer unlock()
	if err := s.sweep(); err != nil {
		return diskProblem(s.dir, err)
	}
	if err := f(); err != nil {
		return diskProblem(s.dir, err)
	}
	return nil
}

// sweep removes unfinished work and the trash that is too old. Work is only under way while the lock is held.
func (s *Shelf) sweep() error {
	for _, dir := range []string{s.dir, filepath.Join(s.dir, trashDir)} {
		entries, err := s.disk.ReadDir(dir)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return err
		}
		for _, e := range entries {
			if strings.HasPrefix(e.Name(), stagePrefix) {
				if err := s.disk.Remove(filepath.Join(dir, e.Name())); err != nil {
					return err
				}
			}
		}
	}
	steps, err := s.steps()
	if err != nil {
		return err
	}
	for len(steps) > maxHistory {
		if err := s.disk.Remove(steps[0].dir); err != nil {
			return err
		}
		steps = steps[1:]
	}
	return nil
}

// Files are what a new shoe brings beside its sheet: paths, "" for none.
type Files struct {
	Scan     string // its kind is one of ScanKinds
	Standing string // JSON that says how the scan stands
}

// Add puts a new shoe on the shelf. It gets an identifier of its own, made from the sheet's or, when that is empty, from
// its name. The files are copied.
func (s *Shelf) Add(sheet footwear.Sheet, files Files) (Shoe, error) {
	if sheet.ID == "" {
		sheet.ID = IDFor(sheet.Name)
	}
	var id string
	err := s.writing(func() error {
		var err error
		if id, err = s.freeID(sheet.ID); err != nil {
			return err
		}
		sheet.ID = id
		stage := filepath.Join(s.dir, stagePrefix+id)
		if err := s.disk.Mkdir(stage); err != nil {
			return err
		}
		err = s.stage(stage, sheet, files)
		if err == nil {
			err = s.disk.Rename(stage, filepath.Join(s.dir, id))
		}
		if err != nil {
			_ = s.disk.Remove(stage) // else the next writer sweeps it
			return err
		}
		return s.disk.Flush(s.dir)
	})
	if err != nil {
		return Shoe{}, err
	}
	return s.Find(id)
}

// stage writes a shoe into a folder aside.
func (s *Shelf) stage(dir string, sheet footwear.Sheet, files Files) error {
	var b bytes.Buffer
	if err := footwear.WriteSheet(&b, sheet); err != nil {
		return err
	}
	if err := s.disk.Write(filepath.Join(dir, sheetFile), &b); err != nil {
		return err
	}
	if files.Scan != "" {
		kind, ok := scanKind(files.Scan)
		if !ok {
			return problem.Problem{
				File: files.Scan, Field: "scan", Limit: "one of " + strings.Join(ScanKinds, ", "), Mend: "save the scan as one of these",
			}
		}
		if err := s.copyFile(files.Scan, filepath.Join(dir, scanStem+"."+kind), maxScan); err != nil {
			return err
		}
	}
	if files.Standing != "" {
		if err := s.copyFile(files.Standing, filepath.Join(dir, standingFile), maxStanding); err != nil {
			return err
		}
	}
	return s.disk.Flush(dir)
}

func scanKind(path string) (string, bool) {
	ext := strings.ToLower(strings.TrimPrefix(filepath.Ext(path), "."))
	for _, k := range ScanKinds {
		if k == ext {
			return k, true
		}
	}
	return "", false
}

func (s *Shelf) copyFile(from, to string, most int64) error {
	f, err := s.openFile(from, most)
	if err != nil {
		return err
	}
	return errors.Join(s.disk.Write(to, f), f.Close())
}

// Replace puts an edited sheet in the place of the one with its identifier, which goes to the trash; a scan stays. was is
// the stamp of the shoe that was edited: when it has been changed since by someone else, nothing is written.
func (s *Shelf) Replace(sheet footwear.Sheet, was uint64) (Shoe, error) {
	var b bytes.Buffer
	if err := footwear.WriteSheet(&b, sheet); err != nil {
		return Shoe{}, err
	}
	err := s.writing(func() error {
		now, err := s.Find(sheet.ID)
		if err != nil {
			return err
		}
		if now.Stamp != was {
			return problem.Problem{
				File: filepath.Join(s.dir, sheet.ID, sheetFile), Limit: "changed by another program since it was opened", Mend: "open it again, or save this one as a copy",
			}
		}
		fresh := filepath.Join(s.dir, stagePrefix+sheet.ID)
		if err := s.disk.Write(fresh, &b); err != nil {
			_ = s.disk.Remove(fresh)
			return err
		}
		if err := s.keepOld(sheet.ID, replaced); err != nil {
			_ = s.disk.Remove(fresh)
			return err
		}
		dir := filepath.Join(s.dir, sheet.ID)
		if err := s.disk.Rename(fresh, filepath.Join(dir, sheetFile)); err != nil {
			return err
		}
		return s.disk.Flush(dir)
	})
	if err != nil {
		return Shoe{}, err
	}
	return s.Find(sheet.ID)
}

// Copy puts a second shoe like one of one's own or the program's on the shelf, under another name, with its scan.
func (s *Shelf) Copy(id string) (Shoe, error) {
	shoe, err := s.source(id)
	if err != nil {
		return Shoe{}, err
	}
	shoe.Sheet.Name = named("Copy of "+shoe.Sheet.Name, "")
	return s.Add(shoe.Sheet, Files{shoe.Scan, shoe.Standing})
}

// Graded puts a shoe on the shelf that is one of one's own or the program's in another size. A scan shows the size it was
// taken in and is not taken along.
func (s *Shelf) Graded(id string, to footwear.Size, o footwear.GradeOptions) (Shoe, error) {
	shoe, err := s.source(id)
	if err != nil {
		return Shoe{}, err
	}
	sheet, err := shoe.Sheet.Graded(to, o)
	if err != nil {
		return Shoe{}, err
	}
	sheet.Name = named(sheet.Name, ", "+to.String())
	return s.Add(sheet, Files{})
}

func (s *Shelf) source(id string) (Shoe, error) {
	if Own(id) {
		return s.Find(id)
	}
	sheet, err := footwear.Demo().Find(id)
	return Shoe{Sheet: sheet}, err
}

// nameLetters is how many bytes of a name a sheet may have.
const nameLetters = 80

// named is a name with an end, shortened in front of the end as far as a sheet needs it.
func named(name, end string) string {
	for len(name)+len(end) > nameLetters {
		r := []rune(name)
		name = strings.TrimRight(string(r[:len(r)-1]), " ,")
	}
	return name + end
}

// IDFor is an identifier made from a name: its Latin letters and digits.
func IDFor(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9')
	})
	if len(words) == 0 {
		words = []string{"shoe"}
	}
	return clippedID(strings.Join(words, "-"))
}

var numbered = regexp.MustCompile(`-[0-9]+$`)

func clippedID(id string) string {
	if len(id) > idLettersMax {
		id = strings.Trim(id[:idLettersMax], "-")
	}
	return id
}

// freeID is an identifier that neither the shelf nor its trash has, made from a wish.
func (s *Shelf) freeID(wish string) (string, error) {
	if !Own(wish) {
		wish = prefix + wish
	}
	wish = clippedID(wish)
	if !ownID.MatchString(wish) {
		wish = clippedID(prefix + IDFor(wish))
	}
	taken := map[string]bool{InHand: true}
	entries, err := s.disk.ReadDir(s.dir)
	if err != nil {
		return "", err
	}
	shoes := 0
	for _, e := range entries {
		taken[e.Name()] = true
		if ownID.MatchString(e.Name()) {
			shoes++
		}
	}
	if shoes >= maxShoes {
		return "", problem.Problem{File: s.dir, Value: strconv.Itoa(shoes) + " shoes", Limit: fmt.Sprintf("at most %d", maxShoes), Mend: "delete some, or use another folder"}
	}
	steps, err := s.steps()
	if err != nil {
		return "", err
	}
	for _, st := range steps {
		taken[st.ID] = true
	}
	id := wish
	if base := numbered.ReplaceAllString(wish, ""); taken[wish] && taken[base] {
		wish = base // a copy of a copy is one more of the first
	}
	for n := 2; taken[id]; n++ {
		id = fmt.Sprintf("%s-%d", wish, n)
	}
	return id, nil
}
