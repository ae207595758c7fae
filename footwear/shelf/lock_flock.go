//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

package shelf

import (
	"errors"
	"os"
	"syscall"
	"time"
)

const (
	lockPatience = 3 * time.Second
	lockPause    = 10 * time.Millisecond
)

var errLocked = errors.New("another program has been writing to the folder for 3 seconds")

// lock takes the lock of a folder, waiting a little for whoever has it. It ends with the program, however that ends.
func lock(name string) (func(), error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, err
	}
	for end := time.Now().Add(lockPatience); ; time.Sleep(lockPause) {
		switch err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); {
		case err == nil:
			return func() { _ = f.Close() }, nil // which lets the lock go
		case !errors.Is(err, syscall.EWOULDBLOCK) && !errors.Is(err, syscall.EINTR):
			return nil, errors.Join(err, f.Close())
		case time.Now().After(end):
			return nil, errors.Join(errLocked, f.Close())
		}
	}
}
