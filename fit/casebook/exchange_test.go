package casebook

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
)

func exported(t testing.TB, b *Book, id string) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, b.Export(t.Context(), id, &out))
	return out.Bytes()
}

func packet(t testing.TB, data []byte) *Packet {
	t.Helper()
	p, err := ReadPacket(bytes.NewReader(data), int64(len(data)), "sent.zip")
	require.NoError(t, err)
	return p
}

func TestACaseGoesToAnotherBookAndComesBackChanged(t *testing.T) {
	clinic, lab := bookIn(t, t.TempDir()), bookIn(t, t.TempDir())
	sent := full(t, clinic, "A-17")
	id := sent.Case.ID
	data := exported(t, clinic, id)
	assert.Equal(t, data, exported(t, clinic, id), "the same case, the same bytes")
	require.NoError(t, packet(t, data).Check())

	got, err := lab.Import(t.Context(), packet(t, data), ImportOptions{Code: "clinic-A-17"})
	require.NoError(t, err)
	assert.Equal(t, id, got.Case.ID)
	want := sent.Case
	want.Code = "clinic-A-17"
	assert.Equal(t, want, got.Case)
	var file bytes.Buffer
	require.NoError(t, lab.WriteFile(t.Context(), got.Case.Files[0], &file))
	assert.Equal(t, "a photograph of A-17", file.String())

	_, _, err = lab.Attach(t.Context(), id, File{Kind: "scan", Name: "last.stl"}, bytesOf("solid"))
	require.NoError(t, err)
	noted(t, lab, id, "ground 1 mm at the heel")
	p := packet(t, exported(t, lab, id))
	_, err = clinic.Import(t.Context(), p, ImportOptions{})
	assert.Contains(t, limitOf(t, err), "2 differences: note added: “ground 1 mm at the heel”; file added: scan last.stl")
	assert.Equal(t, sent.Case.Notes, mustGet(t, clinic, id).Case.Notes, "nothing was taken unasked")
	back, err := clinic.Import(t.Context(), p, ImportOptions{Accept: true})
	require.NoError(t, err)
	assert.Equal(t, "A-17", back.Case.Code)
	assert.Len(t, back.Case.Notes, 2)
	file.Reset()
	require.NoError(t, clinic.WriteFile(t.Context(), back.Case.Files[1], &file))
	assert.Equal(t, "solid", file.String())
	undone, err := clinic.Undo(t.Context(), id)
	require.NoError(t, err)
	assert.Equal(t, sent.Case, undone.Case)
	requireSound(t, clinic)
	requireSound(t, lab)
}

func mustGet(t *testing.T, b *Book, which string) State {
	t.Helper()
	s, err := b.Get(t.Context(), which)
	require.NoError(t, err)
	return s
}

func TestAFileIsExportedWholeAndOverNoOther(t *testing.T) {
	dir := t.TempDir()
	b := bookIn(t, dir)
	id := full(t, b, "A").Case.ID
	name := filepath.Join(dir, "A.zip")
	require.NoError(t, b.ExportFile(t.Context(), id, name))
	assert.Equal(t, os.FileMode(0o600), mode(t, name))
	assert.Equal(t, "there is a file of this name", limitOf(t, b.ExportFile(t.Context(), id, name)))
	require.Error(t, b.ExportFile(t.Context(), "nobody", filepath.Join(dir, "B.zip")))
	p, err := OpenPacket(name)
	require.NoError(t, err)
	require.NoError(t, p.Check())
	require.NoError(t, p.Close())
	left, err := filepath.Glob(filepath.Join(dir, "*.zip"))
	require.NoError(t, err)
	assert.Equal(t, []string{name}, left)
	unfinished, err := filepath.Glob(filepath.Join(dir, ".unfinished*"))
	require.NoError(t, err)
	assert.Empty(t, unfinished)
}

// zipped is one entry of an archive to be made by hand.
type zipped struct{ name, data string }

func archive(t testing.TB, entries ...zipped) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, e := range entries {
		w, err := z.Create(e.name)
		require.NoError(t, err)
		_, err = w.Write([]byte(e.data))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

// sealed has the manifest to the entries in front, as far as that can be truthful.
func sealed(t testing.TB, holds string, entries ...zipped) []byte {
	t.Helper()
	m := manifest{Format: exchangeFormat, Version: exchangeVersion, Holds: holds, Files: []manifestEntry{}}
	for _, e := range entries {
		m.Files = append(m.Files, entryFor(e.name, []byte(e.data)))
	}
	data, err := json.Marshal(m)
	require.NoError(t, err)
	return archive(t, append([]zipped{{manifestName, string(data)}}, entries...)...)
}

func TestWhatIsHostileIsRefused(t *testing.T) {
	b := bookIn(t, t.TempDir())
	s := full(t, b, "A")
	doc, err := json.Marshal(s.Case)
	require.NoError(t, err)
	good := zipped{caseName, string(doc)}
	blob := zipped{filesDir + s.Case.Files[0].SHA256, "a photograph of A"}
	whole := sealed(t, holdsCase, good, blob)
	require.NoError(t, packet(t, whole).Check())
	bomb := strings.Repeat("\x00", maxCaseJSON+1)
	newer := strings.Replace(string(doc), `"version":1`, `"version":2`, 1)
	for name, data := range map[string][]byte{
		"empty":              nil,
		"no zip":             []byte("PK, almost"),
		"no manifest":        archive(t, good, blob),
		"not listed":         archive(t, zipped{manifestName, `{"format":"lastroom-exchange","version":1,"program":"","holds":"case","files":[]}`}, good),
		"newer":              archive(t, zipped{manifestName, `{"format":"lastroom-exchange","version":2,"surprise":true}`}),
		"newer case":         sealed(t, holdsCase, zipped{caseName, newer}, blob),
		"photograph missing": sealed(t, holdsCase, good),
		"photograph changed": sealed(t, holdsCase, good, zipped{blob.name, "a photograph of B"}),
		"one too many":       sealed(t, holdsCase, good, blob, zipped{"files/../../.profile", "rm"}),
		"path in a shelf":    sealed(t, holdsShelf, zipped{"shoes/../../shoe.json", "{}"}),
		"absolute":           sealed(t, holdsShelf, zipped{"/shoes/my-shoe/shoe.json", "{}"}),
		"scan of no shoe":    sealed(t, holdsShelf, zipped{"shoes/my-shoe/scan.stl", "solid"}),
		"twice":              archive(t, zipped{manifestName, "{}"}, zipped{manifestName, "{}"}),
		"other content":      sealed(t, "surprise", good, blob),
		"unpacks to much":    sealed(t, holdsCase, zipped{caseName, bomb}, blob),
		"manifest too long":  archive(t, zipped{manifestName, strings.Repeat(" ", maxManifest+1)}),
		"no case":            sealed(t, holdsCase, zipped{caseName, "[]"}),
		"cut":                whole[:len(whole)-30],
	} {
		p, err := ReadPacket(bytes.NewReader(data), int64(len(data)), "sent.zip")
		if err == nil {
			err = p.Check()
		}
		require.Error(t, err, name)
		assert.NotEmpty(t, limitOf(t, err), name)
	}
	// A turned bit in the photograph is found while it comes in, and nothing comes in then.
	other := bookIn(t, t.TempDir())
	p := packet(t, whole)
	e := p.entries[blob.name]
	e.SHA256 = strings.Repeat("0", 64)
	p.entries[blob.name] = e
	_, err = other.Import(t.Context(), p, ImportOptions{})
	assert.Contains(t, limitOf(t, err), "checksum")
	_, of := other.Search("", 0)
	assert.Zero(t, of)
	assert.Zero(t, requireSound(t, other).Files)
}

func TestAShelfGoesToAnother(t *testing.T) {
	from, err := shelf.Open(filepath.Join(t.TempDir(), "a"))
	require.NoError(t, err)
	sheet, err := footwear.Demo().Find("court-45")
	require.NoError(t, err)
	scan := filepath.Join(t.TempDir(), "x.stl")
	require.NoError(t, os.WriteFile(scan, []byte("solid x\nendsolid x\n"), 0o600))
	with, err := from.Add(sheet, shelf.Files{Scan: scan})
	require.NoError(t, err)
	_, err = from.Copy("lace-dress")
	require.NoError(t, err)
	var out, again bytes.Buffer
	require.NoError(t, ExportShelf(from, &out))
	require.NoError(t, ExportShelf(from, &again))
	assert.Equal(t, out.Bytes(), again.Bytes())

	to, err := shelf.Open(filepath.Join(t.TempDir(), "b"))
	require.NoError(t, err)
	p := packet(t, out.Bytes())
	added, err := ImportShelf(to, p)
	require.NoError(t, err)
	require.Len(t, added, 2)
	assert.Equal(t, with.Sheet, added[0].Sheet)
	data, err := os.ReadFile(added[0].Scan)
	require.NoError(t, err)
	assert.Equal(t, "solid x\nendsolid x\n", string(data))
	_, err = bookIn(t, t.TempDir()).Import(t.Context(), p, ImportOptions{})
	assert.Equal(t, "it holds a shelf of shoes, no case", limitOf(t, err))
	valid(t, "exchange", manifestOf(t, out.Bytes()))
}

func manifestOf(t *testing.T, data []byte) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	got, err := unzipped(z.File[0], maxManifest)
	require.NoError(t, err)
	return got
}

func schema(t *testing.T, name string) *jsonschema.Schema {
	t.Helper()
	s, err := jsonschema.NewCompiler().Compile(filepath.Join("..", "..", "docs", name+".schema.json"))
	require.NoError(t, err)
	return s
}

func valid(t *testing.T, name string, data []byte) {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	require.NoError(t, err)
	require.NoError(t, schema(t, name).Validate(v))
}

// The published schemas accept what is written, and refuse what the reader refuses, as far as a schema can say it.
func TestDocumentsKeepToThePublishedSchemas(t *testing.T) {
	b := bookIn(t, t.TempDir())
	s := full(t, b, "A")
	data := exported(t, b, s.Case.ID)
	valid(t, "exchange", manifestOf(t, data))
	doc, err := packet(t, data).data(caseName, maxCaseJSON)
	require.NoError(t, err)
	valid(t, "case", doc)
	empty, err := json.Marshal(started(t, b, "B").Case)
	require.NoError(t, err)
	valid(t, "case", empty)
	one := schema(t, "case")
	for _, change := range [][2]string{
		{`"code": "A"`, `"code": "Maria Muster"`},
		{`"format": "lastroom-case"`, `"format": "case"`},
		{`"version": 1`, `"version": 2`},
		{`"kind": "photograph"`, `"kind": "music"`},
		{`"name": "heel.jpg"`, `"name": "../heel.jpg"`},
		{`"happened": "went-in"`, `"happened": "perhaps"`},
		{`"state": "snug"`, `"state": "fine"`},
		{`"status": "converged"`, `"status": "fine"`},
		{`"side": "right"`, `"side": "both"`},
		{`"last_key"`, `"surprise": 1, "last_key"`},
	} {
		bad := strings.Replace(string(doc), change[0], change[1], 1)
		require.NotEqual(t, string(doc), bad, change[0])
		v, err := jsonschema.UnmarshalJSON(strings.NewReader(bad))
		require.NoError(t, err)
		require.Error(t, one.Validate(v), change[1])
		_, err = parseCase([]byte(bad), "case.json")
		require.Error(t, err, change[1])
	}
}

func FuzzReadPacket(f *testing.F) {
	c := Case{Format: caseFormat, Version: caseVersion, ID: strings.Repeat("ab", 16), Code: "A", Started: day}
	doc, err := json.Marshal(c)
	require.NoError(f, err)
	f.Add(sealed(f, holdsCase, zipped{caseName, string(doc)}))
	f.Add(sealed(f, holdsShelf))
	f.Add(archive(f, zipped{manifestName, "{}"}))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := ReadPacket(bytes.NewReader(data), int64(len(data)), "fuzz.zip")
		if err != nil || p.Check() != nil {
			return
		}
		if p.Case != nil {
			assert.Empty(t, p.Case.Validate())
		}
		for name := range p.entries {
			assert.True(t, filepath.IsLocal(name), name)
		}
	})
}
