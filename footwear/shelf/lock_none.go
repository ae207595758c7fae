//go:build !(linux || darwin || freebsd || netbsd || openbsd || dragonfly)

package shelf

// lock keeps nobody out where the system has no such lock.
func lock(string) (func(), error) { return func() {}, nil }
