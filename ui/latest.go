package ui

import (
	"context"
	"sync"
)

// latest runs work in the background, one piece at a time: a new one stops the one before.
type latest struct {
	mu     sync.Mutex
	cancel context.CancelFunc
}

// start sets work off; it gets a context that ends when the next one starts.
func (l *latest) start(parent context.Context, work func(context.Context)) {
	ctx, cancel := context.WithCancel(parent)
	l.mu.Lock()
	if l.cancel != nil {
		l.cancel()
	}
	l.cancel = cancel
	l.mu.Unlock()
	go func() {
		defer cancel()
		work(ctx)
	}()
}

// stop stops what is being worked on.
func (l *latest) stop() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.cancel != nil {
		l.cancel()
	}
}
