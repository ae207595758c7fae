package device

import (
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"

	"lastroom/assets"
	"lastroom/internal/problem"
)

// A Preset is a common prescription to start from.
type Preset struct {
	ID, Name string
	For      string // whom it is for, and why
	Options  Options
}

// DefaultPreset is the ID of the preset that the programs start with.
const DefaultPreset = "everyday-block"

// Presets lists the embedded prescriptions, the default first, the others by name.
func Presets() []Preset { return slices.Clone(presets()) }

// FindPreset is the preset with that ID, or the error that names the nearest.
func FindPreset(id string) (Preset, error) {
	all := presets()
	for _, p := range all {
		if p.ID == id {
			return p, nil
		}
	}
	var ids []string
	for _, p := range all {
		ids = append(ids, p.ID)
	}
	err := problem.Problem{Field: "device", Value: strconv.Quote(id), Limit: "one of " + strings.Join(ids, ", "), Mend: "choose one of them or give a file"}
	if near := nearest(id, ids); near != "" {
		err.Mend = "did you mean " + near + "?"
	}
	return Preset{}, err
}

// Search lists the presets in which every word of the text occurs, a typing error forgiven in words of four
// letters or more; all of them for an empty text.
func Search(text string) []Preset {
	words := strings.Fields(strings.ToLower(text))
	var found []Preset
	for _, p := range presets() {
		hay := strings.FieldsFunc(strings.ToLower(p.ID+" "+p.Name+" "+p.For), func(r rune) bool {
			return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9')
		})
		if matchesAll(words, hay) {
			found = append(found, p)
		}
	}
	return found
}

func matchesAll(words, hay []string) bool {
	for _, w := range words {
		if !slices.ContainsFunc(hay, func(h string) bool {
			return strings.Contains(h, w) || len(w) >= 4 && len(w) < 64 && editDistance(w, h) <= 1
		}) {
			return false
		}
	}
	return true
}

var presets = sync.OnceValue(func() []Preset {
	files, err := fs.ReadDir(assets.Presets, "presets")
	if err != nil {
		panic("device: embedded presets: " + err.Error())
	}
	var all []Preset
	for _, f := range files {
		r, err := assets.Presets.Open(path.Join("presets", f.Name()))
		if err != nil {
			panic("device: embedded preset: " + err.Error())
		}
		p, err := readPrescription(r, f.Name())
		if err != nil {
			panic("device: embedded preset: " + err.Error())
		}
		if err := r.Close(); err != nil {
			panic("device: embedded preset: " + err.Error())
		}
		p.ID = strings.TrimSuffix(f.Name(), ".json")
		all = append(all, p)
	}
	slices.SortStableFunc(all, func(a, b Preset) int {
		if first := (b.ID == DefaultPreset) != (a.ID == DefaultPreset); first {
			if a.ID == DefaultPreset {
				return -1
			}
			return 1
		}
		return strings.Compare(a.Name, b.Name)
	})
	return all
})
