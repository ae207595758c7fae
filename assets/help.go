package assets

import "embed"

// Help has the texts that explain: fields.json (how each field is measured and why it matters, by its key), glossary.json and walk.json.
//
//go:embed help/*.json
var Help embed.FS
