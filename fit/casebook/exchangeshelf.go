package casebook

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/internal/problem"
)

const (
	shoesDir    = "shoes/"
	shoeName    = "shoe.json"
	standing    = "scan.json"
	maxShoeJSON = 1 << 20
)

// ExportShelf writes all shoes of a shelf as one exchange file. A shoe that can't be read is an error: nothing is left out
// silently.
func ExportShelf(s *shelf.Shelf, to io.Writer) error {
	all, ps := s.All()
	if err := ps.Err(); err != nil {
		return err
	}
	slices.SortFunc(all, func(a, b shelf.Shoe) int { return strings.Compare(a.Sheet.ID, b.Sheet.ID) })
	var parts []part
	for _, shoe := range all {
		dir := shoesDir + shoe.Sheet.ID + "/"
		var sheet bytes.Buffer
		if err := footwear.WriteSheet(&sheet, shoe.Sheet); err != nil {
			return err
		}
		parts = append(parts, dataPart(dir+shoeName, sheet.Bytes()))
		for _, f := range []struct{ name, path string }{{"scan" + filepath.Ext(shoe.Scan), shoe.Scan}, {standing, shoe.Standing}} {
			if f.path == "" {
				continue
			}
			p, err := filePart(dir+f.name, f.path)
			if err != nil {
				return told(f.path, err)
			}
			parts = append(parts, p)
		}
	}
	return writeExchange(to, holdsShelf, parts)
}

// ExportShelfFile writes all shoes of a shelf as a new exchange file.
func ExportShelfFile(s *shelf.Shelf, name string) error {
	return newFile(name, func(w io.Writer) error { return ExportShelf(s, w) })
}

// filePart is a part whose bytes lie in a file, which is read twice: for the checksum and to be written.
func filePart(name, file string) (part, error) {
	read := func(to io.Writer) (int64, error) {
		f, err := os.Open(file)
		if err != nil {
			return 0, err
		}
		defer f.Close()
		return io.Copy(to, f)
	}
	h := sha256.New()
	n, err := read(h)
	sum := hex.EncodeToString(h.Sum(nil))
	return part{manifestEntry{name, n, sum}, func(w io.Writer) error {
		check := &checked{to: w, h: sha256.New()}
		if _, err := read(check); err != nil {
			return err
		}
		if hex.EncodeToString(check.h.Sum(nil)) != sum {
			return problem.Problem{File: file, Limit: "it was changed while it was read", Mend: "do it again"}
		}
		return nil
	}}, err
}

// shoes are the identifiers of the packet's shoes.
func (p *Packet) shoes() (ids []string) {
	for _, name := range p.order {
		if id, ok := strings.CutSuffix(strings.TrimPrefix(name, shoesDir), "/"+shoeName); ok {
			ids = append(ids, id)
		}
	}
	return ids
}

// readShelf holds the names of a shelf's entries against those that there can be, and reads the sheets.
func (p *Packet) readShelf() error {
	names := []string{shoeName, standing}
	for _, kind := range shelf.ScanKinds {
		names = append(names, "scan."+kind)
	}
	for _, name := range p.order {
		id, file, ok := strings.Cut(strings.TrimPrefix(name, shoesDir), "/")
		if !ok || !strings.HasPrefix(name, shoesDir) || !shelf.Own(id) || !slices.Contains(names, file) {
			return p.bad(strconv.Quote(clipped(name)), "no part of a shelf")
		}
		if _, ok := p.entries[shoesDir+id+"/"+shoeName]; !ok {
			return p.bad(strconv.Quote(clipped(name)), "its shoe is missing")
		}
	}
	for _, id := range p.shoes() {
		if sheet, err := p.sheet(id); err != nil {
			return err
		} else if sheet.ID != id {
			return p.bad(strconv.Quote(clipped(id)), "the name of its shoe")
		}
	}
	return nil
}

func (p *Packet) sheet(id string) (footwear.Sheet, error) {
	data, err := p.data(shoesDir+id+"/"+shoeName, maxShoeJSON)
	if err != nil {
		return footwear.Sheet{}, err
	}
	return footwear.ReadSheet(bytes.NewReader(data), p.file+": "+id)
}

// ImportShelf puts the shoes of a packet onto a shelf. The whole packet is held against its checksums first; each shoe then
// gets an identifier of its own. It returns those that were added, also when one of them was not.
func ImportShelf(s *shelf.Shelf, p *Packet) (added []shelf.Shoe, err error) {
	if p.Case != nil {
		return nil, problem.Problem{File: p.file, Limit: "it holds a case, no shelf", Mend: "import it into the casebook"}
	}
	if err := p.Check(); err != nil {
		return nil, err
	}
	aside, err := os.MkdirTemp("", "lastroom-*")
	if err != nil {
		return nil, told(p.file, err)
	}
	defer os.RemoveAll(aside)
	for _, id := range p.shoes() {
		sheet, err := p.sheet(id)
		if err != nil {
			return added, err
		}
		var files shelf.Files
		for _, kind := range shelf.ScanKinds {
			if files.Scan == "" {
				if files.Scan, err = p.unpack(shoesDir+id+"/scan."+kind, aside); err != nil {
					return added, err
				}
			}
		}
		if files.Scan != "" {
			if files.Standing, err = p.unpack(shoesDir+id+"/"+standing, aside); err != nil {
				return added, err
			}
		}
		shoe, err := s.Add(sheet, files)
		if err != nil {
			return added, err
		}
		added = append(added, shoe)
	}
	return added, nil
}

// unpack writes an entry into a folder of ours under its last name, which was checked; "" when there is none.
func (p *Packet) unpack(entry, dir string) (string, error) {
	if _, ok := p.entries[entry]; !ok {
		return "", nil
	}
	name := filepath.Join(dir, path.Base(entry))
	f, err := os.OpenFile(name, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return "", told(name, err)
	}
	return name, errors.Join(p.copyTo(entry, f), f.Close())
}
