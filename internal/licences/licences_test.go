package licences

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Each module in the programs has a licence that is known here, and stands in docs/licences.md with its version.
func TestEveryModuleIsListedWithItsLicence(t *testing.T) {
	for _, name := range []string{"go.mod", "go.sum"} { // ties the cached result of this test to them
		_, err := os.ReadFile(filepath.Join("..", "..", name))
		require.NoError(t, err)
	}
	all, err := Modules(filepath.Join("..", ".."))
	require.NoError(t, err)
	require.NotEmpty(t, all)
	for _, m := range all {
		assert.NotEmpty(t, m.Licence, "%s %s: read its licence and add its words", m.Path, m.Version)
	}
	page := filepath.Join("..", "..", "docs", "licences.md")
	if os.Getenv("UPDATE_GOLDEN") != "" {
		require.NoError(t, os.WriteFile(page, []byte(Page(all)), 0o644))
	}
	listed, err := os.ReadFile(page)
	require.NoError(t, err)
	assert.Equal(t, Page(all), string(listed))
}

// How each licence is told from its words (from the licences' own texts).
func TestLicencesAreToldByTheirWords(t *testing.T) {
	assert.Equal(t, "MIT", licenceIn("MIT License\n\nPermission is hereby granted, free of charge, to any\nperson obtaining a copy of this"))
	assert.Equal(t, "BSD-2-Clause", licenceIn("2. Redistributions in binary form must reproduce the above\ncopyright notice, this list"))
	assert.Equal(t, "BSD-3-Clause", licenceIn("Redistributions in binary form must reproduce the above copyright notice … may be used to endorse or promote products derived from"))
	assert.Equal(t, "Apache-2.0", licenceIn("   Apache License\n   Version 2.0, January 2004"))
	assert.Equal(t, "OFL-1.1", licenceIn("SIL OPEN FONT LICENSE … Permission is hereby granted, free of charge, to any person obtaining a copy of the Font Software"))
	assert.Empty(t, licenceIn("All rights reserved."))
	assert.Empty(t, licenceOf(t.TempDir()))
}
