package arrows

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os/exec"
)

// Tags are the build tags of every build and test of Lastroom: with migrated_fynedo the window's library runs its new
// threading model, with ci it needs no graphics.
const Tags = "ci,migrated_fynedo"

// List asks the go command for every package of the module in dir and all that they import in turn.
func List(dir string) (Graph, error) {
	// -e: without a C compiler the graphics bindings under cmd/lastroom have no files to build; their imports are known.
	cmd := exec.Command("go", "list", "-e", "-deps", "-json=ImportPath,Imports,TestImports,XTestImports", "-tags", Tags, "./...")
	cmd.Dir = dir
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("arrows: go list: %w: %s", err, complaint.String())
	}
	return parse(bytes.NewReader(out))
}

// parse reads the go command's stream of JSON objects, one a package.
func parse(r io.Reader) (Graph, error) {
	g := Graph{}
	for dec := json.NewDecoder(r); ; {
		var p struct {
			ImportPath                         string
			Imports, TestImports, XTestImports []string
		}
		switch err := dec.Decode(&p); {
		case errors.Is(err, io.EOF):
			return g, nil
		case err != nil:
			return nil, fmt.Errorf("arrows: output of go list: %w", err)
		}
		g[p.ImportPath] = Package{Imports: p.Imports, Tests: append(p.TestImports, p.XTestImports...)}
	}
}
