package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
)

func main() {
	if len(os.Args) < 3 {
		fmt.Fprintln(os.Stderr, "usage: mutants GO TAGS [PATTERN]: run from the module's root; PATTERN keeps the faults whose line matches")
		os.Exit(2)
	}
	keep, err := regexp.Compile(strings.Join(os.Args[3:], "|"))
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	survived, tried := 0, 0
	for _, m := range mutants {
		if !keep.MatchString(m.kind + " " + m.file + " " + m.old) {
			continue
		}
		tried++
		killer, err := m.hunt(os.Args[1], os.Args[2])
		if err != nil {
			fmt.Fprintf(os.Stderr, "%s %s: %v\n", m.kind, m.file, err)
			os.Exit(2)
		}
		if killer == "" {
			survived++
			killer = "SURVIVED"
		}
		fmt.Printf("%-7s %-18s %-60s → %-60s %s\n", m.kind, m.file, shown(m.old), shown(m.new), killer)
	}
	fmt.Printf("%d faults, %d caught, %d survived\n", tried, tried-survived, survived)
	if survived > 0 {
		os.Exit(1)
	}
}

// shown is a piece of source on one line, cut at 60 letters.
func shown(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > 60 {
		s = string(r[:59]) + "…"
	}
	return s
}

// apply puts the fault into the source; it fails where the piece does not stand there exactly once.
func (m mutant) apply(source []byte) ([]byte, error) {
	if n := bytes.Count(source, []byte(m.old)); n != 1 {
		return nil, fmt.Errorf("%q stands in %s %d times, not once: bring the table up to date", m.old, m.file, n)
	}
	return bytes.Replace(source, []byte(m.old), []byte(m.new), 1), nil
}

var failure = regexp.MustCompile(`(?m)^\s*--- FAIL: (\S+)`)

// hunt runs the tests against the fault: the likely ones first, then all of the package. It returns the first that
// fails, or nothing when the fault survives.
func (m mutant) hunt(goCommand, tags string) (string, error) {
	source, err := os.ReadFile(m.file)
	if err != nil {
		return "", err
	}
	changed, err := m.apply(source)
	if err != nil {
		return "", err
	}
	dir, err := os.MkdirTemp("", "mutant")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(dir)
	faulty, overlay := filepath.Join(dir, filepath.Base(m.file)), filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(faulty, changed, 0o600); err != nil {
		return "", err
	}
	whole, err := filepath.Abs(m.file)
	if err != nil {
		return "", err
	}
	text, err := json.Marshal(map[string]any{"Replace": map[string]string{whole: faulty}})
	if err != nil {
		return "", err
	}
	if err := os.WriteFile(overlay, text, 0o600); err != nil {
		return "", err
	}
	for _, run := range []string{m.tests, "."} {
		cmd := exec.Command(goCommand, "test", "-tags", tags, "-overlay", overlay, "-failfast", "-run", run, "./"+filepath.Dir(m.file))
		cmd.Env = append(os.Environ(), "CGO_ENABLED=0")
		out, err := cmd.CombinedOutput()
		if err == nil {
			continue
		}
		if found := failure.FindSubmatch(out); found != nil {
			return string(found[1]), nil
		}
		if bytes.Contains(out, []byte("[build failed]")) {
			return "", fmt.Errorf("the fault does not compile:\n%s", out)
		}
		return "the tests end early (panic or time out)", nil
	}
	return "", nil
}
