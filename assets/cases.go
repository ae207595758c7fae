package assets

import _ "embed"

// Cases is the invented clinic: cases under codes, with what they are to show.
//
//go:embed cases/demo.json
var Cases []byte
