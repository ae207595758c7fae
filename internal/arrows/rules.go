package arrows

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Module is the path in front of every package of the program.
const Module = "lastroom"

// A Graph is a set of packages by import path, Lastroom's own with the module's path in front.
type Graph map[string]Package

// A Package is what one package imports, and what its tests import besides.
type Package struct{ Imports, Tests []string }

// engine is what stands left of everything that shows or prints.
var engine = []string{"internal/problem", "internal/lengths", "internal/lock", "internal/mesh", "assets", "footwear", "device", "fit"}

// places has, for each place of the house, the places that it may import besides itself.
var places = map[string][]string{
	"internal/problem": {},
	"internal/lengths": {},
	"internal/lock":    {},
	"internal/mesh":    {"internal/problem"},
	"assets":           {},
	"footwear":         {"internal/lock", "internal/mesh", "internal/problem", "assets"},
	"device":           {"internal/lengths", "internal/mesh", "internal/problem", "assets"},
	"fit":              engine,
	"internal/console": engine,
	"ui":               engine,
	"cmd/roomcheck":    append([]string{"internal/console"}, engine...),
	"cmd/lastroom":     append([]string{"ui"}, engine...),
	"internal/arrows":  {},

	"internal/licences": {},
	"internal/mutants":  {},
}

// A library is an outside module that only some places may use.
type library struct {
	path string
	// direct are the packages that may import it; reach are those that may have it among what they import in turn.
	// A place stands for all below it. Whoever may import it may reach it.
	direct, reach []string
}

var libraries = []library{
	{path: "fyne.io", direct: []string{"ui", "cmd/lastroom"}},
	{
		path: "gonum.org/v1/plot", direct: []string{"fit/drawing", "fit/sheet", "ui"},
		reach: []string{"internal/console", "cmd"},
	},
	{path: "modernc.org/sqlite", direct: []string{"fit/casebook"}, reach: []string{"internal/console", "ui", "cmd"}},
}

// Check returns a sentence for each import that runs the wrong way, in order of the packages' names. A package's tests
// keep to the same rules as the package.
func Check(g Graph) []string {
	var wrong []string
	for _, path := range slices.Sorted(maps.Keys(g)) {
		name, ours := inModule(path)
		if !ours {
			continue
		}
		place := placeOf(name)
		if place == "" {
			wrong = append(wrong, fmt.Sprintf("%s belongs to no place of the house", name))
			continue
		}
		for _, imported := range sortedOnce(g[path].Imports, g[path].Tests) {
			other, ours := inModule(imported)
			if ours && !below(other, place) && !slices.ContainsFunc(places[place], func(p string) bool { return below(other, p) }) {
				wrong = append(wrong, fmt.Sprintf("%s imports %s, which does not stand left of %s", name, other, place))
			}
			for _, l := range libraries {
				if below(imported, l.path) && !anyBelow(name, l.direct) {
					wrong = append(wrong, fmt.Sprintf("%s imports %s: only %s may", name, imported, strings.Join(l.direct, ", ")))
				}
			}
		}
		for _, l := range libraries {
			if anyBelow(name, l.direct) || anyBelow(name, l.reach) {
				continue
			}
			if by := route(g, path, l.path); len(by) > 2 { // a chain of two is the direct import, reported above
				wrong = append(wrong, fmt.Sprintf("%s reaches %s by %s", name, l.path, strings.Join(by, " → ")))
			}
		}
	}
	return wrong
}

// inModule is the path below the module, and whether the package is one of the module's.
func inModule(path string) (string, bool) { return strings.CutPrefix(path, Module+"/") }

// below says whether the path is the place or stands under it.
func below(path, place string) bool { return path == place || strings.HasPrefix(path, place+"/") }

func anyBelow(path string, of []string) bool {
	return slices.ContainsFunc(of, func(p string) bool { return below(path, p) })
}

// placeOf is the longest place that the package stands under, or "".
func placeOf(name string) string {
	best := ""
	for place := range places {
		if below(name, place) && len(place) > len(best) {
			best = place
		}
	}
	return best
}

// sortedOnce is what stands in either list, in order, once.
func sortedOnce(a, b []string) []string {
	return slices.Compact(slices.Sorted(slices.Values(slices.Concat(a, b))))
}

// route is the shortest chain of imports from a package to one below the library, both ends included, or nil. Imports
// of tests do not count: what a test uses is not brought along.
func route(g Graph, from, library string) []string {
	cameFrom := map[string]string{from: ""}
	for queue := []string{from}; len(queue) > 0; queue = queue[1:] {
		at := queue[0]
		if below(at, library) {
			var chain []string
			for p := at; p != ""; p = cameFrom[p] {
				chain = append(chain, p)
			}
			slices.Reverse(chain)
			return chain
		}
		for _, next := range sortedOnce(g[at].Imports, nil) {
			if _, seen := cameFrom[next]; !seen {
				cameFrom[next] = at
				queue = append(queue, next)
			}
		}
	}
	return nil
}
