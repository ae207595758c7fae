package casebook

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"lastroom/fit"
	"lastroom/internal/problem"
)

// The exchange file is a zip archive: manifest.json (docs/exchange.schema.json) names every other entry with its size and
// SHA-256. One with a case has case.json (docs/case.schema.json) and the bytes of its files as files/SHA256; one with a shelf
// has shoes/ID/shoe.json, and beside it scan.KIND and scan.json. The same case gives the same bytes. The history stays at
// home: only what the case is now is in it.
const (
	exchangeFormat  = "lastroom-exchange"
	exchangeVersion = 1
	manifestName    = "manifest.json"
	caseName        = "case.json"
	filesDir        = "files/"
	holdsCase       = "case"
	holdsShelf      = "shelf"

	maxManifest = 4 << 20
	maxEntries  = 6100    // 2000 shoes with scan and standing, and some
	maxUnpacked = 8 << 30 // bytes of all that is in one
)

type manifest struct {
	Format  string          `json:"format"`
	Version int             `json:"version"`
	Program string          `json:"program"`
	Holds   string          `json:"holds"` // case, shelf
	Files   []manifestEntry `json:"files"`
}

type manifestEntry struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

func entryFor(name string, data []byte) manifestEntry {
	sum := sha256.Sum256(data)
	return manifestEntry{name, int64(len(data)), hex.EncodeToString(sum[:])}
}

// part is an entry to be written.
type part struct {
	manifestEntry
	write func(io.Writer) error
}

func dataPart(name string, data []byte) part {
	return part{entryFor(name, data), func(w io.Writer) error { _, err := w.Write(data); return err }}
}

// writeExchange writes the archive, each entry with the zero time, so that the same content gives the same bytes.
func writeExchange(to io.Writer, holds string, parts []part) error {
	m := manifest{Format: exchangeFormat, Version: exchangeVersion, Program: fit.Version, Holds: holds, Files: []manifestEntry{}}
	for _, p := range parts {
		m.Files = append(m.Files, p.manifestEntry)
	}
	data, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return err
	}
	z := zip.NewWriter(to)
	for _, p := range append([]part{dataPart(manifestName, append(data, '\n'))}, parts...) {
		w, err := z.CreateHeader(&zip.FileHeader{Name: p.Name, Method: zip.Deflate})
		if err != nil {
			return err
		}
		if err := p.write(w); err != nil {
			return err
		}
	}
	return z.Close()
}

// Export writes a case as an exchange file.
func (b *Book) Export(ctx context.Context, id string, to io.Writer) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return told(b.file, b.export(ctx, id, to))
}

func (b *Book) export(ctx context.Context, id string, to io.Writer) error {
	c, _, err := current(ctx, b.db, id)
	if err != nil {
		return err
	}
	data, err := json.MarshalIndent(c, "", "  ")
	if err != nil {
		return err
	}
	parts := []part{dataPart(caseName, append(data, '\n'))}
	written := map[string]bool{}
	for _, f := range c.Files {
		if !written[f.SHA256] {
			written[f.SHA256] = true
			parts = append(parts, part{manifestEntry{filesDir + f.SHA256, f.Bytes, f.SHA256}, func(w io.Writer) error { return b.copyBlob(ctx, f.SHA256, w) }})
		}
	}
	return writeExchange(to, holdsCase, parts)
}

// ExportFile writes a case as a new exchange file, which is there as a whole or not at all.
func (b *Book) ExportFile(ctx context.Context, id, name string) error {
	return newFile(name, func(w io.Writer) error { return b.Export(ctx, id, w) })
}

// newFile makes a file aside and gives it its name when it is whole.
func newFile(name string, write func(io.Writer) error) error {
	if _, err := os.Lstat(name); err == nil {
		return problem.Problem{File: name, Limit: "there is a file of this name", Mend: "choose another name, or move the file away"}
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".unfinished-*") // 0600
	if err != nil {
		return told(name, err)
	}
	err = write(f)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		_ = os.Remove(f.Name())
	}
	return told(name, err)
}

// A Packet is an exchange file that was opened: what its manifest says holds of its case and its sheets; the bytes of scans
// and photographs are held against their checksums when they are read.
type Packet struct {
	Program string // the version that wrote it
	Case    *Case  // nil: it holds a shelf

	file    string
	entries map[string]packedEntry
	order   []string
	closer  io.Closer
}

// packedEntry is one entry with what the manifest says of it.
type packedEntry struct {
	zip *zip.File
	manifestEntry
}

// OpenPacket opens an exchange file.
func OpenPacket(name string) (*Packet, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, told(name, err)
	}
	st, err := f.Stat()
	if err == nil && !st.Mode().IsRegular() {
		err = problem.Problem{File: name, Limit: "no file", Mend: "give an exchange file"}
	}
	if err == nil {
		var p *Packet
		if p, err = ReadPacket(f, st.Size(), name); err == nil {
			p.closer = f
			return p, nil
		}
	}
	return nil, errors.Join(told(name, err), f.Close())
}

// Close lets the file go.
func (p *Packet) Close() error {
	if p.closer == nil {
		return nil
	}
	return p.closer.Close()
}

// ReadPacket opens an exchange file that lies in r; name is what errors call it. It trusts nothing in it: names, numbers and
// sizes are those of the manifest or the file is refused, and nothing is unpacked past its limit.
func ReadPacket(r io.ReaderAt, size int64, name string) (*Packet, error) {
	p := &Packet{file: name, entries: map[string]packedEntry{}}
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, p.bad("", "not an exchange file ("+err.Error()+")")
	}
	if len(z.File) > maxEntries {
		return nil, p.bad(strconv.Itoa(len(z.File))+" entries", fmt.Sprintf("at most %d", maxEntries))
	}
	byName := map[string]*zip.File{}
	for _, f := range z.File {
		if byName[f.Name] != nil {
			return nil, p.bad(strconv.Quote(clipped(f.Name)), "stands in it twice")
		}
		byName[f.Name] = f
	}
	m, err := p.manifest(byName[manifestName])
	if err != nil {
		return nil, err
	}
	if err := p.list(m, byName); err != nil {
		return nil, err
	}
	p.Program = m.Program
	if m.Holds == holdsCase {
		return p, p.readCase()
	}
	return p, p.readShelf()
}

func (p *Packet) bad(value, limit string) error {
	return problem.Problem{File: p.file, Value: value, Limit: limit, Mend: "have it sent again; nothing was taken from it"}
}

func (p *Packet) manifest(f *zip.File) (manifest, error) {
	var m manifest
	if f == nil {
		return m, p.bad("", "not an exchange file: there is no "+manifestName)
	}
	data, err := unzipped(f, maxManifest)
	if err != nil {
		return m, p.bad(manifestName, clipped(err.Error()))
	}
	var head struct {
		Format  string `json:"format"`
		Version int    `json:"version"`
	}
	if err := json.Unmarshal(data, &head); err != nil || head.Format != exchangeFormat {
		return m, p.bad("", "not an exchange file of Lastroom's")
	}
	if head.Version > exchangeVersion {
		return m, problem.Problem{File: p.file, Field: "version", Value: strconv.Itoa(head.Version), Limit: fmt.Sprintf("up to %d is known here", exchangeVersion), Mend: newerMend}
	}
	if err := strictJSON(data, &m); err != nil {
		return m, p.bad(manifestName, clipped(err.Error()))
	}
	if m.Version != exchangeVersion || m.Holds != holdsCase && m.Holds != holdsShelf {
		return m, p.bad(clipped(m.Holds), "a case or a shelf")
	}
	return m, nil
}

// list holds the manifest's list against what is in the archive.
func (p *Packet) list(m manifest, byName map[string]*zip.File) error {
	if len(m.Files) != len(byName)-1 {
		return p.bad(fmt.Sprintf("%d of %d entries listed", len(m.Files), len(byName)-1), "the manifest lists each entry once")
	}
	var total int64
	for _, e := range m.Files {
		f := byName[e.Name]
		if _, twice := p.entries[e.Name]; f == nil || twice || e.Name == manifestName {
			return p.bad(strconv.Quote(clipped(e.Name)), "the manifest lists each entry once")
		}
		if e.Bytes < 0 || e.Bytes > maxFile || f.UncompressedSize64 != uint64(e.Bytes) || !isHex(e.SHA256, sha256.Size) {
			return p.bad(strconv.Quote(clipped(e.Name)), "size or checksum are not as the manifest says, or above the limit")
		}
		if total += e.Bytes; total > maxUnpacked {
			return p.bad(strconv.FormatInt(total>>20, 10)+" MiB", fmt.Sprintf("at most %d MiB in one", int64(maxUnpacked)>>20))
		}
		p.entries[e.Name] = packedEntry{f, e}
		p.order = append(p.order, e.Name)
	}
	return nil
}

// unzipped is the bytes of an entry, refused above the limit whatever its header says.
func unzipped(f *zip.File, most int64) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(io.LimitReader(r, most+1))
	if err = errors.Join(err, r.Close()); err == nil && int64(len(data)) > most {
		err = fmt.Errorf("more than %d bytes", most)
	}
	return data, err
}

// data is an entry whose bytes have their checksum.
func (p *Packet) data(name string, most int64) ([]byte, error) {
	e, ok := p.entries[name]
	if !ok {
		return nil, p.bad(strconv.Quote(clipped(name)), "is missing")
	}
	if e.Bytes > most {
		return nil, p.bad(strconv.Quote(clipped(name)), fmt.Sprintf("at most %d bytes", most))
	}
	data, err := unzipped(e.zip, e.Bytes)
	if err != nil {
		return nil, p.bad(strconv.Quote(clipped(name)), clipped(err.Error()))
	}
	if entryFor(e.Name, data) != e.manifestEntry {
		return nil, p.bad(strconv.Quote(clipped(name)), "does not have its checksum")
	}
	return data, nil
}

// copyTo writes an entry; when the bytes don't have their checksum, that is told at the end.
func (p *Packet) copyTo(name string, to io.Writer) error {
	e := p.entries[name]
	r, err := e.zip.Open()
	if err != nil {
		return p.bad(name, clipped(err.Error()))
	}
	defer r.Close()
	check := &checked{to: to, h: sha256.New()}
	_, err = io.Copy(check, io.LimitReader(r, e.Bytes+1))
	if err != nil && !errors.Is(err, zip.ErrChecksum) && !errors.Is(err, zip.ErrFormat) {
		return err
	}
	if err != nil || check.n != e.Bytes || hex.EncodeToString(check.h.Sum(nil)) != e.SHA256 {
		return p.bad(name, "does not have its checksum")
	}
	return nil
}

// readCase reads the case and holds its files against the entries.
func (p *Packet) readCase() error {
	data, err := p.data(caseName, maxCaseJSON)
	if err != nil {
		return err
	}
	c, err := parseCase(data, p.file)
	if err != nil {
		return err
	}
	used := map[string]bool{caseName: true}
	for _, f := range c.Files {
		name := filesDir + f.SHA256
		if e, ok := p.entries[name]; !ok || e.Bytes != f.Bytes || e.SHA256 != f.SHA256 {
			return p.bad(strconv.Quote(f.Name), "its bytes are missing")
		}
		used[name] = true
	}
	if len(used) != len(p.entries) {
		return p.bad("", "there is more in it than the case has")
	}
	p.Case = &c
	return nil
}

// WriteFile writes the bytes of a file of the packet's case. What is damaged is an error at the end.
func (p *Packet) WriteFile(f File, to io.Writer) error {
	if _, ok := p.entries[filesDir+f.SHA256]; !ok {
		return p.bad(strconv.Quote(clipped(f.Name)), "is missing")
	}
	return p.copyTo(filesDir+f.SHA256, to)
}

// Check reads all that the packet holds against its checksums.
func (p *Packet) Check() error {
	for _, name := range p.order {
		if err := p.copyTo(name, io.Discard); err != nil {
			return err
		}
	}
	return nil
}

// ImportOptions are how a case comes into the book.
type ImportOptions struct {
	Code   string // another code than the file's, for one that is taken
	Accept bool   // a case that the book has becomes what the file says: an edit, which can be undone; it keeps its code
}

// Import takes a packet's case into the book, as a whole or not at all.
func (b *Book) Import(ctx context.Context, p *Packet, o ImportOptions) (State, error) {
	if p.Case == nil {
		return State{}, problem.Problem{File: p.file, Limit: "it holds a shelf of shoes, no case", Mend: "import it onto the shelf"}
	}
	c, err := p.Case.copied()
	if err != nil {
		return State{}, err
	}
	files := func(tx *sql.Tx) error { return p.store(ctx, tx, c.Files) }
	here, err := b.Get(ctx, c.ID)
	switch {
	case err != nil && !isNoCase(err):
		return State{}, err
	case err != nil:
		if o.Code != "" {
			c.Code = o.Code
		}
		return b.begin(ctx, c, kindImport, "taken from an exchange file of version "+p.Program, files)
	}
	c.Code = here.Case.Code
	if !o.Accept {
		differ := Differences(&here.Case, &c)
		return State{}, problem.Problem{
			File: p.file, Field: "case", Value: here.Case.Code, Limit: fmt.Sprintf("this casebook has the case; %d differences: %s", len(differ), clippedTo(strings.Join(differ, "; "), 500)),
			Mend: "look at them, and accept them if you want them",
		}
	}
	return b.change(ctx, c.ID, here.Rev, func(tx *sql.Tx, now *Case) (string, error) {
		last := now.LastKey
		*now = c
		now.LastKey = max(last, c.LastKey)
		return kindImport, files(tx)
	})
}

func (p *Packet) store(ctx context.Context, tx *sql.Tx, files []File) error {
	for _, f := range files {
		pr, pw := io.Pipe()
		go func() { pw.CloseWithError(p.copyTo(filesDir+f.SHA256, pw)) }()
		_, _, err := storeBlob(ctx, tx, pr, f.Name)
		_ = pr.Close()
		if err != nil {
			return err
		}
	}
	return nil
}
