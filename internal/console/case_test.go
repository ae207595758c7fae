package console

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/fit/casebook"
)

// A clinic begins a case, sends it; the lab opens it, proposes a change and sends that back; the clinic looks at the difference, accepts
// it, takes it back and does it again; the sheets of the day are made; at last the case is deleted.
func TestACaseGoesToTheLabAndBack(t *testing.T) {
	dir := t.TempDir()
	book, sent, back := filepath.Join(dir, "book.db"), filepath.Join(dir, "sent.zip"), filepath.Join(dir, "back.zip")
	do := func(want int, args ...string) (out, errOut string) {
		t.Helper()
		code, out, errOut := run(args...)
		require.Equal(t, want, code, "%v: %s", args, errOut)
		return out, errOut
	}
	clinic := func(want int, args ...string) (out, errOut string) {
		t.Helper()
		return do(want, append(append([]string{"case"}, args...), "--casebook", book)...)
	}
	clinic(ExitOK, "new", "A-17")
	_, said := clinic(ExitBadInput, "new", "A-17")
	assert.Contains(t, said, "A-17")
	out, _ := clinic(ExitOK, "add", "A-17", "--shoe", "lace-dress", "--device", "everyday-block", "--with", "body_mass_kg=81")
	assert.Contains(t, out, "qualified practitioner")
	clinic(ExitOK, "note", "A-17", "--text", "heel narrow")
	out, _ = clinic(ExitOK, "list", "lace")
	assert.Contains(t, out, "A-17")
	assert.Contains(t, out, "1 of 1 cases")
	clinic(ExitOK, "export", "A-17", "--out", sent)

	out, _ = do(ExitOK, "open", sent)
	for _, want := range []string{"case A-17", "heel narrow", "as ordered", "overlaps", "qualified practitioner"} {
		assert.Contains(t, out, want)
	}
	out, _ = do(ExitOK, "open", sent, "--with", "cup_depth_mm=11", "--with", "width_trim_mm=28", "--text", "rim lower", "--out", back)
	assert.Contains(t, out, "lower the rim of the cup by 3 mm")
	assert.Contains(t, out, "grind at the bench")

	_, said = clinic(ExitBadInput, "import", back)
	assert.Contains(t, said, "differences")
	assert.Contains(t, said, "rim lower")
	clinic(ExitOK, "import", back, "--accept")
	out, _ = clinic(ExitOK, "show", "A-17")
	assert.Contains(t, out, "cup_depth_mm 14 → 11")
	clinic(ExitOK, "undo", "A-17")
	out, _ = clinic(ExitOK, "show", "A-17")
	assert.NotContains(t, out, "cup_depth_mm")
	assert.Contains(t, out, "redo would do again")
	clinic(ExitOK, "redo", "A-17")
	out, _ = clinic(ExitOK, "history", "A-17")
	assert.Contains(t, out, "import")
	assert.Contains(t, out, "(as it is now)")

	bad := filepath.Join(dir, "bad.zip")
	require.NoError(t, os.WriteFile(bad, []byte("no zip"), 0o600))
	sheets := filepath.Join(dir, "sheets")
	code, out, said := run("sheet", "--case", sent, bad, back, "--out", sheets, "--form", "txt", "--draws", "50", "--date", "2026-11-27")
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, out, "FAILED  "+bad)
	assert.Contains(t, out, "2 of 3 sheets made")
	assert.Contains(t, said, "1 of 3 files")
	for _, name := range []string{"A-17.txt", "A-17-2.txt"} {
		text, err := os.ReadFile(filepath.Join(sheets, name))
		require.NoError(t, err)
		assert.Contains(t, string(text), "qualified practitioner")
		if name == "A-17-2.txt" {
			assert.Contains(t, string(text), "11 mm")
		}
	}
	out, _ = clinic(ExitOK, "verify")
	assert.Contains(t, out, "0 problems")
	_, said = clinic(ExitBadInput, "delete", "A-17")
	assert.Contains(t, said, "--yes")
	clinic(ExitOK, "delete", "A-17", "--yes")
	_, said = clinic(ExitBadInput, "show", "A-17")
	assert.Contains(t, said, "A-17")
}

func TestTheCaseCommandsRefuseWhatTheyCanNotDo(t *testing.T) {
	book := filepath.Join(t.TempDir(), "book.db")
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"case"}, "one of list"},
		{[]string{"case", "burn", "A"}, "one of list"},
		{[]string{"case", "show"}, "one code"},
		{[]string{"case", "show", "nobody"}, "nobody"},
		{[]string{"case", "new", "two words"}, "two words"},
		{[]string{"case", "note", "A"}, "--text"},
		{[]string{"case", "import", "missing.zip"}, "missing.zip"},
		{[]string{"open"}, "one file"},
		{[]string{"open", "missing.zip"}, "missing.zip"},
		{[]string{"sheet", "--case", "a.zip"}, "a folder"},
		{[]string{"sheet", "--case", "a.zip", "--out", "x", "--form", "doc"}, "pdf, txt, json"},
		{[]string{"sheet", "--case", "a.zip", "--out", "x", "--refit", "1"}, "leave it out"},
		{[]string{"sheet", "a.zip", "--out", "x.pdf"}, "--case"},
		{[]string{"sheet", "--shoe", "lace-dress"}, "--out"},
		{[]string{"sheet", "--shoe", "lace-dress", "--out", "a.doc"}, ".pdf"},
		{[]string{"sheet", "--shoe", "lace-dress", "--out", "a.pdf", "--paper", "b5"}, "b5"},
		{[]string{"sheet", "--shoe", "lace-dress", "--out", "a.pdf", "--date", "today"}, "2026-11-27"},
		{[]string{"sheet", "--shoe", "lace-dress", "--out", "a.pdf", "--refit", "-1"}, "--refit"},
	} {
		args := c.args
		if args[0] == "case" {
			args = append(args, "--casebook", book)
		}
		code, _, said := run(args...)
		assert.Equal(t, ExitBadInput, code, args)
		assert.Contains(t, said, c.want, args)
	}
	damaged := filepath.Join(t.TempDir(), "book.db")
	require.NoError(t, os.WriteFile(damaged, []byte("this is no database, but long enough to look like one at first"), 0o600))
	code, _, said := run("case", "list", "--casebook", damaged)
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, said, damaged)
}

// While another program has the casebook open, cases are read from it and it is said that they are only read; what would write is bad
// input, and nothing is written.
func TestACasebookThatAnotherProgramHasOpenIsReadOnly(t *testing.T) {
	file := filepath.Join(t.TempDir(), "book.db")
	b, err := casebook.Open(t.Context(), file, casebook.Settings{})
	require.NoError(t, err)
	defer b.Close()
	_, err = b.New(t.Context(), "A-1")
	require.NoError(t, err)
	code, out, said := run("case", "list", "--casebook", file, "--json")
	assert.Equal(t, ExitOK, code)
	assert.Contains(t, out, `"code": "A-1"`)
	assert.Contains(t, said, "reading only: another program has it open")
	code, out, said = run("case", "new", "A-2", "--casebook", file, "--json")
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, out, `"problems"`)
	assert.Contains(t, said, "another program has it open")
	_, of := b.Search("", 0)
	assert.Equal(t, 1, of)
}
