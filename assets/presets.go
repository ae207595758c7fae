package assets

import "embed"

// Presets has the prescriptions that the programs offer, one JSON file each under presets/, in the form that package
// device documents.
//
//go:embed presets/*.json
var Presets embed.FS
