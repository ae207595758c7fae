//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

// Package lock keeps one program at a time at a thing: by a lock on an empty file beside it, which ends with the program.
package lock

import (
	"errors"
	"os"
	"syscall"
	"time"
)

const pause = 10 * time.Millisecond

// Take takes the lock of a file, made where there is none, waiting up to patience for whoever has it; nil without an error:
// another has it. It ends with the program, however that ends.
func Take(name string, patience time.Duration) (*os.File, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, err
	}
	for end := time.Now().Add(patience); ; time.Sleep(pause) {
		switch err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); {
		case err == nil:
			return f, nil
		case !errors.Is(err, syscall.EWOULDBLOCK) && !errors.Is(err, syscall.EINTR):
			return nil, errors.Join(err, f.Close())
		case !time.Now().Before(end):
			return nil, f.Close()
		}
	}
}
