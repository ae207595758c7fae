package arrows

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The module as it stands keeps the arrows.
func TestModuleKeepsTheArrows(t *testing.T) {
	root, err := filepath.Abs("../..")
	require.NoError(t, err)
	sources := readSources(t, root)

	g, err := List(root)
	require.NoError(t, err)
	for _, dir := range sources {
		assert.Contains(t, g, dir, "go list leaves out a folder with Go files")
	}
	assert.Contains(t, g, Module+"/internal/mesh")
	assert.Contains(t, g, "gonum.org/v1/gonum/spatial/r3", "outside packages are part of the graph")
	assert.Empty(t, strings.Join(Check(g), "\n"))
}

// readSources reads each Go file of the module and returns the import paths of their folders. Reading them here ties
// the cached result of this test to them: the go command below runs on its own, unseen by the cache.
func readSources(t *testing.T, root string) []string {
	t.Helper()
	dirs := map[string]bool{}
	require.NoError(t, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name := d.Name(); path != root && (strings.HasPrefix(name, ".") || name == "testdata" || name == "build") {
				return filepath.SkipDir
			}
			return nil
		}
		if filepath.Ext(path) != ".go" {
			return nil
		}
		if _, err := os.ReadFile(path); err != nil {
			return err
		}
		dir, err := filepath.Rel(root, filepath.Dir(path))
		dirs[Module+"/"+filepath.ToSlash(dir)] = true
		return err
	}))
	require.NotEmpty(t, dirs)
	var out []string
	for dir := range dirs {
		out = append(out, dir)
	}
	return out
}

// made is a graph of the packages given as "name: import import | test-import"; names without a dot are Lastroom's.
func made(t *testing.T, lines ...string) Graph {
	t.Helper()
	full := func(names string) []string {
		var out []string
		for _, name := range strings.Fields(names) {
			if !strings.Contains(name, ".") && name != "fmt" {
				name = Module + "/" + name
			}
			out = append(out, name)
		}
		return out
	}
	g := Graph{}
	for _, line := range lines {
		name, rest, found := strings.Cut(line, ":")
		require.True(t, found, line)
		imports, tests, _ := strings.Cut(rest, "|")
		g[full(name)[0]] = Package{Imports: full(imports), Tests: full(tests)}
	}
	return g
}

func TestCheck(t *testing.T) {
	const plot, fyne = "gonum.org/v1/plot", "fyne.io/fyne/v2"
	for _, c := range []struct {
		name  string
		graph []string
		want  []string
	}{
		{"the whole house, as it is meant", []string{
			"internal/problem: fmt",
			"internal/mesh: internal/problem gonum.org/v1/gonum/spatial/r3",
			"footwear: internal/mesh internal/problem assets fmt | github.com/stretchr/testify/assert",
			"device: internal/mesh internal/problem assets",
			"fit: footwear device internal/mesh internal/problem",
			"fit/drawing: fit " + plot,
			"fit/drawing/hatch: " + plot,
			"fit/sheet: fit fit/drawing " + plot + "/vg",
			"internal/console: fit fit/drawing footwear device",
			"ui: fit fit/drawing " + fyne,
			"cmd/roomcheck: internal/console",
			"cmd/lastroom: ui fit " + fyne + "/app",
			plot + ":", fyne + ": fmt",
		}, nil},
		{
			"mesh knows no shoe",
			[]string{"internal/mesh: footwear"},
			[]string{"internal/mesh imports footwear, which does not stand left of internal/mesh"},
		},
		{
			"problem knows nothing of ours",
			[]string{"internal/problem: internal/mesh"},
			[]string{"internal/problem imports internal/mesh, which does not stand left of internal/problem"},
		},
		{"shoe and device do not know each other", []string{"footwear: device", "device: footwear"}, []string{
			"device imports footwear, which does not stand left of device",
			"footwear imports device, which does not stand left of footwear",
		}},
		{
			"a place stands for what lies below it",
			[]string{"footwear/sizes: fit/drawing"},
			[]string{"footwear/sizes imports fit/drawing, which does not stand left of footwear"},
		},
		{
			"tests keep to the rules",
			[]string{"footwear: fmt | device"},
			[]string{"footwear imports device, which does not stand left of footwear"},
		},
		{
			"a name that only begins alike",
			[]string{"fit: footwearables"},
			[]string{"fit imports footwearables, which does not stand left of fit"},
		},
		{"nothing imports the window or a command", []string{"fit: ui", "ui: cmd/lastroom"}, []string{
			"fit imports ui, which does not stand left of fit",
			"ui imports cmd/lastroom, which does not stand left of ui",
		}},
		{
			"the command line is no part of the window",
			[]string{"ui: internal/console"},
			[]string{"ui imports internal/console, which does not stand left of ui"},
		},
		{"a package without a place", []string{"helpers: fmt"}, []string{"helpers belongs to no place of the house"}},
		{
			"the window's library in the engine",
			[]string{"fit: " + fyne},
			[]string{"fit imports fyne.io/fyne/v2: only ui, cmd/lastroom may"},
		},
		{"the window's library by the back door", []string{"cmd/roomcheck: ui", "ui: " + fyne, fyne + ":"}, []string{
			"cmd/roomcheck imports ui, which does not stand left of cmd/roomcheck",
			"cmd/roomcheck reaches fyne.io by lastroom/cmd/roomcheck → lastroom/ui → fyne.io/fyne/v2",
		}},
		{
			"the window's library through an outside package",
			[]string{"device: example.org/x", "example.org/x: " + fyne},
			[]string{"device reaches fyne.io by lastroom/device → example.org/x → fyne.io/fyne/v2"},
		},
		{
			"plots in the command line",
			[]string{"internal/console: " + plot},
			[]string{"internal/console imports gonum.org/v1/plot: only fit/drawing, fit/sheet, ui may"},
		},
		{
			"the engine draws by the back door",
			[]string{"fit: fit/drawing", "fit/drawing: " + plot + "/vg"},
			[]string{"fit reaches gonum.org/v1/plot by lastroom/fit → lastroom/fit/drawing → gonum.org/v1/plot/vg"},
		},
		{"what another package's tests use is not brought along", []string{"fit: example.org/x", "example.org/x: fmt | " + fyne}, nil},
		{"imports in a ring", []string{"fit: example.org/x", "example.org/x: example.org/y", "example.org/y: example.org/x"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, c.want, Check(made(t, c.graph...)))
		})
	}
}

// Every place named in a row has a row itself, and no two places stand left of each other.
func TestPlacesAreAnOrder(t *testing.T) {
	for place, left := range places {
		for _, other := range left {
			require.Contains(t, places, other, place)
			if other != place {
				assert.NotContains(t, places[other], place, "%s and %s", place, other)
			}
		}
	}
}

func TestParse(t *testing.T) {
	g, err := parse(strings.NewReader(`{"ImportPath": "a", "Imports": ["b"], "TestImports": ["c"], "XTestImports": ["d"]}
{"ImportPath": "b"}`))
	require.NoError(t, err)
	assert.Equal(t, Graph{
		"a": {Imports: []string{"b"}, Tests: []string{"c", "d"}},
		"b": {},
	}, g)

	_, err = parse(strings.NewReader(`{"ImportPath": "a"`))
	assert.Error(t, err)
}

func TestListNeedsAModule(t *testing.T) {
	_, err := List(filepath.Join(t.TempDir(), "nowhere"))
	assert.Error(t, err)
}
