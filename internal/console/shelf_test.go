package console

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestShelfOfOnesOwn(t *testing.T) {
	dir := t.TempDir()
	own := filepath.Join(dir, "shoes")
	must := func(args ...string) string {
		t.Helper()
		code, out, errOut := run(append(args, "--shelf", own)...)
		require.Equal(t, ExitOK, code, errOut)
		return out
	}
	assert.Contains(t, must("shelf"), "no shoes of your own yet")
	assert.Equal(t, "my-lace-dress\n", must("shelf", "copy", "lace-dress"))
	assert.Contains(t, must("shoes", "lace"), "my-lace-dress")
	assert.Contains(t, must("show", "my-lace-dress"), "Copy of")
	out := filepath.Join(dir, "out.json")
	assert.Equal(t, out+"\n", must("shelf", "export", "my-lace-dress", "--out", out))
	assert.Equal(t, "my-lace-dress-2\n", must("shelf", "import", out))
	assert.Equal(t, "my-lace-dress-3\n", must("shelf", "grade", "my-lace-dress", "--size", "EU 43"))
	must("shelf", "delete", "my-lace-dress")
	doc := document(t, must("shelf", "list", "--json"))
	assert.Len(t, doc["shoes"], 2)
	assert.Empty(t, doc["problems"])
	assert.Equal(t, "my-lace-dress", doc["undo"].(map[string]any)["id"])
	assert.Contains(t, must("shelf", "undo"), "before it was deleted")
	assert.Contains(t, must("shelf", "list"), "my-lace-dress ")

	require.NoError(t, os.WriteFile(filepath.Join(own, "my-lace-dress-2", "shoe.json"), []byte("{"), 0o600))
	code, list, errOut := run("shoes", "--shelf", own)
	assert.Equal(t, ExitOK, code)
	assert.Contains(t, list, "my-lace-dress-3")
	assert.Contains(t, errOut, "my-lace-dress-2")

	own2, err := newJob(own, "my-lace-dress", "EU 42", "everyday-block", nil)
	require.NoError(t, err, "fit finds it")
	assert.Equal(t, "EU 42", own2.sheet.Size.String())

	for name, args := range map[string][]string{
		"unknown task":  {"shelf", "burn", "my-lace-dress"},
		"too few":       {"shelf", "delete"},
		"no such shoe":  {"shelf", "delete", "my-nothing"},
		"not of own":    {"shelf", "delete", "lace-dress"},
		"no out":        {"shelf", "export", "my-lace-dress"},
		"there already": {"shelf", "export", "my-lace-dress", "--out", out},
		"no size":       {"shelf", "grade", "my-lace-dress"},
		"a bad one":     {"show", "my-lace-dress-2"},
		"near one":      {"show", "my-lace-dres"},
	} {
		code, _, errOut := run(append(args, "--shelf", own)...)
		assert.Equal(t, ExitBadInput, code, name)
		assert.NotEmpty(t, errOut, name)
	}
	_, _, errOut = run("show", "lace-dres", "--shelf", own)
	assert.Contains(t, errOut, "did you mean")
}
