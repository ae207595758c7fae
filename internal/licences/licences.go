package licences

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// A Module is one outside module that is compiled into a program.
type Module struct{ Path, Version, Dir, Licence string }

// Modules are those compiled into the programs under root/cmd, by path, with the licence of each. It runs the go
// command.
func Modules(root string) ([]Module, error) {
	cmd := exec.Command("go", "list", "-deps", "-json=Module", "-tags", "migrated_fynedo", "./cmd/...")
	cmd.Dir = root
	cmd.Env = append(os.Environ(), "CGO_ENABLED=1") // the window's graphics count too; nothing is compiled
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("go list: %w: %s", err, stderr.String())
	}
	seen := map[string]Module{}
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p struct {
			Module *struct {
				Path, Version, Dir string
				Main               bool
			}
		}
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, err
		}
		if m := p.Module; m != nil && !m.Main {
			seen[m.Path] = Module{Path: m.Path, Version: m.Version, Dir: m.Dir}
		}
	}
	var all []Module
	for _, m := range seen {
		m.Licence = licenceOf(m.Dir)
		all = append(all, m)
	}
	slices.SortFunc(all, func(a, b Module) int { return strings.Compare(a.Path, b.Path) })
	return all, nil
}

// licenceOf are the short names (SPDX) of the licences whose texts lie in a module's folder or in a folder of fonts below
// it, joined by AND (lists of what other modules carry are left to those modules; logos are in no program); "" when one of the texts is not known here, or there is none.
func licenceOf(dir string) string {
	var found []string
	for _, pattern := range []string{"*", "*/font/*", "font/*"} {
		names, err := filepath.Glob(filepath.Join(dir, pattern))
		if err != nil {
			return ""
		}
		for _, path := range names {
			name := strings.ToUpper(filepath.Base(path))
			if strings.Contains(name, "-LINK") || strings.Contains(name, "3RD-PARTY") || strings.Contains(name, "-LOGO") || !strings.HasPrefix(name, "LICEN") && !strings.HasPrefix(name, "COPYING") {
				continue
			}
			if info, err := os.Stat(path); err == nil && info.IsDir() {
				continue
			}
			text, err := os.ReadFile(path)
			if err != nil {
				return ""
			}
			l := licenceIn(string(text))
			if l == "" {
				return ""
			}
			if !slices.Contains(found, l) {
				found = append(found, l)
			}
		}
	}
	return strings.Join(found, " AND ")
}

// licenceIn tells a licence by its words; the more particular ones stand first.
func licenceIn(text string) string {
	text = strings.ToLower(strings.Join(strings.Fields(text), " "))
	for _, l := range []struct{ name, words string }{
		{"OFL-1.1", "SIL Open Font License"},
		{"public domain (SQLite)", "All of the code and documentation in SQLite has been dedicated to the public domain"},
		{"Bitstream-Vera", "Bitstream Vera Fonts Copyright"},
		{"Apache-2.0", "Apache License Version 2.0"},
		{"MPL-2.0", "Mozilla Public License Version 2.0"},
		{"FTL OR GPL-2.0", "FreeType License"},
		{"BSD-3-Clause", "may be used to endorse or promote products derived from"},
		{"BSD-2-Clause", "Redistributions in binary form must reproduce the above copyright notice"},
		{"MIT", "Permission is hereby granted, free of charge, to any person obtaining a copy"},
		{"ISC", "Permission to use, copy, modify, and/or distribute this software for any purpose"},
		{"CC-BY-4.0", "Creative Commons Attribution 4.0 International Public License"},
		{"Unlicense", "This is free and unencumbered software released into the public domain"},
	} {
		if strings.Contains(text, strings.ToLower(l.words)) {
			return l.name
		}
	}
	return ""
}

// Page is the list as a page of documentation.
func Page(all []Module) string {
	var b strings.Builder
	b.WriteString("# What Lastroom is built from\n\n" +
		"The modules that are compiled into the two programs, as `go.mod` and `go.sum` pin them, with the licence that each one's own\n" +
		"licence files state. `make pictures` writes this page; a test holds it to what is compiled in.\n\n" +
		"| module | version | licence |\n|---|---|---|\n")
	for _, m := range all {
		fmt.Fprintf(&b, "| %s | %s | %s |\n", m.Path, m.Version, m.Licence)
	}
	return b.String()
}
