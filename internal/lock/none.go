//go:build !(linux || darwin || freebsd || netbsd || openbsd || dragonfly)

// Package lock keeps one program at a time at a thing, where the system can.
package lock

import (
	"os"
	"time"
)

// Take keeps nobody out: this system has no such lock.
func Take(name string, _ time.Duration) (*os.File, error) {
	return os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
}
