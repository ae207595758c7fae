// Package problemtest holds errors of bad input to their form, for the tests of what reads.
package problemtest

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"lastroom/internal/problem"
)

// Of are the problems that an error has, at least one; it fails a test whose error is another.
func Of(t testing.TB, err error) problem.Problems {
	t.Helper()
	var ps problem.Problems
	if one := (problem.Problem{}); errors.As(err, &one) {
		ps = problem.Problems{one}
	} else {
		require.ErrorAs(t, err, &ps)
	}
	require.NotEmpty(t, ps)
	return ps
}

// Require wants of each problem a limit, a mend, and the field or the file that it is about.
func Require(t testing.TB, err error) {
	t.Helper()
	for _, p := range Of(t, err) {
		require.NotEmpty(t, p.Limit, "%v", p)
		require.NotEmpty(t, p.Mend, "%v", p)
		require.NotEmpty(t, p.Field+p.File, "%v", p)
	}
}
