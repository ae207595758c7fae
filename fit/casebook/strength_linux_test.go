package casebook

import (
	"bytes"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// On a real disk of 2 MB that fills up, and that then can't be written at all. Mounting one takes the rights of root; without them the
// limit of pages stands for the full disk (TestAFullDiskEndsTheOneChange) and nothing is tried here.
func TestADiskThatIsFullOrCanNotBeWritten(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=2m"); err != nil {
		require.ErrorIs(t, err, syscall.EPERM)
		return
	}
	t.Cleanup(func() { _ = syscall.Unmount(dir, syscall.MNT_DETACH) })
	b := bookIn(t, dir)
	id := started(t, b, "A-1").Case.ID
	rng := rand.New(rand.NewPCG(2, 2))
	kept := 0
	for range 40 {
		photo := make([]byte, 200_000)
		for i := range photo {
			photo[i] = byte(rng.Uint32())
		}
		_, _, err := b.Attach(t.Context(), id, File{Kind: "photograph", Name: "a.jpg"}, bytes.NewReader(photo))
		if err != nil {
			assert.Contains(t, limitOf(t, err), "disk is full")
			break
		}
		kept++
	}
	require.Less(t, kept, 20, "it did fill up")
	require.Positive(t, kept)
	assert.Len(t, mustGet(t, b, id).Case.Files, kept)
	requireSound(t, b)
	require.NoError(t, b.Close())

	require.NoError(t, syscall.Mount("", dir, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""))
	r, err := Open(t.Context(), filepath.Join(dir, "book.db"), Settings{})
	require.NoError(t, err)
	defer r.Close()
	why, readOnly := r.ReadOnly()
	require.True(t, readOnly)
	assert.Contains(t, why, "can't be written")
	assert.Len(t, mustGet(t, r, id).Case.Files, kept, "it can be read")
	_, err = r.New(t.Context(), "A-2")
	require.Error(t, err)
	assert.True(t, strings.Contains(err.Error(), "read") || strings.Contains(err.Error(), "written"), err.Error())
}
