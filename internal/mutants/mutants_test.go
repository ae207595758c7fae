package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The table keeps up with the source: each fault still has exactly one place to go to, and changes it.
func TestEachFaultHasItsPlace(t *testing.T) {
	kinds := map[string]int{}
	for _, m := range mutants {
		source, err := os.ReadFile(filepath.Join("..", "..", m.file))
		require.NoError(t, err)
		changed, err := m.apply(source)
		require.NoError(t, err)
		assert.NotEqual(t, source, changed, m)
		kinds[m.kind]++
	}
	for _, kind := range []string{"sign", "factor", "axis", "side", "unit"} {
		assert.NotZero(t, kinds[kind], kind)
	}
}

func TestAFaultWithoutItsPlaceIsRefused(t *testing.T) {
	_, err := mutant{file: "x.go", old: "a", new: "b"}.apply([]byte("a a"))
	assert.ErrorContains(t, err, "2 times")
	_, err = mutant{file: "x.go", old: "a", new: "b"}.apply([]byte("c"))
	assert.ErrorContains(t, err, "0 times")
}
