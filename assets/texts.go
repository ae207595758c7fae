package assets

import "embed"

// Texts has what is told to the patient, one JSON file a language under texts/, named by the language's code: a flat list of key
// and text, with places for numbers in braces. A translation is a file with the same keys and the same places.
//
//go:embed texts/*.json
var Texts embed.FS
