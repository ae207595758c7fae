//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

package casebook

import (
	"errors"
	"os"
	"syscall"
	"time"
)

const lockPause = 10 * time.Millisecond

// takeLock takes the writer's lock, waiting up to patience for whoever has it; nil without an error: another has it. It
// ends with the program, however that ends.
func takeLock(name string, patience time.Duration) (*os.File, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, err
	}
	for end := time.Now().Add(patience); ; time.Sleep(lockPause) {
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
