package shelf

import (
	"bytes"
	"encoding/json"
	"errors"
	"io/fs"
	"path/filepath"
	"strings"

	"lastroom/footwear"
	"lastroom/internal/problem"
)

// nameOf reads the name of a sheet, "" when there is none to read.
func nameOf(data []byte) string {
	var head struct {
		Name string `json:"name"`
	}
	if json.Unmarshal(data, &head) != nil {
		return ""
	}
	return head.Name
}

// Import copies a shoe's JSON file onto the shelf, with the scan of the same name beside it (shoe.json and shoe.stl), and
// how that stands (shoe.scan.json). The shoe gets an identifier of its own.
func (s *Shelf) Import(file string) (Shoe, error) {
	data, err := s.readFile(file, maxSheet)
	if err != nil {
		return Shoe{}, err
	}
	sheet, err := footwear.ReadSheet(bytes.NewReader(data), file)
	if err != nil {
		return Shoe{}, err
	}
	stem := strings.TrimSuffix(file, filepath.Ext(file))
	var files Files
	for _, kind := range ScanKinds {
		path := stem + "." + kind
		if _, err := s.disk.Stat(path); err != nil {
			continue
		}
		if files.Scan != "" {
			return Shoe{}, problem.Problem{
				File: path, Field: "scan", Limit: "one scan a shoe, and " + filepath.Base(files.Scan) + " is there too", Mend: "give one of them another name",
			}
		}
		files.Scan = path
	}
	if path := stem + "." + standingFile; files.Scan != "" {
		if _, err := s.disk.Stat(path); err == nil {
			files.Standing = path
		}
	}
	return s.Add(sheet, files)
}

// Export writes a shoe of one's own as a JSON file, with its scan beside it under the same name. Files that are there are
// only written over when over is true, and then at once and as a whole. It returns the files' names.
func (s *Shelf) Export(id, file string, over bool) ([]string, error) {
	shoe, err := s.Find(id)
	if err != nil {
		return nil, err
	}
	stem := strings.TrimSuffix(file, filepath.Ext(file))
	if !strings.EqualFold(filepath.Ext(file), ".json") {
		return nil, problem.Problem{File: file, Field: "out", Limit: "a name that ends in .json", Mend: "write " + filepath.Base(file) + ".json"}
	}
	jobs := [][2]string{{filepath.Join(s.dir, id, sheetFile), file}}
	if shoe.Scan != "" {
		jobs = append([][2]string{{shoe.Scan, stem + filepath.Ext(shoe.Scan)}}, jobs...)
	}
	if shoe.Standing != "" {
		jobs = append([][2]string{{shoe.Standing, stem + "." + standingFile}}, jobs...)
	}
	if !over {
		for _, j := range jobs {
			if _, err := s.disk.Stat(j[1]); err == nil {
				return nil, problem.Problem{File: j[1], Limit: "there is a file of this name", Mend: "choose another name, or move the file away"}
			}
		}
	}
	var names []string
	for _, j := range jobs { // the sheet last: where it is, the scan is
		aside := filepath.Join(filepath.Dir(j[1]), stagePrefix+filepath.Base(j[1]))
		err := s.disk.Remove(aside)
		if err == nil {
			err = s.copyFile(j[0], aside, maxScan)
		}
		if err == nil {
			err = s.disk.Rename(aside, j[1])
		}
		if err != nil {
			if rest := s.disk.Remove(aside); rest != nil && !errors.Is(rest, fs.ErrNotExist) {
				err = errors.Join(err, rest)
			}
			return nil, diskProblem(j[1], err)
		}
		names = append(names, j[1])
	}
	if err := s.disk.Flush(filepath.Dir(file)); err != nil {
		return nil, diskProblem(file, err)
	}
	return names, nil
}
