// Package assets holds what the programs carry with them: data, never code.
package assets

import "embed"

// Shoes has the demo shoes, one JSON file each under shoes/, in the form that package footwear documents. They are
// invented: no maker's shoe is among them.
//
//go:embed shoes/*.json
var Shoes embed.FS
