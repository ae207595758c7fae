package lock

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestOneAtATime(t *testing.T) {
	name := filepath.Join(t.TempDir(), "a.lock")
	first, err := Take(name, 0)
	require.NoError(t, err)
	require.NotNil(t, first)
	second, err := Take(name, 0)
	require.NoError(t, err)
	assert.Nil(t, second, "another has it")
	let := make(chan struct{})
	go func() {
		defer close(let)
		_ = first.Close()
	}()
	third, err := Take(name, time.Minute)
	require.NoError(t, err)
	require.NotNil(t, third, "it was waited for")
	<-let
	require.NoError(t, third.Close())
	_, err = Take(filepath.Join(name, "below a file"), 0)
	assert.Error(t, err)
}
